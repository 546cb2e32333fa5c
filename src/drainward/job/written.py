"""SI values as the trade writes them, exact: each text reads back to the very same number.

length_text, area_text, slope_text    the plainest form that reads back exactly
mass_text, volume_text, flow_text
duration_text, temperature_text
step_text, density_text, pressure_text, molar_energy_text
when_text                             a date, or a date with its time of day
still_says                            whether a text that was written reads as this value
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, time
from decimal import Decimal

from drainward.quantity import (
    INCH,
    Quantity,
    format_duration,
    format_flow,
    format_length,
    format_mass,
    format_slope,
    format_volume,
    parse_area,
    parse_duration,
    parse_flow,
    parse_length,
    parse_mass,
    parse_molar_energy,
    parse_pressure,
    parse_slope,
    parse_temperature,
    parse_temperature_step,
    parse_volume,
)

__all__ = [
    "area_text",
    "density_text",
    "duration_text",
    "flow_text",
    "length_text",
    "mass_text",
    "molar_energy_text",
    "pressure_text",
    "slope_text",
    "step_text",
    "still_says",
    "temperature_text",
    "volume_text",
    "when_text",
]


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


def area_text(square_metres: float) -> str:
    """4.2 sq in or a decimal number of square centimetres."""
    inches = f"{round(square_metres / INCH**2, 3):g} sq in"
    return _exact(square_metres, (inches, _shifted(square_metres, 4, "cm2")), parse_area)


def volume_text(cubic_metres: float) -> str:
    """1 gal, 3.8 L or a decimal number of litres."""
    plain = (format_volume(cubic_metres, "gal"), format_volume(cubic_metres, "L"))
    return _exact(cubic_metres, (*plain, _shifted(cubic_metres, 3, "L")), parse_volume)


def flow_text(cubic_metres_a_second: float) -> str:
    """2.5 gpm, 9.5 L/min or a decimal number of litres a second."""
    plain = (format_flow(cubic_metres_a_second, "gpm"), format_flow(cubic_metres_a_second, "L/min"))
    return _exact(cubic_metres_a_second, (*plain, _shifted(cubic_metres_a_second, 3, "L/s")), parse_flow)


def duration_text(seconds: float) -> str:
    """72 h, 90 min, 1 min 50 s or a decimal number of seconds."""
    plain = (f"{seconds / 3600:.0f} h", f"{seconds / 60:.0f} min", format_duration(seconds))
    return _exact(seconds, (*plain, _shifted(seconds, 0, "s")), parse_duration)


def temperature_text(celsius: float) -> str:
    """20 °C, 118.5 °F or a decimal number of degrees Celsius."""
    plain = (f"{celsius:.0f} °C", f"{celsius * 9 / 5 + 32:.0f} °F", f"{celsius * 9 / 5 + 32:.1f} °F")
    return _exact(celsius, (*plain, _shifted(celsius, 0, "°C")), parse_temperature)


def step_text(kelvin: float) -> str:
    """2 °F, 1 K or a decimal number of kelvin."""
    return _exact(kelvin, (f"{kelvin * 9 / 5:.0f} °F", _shifted(kelvin, 0, "K")), parse_temperature_step)


def density_text(kilograms_a_cubic_metre: float) -> str:
    """A decimal number of kilograms a cubic metre."""
    return _shifted(kilograms_a_cubic_metre, 0, "kg/m3")


def pressure_text(pascals: float) -> str:
    """15 psi, 1200 ksi or a decimal number of kilopascals."""
    psi = f"{pascals / parse_pressure('1 psi').value:.0f} psi"
    return _exact(pascals, (psi, _shifted(pascals, -3, "kPa"), _shifted(pascals, 0, "Pa")), parse_pressure)


def molar_energy_text(joules_a_mole: float) -> str:
    """40 kJ/mol."""
    kilojoules = _shifted(joules_a_mole, -3, "kJ/mol")
    return _exact(joules_a_mole, (kilojoules, _shifted(joules_a_mole, 0, "J/mol")), parse_molar_energy)


def when_text(when: datetime | None) -> str:
    """2026-03-14, or 2026-03-14 09:30:00; blank where it is not known."""
    if when is None:
        return ""
    return when.date().isoformat() if when.timetz() == time() else when.isoformat(sep=" ")


def _shifted(value: float, places: int, unit: str) -> str:
    """The shortest decimal that means this number, its point moved."""
    number = f"{Decimal(repr(float(value))).scaleb(places):f}"
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


def _exact(value: float, texts: Iterable[str], parse: Callable[[str], Quantity]) -> str:
    last = ""
    for last in texts:
        if still_says(last, value, lambda text: parse(text).value):
            return last
    return last


def still_says(written: str, value: object, parse: Callable[[str], object]) -> bool:
    """Whether `parse`, which raises ValueError for what it refuses, makes this value of the text; never of a blank."""
    try:
        return bool(written) and parse(written) == value
    except ValueError:
        return False
