"""The pages on the command line say what the code does."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hand_made
import pytest

from drainward.cli import main
from drainward.cli.reference import commands_markdown
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


def test_every_key_is_explained(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    told = set(re.findall(r"`([a-z_0-9]+)`", (DOCS / "json.md").read_text()))
    monkeypatch.setattr("drainward.cli.validate.CHECKS", CHECKS[:1])
    main(["validate", "--json"])
    shown = set(_keys(hand_made.draft().as_json())) | set(_keys(json.loads(capsys.readouterr().out)))
    shown |= set(_keys(hand_made.water().as_json()))
    assert shown - told == set()
