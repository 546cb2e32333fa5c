"""Water as a thin film that runs over a floor: the laminar film equation, stepped in time.

    dh/dt = div( g h^3 / (3 nu) grad(z + h) ) + rain - what the drain takes - what runs over the lip

h depth and z floor height, m; nu kinematic viscosity, m2/s; surface tension is left out (see `film.wetting`).

Basin       the floor, its outlet and its lip, on a regular grid of nodes
Spell       rain over the floor until a time
Ran         what the water did
run         let it rain and run until it rests

Space: finite volumes around the nodes, half cells along the edges. The mobility of a face is of second order where h
is smooth and vanishes with the depth upstream, so an empty cell gives nothing; where the level is even there is no flux
at all, so still water stays still. Time: the Rosenbrock method ROS2 with approximate factorisation by axis (Verwer,
Spee, Blom and Hundsdorfer, SIAM J. Sci. Comput. 20 (1999) 1456), of second order whatever matrix is factored; here that
of upwind mobilities, an M-matrix. The step follows the embedded error. A step that would leave a cell emptier than
empty by rounding or error borrows the deficit from its neighbours, or is refused.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.floor.abreast.lanes import kernel
from drainward.floor.film.fluid import GRAVITY, Fluid
from drainward.floor.film.outlet import LIP_WEIR, Outlet

__all__ = ["Basin", "Ran", "Spell", "run"]

Array = NDArray[np.float64]

TOLERANCE = 5e-6
"""Root mean square of a step's error in depth, m."""
_GAMMA = 1.0 - math.sqrt(0.5)  # the smaller root: ROS2 is L-stable with either, and more accurate with this one
_FIRST, _LEAST = 1e-3, 1e-9  # steps, s
_DEEPEST_DEBT = 3.0  # tolerances below empty at which a step is refused rather than mended
_SAFETY, _SHRINK, _GROW = 0.85, 0.2, 2.0
_STEPS = 100_000


@dataclass(frozen=True, slots=True, eq=False)
class Basin:
    """A floor that holds water.

    z : (ny, nx) height of the nodes, m; dx, dy : their spacing along x and y, m
    opening : (ny, nx) bool, the drain's opening; outlet : what it takes, None for a blocked drain
    lip : rise of the threshold over the floor's last row, (nx,) or one number, m; inf for a wall
    """

    z: Array
    dx: float
    dy: float
    opening: NDArray[np.bool_]
    outlet: Outlet | None
    lip: float | Array = math.inf

    @property
    def area(self) -> Array:
        """Area of each node's cell, (ny, nx), m2."""
        across, along = _halves(self.z.shape[1]), _halves(self.z.shape[0])
        return along[:, None] * across * (self.dx * self.dy)


@dataclass(frozen=True, slots=True, eq=False)
class Spell:
    """Rain at `rate` (ny, nx), m/s, from the end of the spell before until `until`, s."""

    rate: Array
    until: float


@dataclass(frozen=True, slots=True, eq=False)
class Ran:
    """What the water did.

    depth : (ny, nx) at the end, m, never negative; deepest : (ny, nx) the greatest while it ran
    wet_until : (ny, nx) when the depth was last over `film`, s; 0 where it never was
    t : (k,) ends of the steps, s, the first 0;  volume : (k,) on the floor then, m3
    drained, spilled, poured : (k,) m3 since the start
    frames : (m, ny, nx) float32 depths at the times asked for, m
    refused : steps taken again with a smaller width
    """

    depth: Array
    deepest: Array
    wet_until: Array
    t: Array
    volume: Array
    drained: Array
    spilled: Array
    poured: Array
    frames: NDArray[np.float32]
    refused: int

    @property
    def stream(self) -> Array:
        """Mean flow into the drain over each step, (k - 1,), m3/s."""
        rates: Array = np.diff(self.drained) / np.diff(self.t)
        return rates

    def stream_below(self, flow: float) -> float:
        """When the stream into the drain fell below `flow` (m3/s) for good, s; 0 if it never rose above, inf if not yet."""
        above = np.flatnonzero(self.stream >= flow)
        if not len(above):
            return 0.0
        last = above[-1]
        if last + 1 >= len(self.stream):
            return math.inf
        # Mean flows stand at the middles of their steps.
        middle = (self.t[1:] + self.t[:-1]) / 2
        q0, q1 = self.stream[last], self.stream[last + 1]
        return float(middle[last] + (middle[last + 1] - middle[last]) * (q0 - flow) / (q0 - q1))


def run(
    basin: Basin,
    spells: Sequence[Spell],
    fluid: Fluid,
    *,
    start: Array | None = None,
    until: float = 3600.0,
    rest: float = 1e-7,
    film: float = 5e-4,
    frames: Sequence[float] | Array = (),
    tolerance: float = TOLERANCE,
) -> Ran:
    """Let it rain and run.

    start : (ny, nx) depth at the beginning, m; none for a dry floor
    until : when to stop, s; sooner once no rain is left and all that still moves is less than `rest`, m3/s
    film : depth over which a place counts as wet in `wet_until`, m;  frames : times at which to keep the depths, s
    Raises StageError where the grid, the rain or the floor is not finite or does not fit, or steps run out.
    """
    ny, nx = basin.z.shape
    area = basin.area
    depth = np.zeros((ny, nx)) if start is None else np.array(start, dtype=float)
    rates = np.zeros((len(spells), ny, nx))
    for k, spell in enumerate(spells):
        rates[k] = spell.rate
    ends = np.array([spell.until for spell in spells], dtype=float)
    lip = np.broadcast_to(np.asarray(basin.lip, dtype=float), (nx,)).copy()
    _refuse_nonsense(basin, depth, rates, ends, lip)
    rows, columns = np.nonzero(basin.opening)
    drain = np.zeros(4)
    if basin.outlet is not None and len(rows):
        drain[:] = basin.outlet.weir, basin.outlet.orifice, basin.outlet.capacity, area[rows, columns].sum()
    else:
        rows = columns = np.empty(0, dtype=np.intp)
    wanted = np.sort(np.asarray(frames, dtype=float))
    kept = np.zeros((len(wanted), ny, nx), np.float32)
    deepest, wet = depth.copy(), np.zeros((ny, nx))
    history = np.zeros((_STEPS, 5))
    mobility = GRAVITY / (3.0 * fluid.viscosity)
    steps, refused = _run(
        basin.z, depth, area, 1.0 / _halves(nx), 1.0 / _halves(ny), mobility / basin.dx**2, mobility / basin.dy**2,
        rates, ends, rows, columns, drain, lip, LIP_WEIR / basin.dy * 2.0,
        until, rest, film, tolerance, wanted, kept, deepest, wet, history,
    )  # fmt: skip
    if steps < 0:
        raise StageError("the film of water found no step small enough: the floor has a jump that no water film has")
    told = history[: steps + 1]
    return Ran(depth, deepest, wet, *np.ascontiguousarray(told.T), kept, refused)


def _refuse_nonsense(basin: Basin, depth: Array, rates: Array, ends: Array, lip: Array) -> None:
    if not np.isfinite(basin.z).all() or basin.z.shape != basin.opening.shape or min(basin.z.shape) < 3:
        raise StageError("a floor needs finite heights on a grid of 3 x 3 nodes or more, and an opening of its shape")
    if depth.shape != basin.z.shape or not (np.isfinite(depth).all() and (depth >= 0).all()):
        raise StageError("the depth at the start must be finite, not negative, and on the floor's grid")
    if not (np.isfinite(rates).all() and (rates >= 0).all() and np.isfinite(ends).all() and (np.diff(ends) > 0).all()):
        raise StageError("rain must be finite and not negative, and each spell end after the one before")
    if np.isnan(lip).any():
        raise StageError("the lip must be a height or inf")


def _halves(n: int) -> Array:
    """Widths of the nodes' cells in steps: half at both ends, (n,)."""
    widths = np.ones(n)
    widths[[0, -1]] = 0.5
    return widths


@kernel
def _flux(a: float, b: float, fall: float) -> float:
    """h^3 times the fall of the level from cell a to cell b, of second order, 0 from an empty cell."""
    mean = 0.5 * (a + b)
    if (fall > 0.0) == (a > b):
        # Thinning downstream: the mean of h^3 over the depths between both, exact for a film on a flat floor.
        return mean * 0.5 * (a * a + b * b) * fall
    return mean * a * b * fall


@kernel
def _rates(h: Any, z: Any, over_x: Any, over_y: Any, kx: float, ky: float, rain: Any, raining: float, out: Any) -> None:
    """dh/dt by the film equation and the rain, without drain and lip."""
    ny, nx = h.shape
    for i in range(ny):
        came = 0.0
        for j in range(nx):
            out[i, j] = raining * rain[i, j]
        for j in range(nx - 1):
            a, b = max(h[i, j], 0.0), max(h[i, j + 1], 0.0)
            q = kx * _flux(a, b, (z[i, j] + h[i, j]) - (z[i, j + 1] + h[i, j + 1]))
            out[i, j] += (came - q) * over_x[j]
            came = q
        out[i, nx - 1] += came * over_x[nx - 1]
    for i in range(ny - 1):
        for j in range(nx):
            a, b = max(h[i, j], 0.0), max(h[i + 1, j], 0.0)
            q = ky * _flux(a, b, (z[i, j] + h[i, j]) - (z[i + 1, j] + h[i + 1, j]))
            out[i, j] -= q * over_y[i]
            out[i + 1, j] += q * over_y[i + 1]


@kernel
def _leave(
    h: Any, rows: Any, columns: Any, drain: Any, area: Any, lip: Any, lip_weir: float, out: Any, slope: Any
) -> None:
    """Rates at which depth is lost, m/s, with their derivatives, 1/s: the opening's cells, then the last row's."""
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
        for k in range(n):
            out[k] *= capacity / taken
            slope[k] *= capacity / taken
    last = h.shape[0] - 1
    for j in range(h.shape[1]):
        over = max(h[last, j] - lip[j], 0.0)
        root = math.sqrt(over)
        out[n + j] = lip_weir * over * root
        slope[n + j] = 1.5 * lip_weir * root


@kernel
def _factor(
    h: Any, z: Any, over_x: Any, over_y: Any, kx: float, ky: float, lose: Any,
    low_x: Any, pivot_x: Any, high_x: Any, low_y: Any, pivot_y: Any, high_y: Any,
) -> None:  # fmt: skip
    """L U factors along each axis of I - gamma dt A with upwind mobilities; `lose` (ny, nx) adds to the x diagonal.

    kx, ky : mobility times gamma dt over the squared spacing; pivots are kept as reciprocals.
    """
    ny, nx = h.shape
    for i in range(ny):
        left = right = pivot = high = 0.0
        for j in range(nx):
            diagonal = 1.0 + lose[i, j] + right * over_x[j]
            low = -left * over_x[j] * pivot
            left = right = 0.0
            if j < nx - 1:
                fall = (z[i, j] + h[i, j]) - (z[i, j + 1] + h[i, j + 1])
                up = h[i, j] if fall > 0.0 else h[i, j + 1]
                c = kx * up * up
                left = c * (up + 3.0 * max(fall, 0.0))
                right = c * (up + 3.0 * max(-fall, 0.0))
            pivot = 1.0 / (diagonal + left * over_x[j] - low * high)
            high = -right * over_x[j]
            low_x[i, j], pivot_x[i, j], high_x[i, j] = low, pivot, high
    for j in range(nx):
        low_y[0, j] = 0.0
        pivot_y[0, j] = 1.0
    for i in range(ny - 1):
        for j in range(nx):
            fall = (z[i, j] + h[i, j]) - (z[i + 1, j] + h[i + 1, j])
            up = h[i, j] if fall > 0.0 else h[i + 1, j]
            c = ky * up * up
            left = c * (up + 3.0 * max(fall, 0.0))
            right = c * (up + 3.0 * max(-fall, 0.0))
            pivot = 1.0 / (pivot_y[i, j] + left * over_y[i])
            high = -right * over_y[i]
            low = -left * over_y[i + 1] * pivot
            pivot_y[i, j], high_y[i, j], low_y[i + 1, j] = pivot, high, low
            pivot_y[i + 1, j] = 1.0 + right * over_y[i + 1] - low * high
    for j in range(nx):
        pivot_y[ny - 1, j] = 1.0 / pivot_y[ny - 1, j]
        high_y[ny - 1, j] = 0.0


@kernel
def _solve_x(r: Any, low: Any, pivot: Any, high: Any) -> None:
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
def _solve_y(r: Any, low: Any, pivot: Any, high: Any) -> None:
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
def _stage(
    h: Any, z: Any, over_x: Any, over_y: Any, kx: float, ky: float, rain: Any, raining: float,
    rows: Any, columns: Any, drain: Any, area: Any, lip: Any, lip_weir: float, fade: float, earlier: Any,
    low_x: Any, pivot_x: Any, high_x: Any, low_y: Any, pivot_y: Any, high_y: Any, given: Any, out: Any, loss: Any, slope: Any,
) -> tuple[float, float]:  # fmt: skip
    """One stage: out = (factors)^-1 (dh/dt at h - 2 earlier); gives what drain and lip took at its rate, m3/s.

    given : the derivatives that were factored; fade : gamma dt. The x factor holds the losses, so what they took beyond
    the rate at h is told by its solution: that keeps the balance exact and independent of the depths.
    """
    _rates(h, z, over_x, over_y, kx, ky, rain, raining, out)
    _leave(h, rows, columns, drain, area, lip, lip_weir, loss, slope)
    n, last = len(rows), h.shape[0] - 1
    for k in range(n):
        out[rows[k], columns[k]] -= loss[k]
    for j in range(h.shape[1]):
        out[last, j] -= loss[n + j]
    if earlier.shape == out.shape:
        for i in range(out.shape[0]):
            for j in range(out.shape[1]):
                out[i, j] -= 2.0 * earlier[i, j]
    _solve_x(out, low_x, pivot_x, high_x)
    drained = spilled = 0.0
    for k in range(n):
        i, j = rows[k], columns[k]
        drained += (loss[k] + fade * given[k] * out[i, j]) * area[i, j]
    for j in range(h.shape[1]):
        spilled += (loss[n + j] + fade * given[n + j] * out[last, j]) * area[last, j]
    _solve_y(out, low_y, pivot_y, high_y)
    return drained, spilled


@kernel
def _borrow(h: Any, area: Any) -> bool:
    """Cover cells below empty from their neighbours; whether all could be."""
    ny, nx = h.shape
    for i in range(ny):
        for j in range(nx):
            if h[i, j] >= 0.0:
                continue
            debt = -h[i, j] * area[i, j]
            for side in range(4):
                ii = i + (1 if side == 0 else -1 if side == 1 else 0)
                jj = j + (1 if side == 2 else -1 if side == 3 else 0)
                if 0 <= ii < ny and 0 <= jj < nx and h[ii, jj] > 0.0:
                    lent = min(debt, h[ii, jj] * area[ii, jj])
                    h[ii, jj] = max(h[ii, jj] - lent / area[ii, jj], 0.0)
                    debt -= lent
            if debt > 1e-30:
                return False
            h[i, j] = 0.0
    return True


@kernel
def _record(
    old: Any, new: Any, t: float, dt: float, film: float, wanted: Any, shown: int, kept: Any, deepest: Any, wet: Any
) -> int:
    """Keep what the step from t to t + dt shows: frames within it, the deepest, when each place was last wet."""
    ny, nx = new.shape
    while shown < len(wanted) and wanted[shown] <= t + dt:
        share = (wanted[shown] - t) / dt
        for i in range(ny):
            for j in range(nx):
                kept[shown, i, j] = old[i, j] + share * (new[i, j] - old[i, j])
        shown += 1
    for i in range(ny):
        for j in range(nx):
            deepest[i, j] = max(deepest[i, j], new[i, j])
            if new[i, j] > film:
                wet[i, j] = t + dt
            elif old[i, j] > film:
                wet[i, j] = t + dt * (old[i, j] - film) / (old[i, j] - new[i, j])
    return shown


@kernel
def _run(
    z: Any, h: Any, area: Any, over_x: Any, over_y: Any, kx: float, ky: float,
    rates: Any, ends: Any, rows: Any, columns: Any, drain: Any, lip: Any, lip_weir: float,
    until: float, rest: float, film: float, tolerance: float, wanted: Any, kept: Any, deepest: Any, wet: Any, history: Any,
) -> tuple[int, int]:  # fmt: skip
    """Step from 0 to rest; h becomes the depth at the end. Gives steps taken (-1 when they run out) and refused."""
    ny, nx = h.shape
    n = len(rows)
    low_x, pivot_x, high_x = np.empty((ny, nx)), np.empty((ny, nx)), np.empty((ny, nx))
    low_y, pivot_y, high_y = np.empty((ny, nx)), np.empty((ny, nx)), np.empty((ny, nx))
    k1, k2, middle, lose = np.empty((ny, nx)), np.empty((ny, nx)), np.empty((ny, nx)), np.zeros((ny, nx))
    dry = np.zeros((ny, nx))
    nothing = np.empty((0, 0))
    loss, slope, given = np.empty(n + nx), np.empty(n + nx), np.empty(n + nx)
    floor_area = area.sum()
    t, dt = 0.0, _FIRST
    step = refused = shown = spell = 0
    grow = _GROW
    history[0, 1] = (h * area).sum()
    while shown < len(wanted) and wanted[shown] <= 0.0:
        kept[shown] = h.astype(np.float32)
        shown += 1
    while t < until * (1.0 - 1e-12):
        while spell < len(ends) and t >= ends[spell] * (1.0 - 1e-12):
            spell += 1
            dt = min(dt, 0.1)
        rain, raining, stop = dry, 0.0, until
        if spell < len(ends):
            rain, raining, stop = rates[spell], 1.0, min(ends[spell], until)
        left = stop - t
        now = left if dt >= left else min(dt, 0.5 * left) if dt > 0.5 * left else dt
        fade = _GAMMA * now
        _leave(h, rows, columns, drain, area, lip, lip_weir, loss, given)
        for k in range(n):
            lose[rows[k], columns[k]] = fade * given[k]
        for j in range(nx):
            lose[ny - 1, j] = fade * given[n + j]
        _factor(h, z, over_x, over_y, kx * fade, ky * fade, lose, low_x, pivot_x, high_x, low_y, pivot_y, high_y)
        drained1, spilled1 = _stage(
            h, z, over_x, over_y, kx, ky, rain, raining, rows, columns, drain, area, lip, lip_weir, fade, nothing,
            low_x, pivot_x, high_x, low_y, pivot_y, high_y, given, k1, loss, slope,
        )  # fmt: skip
        for i in range(ny):
            for j in range(nx):
                middle[i, j] = h[i, j] + now * k1[i, j]
        drained2, spilled2 = _stage(
            middle, z, over_x, over_y, kx, ky, rain, raining, rows, columns, drain, area, lip, lip_weir, fade, k1,
            low_x, pivot_x, high_x, low_y, pivot_y, high_y, given, k2, loss, slope,
        )  # fmt: skip
        square = motion = least = 0.0
        for i in range(ny):
            for j in range(nx):
                error = 0.5 * now * (k1[i, j] + k2[i, j])
                square += error * error * area[i, j]
                motion += abs(k1[i, j]) * area[i, j]
                new = h[i, j] + now * (1.5 * k1[i, j] + 0.5 * k2[i, j])
                middle[i, j] = new
                least = min(least, new)
        excess = math.sqrt(square / floor_area) / tolerance
        fits = excess <= 1.0 and least >= -_DEEPEST_DEBT * tolerance
        if fits and least < 0.0:
            fits = _borrow(middle, area)
        factor = min(max(_SAFETY / math.sqrt(max(excess, 1e-12)), _SHRINK), grow)
        if not fits:
            refused += 1
            dt = now * min(factor, 0.5)
            grow = 1.0
            if dt < _LEAST or not excess < 1e30:
                return -1, refused
            continue
        shown = _record(h, middle, t, now, film, wanted, shown, kept, deepest, wet)
        for i in range(ny):
            for j in range(nx):
                h[i, j] = middle[i, j]
        t = stop if now == left else t + now
        step += 1
        if step >= len(history):
            return -1, refused
        history[step, 0] = t
        history[step, 1] = (h * area).sum()
        history[step, 2] = history[step - 1, 2] + 0.5 * now * (drained1 + drained2)
        history[step, 3] = history[step - 1, 3] + 0.5 * now * (spilled1 + spilled2)
        history[step, 4] = history[step - 1, 4] + now * raining * (rain * area).sum()
        dt = max(dt, now) * factor if now < dt and factor >= 1.0 else now * factor
        grow = _GROW
        if spell >= len(ends) and motion < rest:
            break
    while shown < len(wanted):
        kept[shown] = h.astype(np.float32)
        shown += 1
    return step, refused
