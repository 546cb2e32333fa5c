"""SI values as the trade writes them, exact: each text reads back to the very same number.

length_text, slope_text     the plainest form that reads back exactly
mass_text, duration_text
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal

from drainward.quantity import (
    Quantity,
    format_length,
    format_mass,
    format_slope,
    parse_duration,
    parse_length,
    parse_mass,
    parse_slope,
)

__all__ = ["duration_text", "length_text", "mass_text", "slope_text"]


def length_text(metres: float) -> str:
    """36-1/2", 19 mm or, where neither is exact, a decimal number of millimetres."""
    plain = (format_length(metres, "in", 64), format_length(metres, "mm"))
    return _exact(metres, (*plain, _shifted(metres, 3, "mm"), _shifted(metres, 0, "m")), parse_length)


def slope_text(ratio: float) -> str:
    """1/4 in/ft, 2 %, 1:60 or, where none is exact, a decimal number of percent or of millimetres a metre."""
    per_foot = format_slope(ratio, "in/ft")
    plain = (format_slope(ratio, "%"), format_slope(ratio, "1:n"), per_foot)
    return _exact(
        ratio,
        (*(() if "." in per_foot else (per_foot,)), *plain, _shifted(ratio, 2, "%"), _shifted(ratio, 3, "mm/m")),
        parse_slope,
    )


def mass_text(kilograms: float) -> str:
    """80 lb, 36 kg or a decimal number of kilograms."""
    plain = (format_mass(kilograms, "lb"), format_mass(kilograms, "kg"))
    return _exact(kilograms, (*plain, _shifted(kilograms, 0, "kg"), _shifted(kilograms, 3, "g")), parse_mass)


def duration_text(seconds: float) -> str:
    """72 h, 90 min or a decimal number of seconds."""
    plain = (f"{seconds / 3600:.0f} h", f"{seconds / 60:.0f} min")
    return _exact(seconds, (*plain, _shifted(seconds, 0, "s")), parse_duration)


def _shifted(value: float, places: int, unit: str) -> str:
    """The shortest decimal that means this number, its point moved."""
    number = f"{Decimal(repr(float(value))).scaleb(places):f}"
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


def _exact(value: float, texts: Iterable[str], parse: Callable[[str], Quantity]) -> str:
    last = ""
    for last in texts:
        if _reads_back(last, value, parse):
            return last
    return last


def _reads_back(text: str, value: float, parse: Callable[[str], Quantity]) -> bool:
    try:
        return parse(text).value == value
    except ValueError:
        return False
