"""Runs of the water film whose answer is known in closed form, beside that answer.

Beside      what came out, what the law says, and the run
disc        water let go on a level floor: how far it has spread
front       water let go at the top of a slope: how far its front has come
sheet       a steady inflow at the top of a slope: how thick the film is
draining    a wet slope that drains: how thick the film is
dish        a dish in a level floor, after the floor around it has drained: what stays
off_balance water that went missing in a run

Grids are as fine as asked for; x runs down the slope, and walls stand all around.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.film.flow import TOLERANCE, Basin, Ran, Spell, run
from drainward.floor.film.fluid import GRAVITY, Fluid, water
from drainward.floor.film.outlet import WEIR, Outlet

__all__ = ["WATER", "Beside", "disc", "dish", "draining", "front", "off_balance", "sheet"]

Array = NDArray[np.float64]

WATER = water(20.0)
_RELEASE, _SPOT = 0.2, 0.04
"""Seconds in which water is let go on a level floor, and the radius within which, m: both soon forgotten."""


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """got, law : m, or m3 where it says so;  second : the same told in another way, or got;  ran : the run."""

    got: float
    law: float
    second: float
    ran: Ran

    @property
    def off(self) -> float:
        """Relative difference to the law."""
        return self.got / self.law - 1.0


def disc(volume: float, step: float, size: float, until: float, tolerance: float = TOLERANCE) -> Beside:
    """Radius `until` seconds after `volume` (m3) was let go on a level floor, on a quarter of the disc `size` m wide.

    By least squares of h^3, which the law makes linear in r^2, within 0.9 of the radius; second: from the depth in the
    middle. Source: Huppert, J. Fluid Mech. 121 (1982) 43, constant volume, axisymmetric:
    R = (1024 / (81 pi^3))^(1/8) (g V^3 / (3 nu))^(1/8) t^(1/8), and 4 V / (3 pi R^2) deep in the middle.
    """
    x = _axis(size, step)
    r = np.hypot(x[None, :], x[:, None])
    level = np.zeros_like(r)
    basin = Basin(level, step, step, level > 0, None)
    spot = np.maximum(1.0 - (r / _SPOT) ** 2, 0.0)
    spell = Spell(spot * volume / 4 / float((spot * basin.area).sum()) / _RELEASE, _RELEASE)
    ran = run(basin, [spell], WATER, until=until, rest=0.0, tolerance=tolerance)
    law = (1024 / (81 * math.pi**3) * GRAVITY * volume**3 / (3 * WATER.viscosity) * until) ** 0.125
    inside = r < 0.9 * law
    falls, middle = np.polyfit(r[inside] ** 2, ran.depth[inside] ** 3, 1)
    from_middle = math.sqrt(4 * volume / (3 * math.pi * float(ran.depth[0, 0])))
    return Beside(math.sqrt(-middle / falls), law, from_middle, ran)


def front(area: float, fall: float, step: float, length: float, until: float, tolerance: float = TOLERANCE) -> Beside:
    """Where the front is `until` seconds after `area` (m2: volume per width) was let go at the top of a slope.

    Where the depth has dropped to half its greatest. Source: Huppert, Nature 300 (1982) 427, two-dimensional:
    x = (9 A^2 g S t / (4 nu))^(1/3). The law leaves out dh/dx, which holds the front back and matters ever less.
    """
    x, basin = _slope(fall, step, length)
    top = np.where(x <= 2 * step, 1.0, 0.0)
    depth = np.broadcast_to(top * area / float(top @ basin.area[1]) * step, basin.z.shape)
    ran = run(basin, [], WATER, start=depth, until=until, rest=0.0, tolerance=tolerance)
    h = ran.depth[1]
    half = h.max() / 2
    last = int(np.flatnonzero(h > half)[-1])
    got = x[last] + step * (h[last] - half) / (h[last] - h[last + 1])
    law = math.cbrt(9 * area**2 * GRAVITY * fall * until / (4 * WATER.viscosity))
    return Beside(float(got), law, float(got), ran)


def sheet(
    flow: float, fall: float, step: float, length: float, until: float, fluid: Fluid = WATER, at: float = 0.5,
    tolerance: float = TOLERANCE,
) -> Beside:  # fmt: skip
    """Thickness of a film at `at` of the slope's length, after `flow` (m2/s: per width) has run `until` seconds.

    Source: Nusselt, Z. VDI 60 (1916) 541; Bird, Stewart and Lightfoot, Transport Phenomena, 2nd edition (2002),
    equation 2.2-22: h = (3 nu q / (g S))^(1/3), S = 1 on a vertical wall.
    """
    x, basin = _slope(fall, step, length, drains=True)
    rate = np.zeros(basin.z.shape)
    rate[:, 0] = 2.0 * flow / step
    ran = run(basin, [Spell(rate, until)], fluid, until=until, rest=0.0, tolerance=tolerance)
    got = float(ran.depth[1, round(at * (len(x) - 1))])
    return Beside(got, math.cbrt(3 * fluid.viscosity * flow / (GRAVITY * fall)), got, ran)


def draining(
    depth: float, fall: float, step: float, length: float, until: float, at: float = 0.75, tolerance: float = TOLERANCE
) -> Beside:
    """Thickness at `at` of the length of a slope that was under `depth` (m) of water `until` seconds ago.

    Source: Jeffreys, Proc. Camb. Phil. Soc. 26 (1930) 204, for a plate: h = sqrt(nu x / (g S t)). It leaves out dh/dx,
    which adds about h ln(x S^3 g t / nu) / (6 S x).
    """
    x, basin = _slope(fall, step, length, drains=True)
    start = np.full(basin.z.shape, depth)
    ran = run(basin, [], WATER, start=start, until=until, rest=0.0, tolerance=tolerance)
    k = round(at * (len(x) - 1))
    got = float(ran.depth[1, k])
    return Beside(got, math.sqrt(WATER.viscosity * x[k] / (GRAVITY * fall * until)), got, ran)


def dish(radius: float, depth: float, step: float, until: float) -> Beside:
    """Water (m3) in a paraboloid z = c r^2 - d, dug into a level floor, after the floor around has drained into a rim.

    Solid geometry: the integral of d - c r^2 over the dish is pi d^2 / (2 c), c = d / radius^2. Ever less stands above.
    """
    shore = radius + 10 * step
    x = _axis(shore + 5 * step, step)
    r = np.hypot(x[None, :], x[:, None])
    z = np.minimum(depth * ((r / radius) ** 2 - 1.0), 0.0)
    basin = Basin(z, step, step, r > shore, _over(math.pi / 2 * shore))
    start = np.where(r > shore, 0.0, depth / 2 - z)
    ran = run(basin, [], WATER, start=start, until=until, rest=0.0)
    got = 4 * float((ran.depth * basin.area)[r <= radius].sum())
    return Beside(got, math.pi * depth * radius**2 / 2, got, ran)


def off_balance(ran: Ran) -> float:
    """Greatest error of the balance over a run, as a share of all its water."""
    came = ran.volume[0] + ran.poured
    return float(np.abs(ran.volume + ran.drained + ran.spilled - came).max() / came[-1])


def _axis(size: float, step: float) -> Array:
    return np.arange(round(size / step) + 1, dtype=float) * step


def _over(rim: float) -> Outlet:
    """A drain that takes what comes over `rim` (m)."""
    return Outlet(WEIR * rim, math.inf, math.inf)


def _slope(fall: float, step: float, length: float, drains: bool = False) -> tuple[Array, Basin]:
    """A strip three nodes wide that drains along its lower end, or has a wall there: places down it, and the basin."""
    x = _axis(length, step)
    z = np.tile(fall * (x[-1] - x), (3, 1))
    opening = np.zeros(z.shape, np.bool_)
    opening[:, -1] = drains
    return x, Basin(z, step, step, opening, _over(2 * step) if drains else None)
