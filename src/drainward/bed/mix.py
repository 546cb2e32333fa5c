"""What a bag gives, and what is mixed for a volume.

BagYield, bag_yield   wet volume, wet density and their uncertainties, by absolute volume
Mix, mix              powder, water, bags and buckets for a volume at a certainty
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

from drainward.job.materials import Mortar
from drainward.quantity import INCH
from drainward.wayin.lift import Coupling, Lift, weight_limit

__all__ = ["BagYield", "Mix", "bag_yield", "mix"]

WATER = 1000.0
"""Density of water, kg/m3; half a percent less at 90 °F."""
BUCKET = 3.5 * 231 * INCH**3
"""What is carried in a 5 gal bucket filled to 70 %, m3; common practice, no source."""
WASTE, U_WASTE = 0.05, 0.02
"""Left in bucket and tools, share of what is mixed, and its standard uncertainty; common practice, no source."""
_BY_HAND = Lift(out=0.30, height=0.40, travel=0.40, coupling=Coupling.FAIR)
"""A bucket by its bail from the ground to the hip; common practice, no source."""


@dataclass(frozen=True, slots=True)
class BagYield:
    """Of one bag with its water: volume and u, m3; density when wet, kg/m3.

    shared : relative standard uncertainty that all bags of a kind share: density of the powder, air
    """

    volume: float
    u: float
    density: float
    shared: float


@dataclass(frozen=True, slots=True)
class Mix:
    """What is mixed for a volume.

    wanted, u : of wet mortar with waste, m3;  level : certainty that what is mixed is enough
    bags, u_bags : expected, in parts of a bag;  weighed : bags by weight at `level`, in tenths;  whole : in whole bags
    powder, water : for `weighed`, kg and m3;  buckets, bucket_mass : wet, kg each at most
    bucket_limit : what one man should lift, kg
    """

    wanted: float
    u: float
    level: float
    bags: float
    u_bags: float
    weighed: float
    whole: int
    powder: float
    water: float
    buckets: int
    bucket_mass: float
    bucket_limit: float

    def as_json(self) -> dict[str, Any]:
        """SI throughout."""
        return {
            "wanted": {"value": self.wanted, "u": self.u},
            "level": self.level,
            "bags": {"value": self.bags, "u": self.u_bags, "weighed": self.weighed, "whole": self.whole},
            "powder": self.powder,
            "water": self.water,
            "buckets": self.buckets,
            "bucket_mass": self.bucket_mass,
            "bucket_limit": self.bucket_limit,
        }


def bag_yield(mortar: Mortar) -> BagYield:
    """Wet volume of one bag: (powder / its density + water) / (1 - air).

    Source: absolute volumes as ACI 211.1 adds them (from memory); uncertainties by JCGM 100:2008, 5.1.2.
    """
    solid = mortar.bag_mass / mortar.density
    volume = (solid + mortar.water_per_bag) / (1.0 - mortar.air)
    own = math.hypot(mortar.u_bag_mass / mortar.density / (1 - mortar.air), mortar.u_water_per_bag / (1 - mortar.air))
    shared = math.hypot(
        solid * mortar.u_density / mortar.density / (1 - mortar.air), volume * mortar.u_air / (1 - mortar.air)
    )
    wet = (mortar.bag_mass + WATER * mortar.water_per_bag) / volume
    return BagYield(volume, math.hypot(own, shared), wet, shared / volume)


def mix(volume: float, u: float, mortar: Mortar, level: float = 0.95) -> Mix:
    """For a void of volume ± u, m3, enough with certainty `level`; powder is weighed on a scale, to a tenth of a bag.

    Raises ValueError for a volume that is not positive.
    """
    if not volume > 0:
        raise ValueError(f"a void that mortar fills has a volume over nought, got {volume!r}")
    bag = bag_yield(mortar)
    wanted = volume / (1 - WASTE)
    u_wanted = wanted * math.hypot(u / volume, U_WASTE / (1 - WASTE))
    bags = wanted / bag.volume
    u_bags = bags * math.hypot(u_wanted / wanted, bag.u / bag.volume)
    enough = max(bags + NormalDist().inv_cdf(level) * u_bags, 0.1)
    weighed = math.ceil(10 * enough - 1e-9) / 10
    wet = weighed * bag.volume
    buckets = math.ceil(wet / BUCKET - 1e-9)
    return Mix(
        wanted=wanted,
        u=u_wanted,
        level=level,
        bags=bags,
        u_bags=u_bags,
        weighed=weighed,
        whole=math.ceil(enough - 1e-9),
        powder=weighed * mortar.bag_mass,
        water=weighed * mortar.water_per_bag,
        buckets=buckets,
        bucket_mass=wet / buckets * bag.density,
        bucket_limit=weight_limit(_BY_HAND).mass,
    )
