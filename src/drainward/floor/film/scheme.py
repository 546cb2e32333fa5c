"""The film equation's kernels on one grid: rates of change, losses, and the factors of the implicit steps.

Arrays are (ny, nx) float64. over_x (nx,) and over_y (ny,) are one over the cells' widths in steps (2 at the walls);
kx, ky are the mobility g / (3 nu) over the squared spacing along each axis.

rates              dh/dt by film and rain
losses             what drain and lip take
factor             I - fade A along each axis, factored once a step
solve_x, solve_y   with those factors
combine            both stages to the new depth, with its error
borrow             cover what is below empty from the neighbours
record             what a step shows
"""

from __future__ import annotations

import math
from typing import Any

from drainward.floor.abreast.lanes import kernel

__all__ = ["borrow", "combine", "factor", "losses", "rates", "record", "solve_x", "solve_y"]


@kernel
def _mobility(a: float, b: float, fall: float) -> tuple[float, float, float]:
    """h^3 between cells a and b of which the level falls from a to b by `fall`, and its derivatives by a and by b.

    Of second order where h is smooth, and ruled by the depth upstream: an empty cell gives nothing, and a thin film on
    the bank of a pond is not hurried by the pond.
    """
    if fall > 0.0:
        up, down = a, b
    else:
        up, down = b, a
    if up > down:
        # The mean of h^3 over the depths between both: exact for a film that levels on a flat floor.
        value = 0.25 * (up + down) * (up * up + down * down)
        by_up = 0.25 * (3.0 * up * up + 2.0 * up * down + down * down)
        by_down = 0.25 * (up * up + 2.0 * up * down + 3.0 * down * down)
    elif down < 2.0 * up:
        value = 0.5 * up * down * (up + down)
        by_up = down * (up + 0.5 * down)
        by_down = up * (down + 0.5 * up)
    else:
        value, by_up, by_down = 3.0 * up * up * up, 9.0 * up * up, 0.0
    if fall > 0.0:
        return value, by_up, by_down
    return value, by_down, by_up


@kernel
def _flux(a: float, b: float, fall: float) -> float:
    return _mobility(a, b, fall)[0] * fall


@kernel
def _response(a: float, b: float, fall: float) -> tuple[float, float]:
    """How the flux from cell a to cell b grows with a and falls with b: neither negative, their difference exact.

    Where the fall outweighs the film's own levelling, the downstream depth would push: its share goes upstream, so that
    what is factored stays an M-matrix.
    """
    mobility, by_a, by_b = _mobility(a, b, fall)
    left, right = mobility + by_a * fall, mobility - by_b * fall
    spare = min(left, right, 0.0)
    return left - spare, right - spare


@kernel
def rates(h: Any, z: Any, over_x: Any, over_y: Any, kx: float, ky: float, rain: Any, out: Any) -> None:
    """out = dh/dt by the film equation and the rain; depths below empty count as empty where they would carry water."""
    ny, nx = h.shape
    for i in range(ny):
        came = 0.0
        for j in range(nx - 1):
            a, b = max(h[i, j], 0.0), max(h[i, j + 1], 0.0)
            q = kx * _flux(a, b, (z[i, j] + h[i, j]) - (z[i, j + 1] + h[i, j + 1]))
            out[i, j] = rain[i, j] + (came - q) * over_x[j]
            came = q
        out[i, nx - 1] = rain[i, nx - 1] + came * over_x[nx - 1]
    for i in range(ny - 1):
        for j in range(nx):
            a, b = max(h[i, j], 0.0), max(h[i + 1, j], 0.0)
            q = ky * _flux(a, b, (z[i, j] + h[i, j]) - (z[i + 1, j] + h[i + 1, j]))
            out[i, j] -= q * over_y[i]
            out[i + 1, j] += q * over_y[i + 1]


@kernel
def losses(
    h: Any, area: Any, rows: Any, columns: Any, drain: Any, lip: Any, lip_weir: float, out: Any, slope: Any
) -> None:
    """Rates at which depth is lost, m/s, with their derivatives, 1/s: the opening's n cells, then the last row's.

    drain : (4,) weir, orifice, capacity (see `film.outlet`), area of the opening's cells, m2
    lip_weir : flow per metre of lip and head^1.5, over the width of the last row's cells, m^-0.5/s
    """
    weir, orifice, capacity, opening = drain[0], drain[1], drain[2], drain[3]
    n = len(rows)
    taken = 0.0
    for k in range(n):
        d = max(h[rows[k], columns[k]], 0.0)
        root = math.sqrt(d)
        if weir * d <= orifice:
            out[k] = weir * d * root / opening
            slope[k] = 1.5 * weir * root / opening
        else:
            out[k] = orifice * root / opening
            slope[k] = 0.5 * orifice / (root * opening)
        taken += out[k] * area[rows[k], columns[k]]
    if taken > capacity:
        out[:n] *= capacity / taken
        slope[:n] *= capacity / taken
    last = h.shape[0] - 1
    for j in range(h.shape[1]):
        over = max(h[last, j] - lip[j], 0.0)
        root = math.sqrt(over)
        out[n + j] = lip_weir * over * root
        slope[n + j] = 1.5 * lip_weir * root


@kernel
def factor(
    h: Any, z: Any, over_x: Any, over_y: Any, kx: float, ky: float, lose: Any,
    low_x: Any, pivot_x: Any, high_x: Any, low_y: Any, pivot_y: Any, high_y: Any,
) -> None:  # fmt: skip
    """L U factors along each axis of I - fade A, A the derivative of the film's rates (see `_response`).

    Both are M-matrices. kx, ky, lose : times fade; lose (ny, nx), what the losses' derivatives add to the x factor.
    Pivots are kept as reciprocals.
    """
    ny, nx = h.shape
    for i in range(ny):
        left = right = pivot = high = 0.0
        for j in range(nx):
            diagonal = 1.0 + lose[i, j] + right * over_x[j]
            low = -left * over_x[j] * pivot
            left = right = 0.0
            if j < nx - 1:
                left, right = _response(h[i, j], h[i, j + 1], (z[i, j] + h[i, j]) - (z[i, j + 1] + h[i, j + 1]))
                left *= kx
                right *= kx
            pivot = 1.0 / (diagonal + left * over_x[j] - low * high)
            high = -right * over_x[j]
            low_x[i, j], pivot_x[i, j], high_x[i, j] = low, pivot, high
    for j in range(nx):
        low_y[0, j] = 0.0
        pivot_y[0, j] = 1.0
    for i in range(ny - 1):
        for j in range(nx):
            left, right = _response(h[i, j], h[i + 1, j], (z[i, j] + h[i, j]) - (z[i + 1, j] + h[i + 1, j]))
            left *= ky
            right *= ky
            pivot = 1.0 / (pivot_y[i, j] + left * over_y[i])
            high = -right * over_y[i]
            low = -left * over_y[i + 1] * pivot
            pivot_y[i, j], high_y[i, j], low_y[i + 1, j] = pivot, high, low
            pivot_y[i + 1, j] = 1.0 + right * over_y[i + 1] - low * high
    for j in range(nx):
        pivot_y[ny - 1, j] = 1.0 / pivot_y[ny - 1, j]
        high_y[ny - 1, j] = 0.0


@kernel
def solve_x(r: Any, low: Any, pivot: Any, high: Any) -> None:
    """Solve along x in place."""
    ny, nx = r.shape
    for i in range(ny):
        x = 0.0
        for j in range(nx):
            x = r[i, j] - low[i, j] * x
            r[i, j] = x
        x = 0.0
        for j in range(nx - 1, -1, -1):
            x = (r[i, j] - high[i, j] * x) * pivot[i, j]
            r[i, j] = x


@kernel
def solve_y(r: Any, low: Any, pivot: Any, high: Any) -> None:
    """Solve along y in place."""
    ny, nx = r.shape
    for i in range(1, ny):
        for j in range(nx):
            r[i, j] -= low[i, j] * r[i - 1, j]
    for j in range(nx):
        r[ny - 1, j] *= pivot[ny - 1, j]
    for i in range(ny - 2, -1, -1):
        for j in range(nx):
            r[i, j] = (r[i, j] - high[i, j] * r[i + 1, j]) * pivot[i, j]


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
