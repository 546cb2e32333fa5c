"""The README's first screen still runs as printed."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from drainward.cli import main
from drainward.demo import write_demo

ROOT = Path(__file__).parents[1]
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
README = (ROOT / "README.md").read_text()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_leads_somewhere(page: Path) -> None:
    links = [link for link in re.findall(r"\]\(([^)#]+)", page.read_text()) if ":" not in link]
    assert [link for link in links if not (page.parent / link).exists()] == []


def test_both_commands_are_targets_of_make() -> None:
    printed = re.findall(r"^    make (\w+)", README, re.MULTILINE)
    targets = re.findall(r"^(\w+):.*## ", (ROOT / "Makefile").read_text(), re.MULTILINE)
    assert printed == ["demo", "test"]
    assert set(printed) <= set(targets)


def test_the_picture_is_small() -> None:
    assert (ROOT / "docs" / "images" / "page.png").stat().st_size < 300_000


def test_the_example_comes_out_as_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Words and lines, not digits: those move with every change of the engine."""
    blocks = re.findall(r"```text\n(.*?)```", README, re.DOTALL)
    command, printed = blocks[0].split("\n", 1)
    words = shlex.split(command.removeprefix("$ .venv/bin/drainward "))
    assert "demo-job" in words
    folder = write_demo(tmp_path / "demo-job")
    code = main([str(folder) if word == "demo-job" else word for word in words])
    shown = capsys.readouterr()
    assert code == 65
    assert blocks[1].strip() in shown.err
    heads = ("Room 104", "Not proven:", "Read next:", "Greatest slope of the finished", "Readings not used", "  line ")
    for head in heads:
        assert _from(head, printed), f"the README does not print {head!r}"
        assert _from(head, shown.out), f"the command does not print {head!r}"
    assert _from("  line ", printed).split(":")[0] == _from("  line ", shown.out).split(":")[0]


def _from(head: str, text: str) -> str:
    return next((line for line in text.splitlines() if line.startswith(head)), "")
