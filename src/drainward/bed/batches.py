"""Batches: how much is mixed at once, in which order it is placed, and whether the bed is still open at its end.

pot_life           of a mortar at a temperature
Batch, Batches     one mix, and all of them with their times
batches            cut a mix into batches over the zones, from the drain outward
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from drainward.bed.mix import Mix, bag_yield
from drainward.bed.ridges import Zone
from drainward.job.materials import Mortar

__all__ = ["Batch", "Batches", "batches", "pot_life"]

GAS = 8.314462618
"""Molar gas constant, J/(mol K), exact since 2019 (SI brochure, 9th edition)."""
KELVIN = 273.15
SETTING = 600.0
"""From the last mortar placed to the unit pressed down and level, s; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Batch:
    """One mix: share of a bag, powder, kg, water and wet volume, m3, and where it goes, in order, with how much, m3.

    begins, placed : of mixing and until all of it is placed, s from the first batch's water
    """

    bags: float
    powder: float
    water: float
    volume: float
    places: tuple[tuple[int, float], ...]
    begins: float
    placed: float

    @property
    def age(self) -> float:
        """From its water to its last mortar placed, s."""
        return self.placed - self.begins


@dataclass(frozen=True, slots=True)
class Batches:
    """All batches of a bed.

    pot_life, u : at the bed's temperature, s;  temperature : degC
    open_for : from the first batch's water until the unit is pressed down, s
    """

    batches: tuple[Batch, ...]
    temperature: float
    pot_life: float
    u: float
    open_for: float

    def as_json(self) -> dict[str, Any]:
        """SI throughout."""
        return {
            "temperature": self.temperature,
            "pot_life": {"value": self.pot_life, "u": self.u},
            "open_for": self.open_for,
            "batches": [
                {"bags": b.bags, "powder": b.powder, "water": b.water, "volume": b.volume, "begins": b.begins,
                 "placed": b.placed, "places": [{"zone": zone, "volume": volume} for zone, volume in b.places]}
                for b in self.batches
            ],
        }  # fmt: skip


def pot_life(mortar: Mortar, temperature: float) -> float:
    """Pot life at `temperature`, degC, s: the reference's, times exp(E/R (1/T - 1/Tr)), in kelvin.

    Source: the Arrhenius law with which ASTM C1074 computes an equivalent age (from memory), applied to stiffening.
    """
    slower = 1 / (temperature + KELVIN) - 1 / (mortar.reference_temperature + KELVIN)
    return mortar.pot_life * math.exp(mortar.activation_energy / GAS * slower)


def batches(mixed: Mix, zones: Sequence[Zone], mortar: Mortar, temperature: float) -> Batches:
    """Equal batches, each at most a bag and at most what is placed before it stiffens, zone after zone.

    zones : in the order in which they are filled, box-out first; waste and reserve go with the last
    """
    life = pot_life(mortar, temperature)
    bag = bag_yield(mortar)
    wet = mixed.weighed * bag.volume
    most = min(bag.volume, max(life - mortar.mixing_time, 0.1 * life) * mortar.placing_rate)
    count = math.ceil(wet / most - 1e-9)
    each = wet / count
    left = [(k, zone.volume) for k, zone in enumerate(zones)]
    found: list[Batch] = []
    clock = 0.0
    for _ in range(count):
        places, rest = [], each
        while left and rest > 1e-12:
            zone, volume = left[0]
            part = min(volume, rest)
            places.append((zone, part))
            rest -= part
            left[0] = (zone, volume - part)
            if left[0][1] <= 1e-12:
                left.pop(0)
        # One man mixes the next while another places the last.
        begins = max(clock - mortar.mixing_time, 0.0)
        done = begins + mortar.mixing_time + each / mortar.placing_rate
        share = mixed.weighed / count
        found.append(
            Batch(share, share * mortar.bag_mass, share * mortar.water_per_bag, each, tuple(places), begins, done)
        )
        clock = done
    return Batches(tuple(found), temperature, life, mortar.u_pot_life / mortar.pot_life * life, clock + SETTING)
