"""Whether a bed carries its floor, at the command line: exit code, JSON, words."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from test_hold_support import job, taps

from drainward.cli.app import main
from drainward.job import write_job


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("hold") / "job"
    write_job(path, job(taps(), thickness=0.5))
    return path


def told(folder: Path, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    code = main(["check", str(folder), "--room", "1", *words, "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_support(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, answer = told(folder, capsys, "--stage", "support")
    assert (code, answer["verdict"], answer["do"], answer["taps"]["count"]) == (0, "meets", "accept", 60)
    assert main(["check", str(folder), "--room", "1", "--stage", "support"]) == 0
    words = capsys.readouterr().out
    assert "60 taps, 0 hollow; 0 presses." in words
    assert "Take care" in words
