"""Equivalent age: exact on steps and ramps, and never shorter than the hours that passed over 70 °F."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import exp1

from drainward.hold.cure import KELVIN, LAWS, REFERENCE, History, Law, age, when

HOUR = 3600.0
TEMPERATURES = st.floats(-20, 50)


def steady(fahrenheit: float) -> History:
    return History((0.0,), ((fahrenheit - 32) / 1.8,))


def primitive(q: float, kelvin: float) -> float:
    """Of exp(-q / T): T exp(-q / T) - q E1(q / T)."""
    return kelvin * math.exp(-q / kelvin) - q * float(exp1(q / kelvin))


@pytest.mark.parametrize("law", [law for law in LAWS if law.datum is None])
@pytest.mark.parametrize(("start", "end"), [(5.0, 30.0), (30.0, -5.0), (15.0, 16.0), (0.0, 60.0)])
def test_arrhenius_on_a_ramp_is_its_closed_form(law: Law, start: float, end: float) -> None:
    hours = 30 * HOUR
    a, b = start + KELVIN, end + KELVIN
    closed = math.exp(law.q / (REFERENCE + KELVIN)) * hours * (primitive(law.q, b) - primitive(law.q, a)) / (b - a)
    got = age(law, History((0.0, hours), (start, end)), hours, counted=False)
    assert got == pytest.approx(closed, rel=1e-9)


def test_nurse_saul_stops_under_its_datum() -> None:
    law = LAWS[0]
    ramp = History((0.0, 10 * HOUR), (-10.0, 10.0))
    assert age(law, ramp, 10 * HOUR) == pytest.approx(5 * HOUR * 5.0 / REFERENCE, rel=1e-12)
    assert when(law, History((0.0,), (-3.0,)), HOUR) is None


@pytest.mark.parametrize("law", LAWS)
def test_an_hour_over_seventy_counts_as_one(law: Law) -> None:
    assert when(law, steady(90), 72 * HOUR) == pytest.approx(72 * HOUR)
    assert age(law, steady(90), HOUR, counted=False) > HOUR
    half = History((0.0, 20 * HOUR), (REFERENCE - 10, REFERENCE + 10))
    cold = age(law, History((0.0, 10 * HOUR), (REFERENCE - 10, REFERENCE)), 10 * HOUR)
    assert age(law, half, 20 * HOUR) == pytest.approx(cold + 10 * HOUR, rel=1e-9)


@given(st.lists(TEMPERATURES, min_size=1, max_size=6), st.integers(0, len(LAWS) - 1), st.booleans())
def test_when_and_age_are_inverse(celsius: list[float], number: int, counted: bool) -> None:
    history, law = History(tuple(7 * HOUR * k for k in range(len(celsius))), tuple(celsius)), LAWS[number]
    time = when(law, history, 20 * HOUR, counted)
    if time is not None and time < 1e9:
        assert age(law, history, time, counted) == pytest.approx(20 * HOUR, rel=1e-6)


@given(st.lists(TEMPERATURES, min_size=2, max_size=5), st.floats(0, 15), st.integers(0, len(LAWS) - 1))
def test_warmer_is_never_younger(celsius: list[float], warmer: float, number: int) -> None:
    history = History(tuple(7 * HOUR * k for k in range(len(celsius))), tuple(celsius))
    until = 30 * HOUR
    assert age(LAWS[number], history.shifted(warmer), until) >= age(LAWS[number], history, until) - 1e-6
    assert age(LAWS[number], history, until) <= until + 1e-6


@pytest.mark.parametrize(("at", "celsius"), [((), ()), ((0.0,), (1.0, 2.0)), ((0.0, 0.0), (1.0, 2.0))])
def test_a_history_that_is_none(at: tuple[float, ...], celsius: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="histor"):
        History(at, celsius)
