"""Quantities as trades write them: SI inside, the written form kept beside it.

Quantity                                            value, SI unit, and what was written
parse_length, parse_slope                           36-1/2", 3'-0 3/8", 19 mm; 1/4 in/ft, 1:48, 2 %, 1.2°
parse_area, parse_volume, parse_flow                4.2 sq in; 1 gal; 2.5 gpm
parse_mass, parse_force                             80 lb; 250 lbf
parse_duration, parse_temperature                   72 h, 1 min 50 s; 68 °F
parse_temperature_step, parse_density               2 °F; 2750 kg/m3
parse_pressure, parse_molar_energy                  15 psi; 40 kJ/mol
format_length, format_slope                         back to the trade's form
format_volume, format_flow, format_mass
format_duration
INCH                                                metres in an inch

Parsers raise `drainward.errors.QuantityError` for whatever they do not wholly understand.
"""

from __future__ import annotations

from drainward.quantity.parse import (
    parse_area,
    parse_density,
    parse_duration,
    parse_flow,
    parse_force,
    parse_length,
    parse_mass,
    parse_molar_energy,
    parse_pressure,
    parse_temperature,
    parse_temperature_step,
    parse_volume,
)
from drainward.quantity.slope import parse_slope
from drainward.quantity.value import INCH, Quantity
from drainward.quantity.write import (
    format_duration,
    format_flow,
    format_length,
    format_mass,
    format_slope,
    format_volume,
)

__all__ = [
    "INCH",
    "Quantity",
    "format_duration",
    "format_flow",
    "format_length",
    "format_mass",
    "format_slope",
    "format_volume",
    "parse_area",
    "parse_density",
    "parse_duration",
    "parse_flow",
    "parse_force",
    "parse_length",
    "parse_mass",
    "parse_molar_energy",
    "parse_pressure",
    "parse_slope",
    "parse_temperature",
    "parse_temperature_step",
    "parse_volume",
]
