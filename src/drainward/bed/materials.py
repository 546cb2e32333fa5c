"""Mortar and adhesive of a bed where the job says nothing else: `Mortar`, `Adhesive`."""

from __future__ import annotations

from dataclasses import dataclass

from drainward.quantity import INCH

__all__ = ["Adhesive", "Mortar"]

_POUND = 0.45359237
_QUART = 231 * INCH**3 / 4
_MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class Mortar:
    """One kind of bag; SI. All defaults are common practice or from memory: the bag's own words come first.

    bag_mass : kg;  density : of the powder's grains, kg/m3;  water_per_bag : m3;  air : share of the wet volume
    pot_life : at reference_temperature, s and degC;  activation_energy : of its stiffening, J/mol
    thinnest, thickest : of a bed that it carries, m;  placing_rate : m3/s by one crew;  mixing_time : of a batch, s
    shelf_life : of an opened bag, s
    u_* : standard uncertainties of the same
    """

    bag_mass: float = 50 * _POUND
    u_bag_mass: float = 0.25 * _POUND
    density: float = 2750.0
    u_density: float = 50.0
    water_per_bag: float = 5 * _QUART
    u_water_per_bag: float = 0.2 * _QUART
    air: float = 0.03
    u_air: float = 0.015
    pot_life: float = 60 * _MINUTE
    u_pot_life: float = 10 * _MINUTE
    reference_temperature: float = (70 - 32) / 1.8
    activation_energy: float = 40e3
    thinnest: float = INCH / 16
    thickest: float = 2 * INCH
    placing_rate: float = 817 * INCH**3 / (8 * _MINUTE)
    mixing_time: float = 5 * _MINUTE
    shelf_life: float = 7 * 24 * 3600.0


@dataclass(frozen=True, slots=True)
class Adhesive:
    """tube_volume : m3, of a 10.1 fl oz tube;  bead_diameter : m, within the usual 3/4 to 1 in (common practice)."""

    tube_volume: float = 10.1 * _QUART / 32
    bead_diameter: float = INCH
