"""The decision rule against JCGM 106, its symmetries, and what an overall verdict is."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.finding import Certainty, Finding, Verdict, conformance, decide, overall

numbers = st.floats(-1e3, 1e3)
spreads = st.floats(1e-3, 1e3)


@pytest.mark.parametrize(
    ("value", "u", "low", "high", "published"),
    [
        # JCGM 106:2012, 7.3.3 example 1, one-sided upper limit, V (from memory)
        (-5.47, 0.05, None, -5.40, 0.92),
        # JCGM 106:2012, 7.3.3 example 2, one-sided lower limit, kPa (from memory)
        (509.7, 8.6, 490.0, None, 0.99),
        # JCGM 106:2012, 7.4, two-sided, mm2/s (from memory)
        (13.6, 1.8, 12.5, 16.3, 0.66),
    ],
)
def test_conformance_of_the_guide(
    value: float, u: float, low: float | None, high: float | None, published: float
) -> None:
    assert published == round(conformance(value, u, low, high), 2)


@given(numbers, spreads, numbers)
def test_both_sides_of_a_limit_add_to_one(value: float, u: float, limit: float) -> None:
    assert math.isclose(1.0, conformance(value, u, limit, None) + conformance(value, u, None, limit))


@given(numbers, spreads, numbers, numbers)
def test_mirrored_problem_has_the_same_probability(value: float, u: float, a: float, b: float) -> None:
    low, high = min(a, b), max(a, b)
    mirrored = conformance(-value, u, -high, -low)
    assert math.isclose(mirrored, conformance(value, u, low, high), abs_tol=1e-12)


@given(numbers, spreads, numbers, st.floats(0, 1e3))
def test_a_wider_limit_is_never_harder_to_meet(value: float, u: float, high: float, more: float) -> None:
    assert conformance(value, u, None, high) <= conformance(value, u, None, high + more)


@pytest.mark.parametrize("u", [0.0, -1.0, math.nan])
def test_conformance_refuses_an_uncertainty_that_is_none(u: float) -> None:
    with pytest.raises(ValueError, match="a standard uncertainty is positive"):
        conformance(1.0, u, None, 2.0)


@pytest.mark.parametrize(
    ("probability", "certainty", "verdict"),
    [
        (0.95, Certainty.SEEN, Verdict.MEETS),
        (0.949, Certainty.SEEN, Verdict.NOT_PROVEN),
        (0.05, Certainty.SECONDARY, Verdict.FAILS),
        (0.051, Certainty.LOCAL, Verdict.NOT_PROVEN),
        (1.0, Certainty.MEMORY, Verdict.NOT_PROVEN),
        (0.0, Certainty.MEMORY, Verdict.NOT_PROVEN),
    ],
)
def test_verdict_at_five_percent_risk(probability: float, certainty: Certainty, verdict: Verdict) -> None:
    assert verdict is decide(probability, certainty)


@pytest.mark.parametrize(
    ("verdicts", "expected"),
    [
        ([Verdict.MEETS, Verdict.MEETS], Verdict.MEETS),
        ([Verdict.MEETS, Verdict.NOT_PROVEN], Verdict.NOT_PROVEN),
        ([Verdict.NOT_PROVEN, Verdict.FAILS], Verdict.FAILS),
        ([], Verdict.NOT_PROVEN),
    ],
)
def test_overall_is_the_worst(verdicts: list[Verdict], expected: Verdict) -> None:
    assert expected is overall(verdicts)


def test_json_of_a_finding_holds_no_number_that_json_cannot() -> None:
    finding = Finding("a", "b", math.inf, math.nan, "m", "c", 0.5, Verdict.MEETS, "d", "e", (0.0, math.inf))
    row = json.loads(json.dumps(finding.as_json(), allow_nan=False))
    assert (None, None, [0.0, None], "meets") == (row["value"], row["u"], row["interval"], row["verdict"])
