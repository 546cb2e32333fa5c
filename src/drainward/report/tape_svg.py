"""A small picture of one measure, for a screen held in one hand: `tape_svg`.

A plan with the tape where it goes and the height beside it, or the wall or a section seen from the front where a height
is asked. Nothing is drawn to size but the pocket itself; the tape is the one coloured stroke, and has an arrow at each
end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from html import escape

from drainward.job.model import Size, UnitModel, What
from drainward.quantity import INCH, format_length
from drainward.report.ink import ASK, FONT, GREY, INK, circle, line, text
from drainward.report.survey_steps import Step

__all__ = ["tape_svg"]

_WIDE, _HIGH = 120.0, 62.0
_LEFT, _TOP, _PLAN, _DEEP = 8.0, 9.0, 74.0, 40.0
"""Of the plan, mm: its margins and what it may fill."""
_STRIP = 101.0
_SIZE = 5.4
_SLAB = 50.0
"""Height at which a section has its floor, mm."""
_HOLE = 4.4
"""Radius of the core as drawn, mm: larger than it is, so that a tape across it is seen."""
_RECESS = 5 * INCH
_SECTIONS = (What.PLUMB, What.STUD, What.RECESS_DEEP, What.BUILD_UP, What.BLOCKING, What.DOOR_WIDTH, What.CEILING)
_UPRIGHT = (Size.OUTSIDE_HEIGHT, Size.THRESHOLD_HEIGHT, Size.FLANGE_WIDTH)
Strokes = Iterator[str]
_Point = tuple[float, float]
_At = Callable[[float, float], tuple[float, float]]


def tape_svg(step: Step, unit: UnitModel) -> str:
    """The picture of a step as SVG, 120 by 62 units; its words stand in `aria-label`."""
    if step.what in _SECTIONS:
        drawn = _section(step, unit)
    elif step.what in _UPRIGHT or step.what is Size.DAMAGE:
        drawn = _unit_front(step)
    else:
        drawn = _plan(step, unit)
    spoken = escape(f"{step.title}. {step.how}")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE:g} {_HIGH:g}" {FONT} role="img" '
        f'aria-label="{spoken}">' + "".join(drawn) + "</svg>"
    )


def _plan(step: Step, unit: UnitModel) -> Strokes:
    """Seen from above, opening at the bottom."""
    wide, deep = unit.outside_width, unit.outside_depth
    scale = min(_PLAN / wide, _DEEP / deep)
    left, top = _LEFT + (_PLAN - wide * scale) / 2, _TOP

    def at(x: float, y: float) -> tuple[float, float]:
        return left + x * scale, top + y * scale

    (x0, y0), (x1, y1) = at(0, 0), at(wide, deep)
    if step.of == "pocket":
        yield from _studs(at, wide, deep)
        yield line(x0, y1, x1, y1, GREY, 0.5, 'stroke-dasharray="3 1.6"')
        yield text((x0 + x1) / 2, y1 + 6.2, "opening", 4.8, GREY, 'text-anchor="middle"')
    else:
        yield f'<rect x="{x0:.2f}" y="{y0:.2f}" width="{x1 - x0:.2f}" height="{y1 - y0:.2f}" fill="#f2f4f5" '
        yield f'stroke="{INK}" stroke-width="0.6"/>'
        yield from _inside(at, unit)
    yield from _tape_in_plan(step, unit, at)
    if step.z is not None:
        yield from _height(step.z, max(unit.outside_height, step.z))


def _studs(at: _At, wide: float, deep: float) -> Strokes:
    """Three framed walls: plates as one stroke, studs as squares behind their faces."""
    (x0, y0), (x1, y1) = at(0, 0), at(wide, deep)
    yield f'<path d="M{x0:.2f} {y1:.2f}V{y0:.2f}H{x1:.2f}V{y1:.2f}" fill="none" stroke="{INK}" stroke-width="0.5"/>'
    size = 3.2
    for k in range(5):
        x = x0 + (x1 - x0 - size) * k / 4
        yield _box(x, y0 - size, size, size)
    for k in range(3):
        y = y0 + (y1 - y0 - size) * k / 2
        yield _box(x0 - size, y, size, size)
        yield _box(x1, y, size, size)


def _inside(at: _At, unit: UnitModel) -> Strokes:
    """The unit's inside and its drain."""
    (xa, ya), (xb, yb) = at(*_own(unit, 0, 0)), at(*_own(unit, unit.inside_width, unit.inside_depth))
    yield _box(xa, ya, xb - xa, yb - ya)
    yield circle(*at(*_own(unit, unit.drain.x, unit.drain.y)), 2.2, "#fff", INK, 0.5)


def _own(unit: UnitModel, x: float, y: float) -> tuple[float, float]:
    """From the unit's inside corner to the corner of its outside."""
    side = (unit.outside_width - unit.inside_width) / 2
    return x + side, y + max(unit.outside_depth - unit.inside_depth - unit.threshold_width, 0.0)


def _tape_in_plan(step: Step, unit: UnitModel, at: _At) -> Strokes:
    core = _drain(unit)
    px, py = at(*core)
    if step.what in (What.CORE, What.CORE_FROM_LEFT, What.CORE_FROM_BACK):
        yield circle(px, py, _HOLE, "#fff", INK, 0.6)
        yield line(px - 6, py, px + 6, py, GREY, 0.25) + line(px, py - 6, px, py + 6, GREY, 0.25)
    if step.what in (What.RECESS_WIDTH, What.RECESS_DEPTH):
        (xa, ya), (xb, yb) = at(core[0] - _RECESS, core[1] - _RECESS), at(core[0] + _RECESS, core[1] + _RECESS)
        yield _box(xa, ya, xb - xa, yb - ya) + circle(px, py, 1.9, "none", GREY, 0.4)
    if step.what is What.CORE:
        yield _tape((px - _HOLE, py), (px + _HOLE, py))
    elif step.what is What.SQUARE:
        yield from _square(step, at(0.0 if step.wall == "left" else unit.outside_width, 0), at(0, step.y or 0.0)[1])
    elif step.what is What.SLAB:
        x, y = at(step.x or 0.0, min(step.y or 0.0, unit.outside_depth + 4 * INCH))
        yield circle(x, y, 2.0, ASK, "#fff", 0.5) + line(x, y, x, y - 9, ASK, 0.9)
        yield line(x - 5, y - 9, x + 5, y - 9, ASK, 0.6, 'stroke-dasharray="1.6 1"')
    else:
        first, second = _ENDS[step.what](step, unit)
        yield _tape(at(*first), at(*second))


def _square(step: Step, corner: tuple[float, float], down: float) -> Strokes:
    """A square in a corner whose side wall leads away."""
    (px, py), way = corner, 1.0 if step.wall == "left" else -1.0
    yield line(px + way, py + 1, px + way * 22, py + 1, GREY, 1.6)
    yield line(px + way * 5, py, px + way, down, GREY, 1.6)
    yield _tape((px, down), (px + way * 7, down))


def _drain(unit: UnitModel) -> _Point:
    return _own(unit, unit.drain.x, unit.drain.y)


def _corner(step: Step, unit: UnitModel, far: bool) -> _Point:
    """The back corner at the step's wall, or the other end of the opening."""
    at_right = (step.wall == "right") != far
    return unit.outside_width if at_right else 0.0, unit.outside_depth if far else 0.0


_ENDS: Mapping[What | Size, Callable[[Step, UnitModel], tuple[_Point, _Point]]] = {
    What.WIDTH: lambda s, u: ((0, s.y or 0.0), (u.outside_width, s.y or 0.0)),
    What.DEPTH: lambda s, u: ((s.x or 0.0, 0), (s.x or 0.0, u.outside_depth)),
    What.DIAGONAL: lambda s, u: (_corner(s, u, False), _corner(s, u, True)),
    What.CORE_FROM_LEFT: lambda _, u: ((0, _drain(u)[1]), _drain(u)),
    What.CORE_FROM_BACK: lambda _, u: ((_drain(u)[0], 0), _drain(u)),
    What.RECESS_WIDTH: lambda _, u: ((_drain(u)[0] - _RECESS, _drain(u)[1]), (_drain(u)[0] + _RECESS, _drain(u)[1])),
    What.RECESS_DEPTH: lambda _, u: ((_drain(u)[0], _drain(u)[1] - _RECESS), (_drain(u)[0], _drain(u)[1] + _RECESS)),
    Size.OUTSIDE_WIDTH: lambda _, u: ((0, u.outside_depth * 0.3), (u.outside_width, u.outside_depth * 0.3)),
    Size.OUTSIDE_DEPTH: lambda _, u: ((u.outside_width * 0.25, 0), (u.outside_width * 0.25, u.outside_depth)),
    Size.INSIDE_WIDTH: lambda _, u: (
        _own(u, 0, u.inside_depth * 0.3), _own(u, u.inside_width, u.inside_depth * 0.3)
    ),
    Size.INSIDE_DEPTH: lambda _, u: (
        _own(u, u.inside_width * 0.2, 0), _own(u, u.inside_width * 0.2, u.inside_depth)
    ),
    Size.DRAIN_X: lambda _, u: (_own(u, 0, u.drain.y), _drain(u)),
    Size.DRAIN_Y: lambda _, u: (_own(u, u.drain.x, 0), _drain(u)),
}  # fmt: skip
"""Where the tape begins and ends, from the back left corner of the plan, m."""


def _height(z: float, most: float) -> Strokes:
    """How high over the floor, at the right of a plan."""
    bottom, top = _SLAB, 8.0
    y = bottom - (bottom - top) * z / most
    yield line(_STRIP - 8, bottom, _STRIP + 14, bottom, INK, 0.8)
    yield line(_STRIP, bottom, _STRIP, top, GREY, 0.4)
    yield line(_STRIP - 5, y, _STRIP + 5, y, ASK, 1.2)
    word = y - 1.6 if y > 16 else y + 6
    yield text(_STRIP + 1, word, f"{format_length(z, denominator=4)} up", _SIZE, ASK, 'text-anchor="middle"')
    yield text(_STRIP + 3, bottom + 5.6, "floor", 4.8, GREY, 'text-anchor="middle"')


def _section(step: Step, unit: UnitModel) -> Strokes:
    """Seen from the front: a wall, a door, or a cut through the slab."""
    match step.what:
        case What.PLUMB:
            yield line(30, _SLAB, 100, _SLAB, INK, 1.0)
            way = -1.0 if step.wall == "right" else 1.0
            foot = 60 - 18 * way
            yield line(foot, _SLAB, foot + 5 * way, 6, INK, 2.4)
            yield line(foot, _SLAB, foot, 6, GREY, 0.5, 'stroke-dasharray="2 1.4"')
            yield _tape((foot, 12), (foot + 4.6 * way, 12))
            up = f"{format_length(step.z or 0.0, denominator=4)} over the foot"
            yield text(60 + 4 * way, 14, up, _SIZE, ASK, f'text-anchor="{"start" if way > 0 else "end"}"')
            yield text(
                foot + 3 * way, 58, f"{step.wall} wall", _SIZE, GREY, f'text-anchor="{"start" if way > 0 else "end"}"'
            )
        case What.STUD:
            yield from _framing(step.wall)
            place = 18 + 84 * min(max(step.number - 1, 0) / 4, 1.0)
            place = 120 - place if step.wall == "left" else place
            corner = 102.0 if step.wall == "left" else 18.0
            yield _tape((corner, 28), (place, 28)) if step.number > 1 else circle(place, 28, 2.4, ASK)
            yield circle(place, 28, 1.4, ASK)
        case What.BLOCKING:
            yield from _framing(step.wall)
            yield _box(40, 26, 22, 8, "#dccfae")
            yield _tape((66, 26), (66, 34))
        case What.RECESS_DEEP:
            yield from _slab_with_recess()
            yield line(32, 21, 88, 21, GREY, 1.4)
            yield _tape((60, 22), (60, 40))
        case What.BUILD_UP:
            yield f'<path d="M10 40H110V54H10Z" fill="#d9d9d9" stroke="{INK}" stroke-width="0.6"/>'
            yield _box(46, 30, 64, 10, "#efe6d2")
            yield _tape((40, 40), (40, 30))
            yield text(78, 37, "tile and bed", _SIZE, INK, 'text-anchor="middle"')
            yield text(60, 50, "slab", _SIZE, GREY, 'text-anchor="middle"')
        case What.DOOR_WIDTH:
            yield line(14, _SLAB, 106, _SLAB, INK, 1.0)
            yield _box(34, 6, 4, 44, "#d9d9d9") + _box(82, 6, 4, 44, "#d9d9d9") + line(34, 6, 86, 6, INK, 1.4)
            yield _box(38, 8, 3, 42, "#efe6d2")
            yield _tape((41, 30), (82, 30))
        case What.CEILING:
            yield line(20, _SLAB, 100, _SLAB, INK, 1.0) + line(20, 8, 100, 8, INK, 1.0)
            yield _tape((60, _SLAB), (60, 8))
            yield text(22, 6, "ceiling", 4.8, GREY) + text(22, 56, "floor", 4.8, GREY)


def _framing(wall: str) -> Strokes:
    """A framed wall from inside; the left one has its back corner at the right."""
    yield line(16, _SLAB, 104, _SLAB, INK, 1.0) + line(16, 8, 104, 8, INK, 1.0)
    for k in range(5):
        yield _box(16.5 + 21 * k, 8, 3, 42, "#efe6d2")
    yield text(60, 58, f"{wall} wall, from inside", 4.8, GREY, 'text-anchor="middle"')
    corner = (102, "end") if wall == "left" else (18, "start")
    word = "back corner" if wall != "back" else "left corner"
    yield text(corner[0], 5.6, word, 4.8, GREY, f'text-anchor="{corner[1]}"')


def _slab_with_recess() -> Strokes:
    yield f'<path d="M10 22H40V40H80V22H110V54H10Z" fill="#d9d9d9" stroke="{INK}" stroke-width="0.6"/>'
    yield text(20, 50, "slab", _SIZE, GREY)


def _unit_front(step: Step) -> Strokes:
    """The unit from its opening."""
    yield line(14, 54, 106, 54, INK, 1.0)
    yield _box(34, 5, 52, 49, "#f2f4f5") + _box(38, 9, 44, 41, "#fff")
    yield _box(38, 46, 44, 8, "#e3e8ea")
    match step.what:
        case Size.OUTSIDE_HEIGHT:
            yield _tape((28, 54), (28, 5))
        case Size.THRESHOLD_HEIGHT:
            yield _tape((60, 54), (60, 46))
        case Size.FLANGE_WIDTH:
            yield _tape((34, 28), (38, 28))
        case Size.DAMAGE:
            yield f'<path d="M50 16l5 7-4 4 6 8" fill="none" stroke="{ASK}" stroke-width="1.2"/>'
            yield f'<circle cx="54" cy="25" r="13" fill="none" stroke="{ASK}" stroke-width="1.6"/>'
            yield line(63.5, 34, 74, 45, ASK, 3.0)


def _box(x: float, y: float, wide: float, high: float, fill: str = "#fff") -> str:
    return (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="{fill}" stroke="{INK}" '
        'stroke-width="0.4"/>'
    )


def _tape(a: tuple[float, float], b: tuple[float, float]) -> str:
    """A tape with an arrow at each end; a short one has them outside."""
    long = math.hypot(b[0] - a[0], b[1] - a[1])
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    out = 1.0 if long > 10 else -1.0
    drawn = line(*a, *b, ASK, 1.3)
    for (x, y), way in ((a, out), (b, -out)):
        wx, wy = ux * way, uy * way
        if out < 0:
            drawn += line(x, y, x + wx * 7, y + wy * 7, ASK, 0.8)
        points = f"{x:.2f},{y:.2f} {x + 4 * wx - 1.7 * wy:.2f},{y + 4 * wy + 1.7 * wx:.2f} "
        points += f"{x + 4 * wx + 1.7 * wy:.2f},{y + 4 * wy - 1.7 * wx:.2f}"
        drawn += f'<polygon points="{points}" fill="{ASK}"/>'
    return drawn
