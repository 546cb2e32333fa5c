"""What the job buys and builds with, and where it stands. Defaults are common practice or from memory: what the bag,
the tube or the yard says comes first.

Mortar, Adhesive   of the bed and under the threshold
Lumber, Braces     the wood of the braces, and how they stand on the unit
Screws, Shims      as they are packed
Costs              of a pack too many and of one too few
Materials          all of it
Site               how warm the slabs are, and the clock on the wall
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Literal
from zoneinfo import ZoneInfo

from pydantic import Field, field_validator, model_validator

from drainward.job.frozen import Frozen
from drainward.quantity import INCH

__all__ = ["Adhesive", "Braces", "Costs", "Lumber", "Materials", "Mortar", "Screws", "Section", "Shims", "Site"]

_POUND = 0.45359237
_QUART = 231 * INCH**3 / 4
_MINUTE = 60.0
_PSI = 6894.757293168361
_FAHRENHEIT_70 = (70 - 32) / 1.8

Section = Literal["2x4", "2x6", "4x4"]


class Mortar(Frozen):
    """One kind of bag; SI.

    bag_mass : kg;  density : of the powder's grains, kg/m3;  water_per_bag : m3;  air : share of the wet volume
    pot_life : at reference_temperature, s and degC;  activation_energy : of its stiffening, J/mol
    thinnest, thickest : of a bed that it carries, m;  placing_rate : m3/s by one crew;  mixing_time : of a batch, s
    shelf_life : of an opened bag, s
    u_* : standard uncertainties of the same
    """

    bag_mass: float = Field(default=50 * _POUND, gt=1, lt=100)
    u_bag_mass: float = Field(default=0.25 * _POUND, gt=0)
    density: float = Field(default=2750.0, gt=1000, lt=5000)
    u_density: float = Field(default=50.0, gt=0)
    water_per_bag: float = Field(default=5 * _QUART, gt=0, lt=0.05)
    u_water_per_bag: float = Field(default=0.2 * _QUART, gt=0)
    air: float = Field(default=0.03, ge=0, lt=0.3)
    u_air: float = Field(default=0.015, gt=0)
    pot_life: float = Field(default=60 * _MINUTE, gt=0)
    u_pot_life: float = Field(default=10 * _MINUTE, gt=0)
    reference_temperature: float = Field(default=_FAHRENHEIT_70, gt=0, lt=50)
    activation_energy: float = Field(default=40e3, ge=0, lt=200e3)
    thinnest: float = Field(default=INCH / 16, gt=0)
    thickest: float = Field(default=2 * INCH, gt=0, lt=0.3)
    placing_rate: float = Field(default=817 * INCH**3 / (8 * _MINUTE), gt=0)
    mixing_time: float = Field(default=5 * _MINUTE, gt=0)
    shelf_life: float = Field(default=7 * 24 * 3600.0, gt=0)

    @model_validator(mode="after")
    def _carries(self) -> Mortar:
        if self.thinnest >= self.thickest:
            raise ValueError("thinnest is not less than thickest")
        return self


class Adhesive(Frozen):
    """tube_volume : m3, of a 10.1 fl oz tube;  bead_diameter : m, within the usual 3/4 to 1 in."""

    tube_volume: float = Field(default=10.1 * _QUART / 32, gt=0, lt=0.01)
    bead_diameter: float = Field(default=INCH, gt=0, lt=0.1)


class Lumber(Frozen):
    """Dry softwood of the braces.

    sections : that are on site, lightest first;  longest : piece that is on site, m
    stock_feet : lengths that the yard sells, ft;  kerf : what one cut of the saw takes, m
    modulus, u_modulus : of elasticity, Pa;  strength : allowable in bending, Pa
    """

    sections: tuple[Section, ...] = Field(default=("2x4", "2x6"), min_length=1)
    longest: float = Field(default=16 * 12 * INCH, gt=0.5, lt=20)
    stock_feet: tuple[int, ...] = Field(default=(8, 10, 12, 16), min_length=1)
    kerf: float = Field(default=INCH / 8, ge=0, lt=0.02)
    modulus: float = Field(default=1.2e6 * _PSI, gt=1e9, lt=50e9)
    u_modulus: float = Field(default=0.25e6 * _PSI, gt=0)
    strength: float = Field(default=800 * _PSI, gt=1e6, lt=100e6)

    @field_validator("stock_feet")
    @classmethod
    def _sold(cls, feet: tuple[int, ...]) -> tuple[int, ...]:
        if not all(1 <= length <= 60 for length in feet):
            raise ValueError("expected whole feet within 1 to 60")
        return tuple(sorted(set(feet)))


class Braces(Frozen):
    """How braces stand on the unit; none of it has a source.

    pad : side of the square padded foot, m;  pressure : that the gelcoat may take under it, Pa
    foot : height of the foot under its board, m;  apart : between feet along a board, at most, m
    wedge, reach : thickness that a pair of wedges fills at the head, and by how much either way, m
    movement : of the floor that the braces may let, m
    """

    pad: float = Field(default=3.5 * INCH, gt=0.01, lt=0.5)
    pressure: float = Field(default=15 * _PSI, gt=1e3)
    foot: float = Field(default=3.5 * INCH, gt=0.01, lt=0.5)
    apart: float = Field(default=12 * INCH, gt=0.05, lt=1)
    wedge: float = Field(default=0.75 * INCH, gt=0, lt=0.2)
    reach: float = Field(default=0.5 * INCH, gt=0, lt=0.2)
    movement: float = Field(default=INCH / 128, gt=0, lt=0.01)


class Screws(Frozen):
    """box : screws in a box;  spare : share bought over what is counted."""

    box: int = Field(default=100, gt=0)
    spare: float = Field(default=0.1, ge=0, lt=1)


class Shims(Frozen):
    """bundle : shims in a bundle;  spare : share bought over what is counted."""

    bundle: int = Field(default=12, gt=0)
    spare: float = Field(default=0.25, ge=0, lt=1)


class Costs(Frozen):
    """Of a pack left over and of one missing, in any one currency; ours, no source."""

    bag: float = Field(default=18.0, gt=0)
    bag_short: float = Field(default=1800.0, gt=0)
    tube: float = Field(default=8.0, gt=0)
    tube_short: float = Field(default=800.0, gt=0)


class Materials(Frozen):
    mortar: Mortar = Mortar()
    adhesive: Adhesive = Adhesive()
    lumber: Lumber = Lumber()
    braces: Braces = Braces()
    screws: Screws = Screws()
    shims: Shims = Shims()
    costs: Costs = Costs()


class Site(Frozen):
    """Where the job stands.

    temperature : of a slab that nobody measured, degC;  spread : by how much it may be colder or warmer, K
    time_zone : of the clock on the wall, a name of the tz database such as America/Chicago
    """

    temperature: float = Field(default=_FAHRENHEIT_70, gt=-40, lt=60)
    spread: float = Field(default=10 / 1.8, gt=0, lt=40)
    time_zone: str = "UTC"

    @field_validator("time_zone")
    @classmethod
    def _known(cls, name: str) -> str:
        try:
            ZoneInfo(name)
        except (KeyError, OSError, ValueError) as error:
            raise ValueError("expected a name of the tz database, such as America/Chicago") from error
        return name

    def utc(self, when: datetime) -> datetime:
        """A time as it was written, in UTC; one without a zone is by the clock on the wall here."""
        return (when if when.tzinfo else when.replace(tzinfo=ZoneInfo(self.time_zone))).astimezone(UTC)
