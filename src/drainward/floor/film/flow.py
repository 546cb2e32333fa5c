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
Spee, Blom and Hundsdorfer, SIAM J. Sci. Comput. 20 (1999) 1456), of second order whatever matrix is factored; here an
M-matrix along each axis, and the drain, which takes from all of its opening at once, as a change of rank one: factored
cell by cell it would lag behind the film that feeds it. The step follows the embedded error. A step that would leave a
cell emptier than empty by rounding or error borrows the deficit from its neighbours, or is refused.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.floor.film import scheme
from drainward.floor.film.fluid import GRAVITY, Fluid
from drainward.floor.film.outlet import LIP_WEIR, Outlet, flow_at, flow_growth

__all__ = ["Basin", "Ran", "Spell", "run"]

Array = NDArray[np.float64]

TOLERANCE = 2e-6
"""Root mean square of a step's error in depth, m."""
_GAMMA = 1.0 + math.sqrt(0.5)  # the larger root: a stage does not overshoot, so depths stay positive and ponds stable
_FIRST, _LEAST, _AFTER_CHANGE = 1e-3, 1e-9, 0.1  # widths of steps, s
_DEEPEST_DEBT = 3.0  # tolerances below empty at which a step is refused rather than mended
_SAFETY, _SHRINK, _GROW = 0.85, 0.2, 2.0


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
        """When the stream fell below `flow` (m3/s) for good, s; 0 if it never rose, inf if it still runs."""
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
    until : when to stop, s;  rest : m3/s, below which a floor on which the rain changes no more counts as at rest
    film : depth over which a place counts as wet in `wet_until`, m;  frames : times at which to keep the depths, s
    Raises StageError where the grid, the rain or the floor is not finite or does not fit, or steps run out.
    """
    h = np.zeros(basin.z.shape) if start is None else np.array(start, dtype=float)
    _refuse_nonsense(basin, h, spells)
    stepper = _Stepper(basin, fluid)
    ledger = _Ledger(h, basin.area, film, frames)
    floor_area, dry = float(basin.area.sum()), np.zeros(h.shape)
    t, dt, grow = 0.0, _FIRST, _GROW
    while t < until:
        spell = next((s for s in spells if s.until > t), None)
        rain, stop = (dry, until) if spell is None else (np.broadcast_to(spell.rate, h.shape), min(spell.until, until))
        left = stop - t
        # The last two steps before a change share what is left: no sliver remains.
        now = left if dt >= left else min(dt, 0.5 * left)
        new, took, (square, motion, least) = stepper.step(h, rain, now)
        excess = math.sqrt(square / floor_area) / tolerance
        width = now * min(max(_SAFETY / math.sqrt(max(excess, 1e-12)), _SHRINK), grow)
        if not (excess <= 1.0 and least >= -_DEEPEST_DEBT * tolerance and scheme.borrow(new, basin.area)):
            ledger.refused, dt, grow = ledger.refused + 1, min(width, 0.5 * now), 1.0
            if not dt > _LEAST:
                raise StageError(
                    "no step of the water film is small enough: the floor has a jump that no film runs over"
                )
            continue
        end = stop if now == left else t + now
        ledger.keep(h, new, t, end, took, rain)
        h, t, grow = new, end, _GROW
        # A step cut short by a change of rain says nothing against the width that was meant; after one all is new.
        dt = max(width, dt) if now < dt and excess <= _SAFETY**2 else width
        dt = min(dt, _AFTER_CHANGE) if spell is not None and end == spell.until else dt
        if motion < rest and (spell is None or spell.until >= until):
            break
    return ledger.ran(h)


class _Ledger:
    """What is kept of a run, step by step."""

    def __init__(self, h: Array, area: Array, film: float, frames: Sequence[float] | Array) -> None:
        self.area, self.film, self.refused = area, film, 0
        self.deepest, self.wet = h.copy(), np.zeros(h.shape)
        self.wanted = np.sort(np.asarray(frames, dtype=float))
        self.frames = np.empty((len(self.wanted), *h.shape), np.float32)
        self.shown = int((self.wanted <= 0.0).sum())
        self.frames[: self.shown] = h
        self.told = [(0.0, float((h * area).sum()), 0.0, 0.0, 0.0)]

    def keep(self, old: Array, new: Array, t: float, end: float, took: tuple[float, float], rain: Array) -> None:
        """A step from `old` at t to `new` at `end`, s; took : mean flows into the drain and over the lip, m3/s."""
        scheme.record(old, new, t, end - t, self.film, self.deepest, self.wet)
        while self.shown < len(self.wanted) and self.wanted[self.shown] <= end:
            self.frames[self.shown] = old + (self.wanted[self.shown] - t) / (end - t) * (new - old)
            self.shown += 1
        _, _, drained, spilled, poured = self.told[-1]
        drained, spilled = (total + (end - t) * flow for total, flow in zip((drained, spilled), took, strict=True))
        poured += (end - t) * float((rain * self.area).sum())
        self.told.append((end, float((new * self.area).sum()), drained, spilled, poured))

    def ran(self, h: Array) -> Ran:
        """The run that ended with depth h; frames asked for after its end show the end."""
        self.frames[self.shown :] = h
        t, volume, drained, spilled, poured = np.array(self.told).T
        return Ran(h, self.deepest, self.wet, t, volume, drained, spilled, poured, self.frames, self.refused)


class _Axis:
    """One axis of a basin, which lies first in its arrays, with the factors of a step along it."""

    def __init__(self, z: Array, mobility: float, spacing: float) -> None:
        self.z, self.over, self.k = np.ascontiguousarray(z, dtype=float), 1.0 / _halves(len(z)), mobility / spacing**2
        self.lose = np.zeros(z.shape)
        self.factors = tuple(np.empty(z.shape) for _ in range(3))

    def factor(self, h: Array, fade: float) -> None:
        scheme.factor(h, self.z, self.over, fade * self.k, self.lose, *self.factors)

    def rates(self, h: Array, out: Array) -> None:
        scheme.rates(h, self.z, self.over, self.k, out)


class _Stepper:
    """Both axes of a basin and its losses, to be stepped."""

    def __init__(self, basin: Basin, fluid: Fluid) -> None:
        nx = basin.z.shape[1]
        mobility = GRAVITY / (3.0 * fluid.viscosity)
        self.area, self.outlet = basin.area, basin.outlet
        self.y, self.x = _Axis(basin.z, mobility, basin.dy), _Axis(basin.z.T, mobility, basin.dx)
        self.lip = np.broadcast_to(np.asarray(basin.lip, dtype=float), (nx,)).copy()
        self.lip_weir = LIP_WEIR / (0.5 * basin.dy)
        opening = basin.opening if basin.outlet is not None else np.zeros_like(basin.opening)
        self.rows, self.columns = np.nonzero(opening)
        self.opening = self.area[self.rows, self.columns]

    def step(self, h: Array, rain: Array, dt: float) -> tuple[Array, tuple[float, float], tuple[float, float, float]]:
        """One step of ROS2: the new depth, mean flows into drain and over lip (m3/s), and `scheme.combine`'s three."""
        fade = _GAMMA * dt
        over, slope = np.empty(h.shape[1]), np.empty(h.shape[1])
        scheme.over_lip(h, self.lip, self.lip_weir, over, slope)
        self.y.lose[-1] = fade * slope
        self.y.factor(h, fade)
        self.x.factor(np.ascontiguousarray(h.T), fade)
        shape, taken, growth = self._drain(h)
        drawn = np.zeros(h.shape)
        drawn[self.rows, self.columns] = fade * growth * shape
        drawn, drawn_last = self._solve(drawn)
        draw = (drawn, drawn_last, fade * growth)
        k1, first = self._stage(h, rain, shape * taken, over, fade * slope, draw)
        middle = h + dt * k1
        shape, taken, _ = self._drain(middle)
        scheme.over_lip(middle, self.lip, self.lip_weir, over, np.empty_like(slope))
        k2, second = self._stage(middle, rain - 2.0 * k1, shape * taken, over, fade * slope, draw)
        new = np.empty_like(h)
        checked = scheme.combine(h, dt, k1, k2, self.area, new)
        return new, ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2), checked

    def _drain(self, h: Array) -> tuple[Array, float, float]:
        """How its flow is spread over the cells of the opening, 1/m2; the flow, m3/s; its growth with depth, m2/s.

        The mean depth over the opening makes the flow; each cell gives by its own, so that an empty one gives none.
        """
        if not len(self.rows) or self.outlet is None:
            return np.empty(0), 0.0, 0.0
        depth = np.maximum(h[self.rows, self.columns], 0.0)
        held = float((depth * self.opening).sum())
        if not held > 0.0:
            return np.zeros(len(depth)), 0.0, 0.0
        mean = held / float(self.opening.sum())
        return depth / held, flow_at(self.outlet, mean), flow_growth(self.outlet, mean)

    def _mean(self, k: Array) -> float:
        """Mean over the opening."""
        return float((k[self.rows, self.columns] * self.opening).sum() / self.opening.sum()) if len(self.rows) else 0.0

    def _solve(self, r: Array) -> tuple[Array, Array]:
        """(factors)^-1 r; and its last row between both factors, which tells what the lip took beyond its rate."""
        scheme.solve(r, *self.y.factors)
        last = r[-1].copy()
        turned = np.ascontiguousarray(r.T)
        scheme.solve(turned, *self.x.factors)
        return np.ascontiguousarray(turned.T), last

    def _stage(
        self, h: Array, rain: Array, loss: Array, over: Array, fading: Array, draw: tuple[Array, Array, float]
    ) -> tuple[Array, tuple[float, float]]:
        """(factors + the drain's derivative)^-1 (rain + film's rates at h - losses), and what drain and lip took, m3/s.

        The drain's derivative is of rank one: Sherman and Morrison. What it and the lip took beyond their rates at h is
        told by the solution: a balance that never looks at the depths it is to check.
        """
        along_x = np.zeros(h.T.shape)
        self.x.rates(np.ascontiguousarray(h.T), along_x)
        k = rain + along_x.T
        self.y.rates(h, k)
        k[self.rows, self.columns] -= loss
        k[-1] -= over
        k, last = self._solve(k)
        drawn, drawn_last, growth = draw
        mean = self._mean(k) / (1.0 + self._mean(drawn))
        k -= mean * drawn
        last -= mean * drawn_last
        drained = float((loss * self.opening).sum()) + growth * mean
        return k, (drained, float(((over + fading * last) * self.area[-1]).sum()))


def _refuse_nonsense(basin: Basin, depth: Array, spells: Sequence[Spell]) -> None:
    if not np.isfinite(basin.z).all() or basin.z.shape != basin.opening.shape or min(basin.z.shape) < 3:
        raise StageError("a floor needs finite heights on a grid of 3 x 3 nodes or more, and an opening of its shape")
    if not (0 < basin.dx < math.inf and 0 < basin.dy < math.inf):
        raise StageError("the spacing of the floor's nodes must be finite and more than zero")
    if depth.shape != basin.z.shape or not (np.isfinite(depth).all() and (depth >= 0).all()):
        raise StageError("the depth at the start must be finite, not negative, and on the floor's grid")
    ends = np.array([0.0, *(spell.until for spell in spells)])
    if not all(np.isfinite(spell.rate).all() and np.min(spell.rate) >= 0 for spell in spells):
        raise StageError("rain must be finite and not negative")
    if not all(np.shape(spell.rate) == depth.shape for spell in spells):
        raise StageError("rain must be on the floor's grid")
    if not (np.isfinite(ends).all() and (np.diff(ends) > 0).all()):
        raise StageError("each spell of rain must end after the one before")
    if np.isnan(basin.lip).any() or np.shape(basin.lip) not in ((), basin.z.shape[1:]):
        raise StageError("the lip must be one height or inf, or as many as the floor has columns")


def _halves(n: int) -> Array:
    """Widths of the nodes' cells in steps: half at both ends, (n,)."""
    widths = np.ones(n)
    widths[[0, -1]] = 0.5
    return widths
