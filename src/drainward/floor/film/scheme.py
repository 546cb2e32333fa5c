"""The film equation's kernels on one grid: rates of change, losses, and the factors of the implicit steps.

Arrays are (ny, nx) float64. Kernels along one axis work along the first, row by row, so that a row's cells run abreast;
for the other axis they are given transposes, which cost next to nothing. Rows are handed on as arrays of their own:
only then can the compiler prove that they do not overlap, and use vectors.
over : one over the cells' widths along that axis, in steps (2 at the walls);  k : the mobility g / (3 nu) over the
squared spacing along it.

rates      dh/dt by the film along one axis
over_lip   what the lip takes
factor     I - fade A along one axis, factored once a step
solve      with those factors
combine    both stages to the new depth, with its error
borrow     cover what is below empty from the neighbours
record     what a step shows
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from drainward.floor.abreast.lanes import kernel

__all__ = ["borrow", "combine", "factor", "over_lip", "rates", "record", "solve"]


@kernel
def _mobility(up: float, down: float) -> float:
    """h^3 between a cell and the one downstream of it.

    Of second order where h is smooth, and ruled by the depth upstream: an empty cell gives nothing, and a thin film on
    the bank of a pond is not hurried by the pond. Where the film thins downstream it is the mean of h^3 over the depths
    between both, exact for a film that levels on a flat floor.
    """
    near = min(down, 2.0 * up)
    return 0.25 * (up + down) * (up * up + down * down) if up > down else 0.5 * up * near * (up + near)


@kernel
def rates(h: Any, z: Any, over: Any, k: float, out: Any) -> None:
    """Add dh/dt by the film along the first axis to `out`; a depth below empty carries no water."""
    q = np.empty(h.shape[1])
    for i in range(h.shape[0] - 1):
        _fluxes(h[i], h[i + 1], z[i], z[i + 1], k, q)
        _add(q, -over[i], out[i])
        _add(q, over[i + 1], out[i + 1])


@kernel
def _fluxes(a: Any, b: Any, za: Any, zb: Any, k: float, q: Any) -> None:
    for j in range(len(q)):
        fall = (za[j] + a[j]) - (zb[j] + b[j])
        up = max(a[j], 0.0) if fall > 0.0 else max(b[j], 0.0)
        down = max(b[j], 0.0) if fall > 0.0 else max(a[j], 0.0)
        q[j] = k * _mobility(up, down) * fall


@kernel
def _add(q: Any, times: float, to: Any) -> None:
    for j in range(len(q)):
        to[j] += times * q[j]


@kernel
def over_lip(h: Any, lip: Any, weir: float, out: Any, slope: Any) -> None:
    """Rates at which the last row loses depth over the lip, m/s, with their derivatives, 1/s.

    weir : flow per metre of lip and head^1.5, over the width of the last row's cells, m^-0.5/s
    """
    last = h[h.shape[0] - 1]
    for j in range(len(last)):
        root = math.sqrt(max(last[j] - lip[j], 0.0))
        out[j] = weir * root * root * root
        slope[j] = 1.5 * weir * root


@kernel
def factor(h: Any, z: Any, over: Any, k: float, lose: Any, low: Any, pivot: Any, high: Any) -> None:
    """L U factors along the first axis of I - fade A, A the derivative of the film's rates (see `_responses`).

    An M-matrix. k, lose : times fade; lose (ny, nx), what the losses' derivatives add. Pivots are kept as reciprocals.
    """
    n, m = h.shape
    by_a, by_b = np.empty(m), np.empty(m)
    low[0] = 0.0
    pivot[0] = 1.0 + lose[0]
    for i in range(n - 1):
        _responses(h[i], h[i + 1], z[i], z[i + 1], k, by_a, by_b)
        _eliminate(by_a, by_b, over[i], pivot[i], high[i])
        _pass_on(by_a, by_b, over[i + 1], pivot[i], high[i], lose[i + 1], low[i + 1], pivot[i + 1])
    pivot[n - 1] = 1.0 / pivot[n - 1]
    high[n - 1] = 0.0


@kernel
def _responses(a: Any, b: Any, za: Any, zb: Any, k: float, by_a: Any, by_b: Any) -> None:
    """How the flux from row a to row b grows with a and falls with b.

    Neither is negative, and their difference is exact: where the fall outweighs the film's own levelling, the depth
    downstream would push, and its share goes upstream, so that what is factored stays an M-matrix.
    """
    for j in range(len(a)):
        fall = (za[j] + a[j]) - (zb[j] + b[j])
        up = a[j] if fall > 0.0 else b[j]
        down = b[j] if fall > 0.0 else a[j]
        by_up = 0.25 * (3.0 * up * up + 2.0 * up * down + down * down) if up > down else down * (up + 0.5 * down)
        by_up = by_up if down < 2.0 * up else 9.0 * up * up
        by_down = 0.25 * (up * up + 2.0 * up * down + 3.0 * down * down) if up > down else up * (down + 0.5 * up)
        by_down = by_down if down < 2.0 * up else 0.0
        mobility = _mobility(up, down)
        first, second = mobility + by_up * abs(fall), mobility - by_down * abs(fall)
        spare = min(second, 0.0)
        by_a[j] = k * ((first if fall > 0.0 else second) - spare)
        by_b[j] = k * ((second if fall > 0.0 else first) - spare)


@kernel
def _eliminate(by_a: Any, by_b: Any, over: float, pivot: Any, high: Any) -> None:
    for j in range(len(pivot)):
        pivot[j] = 1.0 / (pivot[j] + by_a[j] * over)
        high[j] = -by_b[j] * over


@kernel
def _pass_on(by_a: Any, by_b: Any, over: float, pivot: Any, high: Any, lose: Any, low: Any, next_pivot: Any) -> None:
    for j in range(len(low)):
        low[j] = -by_a[j] * over * pivot[j]
    for j in range(len(low)):
        next_pivot[j] = 1.0 + lose[j] + by_b[j] * over - low[j] * high[j]


@kernel
def solve(r: Any, low: Any, pivot: Any, high: Any) -> None:
    """Solve along the first axis, in place."""
    n = r.shape[0]
    for i in range(1, n):
        _down(r[i - 1], low[i], r[i])
    r[n - 1] *= pivot[n - 1]
    for i in range(n - 2, -1, -1):
        _back(r[i + 1], high[i], pivot[i], r[i])


@kernel
def _down(before: Any, low: Any, r: Any) -> None:
    for j in range(len(r)):
        r[j] -= low[j] * before[j]


@kernel
def _back(after: Any, high: Any, pivot: Any, r: Any) -> None:
    for j in range(len(r)):
        r[j] = (r[j] - high[j] * after[j]) * pivot[j]


@kernel
def combine(h: Any, dt: float, k1: Any, k2: Any, area: Any, new: Any) -> tuple[float, float, float]:
    """new = the depth after the step. Gives the squared errors summed over area, what moved (m3/s), the least depth."""
    square = motion = least = 0.0
    for i in range(h.shape[0]):
        for j in range(h.shape[1]):
            error = 0.5 * dt * (k1[i, j] + k2[i, j])
            square += error * error * area[i, j]
            motion += abs(k1[i, j]) * area[i, j]
            new[i, j] = h[i, j] + dt * (1.5 * k1[i, j] + 0.5 * k2[i, j])
            least = min(least, new[i, j])
    return square, motion, least


@kernel
def borrow(h: Any, area: Any) -> bool:
    """Cover cells below empty from their four neighbours; whether all could be."""
    ny, nx = h.shape
    for i in range(ny):
        for j in range(nx):
            if h[i, j] >= 0.0:
                continue
            debt = -h[i, j] * area[i, j]
            for ii, jj in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
                if 0 <= ii < ny and 0 <= jj < nx and h[ii, jj] > 0.0:
                    lent = min(debt, h[ii, jj] * area[ii, jj])
                    h[ii, jj] = max(h[ii, jj] - lent / area[ii, jj], 0.0)
                    debt -= lent
            if debt > 0.0:
                return False
            h[i, j] = 0.0
    return True


@kernel
def record(old: Any, new: Any, t: float, dt: float, film: float, deepest: Any, wet: Any) -> None:
    """Keep the deepest, and when each place was last under more than `film`, of the step from t to t + dt."""
    for i in range(new.shape[0]):
        for j in range(new.shape[1]):
            deepest[i, j] = max(deepest[i, j], new[i, j])
            if new[i, j] > film:
                wet[i, j] = t + dt
            elif old[i, j] > film:
                wet[i, j] = t + dt * (old[i, j] - film) / (old[i, j] - new[i, j])
