"""The adhesive bead under the threshold, where no mortar goes: `Bead`, `bead`, and `bead_over` a measured gap."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from drainward.finding import conformance
from drainward.job.materials import Adhesive
from drainward.quantity import INCH

__all__ = ["Bead", "bead", "bead_over"]

_MOST = 1.5 * INCH
"""A bead laid in two passes stands no higher: common practice, no source."""
_STEP = INCH / 8


@dataclass(frozen=True, slots=True)
class Bead:
    """length, diameter : m;  volume : m3;  tubes : in parts of a tube;  buy : whole tubes."""

    length: float
    diameter: float
    volume: float
    tubes: float

    @property
    def buy(self) -> int:
        """Whole tubes for this room alone."""
        return math.ceil(self.tubes - 1e-9)

    def as_json(self) -> dict[str, Any]:
        """SI throughout."""
        return {"length": self.length, "diameter": self.diameter, "volume": self.volume, "tubes": self.tubes}


def bead(length: float, adhesive: Adhesive) -> Bead:
    """A round bead of the adhesive's diameter along `length`, m: pi d² / 4 times the length."""
    volume = math.pi / 4 * adhesive.bead_diameter**2 * length
    return Bead(length, adhesive.bead_diameter, volume, volume / adhesive.tube_volume)


def bead_over(gap: tuple[float, float], laid: Bead, risk: float) -> Bead | None:
    """The bead as it is laid where it stands over a gap, value and u in m, with a chance of 1 - risk, else the least
    larger one by eighths of an inch; None where the largest does not."""
    diameter = laid.diameter
    while conformance(*gap, None, diameter) < 1 - risk:
        diameter = (math.floor(diameter / _STEP + 1e-9) + 1) * _STEP
        if diameter > _MOST + 1e-9:
            return None
    more = (diameter / laid.diameter) ** 2
    return Bead(laid.length, diameter, laid.volume * more, laid.tubes * more)
