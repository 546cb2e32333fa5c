"""The words that page, paper and terminal share, word for word."""

from __future__ import annotations

import math
from dataclasses import replace

import hand_made
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.finding import Finding, Verdict
from drainward.floor.result import Ask, Mortar, Shim
from drainward.job.model import Instrument, Job
from drainward.report import words


def test_a_failing_floor_names_what_fails_and_how_to_mend_it() -> None:
    said = words.headline(hand_made.draft())
    assert said.says == "Fails: least fall toward the drain over 12 in; deepest standing water."
    assert said.todo == "Raise the front right, then fill under the low place."


def test_a_floor_not_proven_names_the_next_reading() -> None:
    said = words.headline(hand_made.draft(verdict=Verdict.NOT_PROVEN, findings=hand_made.findings()[3:]))
    assert said.says == "Not proven: threshold over the finished floor."
    assert said.todo == (
        'Read next: the gap under the level\'s free end, resting it 53-1/4" from the left, 11-3/4" from the back, '
        'free end 39-1/4" from the left, 31-1/2" from the back.'
    )


def test_a_floor_that_meets_claims_its_findings_and_no_more() -> None:
    said = words.headline(hand_made.draft(verdict=Verdict.MEETS, findings=hand_made.findings()[1:2]))
    assert said.says == "Meets: 1 finding, each within its limit."
    assert said.todo == ""
    assert "complian" not in said.says + said.todo


def test_a_limit_that_is_only_remembered_is_named_as_not_counted() -> None:
    remembered = replace(hand_made.findings()[3], decides=False)
    said = words.headline(hand_made.draft(verdict=Verdict.MEETS, findings=(hand_made.findings()[1], remembered)))
    assert said.says == "Meets: 1 finding, each within its limit."
    assert said.todo == "Not counted: 1 limit only remembered or disputed, to be confirmed."


def test_many_failures_are_counted() -> None:
    base = hand_made.findings()[0]
    many = tuple(Finding(str(k), f"Thing {k}", None, None, "m", "", 0.0, Verdict.FAILS, "", "") for k in range(5))
    said = words.headline(hand_made.draft(findings=(base, *many), mend=None))
    assert said.says == "Fails: least fall toward the drain over 12 in; thing 0; thing 1; and 3 more."
    assert said.todo == base.advice


@pytest.mark.parametrize(
    ("value", "u", "unit", "trade", "si"),
    [
        (0.0131, 0.0021, "ratio", "0.16 ± 0.03 in/ft", "1.31 ± 0.21 %"),
        (0.0042, 0.0009, "m", '5/32" ± 0.04 in', "4.2 ± 0.9 mm"),
        (0.9144, None, "m", '36"', "914.4 mm"),
        (0.02, 0.001, "m2", "31 ± 2 in²", "200 ± 10 cm²"),
        (3.785411784e-3, None, "m3", "1 gal", "3.79 L"),
        (3.785411784e-3, 5.9e-5, "m3", "1 gal ± 2 fl oz", "3.79 L ± 59 mL"),
        (1.5e-4, 5e-6, "m3/s", "2.38 ± 0.08 gpm", "9.0 ± 0.3 L/min"),
        (0.0, None, "m3/s", "0.00 gpm", "0.0 L/min"),
        (110.0, 5.0, "s", "1 min 50 s ± 5 s", "110 ± 5 s"),
        (45.0, None, "s", "45 s", ""),
        (49.0, 1.0, "degC", "120 ± 2 °F", "49.0 ± 1.0 °C"),
        (9.5, 0.25, "N", "9.5 ± 0.250 N", ""),
        (None, None, "m", "not known", ""),
        (math.nan, 0.1, "m", "not known", ""),
    ],
)
def test_values_in_trade_and_si(value: float | None, u: float | None, unit: str, trade: str, si: str) -> None:
    assert words.shown(value, u, unit) == words.Shown(trade, si)


def test_bands() -> None:
    assert words.band((0.009, 0.017), "ratio") == "0.11 to 0.20 in/ft"
    assert words.band((0.0025, 0.006), "m") == "0.10 to 0.24 in"
    assert words.band((1e-4, 2e-4), "m3/s") == "1.59 to 3.17 gpm"
    assert words.band((0.0, 3.785411784e-3), "m3") == "none to 1 gal"
    assert words.band((0.0, 1e-9), "m3") == ""
    assert words.band((45.0, 110.0), "s") == "45 s to 1 min 50 s"
    assert words.band((43.0, 49.0), "degC") == "109 to 120 °F"
    assert words.band(None, "m") == words.band((math.nan, 1.0), "m") == ""


@given(st.floats(0, 1))
def test_a_chance_is_never_rounded_to_certainty(probability: float) -> None:
    assert words.chance(probability) not in ("0 in 100", "100 in 100")


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("slope", 'the slope, with the level laid from 4" from the left, 4" from the back, to 24" from the left'),
        ("chord", 'the gap under the middle of a straightedge, laid from 4" from the left'),
    ],
)
def test_how_to_hold_the_tool(kind: str, expected: str) -> None:
    ask = Ask(kind, 0.1016, 0.1016, 0.6096, 0.1016, "", "")
    assert words.reading_words(ask).startswith(expected)


def test_a_spot_height_has_one_place() -> None:
    assert words.reading_words(Ask("height", 0.1016, 0.1016, None, None, "", "")) == (
        'the height of the spot 4" from the left, 4" from the back'
    )


def test_a_tool_by_its_name() -> None:
    level = Instrument(id="level-24", name="24 in level", length=0.61, u=0.0004)
    job = Job(name="x", instruments={"level-24": level})
    assert [words.tool_name(job, id) for id in ("level-24", "tape", "")] == ["24 in level", "tape", ""]


def test_a_sentence() -> None:
    assert [words.sentence(text) for text in ("it settles most", "Done.", "")] == ["It settles most.", "Done.", ""]


def test_mending_words() -> None:
    assert words.shim_words((Shim("front right", 1, 1, 2), Shim("back left", 0, 0, -1), Shim("x", 0, 0, 0))) == (
        'front right +2/16", back left -1/16"'
    )
    assert words.mortar_words(Mortar(0.3048, 0.3048, 0.0032, 0.02, 5.9e-5, "take out")) == (
        'take out up to 1/8" (2 fl oz) around 12" from the left, 12" from the back'
    )
