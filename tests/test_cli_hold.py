"""The stages fasten, brace, cure and support at the command line: exit codes, JSON, words, refusals."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from test_hold_support import job, taps

from drainward.cli.app import main
from drainward.job import SettingEvent, Work, write_job


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    placed = SettingEvent(id="b", room="1", what=Work.BED_PLACED, when=datetime(2026, 3, 3, 12))  # noqa: DTZ001
    path = tmp_path_factory.mktemp("hold") / "job"
    write_job(path, job(taps(), thickness=0.5).model_copy(update={"setting": (placed,)}))
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


def test_the_clock_stands_beside_the_cured_floor(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, young = told(folder, capsys, "--stage", "cure", "--at", "2026-03-04T12:00")
    assert (young["clock"]["now"][:16], young["clock_says"]) == ("2026-03-04T12:00", "")
    assert code == {"fails": 1, "not proven": 2}[young["verdict"]]
    assert {"cure/age"} <= {finding["id"] for finding in young["findings"]}
    _, before = told(folder, capsys, "--stage", "cure", "--at", "2026-03-01")
    assert before["clock"] is None
    assert "nobody wrote down when the bed" in before["clock_says"]
    assert main(["check", str(folder), "--room", "1", "--stage", "cure", "--at", "2026-03-04T12:00"]) == code
    assert "Until then braces stay on" in " ".join(capsys.readouterr().out.split())
    assert main(["check", str(folder), "--stage", "cure", "--at", "noon"]) == 64


def test_nothing_is_fastened_before_the_draft_check(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, answer = told(folder, capsys, "--stage", "fasten")
    assert (code, answer["findings"]) == (2, [])
    assert "read its floor first" in answer["says"]


def test_braces_for_an_ordinary_room_say_what_they_take_for_granted(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, answer = told(folder, capsys, "--stage", "brace")
    assert [brace["place"] for brace in answer["braces"]] == ["drain", "threshold"]
    assert any("8 ft ceiling is taken" in words for words in answer["assumed"])
    main(["check", str(folder), "--room", "1", "--stage", "brace"])
    assert "To cut" in capsys.readouterr().out
