"""`drainward card`: the sheet of one room, in the language asked for, and what is refused."""

from __future__ import annotations

import json
import shutil
from datetime import datetime
from pathlib import Path

import pypdf
import pytest
from surveys import job, survey

from drainward.cli import main
from drainward.job import write_job


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("card") / "job"
    write_job(made, job(survey(room="A/1"), (), rooms="A/1 bare"))
    return made


def text(path: Path) -> str:
    (page,) = pypdf.PdfReader(path).pages
    return " ".join(page.extract_text().split())


def test_a_surveyed_room_has_its_shims(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["card", str(folder), "--room", "a/1"]) == 0
    assert capsys.readouterr().out == "card-A-1.pdf\n"
    assert 'left 1, 3/4" 1/4"' in text(tmp_path / "card-A-1.pdf")


def test_the_card_has_the_times_of_the_plan_where_to_read_and_braces(folder: Path, tmp_path: Path) -> None:
    job_folder = tmp_path / "job"
    shutil.copytree(folder, job_folder)
    file = job_folder / "job.toml"
    file.write_text(file.read_text().replace('use = ["practice"]', 'use = ["us-plumbing-irc-2021", "practice"]'))
    assert main(["plan", str(job_folder), "--on", "2026-03-09", "--seconds", "1"]) == 0
    path = tmp_path / "card.pdf"
    assert main(["card", str(job_folder), "--room", "A/1", "-o", str(path)]) == 0
    told = text(path)
    (row,) = [
        line.split(",")
        for line in (job_folder / "schedule.csv").read_text().splitlines()
        if line.startswith("A/1,") and ",bed and set," in line
    ]
    start = datetime.fromisoformat(row[5])
    assert f"Begin {start:%a} {start.day} {start:%b}, {start.hour % 12 or 12}:{start:%M %p}" in told
    assert "Every fall from 1/4 in/ft to 1/2 in/ft." in told
    assert "× post 2x4" in told and "× padded foot" in told
    assert "Not known yet" not in told.split("Draft check")[1]
    assert "72 h at least" in told


def test_a_bare_room_in_spanish_as_json(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "x.pdf"
    assert main(["card", str(folder), "--room", "bare", "--language", "es", "-o", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["stage"], told["verdict"], told["card"]["language"]) == ("card", None, "es")
    assert "Todavía no se sabe" in text(path)


def test_a_language_without_a_catalogue_is_bad_use(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["card", str(folder), "--room", "bare", "--language", "xx"]) == 64
    assert 'no card in "xx"; there are en, es' in capsys.readouterr().err
