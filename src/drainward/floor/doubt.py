"""From drawn floors to numbers with their doubt, a little more of it than the belief itself has.

band      95 % band of a quantity
middle    the value ± u that stands for a band
prudent   probability of conforming

No family of priors holds every floor. On floors from outside it, of every kind tried, bands and verdicts hold what they
promise when each tail is taken for 1/0.6 of what the drawn floors give it (benchmarks/calibration.py shows it).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["band", "middle", "prudent"]

_TAIL = 0.6


def band(values: NDArray[np.floating]) -> tuple[float, float]:
    """The 95 % band of a quantity from its values on drawn floors (c,)."""
    low, high = np.quantile(values, (0.025 * _TAIL, 1 - 0.025 * _TAIL))
    return float(low), float(high)


def middle(ends: tuple[float, float]) -> tuple[float, float]:
    """Value and standard uncertainty that stand for a band: its middle, and its half-width over 1.96 (never zero)."""
    return (ends[0] + ends[1]) / 2, max((ends[1] - ends[0]) / 2 / 1.96, 1e-9)


def prudent(conforms: NDArray[np.bool_]) -> float:
    """Probability of conforming from the drawn floors (c,), its doubt enlarged; 0.5 where either way is likely."""
    p = float(conforms.mean())
    return min(p / _TAIL, 0.5) if p < 0.5 else max(1 - (1 - p) / _TAIL, 0.5)
