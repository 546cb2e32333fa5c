"""The one evaluator: verdicts, words, doubts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.finding import Requirement, Verdict
from drainward.job.model import RuleChoice
from drainward.rules import evaluate_normal, evaluate_probability, load_rules

IN = 0.0254
BOOK = load_rules(
    RuleChoice(use=("us-plumbing-irc-2021", "us-plumbing-upc-2024", "us-ada-2010", "practice", "straightedge"))
)
RULES = {rule.requirement.id: rule.requirement for rule in BOOK.rules}
THRESHOLD = RULES["us-ada-2010/608.7-transfer"]
TRANSFER = RULES["us-ada-2010/608.2.1-width"]
REMEMBERED = RULES["us-ada-2010/608.2.3-entry"]


def test_a_finding_says_all_it_rests_on() -> None:
    finding = evaluate_normal(THRESHOLD, 0.4 * IN, 0.01 * IN, advice="Grind it.")
    assert finding.id == "us-ada-2010/608.7-transfer"
    assert finding.limit == "no more than 1/2 in (12.7 mm)"
    assert finding.source == "ADA Standards 2010 608.7 (seen), binds threshold, bevelled, rounded or vertical"
    assert (Verdict.MEETS, "Grind it.", "m") == (finding.verdict, finding.advice, finding.unit)


def test_a_failure_names_the_exceptions_to_weigh() -> None:
    finding = evaluate_normal(THRESHOLD, 1.0 * IN, 0.01 * IN)
    assert finding.verdict is Verdict.FAILS
    assert finding.advice.startswith("Exception to weigh: In an existing facility up to 2 in")


@pytest.mark.parametrize(
    ("id", "words"),
    [
        ("us-plumbing-irc-2021/P2709.1-least", "at least 1/4 in/ft (2.08 %, 1:48)"),
        ("us-ada-2010/305.2", "no more than 1:48 (2.08 %, 1/4 in/ft)"),
        ("us-ada-2010/609.4", "33 in to 36 in (838.2 mm to 914.4 mm)"),
        ("us-ada-2010/608.2.1-width", "exactly 36 in (914.4 mm), no tolerance stated"),
        ("us-ada-2010/608.6-temperature", "no more than 120 F (49 °C)"),
        ("us-ada-2010/609.8", "at least 250 lbf (1112 N)"),
        ("us-plumbing-upc-2024/408.7-area", "at least 1024 in2 (0.661 m2)"),
        ("us-plumbing-irc-2021/P2903.2-flow", "no more than 2.5 gpm (9.46 L/min)"),
        ("practice/spilled", "no more than 1/2 fl oz (14.8 mL)"),
        ("practice/puddle", 'no more than 3.5 mm (1/8")'),
        ("straightedge/1ft", 'no more than 1/16 in (1.6 mm) over 12" (304.8 mm)'),
    ],
)
def test_limits_in_both_systems(id: str, words: str) -> None:
    requirement = RULES[id]
    value = requirement.low if requirement.low is not None else requirement.high
    assert value is not None
    assert words == evaluate_normal(requirement, value, 0.001).limit


@pytest.mark.parametrize(("value", "leans"), [(62 * IN, "would meet"), (30 * IN, "would fail")])
def test_a_remembered_limit_never_decides(value: float, leans: str) -> None:
    finding = evaluate_normal(REMEMBERED, value, 0.1 * IN)
    assert finding.verdict is Verdict.NOT_PROVEN
    assert finding.advice == (
        f"Against this limit alone it {leans}, but the limit is only remembered: check section 608.2.3 of "
        "ADA Standards 2010 and list us-ada-2010/608.2.3-entry under rules.confirmed."
    )


def test_a_remembered_limit_is_named_even_where_the_reading_is_in_doubt() -> None:
    finding = evaluate_normal(REMEMBERED, 36 * IN, 0.1 * IN)
    assert "Besides, the limit is only remembered" in finding.advice


@pytest.mark.parametrize("id", ["us-plumbing-upc-2024/408.5-least-eighth", "us-plumbing-upc-2024/408.5-least-quarter"])
@pytest.mark.parametrize("value", [0.001, 0.04])
def test_neither_side_of_a_conflict_decides(id: str, value: float) -> None:
    finding = evaluate_normal(RULES[id], value, 1e-4)
    assert finding.verdict is Verdict.NOT_PROVEN
    assert "the limit is disputed" in finding.advice


def test_a_size_without_tolerance_can_fail_but_not_be_proven() -> None:
    right = evaluate_normal(TRANSFER, 36 * IN, 0.001 * IN)
    assert (Verdict.NOT_PROVEN, None) == (right.verdict, right.probability)
    assert "ask the owner and the building official" in right.advice
    assert "which tolerance is accepted" in right.advice
    for near in (35.75, 36.25):
        assert Verdict.NOT_PROVEN is evaluate_normal(TRANSFER, near * IN, 0.01 * IN).verdict
    assert Verdict.FAILS is evaluate_normal(TRANSFER, 38 * IN, 0.1 * IN).verdict


def test_a_probability_from_samples_is_taken_as_it_is() -> None:
    pond = RULES["practice/pond"]
    finding = evaluate_probability(pond, 0.002, 0.0003, (0.0014, 0.0027), 0.02, advice="Low spot by the drain.")
    assert (Verdict.FAILS, 0.02, (0.0014, 0.0027)) == (finding.verdict, finding.probability, finding.interval)
    assert Verdict.NOT_PROVEN is evaluate_probability(pond, 0.002, 0.0003, None, 0.02, risk=0.01).verdict


@pytest.mark.parametrize("probability", [-0.01, 1.01, float("nan")])
def test_a_probability_outside_its_range_is_refused(probability: float) -> None:
    with pytest.raises(ValueError, match="a probability lies within 0 to 1"):
        evaluate_probability(THRESHOLD, 0.01, 0.001, None, probability)


@given(st.floats(0.0, 0.1), st.floats(1e-5, 1e-2), st.sampled_from(sorted(RULES)))
def test_a_risk_nearer_to_none_never_decides_more(value: float, u: float, id: str) -> None:
    requirement: Requirement = RULES[id]
    strict = evaluate_normal(requirement, value, u, risk=0.01).verdict
    assert strict in {Verdict.NOT_PROVEN, evaluate_normal(requirement, value, u, risk=0.05).verdict}
