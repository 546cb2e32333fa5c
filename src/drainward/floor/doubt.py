"""From drawn floors to numbers with their doubt, a little more of it than the belief itself has.

band        95 % band of a quantity
wide_band   the same, whether or not the readings missed a defect
middle      the value ± u that stands for a band
prudent     probability of conforming

No family of priors holds every floor, so each tail is taken for 1/0.75 of what the drawn floors give it. Readings leave
two kinds of floor possible: one with no more local defects than they show, and one with a further defect that they
missed. How often floors have one is a guess, on which band and verdict rest; the wide band holds under either kind.
`benchmarks/calibration.py` shows what wide band and verdict come to on floors from outside the belief's family.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["band", "middle", "prudent", "wide_band"]

_TAIL = 0.75
_RARE = 0.05  # a kind of floor rarer than this has too few drawn floors to have a band of its own


def band(values: NDArray[np.floating]) -> tuple[float, float]:
    """The 95 % band of a quantity from its values on drawn floors (c,)."""
    low, high = np.quantile(values, (0.025 * _TAIL, 1 - 0.025 * _TAIL))
    return float(low), float(high)


def wide_band(values: NDArray[np.floating], missed: NDArray[np.bool_]) -> tuple[float, float]:
    """The union of the 95 % bands of both kinds of floor.

    values : (c,); missed : (c,) whether the floor has a defect beyond those that the readings show
    """
    kinds = [kind for kind in (missed, ~missed) if kind.mean() >= _RARE]
    lows, highs = zip(*(band(values[kind]) for kind in kinds), strict=True)
    return min(lows), max(highs)


def middle(ends: tuple[float, float]) -> tuple[float, float]:
    """Value and standard uncertainty that stand for a band: its middle, and its half-width over 1.96 (never zero)."""
    return (ends[0] + ends[1]) / 2, max((ends[1] - ends[0]) / 2 / 1.96, 1e-9)


def prudent(conforms: NDArray[np.bool_]) -> float:
    """Probability of conforming from the drawn floors (c,), its doubt enlarged; 0.5 where either way is likely."""
    p = float(conforms.mean())
    return min(p / _TAIL, 0.5) if p < 0.5 else max(1 - (1 - p) / _TAIL, 0.5)
