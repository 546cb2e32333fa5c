"""Water that runs: against the laws of thin films, a general-purpose integrator and a general-purpose image library."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Certainty
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

Array = NDArray[np.float64]

GALLON = 3.785411784e-3
CUP, AREA = GALLON / 16, 2e-4
"""Let go on a level floor, m3, and on a slope, m2: volume per width."""
SLOPE, FALL, SHOWER, DAY = 1 / 48, 0.0156, 2.5 * GALLON / 60 / (36 * INCH), 86400.0
"""Falls; a head's flow per width of a floor, m2/s; s until ponds have run down to their rims."""


def _bird_oil() -> float:
    from drainward.floor.film.fluid import Fluid
    from drainward.validation.film_laws import sheet

    oil = Fluid(density=800.0, viscosity=2e-4, tension=0.03)
    return 1000 * sheet(0.204 / oil.density, 1.0, 0.001, 0.1, 20.0, oil, tolerance=1e-6).got


def _bird_water() -> float:
    from drainward.validation.film_laws import WATER, sheet

    return sheet(10 / 4 * WATER.viscosity, 1.0, 0.001, 0.1, 10.0, tolerance=1e-7).got / INCH


def _nusselt() -> float:
    from drainward.validation.film_laws import sheet

    return 1000 * sheet(SHOWER, SLOPE, INCH / 2, 30 * INCH, 60.0, tolerance=1e-6).got


@cache
def _disc() -> Any:
    from drainward.validation.film_laws import disc

    return disc(CUP, INCH / 4, 18 * INCH, 60.0)


def _front() -> float:
    from drainward.validation.film_laws import front

    return front(AREA, FALL, INCH / 4, 60 * INCH, 200.0).got


def _draining() -> float:
    from drainward.validation.film_laws import draining

    return 1000 * draining(0.002, SLOPE, INCH / 4, 60 * INCH, 1200.0, tolerance=1e-7).got


def _dish() -> float:
    from drainward.validation.film_laws import dish

    return 1000 * dish(0.12, 0.008, INCH / 4, DAY).got


def _rough(step: float) -> tuple[Array, NDArray[np.bool_]]:
    """Heights of a floor of 60 x 36 in with ponds, and the drain's opening in its middle: made up."""
    x, y = np.arange(0, 60.01 * INCH, step), np.arange(0, 36.01 * INCH, step)
    from_drain = np.hypot(x[None, :] - 30 * INCH, y[:, None] - 18 * INCH)
    rng = np.random.default_rng(3)
    z = SLOPE * np.maximum(from_drain - 2 * INCH, 0.0)
    for _ in range(8):
        angle, length, phase = rng.uniform(0, 2 * math.pi), rng.uniform(8, 24) * INCH, rng.uniform(0, 2 * math.pi)
        along = math.cos(angle) * x[None, :] + math.sin(angle) * y[:, None]
        z += 0.001 * np.cos(2 * math.pi * along / length + phase)
    return z, from_drain <= 2 * INCH + 1e-9


def _poured(step: float, over: float, until: float, lip: float) -> tuple[Any, Any]:
    """A gallon poured over the rough floor in `over` seconds: the basin and the run."""
    from drainward.floor.film.flow import Basin, Spell, run
    from drainward.floor.film.outlet import Outlet
    from drainward.validation.film_laws import WATER

    z, opening = _rough(step)
    basin = Basin(z, step, step, opening, Outlet(weir=0.5, orifice=0.004, capacity=1e-3), lip)
    rain = np.full(z.shape, GALLON / over / basin.area.sum())
    return basin, run(basin, [Spell(rain, over)], WATER, until=until, rest=0.0)


def _off_balance() -> float:
    from drainward.validation.film_laws import off_balance

    return off_balance(_poured(INCH / 2, over=5.0, until=120.0, lip=INCH / 32)[1])


def _moved() -> float:
    """Greatest change in a minute of a pond that lies level on a rough floor with dry islands, mm."""
    from drainward.floor.film.flow import Basin, run
    from drainward.validation.film_laws import WATER

    z, opening = _rough(INCH)
    level = np.maximum(float(np.quantile(z, 0.7)) - z, 0.0)
    basin = Basin(z, INCH, INCH, opening, None)
    return 1000 * float(np.abs(run(basin, [], WATER, start=level, until=60.0, rest=0.0).depth - level).max())


def _ponds_off() -> float:
    """Greatest difference between what stays on the rough floor and the image library's filled hollows, mm."""
    from scipy import ndimage
    from skimage import morphology

    basin, ran = _poured(INCH, over=60.0, until=DAY, lip=INCH / 2)
    start = np.where(basin.opening, basin.z, basin.z.max())
    fill: Callable[..., Array] = morphology.reconstruction
    filled = fill(start, basin.z, method="erosion", footprint=ndimage.generate_binary_structure(2, 1))
    return 1000 * float(np.abs(ran.depth - (filled - basin.z)).max())


def _integrator_off() -> float:
    """Greatest difference to a general-purpose integrator of the same fluxes, written anew, 10 s into a pour, mm."""
    from scipy.integrate import solve_ivp

    from drainward.floor.film.flow import Basin, Spell, run
    from drainward.floor.film.fluid import GRAVITY
    from drainward.floor.film.outlet import Outlet
    from drainward.validation.film_laws import WATER

    z = _rough(INCH)[0][12:24:2, 20:36:2].copy()
    opening = np.zeros(z.shape, np.bool_)
    opening[3, 4] = True
    step, until, start, rain = 2 * INCH, 10.0, np.full(z.shape, 5e-4), np.full(z.shape, 2e-4)
    basin = Basin(z, step, step, opening, Outlet(weir=0.1, orifice=0.003, capacity=1.0))
    area, mobility = basin.area, GRAVITY / (3 * WATER.viscosity * step**2)

    def rates(_: float, flat: Array) -> Array:
        h = flat.reshape(z.shape)
        came = rain * area
        for axis in (0, 1):
            a, b = (np.moveaxis(h, axis, 0)[part] for part in (slice(None, -1), slice(1, None)))
            fall = -np.diff(np.moveaxis(z + h, axis, 0), axis=0)
            up, down = np.where(fall > 0, a, b), np.where(fall > 0, b, a)
            near = np.minimum(down, 2 * up)
            cube = np.where(up > down, (up + down) * (up**2 + down**2) / 4, up * near * (up + near) / 2)
            flow = mobility * cube * fall * np.moveaxis(area, axis, 0)[1]
            to = np.moveaxis(came, axis, 0)
            to[:-1] -= flow
            to[1:] += flow
        deep = h[opening]
        came[opening] -= np.minimum(0.1 * deep**1.5, 0.003 * np.sqrt(deep))
        return np.asarray((came / area).ravel())

    theirs = solve_ivp(rates, (0.0, until), start.ravel(), "BDF", rtol=1e-7, atol=1e-11).y[:, -1].reshape(z.shape)
    ours = run(basin, [Spell(rain, until)], WATER, start=start, until=until, rest=0.0, tolerance=1e-8).depth
    return 1000 * float(np.abs(ours - theirs).max())


_BIRD = "Bird, Stewart and Lightfoot, Transport Phenomena, 2nd edition, 2002, "
_NUSSELT = "Nusselt, Z. VDI 60, 1916, 541: h = (3νq/gS)^(1/3)"
_DISC = "Huppert, J. Fluid Mech. 121, 1982, 43: R = (1024/81π³)^(1/8) (gV³/3ν)^(1/8) t^(1/8)"
_FRONT = "Huppert, Nature 300, 1982, 427: x = (9A²gSt/4ν)^(1/3)"
_PLATE = "Jeffreys, Proc. Camb. Phil. Soc. 26, 1930, 204: h = (νx/gSt)^(1/2)"
_NU, _G = 1.0034e-6, 9.80665
"""Of water at 20 °C, m2/s (IAPWS R12-08, from memory), and standard gravity, m/s2: typed here once more."""
_RADIUS = (1024 / (81 * math.pi**3) * _G * CUP**3 / (3 * _NU) * 60.0) ** 0.125

CHECKS: tuple[Check, ...] = (
    Check("film/oil-on-wall", "0.204 kg/s of oil down each metre of a wall: thickness", _BIRD + "example 2.2-1",
          Certainty.SEEN, 2.5, 0.002, "mm", _bird_oil),
    Check("film/water-on-wall", "water of 20 °C down a wall at a Reynolds number of 10: thickness",
          _BIRD + "problem 2A.1", Certainty.SEEN, 0.00361, 5e-6, "in", _bird_water),
    Check("film/shower-on-slope", "2.5 gpm over a width of 36 in, on a fall of 1:48: thickness", _NUSSELT,
          Certainty.COMPUTED, 1000 * math.cbrt(3 * _NU * SHOWER / (_G * SLOPE)), 0.0005, "mm", _nusselt),
    Check("film/disc", "a cup let go on a level floor, 1/4 in grid: radius after a minute, by the profile", _DISC,
          Certainty.COMPUTED, 1000 * _RADIUS, 2.1, "mm", lambda: 1000 * _disc().got),
    Check("film/disc-middle", "the same, by the depth in the middle", _DISC, Certainty.COMPUTED,
          1000 * _RADIUS, 2.1, "mm", lambda: 1000 * _disc().second),
    Check("film/front", "0.2 L let go on each metre of a fall of 1.56 %: front after 200 s", _FRONT, Certainty.COMPUTED,
          math.cbrt(9 * AREA**2 * _G * FALL * 200.0 / (4 * _NU)), 0.02, "m", _front),
    Check("film/draining", "1:48 left wet for 20 minutes: thickness 45 in down", _PLATE, Certainty.COMPUTED,
          1000 * math.sqrt(_NU * 45 * INCH / (_G * SLOPE * 1200.0)), 0.0005, "mm", _draining),
    Check("film/dish", "a dish 240 mm wide, 8 mm deep in a level floor, a day after: water that stays",
          "solid geometry, V = πd²/2c of z = cr² - d", Certainty.COMPUTED,
          1000 * math.pi * 0.008 * 0.12**2 / 2, 0.0015, "L", _dish),
    Check("film/balance", "a gallon poured in 5 s, some of it lost over the lip: share that is missing",
          "conservation of volume", Certainty.COMPUTED, 0.0, 1e-10, "", _off_balance),
    Check("film/still", "a level pond with dry islands: greatest change in a minute", "hydrostatics",
          Certainty.COMPUTED, 0.0, 1e-12, "mm", _moved),
    Check("film/image-library", "what stays of a gallon on a rough floor after a day: greatest difference of depth",
          "scikit-image, skimage.morphology.reconstruction by erosion over four neighbours", Certainty.SEEN,
          0.0, 0.1, "mm", _ponds_off, needs="scikit-image"),
    Check("film/integrator", "depths 10 s into a pour: greatest difference", "SciPy, scipy.integrate.solve_ivp, BDF",
          Certainty.SEEN, 0.0, 0.0002, "mm", _integrator_off),
)  # fmt: skip
