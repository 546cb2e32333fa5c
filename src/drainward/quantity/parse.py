"""Reading what trades write. A parser refuses whatever it does not wholly understand, and says what it expected.

parse_length        36-1/2"  36 1/2 in  3'-0 3/8"  5 ft 3/8 in  5/16  19 mm  0.019 m
parse_area          4.2 sq in  27 cm2
parse_mass          80 lb  36 kg
parse_duration      72 h  3 d  90 min  1 min 50 s  1:50
parse_force         250 lbf  1112 N
parse_volume        1 gal  3.8 L
parse_flow          2.5 gpm  9.5 L/min
parse_temperature   68 °F  20 °C
parse_temperature_step, parse_density, parse_pressure, parse_molar_energy   2 °F; 2750 kg/m3; 15 psi; 40 kJ/mol

`default` is the unit of a bare number. Without it a bare number is refused, 0 excepted.
A bare trade fraction is inches.
"""

from __future__ import annotations

import re
from fractions import Fraction

from drainward.errors import QuantityError
from drainward.quantity.number import NUMBER, clean, is_date_serial, is_fraction, read_number, refuse_damage
from drainward.quantity.units import (
    AREA,
    DENSITY,
    DURATION,
    FLOW,
    FORCE,
    LENGTH,
    MASS,
    MOLAR_ENERGY,
    PRESSURE,
    TEMPERATURE,
    TEMPERATURE_STEP,
    VOLUME,
    Kind,
    Unit,
)
from drainward.quantity.value import Quantity

__all__ = [
    "length_of",
    "parse_area",
    "parse_density",
    "parse_duration",
    "parse_flow",
    "parse_force",
    "parse_length",
    "parse_mass",
    "parse_molar_energy",
    "parse_pressure",
    "parse_temperature",
    "parse_temperature_step",
    "parse_volume",
    "sign_of",
]

_ONE = re.compile(rf"(?P<number>{NUMBER}?) ?(?P<unit>[^0-9./ -].*)?")
_FEET = r"(?:'|ft\.?|foot|feet|pies?)"
_FEET_INCHES = re.compile(rf"(?P<feet>{NUMBER}?) ?{_FEET}(?: ?- ?| )?(?P<inches>{NUMBER}?) ?(?P<unit>[^0-9./ -].*)?")

_DURATIONS = "|".join(re.escape(word) for word in sorted(DURATION.units, key=len, reverse=True))
_PART = re.compile(rf"{NUMBER}? ?(?:{_DURATIONS})(?: |$|(?=[0-9.]))")
_PARTS = re.compile(rf"(?:{_PART.pattern}){{2,}}")
_CLOCK = re.compile(r"[0-9]+(?::[0-9]+)+(?:\.[0-9]*)?")
_STOPWATCH = re.compile(r"(?P<minutes>[0-9]{1,3}):(?P<seconds>[0-5][0-9](?P<part>\.[0-9]{1,3})?)")


def parse_length(text: str, default: str | None = None) -> Quantity:
    """A length in metres, of either sign.

    default : unit of a bare number ("in", "mm", ...). Raises QuantityError.
    """
    cleaned = _prepare(text, LENGTH)
    sign, rest = sign_of(cleaned)
    return Quantity(float(sign * length_of(text, rest, default)), LENGTH.si, text)


def parse_area(text: str, default: str | None = None) -> Quantity:
    """An area in square metres, not negative. Raises QuantityError."""
    return _parse(text, AREA, default)


def parse_mass(text: str, default: str | None = None) -> Quantity:
    """A mass in kilograms, not negative. Raises QuantityError."""
    return _parse(text, MASS, default)


def parse_duration(text: str, default: str | None = None, *, stopwatch: bool = False) -> Quantity:
    """A duration in seconds, not negative.

    stopwatch : whether 1:50 is 1 min 50 s; without it only 1:50.0 is, and 1:50 is refused. Raises QuantityError.
    """
    cleaned = clean(text)
    if _CLOCK.fullmatch(cleaned):
        return Quantity(float(_clock(text, cleaned, stopwatch)), DURATION.si, text)
    if _PARTS.fullmatch(cleaned):
        return Quantity(float(_in_parts(text, cleaned)), DURATION.si, text)
    return _parse(text, DURATION, default)


def parse_force(text: str, default: str | None = None) -> Quantity:
    """A force in newtons, not negative; `lb` is read as pounds-force. Raises QuantityError."""
    return _parse(text, FORCE, default)


def parse_volume(text: str, default: str | None = None) -> Quantity:
    """A volume in cubic metres, not negative; gallons are US liquid gallons. Raises QuantityError."""
    return _parse(text, VOLUME, default)


def parse_flow(text: str, default: str | None = None) -> Quantity:
    """A flow of water in cubic metres a second, not negative; gallons are US liquid gallons. Raises QuantityError."""
    return _parse(text, FLOW, default)


def parse_temperature(text: str, default: str | None = None) -> Quantity:
    """A temperature in degrees Celsius, not below absolute zero. Raises QuantityError."""
    return _parse(text, TEMPERATURE, default)


def parse_temperature_step(text: str, default: str | None = None) -> Quantity:
    """A difference of temperatures in kelvin, not negative: 9 °F are 5 K. Raises QuantityError."""
    return _parse(text, TEMPERATURE_STEP, default)


def parse_density(text: str, default: str | None = None) -> Quantity:
    """A density in kilograms a cubic metre, not negative. Raises QuantityError."""
    return _parse(text, DENSITY, default)


def parse_pressure(text: str, default: str | None = None) -> Quantity:
    """A pressure, a strength or a modulus of elasticity in pascals, not negative. Raises QuantityError."""
    return _parse(text, PRESSURE, default)


def parse_molar_energy(text: str, default: str | None = None) -> Quantity:
    """An activation energy in joules a mole, not negative. Raises QuantityError."""
    return _parse(text, MOLAR_ENERGY, default)


def _parse(text: str, kind: Kind, default: str | None) -> Quantity:
    sign, rest = sign_of(_prepare(text, kind))
    number, unit = _one(text, rest, kind, default)
    value = sign * number * unit.factor + unit.offset
    if kind.least is not None and value < kind.least:
        raise QuantityError(text, f"is less than any {kind.name} can be; expected one such as {kind.example}")
    return Quantity(float(value), kind.si, text)


def _prepare(text: str, kind: Kind) -> str:
    cleaned = clean(text)
    if not cleaned:
        raise QuantityError(text, f"is empty; expected {kind.one} such as {kind.example}")
    refuse_damage(text, cleaned)
    return cleaned


def sign_of(cleaned: str) -> tuple[int, str]:
    """The sign, 1 or -1, and the text behind it."""
    if cleaned[:1] in ("+", "-"):
        return (-1 if cleaned[0] == "-" else 1), cleaned[1:].lstrip()
    return 1, cleaned


def length_of(text: str, cleaned: str, default: str | None = None) -> Fraction:
    """Metres of an unsigned, cleaned length: one number and one unit, or feet and inches. Raises QuantityError."""
    parts = _FEET_INCHES.fullmatch(cleaned)
    if parts is not None:
        return _feet_inches(text, parts["feet"].strip(), parts["inches"].strip(), parts["unit"])
    number, unit = _one(text, cleaned, LENGTH, default)
    return number * unit.factor


def _feet_inches(text: str, feet: str, inches: str, unit: str | None) -> Fraction:
    if not feet.isdecimal():
        raise QuantityError(text, """has feet that are not a whole number before inches; write such as 3'-6 1/2\"""")
    if unit is None and is_fraction(inches) and not re.search("[ -]", inches):
        raise QuantityError(
            text, f"""may be a part of a foot or of an inch; write {feet}'-0 {inches}" or {feet} {inches} ft"""
        )
    inch = LENGTH.units["in"]
    if unit is not None and LENGTH.units.get(unit) != inch:
        raise QuantityError(text, """has something other than inches after the feet; write such as 3'-6 1/2\"""")
    number = read_number(text, inches)
    if number >= 12:
        raise QuantityError(
            text, "has 12 inches or more after the feet; write the inches alone, or feet with less than 12"
        )
    return read_number(text, feet) * LENGTH.units["ft"].factor + number * inch.factor


def _clock(text: str, cleaned: str, stopwatch: bool) -> Fraction:
    """Seconds of 1:50 or 1:50.4, refused where the colons may stand between other units."""
    parts = _STOPWATCH.fullmatch(cleaned)
    if parts is None or not (stopwatch or parts["part"]):
        raise QuantityError(text, "may be hours, minutes or seconds; write such as 1 min 50 s")
    return int(parts["minutes"]) * 60 + Fraction(parts["seconds"])


def _in_parts(text: str, cleaned: str) -> Fraction:
    """Seconds of a duration in two units or more, the larger first, all but the last one whole: 1 min 50 s."""
    total, above = Fraction(0), None
    for part in _PART.finditer(cleaned):
        number, unit = _one(text, part[0].strip(), DURATION, None)
        seconds = number * unit.factor
        if above is not None and (total % above or seconds >= above or unit.factor >= above):
            raise QuantityError(text, "is not clear; write the larger unit first and whole, such as 1 min 50 s")
        total, above = total + seconds, unit.factor
    return total


def _one(text: str, cleaned: str, kind: Kind, default: str | None) -> tuple[Fraction, Unit]:
    parts = _ONE.fullmatch(cleaned)
    if parts is None:
        raise QuantityError(text, f"is not {kind.one}; expected one such as {kind.example}")
    written, spelling = parts["number"].strip(), parts["unit"]
    if spelling is None:
        return _bare(text, written, kind, default)
    unit = _unit(text, spelling, kind)
    if is_fraction(written) and not unit.halves:
        raise QuantityError(text, f"has a trade fraction with {spelling}; write a decimal, or check the unit")
    return read_number(text, written), unit


def _bare(text: str, written: str, kind: Kind, default: str | None) -> tuple[Fraction, Unit]:
    number = read_number(text, written)
    if kind is LENGTH and is_date_serial(number):
        raise QuantityError(
            text,
            "has no unit and looks like the number of a day: a spreadsheet seems to have turned a fraction into a "
            "date; format the column as text and write the length again, with its unit",
        )
    unit = None if default is None else _unit(default, clean(default), kind)
    if kind is LENGTH and is_fraction(written):
        if unit not in (None, LENGTH.units["in"]):
            raise QuantityError(text, f'is a fraction where {default} are expected; write the unit, such as {written}"')
        return number, LENGTH.units["in"]
    if unit is None:
        if number == 0 and kind is not TEMPERATURE:
            return number, next(iter(kind.units.values()))
        raise QuantityError(text, f"has no unit; write which one it is: {kind.names}")
    if is_fraction(written) and not unit.halves:
        raise QuantityError(text, f"is a fraction where {default} are expected; write a decimal, or the unit")
    return number, unit


def _unit(text: str, spelling: str, kind: Kind) -> Unit:
    unit = kind.units.get(spelling)
    if unit is None:
        raise QuantityError(
            text, f"is not one number with one unit ({kind.names}); expected {kind.one} such as {kind.example}"
        )
    return unit
