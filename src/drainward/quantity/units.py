"""The units that trades write, as data.

Unit, Kind       one unit with its factor to SI; one kind of quantity with its units, example and sign
LENGTH, AREA, MASS, DURATION, FORCE, VOLUME, FLOW, TEMPERATURE
TEMPERATURE_STEP, DENSITY, PRESSURE, MOLAR_ENERGY

Factors of inch, foot, pound, pound-force and US gallon are exact: NIST SP 811 (2008), appendix B.8.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

__all__ = [
    "AREA",
    "DENSITY",
    "DURATION",
    "FLOW",
    "FORCE",
    "LENGTH",
    "MASS",
    "MOLAR_ENERGY",
    "PRESSURE",
    "TEMPERATURE",
    "TEMPERATURE_STEP",
    "VOLUME",
    "Kind",
    "Unit",
]


@dataclass(frozen=True, slots=True)
class Unit:
    """SI value = factor * number + offset; `halves` says whether the trade writes fractions of it."""

    factor: Fraction
    halves: bool = False
    offset: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity; `units` is keyed by lower-case spelling, `names` lists the ones to show a person."""

    name: str
    si: str
    example: str
    names: str
    units: Mapping[str, Unit]
    least: Fraction | None = Fraction(0)

    @property
    def one(self) -> str:
        """The name with its article: a length, an area."""
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


def _table(*rows: tuple[str, Unit]) -> dict[str, Unit]:
    return {spelling: unit for spellings, unit in rows for spelling in _spellings(spellings)}


def _spellings(words: str) -> Iterable[str]:
    return (word.replace("_", " ") for word in words.split())


_INCH = Fraction(254, 10_000)
_FOOT = 12 * _INCH
_POUND = Fraction(45_359_237, 100_000_000)
_GRAVITY = Fraction(980_665, 100_000)
_GALLON = 231 * _INCH**3
_LITRE = Fraction(1, 1_000)

LENGTH = Kind(
    name="length",
    si="m",
    example="""36-1/2", 3'-0 3/8" or 19 mm""",
    names="in, ft, mm, cm, m",
    least=None,
    units=_table(
        ('in in. inch inches " pulg pulg. pulgada pulgadas', Unit(_INCH, halves=True)),
        ("ft ft. foot feet ' pie pies", Unit(_FOOT, halves=True)),
        ("mm", Unit(Fraction(1, 1_000))),
        ("cm", Unit(Fraction(1, 100))),
        ("m metre metres meter meters", Unit(Fraction(1))),
    ),
)

AREA = Kind(
    name="area",
    si="m2",
    example="4.2 sq in or 27 cm2",
    names="sq in, sq ft, mm2, cm2, m2",
    units=_table(
        ("sq_in sq._in. sq._in sq_in. in2 square_inch square_inches", Unit(_INCH**2, halves=True)),
        ("sq_ft sq._ft. sq._ft sq_ft. ft2 square_foot square_feet", Unit(_FOOT**2, halves=True)),
        ("mm2 sq_mm", Unit(Fraction(1, 1_000_000))),
        ("cm2 sq_cm", Unit(Fraction(1, 10_000))),
        ("m2 sq_m", Unit(Fraction(1))),
    ),
)

MASS = Kind(
    name="mass",
    si="kg",
    example="80 lb or 36 kg",
    names="lb, oz, kg, g",
    units=_table(
        ("lb lb. lbs lbs. pound pounds", Unit(_POUND, halves=True)),
        ("oz oz. ounce ounces", Unit(_POUND / 16, halves=True)),
        ("kg", Unit(Fraction(1))),
        ("g", Unit(Fraction(1, 1_000))),
    ),
)

DURATION = Kind(
    name="duration",
    si="s",
    example="72 h, 90 min or 1 min 50 s",
    names="s, min, h, d",
    units=_table(
        ("s sec sec. second seconds", Unit(Fraction(1))),
        ("min min. minute minutes", Unit(Fraction(60))),
        ("h hr hrs hr. hrs. hour hours", Unit(Fraction(3_600), halves=True)),
        ("d day days", Unit(Fraction(86_400), halves=True)),
    ),
)

FORCE = Kind(
    name="force",
    si="N",
    example="250 lbf or 1112 N",
    names="lbf, N, kN",
    units=_table(
        ("lbf lb lbs", Unit(_POUND * _GRAVITY, halves=True)),
        ("n", Unit(Fraction(1))),
        ("kn", Unit(Fraction(1_000))),
    ),
)

VOLUME = Kind(
    name="volume",
    si="m3",
    example="1 gal or 3.8 L",
    names="gal (US), qt, pt, fl oz, L, mL, ft3, in3, yd3, m3",
    units=_table(
        ("gal gal. gals gallon gallons", Unit(_GALLON, halves=True)),
        ("qt qt. qts quart quarts", Unit(_GALLON / 4, halves=True)),
        ("pt pt. pts pint pints", Unit(_GALLON / 8, halves=True)),
        ("fl_oz fl._oz. fluid_ounce fluid_ounces", Unit(_GALLON / 128, halves=True)),
        ("l litre litres liter liters", Unit(_LITRE)),
        ("ml", Unit(_LITRE / 1_000)),
        ("ft3 cu_ft cu._ft. cubic_foot cubic_feet", Unit(_FOOT**3, halves=True)),
        ("in3 cu_in cu._in. cubic_inch cubic_inches", Unit(_INCH**3, halves=True)),
        ("yd3 cu_yd cu._yd. cubic_yard cubic_yards", Unit((3 * _FOOT) ** 3, halves=True)),
        ("m3", Unit(Fraction(1))),
    ),
)

FLOW = Kind(
    name="flow",
    si="m3/s",
    example="2.5 gpm or 9.5 L/min",
    names="gpm (US), L/min, L/s, m3/h, m3/s",
    units=_table(
        ("gpm gal/min gals/min gal_per_min gallons_per_minute", Unit(_GALLON / 60, halves=True)),
        ("l/min lpm litres/min liters/min", Unit(_LITRE / 60)),
        ("l/s litres/s liters/s", Unit(_LITRE)),
        ("m3/h", Unit(Fraction(1, 3_600))),
        ("m3/s", Unit(Fraction(1))),
    ),
)

TEMPERATURE = Kind(
    name="temperature",
    si="°C",
    example="68 °F or 20 °C",
    names="°F, °C",
    least=Fraction(-27_315, 100),
    units=_table(
        ("°c c degc deg_c", Unit(Fraction(1))),
        ("°f f degf deg_f", Unit(Fraction(5, 9), offset=Fraction(-160, 9))),
    ),
)

TEMPERATURE_STEP = Kind(
    name="difference of temperatures",
    si="K",
    example="2 °F or 1 K",
    names="°F, °C, K",
    units=_table(
        ("k °c c degc deg_c", Unit(Fraction(1))),
        ("°f f degf deg_f", Unit(Fraction(5, 9))),
    ),
)

DENSITY = Kind(
    name="density",
    si="kg/m3",
    example="172 lb/ft3 or 2750 kg/m3",
    names="lb/ft3, kg/m3, kg/L",
    units=_table(
        ("lb/ft3 pcf lbs/ft3 lb/cu_ft", Unit(_POUND / _FOOT**3, halves=True)),
        ("kg/m3", Unit(Fraction(1))),
        ("kg/l g/cm3 g/ml", Unit(Fraction(1_000))),
    ),
)

PRESSURE = Kind(
    name="pressure",
    si="Pa",
    example="15 psi or 100 kPa",
    names="psi, ksi, Pa, kPa, MPa, GPa",
    units=_table(
        ("psi lbf/in2 lb/in2", Unit(_POUND * _GRAVITY / _INCH**2, halves=True)),
        ("ksi", Unit(1_000 * _POUND * _GRAVITY / _INCH**2, halves=True)),
        ("pa n/m2", Unit(Fraction(1))),
        ("kpa", Unit(Fraction(1_000))),
        ("mpa n/mm2", Unit(Fraction(1_000_000))),
        ("gpa", Unit(Fraction(1_000_000_000))),
    ),
)

MOLAR_ENERGY = Kind(
    name="molar energy",
    si="J/mol",
    example="40 kJ/mol",
    names="kJ/mol, J/mol",
    units=_table(("kj/mol", Unit(Fraction(1_000))), ("j/mol", Unit(Fraction(1)))),
)
