"""Reading slopes. A slope is a ratio, the tangent of its angle, positive where it rises.

parse_slope     1/4 in/ft  1/4" per ft  1:48  1/4:12  2 %  1.2°  20 mm/m
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from drainward.errors import QuantityError
from drainward.quantity.number import NUMBER, clean, is_date_serial, is_fraction, read_number, refuse_damage
from drainward.quantity.parse import length_of, sign_of
from drainward.quantity.units import LENGTH
from drainward.quantity.value import Quantity

__all__ = ["parse_slope"]

_EXAMPLE = "1/4 in/ft, 1:48, 2 % or 1.2°"
_RATIO = re.compile(rf"(?P<rise>{NUMBER}?) ?: ?(?P<run>{NUMBER})")
_PERCENT = re.compile(rf"(?P<number>{NUMBER}?) ?(?:%|pct|percent|per cent)")
_ANGLE = re.compile(rf"(?P<number>{NUMBER}?) ?(?:°|deg\.?|degrees?)")
_RISE_RUN = re.compile(
    r"(?P<rise>.*[a-z\"'.]) ?[/:] ?(?P<run>[^/:]+)|(?P<rise_per>.+?) ?\b(?:per|over) (?P<run_per>.+)"
)
_BARE = re.compile(NUMBER)


def parse_slope(text: str, default: str | None = None) -> Quantity:
    """A slope as a ratio, of either sign, at most 1:1.

    default : what a bare number is: "ratio", "%", "deg", "in/ft" or "mm/m". Without it a bare number is refused,
    0 and the word "level" excepted. Raises QuantityError.
    """
    cleaned = clean(text)
    if not cleaned:
        raise QuantityError(text, f"is empty; expected a slope such as {_EXAMPLE}")
    refuse_damage(text, cleaned)
    sign, rest = sign_of(cleaned)
    ratio = _ratio(text, rest, default)
    if ratio > 1:
        raise QuantityError(text, "is steeper than 1:1; a slope is written rise to run, such as 1:48")
    return Quantity(sign * ratio if ratio else 0.0, "ratio", text)


def _ratio(text: str, cleaned: str, default: str | None) -> float:
    if cleaned == "level":
        return 0.0
    if parts := _PERCENT.fullmatch(cleaned):
        return float(read_number(text, parts["number"].strip()) / 100)
    if parts := _ANGLE.fullmatch(cleaned):
        return _tangent(text, read_number(text, parts["number"].strip()))
    if parts := _RATIO.fullmatch(cleaned):
        return _divided(text, read_number(text, parts["rise"].strip()), read_number(text, parts["run"].strip()))
    if parts := _RISE_RUN.fullmatch(cleaned):
        rise, run = parts["rise"] or parts["rise_per"], parts["run"] or parts["run_per"]
        run = f"1 {run}" if run in LENGTH.units else run
        return _divided(text, length_of(text, rise), length_of(text, run))
    if _BARE.fullmatch(cleaned):
        return _bare(text, cleaned, default)
    raise QuantityError(text, f"is not a slope; expected one such as {_EXAMPLE}")


def _bare(text: str, cleaned: str, default: str | None) -> float:
    if is_fraction(cleaned) and default != "in/ft":
        raise QuantityError(text, "may be inches per foot or a ratio; write such as 1/4 in/ft or 1:48")
    number = read_number(text, cleaned)
    if is_date_serial(number):
        raise QuantityError(text, "looks like the number of a day, not a slope; format the column as text")
    match default:
        case "in/ft":
            return float(number / 12)
        case "mm/m":
            return float(number / 1000)
        case "%":
            return float(number / 100)
        case "deg":
            return _tangent(text, number)
        case "ratio":
            return float(number)
        case None if number == 0:
            return 0.0
        case None:
            raise QuantityError(text, f"has no unit; write such as {_EXAMPLE}")
    raise QuantityError(default, 'is no unit of a slope; expected "in/ft", "mm/m", "%", "deg" or "ratio"')


def _divided(text: str, rise: Fraction, run: Fraction) -> float:
    if run == 0:
        raise QuantityError(text, "has a run of 0; a slope is written rise to run, such as 1:48")
    return float(rise / run)


def _tangent(text: str, degrees: Fraction) -> float:
    if degrees > 45:
        raise QuantityError(text, "is steeper than 45°; expected the angle from level, such as 1.2°")
    return math.tan(math.radians(degrees))
