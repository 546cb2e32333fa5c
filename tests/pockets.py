"""Hand-made pockets of the placement tests, sizes in inches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shower_units import INCH, level

from drainward.pocket.limits import outline
from drainward.pocket.shape import Pocket, Wall

UNIT = level(60, 36, (30, 18), 0.5).model_copy(update={"threshold_lip": 0.5 * INCH})
SHAPE = outline(UNIT)
NAN = float("nan")

Face = tuple[Wall, float, float, float]
"""Wall, place along it and height, and the gap that a unit in the middle has there: in."""


def pocket(
    faces: Sequence[Face],
    core: tuple[float, float, float] = (NAN, NAN, NAN),
    front: tuple[float, float] = (NAN, NAN),
    slab: Sequence[tuple[float, float, float]] = (),
    u: float = 1 / 32,
) -> Pocket:
    """A pocket in the frame of a unit that stands in the middle: its own frame and the pocket's are one.

    core : x, y and radius;  front : of the line beyond the unit's outer edge;  u : of everything
    """
    wall = np.array([face[0] for face in faces], dtype=np.intp)
    along, z, gap = (np.array([face[k] for face in faces], dtype=np.float64) * INCH for k in (1, 2, 3))
    off = np.where(
        wall == Wall.LEFT, SHAPE.left - gap, np.where(wall == Wall.BACK, SHAPE.back - gap, SHAPE.right + gap)
    )
    places = np.array(slab, dtype=np.float64).reshape(-1, 3).T * INCH
    line = SHAPE.front + np.array(front) * INCH
    middle = np.array(core) * INCH
    mean = np.concatenate([off, middle, places[2], line])
    covariance = np.diag(np.where(np.isfinite(mean), (u * INCH) ** 2, 0.0))
    stud = np.round(along / (16 * INCH)).astype(np.intp)
    return Pocket(
        wall, along, z, off, stud, middle[:2], float(middle[2]), places[0], places[1], places[2], line, mean, covariance
    )


def walls(left: float, back: float, right: float) -> list[Face]:
    """Plumb and square walls, each with the same gap at nine places."""
    at = {Wall.LEFT: (2, 18, 34), Wall.BACK: (2, 30, 58), Wall.RIGHT: (2, 18, 34)}
    return [
        (wall, along, z, gap)
        for wall, gap in ((Wall.LEFT, left), (Wall.BACK, back), (Wall.RIGHT, right))
        for along in at[wall]
        for z in (2, 40, 78)
    ]


def moved(of: Pocket, changes: Sequence[tuple[int, float]]) -> Pocket:
    """The same with faces planed back by so much, m."""
    off = of.off.copy()
    for index, much in changes:
        off[index] += much if of.wall[index] == Wall.RIGHT else -much
    return with_off(of, off)


def with_off(of: Pocket, off: NDArray[np.float64]) -> Pocket:
    """The same with other faces."""
    mean = np.concatenate([off, of.mean[len(off) :]])
    return Pocket(
        of.wall, of.at, of.z, off, of.stud, of.core, of.core_radius, of.slab_x, of.slab_y, of.slab, of.front, mean,
        of.covariance,
    )  # fmt: skip
