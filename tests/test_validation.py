"""The registry of outside checks: each passes, each can fail, each says where its value stands; the page is fresh."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from drainward.finding import Certainty
from drainward.validation import CHECKS, Check, run_check, validation_markdown

PAGE = Path(__file__).parents[1] / "docs" / "validation.md"


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_check_passes_and_can_fail(check: Check) -> None:
    outcome = run_check(check)
    assert outcome.passed is not None, outcome.reason
    assert outcome.passed, f"got {outcome.got}, expected {check.expected} within {check.tolerance}"
    beyond = 2 * check.tolerance + 1e-9 * abs(check.expected) + 1e-12
    for wrong in (check.expected + beyond, check.expected - beyond):
        assert run_check(replace(check, expected=wrong, compute=lambda: outcome.got)).passed is False


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_check_is_tight_and_says_what_it_is_held_against(check: Check) -> None:
    assert check.tolerance >= 0
    assert check.expected == 0 or check.tolerance <= 0.015 * abs(check.expected)
    assert len(check.source) > 8
    assert check.certainty is not Certainty.LOCAL
    assert "/" in check.id


def test_ids_are_unique_and_topics_stand_together() -> None:
    ids = [check.id for check in CHECKS]
    assert len(set(ids)) == len(ids)
    topics = [check.topic for check in CHECKS]
    assert sum(a != b for a, b in pairwise(topics)) == len(set(topics)) - 1


def test_a_missing_library_is_a_skip_with_its_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drainward.validation.check.find_spec", lambda name: None)
    check = replace(CHECKS[0], needs="scikit-image")
    outcome = run_check(check)
    assert outcome.passed is None
    assert outcome.reason == "scikit-image is not installed (it comes with the development extras)"


def test_a_value_that_is_no_number_fails() -> None:
    assert run_check(replace(CHECKS[0], compute=lambda: float("nan"))).passed is False


def test_page_is_fresh() -> None:
    assert validation_markdown(CHECKS) == PAGE.read_text(), "run: python -m drainward.validation > docs/validation.md"
