"""The inner loop of the belief: the odds of every defect at every height, given the others, and draws from them."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

__all__ = ["choose", "log_ratio"]


@njit(cache=True, nogil=True, inline="always")
def log_ratio(q, b, mean, variance):  # type: ignore[no-untyped-def]
    """Log of the evidence with a feature of height ~ N(mean, variance) over the evidence without it.

    q, b : squared norm of the whitened feature, and its product with the whitened misfit. The evidence grows by
    (1 + v q)^-1/2 exp((v b^2 + 2 m b - m^2 q) / 2 (1 + v q)): matrix determinant lemma and Woodbury's identity.
    """
    shrink = 1.0 / (1.0 + variance * q)
    return 0.5 * np.log(shrink) + 0.5 * shrink * (variance * b * b + 2.0 * mean * b - mean * mean * q)


@njit(cache=True, nogil=True)
def choose(norm, product, cross, inner, pull, odds, defects, mean, variance, share, none, throw, way, element, height, total):  # type: ignore[no-untyped-def]
    """For each particle draw one element from its posterior given the particle's other elements.

    norm    : (w, m) squared norm of each whitened feature, by way
    product : (p, m) its product with the particle's whitened misfit; cross : (p, o, m) with the o other elements
    inner   : (p, o, o) inverse of I + Gram matrix of the others; pull : (p, o) inner times their product with the misfit
    odds    : (m,) prior odds; the first `defects` have height classes mean[0], variance[0], the rest mean[1], variance[1]
    share   : (classes,) odds of the classes; none : odds of no element; throw : (p, 2) uniform
    Writes element (p,) or -1, height class (p,), and total (p,), the log of the summed odds.
    """
    particles, m = product.shape
    others = cross.shape[1]
    classes = len(share)
    score = np.empty(m)
    part = np.empty(classes)
    left_q = np.empty(m)
    left_b = np.empty(m)
    for p in range(particles):
        for k in range(m):
            left_q[k] = norm[way[p], k]
            left_b[k] = product[p, k]
        for i in range(others):
            for j in range(others):
                for k in range(m):
                    left_q[k] -= inner[p, i, j] * cross[p, i, k] * cross[p, j, k]
            for k in range(m):
                left_b[k] -= pull[p, i] * cross[p, i, k]
        top = 0.0
        for k in range(m):
            q, b = max(left_q[k], 0.0), left_b[k]
            group = 0 if k < defects else 1
            if q * mean[group, classes - 1] ** 2 < 1e-4 and q * variance[group, classes - 1] < 1e-4 and abs(b * mean[group, classes - 1]) < 1e-2 and b * b * variance[group, classes - 1] < 1e-4:
                score[k] = 0.0
                continue
            best = -1e300
            for c in range(classes):
                part[c] = log_ratio(q, b, mean[group, c], variance[group, c])
                best = max(best, part[c])
            summed = 0.0
            for c in range(classes):
                if part[c] > best - 20.0:
                    summed += share[c] * math.exp(part[c] - best)
            score[k] = best + math.log(summed)
            top = max(top, score[k])
        start = none * math.exp(-top)
        summed = start
        for k in range(m):
            score[k] = odds[k] * math.exp(score[k] - top) if score[k] > top - 30.0 else 0.0
            summed += score[k]
        total[p] = top + math.log(summed)
        target = throw[p, 0] * summed
        if target < start:
            element[p] = -1
            height[p] = 0
            continue
        k = 0
        reached = start + score[0]
        while reached < target and k < m - 1:
            k += 1
            reached += score[k]
        element[p] = k
        q, b = max(left_q[k], 0.0), left_b[k]
        group = 0 if k < defects else 1
        best = -1e300
        for c in range(classes):
            part[c] = log_ratio(q, b, mean[group, c], variance[group, c])
            best = max(best, part[c])
        summed = 0.0
        for c in range(classes):
            part[c] = share[c] * math.exp(part[c] - best)
            summed += part[c]
        reached = 0.0
        height[p] = classes - 1
        for c in range(classes):
            reached += part[c]
            if reached >= throw[p, 1] * summed:
                height[p] = c
                break
