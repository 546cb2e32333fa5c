"""The answer of every parser: a value in SI units with what was written beside it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Quantity"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """value : in `unit`; unit : m, ratio (of a slope), kg, s, N, m3 or °C; written : the text as it was read."""

    value: float
    unit: str
    written: str
