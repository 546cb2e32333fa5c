"""How fast the film of water is computed, against plain explicit stepping of the same fluxes, at a stated error.

Run alone: python benchmarks/film_speed.py
The case: a gallon over 60 s on a floor of 36 x 60 in on a 1/4 in grid, a cone that falls 1.56 % to a drain in the
middle plus a smooth deviation that leaves ponds, then drain-down until the stream into the drain breaks up into drops
(1 mL/s). The rival is what one would write first: forward Euler at its own limit of stability, in numpy. Its steps are
counted by the same solver compiled, which runs in full and whose depths ours are compared with; numpy itself is timed
on stretches spread over the run, and its steps give the same depths (checked). In the same run, 200 floors drawn from
the readings of one room on two threads.
Figure: time of explicit numpy over ours.
"""

from __future__ import annotations

import math
from time import perf_counter
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.progress import Progress

from drainward.demo.home import job
from drainward.demo.rooms import readings
from drainward.floor.drawn import drawn
from drainward.floor.film.flow import Basin, Ran, Spell, run
from drainward.floor.film.fluid import GRAVITY, water
from drainward.floor.film.many import Setting, outcomes
from drainward.floor.film.outlet import LIP_WEIR, outlet_of
from drainward.floor.film.result import Pour
from drainward.floor.ponds import outlet
from drainward.floor.surface import surfaces
from drainward.job.model import Drain, Pattern
from drainward.quantity import INCH

Array = NDArray[np.float64]

STEP, FALL, GALLON, POUR, DROPS = INCH / 4, 0.0156, 3.785411784e-3, 60.0, 1e-6
DRAIN = Drain(x=30 * INCH, y=18 * INCH, radius=2 * INCH, body_diameter=0.1, body_depth=0.07)
SAFETY, STRETCHES, LONG = 0.9, 12, 60
ROUNDS, DRAWN = 5, 200


def main() -> None:
    """Run the case ours and explicit, then the drawn floors; print."""
    basin = floor()
    fluid = water(20.0)
    spells = [Spell(np.full(basin.z.shape, GALLON / POUR / basin.area.sum()), POUR)]
    run(basin, spells, fluid, until=1.0)
    until = run(basin, spells, fluid).stream_below(DROPS)
    times = []
    for _ in range(ROUNDS):
        begun = perf_counter()
        ours = run(basin, spells, fluid, until=until, rest=0.0)
        times.append(perf_counter() - begun)
    took = np.sort(times)[ROUNDS // 2]
    print(f"poured over {POUR:.0f} s, drops after {until:.1f} s")
    print(f"ours: {len(ours.t) - 1} steps, {ours.refused} refused, {took:.3f} s")
    print(f"balance {balance(ours):.1e} of the gallon, least depth {ours.depth.min():.1e} m")
    explicit = Explicit(basin, spells[0].rate, fluid.viscosity)
    explicit.compiled(0.01)
    begun = perf_counter()
    depth, steps, starts = explicit.compiled(until)
    compiled = perf_counter() - begun
    numpy_time = explicit.numpy_seconds(starts) * steps
    error = np.abs(ours.depth - depth) * 1000
    volume = float((depth * basin.area).sum())
    print(f"explicit: {steps} steps; compiled, in full {compiled:.1f} s; numpy, by timed stretches {numpy_time:.0f} s")
    print(f"difference of depth: 99 % {np.quantile(error, 0.99):.4f} mm, most {error.max():.3f} mm")
    print(f"volume left: {float(ours.volume[-1]) / volume - 1:+.3%} of {volume * 1000:.3f} L")
    print(f"compiled explicit over ours: {compiled / took:.0f}")
    drawn_floors()
    print(f"film_speed: {numpy_time / took:.0f}")


def drawn_floors() -> None:
    """The gallon and the shower on 200 floors drawn from the readings of a made-up room, on two threads."""
    home = job()
    room = home.rooms[3]
    unit = home.units[room.unit]
    floors = drawn(unit, tuple(readings(room, unit, 1)), DRAWN, 0, 2, lambda what, share: None).floors
    fine = surfaces(floors, unit, STEP, 2)
    setting = Setting(
        fine.x, fine.y, outlet(unit, fine.x, fine.y), outlet_of(unit.drain), unit.threshold_height, water(20.0),
        Pour(Pattern.OVER_THE_FLOOR, GALLON, POUR), home.water.flow,
    )  # fmt: skip
    lanes = fine.z.shape[3]
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("drawn floors", total=1.0)
        begun = perf_counter()
        out = outcomes(
            setting,
            lambda k: fine.z[k // lanes, :, :, k % lanes].astype(float),
            fine.count,
            2,
            lambda share: bar.update(task, completed=share),
        )
        took = perf_counter() - begun
    low, high = np.quantile(out.drained, (0.025, 0.975))
    print(f"{fine.count} floors drawn from readings, {fine.z.shape[1]} x {fine.z.shape[2]}, two threads: {took:.1f} s; "
          f"drained in {low:.0f} to {high:.0f} s")  # fmt: skip


def floor() -> Basin:
    """The floor: waves of 10 to 40 in, standard deviation 0.04 in, on the cone."""
    x, y = np.arange(0, 60.01 * INCH, STEP), np.arange(0, 36.01 * INCH, STEP)
    from_drain = np.hypot(x[None, :] - DRAIN.x, y[:, None] - DRAIN.y)
    rng = np.random.default_rng(7)
    z = FALL * np.maximum(from_drain - DRAIN.radius, 0.0)
    waves = 16
    for _ in range(waves):
        angle, length, phase = rng.uniform(0, 2 * math.pi), rng.uniform(10, 40) * INCH, rng.uniform(0, 2 * math.pi)
        along = math.cos(angle) * x[None, :] + math.sin(angle) * y[:, None]
        z += 0.04 * INCH * math.sqrt(2 / waves) * np.cos(2 * math.pi * along / length + phase)
    return Basin(z, STEP, STEP, from_drain <= DRAIN.radius + 1e-9, outlet_of(DRAIN), 0.5 * INCH)


def balance(ran: Ran) -> float:
    """Greatest error of the balance over the run, as a share of what was poured."""
    return float(np.abs(ran.volume + ran.drained + ran.spilled - ran.poured).max() / ran.poured[-1])


class Explicit:
    """Forward Euler on the same grid with the same fluxes and losses."""

    def __init__(self, basin: Basin, rain: Array, viscosity: float) -> None:
        self.basin, self.rain = basin, rain
        self.k = GRAVITY / (3 * viscosity) / STEP**2
        outlet = basin.outlet
        assert outlet is not None
        self.opening = float(basin.area[basin.opening].sum())
        self.law = (outlet.weir, outlet.orifice, LIP_WEIR / (0.5 * STEP), float(basin.lip))

    def step(self, h: Array, t: float) -> tuple[Array, float]:
        """One step in numpy: the new depth and the step's width."""
        level = self.basin.z + h
        widest = 0.0
        change = self.rain.copy() if t < POUR else np.zeros_like(h)
        for axis in (0, 1):
            a, b = (np.moveaxis(h, axis, 0)[part] for part in (slice(None, -1), slice(1, None)))
            fall = -np.diff(np.moveaxis(level, axis, 0), axis=0)
            up, down = np.where(fall > 0, a, b), np.where(fall > 0, b, a)
            near = np.minimum(down, 2 * up)
            thins = 0.25 * (up + down) * (up * up + down * down)
            mobility = np.where(up > down, thins, 0.5 * up * near * (up + near))
            most = np.maximum(a, b)
            widest = max(widest, float((most * most * (most + 3 * np.abs(fall))).max()))
            q = self.k * mobility * fall
            to = np.moveaxis(change, axis, 0)
            to[0] -= q[0]
            to[-1] += q[-1]
            to[:-1] -= q
            to[1:] += q
        weir, orifice, lip_weir, lip = self.law
        held = float((h * self.basin.area)[self.basin.opening].sum())
        deep = held / self.opening
        if held > 0:
            change[self.basin.opening] -= (
                min(weir * deep**1.5, orifice * math.sqrt(deep)) / held * h[self.basin.opening]
            )
        change[-1] -= lip_weir * np.maximum(h[-1] - lip, 0.0) ** 1.5
        dt = min(SAFETY / (4 * self.k * widest) if widest else 1e-3, 1e-3)
        if t < POUR:
            dt = min(dt, POUR - t)
        return h + dt * change, dt

    def compiled(self, until: float) -> tuple[Array, int, list[tuple[Array, float]]]:
        """The whole run, compiled: depths at the end, steps, and states along the way."""
        starts, h, t, steps = [], np.zeros_like(self.basin.z), 0.0, 0
        rows, columns = np.nonzero(self.basin.opening)
        areas = self.basin.area[rows, columns]
        for part in np.linspace(0, until, STRETCHES + 1)[1:]:
            starts.append((h.copy(), t))
            h, t, n = _euler(h, self.basin.z, self.rain, t, part, self.k, rows, columns, areas, self.opening, *self.law)
            steps += n
        return h, steps, starts

    def numpy_seconds(self, starts: list[tuple[Array, float]]) -> float:
        """Mean time of a step in numpy over stretches of the run; raises where it steps otherwise than compiled."""
        took = 0.0
        rows, columns = np.nonzero(self.basin.opening)
        areas = self.basin.area[rows, columns]
        for start, at in starts:
            h, t = start, at
            begun = perf_counter()
            for _ in range(LONG):
                h, dt = self.step(h, t)
                t += dt
            took += perf_counter() - begun
            same, _, _ = _euler(
                start, self.basin.z, self.rain, at, t, self.k, rows, columns, areas, self.opening, *self.law
            )
            assert np.allclose(h, same, rtol=1e-6, atol=1e-12), "numpy and compiled Euler differ"
        return took / (len(starts) * LONG)


@numba.njit
def _faces(h: Any, z: Any, k: float, change: Any) -> float:
    """Add what runs over all faces to `change`; the widest response of a face."""
    ny, nx = h.shape
    widest = 0.0
    for i in range(ny):
        for j in range(nx):
            for m, n in ((i, j + 1), (i + 1, j)):
                if m == ny or n == nx:
                    continue
                a, b = h[i, j], h[m, n]
                fall = (z[i, j] + a) - (z[m, n] + b)
                up, down = (a, b) if fall > 0 else (b, a)
                near = min(down, 2 * up)
                thins = 0.25 * (up + down) * (up * up + down * down)
                mobility = thins if up > down else 0.5 * up * near * (up + near)
                most = max(a, b)
                widest = max(widest, most * most * (most + 3 * abs(fall)))
                q = k * mobility * fall
                first, last = (j == 0, n == nx - 1) if m == i else (i == 0, m == ny - 1)
                change[i, j] -= 2.0 * q if first else q
                change[m, n] += 2.0 * q if last else q
    return widest


@numba.njit
def _euler(
    h: Any, z: Any, rain: Any, t: float, until: float, k: float, rows: Any, columns: Any, areas: Any,
    opening: float, weir: float, orifice: float, lip_weir: float, lip: float,
) -> Any:  # fmt: skip
    h = h.copy()
    steps = 0
    while t < until - 1e-12:
        change = rain.copy() if t < POUR else np.zeros_like(h)
        widest = _faces(h, z, k, change)
        held = 0.0
        for s in range(len(rows)):
            held += h[rows[s], columns[s]] * areas[s]
        d = held / opening
        taken = min(weir * d**1.5, orifice * math.sqrt(d)) / held if held > 0 else 0.0
        for s in range(len(rows)):
            change[rows[s], columns[s]] -= taken * h[rows[s], columns[s]]
        for j in range(h.shape[1]):
            change[-1, j] -= lip_weir * max(h[-1, j] - lip, 0.0) ** 1.5
        dt = min(SAFETY / (4 * k * widest) if widest > 0 else 1e-3, 1e-3)
        if t < POUR:
            dt = min(dt, POUR - t)
        dt = min(dt, until - t)
        h += dt * change
        t += dt
        steps += 1
    return h, t, steps


if __name__ == "__main__":
    main()
