"""What a wet bed pushes up with while it sets: `Uplift`, `uplift`.

Buoyancy of the floor in wet mortar, and what is left of the squeeze of its ridges. The unit's own weight, which pulls
the other way, is not counted: its screws may carry it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from drainward.bed.mix import bag_yield
from drainward.bed.ridges import USUAL, Notch, squeeze
from drainward.bed.void import Void
from drainward.job.materials import Mortar
from drainward.job.model import UnitModel
from drainward.quantity import INCH

__all__ = ["GRAVITY", "Uplift", "buoyancy", "uplift"]

GRAVITY = 9.80665
"""m/s2, standard (3rd CGPM, 1901)."""
ORDINARY, U_ORDINARY = 0.6 * INCH, 0.2 * INCH
"""Mean thickness of an ordinary bed where none was computed, m; common practice, no source."""
_U_DENSITY = 0.03
"""Standard uncertainty of the wet density, share of it: two buckets weighed tell no better."""


@dataclass(frozen=True, slots=True)
class Uplift:
    """force, u : over the whole floor, N;  buoyancy, u_buoyancy : its part from the depth immersed, N
    squeeze  : its part from the ridges, between which it lies evenly, N;  immersed, u_immersed : mean thickness, m
    assumed  : whether the bed's thickness is that of an ordinary one
    """

    force: float
    u: float
    buoyancy: float
    u_buoyancy: float
    squeeze: tuple[float, float]
    immersed: float
    u_immersed: float
    assumed: bool

    def as_json(self) -> dict[str, Any]:
        """SI throughout."""
        return {
            "force": {"value": self.force, "u": self.u},
            "buoyancy": {"value": self.buoyancy, "u": self.u_buoyancy},
            "squeeze": list(self.squeeze),
            "immersed": {"value": self.immersed, "u": self.u_immersed},
            "assumed": self.assumed,
        }


def buoyancy(density: float, depth: float, area: float) -> float:
    """Force on a floor immersed by `depth`, m, in a fluid of `density`, kg/m3, over `area`, m2; N.

    Archimedes: density × g × depth × area.
    """
    return density * GRAVITY * depth * area


def uplift(unit: UnitModel, mortar: Mortar, bed: Void | None = None, comb: Notch = USUAL) -> Uplift:
    """Of the unit's floor on its wet bed; bed : None where its void is not known.

    A mortar's yield stress is not known on site: the squeeze lies anywhere between those of 100 and 1,000 Pa, as
    `bed.ridges.squeeze` has them, with the standard uncertainty of an even chance between (JCGM 100:2008, 4.3.7).
    """
    area = unit.inside_width * unit.inside_depth
    deep, u_deep = ORDINARY, U_ORDINARY
    if bed is not None and bed.volume > bed.in_box:
        # The box-out is filled to its top: what it holds lifts no more than the bed beside it.
        deep, u_deep = (bed.volume - bed.in_box) / area, bed.u / area
    floats = buoyancy(bag_yield(mortar).density, deep, area)
    u_floats = floats * math.hypot(_U_DENSITY, u_deep / deep)
    pressed = squeeze(deep, comb, (unit.inside_width, unit.inside_depth))
    low, high = (pressure * area for pressure in pressed.pressure)
    u = math.hypot(u_floats, (high - low) / math.sqrt(12))
    return Uplift(floats + (low + high) / 2, u, floats, u_floats, (low, high), deep, u_deep, bed is None)
