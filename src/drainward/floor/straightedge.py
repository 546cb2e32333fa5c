"""A straightedge laid across the floor, on drawn floors.

Lines, lines   where it is laid: every line over the floor, evenly
rock           how high the middle stands over the line of the ends: a straightedge laid there rocks
gap            how far the middle departs from the line of the ends, the intended shape taken out
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.result import HighSpot
from drainward.floor.shape import INCH, moulded
from drainward.floor.surface import Surfaces
from drainward.job.model import UnitModel

__all__ = ["Lines", "gap", "high_spots", "lines", "rock"]

Array = NDArray[np.float64]
Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Lines:
    """k straightedges of one length: both ends and the middle, each (k,), m."""

    x: Array
    y: Array
    x2: Array
    y2: Array

    @property
    def middle(self) -> tuple[Array, Array]:
        return (self.x + self.x2) / 2, (self.y + self.y2) / 2


def lines(unit: UnitModel, base: float, spacing: float = 2 * INCH, directions: int = 8) -> Lines:
    """Straightedges of length `base`, clear of the drain, their middles about every `spacing`, in some directions."""
    w, d, drain = unit.inside_width, unit.inside_depth, unit.drain
    xs = np.linspace(0, w, max(round(w / spacing), 1) + 1)
    ys = np.linspace(0, d, max(round(d / spacing), 1) + 1)
    mx, my, angle = (g.ravel() for g in np.meshgrid(xs, ys, np.pi * np.arange(directions) / directions))
    dx, dy = base / 2 * np.cos(angle), base / 2 * np.sin(angle)
    on_floor = (np.abs(mx - w / 2) + np.abs(dx) <= w / 2 + 1e-9) & (np.abs(my - d / 2) + np.abs(dy) <= d / 2 + 1e-9)
    for sx, sy in ((mx, my), (mx - dx, my - dy), (mx + dx, my + dy)):
        on_floor &= np.hypot(sx - drain.x, sy - drain.y) > drain.radius
    mx, my, dx, dy = mx[on_floor], my[on_floor], dx[on_floor], dy[on_floor]
    return Lines(mx - dx, my - dy, mx + dx, my + dy)


def rock(floors: Surfaces, where: Lines, threads: int = 1) -> Floats:
    """Height of the middle over the line of the ends, (k, c), m; positive where a straightedge rocks."""
    ends = floors.at(where.x, where.y, threads) + floors.at(where.x2, where.y2, threads)
    return floors.at(*where.middle, threads) - np.float32(0.5) * ends


def gap(unit: UnitModel, where: Lines, rocked: Floats) -> Floats:
    """Departure of the middle from the line of the ends, beyond the moulded shape's own, (k, c), m, positive."""
    middle = moulded(unit, *where.middle)
    intended = middle - 0.5 * (moulded(unit, where.x, where.y) + moulded(unit, where.x2, where.y2))
    return np.abs(rocked - intended[:, None].astype(np.float32))


def high_spots(where: Lines, rocked: Floats, limit: float, least: float = 0.05, most: int = 6) -> tuple[HighSpot, ...]:
    """Places on which a straightedge rocks by more than `limit` (m), likeliest first, half a length apart or more."""
    probability = (rocked > limit).mean(axis=1)
    spots: list[HighSpot] = []
    mx, my = where.middle
    apart = np.hypot(where.x2 - where.x, where.y2 - where.y) / 2
    for k in np.argsort(-(probability + rocked.mean(axis=1))):
        if probability[k] < least or len(spots) == most:
            break
        if all(np.hypot(mx[k] - (s.x + s.x2) / 2, my[k] - (s.y + s.y2) / 2) > apart[k] for s in spots):
            x, y, x2, y2 = (float(v[k]) for v in (where.x, where.y, where.x2, where.y2))
            height, u = float(rocked[k].mean()), float(rocked[k].std())
            spots.append(HighSpot(x, y, x2, y2, height, u, float(probability[k])))
    return tuple(spots)
