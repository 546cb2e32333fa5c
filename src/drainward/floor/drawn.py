"""From readings to drawn floors: the step that every stage of the floor begins with.

Drawn   the belief, its floors, and which readings were used
drawn   make it
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from drainward.floor.belief import Belief, Floors, believe
from drainward.floor.functionals import as_functionals
from drainward.floor.result import Rejected
from drainward.floor.shape import INCH, moulded
from drainward.floor.surface import Surfaces, surfaces
from drainward.job.model import Reading, UnitModel

__all__ = ["Drawn", "Progress", "drawn", "grid_step"]

Progress = Callable[[str, float], None]

_FINE, _COARSE = INCH / 4, INCH / 2
_NODES = 40_000  # of the grid of a 60 x 40 in floor; a larger floor has wider steps, not more of them


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """surfaces : the floors on the regular grid; used, rejected : readings."""

    belief: Belief
    floors: Floors
    surfaces: Surfaces
    used: tuple[Reading, ...]
    rejected: tuple[Rejected, ...]


def drawn(
    unit: UnitModel, readings: tuple[Reading, ...], samples: int, seed: int, threads: int, tell: Progress
) -> Drawn:
    """About `samples` floors that the readings leave possible; up to 256 on a half-inch grid."""
    tell("reading the readings", 0.0)
    f, used, rejected = as_functionals(unit, readings)
    particles = int(np.clip(samples // 2, 16, 500))
    tell("working out what the floor may be", 0.05)
    belief = believe(
        unit.inside_width,
        unit.inside_depth,
        f.apply(moulded(unit, f.x, f.y)),
        f,
        particles=particles,
        threads=threads,
        seed=seed,
    )
    tell("drawing floors", 0.3)
    floors = belief.draw(max(samples // particles, 1), seed + 1)
    return Drawn(belief, floors, surfaces(floors, unit, grid_step(unit, samples > 256), threads), used, rejected)


def grid_step(unit: UnitModel, fine: bool) -> float:
    """Spacing of the regular grid, m."""
    return max(_FINE if fine else _COARSE, float(np.sqrt(unit.inside_width * unit.inside_depth / _NODES)))
