"""How water comes onto a floor: over all of it, from a bucket at a point, from a shower's head.

pour_of    what is poured: the recorded test's, else the job's
rain       rate at which it falls on each node
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.floor.film.result import Pour
from drainward.floor.shape import INCH
from drainward.job.model import Job, Pattern, WaterTest

__all__ = ["pour_of", "rain"]

Array = NDArray[np.float64]

REACH = {Pattern.AT_A_POINT: 4 * INCH, Pattern.SHOWER: 8 * INCH}
"""Radius on which a bucket's water lands, and a head's (common practice, no source)."""


def pour_of(job: Job, test: WaterTest | None) -> Pour:
    """The water of a recorded test; without one, what the job means to pour."""
    if test is None:
        return Pour(job.water.how, job.water.poured, job.water.over)
    return Pour(test.how, test.poured, test.over, test.x, test.y)


def rain(pour: Pour, flow: float, x: Array, y: Array, area: Array) -> Array:
    """`flow` (m3/s) as it falls on the nodes, (ny, nx), m/s.

    x : (nx,), y : (ny,), m;  area : (ny, nx) of the nodes' cells, m2
    Over the floor it falls evenly on all of it; from a bucket or a head around its place, the floor's middle where none
    is named. Raises StageError where that place is off the floor.
    """
    if pour.how is Pattern.OVER_THE_FLOOR:
        return np.full(area.shape, flow / area.sum())
    px = (x[0] + x[-1]) / 2 if pour.x is None else pour.x
    py = (y[0] + y[-1]) / 2 if pour.y is None else pour.y
    if not (x[0] <= px <= x[-1] and y[0] <= py <= y[-1]):
        raise StageError("the water is poured beside the floor")
    off = ((x[None, :] - px) ** 2 + (y[:, None] - py) ** 2) / REACH[pour.how] ** 2
    # Fading toward the edge: a sharp one would ring in the steps.
    falls = np.maximum(1.0 - off, 0.0) * area
    rate: Array = flow * np.maximum(1.0 - off, 0.0) / falls.sum()
    return rate
