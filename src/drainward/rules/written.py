"""A limit as the trade writes it, into SI and back into words.

read_limit   written text -> SI value of the quantity's kind
in_words     SI value -> the same in the other system, for the reader who thinks in it
limit_words  a requirement's limit as a person reads it
"""

from __future__ import annotations

import re

from drainward.errors import QuantityError
from drainward.finding import Requirement
from drainward.quantity import (
    format_flow,
    format_length,
    format_slope,
    format_volume,
    parse_flow,
    parse_force,
    parse_length,
    parse_slope,
    parse_temperature,
    parse_volume,
)
from drainward.rules.quantities import Kind

__all__ = ["in_words", "limit_words", "phrase", "read_limit"]

_AREA = re.compile(r"(\d+(?:\.\d+)?) ?(in2|ft2|cm2|m2)")
_AREA_UNITS = {"in2": 0.0254**2, "ft2": 0.3048**2, "cm2": 1e-4, "m2": 1.0}
_POUND_FORCE = 4.4482216152605
_METRIC = re.compile(r"\d ?(?:mm|cm|m|m2|cm2|N|kN|°?C|mL|L|L/s|L/min)$")


def read_limit(kind: Kind, text: str) -> float:
    """The SI value of a written limit. Raises QuantityError for what is not wholly understood."""
    match kind:
        case Kind.LENGTH:
            return parse_length(text).value
        case Kind.SLOPE:
            return parse_slope(text).value
        case Kind.TEMPERATURE:
            return parse_temperature(text).value
        case Kind.FORCE:
            return parse_force(text).value
        case Kind.AREA:
            return _read_area(text)
        case Kind.VOLUME:
            return parse_volume(text).value
        case Kind.FLOW:
            return parse_flow(text).value


def _read_area(text: str) -> float:
    parts = _AREA.fullmatch(text.strip())
    if parts is None:
        raise QuantityError(text, "is not an area; expected one such as 1024 in2 or 0.66 m2")
    return float(parts[1]) * _AREA_UNITS[parts[2]]


def in_words(kind: Kind, value: float, written: str) -> str:
    """The value as `written` does not give it: a slope in two other forms, all else in the other system of units."""
    metric = _METRIC.search(written) is not None
    match kind:
        case Kind.SLOPE:
            forms = [format_slope(value, style) for style in ("%", "in/ft", "1:n")]
            return ", ".join([form for form in forms if form not in written][:2])
        case Kind.LENGTH:
            return format_length(value, "in" if metric else "mm")
        case Kind.AREA:
            return f"{value / 0.0254**2:.0f} in2" if metric else f"{value:.3g} m2"
        case Kind.FORCE:
            return f"{value / _POUND_FORCE:.0f} lbf" if metric else f"{value:.0f} N"
        case Kind.TEMPERATURE:
            return f"{value * 9 / 5 + 32:.0f} °F" if metric else f"{value:.0f} °C"
        case Kind.VOLUME:
            return format_volume(value, "gal" if metric else "L")
        case Kind.FLOW:
            return format_flow(value, "gpm" if metric else "L/min")


def phrase(low: str | None, high: str | None) -> str:
    """The written limit in words; both ends equal is a size stated without minimum or maximum."""
    if low is not None and high is not None:
        return f"exactly {low}" if low == high else f"{low} to {high}"
    return f"at least {low}" if low is not None else f"no more than {high}"


def limit_words(requirement: Requirement) -> str:
    """The limit as a person reads it, both SI and trade: `at least 1/4 in/ft (2.08 %, 1:48) over 12"`."""
    kind = Kind(requirement.unit)
    low, high = requirement.low, requirement.high
    written = requirement.written
    ends = [in_words(kind, end, written) for end in (low, high) if end is not None]
    inside = ends[0] if len(set(ends)) == 1 else " to ".join(ends)
    text = f"{written} ({inside})"
    if low is not None and low == high:
        text += ", no tolerance stated"
    if requirement.base is not None:
        text += f" over {format_length(requirement.base)} ({format_length(requirement.base, 'mm')})"
    return text
