"""Hand-made surveys of pockets for the stages before a unit is set; lengths in inches."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from shower_units import INCH, level

from drainward.job.model import Job, Measure, Received, Room, RuleChoice, Size, UnitModel, What
from drainward.pocket.limits import outline

UNIT = level(60, 36, (30, 18), 0.5, "wide").model_copy(update={"threshold_lip": 0.5 * INCH})
SMALL = level(54, 36, (27, 20.5), 0.5, "small").model_copy(update={"threshold_lip": 0.5 * INCH})
WIDE, DEEP, HIGH = (size / INCH for size in (UNIT.outside_width, UNIT.outside_depth, UNIT.outside_height))
LEVELS = (2.0, HIGH / 2, HIGH - 2.0)
_SHAPE = outline(UNIT)
_SIDES = ("left", "right")
DRAIN = ((_SHAPE.drain_x - _SHAPE.left) / INCH, (_SHAPE.drain_y - _SHAPE.back) / INCH)
"""Of the unit, from the outside of its left and its back flange."""
STUDS = {"left": (0.75, 16.0, 32.0, 39.0), "back": (0.75, 16.0, 32.0, 48.0, 63.5), "right": (0.75, 16.0, 32.0, 39.0)}


def measure(what: What, inches: float, u: float = 1 / 64, room: str = "1", **place: object) -> Measure:
    """All in inches; its id says what and where."""
    where = {key: value * INCH if isinstance(value, float) else value for key, value in place.items()}
    name = "-".join(f"{value:g}" if isinstance(value, float) else str(value) for value in (room, what, *place.values()))
    return Measure(id=name, room=room, what=what, value=inches * INCH, u=u * INCH, **where)  # type: ignore[arg-type]


def survey(
    side: float = 0.25, back: float = 0.25, core: tuple[float, float] = (0.0, 0.0), across: float = 6.0, room: str = "1"
) -> list[Measure]:
    """A plumb and square pocket, every face measured.

    side, back : room beside and behind a unit that stands in the middle with its threshold on its line
    core : where the core's middle lies off the drain then;  across : its diameter
    """
    found = [measure(What.WIDTH, WIDE + 2 * side, room=room, y=y, z=z) for z in LEVELS for y in STUDS["left"]]
    found += [measure(What.DEPTH, DEEP + back, room=room, x=x, z=z) for z in LEVELS for x in STUDS["back"]]
    for z in (LEVELS[1], LEVELS[2]):
        found += [
            measure(What.PLUMB, 0.0, room=room, wall=wall, z=z, **{"x" if wall == "back" else "y": at})
            for wall, studs in STUDS.items()
            for at in studs
        ]
    found += [measure(What.SQUARE, 0.0, room=room, wall=wall, y=24.0) for wall in _SIDES]
    between, deep = WIDE + 2 * side, DEEP + back
    found += [measure(What.DIAGONAL, hypot(between, deep), room=room, wall=wall, z=LEVELS[0]) for wall in _SIDES]
    found += [measure(What.STUD, at, room=room, wall=wall, setup=str(at)) for wall in STUDS for at in STUDS[wall]]
    found += [
        measure(What.CORE, across, room=room),
        measure(What.CORE_FROM_LEFT, side + DRAIN[0] + core[0], room=room),
        measure(What.CORE_FROM_BACK, back + DRAIN[1] + core[1], room=room),
        measure(What.BUILD_UP, 0.375, room=room),
    ]
    spots = ((8.0, 8.0), (55.0, 8.0), (8.0, 34.0), (55.0, 34.0))
    found += [measure(What.SLAB, -41.5, room=room, x=x, y=y) for x, y in spots]
    found += [measure(What.SLAB, -40.0, room=room, x=x, y=46.0) for x in (8.0, 32.0, 55.0)]
    sizes = ((What.RECESS_WIDTH, 10.0), (What.RECESS_DEPTH, 10.0), (What.RECESS_DEEP, 1.5))
    found += [measure(what, inches, room=room) for what, inches in sizes]
    return found


def changed(measures: Sequence[Measure], what: What, by: float, only: int | None = None) -> list[Measure]:
    """The same with what was measured of one kind longer by so much; only : the so manieth of that kind.

    A pocket that is wider as a whole has its diagonals with it.
    """
    mine = [one for one in measures if one.what is what]
    picked = mine if only is None else [mine[only]]
    if what is What.WIDTH and only is None:
        wide = mine[0].value
        measures = [
            one.model_copy(update={"value": hypot((one.value**2 - wide**2) ** 0.5, wide + by * INCH)})
            if one.what is What.DIAGONAL
            else one
            for one in measures
        ]
    return [
        one.model_copy(update={"value": one.value + by * INCH}) if any(one is other for other in picked) else one
        for one in measures
    ]


def job(measures: Sequence[Measure], received: Sequence[Received] = (), *units: UnitModel, rooms: str = "1") -> Job:
    """A job of rooms with the wide unit, judged by common practice alone."""
    known = {unit.id: unit for unit in (UNIT, *units)}
    return Job(
        name="Made-up home",
        rules=RuleChoice(use=("practice",)),
        units=known,
        rooms=tuple(Room(room=name, floor="1", unit=UNIT.id) for name in rooms.split()),
        survey=tuple(measures),
        received=tuple(received),
    )


def arrived(what: Size, inches: float, u: float = 1 / 32, room: str = "1") -> Received:
    """One size of the unit as it arrived."""
    return Received(id=f"{room}-{what}", room=room, what=what, value=inches * INCH, u=u * INCH)
