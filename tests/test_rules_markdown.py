"""docs/rules.md is what the data say."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from drainward.rules import read_set, rule_set_ids
from drainward.rules.markdown import rules_markdown

PAGE = Path(__file__).parents[1] / "docs" / "rules.md"


def test_the_page_is_not_stale() -> None:
    assert rules_markdown() == PAGE.read_text(encoding="utf-8"), "run: python -m drainward.rules > docs/rules.md"


def test_every_row_stands_on_the_page_once() -> None:
    page = rules_markdown()
    for id in rule_set_ids():
        for row in read_set(id).rule:
            assert page.count(f"| `{row.id}` |") == 1


def test_the_command_writes_the_page() -> None:
    run = subprocess.run([sys.executable, "-m", "drainward.rules"], capture_output=True, check=True)
    assert rules_markdown() == run.stdout.decode("utf-8")
