"""Small linear programs, solved thousands of times: `least`.

A dual simplex on the corners themselves: a basis is as many rows as there are unknowns, its corner is where they hold
with equality, and the row that is missed most enters. It suits programs of three to five unknowns and hundreds of rows,
where a general solver spends its time on being called (C. E. Lemke, "The dual method of solving the linear programming
problem", Naval Research Logistics Quarterly 1 (1954) 36-47; ties by R. G. Bland, Mathematics of Operations Research 2
(1977) 103-107, so that it ends).
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["INFEASIBLE", "OPTIMAL", "least"]

Array = NDArray[np.float64]
Basis = NDArray[np.int64]

OPTIMAL, INFEASIBLE, STUCK = 0, 1, 2

_MISSED = 1e-11  # of a row, in its own unit: some thousand times the rounding of lengths of a metre
_PIVOT = 1e-10
_BLAND_FROM, _MOST = 100, 5000


_compile = njit(cache=True, nogil=True, error_model="numpy")


@_compile
def least(c: Array, a: Array, b: Array, bound: Array) -> tuple[int, Array, Basis, Array, Array]:
    """Minimise c v over a v <= b and |v| <= bound.

    c, bound : (n,), bound finite;  a : (m, n);  b : (m,)
    Returns the state (OPTIMAL, INFEASIBLE, STUCK), v (n,), the basis (n,) as rows of a (from m on: v_j <= bound_j, then
    -v_j <= bound_j), the multipliers of its rows (n,), not negative, and the inverse (n, n) of its rows: v is the
    inverse times their b, and the least value is minus the multipliers times their b. Only OPTIMAL has a meaning for v.
    """
    m, n = a.shape
    basis, inverse = _start(c, m)
    v, weight, share = np.empty(n), np.empty(n), np.empty(n)
    for turn in range(_MOST):
        for i in range(n):
            v[i] = weight[i] = 0.0
            for k in range(n):
                r = basis[k]
                v[i] += inverse[i, k] * (b[r] if r < m else bound[(r - m) % n])
                weight[i] -= c[k] * inverse[k, i]
        enters = _missed_most(a, b, bound, v, turn >= _BLAND_FROM)
        if enters < 0:
            return OPTIMAL, v, basis, np.maximum(weight, 0.0), inverse
        _shares(a, enters, inverse, share)
        leaves = _leaving(share, weight, basis)
        if leaves < 0:
            return INFEASIBLE, v, basis, weight, inverse
        inverse[:, leaves] /= share[leaves]
        for k in range(n):
            if k != leaves:
                for i in range(n):
                    inverse[i, k] -= share[k] * inverse[i, leaves]
        basis[leaves] = enters
    return STUCK, v, basis, weight, inverse


@_compile
def _start(c: Array, m: int) -> tuple[Basis, Array]:
    """The corner of the bounds that c prefers."""
    n = len(c)
    basis, inverse = np.empty(n, np.int64), np.zeros((n, n))
    for j in range(n):
        up = c[j] < 0.0
        basis[j] = m + j if up else m + n + j
        inverse[j, j] = 1.0 if up else -1.0
    return basis, inverse


@_compile
def _missed_most(a: Array, b: Array, bound: Array, v: Array, first: bool) -> int:
    """The row that v misses by most, or the first that it misses; -1 where it misses none."""
    m, n = a.shape
    worst = _MISSED
    enters: int = -1
    for r in range(m):
        missed = -b[r]
        for j in range(n):
            missed += a[r, j] * v[j]
        if missed > worst:
            enters, worst = r, missed
            if first:
                return enters
    for j in range(n):
        missed = abs(v[j]) - bound[j]
        if missed > worst:
            enters, worst = (m + j if v[j] > 0.0 else m + n + j), missed
            if first:
                return enters
    return enters


@_compile
def _shares(a: Array, enters: int, inverse: Array, share: Array) -> None:
    """The entering row as a sum of the basis rows."""
    m, n = a.shape
    for k in range(n):
        if enters < m:
            share[k] = 0.0
            for j in range(n):
                share[k] += a[enters, j] * inverse[j, k]
        else:
            j = (enters - m) % n
            share[k] = inverse[j, k] if enters < m + n else -inverse[j, k]


@_compile
def _leaving(share: Array, weight: Array, basis: Basis) -> int:
    """The basis row whose multiplier reaches nought first, the lowest of those that tie; -1 where none does."""
    leaves, ratio = -1, np.inf
    for k in range(len(share)):
        if share[k] > _PIVOT:
            here = max(weight[k], 0.0) / share[k]
            tie = leaves >= 0 and here < ratio + 1e-12 and basis[k] < basis[leaves]
            if here < ratio - 1e-12 or tie:
                leaves, ratio = k, min(here, ratio)
    return leaves
