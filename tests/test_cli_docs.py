"""The pages on the command line say what the code does."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hand_made
import pytest
import surveys
import takeoffs
import ways_in

from drainward.cli import main
from drainward.cli.reference import commands_markdown
from drainward.job.model import Measure, What
from drainward.pocket.stage import dry_set_stage, set_stage, survey_stage
from drainward.validation import CHECKS

DOCS = Path(__file__).parents[1] / "docs"


def test_the_commands_page_is_fresh() -> None:
    assert commands_markdown() == (DOCS / "commands.md").read_text(), (
        "run: python -m drainward.cli.reference > docs/commands.md"
    )


def _keys(answer: Any) -> Iterator[str]:
    if isinstance(answer, dict):
        for key, value in answer.items():
            yield key
            yield from _keys(value)
    elif isinstance(answer, list):
        for item in answer:
            yield from _keys(item)


def _wrong_and_astray() -> list[Measure]:
    """One measure contradicts the others, one is not of the pocket, and blocking is missing: every list has a row."""
    measures = surveys.changed(surveys.survey(), What.WIDTH, 1.0, only=5)
    return [*measures, surveys.measure(What.WIDTH, surveys.WIDE, y=300.0, z=2.0)]


def test_every_key_is_explained(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    told = set(re.findall(r"`([a-z_0-9]+(?:[ -][a-z]+)*)`", (DOCS / "json.md").read_text()))
    monkeypatch.setattr("drainward.cli.validate.CHECKS", CHECKS[:1])
    main(["validate", "--json"])
    shown = set(_keys(hand_made.draft().as_json())) | set(_keys(json.loads(capsys.readouterr().out)))
    shown |= set(_keys(hand_made.water().as_json())) | set(_keys(ways_in.way_in(open_by=-0.1).as_json()))
    job = surveys.job(_wrong_and_astray(), (), surveys.SMALL)
    job = job.model_copy(update={"rules": job.rules.model_copy(update={"use": ("us-ada-2010", "practice")})})
    for stage in (survey_stage, dry_set_stage, set_stage):
        shown |= set(_keys(stage(job, "1").as_json()))
    shown |= set(_keys(takeoffs.building().as_json()))
    assert shown - told == set()
