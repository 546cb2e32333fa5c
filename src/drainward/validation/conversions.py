"""What trades write, read by our parser, against units as metrology defines them."""

from __future__ import annotations

from drainward.finding import Certainty
from drainward.quantity import parse_force, parse_length, parse_mass, parse_slope, parse_temperature, parse_volume
from drainward.validation.check import Check

__all__ = ["CHECKS"]

_INCH = "NIST Special Publication 811, 2008, B.8 (1 in = 25.4 mm exactly)"
_POUND = "NIST Special Publication 811, 2008, B.8 (1 lb = 0.453 592 37 kg exactly)"
_GALLON = "NIST Handbook 44, Appendix C (1 US gallon = 231 cubic inches)"
_LBF = "NIST Special Publication 811, 2008, B.8 (1 lbf = 4.448 222 N)"
_WATER = "definition of the Fahrenheit scale: 32 °F is 0 °C, 212 °F is 100 °C"
_SLOPE = "arithmetic: 1/4 in over 12 in, 1:48, angle = arctan"

CHECKS: tuple[Check, ...] = (
    Check("conversions/inch", '1" in mm', _INCH, Certainty.MEMORY, 25.4, 1e-12, "mm",
          lambda: parse_length('1"').value * 1000),
    Check("conversions/mixed", '36-1/2" in mm', _INCH, Certainty.MEMORY, 927.1, 1e-9, "mm",
          lambda: parse_length('36-1/2"').value * 1000),
    Check("conversions/spaced", "36 1/2 in in mm", _INCH, Certainty.MEMORY, 927.1, 1e-9, "mm",
          lambda: parse_length("36 1/2 in").value * 1000),
    Check("conversions/feet", "5'-0 3/8\" in mm", _INCH, Certainty.MEMORY, 1533.525, 1e-9, "mm",
          lambda: parse_length("5'-0 3/8\"").value * 1000),
    Check("conversions/sixteenth", '1/16" in mm', _INCH, Certainty.MEMORY, 1.5875, 1e-12, "mm",
          lambda: parse_length('1/16"').value * 1000),
    Check("conversions/pound", "80 lb in kg", _POUND, Certainty.MEMORY, 36.2873896, 1e-9, "kg",
          lambda: parse_mass("80 lb").value),
    Check("conversions/gallon", "1 gal in L", _GALLON, Certainty.MEMORY, 3.785411784, 1e-9, "L",
          lambda: parse_volume("1 gal").value * 1000),
    Check("conversions/pound-force", "250 lbf in N", _LBF, Certainty.MEMORY, 1112.0555, 1e-3, "N",
          lambda: parse_force("250 lbf").value),
    Check("conversions/fahrenheit", "212 °F in °C", _WATER, Certainty.COMPUTED, 100.0, 1e-9, "°C",
          lambda: parse_temperature("212 °F").value),
    Check("conversions/quarter-per-foot", "1/4 in/ft as a percentage", _SLOPE, Certainty.COMPUTED, 2.0833, 5e-5, "%",
          lambda: parse_slope("1/4 in/ft").value * 100),
    Check("conversions/one-in-48", "1:48 less 1/4 in/ft", _SLOPE, Certainty.COMPUTED, 0.0, 1e-15, "ratio",
          lambda: parse_slope("1:48").value - parse_slope("1/4 in/ft").value),
    Check("conversions/degrees", "1.193° as a percentage", _SLOPE, Certainty.COMPUTED, 2.0833, 1e-3, "%",
          lambda: parse_slope("1.193°").value * 100),
    Check("conversions/two-percent", "2 % as inches in 12", _SLOPE, Certainty.COMPUTED, 0.24, 1e-12, "in",
          lambda: parse_slope("2 %").value * 12),
)  # fmt: skip
