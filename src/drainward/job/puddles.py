"""Puddles as a crew writes them down: 12 in / 40 in, 3 in across, 1/8 in deep; 6 in / 30 in

parse_puddles   the cell to puddles: none, or places from the left and from the back wall
puddles_text    and back
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from drainward.errors import QuantityError
from drainward.job.model import Puddle
from drainward.job.names import name_key
from drainward.job.written import length_text
from drainward.quantity import parse_length

__all__ = ["SLACK", "parse_puddles", "puddles_text"]

SLACK = 0.05
"""How far beyond the shower floor a place on it may be read, m: a tape hooked over a rounded corner."""

_DEEPEST = 0.1
"""No shower floor holds deeper water, m."""
_EXAMPLE = "12 in / 40 in, 3 in across, 1/8 in deep"
_BETWEEN = re.compile(r"(?<!\d)/|/(?!\d)")
"""A slash between two digits is a fraction's."""
_SIZES = {"across": "across", "deep": "depth"}


def parse_puddles(text: str, width: float, depth: float) -> tuple[Puddle, ...]:
    """The puddles in order; () for `none`.

    width, depth : of the shower floor, m. Raises QuantityError, which tells the puddle by its number.
    """
    if name_key(text) == "none":
        return ()
    parts = [part for part in text.split(";") if part.strip()]
    if not parts:
        raise QuantityError(text, f"holds no puddle; expected none, or such as {_EXAMPLE}")
    puddles = []
    for number, part in enumerate(parts, start=1):
        try:
            puddles.append(_puddle(part, width, depth))
        except QuantityError as error:
            where = f" (puddle {number} of {len(parts)})" if len(parts) > 1 else ""
            raise QuantityError(error.text, error.expected + where) from None
    return tuple(puddles)


def puddles_text(puddles: Sequence[Puddle]) -> str:
    """The puddles as `parse_puddles` reads them."""
    return "; ".join(map(_text, puddles)) or "none"


def _puddle(text: str, width: float, depth: float) -> Puddle:
    place, *rest = text.split(",")
    ends = _BETWEEN.split(place)
    if len(ends) != 2:
        raise QuantityError(place.strip(), f"is no place from the left / from the back; expected such as {_EXAMPLE}")
    x = _within(ends[0], -SLACK, width + SLACK, "from the left wall")
    y = _within(ends[1], -SLACK, depth + SLACK, "from the back wall")
    sizes: dict[str, float] = {}
    for part in map(str.strip, rest):
        if not part:
            continue
        length, _, word = part.rpartition(" ")
        name = _SIZES.get(name_key(word))
        if name is None:
            raise QuantityError(part, f"is neither across nor deep; expected such as {_EXAMPLE}")
        if name in sizes:
            raise QuantityError(part, f"says a second time how {_asked(word)} the puddle is; expected one")
        most = _DEEPEST if name == "depth" else max(width, depth)
        sizes[name] = _within(length, 0.0, most, word.lower())
        if sizes[name] == 0:
            raise QuantityError(part, "is no size; leave it out where it was not measured")
    return Puddle(x=x, y=y, across=sizes.get("across"), depth=sizes.get("depth"))


def _asked(word: str) -> str:
    return "deep" if name_key(word) == "deep" else "far across"


def _within(text: str, low: float, high: float, what: str) -> float:
    value = parse_length(text.strip()).value
    if not low <= value <= high:
        raise QuantityError(
            text.strip(), f"is {value:.4g} m {what}; expected {low:.4g} to {high:.4g} m; check the unit"
        )
    return value


def _text(puddle: Puddle) -> str:
    parts = [f"{length_text(puddle.x)} / {length_text(puddle.y)}"]
    if puddle.across is not None:
        parts.append(f"{length_text(puddle.across)} across")
    if puddle.depth is not None:
        parts.append(f"{length_text(puddle.depth)} deep")
    return ", ".join(parts)
