"""The threshold's rise over the finished floor outside, from the readings that cross the opening."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drainward.floor.functionals import SLACK
from drainward.job.model import Reading, ReadingKind, UnitModel

__all__ = ["threshold_rise"]

Array = NDArray[np.float64]


def threshold_rise(unit: UnitModel, readings: tuple[Reading, ...]) -> tuple[float, float] | None:
    """Rise and its standard uncertainty, m; None where the readings do not tell.

    Points up to the threshold's width beyond the opening lie on the threshold, those further out on the finished
    floor. Spot heights hang on one unknown datum per set-up; a wedge or a slope from one to the other reads the rise.
    Weighted least squares; where the readings scatter more than they should, u grows with them (Birge's ratio).
    """
    rows: list[tuple[float, str, float, float]] = []
    for r in readings:
        first = _where(unit, r.y)
        if r.kind is ReadingKind.HEIGHT and first is not None:
            rows.append((float(first), r.setup or "height", r.value, r.u))
        elif r.kind in (ReadingKind.WEDGE, ReadingKind.SLOPE) and r.x2 is not None and r.y2 is not None:
            second = _where(unit, r.y2)
            if first is not None and second is not None and first != second:
                run = 1.0 if r.kind is ReadingKind.WEDGE else -float(np.hypot(r.x2 - r.x, r.y2 - r.y))
                rows.append((float(first) - float(second), "", r.value * run, r.u * abs(run)))
    if not rows:
        return None
    setups = sorted({name for _, name, _, _ in rows if name})
    u = np.array([row[3] for row in rows])
    design = np.array([[row[0], *(float(row[1] == name) for name in setups)] for row in rows]) / u[:, None]
    value = np.array([row[2] for row in rows]) / u
    normal = design.T @ design
    if np.linalg.matrix_rank(normal) < len(normal):
        return None
    inverse = np.linalg.inv(normal)
    best = inverse @ design.T @ value
    free = len(rows) - len(best)
    scatter = float(((value - design @ best) ** 2).sum() / free) if free else 1.0
    return float(best[0]), float(np.sqrt(inverse[0, 0] * max(scatter, 1.0)))


def _where(unit: UnitModel, y: float) -> bool | None:
    """True on the threshold, False on the floor outside, None inside the shower."""
    beyond = y - unit.inside_depth
    if beyond <= SLACK:
        return None
    return beyond <= unit.threshold_width
