"""Quantities as written: half steps, carries and signs by a table, and round trips through the parsers."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.quantity import (
    format_duration,
    format_flow,
    format_length,
    format_mass,
    format_slope,
    format_volume,
    parse_duration,
    parse_flow,
    parse_length,
    parse_mass,
    parse_slope,
    parse_volume,
)

INCH = Fraction(254, 10_000)
LB, GALLON = 0.453_592_37, 3.785_411_784e-3  # NIST SP 811 (2008), appendix B.8


def inches(number: int, numerator: int = 0, denominator: int = 1) -> float:
    return float((number + Fraction(numerator, denominator)) * INCH)


@pytest.mark.parametrize(
    ("metres", "style", "denominator", "text"),
    [
        (inches(36, 1, 2), "in", 16, '36-1/2"'),
        (inches(36), "in", 16, '36"'),
        (inches(0, 5, 16), "in", 16, '5/16"'),
        (-inches(0, 1, 4), "in", 16, '-1/4"'),
        (0.0, "in", 16, '0"'),
        (-0.0, "in", 16, '0"'),
        (-0.0005, "in", 16, '0"'),
        (inches(36, 31, 32), "in", 16, '37"'),
        (inches(36, 31, 32), "in", 32, '36-31/32"'),
        (inches(0, 1, 32), "in", 16, '1/16"'),
        (-inches(0, 1, 32), "in", 16, '-1/16"'),
        (inches(0, 3, 128), "in", 64, '1/32"'),
        (inches(0, 1, 32) - 1e-16, "in", 16, '1/16"'),  # float noise
        (inches(36, 1, 2), "in", 1, '37"'),
        (inches(36, 3, 8), "ft-in", 16, "3'-0 3/8\""),
        (inches(42, 1, 2), "ft-in", 16, "3'-6 1/2\""),
        (inches(36), "ft-in", 16, "3'-0\""),
        (inches(0, 3, 8), "ft-in", 16, "0'-0 3/8\""),
        (-inches(6), "ft-in", 16, "-0'-6\""),
        (inches(35, 31, 32), "ft-in", 16, "3'-0\""),
        (0.019, "mm", 16, "19 mm"),
        (inches(0, 1, 16), "mm", 16, "1.6 mm"),
        (-0.00125, "mm", 16, "-1.3 mm"),
        (-0.00004, "mm", 16, "0 mm"),
        (1.0, "mm", 16, "1000 mm"),
    ],
)
def test_format_length(metres: float, style: Any, denominator: int, text: str) -> None:
    assert text == format_length(metres, style, denominator)


@pytest.mark.parametrize(
    ("ratio", "style", "text"),
    [
        (1 / 48, "in/ft", "1/4 in/ft"),
        (-1 / 48, "in/ft", "-1/4 in/ft"),
        (1 / 8, "in/ft", "1-1/2 in/ft"),
        (1 / 12, "in/ft", "1 in/ft"),
        (0.02, "in/ft", "0.24 in/ft"),
        (0.0209, "in/ft", "0.25 in/ft"),
        (0.0, "in/ft", "0 in/ft"),
        (-1e-5, "in/ft", "0 in/ft"),
        (0.02, "%", "2 %"),
        (1 / 48, "%", "2.08 %"),
        (-0.00125, "%", "-0.13 %"),
        (1 / 48, "1:n", "1:48"),
        (0.021, "1:n", "1:47.6"),
        (-0.002, "1:n", "-1:500"),
        (0.4, "1:n", "1:2.5"),
        (0.0, "1:n", "level"),
        (1 / 48, "deg", "1.19°"),
        (1.0, "deg", "45°"),
    ],
)
def test_format_slope(ratio: float, style: Any, text: str) -> None:
    assert text == format_slope(ratio, style)


@pytest.mark.parametrize(
    ("write", "value", "style", "text"),
    [
        (format_volume, GALLON, "gal", "1 gal"),
        (format_volume, 1.5 * GALLON, "gal", "1.5 gal"),
        (format_volume, GALLON / 64, "gal", "2 fl oz"),
        (format_volume, 0.0, "gal", "0 gal"),
        (format_volume, 0.0038, "L", "3.8 L"),
        (format_volume, 0.000_012_34, "L", "12.3 mL"),
        (format_volume, 0.012_345, "L", "12.3 L"),
        (format_flow, 2.5 * GALLON / 60, "gpm", "2.5 gpm"),
        (format_flow, 0.0, "gpm", "0 gpm"),
        (format_flow, 0.000_16, "L/min", "9.6 L/min"),
        (format_mass, 80 * LB, "lb", "80 lb"),
        (format_mass, 36.0, "kg", "36 kg"),
        (format_mass, 1234.5, "kg", "1235 kg"),
        (format_mass, 0.012_34, "kg", "0.0123 kg"),
    ],
)
def test_format_volume_flow_and_mass(write: Callable[..., str], value: float, style: str, text: str) -> None:
    assert text == write(value, style)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        *((0, "0 s"), (0.34, "0.3 s"), (9.96, "10 s"), (45.5, "46 s"), (59.4, "59 s"), (59.5, "1 min")),
        *((110, "1 min 50 s"), (120, "2 min"), (3599.4, "59 min 59 s"), (3599.6, "1 h"), (3629, "1 h")),
        *((3630, "1 h 1 min"), (7500, "2 h 5 min"), (90_000, "25 h")),
    ],
)
def test_format_duration(seconds: float, text: str) -> None:
    assert text == format_duration(seconds)


@given(st.floats(0, 1e6))
def test_duration_round_trip(seconds: float) -> None:
    text = format_duration(seconds)
    step = 0.1 if seconds < 9.95 else 1 if seconds < 3599.5 else 60
    assert abs(parse_duration(text).value - seconds) <= step / 2 + 1e-9
    assert text == format_duration(parse_duration(text).value)


@pytest.mark.parametrize("seconds", [-1, math.nan, math.inf])
def test_only_a_duration_is_written(seconds: float) -> None:
    with pytest.raises(ValueError, match=r"is not negative|only a finite number"):
        format_duration(seconds)


@pytest.mark.parametrize("write", [format_length, format_slope, format_volume, format_flow, format_mass])
def test_only_finite_numbers_and_known_styles_are_written(write: Callable[..., str]) -> None:
    for number in (math.nan, math.inf, -math.inf):
        with pytest.raises(ValueError, match="only a finite number can be written"):
            write(number)
    with pytest.raises(ValueError, match="is written in style"):
        write(1.0, "furlong")


@pytest.mark.parametrize("denominator", [0, 3, 10, 128, -16])
def test_a_tape_has_no_other_divisions(denominator: int) -> None:
    with pytest.raises(ValueError, match="a tape is divided into 2nds to 64ths"):
        format_length(1.0, "in", denominator)


METRES = st.floats(-100, 100)
DENOMINATORS = st.sampled_from([2, 4, 8, 16, 32, 64])


@given(METRES, st.sampled_from(["in", "ft-in"]), DENOMINATORS)
def test_length_round_trip_in_trade_units(metres: float, style: Any, denominator: int) -> None:
    text = format_length(metres, style, denominator)
    read = parse_length(text).value
    assert abs(read - metres) <= float(INCH / denominator / 2) + 1e-12
    assert text == format_length(read, style, denominator)


@given(METRES)
def test_length_round_trip_in_millimetres(metres: float) -> None:
    text = format_length(metres, "mm")
    assert abs(parse_length(text).value - metres) <= 0.000_05 + 1e-12
    assert text == format_length(parse_length(text).value, "mm")


@given(st.floats(-1, 1), st.sampled_from([("in/ft", 0.005 / 12), ("%", 0.000_05)]))
def test_slope_round_trip(ratio: float, form: tuple[Any, float]) -> None:
    style, half_step = form
    text = format_slope(ratio, style)
    assert abs(parse_slope(text).value - ratio) <= half_step + 1e-12
    again = parse_slope(format_slope(parse_slope(text).value, style)).value
    assert again == pytest.approx(parse_slope(text).value, rel=1e-12)


@given(st.floats(1e-6, 1), st.sampled_from([1, -1]))
def test_slope_round_trip_as_ratio_and_angle(ratio: float, sign: int) -> None:
    run = parse_slope(format_slope(sign * ratio, "1:n")).value
    assert sign * run == pytest.approx(ratio, rel=0.006)
    angle = math.degrees(math.atan(parse_slope(format_slope(sign * ratio, "deg")).value))
    assert abs(angle - sign * math.degrees(math.atan(ratio))) <= 0.005 + 1e-9


@given(st.floats(1e-7, 1e3), st.sampled_from(["gal", "L"]))
def test_volume_round_trip(volume: float, style: Any) -> None:
    assert parse_volume(format_volume(volume, style)).value == pytest.approx(volume, rel=0.005)


@given(st.floats(1e-7, 1), st.sampled_from(["gpm", "L/min"]))
def test_flow_round_trip(flow: float, style: Any) -> None:
    assert parse_flow(format_flow(flow, style)).value == pytest.approx(flow, rel=0.005)


@given(st.floats(1e-4, 1e5), st.sampled_from(["lb", "kg"]))
def test_mass_round_trip(mass: float, style: Any) -> None:
    assert parse_mass(format_mass(mass, style)).value == pytest.approx(mass, rel=0.005)
