"""Small floors under water, shared by the tests of the film.

WATER                 at 20 degC
basin                 a floor with a drain at named nodes, or none
tank                  a level floor of which every node drains: what its drain takes is known in closed form
floors, Case          hypothesis: rough floors, their rain and what stood on them
missing               water that a run lost, as a share
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from drainward.floor.film.flow import Basin, Ran, Spell
from drainward.floor.film.fluid import water
from drainward.floor.film.outlet import Outlet

Array = NDArray[np.float64]

WATER = water(20.0)
INCH = 0.0254
DRAIN = Outlet(weir=0.3, orifice=0.003, capacity=0.0015)


def basin(
    z: Array,
    step: float = INCH,
    drain: Sequence[tuple[int, int]] = (),
    outlet: Outlet = DRAIN,
    lip: float | Array = math.inf,
) -> Basin:
    """Heights (ny, nx) with the drain at (row, column) of `drain`, blocked where that is empty."""
    opening = np.zeros(z.shape, np.bool_)
    for place in drain:
        opening[place] = True
    return Basin(z, step, step, opening, outlet if len(drain) else None, lip)


def tank(outlet: Outlet, size: int = 4, step: float = INCH) -> Basin:
    """Level, all of it open to the drain: its depth stays even."""
    z = np.zeros((size, size))
    return Basin(z, step, step, np.ones_like(z, np.bool_), outlet, math.inf)


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """A basin, its rain, and the depth at the start."""

    basin: Basin
    spells: tuple[Spell, ...]
    start: Array

    def turned(self, flip: tuple[slice, ...]) -> Case:
        """Mirrored: the same water seen from the other side."""
        floor = self.basin
        mirrored = replace(floor, z=floor.z[flip], opening=floor.opening[flip])
        return Case(mirrored, tuple(Spell(s.rate[flip], s.until) for s in self.spells), self.start[flip])


@st.composite
def cases(draw: st.DrawFn, walls: bool = False, smooth: bool = False) -> Case:
    """Waves, tilts and roughness as floors may have, with a drain or a blocked one, a lip or a wall; less than 10 mm of
    rain in one or two spells, everywhere or here and there; dry at first, or not."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    ny, nx = draw(st.integers(3, 14)), draw(st.integers(3, 14))
    dx, dy = (draw(st.floats(0.006, 0.04)) for _ in range(2))
    x, y = np.arange(nx) * dx, np.arange(ny)[:, None] * dy
    row, column = int(rng.integers(ny)), int(rng.integers(nx))
    z = draw(st.floats(0, 0.04)) * np.hypot(x - x[column], y - y[row]) + rng.uniform(-0.01, 0.01) * x
    length, phase = rng.uniform(6 * max(dx, dy), 1.0, 2), rng.uniform(0, 2 * math.pi, 2)
    waves = np.sin(2 * math.pi * x / length[0] + phase[0]) * np.cos(2 * math.pi * y / length[1] + phase[1])
    z = z + draw(st.floats(0, 0.003)) * waves
    z = z + draw(st.sampled_from([0.0] if smooth else [0.0, 1e-4, 5e-4])) * rng.standard_normal((ny, nx))
    opening = np.zeros((ny, nx), np.bool_)
    opening[row, column] = opening[max(row - 1, 0), column] = True
    outlet = draw(st.none() | st.builds(Outlet, st.floats(0.1, 0.8), st.floats(1e-5, 0.02), st.floats(1e-6, 1e-2)))
    lip = math.inf if walls else draw(st.sampled_from([math.inf, 0.0127, 0.006]))
    until = draw(st.floats(1, 90))
    some = np.where(rng.random((ny, nx)) < draw(st.sampled_from([0.2, 1.0])), 1.0, 0.0)
    rate = draw(st.floats(0, 0.008)) / (until + 20) * some
    spells = (Spell(rate, until), Spell(rate * draw(st.floats(0, 1)), until + 20))[: draw(st.integers(1, 2))]
    start = draw(st.sampled_from([0.0, 0.004])) * (np.ones if smooth else rng.random)((ny, nx))
    return Case(Basin(z, dx, dy, opening, outlet, lip), spells, start)


def missing(ran: Ran) -> float:
    """Greatest error of the balance over a run, as a share of all its water."""
    came = ran.volume[0] + ran.poured
    return float(np.abs(ran.volume + ran.drained + ran.spilled - came).max() / max(came[-1], 1e-12))
