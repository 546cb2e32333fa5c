"""A unit in its pocket as plain data for a picture.

Mark, Face, PlacementPicture   what is drawn
placement_picture              out of a placement
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Verdict
from drainward.job.model import UnitModel
from drainward.pocket.limits import outline
from drainward.pocket.mend import mend_words
from drainward.pocket.place import Placement
from drainward.pocket.shape import Pocket, Wall
from drainward.quantity import INCH, format_length

__all__ = ["Face", "Mark", "PlacementPicture", "placement_picture"]

Mark = Literal["", "touches", "largest", "in the way"]


@dataclass(frozen=True, slots=True)
class Face:
    """A stud face: along the unit's outside from its back left corner, height, gap to the flange; m.

    level : the plan in which it is drawn, lowest 0;  label : the shim to the nearest 1/16 in; with a minus sign
    what is to be planed
    """

    wall: Wall
    stud: int
    along: float
    z: float
    gap: float
    level: int
    label: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class PlacementPicture:
    """The unit's outside with its origin in the back left corner; m.

    title  : whether it goes in, in words, or that this is not proven;  change : what would let it in, or ""
    levels : heights of the plans;  faces : every stud face that the unit meets
    drain, core : x, y and radius, of the drain's body and of its hole;  core is None where not measured
    line   : how far the threshold's edge lies beyond its line at the left and the right; None where no line is set
    """

    title: str
    change: str
    width: float
    depth: float
    height: float
    levels: tuple[float, ...]
    faces: tuple[Face, ...]
    drain: tuple[float, float, float]
    core: tuple[float, float, float] | None
    line: tuple[float, float] | None


def placement_picture(unit: UnitModel, pocket: Pocket, placed: Placement, goes_in: Verdict) -> PlacementPicture:
    """The picture's data; the unit is drawn straight, the pocket round it as it lies to the unit.

    goes_in : the verdict over all that the survey leaves open, for the title: the picture is of one pocket only
    """
    shape = outline(unit)
    used = np.array([shim.index for shim in placed.shims])
    levels = _levels(pocket.z[used])
    marks = _marks(placed)
    faces = []
    for shim in placed.shims:
        i = shim.index
        wall = Wall(int(pocket.wall[i]))
        z = float(pocket.z[i])
        level = int(np.abs(np.array(levels) - z).argmin())
        along = _along(pocket, i, placed, shape.left if wall is Wall.BACK else shape.back)
        faces.append(
            Face(wall, int(pocket.stud[i]), along, z, shim.thickness, level, _label(shim.thickness), marks.get(i, ""))
        )
    drain = (shape.drain_x - shape.left, shape.drain_y - shape.back, shape.drain)
    core = None
    if np.isfinite(pocket.core).all() and np.isfinite(pocket.core_radius):
        c, s = np.cos(placed.turn), np.sin(placed.turn)
        off_x, off_y = placed.drain_off
        core = (drain[0] - c * off_x - s * off_y, drain[1] + s * off_x - c * off_y, pocket.core_radius)
    return PlacementPicture(
        title=_title(placed, goes_in),
        change=mend_words(pocket, placed),
        width=shape.right - shape.left,
        depth=shape.front - shape.back,
        height=unit.outside_height,
        levels=levels,
        faces=tuple(faces),
        drain=drain,
        core=core,
        line=placed.line_off if np.isfinite(placed.line_off).all() else None,
    )


def _title(placed: Placement, goes_in: Verdict) -> str:
    if placed.goes_in:
        if goes_in is Verdict.MEETS:
            return f"goes in; largest shim {format_length(placed.largest)}"
        return f"would go in as the pocket is believed, largest shim {format_length(placed.largest)}: not proven"
    tight = f"{_sixteenths(-placed.room)} too tight"
    if goes_in is Verdict.FAILS:
        return f"does not go in: {tight}"
    return f"would not go in as the pocket is believed, {tight}: not proven"


def _sixteenths(metres: float) -> str:
    """To the next 1/16 in up: what is planed less does not do."""
    return format_length(float(np.ceil(metres / (INCH / 16) - 1e-3)) * INCH / 16)


def _label(gap: float) -> str:
    if gap < -1e-6:
        return f"-{_sixteenths(-gap)}"
    return format_length(max(gap, 0.0))


def _levels(z: NDArray[np.float64]) -> tuple[float, ...]:
    """The lowest, a middle and the highest of the surveyed heights; fewer where there are fewer."""
    heights = np.unique(np.round(z, 3))
    picked = heights if len(heights) <= 3 else heights[[0, len(heights) // 2, -1]]
    return tuple(float(height) for height in picked)


def _marks(placed: Placement) -> dict[int, Mark]:
    marks: dict[int, Mark] = {shim.index: "in the way" for shim in placed.shims if shim.thickness < -1e-6}
    if placed.goes_in:
        for bind in placed.binding:
            if bind.what == "stud":
                marks[bind.index] = "touches" if bind.touches else "largest"
    return marks


def _along(pocket: Pocket, i: int, placed: Placement, start: float) -> float:
    """Where the face stands along the unit's own outside."""
    c, s = np.cos(placed.turn), np.sin(placed.turn)
    at, off = float(pocket.at[i]), float(pocket.off[i])
    if pocket.wall[i] == Wall.BACK:
        return float(c * at + s * off - placed.shift[0] - start)
    return float(-s * off + c * at - placed.shift[1] - start)
