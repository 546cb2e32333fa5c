"""Written quantities: a table of forms, refusals word for word, round trips, and a units library as a witness."""

from __future__ import annotations

import datetime
import math
import pickle
from collections.abc import Callable
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from drainward.errors import QuantityError
from drainward.quantity import (
    Quantity,
    parse_area,
    parse_duration,
    parse_flow,
    parse_force,
    parse_length,
    parse_mass,
    parse_slope,
    parse_temperature,
    parse_volume,
)

INCH = Fraction(254, 10_000)  # NIST SP 811 (2008), appendix B.8: 2.54 E-02 m, exact


def inches(number: Fraction | int, numerator: int = 0, denominator: int = 1) -> float:
    return float((number + Fraction(numerator, denominator)) * INCH)


LENGTHS = [
    # inches
    ('36-1/2"', inches(36, 1, 2)),
    ('36 1/2"', inches(36, 1, 2)),
    ("36 1/2 in", inches(36, 1, 2)),
    ("36-1/2 in.", inches(36, 1, 2)),
    ("36-1/2 IN", inches(36, 1, 2)),
    ("36 1/2", inches(36, 1, 2)),
    ('36½"', inches(36, 1, 2)),
    ('36 ½"', inches(36, 1, 2)),
    ("36-½ in", inches(36, 1, 2)),
    ("36½", inches(36, 1, 2)),
    ('36\N{EN DASH}1/2"', inches(36, 1, 2)),
    ('36\N{NON-BREAKING HYPHEN}1/2"', inches(36, 1, 2)),
    ("36\N{NO-BREAK SPACE}1/2\N{NARROW NO-BREAK SPACE}in", inches(36, 1, 2)),
    ('36 1\N{FRACTION SLASH}2"', inches(36, 1, 2)),
    ('36³⁄₈"', inches(36, 3, 8)),
    ("5/16", inches(0, 5, 16)),
    ("8/16", inches(0, 1, 2)),
    ("63/64 in", inches(0, 63, 64)),
    ("⅜ in", inches(0, 3, 8)),
    ("¼", inches(0, 1, 4)),
    ("⅞\N{DOUBLE PRIME}", inches(0, 7, 8)),
    ('36"', inches(36)),
    ("36\N{RIGHT DOUBLE QUOTATION MARK}", inches(36)),
    ("36''", inches(36)),
    ("36\N{PRIME}\N{PRIME}", inches(36)),
    ("36.5 in", inches(36, 1, 2)),
    ('.5"', inches(0, 1, 2)),
    ("36 1/2 pulg", inches(36, 1, 2)),
    ('\N{ZERO WIDTH NO-BREAK SPACE} 36" ', inches(36)),
    # signs
    ('-1/4"', -inches(0, 1, 4)),
    ('\N{MINUS SIGN}1/4"', -inches(0, 1, 4)),
    ('\N{EN DASH} 1/4"', -inches(0, 1, 4)),
    ('+1/16"', inches(0, 1, 16)),
    ('-36-1/2"', -inches(36, 1, 2)),
    # feet and inches
    ("3'-0 3/8\"", inches(36, 3, 8)),
    ("3' - 0 3/8\"", inches(36, 3, 8)),
    ("5' 0-3/8\"", inches(60, 3, 8)),
    ("5 ft 3/8 in", inches(60, 3, 8)),
    ("5ft6in", inches(66)),
    ("5 ft. 6 in.", inches(66)),
    ("5 feet 6 inches", inches(66)),
    ("5 pies 6 pulgadas", inches(66)),
    ("5\N{PRIME}6\N{DOUBLE PRIME}", inches(66)),
    ("5\N{RIGHT SINGLE QUOTATION MARK} 6½\N{RIGHT DOUBLE QUOTATION MARK}", inches(66, 1, 2)),
    ("5'6''", inches(66)),
    ("5'-6", inches(66)),
    ("5' 6 1/2", inches(66, 1, 2)),
    ("6' 1/2\"", inches(72, 1, 2)),
    ("5'-0.5\"", inches(60, 1, 2)),
    ("0'-6\"", inches(6)),
    ("-3'-0 3/8\"", -inches(36, 3, 8)),
    ("5'", inches(60)),
    ("3 1/2 ft", inches(42)),
    ("3.5'", inches(42)),
    # metric
    ("19 mm", 0.019),
    ("19mm", 0.019),
    ("19 MM", 0.019),
    ("1.9 cm", 0.019),
    ("0.019 m", 0.019),
    ("0.019000000000000003 m", 0.019000000000000003),
    ("-1.5 mm", -0.0015),
    # nothing has the same size in every unit
    ("0", 0.0),
    ("-0.0", 0.0),
]

SLOPES = [
    ("1/4 in/ft", 1 / 48),
    ("1/4in/ft", 1 / 48),
    ("1/4 in / ft", 1 / 48),
    ("0.25 in/ft", 1 / 48),
    ('1/4"/ft', 1 / 48),
    ("¼\N{DOUBLE PRIME}/ft", 1 / 48),
    ("1/4\"/1'", 1 / 48),
    ('1/4" per ft', 1 / 48),
    ("1/4 in. per foot", 1 / 48),
    ("1/4 per ft", 1 / 48),
    ('1/4"/12"', 1 / 48),
    ('1/4":12"', 1 / 48),
    ('1/2" over 24"', 1 / 48),
    ("1-1/2 in/ft", 1 / 8),
    ("1/4:12", 1 / 48),
    ("1:48", 1 / 48),
    ("1 : 48", 1 / 48),
    ("1\N{RATIO}48", 1 / 48),
    ("-1:48", -1 / 48),
    ("2 %", 0.02),
    ("2%", 0.02),
    ("1/2 %", 0.005),
    ("\N{MINUS SIGN}2 %", -0.02),
    ("2 percent", 0.02),
    ("1.2°", math.tan(math.radians(1.2))),
    ("1.2\N{MASCULINE ORDINAL INDICATOR}", math.tan(math.radians(1.2))),
    ("1.2 deg", math.tan(math.radians(1.2))),
    ("-1.2 degrees", -math.tan(math.radians(1.2))),
    ("20 mm/m", 0.02),
    ("20 mm per m", 0.02),
    ("6 mm / 300 mm", 0.02),
    ("1:1", 1.0),
    ("level", 0.0),
    ("0", 0.0),
    ("0 %", 0.0),
]

LB, LBF, GALLON = 0.453_592_37, 4.448_221_615_260_5, 3.785_411_784e-3  # NIST SP 811 (2008), appendix B.8

OTHERS = [
    (parse_mass, "80 lb", 80 * LB, "kg"),
    (parse_mass, "80 lbs.", 80 * LB, "kg"),
    (parse_mass, "8 oz", LB / 2, "kg"),
    (parse_mass, "2 1/2 lb", 2.5 * LB, "kg"),
    (parse_mass, "36 Kg", 36.0, "kg"),
    (parse_mass, "250 g", 0.25, "kg"),
    (parse_duration, "72 h", 259_200.0, "s"),
    (parse_duration, "3 d", 259_200.0, "s"),
    (parse_duration, "1 1/2 days", 129_600.0, "s"),
    (parse_duration, "90 min", 5_400.0, "s"),
    (parse_duration, "30 s", 30.0, "s"),
    (parse_duration, "1 min 50 s", 110.0, "s"),
    (parse_duration, "1Min50Sec.", 110.0, "s"),
    (parse_duration, "2 h 5 min", 7_500.0, "s"),
    (parse_duration, "26 h 0 min 4.5 s", 93_604.5, "s"),
    (parse_duration, "1:50.4", 110.4, "s"),
    (parse_area, "4.2 sq in", 4.2 * 0.0254**2, "m2"),
    (parse_area, "4-1/2 sq. in.", 4.5 * 0.0254**2, "m2"),
    (parse_area, "4.2 in²", 4.2 * 0.0254**2, "m2"),
    (parse_area, "27 cm²", 0.0027, "m2"),
    (parse_area, "0.003 m2", 0.003, "m2"),
    (parse_flow, "2.5 gpm", 2.5 * GALLON / 60, "m3/s"),
    (parse_flow, "1 3/4 gal/min", 1.75 * GALLON / 60, "m3/s"),
    (parse_flow, "9.5 L/min", 0.0095 / 60, "m3/s"),
    (parse_flow, "0.16 L/s", 0.00016, "m3/s"),
    (parse_flow, "1.2 m³/h", 1.2 / 3600, "m3/s"),
    (parse_force, "300 lbf", 300 * LBF, "N"),
    (parse_force, "250 lb", 250 * LBF, "N"),
    (parse_force, "1112 N", 1112.0, "N"),
    (parse_force, "1.112 kN", 1112.0, "N"),
    (parse_volume, "1 gal", GALLON, "m3"),
    (parse_volume, "1/2 gal", GALLON / 2, "m3"),
    (parse_volume, "1 qt", GALLON / 4, "m3"),
    (parse_volume, "16 fl oz", GALLON / 8, "m3"),
    (parse_volume, "3.8 L", 0.0038, "m3"),
    (parse_volume, "250 mL", 0.000_25, "m3"),
    (parse_volume, "0.5 cu ft", 0.5 * 0.3048**3, "m3"),
    (parse_volume, "0.5 ft³", 0.5 * 0.3048**3, "m3"),
    (parse_volume, "1 yd3", 0.9144**3, "m3"),
    (parse_volume, "0", 0.0, "m3"),
    (parse_temperature, "68 °F", 20.0, "°C"),
    (parse_temperature, "-40 F", -40.0, "°C"),
    (parse_temperature, "20 °C", 20.0, "°C"),
]


@pytest.mark.parametrize(("text", "value"), LENGTHS)
def test_length(text: str, value: float) -> None:
    assert parse_length(text) == Quantity(value, "m", text)


@pytest.mark.parametrize(("text", "value"), SLOPES)
def test_slope(text: str, value: float) -> None:
    read = parse_slope(text)
    assert (read.unit, read.written) == ("ratio", text)
    assert value == pytest.approx(read.value, rel=1e-15, abs=0)


@pytest.mark.parametrize(("parse", "text", "value", "unit"), OTHERS)
def test_other_kinds(parse: Callable[[str], Quantity], text: str, value: float, unit: str) -> None:
    read = parse(text)
    assert (read.unit, read.written) == (unit, text)
    assert value == pytest.approx(read.value, rel=1e-14, abs=0)


@pytest.mark.parametrize(
    ("text", "default", "value"),
    [
        ("19", "mm", 0.019),
        ("36.5", "in", inches(36, 1, 2)),
        ("36 1/2", "in", inches(36, 1, 2)),
        ("5/16", None, inches(0, 5, 16)),
        ("19 mm", "in", 0.019),
        ("3'-6\"", "mm", inches(42)),
        ("-19", " MM ", -0.019),
    ],
)
def test_default_is_the_unit_of_a_bare_length(text: str, default: str | None, value: float) -> None:
    assert parse_length(text, default).value == value


@pytest.mark.parametrize(
    ("default", "value"),
    [("ratio", 0.25), ("%", 0.0025), ("deg", math.tan(math.radians(0.25))), ("in/ft", 0.25 / 12), ("mm/m", 0.00025)],
)
def test_default_is_the_unit_of_a_bare_slope(default: str, value: float) -> None:
    assert value == pytest.approx(parse_slope("0.25", default).value, rel=1e-15)
    assert value == pytest.approx(-parse_slope("-.25", default).value, rel=1e-15)


def test_bare_fraction_with_inches_per_foot_as_default() -> None:
    assert parse_slope("1/4", "in/ft").value == 1 / 48


DATE = (
    "looks like a date: a spreadsheet seems to have turned a fraction into a date; "
    "format the column as text and write the fraction again"
)
TIME = (
    "looks like a time of day: a spreadsheet seems to have turned a ratio into a time; "
    "format the column as text and write the ratio again"
)
DAY = (
    "has no unit and looks like the number of a day: a spreadsheet seems to have turned a fraction into a date; "
    "format the column as text and write the length again, with its unit"
)
NO_NUMBER = "holds no number that is understood; expected one such as 36, 36.5, 5/16 or 36-1/2"
NO_LENGTH = """is not a length; expected one such as 36-1/2", 3'-0 3/8" or 19 mm"""
ONE_UNIT = (
    """is not one number with one unit (in, ft, mm, cm, m); expected a length such as 36-1/2", 3'-0 3/8" or 19 mm"""
)
COMMA = "has a comma; write a decimal point, and no mark between thousands"
NO_UNIT = "has no unit; write which one it is: in, ft, mm, cm, m"
IMPROPER = "has an improper fraction; "
TAPE = "a tape reads in 2nds, 4ths, 8ths to 64ths"

REFUSED_LENGTHS = [
    # what spreadsheets make of fractions
    ("3-Apr", None, f"{DATE}; perhaps 3/4 was typed"),
    ("3-abr", None, f"{DATE}; perhaps 3/4 was typed"),
    ("Apr-3", None, f"{DATE}; perhaps 3/4 was typed"),
    ("Mar-64", None, f"{DATE}; perhaps 3/64 was typed"),
    ("16-May", None, f"{DATE}; perhaps 5/16 was typed"),
    ("2026-03-04", None, DATE),
    ("2026-03-04T00:00:00", None, DATE),
    ("5/16/2026", None, DATE),
    ("5/16/26", None, DATE),
    ("16.5.2026", None, DATE),
    ("5-16-26", None, DATE),
    ("05/16", None, DATE),
    ("3/04", None, DATE),
    ("2026-03-04 00:00:00", None, DATE),
    (str(datetime.datetime(2026, 5, 16)), None, DATE),  # noqa: DTZ001
    (str(datetime.date(2026, 5, 16)), None, DATE),
    ("May 16", None, f"{DATE}; perhaps 5/16 was typed"),
    ("16 mayo 2026", None, DATE),
    ("Saturday, May 16, 2026", None, DATE),
    ("43894", None, DAY),
    ("43894", "in", DAY),
    ("43894.0", "mm", DAY),
    ("23377", "in", DAY),  # 1 January 1964: what 1/64 becomes
    # 36½ that lost its shape
    ("361/2", None, IMPROPER + "if 36 and 1/2 is meant, write 36-1/2"),
    ('3611/16"', None, IMPROPER + "if 36 and 11/16 is meant, write 36-11/16"),
    ("3/2", None, IMPROPER + "write the whole number first, then the rest, such as 1-1/4"),
    ("16/16 in", None, IMPROPER + "write the whole number first, then the rest, such as 1-1/4"),
    ("36 3/2 in", None, IMPROPER + "write the whole number first, then the rest, such as 1-1/4"),
    # no fraction of a tape
    ('1/3"', None, f"has the fraction 1/3; {TAPE}"),
    ("⅓", None, f"has the fraction 1/3; {TAPE}"),
    ("36 5/10 in", None, f"has the fraction 5/10; {TAPE}"),
    ("1/128 in", None, f"has the fraction 1/128; {TAPE}"),
    # which unit?
    ("19", None, NO_UNIT),
    ("36.5", None, NO_UNIT),
    ("12000", None, NO_UNIT),
    ("5/16", "mm", 'is a fraction where mm are expected; write the unit, such as 5/16"'),
    ("6 1/2", "ft", 'is a fraction where ft are expected; write the unit, such as 6 1/2"'),
    ("5/16 mm", None, "has a trade fraction with mm; write a decimal, or check the unit"),
    ("12 furlong", None, ONE_UNIT),
    ("1 m 20 cm", None, ONE_UNIT),
    ("1e3 mm", None, ONE_UNIT),
    ("36 in in", None, ONE_UNIT),
    ("36 in?", None, ONE_UNIT),
    ("36\"'", None, ONE_UNIT),
    ("12 in/ft", None, ONE_UNIT),
    # feet and inches
    ("6' 1/2", None, "may be a part of a foot or of an inch; write 6'-0 1/2\" or 6 1/2 ft"),
    ("3' 14\"", None, "has 12 inches or more after the feet; write the inches alone, or feet with less than 12"),
    ("3.5' 2\"", None, "has feet that are not a whole number before inches; write such as 3'-6 1/2\""),
    ("3' 2'", None, "has something other than inches after the feet; write such as 3'-6 1/2\""),
    ("3 ft 20 mm", None, "has something other than inches after the feet; write such as 3'-6 1/2\""),
    # not a number
    ("1,5 mm", None, COMMA),
    ("1,234 mm", None, COMMA),
    ("1 234 mm", None, NO_NUMBER),
    ('3 - 1/2"', None, NO_NUMBER),
    ('36 -1/2"', None, NO_NUMBER),
    ('1/2/4"', None, NO_NUMBER),
    ('36.5 1/2"', None, NO_NUMBER),
    ('5."', None, NO_NUMBER),
    ("1.2.3 mm", None, NO_NUMBER),
    ("3-4 in", None, NO_NUMBER),
    ("1234567890 mm", None, NO_NUMBER),
    ('½½"', None, NO_NUMBER),
    ("½5", None, NO_NUMBER),
    ("1/0 in", None, NO_NUMBER),
    ("007/8", None, NO_NUMBER),
    ("", None, """is empty; expected a length such as 36-1/2", 3'-0 3/8" or 19 mm"""),
    ("\N{NO-BREAK SPACE}", None, """is empty; expected a length such as 36-1/2", 3'-0 3/8" or 19 mm"""),
    ("abc", None, NO_LENGTH),
    ("nan in", None, NO_LENGTH),
    ("~36 in", None, NO_LENGTH),
    ("--5 in", None, NO_LENGTH),
    ("(5 in)", None, NO_LENGTH),
    ('"', None, NO_LENGTH),
    ("-", None, NO_LENGTH),
    ("\N{ARABIC-INDIC DIGIT THREE} in", None, NO_LENGTH),
    ("1:48", None, ONE_UNIT),
    ("19", "furlong", None),
]


@pytest.mark.parametrize(("text", "default", "expected"), REFUSED_LENGTHS)
def test_length_refused(text: str, default: str | None, expected: str | None) -> None:
    with pytest.raises(QuantityError) as refusal:
        parse_length(text, default)
    if expected is None:
        assert (default, ONE_UNIT) == (refusal.value.text, refusal.value.expected)
    else:
        assert f'"{text}" {expected}' == str(refusal.value)


@pytest.mark.parametrize(
    ("text", "default", "expected"),
    [
        ("", None, "is empty; expected a slope such as 1/4 in/ft, 1:48, 2 % or 1.2°"),
        ("0.02", None, "has no unit; write such as 1/4 in/ft, 1:48, 2 % or 1.2°"),
        ("1/4", None, "may be inches per foot or a ratio; write such as 1/4 in/ft or 1:48"),
        ("1/48", "ratio", "may be inches per foot or a ratio; write such as 1/4 in/ft or 1:48"),
        ("1/48", "in/ft", f"has the fraction 1/48; {TAPE}"),
        ("48:1", None, "is steeper than 1:1; a slope is written rise to run, such as 1:48"),
        ("2", "ratio", "is steeper than 1:1; a slope is written rise to run, such as 1:48"),
        ("1:0", None, "has a run of 0; a slope is written rise to run, such as 1:48"),
        ('1/4" / 0"', None, "has a run of 0; a slope is written rise to run, such as 1:48"),
        ("50°", None, "is steeper than 45°; expected the angle from level, such as 1.2°"),
        ("1,2°", None, COMMA),
        ("01:48", None, TIME),
        ("1:48:00", None, TIME),
        ("01:48:00", None, TIME),
        ("1:48 AM", None, TIME),
        ("3-Apr", None, f"{DATE}; perhaps 3/4 was typed"),
        ("43894", "in/ft", "looks like the number of a day, not a slope; format the column as text"),
        ("1 in 48", None, "is not a slope; expected one such as 1/4 in/ft, 1:48, 2 % or 1.2°"),
        ("1/4 in", None, "is not a slope; expected one such as 1/4 in/ft, 1:48, 2 % or 1.2°"),
        ("1° 12'", None, "is not a slope; expected one such as 1/4 in/ft, 1:48, 2 % or 1.2°"),
        ("1:-48", None, "is not a slope; expected one such as 1/4 in/ft, 1:48, 2 % or 1.2°"),
        ("1/4 in/ft/ft", None, ONE_UNIT),
        ('1/4":12', None, NO_UNIT),
        ("2 per ft", None, NO_UNIT),
        ("1:48:2", None, "is not a slope; expected one such as 1/4 in/ft, 1:48, 2 % or 1.2°"),
    ],
)
def test_slope_refused(text: str, default: str | None, expected: str) -> None:
    with pytest.raises(QuantityError) as refusal:
        parse_slope(text, default)
    assert f'"{text}" {expected}' == str(refusal.value)


def test_slope_default_must_be_a_unit_of_slope() -> None:
    with pytest.raises(QuantityError) as refusal:
        parse_slope("2", "furlong")
    assert '"furlong" is no unit of a slope; expected "in/ft", "mm/m", "%", "deg" or "ratio"' == str(refusal.value)


@pytest.mark.parametrize(
    ("parse", "text", "expected"),
    [
        (parse_mass, "-5 lb", "is less than any mass can be; expected one such as 80 lb or 36 kg"),
        (parse_mass, "80", "has no unit; write which one it is: lb, oz, kg, g"),
        (parse_mass, "1/2 kg", "has a trade fraction with kg; write a decimal, or check the unit"),
        (parse_mass, "", "is empty; expected a mass such as 80 lb or 36 kg"),
        (
            parse_mass,
            "80 mm",
            "is not one number with one unit (lb, oz, kg, g); expected a mass such as 80 lb or 36 kg",
        ),
        (
            parse_duration,
            "5 m",
            "is not one number with one unit (s, min, h, d); expected a duration such as 72 h, 90 min or 1 min 50 s",
        ),
        (
            parse_volume,
            "8 oz",
            (
                "is not one number with one unit (gal (US), qt, pt, fl oz, L, mL, ft3, in3, yd3, m3); "
                "expected a volume such as 1 gal or 3.8 L"
            ),
        ),
        (
            parse_force,
            "100 kg",
            "is not one number with one unit (lbf, N, kN); expected a force such as 250 lbf or 1112 N",
        ),
        (parse_duration, "1:50", "may be hours, minutes or seconds; write such as 1 min 50 s"),
        (parse_duration, "01:50:00", "may be hours, minutes or seconds; write such as 1 min 50 s"),
        *(
            (parse_duration, text, "is not clear; write the larger unit first and whole, such as 1 min 50 s")
            for text in ("1 min 60 s", "1.5 min 3 s", "50 s 1 min", "1 h 1 h", "1 d 1.5 h 3 min")
        ),
        (
            parse_area,
            "36² in",
            (
                "is not one number with one unit (sq in, sq ft, mm2, cm2, m2); expected an area such as "
                "4.2 sq in or 27 cm2"
            ),
        ),
        (parse_area, "-1 cm2", "is less than any area can be; expected one such as 4.2 sq in or 27 cm2"),
        (
            parse_flow,
            "2.5 gal",
            (
                "is not one number with one unit (gpm (US), L/min, L/s, m3/h, m3/s); expected a flow "
                "such as 2.5 gpm or 9.5 L/min"
            ),
        ),
        (parse_temperature, "0", "has no unit; write which one it is: °F, °C"),
        (parse_temperature, "-300 °C", "is less than any temperature can be; expected one such as 68 °F or 20 °C"),
    ],
)
def test_other_kinds_refused(parse: Callable[[str], Quantity], text: str, expected: str) -> None:
    with pytest.raises(QuantityError) as refusal:
        parse(text)
    assert f'"{text}" {expected}' == str(refusal.value)


@pytest.mark.parametrize(("text", "seconds"), [("1:50", 110.0), ("01:50", 110.0), ("0:45", 45.0), ("90:00", 5400.0)])
def test_a_stopwatch_shows_minutes_and_seconds(text: str, seconds: float) -> None:
    assert parse_duration(text, stopwatch=True).value == seconds
    for other in ("1:50:00", "1:75", "1:5", "1:50 pm", "-1:50"):
        with pytest.raises(QuantityError):
            parse_duration(other, stopwatch=True)


def test_refusal_keeps_its_parts_through_a_worker_process() -> None:
    with pytest.raises(QuantityError) as refusal:
        parse_length("19")
    again = pickle.loads(pickle.dumps(refusal.value))
    assert (again.text, again.expected) == ("19", NO_UNIT)


@given(st.integers(0, 200), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.booleans(), st.data())
def test_every_spelling_of_a_length_has_one_value(
    whole: int, numerator: int, denominator: int, below: bool, data: st.DataObject
) -> None:
    numerator %= denominator
    fraction = f"{numerator}/{denominator}" if numerator else ""
    if numerator and denominator <= 8:
        glyph = {(1, 2): "½", (1, 4): "¼", (2, 4): "½", (3, 4): "¾", (1, 8): "⅛", (3, 8): "⅜", (5, 8): "⅝", (7, 8): "⅞"}
        fraction = data.draw(st.sampled_from([fraction, glyph.get((numerator, denominator), fraction)]))
    joint = data.draw(st.sampled_from([" ", "-", "\N{NO-BREAK SPACE}", "\N{EN DASH}"])) if fraction else ""
    mark = data.draw(st.sampled_from(['"', " in", " in.", " inches", "\N{DOUBLE PRIME}", "''", " IN"]))
    sign = data.draw(st.sampled_from(["-", "\N{MINUS SIGN}"])) if below else ""
    feet, rest = divmod(whole, 12)
    foot = data.draw(st.sampled_from(["'", "' ", "'-", " ft ", "\N{PRIME} "]))
    expected = (-1 if below else 1) * inches(whole, numerator, denominator)
    assert expected == parse_length(f"{sign}{whole}{joint}{fraction}{mark}").value
    assert expected == parse_length(f"{sign}{feet}{foot}{rest}{joint}{fraction}{mark}").value


@given(
    st.one_of(st.text(), st.text(alphabet="0123456789/-.,:'\"½¼⅜ infmtd%°+\N{MINUS SIGN}\N{EN DASH}\N{DOUBLE PRIME}")),
    st.sampled_from([None, "in", "mm", "%", "lb"]),
)
@example("9" * 5000 + " in", None)
@example("1/" + "9" * 5000, None)
def test_any_text_is_read_finite_or_refused(text: str, default: str | None) -> None:
    for parse in (
        *(parse_length, parse_area, parse_slope, parse_mass, parse_duration),
        *(parse_force, parse_volume, parse_flow, parse_temperature),
    ):
        try:
            read = parse(text, default)
        except QuantityError:
            continue
        assert math.isfinite(read.value)
        assert text == read.written


WITNESS = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("parse", "unit", "si"),
    [
        (parse_length, "in", "m"),
        (parse_length, "ft", "m"),
        (parse_length, "mm", "m"),
        (parse_length, "cm", "m"),
        (parse_area, "in**2", "m**2"),
        (parse_area, "ft**2", "m**2"),
        (parse_area, "cm**2", "m**2"),
        (parse_area, "mm**2", "m**2"),
        (parse_flow, "gal/min", "m**3/s"),
        (parse_flow, "L/min", "m**3/s"),
        (parse_flow, "m**3/h", "m**3/s"),
        (parse_slope, "in/ft", ""),
        (parse_slope, "mm/m", ""),
        (parse_mass, "lb", "kg"),
        (parse_mass, "oz", "kg"),
        (parse_duration, "min", "s"),
        (parse_duration, "h", "s"),
        (parse_duration, "d", "s"),
        (parse_force, "lbf", "N"),
        (parse_force, "kN", "N"),
        (parse_volume, "gal", "m**3"),
        (parse_volume, "qt", "m**3"),
        (parse_volume, "pt", "m**3"),
        (parse_volume, "floz", "m**3"),
        (parse_volume, "L", "m**3"),
        (parse_volume, "mL", "m**3"),
        (parse_volume, "ft**3", "m**3"),
        (parse_volume, "in**3", "m**3"),
        (parse_volume, "yd**3", "m**3"),
    ],
)
def test_a_units_library_agrees_on_plain_conversions(parse: Callable[[str], Quantity], unit: str, si: str) -> None:
    ours = unit.replace("**", "").replace("floz", "fl oz")
    assert WITNESS.Quantity(7.25, unit).to(si).magnitude == pytest.approx(parse(f"7.25 {ours}").value, rel=1e-9)
    assert WITNESS.Quantity(7.26, unit).to(si).magnitude != pytest.approx(parse(f"7.25 {ours}").value, rel=1e-9)


def test_a_units_library_agrees_on_temperature() -> None:
    assert WITNESS.Quantity(75.5, "degF").to("degC").magnitude == pytest.approx(parse_temperature("75.5 °F").value)
