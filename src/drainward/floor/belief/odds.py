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

_compile = njit(cache=True, nogil=True, fastmath=True, error_model="numpy")


def log_ratio(q: Array, b: Array, mean: Array, variance: Array) -> Array:
    """Log of the factor above; the arguments broadcast."""
    shrink = 1.0 / (1.0 + variance * q)
    return 0.5 * np.log(shrink) + 0.5 * shrink * (variance * b * b + 2.0 * mean * b - mean * mean * q)


@_compile
def _take_out(norm: Any, product: Any, cross: Any, inner: Any, pull: Any, q: Any, b: Any) -> None:
    """q and b of every feature (m,) with the particle's other elements taken out."""
    others, m = cross.shape
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


@_compile
def _greatest_exponent(q: Any, b: Any, mean: float, variance: float, best: Any) -> None:
    for k in range(len(q)):
        e = 0.5 * (variance * b[k] * b[k] + 2.0 * mean * b[k] - mean * mean * q[k]) / (1.0 + variance * q[k])
        best[k] = max(best[k], e)


@_compile
def _add_factor(q: Any, b: Any, mean: float, variance: float, share: float, top: float, weight: Any) -> None:
    """Add share times the factor over exp(top) to the weights.

    exp(x) is (1 + x / 2^16)^(2^16), right to x^2 / 2^17: sixteen squarings, which run in vector registers.
    """
    for k in range(len(q)):
        spread = 1.0 + variance * q[k]
        e = 0.5 * (variance * b[k] * b[k] + 2.0 * mean * b[k] - mean * mean * q[k]) / spread - top
        power = 1.0 + max(e, -60.0) / 65536.0
        for _ in range(16):
            power = power * power
        weight[k] += share * power / math.sqrt(spread)


@_compile
def _pick(weight: Any, target: float) -> int:
    """First index at which the running sum of the weights reaches the target."""
    reached = 0.0
    for k in range(len(weight)):
        reached += weight[k]
        if reached >= target:
            return k
    return len(weight) - 1


@_compile
def choose(
    norm: Any, product: Any, cross: Any, inner: Any, pull: Any, odds: Any, start: Any, mean: Any, variance: Any,
    share: Any, none: float, throw: Any, way: Any, element: Any, height: Any, total: Any,
) -> None:  # fmt: skip
    """For each of p particles draw one of m elements from its posterior given the particle's o other elements.

    norm    : (w, m) squared norm of each whitened feature, by way; way : (p,) the particle's
    product : (p, m) its product with the particle's whitened misfit; cross : (p, o, m) with the o other elements
    inner   : (p, o, o) inverse of I + Gram matrix of the others; pull : (p, o) inner times their product with misfit
    odds    : (m,) prior odds; elements start[g] to start[g + 1] have the height classes mean[g], variance[g]
    share   : (classes,) odds of the classes; none : odds of no element; throw : (p, 2) uniform
    Writes element (p,) or -1, height class (p,), and total (p,), the log of the summed odds.
    """
    particles, m = product.shape
    classes = len(share)
    q, b, best, weight, part = np.empty(m), np.empty(m), np.empty(m), np.empty(m), np.empty(classes)
    for p in range(particles):
        _take_out(norm[way[p]], product[p], cross[p], inner[p], pull[p], q, b)
        best[:] = 0.0
        weight[:] = 0.0
        for g in range(len(start) - 1):
            mine = slice(start[g], start[g + 1])
            for c in range(classes):
                _greatest_exponent(q[mine], b[mine], mean[g, c], variance[g, c], best[mine])
        top = best.max()
        for g in range(len(start) - 1):
            mine = slice(start[g], start[g + 1])
            for c in range(classes):
                _add_factor(q[mine], b[mine], mean[g, c], variance[g, c], share[c], top, weight[mine])
        weight *= odds
        nothing = none * math.exp(-top)
        summed = nothing + weight.sum()
        total[p] = top + math.log(summed)
        element[p] = -1
        height[p] = 0
        if throw[p, 0] * summed >= nothing:
            k = _pick(weight, throw[p, 0] * summed - nothing)
            g = 0
            while k >= start[g + 1]:
                g += 1
            part[:] = 0.0
            for c in range(classes):
                _add_factor(q[k : k + 1], b[k : k + 1], mean[g, c], variance[g, c], share[c], best[k], part[c : c + 1])
            element[p] = k
            height[p] = _pick(part, throw[p, 1] * part.sum())
