"""How a made-up crew surveys a hidden pocket and looks a unit over: where it measures, and what it writes down.

TOOLS          tape, long level and square, each with the standard uncertainty of its accuracy and its marks
MANNERS        how thorough a survey is
read_pocket    the survey of a pocket
look_over      sizes of a unit as it arrived, and damage seen
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from drainward.demo.crew import INSTRUMENTS, Visit
from drainward.demo.framing import TruePocket
from drainward.job.model import Instrument, Measure, Received, Size, UnitModel, What
from drainward.job.readings_file import setup_of
from drainward.job.received_file import sheet_size
from drainward.pocket.faces import nominal
from drainward.pocket.shape import Wall
from drainward.quantity import INCH, format_length, parse_length

__all__ = ["MANNERS", "TOOLS", "Manner", "look_over", "read_pocket"]

TOOLS = {
    tool.id: tool
    for tool in (
        Instrument(id="TAPE", name="steel tape", u=INCH / 32),
        Instrument(id="L78", name="78 in level and wedge", length=78 * INCH, u=INCH / 32),
        Instrument(id="SQ24", name="24 in framing square and wedge", length=24 * INCH, u=INCH / 32),
    )
}
_MARK = INCH / 16
"""Tape, wedge and staff are read to a sixteenth."""
_LASER = "RL"


@dataclass(frozen=True, slots=True)
class Manner:
    """levels : heights of widths and depths, inches;  every : so many studs;  square : corners are held to a square
    plumb : at which heights the long level is held to every stud, inches;  rest : core, slab, room, studs and boards
    """

    levels: tuple[float, ...]
    every: int = 1
    plumb: tuple[float, ...] = ()
    square: bool = False
    rest: bool = True


MANNERS: Mapping[str, Manner] = {
    "thorough": Manner((2, 40, 78), plumb=(40, 78), square=True),
    "usual": Manner((2, 40, 78)),
    "quick": Manner((2,), every=3, rest=False),
}


@dataclass(frozen=True, slots=True)
class _Aim:
    """One thing to measure: what and where, inches written on the tape, and how large it really is, m."""

    what: What
    true: float
    tool: str = "TAPE"
    wall: str = ""
    place: tuple[tuple[str, float], ...] = ()


def read_pocket(
    true: TruePocket, visit: Visit, manner: Manner, room: Mapping[What, float], rng: np.random.Generator
) -> list[Measure]:
    """One measure a thing, half a minute apart. room : true sizes of the room, m, by what is measured."""
    aims = [*_walls(true, manner), *_corners(true, manner)]
    if manner.rest:
        aims += [*_below(true), *(_Aim(what, size) for what, size in room.items()), *_wood(true)]
    datum = float(rng.uniform(-1.3, -1.0))
    return [_measured(aim, visit, number, datum, rng) for number, aim in enumerate(aims)]


def look_over(
    unit: UnitModel, visit: Visit, sizes: Mapping[Size, float], damage: str, rng: np.random.Generator
) -> list[Received]:
    """Sizes as taped and damage as seen. sizes : by how much each is off its sheet, m;  damage : "" for none."""
    found: list[Received] = []
    for what, off in sizes.items():
        text, value = _read(sheet_size(unit, what) + off, rng)
        found.append(_row(visit, len(found), rng, what=what, value=value, written=text, u=INCH / 32, instrument="TAPE"))
    seen = {"what": Size.DAMAGE, "value": float(bool(damage)), "written": damage or "none"}
    return [*found, _row(visit, len(found), rng, **seen)]


def _row(visit: Visit, number: int, rng: np.random.Generator, **told: object) -> Received:
    when = visit.when + timedelta(minutes=number)
    return Received.model_validate({"id": _id(rng), "room": visit.room, "who": visit.who, "when": when, **told})


def _walls(true: TruePocket, manner: Manner) -> Iterator[_Aim]:
    left, back, right = true.walls
    for level in manner.levels:
        z = level * INCH
        for at in _chosen(left.studs, manner.every):
            y = _place(at)
            yield _Aim(What.WIDTH, right.face(y, z) - left.face(y, z), place=(("y", y), ("z", z)))
        for at in _chosen(back.studs, manner.every):
            x = _place(at)
            yield _Aim(What.DEPTH, true.line(x) - back.face(x, z), place=(("x", x), ("z", z)))
    for wall, framed in zip(Wall, true.walls, strict=True):
        inward = -1.0 if wall is Wall.RIGHT else 1.0
        for at in framed.studs if manner.plumb else ():
            for level in manner.plumb:
                z, along = level * INCH, _place(at)
                lean = inward * (framed.face(along, z) - framed.face(along, 0.0))
                key = "x" if wall is Wall.BACK else "y"
                yield _Aim(What.PLUMB, lean, "L78", wall.name.lower(), ((key, along), ("z", z)))


def _corners(true: TruePocket, manner: Manner) -> Iterator[_Aim]:
    left, back, right = true.walls
    meant = nominal(true.unit)
    for level in (manner.levels[0], manner.levels[-1]) if len(manner.levels) > 1 else ():
        z = level * INCH
        for wall, near, far, end, corner in (
            ("left", left, right, 1, 0.0),
            ("right", right, left, 0, meant.width),
        ):
            across = far.face(meant.depth, z) - near.face(0.0, z)
            deep = true.front[end] - back.face(corner, z)
            yield _Aim(What.DIAGONAL, math.hypot(across, deep), wall=wall, place=(("z", z),))
    for wall, side, corner, sign in (("left", left, 0.0, -1.0), ("right", right, meant.width, 1.0)):
        # The square lies on the stud in the corner and on the next one.
        base = _place(side.studs[1])
        opened = sign * (side.face(base, 0.0) - side.face(0.0, 0.0))
        opened += back.face(corner, 0.0) - back.face(abs(corner - base), 0.0)
        if manner.square:
            yield _Aim(What.SQUARE, opened, "SQ24", wall, (("y", base),))


def _below(true: TruePocket) -> Iterator[_Aim]:
    x, y, across = true.core
    left, back, _ = true.walls
    yield _Aim(What.CORE, across)
    yield _Aim(What.CORE_FROM_LEFT, x - left.face(y, 0.0))
    yield _Aim(What.CORE_FROM_BACK, y - back.face(x, 0.0))
    for what, size in zip((What.RECESS_WIDTH, What.RECESS_DEPTH, What.RECESS_DEEP), true.recess, strict=True):
        yield _Aim(what, size)
    yield _Aim(What.BUILD_UP, true.build_up)
    meant = nominal(true.unit)
    for share_y in (0.12, 0.5, 0.88):
        for share_x in (0.08, 0.3, 0.7, 0.92):
            spot = _place(share_x * meant.width), _place(share_y * meant.depth)
            yield _Aim(What.SLAB, true.slab(*spot), _LASER, place=(("x", spot[0]), ("y", spot[1])))
    for share_x in (0.2, 0.5, 0.8):
        spot = _place(share_x * meant.width), _place(meant.depth + 6 * INCH)
        yield _Aim(What.SLAB, true.slab(*spot), _LASER, place=(("x", spot[0]), ("y", spot[1])))


def _wood(true: TruePocket) -> Iterator[_Aim]:
    """Studs, and a board flat between them behind the bars, all round."""
    for wall, framed in zip(Wall, true.walls, strict=True):
        name, key = wall.name.lower(), "x" if wall is Wall.BACK else "y"
        for at in framed.studs:
            yield _Aim(What.STUD, at, wall=name)
        low, wide = true.board
        ends = ((key, _place(framed.studs[0])), (f"{key}2", _place(framed.studs[-1])), ("z", low))
        yield _Aim(What.BLOCKING, wide, wall=name, place=ends)


def _chosen(studs: Sequence[float], every: int) -> list[float]:
    """Every so many of them, both ends among them."""
    return sorted({*studs[::every], studs[-1]})


def _place(at: float) -> float:
    """A place along a wall is taped to the quarter inch."""
    return parse_length(format_length(at, denominator=4)).value


def _measured(aim: _Aim, visit: Visit, number: int, datum: float, rng: np.random.Generator) -> Measure:
    tool = (INSTRUMENTS | TOOLS)[aim.tool]
    assert tool.u is not None
    slab = aim.what is What.SLAB
    text, value = _read(aim.true + (datum if slab else 0.0), rng, tool.u)
    when = visit.when + timedelta(minutes=number // 2)
    return Measure.model_validate(
        {
            "id": _id(rng), "room": visit.room, "what": aim.what, "wall": aim.wall, **dict(aim.place), "value": value,
            "u": tool.u, "written": text, "setup": setup_of(tool.id, visit.who, when) if slab else "",
            "instrument": tool.id, "who": visit.who, "when": when,
        }
    )  # fmt: skip


def _read(true: float, rng: np.random.Generator, u: float = INCH / 32) -> tuple[str, float]:
    """As written and as it reads; the tool's uncertainty holds the rounding too."""
    noise = math.sqrt(u**2 - _MARK**2 / 12)
    text = format_length(true + noise * float(rng.standard_normal()), denominator=round(INCH / _MARK))
    return text, parse_length(text).value


def _id(rng: np.random.Generator) -> str:
    return str(uuid.UUID(bytes=rng.bytes(16), version=4))
