"""Writing quantities the way trades read them; every result can be read back by this package's parsers.

format_length   36-1/2"   3'-0 3/8"   19 mm
format_slope    1/4 in/ft   2 %   1:48   1.2°
format_volume   1.5 gal   2 fl oz   3.8 L   250 mL
format_flow     2.5 gpm   9.5 L/min
format_mass     80 lb   36 kg
format_duration 45 s   1 min 50 s   2 h 5 min
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from drainward.quantity.units import FLOW, LENGTH, MASS, VOLUME

__all__ = ["format_duration", "format_flow", "format_length", "format_mass", "format_slope", "format_volume"]

_INCH = LENGTH.units["in"].factor


def format_length(metres: float, style: Literal["in", "ft-in", "mm"] = "in", denominator: int = 16) -> str:
    """A length for the trade: inches or feet and inches to 1/denominator in, or millimetres to 0.1 mm.

    metres : finite; denominator : 1, 2, 4, ... 64. Half a step rounds away from zero.
    Raises ValueError for anything else.
    """
    exact = _exact(metres)
    if style == "mm":
        return f"{_decimal(exact * 1000, 1)} mm"
    if denominator not in (1, 2, 4, 8, 16, 32, 64):
        raise ValueError(f"a tape is divided into 2nds to 64ths of an inch, got {denominator!r}")
    steps = math.floor(abs(exact) / _INCH * denominator + Fraction(1, 2))
    sign = "-" if exact < 0 and steps else ""
    inches = Fraction(steps, denominator)
    if style == "in":
        return f'{sign}{_mixed(inches, "-")}"'
    if style == "ft-in":
        feet, inches = divmod(inches, 12)
        return f"""{sign}{feet}'-{_mixed(inches, " ", zero="0 ")}\""""
    raise ValueError(f'a length is written in style "in", "ft-in" or "mm", got {style!r}')


def format_slope(ratio: float, style: Literal["in/ft", "%", "1:n", "deg"] = "in/ft") -> str:
    """A slope for the trade; a trade fraction stands only where it is exact, else two decimals.

    ratio : finite. Raises ValueError for anything else.
    """
    exact = _exact(ratio)
    if style == "%":
        return f"{_decimal(exact * 100, 2)} %"
    if style == "deg":
        return f"{_decimal(_exact(math.degrees(math.atan(ratio))), 2)}°"
    if style == "in/ft":
        per_foot = abs(exact) * 12
        steps = Fraction(round(per_foot * 64), 64)
        if steps and abs(per_foot - steps) < Fraction(1, 10**9):
            return f"{'-' if exact < 0 else ''}{_mixed(steps, '-')} in/ft"
        return f"{_decimal(exact * 12, 2)} in/ft"
    if style == "1:n":
        if exact == 0:
            return "level"
        run = 1 / abs(exact)
        places = 2 if run < 10 else 1 if run < 100 else 0
        return f"{'-' if exact < 0 else ''}1:{_decimal(run, places)}"
    raise ValueError(f'a slope is written in style "in/ft", "%", "1:n" or "deg", got {style!r}')


def format_volume(cubic_metres: float, style: Literal["gal", "L"] = "gal") -> str:
    """A volume to three digits; under a tenth of a gallon in fluid ounces, under a litre in millilitres.

    cubic_metres : finite. Raises ValueError for anything else.
    """
    exact = _exact(cubic_metres)
    if style == "gal":
        return _in_units(exact, "gal", Fraction(1, 10), "fl oz")
    if style == "L":
        return _in_units(exact, "L", Fraction(1), "mL")
    raise ValueError(f'a volume is written in style "gal" or "L", got {style!r}')


def format_flow(cubic_metres_a_second: float, style: Literal["gpm", "L/min"] = "gpm") -> str:
    """A flow of water to three digits. cubic_metres_a_second : finite. Raises ValueError for anything else."""
    if style not in ("gpm", "L/min"):
        raise ValueError(f'a flow is written in style "gpm" or "L/min", got {style!r}')
    return f"{_three_digits(_exact(cubic_metres_a_second) / FLOW.units[style.lower()].factor)} {style}"


def format_mass(kilograms: float, style: Literal["lb", "kg"] = "lb") -> str:
    """A mass to three digits, whole digits kept. kilograms : finite. Raises ValueError for anything else."""
    if style not in ("lb", "kg"):
        raise ValueError(f'a mass is written in style "lb" or "kg", got {style!r}')
    return f"{_three_digits(_exact(kilograms) / MASS.units[style].factor)} {style}"


def format_duration(seconds: float) -> str:
    """A duration: under ten seconds to a tenth, under an hour to the second, from there on to the minute.

    seconds : finite, not negative. Raises ValueError for anything else.
    """
    exact = _exact(seconds)
    if exact < 0:
        raise ValueError(f"a duration is not negative, got {seconds!r}")
    if exact < 10:
        return f"{_decimal(exact, 1)} s"
    whole = math.floor(exact + Fraction(1, 2))
    if whole < 3600:
        return _two(whole, 60, "min", "s")
    return _two(math.floor(exact / 60 + Fraction(1, 2)), 60, "h", "min")


def _two(number: int, ratio: int, large: str, small: str) -> str:
    """A whole number of the small unit in both units; a zero is left out."""
    parts = ((number // ratio, large), (number % ratio, small))
    return " ".join(f"{count} {unit}" for count, unit in parts if count)


def _in_units(exact: Fraction, unit: str, least: Fraction, small: str) -> str:
    number = exact / VOLUME.units[unit.lower()].factor
    if abs(number) >= least or number == 0:
        return f"{_three_digits(number)} {unit}"
    return f"{_three_digits(exact / VOLUME.units[small.lower()].factor)} {small}"


def _exact(value: float) -> Fraction:
    """The number a person would see: 1e-12 off is float noise, and would turn a half the wrong way."""
    if not math.isfinite(value):
        raise ValueError(f"only a finite number can be written, got {value!r}")
    return Fraction(str(round(value, 12)))


def _mixed(number: Fraction, joint: str, zero: str = "") -> str:
    whole, rest = divmod(number, 1)
    if not rest:
        return str(whole)
    return f"{whole}{joint}{rest}" if whole else f"{zero}{rest}"


def _decimal(exact: Fraction, places: int) -> str:
    """Half a step away from zero, no trailing zeros, no minus before a zero."""
    step = 10**places
    steps = math.floor(abs(exact) * step + Fraction(1, 2))
    number = Decimal(steps) / step
    text = f"{number:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"-{text}" if exact < 0 and steps else text


def _three_digits(exact: Fraction) -> str:
    if exact == 0:
        return "0"
    return _decimal(exact, max(0, 2 - math.floor(math.log10(abs(exact)))))
