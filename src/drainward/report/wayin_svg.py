"""The way in, drawn: the plan, the box at every turn, where it is stood up, and what is left at its tightest place.

wayin_svg    the whole way; with `turns`, over it each step of the way by itself, for a page that shows one at a time
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drainward.quantity import format_length
from drainward.report.ink import ASK, GREY, INK, WARN, WATER, Sheet, area, circle, line, text
from drainward.wayin import Carry, Plan, WayIn, barriers

__all__ = ["wayin_svg"]

Array = NDArray[np.float64]

_WIDE, _TALL, _EDGE, _WORDS = 180.0, 120.0, 5.0, 14.0


def wayin_svg(answer: WayIn, plan: Plan, *, turns: bool = False) -> str:
    """The clearest way of `answer` on its plan, a whole SVG document in mm, at most 190 wide.

    turns : whether each of the answer's steps follows as a group with `data-turn`, its number from 0, over the whole
    """
    best = answer.carries[0]
    faces, names = barriers(plan, best.height)
    low, high = (f(faces.reshape(-1, 2), axis=0) for f in (np.min, np.max))
    span = np.maximum(high - low, 0.1)
    scale = min(_WIDE / span[0], _TALL / span[1])
    wide, tall = 2 * _EDGE + span[0] * scale, 2 * _EDGE + _WORDS + span[1] * scale
    # y runs up the plan and down the paper
    sheet = Sheet(_EDGE - low[0] * scale, _EDGE + high[1] * scale, scale)
    parts = [*_swept(sheet, best), *_walls(sheet, faces, names), *_stood_up(sheet, best), *_marks(sheet, best)]
    parts += _turns(sheet, answer) if turns else ()
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.1f} {tall:.1f}" width="{wide:.1f}mm" '
        f'height="{tall:.1f}mm">'
    )
    drawn = "".join((*parts, _foot(best, tall)))
    return head + f'<rect width="{wide:.1f}" height="{tall:.1f}" fill="#fff"/>' + drawn + "</svg>"


def _walls(sheet: Sheet, faces: NDArray[np.float64], names: tuple[str, ...]) -> Iterator[str]:
    for (x, y, x2, y2), name in zip(faces, names, strict=True):
        wall = name.startswith(("wall", "door"))
        ends = (*sheet.at(x, -y), *sheet.at(x2, -y2))
        yield line(*ends, INK if wall else GREY, 0.5 if wall else 0.3, "" if wall else 'stroke-dasharray="1.5 1"')


def _swept(sheet: Sheet, best: Carry) -> Iterator[str]:
    """The box lying, then standing where it is stood up, and the way of its middle."""
    yield from _boxes(sheet, best.poses, _size(best), "")
    if len(best.stood):
        yield from _boxes(sheet, best.stood, _standing(best), 'stroke-dasharray="1 0.8"')
    yield _path(sheet, np.concatenate((best.poses, best.stood)), WATER, 0.5)


def _boxes(sheet: Sheet, poses: Array, size: tuple[float, float], more: str) -> Iterator[str]:
    """The box where it has moved on by a third of its length, or turned by a sixth of a right angle."""
    last = None
    for pose in (*poses, poses[-1]):
        moved = math.inf if last is None else math.dist(pose[:2], last[:2]) / size[0] * 3
        turned = 0.0 if last is None else abs(pose[2] - last[2]) / math.radians(15)
        if max(moved, turned) >= 1:
            last = pose
            style = f'fill-opacity="0.12" stroke="{WATER}" stroke-width="0.2" {more}'
            yield area(sheet, (_ring(pose, size),), WATER, style)


def _path(sheet: Sheet, poses: Array, colour: str, weight: float) -> str:
    path = "L".join(f"{x:.2f} {y:.2f}" for x, y in (sheet.at(p[0], -p[1]) for p in poses))
    return f'<path d="M{path}" fill="none" stroke="{colour}" stroke-width="{weight}"/>'


def _stood_up(sheet: Sheet, best: Carry) -> Iterator[str]:
    """The floor that the tilt-up sweeps; nothing of a unit that is upright already."""
    if best.tilt is None:
        return
    x, y, _, long, across = best.tilt
    style = f'stroke="{INK}" stroke-width="0.5" stroke-dasharray="2 1.2"'
    yield area(sheet, (_ring(np.array(best.tilt[:3]), (long, across)),), "none", style)
    yield text(*sheet.at(x, -y), "stand it up", 2.8, INK, 'text-anchor="middle"')


def _turns(sheet: Sheet, answer: WayIn) -> Iterator[str]:
    """Each step: the stretch that leads to it, and the box there."""
    best = answer.carries[0]
    way, at = np.concatenate((best.poses, best.stood)), 0
    for k, step in enumerate(answer.steps):
        before, at = at, _nearest(way, at, step.x, step.y)
        size = _size(best) if at < len(best.poses) else _standing(best)
        box = area(sheet, (_ring(way[at], size),), ASK, f'fill-opacity="0.25" stroke="{ASK}" stroke-width="0.8"')
        stretch = way[min(before, at) : max(before, at) + 1]
        yield f'<g data-turn="{k}">{_path(sheet, stretch, ASK, 1.0) if len(stretch) > 1 else ""}{box}</g>'


def _nearest(way: Array, at: int, x: float, y: float) -> int:
    """The pose of the way that is nearest to a place, from pose `at` on; any, where none of these is near."""
    far = np.hypot(way[:, 0] - x, way[:, 1] - y)
    on = at + int(np.argmin(far[at:]))
    return on if far[on] < far.min() + 0.1 else int(np.argmin(far))


def _size(best: Carry) -> tuple[float, float]:
    return best.length, best.width


def _standing(best: Carry) -> tuple[float, float]:
    """Width and depth of the unit upright: the diagonal that the tilt-up sweeps tells the side that rises."""
    assert best.tilt is not None
    rising, across = math.sqrt(max(best.tilt[3] ** 2 - best.length**2, 0.0)), best.tilt[4]
    return (across, rising) if best.how == "on its back" else (rising, across)


def _marks(sheet: Sheet, best: Carry) -> Iterator[str]:
    way = np.concatenate((best.poses, best.stood))
    tight = _nearest(way, 0, best.x, best.y)
    size = _size(best) if tight < len(best.poses) else _standing(best)
    yield area(sheet, (_ring(way[tight], size),), "none", f'stroke="{ASK}" stroke-width="0.8"')
    x, y = sheet.at(best.x, -best.y)
    words = "not proven"
    if best.low > 0:
        words = f"{format_length(best.low)} left"
    elif best.high <= 0:
        words = f"lacks at least {format_length(-best.high)}"
    yield circle(x, y, 1.0, ASK) + text(x, y - 2, words, 3.2, ASK if best.low > 0 else WARN, 'text-anchor="middle"')
    last = best.stood[-1] if len(best.stood) else best.poses[-1]
    for name, pose in (("start", best.poses[0]), ("end", last)):
        px, py = sheet.at(pose[0], -pose[1])
        yield circle(px, py, 1.0, "#fff", INK, 0.5) + text(px + 1.8, py + 0.9, name, 2.6)


def _foot(best: Carry, tall: float) -> str:
    bounds = f"proved between {format_length(best.low, 'mm')} and {format_length(best.high, 'mm')}"
    says = f"Unit {best.how}; tightest at {' and '.join(best.touches[:2])}"
    return text(_EDGE, tall - 8.5, says, 3.0) + text(_EDGE, tall - 4.0, bounds, 2.6, GREY)


def _ring(pose: Array, size: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    c, s = math.cos(pose[2]), math.sin(pose[2])
    corners = ((1, 1), (-1, 1), (-1, -1), (1, -1))
    halves = [(i * size[0] / 2, j * size[1] / 2) for i, j in corners]
    return tuple((pose[0] + c * u - s * v, -(pose[1] + s * u + c * v)) for u, v in halves)
