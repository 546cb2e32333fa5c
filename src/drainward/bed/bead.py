"""The adhesive bead under the threshold, where no mortar goes: `Bead`, `bead`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from drainward.job.materials import Adhesive

__all__ = ["Bead", "bead"]


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
