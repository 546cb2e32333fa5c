"""Hand-made slabs and rooms of the bed's tests; lengths in inches."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from shower_units import INCH
from surveys import UNIT, job, measure, survey

from drainward.bed.slab import Spots
from drainward.bed.void import BoxOut, Underside, Void, void
from drainward.job.model import Job, Measure, What
from drainward.pocket.limits import outline

FLOOR = UNIT.inside_width * UNIT.inside_depth
SET = Underside(0.0, u=0.0, u_level=0.0)


def box(deep: float = 1.5, u: float = 0.0, at: tuple[float, float] = (30.0, 18.0)) -> BoxOut:
    return BoxOut(at[0] * INCH, at[1] * INCH, 10 * INCH, 10 * INCH, deep * INCH, (u * INCH,) * 3, True)


def spots(
    slab: Callable[[float, float], float],
    n: tuple[int, int] = (4, 3),
    u: float = 1 / 32,
    datum: float | None = None,
    seed: int | None = None,
) -> Spots:
    """Read on a grid, over the finished floor itself or over a datum; with errors where a seed is given."""
    gx, gy = np.meshgrid((np.arange(n[0]) + 0.5) * 60 / n[0], (np.arange(n[1]) + 0.5) * 36 / n[1])
    x, y = gx.ravel(), gy.ravel()
    value = np.array([slab(*place) for place in zip(x, y, strict=True)])
    if seed is not None:
        value = value + u * np.random.default_rng(seed).standard_normal(len(x))
    outside = np.zeros(len(x), dtype=bool)
    setup = np.full(len(x), -1 if datum is None else 0)
    return Spots(
        x * INCH, y * INCH, (value + (datum or 0.0)) * INCH, np.full(len(x), u * INCH), setup, outside, 0.0, 1e-6
    )


def flat(under: float = 0.75, u: float = 1 / 32) -> Void:
    """A void of `under` at the drain over a level slab."""
    sunk = -UNIT.floor.thickness / INCH - under
    return void(UNIT, spots(lambda x, y: sunk, u=u), box(), SET, samples=200)


def room(slab: float = -1.25, spot: Callable[[float, float], float] | None = None) -> list[Measure]:
    """A surveyed room whose slab lies so far under the finished floor, read at twelve spots under the unit."""
    found = [m for m in survey() if m.what is not What.SLAB]
    shape = outline(UNIT)
    left, back = -shape.left / INCH, -shape.back / INCH
    for x in (6.0, 20.0, 40.0, 54.0):
        for y in (4.0, 12.0, 31.0):
            height = slab if spot is None else spot(x, y)
            found.append(measure(What.SLAB, -40.0 + height, 1 / 32, x=x + left + 0.25, y=y + back + 0.25))
    return [*found, *(measure(What.SLAB, -40.0 - 0.375, 1 / 32, x=x, y=46.0) for x in (8.0, 32.0, 55.0))]


@cache
def good_room() -> Job:
    return job(room())
