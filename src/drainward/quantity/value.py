"""The answer of every parser: a value in SI units with what was written beside it; and the inch."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["INCH", "Quantity"]

INCH = 0.0254
"""Metres in an inch, exact (NIST SP 811, 2008, appendix B.8)."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """value : in `unit`; unit : m, m2, ratio (a slope), kg, s, N, m3, m3/s or °C; written : the text as it was read."""

    value: float
    unit: str
    written: str
