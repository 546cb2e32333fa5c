"""The inner loop of the belief: the odds of every defect at every height, given the others, and draws from them.

A feature whose height has prior mean m and variance v multiplies the evidence of the readings by

    (1 + v q)^-1/2 exp((v b^2 + 2 m b - m^2 q) / 2 (1 + v q))

with q the squared norm of the whitened feature and b its product with the whitened misfit (matrix determinant lemma
and Woodbury's identity).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["choose", "log_ratio"]

Array = NDArray[np.float64]

# Odds this far below the best (in natural logs) are nothing.
_NOTHING = 25.0


def log_ratio(q: Array, b: Array, mean: Array, variance: Array) -> Array:
    """Log of the factor above; the arguments broadcast."""
    shrink = 1.0 / (1.0 + variance * q)
    return 0.5 * np.log(shrink) + 0.5 * shrink * (variance * b * b + 2.0 * mean * b - mean * mean * q)


@njit(cache=True, nogil=True)
def _take_out(norm: Any, product: Any, cross: Any, inner: Any, pull: Any, q: Any, b: Any) -> None:
    """q and b of every feature (m,) with the particle's other elements taken out."""
    m = len(q)
    others = cross.shape[0]
    for k in range(m):
        q[k] = norm[k]
        b[k] = product[k]
    for i in range(others):
        for j in range(others):
            for k in range(m):
                q[k] -= inner[i, j] * cross[i, k] * cross[j, k]
        for k in range(m):
            b[k] -= pull[i] * cross[i, k]
    for k in range(m):
        q[k] = max(q[k], 0.0)


@njit(cache=True, nogil=True)
def _exponent(q: float, b: float, mean: Any, variance: Any, part: Any) -> float:
    """Exponents of the factor by class, into `part`; returns the greatest."""
    best = -1e300
    for c in range(len(mean)):
        part[c] = 0.5 * (variance[c] * b * b + 2.0 * mean[c] * b - mean[c] * mean[c] * q) / (1.0 + variance[c] * q)
        best = max(best, part[c])
    return best


@njit(cache=True, nogil=True)
def _factor(q: float, mean: Any, variance: Any, share: Any, part: Any, top: float) -> float:
    """Sum over the classes of the factor over exp(top); the terms replace the exponents in `part`."""
    total = 0.0
    for c in range(len(mean)):
        if part[c] > top - _NOTHING:
            part[c] = share[c] * math.exp(part[c] - top) / math.sqrt(1.0 + variance[c] * q)
            total += part[c]
        else:
            part[c] = 0.0
    return total


@njit(cache=True, nogil=True)
def _pick(weight: Any, target: float) -> int:
    """First index at which the running sum of the weights reaches the target."""
    reached = 0.0
    for k in range(len(weight)):
        reached += weight[k]
        if reached >= target:
            return k
    return len(weight) - 1


@njit(cache=True, nogil=True)
def choose(
    norm: Any, product: Any, cross: Any, inner: Any, pull: Any, odds: Any, group: Any, mean: Any, variance: Any,
    share: Any, none: float, throw: Any, way: Any, element: Any, height: Any, total: Any,
) -> None:  # fmt: skip
    """For each of p particles draw one of m elements from its posterior given the particle's o other elements.

    norm    : (w, m) squared norm of each whitened feature, by way; way : (p,) the particle's
    product : (p, m) its product with the particle's whitened misfit; cross : (p, o, m) with the o other elements
    inner   : (p, o, o) inverse of I + Gram matrix of the others; pull : (p, o) inner times their product with the misfit
    odds    : (m,) prior odds; group : (m,) row of the height classes mean, variance (groups, classes) of each element
    share   : (classes,) odds of the classes; none : odds of no element; throw : (p, 2) uniform
    Writes element (p,) or -1, height class (p,), and total (p,), the log of the summed odds.
    """
    particles, m = product.shape
    weight = np.empty(m)
    q = np.empty(m)
    b = np.empty(m)
    part = np.empty(len(share))
    best = np.empty(m)
    for p in range(particles):
        _take_out(norm[way[p]], product[p], cross[p], inner[p], pull[p], q, b)
        top = 0.0
        for k in range(m):
            g = group[k]
            best[k] = _exponent(q[k], b[k], mean[g], variance[g], part)
            top = max(top, best[k])
        start = none * math.exp(-top)
        summed = start
        for k in range(m):
            weight[k] = 0.0
            if best[k] > top - _NOTHING:
                g = group[k]
                _exponent(q[k], b[k], mean[g], variance[g], part)
                weight[k] = odds[k] * _factor(q[k], mean[g], variance[g], share, part, top)
                summed += weight[k]
        total[p] = top + math.log(summed)
        element[p] = -1
        height[p] = 0
        if throw[p, 0] * summed >= start:
            k = _pick(weight, throw[p, 0] * summed - start)
            g = group[k]
            top = _exponent(q[k], b[k], mean[g], variance[g], part)
            within = _factor(q[k], mean[g], variance[g], share, part, top)
            element[p] = k
            height[p] = _pick(part, throw[p, 1] * within)
