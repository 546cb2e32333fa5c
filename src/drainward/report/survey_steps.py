"""What to measure of a pocket and of a unit that arrived, one after the other, as a crew walks round it.

Step           one measure: where the tape goes, in words and as the columns of survey.csv and received.csv
survey_steps   all of them for a room: the one that decides first, then in the order of a round
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from drainward.job.model import Measure, Received, Size, UnitModel, What
from drainward.job.received_file import sheet_size
from drainward.quantity import INCH, format_length

if TYPE_CHECKING:
    from drainward.pocket.ask import Asked

__all__ = ["Step", "survey_steps"]

Side = Literal["", "left", "back", "right"]
_END = 2 * INCH
_OVER_FOOT = 72 * INCH
_ON_CENTRE = 16 * INCH
_CORNER = 4 * INCH
_BEFORE = 12 * INCH
_SAME = 6 * INCH
"""A measure so near to where a step asks for it has answered the step, m."""


@dataclass(frozen=True, slots=True)
class Step:
    """One measure to take; x, y, z, x2, y2 in m as in `job.model.Measure`, None where they say nothing.

    of    : "pocket" or "unit";  title, how : what, and where the tape goes
    sheet : size of the unit as its cut sheet has it, "" for the pocket;  why : why it comes first, "" for the others
    done  : how often it was measured;  number : of a stud on its wall, counted from 1, else 0
    """

    of: Literal["pocket", "unit"]
    what: What | Size
    wall: Side = ""
    x: float | None = None
    y: float | None = None
    z: float | None = None
    x2: float | None = None
    y2: float | None = None
    number: int = 0
    sheet: str = ""
    why: str = ""
    done: int = 0

    @property
    def title(self) -> str:
        """What is measured, as the heading of its screen."""
        if isinstance(self.what, Size):
            return _SIZE_TITLES[self.what]
        name = _TITLES[self.what]
        if self.what in (What.DIAGONAL, What.SQUARE):
            return f"{name}, back {self.wall} corner"
        return f"{name}, {self.wall} wall" + (f", stud {self.number}" if self.number else "") if self.wall else name

    @property
    def how(self) -> str:
        """Where and how the tape is held, in a sentence."""
        if isinstance(self.what, Size):
            return _SIZE_HOW[self.what]
        ways = ((self.x, "from the left"), (self.y, "from the back"), (self.z, _HEIGHTS.get(self.what, "up")))
        where = ", ".join(f"{format_length(at, denominator=4)} {way}" for at, way in ways if at is not None)
        how = _HOW[self.what].replace("WALL", self.wall)
        return f"{how} {where[:1].upper()}{where[1:]}." if where else how


def survey_steps(
    unit: UnitModel, measures: Sequence[Measure], received: Sequence[Received], asked: Asked | None
) -> tuple[Step, ...]:
    """Every step of a room, with how often each was taken; `asked` first where there is one."""
    pocket = [replace(step, done=_taken(step, measures)) for step in _round(unit)]
    arrived = [
        Step("unit", what, sheet="" if what is Size.DAMAGE else format_length(sheet_size(unit, what)),
             done=sum(row.what is what for row in received))
        for what in Size
    ]  # fmt: skip
    if asked is None:
        return (*pocket, *arrived)
    wall: Side = next((side for side in ("left", "back", "right") if side == asked.wall), "")
    first = Step("pocket", asked.what, wall, asked.x, asked.y, asked.z, why=asked.why)
    # Where the round stops at the same place, the asked one stands for it.
    rest = (
        step for step in pocket if step.done or step.what is not first.what or not _near(step, _places(first), wall)
    )
    return (first, *rest, *arrived)


def _round(unit: UnitModel) -> Iterator[Step]:
    """The round of a pocket; places and their number are common practice, no source."""
    wide, deep, high = unit.outside_width, unit.outside_depth, unit.outside_height
    heights = (_END, high / 2, high - _END)
    for z in heights:
        yield from (Step("pocket", What.WIDTH, y=y, z=z) for y in (_END, deep - _END))
    for z in heights:
        yield from (Step("pocket", What.DEPTH, x=x, z=z) for x in (_END, wide - _END))
    yield from (Step("pocket", What.DIAGONAL, wall, z=_END) for wall in _SIDES)
    yield from (Step("pocket", what) for what in (What.CORE, What.CORE_FROM_LEFT, What.CORE_FROM_BACK))
    yield from (Step("pocket", What.PLUMB, wall, y=y, z=_OVER_FOOT) for wall in _SIDES for y in (_END, deep - _END))
    yield from (Step("pocket", What.PLUMB, "back", x=x, z=_OVER_FOOT) for x in (_END, wide - _END))
    for wall, span in (("left", deep), ("back", wide), ("right", deep)):
        count = 2 + max(round(span / _ON_CENTRE) - 1, 0)
        side: Side = "left" if wall == "left" else "back" if wall == "back" else "right"
        yield from (Step("pocket", What.STUD, side, number=number + 1) for number in range(count))
    yield from (Step("pocket", what) for what in (What.RECESS_WIDTH, What.RECESS_DEPTH, What.RECESS_DEEP))
    for y in (_CORNER, deep - _CORNER):
        yield from (Step("pocket", What.SLAB, x=x, y=y) for x in (_CORNER, wide - _CORNER))
    # Whether the opening is level shows from its left to its right, and a step before it.
    yield from (Step("pocket", What.SLAB, x=x, y=deep + _END) for x in (_CORNER, wide - _CORNER))
    yield Step("pocket", What.SLAB, x=wide / 2, y=deep + _BEFORE)
    yield from (Step("pocket", what) for what in (What.BUILD_UP, What.DOOR_WIDTH, What.CEILING))
    yield from (Step("pocket", What.SQUARE, wall, y=deep * 2 / 3) for wall in _SIDES)
    yield Step("pocket", What.BLOCKING, "back", x=_ON_CENTRE, x2=2 * _ON_CENTRE, z=33 * INCH)


_SIDES: tuple[Side, ...] = ("left", "right")


def _taken(step: Step, measures: Iterable[Measure]) -> int:
    same = [measure for measure in measures if measure.what is step.what and measure.wall == step.wall]
    if step.what is What.STUD:
        return int(len(same) >= step.number)
    if step.what is What.BLOCKING:
        return len(same)
    return sum(_near(step, _places(measure), measure.wall) for measure in same)


def _places(entry: Measure | Step) -> tuple[float | None, ...]:
    return entry.x, entry.y, entry.z


def _near(step: Step, places: Sequence[float | None], wall: str) -> bool:
    pairs = zip(_places(step), places, strict=True)
    return step.wall == wall and all(
        a is None or b is None or math.isclose(a, b, rel_tol=0.0, abs_tol=_SAME) for a, b in pairs
    )


_HEIGHTS = {What.PLUMB: "over its foot"}

_TITLES = {
    What.WIDTH: "Width between studs",
    What.DEPTH: "Depth",
    What.DIAGONAL: "Diagonal",
    What.PLUMB: "Out of plumb",
    What.SQUARE: "Out of square",
    What.STUD: "Middle of a stud",
    What.SLAB: "Height of the slab",
    What.CORE: "Core hole, across",
    What.CORE_FROM_LEFT: "Core hole, from the left",
    What.CORE_FROM_BACK: "Core hole, from the back",
    What.RECESS_WIDTH: "Recess, width",
    What.RECESS_DEPTH: "Recess, back to front",
    What.RECESS_DEEP: "Recess, how deep",
    What.BUILD_UP: "Finished floor still to come",
    What.BLOCKING: "Blocking",
    What.DOOR_WIDTH: "Door, clear width",
    What.CEILING: "Ceiling height",
}

_HOW = {
    What.WIDTH: "Tape from the left stud face to the right one.",
    What.DEPTH: "Tape from the back stud face to the line of the threshold's outer edge.",
    What.DIAGONAL: "Tape from the back corner at the WALL to the other end of the threshold's line.",
    What.PLUMB: "Level upright on the WALL stud face: how far it stands in or out over its foot.",
    What.SQUARE: "Square in the back corner at the WALL: how far it is open or closed at the end of its leg.",
    What.STUD: "Tape hooked in the corner, along the WALL wall, to the middle of the stud.",
    What.SLAB: "Laser line to the slab; leave the laser where it stands until all heights are read.",
    What.CORE: "Tape across the hole for the drain.",
    What.CORE_FROM_LEFT: "Tape from the left stud face to the middle of the hole.",
    What.CORE_FROM_BACK: "Tape from the back stud face to the middle of the hole.",
    What.RECESS_WIDTH: "Tape across the recess, left to right.",
    What.RECESS_DEPTH: "Tape across the recess, back to front.",
    What.RECESS_DEEP: "Straightedge over the recess, tape down to its bottom.",
    What.BUILD_UP: "Height of tile and its bed that will come on the slab outside.",
    What.BLOCKING: "Width of a board on the WALL wall; its ends and its lower edge stand under Where.",
    What.DOOR_WIDTH: "Tape from the face of the open leaf to the stop.",
    What.CEILING: "Tape from the finished floor to the ceiling.",
}

_SIZE_TITLES = {
    Size.OUTSIDE_WIDTH: "Unit, outside width",
    Size.OUTSIDE_DEPTH: "Unit, outside depth",
    Size.OUTSIDE_HEIGHT: "Unit, outside height",
    Size.INSIDE_WIDTH: "Unit, inside width",
    Size.INSIDE_DEPTH: "Unit, inside depth",
    Size.THRESHOLD_HEIGHT: "Unit, threshold height",
    Size.DRAIN_X: "Unit, drain from the left",
    Size.DRAIN_Y: "Unit, drain from the back",
    Size.FLANGE_WIDTH: "Unit, flange width",
    Size.DAMAGE: "Unit, damage",
}

_SIZE_HOW = {
    Size.OUTSIDE_WIDTH: "Tape across the back, over the flanges.",
    Size.OUTSIDE_DEPTH: "Tape from the back of the flange to the outer edge of the threshold.",
    Size.OUTSIDE_HEIGHT: "Tape from the underside to the top of the flange.",
    Size.INSIDE_WIDTH: "Tape from the inside of the left wall to the right one.",
    Size.INSIDE_DEPTH: "Tape from the inside of the back wall to the inside of the threshold.",
    Size.THRESHOLD_HEIGHT: "Tape from the underside to the top of the threshold.",
    Size.DRAIN_X: "Tape from the inside of the left wall to the middle of the drain.",
    Size.DRAIN_Y: "Tape from the inside of the back wall to the middle of the drain.",
    Size.FLANGE_WIDTH: "Tape across the flange.",
    Size.DAMAGE: "Look at floor, walls, flanges and drain in good light, and photograph what you see.",
}
