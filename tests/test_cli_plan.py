"""`drainward plan`: what it prints, keeps, writes and refuses."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import plan_jobs
import pypdf
import pytest
from test_plan_calendar import read

from drainward.cli import main
from drainward.job import write_job

JSON_PAGE = Path(__file__).parents[1] / "docs/json.md"
FAST = ("--on", "2026-03-09", "--seconds", "1")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_job(tmp_path / "job", plan_jobs.job())
    return tmp_path / "job"


def test_the_head_tomorrows_lists_and_the_file(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(folder), *FAST]) == 0
    out = capsys.readouterr().out
    assert "meets: Done on " in out and "No room is late." in out
    assert "Proven: no plan ends" in out and "sets of braces in use at once, of 3." in out
    assert re.search(r"^  Crew A, 3 people", out, re.MULTILINE)
    assert "Tue 10 Mar 2026" in out or "Thu 12 Mar 2026" in out
    lines = (folder / "schedule.csv").read_text().splitlines()
    assert lines[0] == "room,floor,step,state,crew,start,end,inspector,due,note"
    assert lines[1].startswith(",,made,,,2026-03-09 00:00")
    assert {line.split(",")[0] for line in lines[3:]} == {"101", "102", "103", "201", "202", "203"}


def test_json_has_every_step_and_every_key_is_explained(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(folder), *FAST, "--what-if", "crew", "--json"]) == 0
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert (told["stage"], told["verdict"], told["room"]) == ("plan", "meets", None)
    assert [finding["id"] for finding in told["findings"]] == ["plan/due"]
    assert len(told["steps"]) == 6 * 4 + 1, "survey, block, test and look of six rooms, and one correction"
    assert [way["name"] for way in told["ways"]] == ["as planned", "one crew more"]
    known = set(re.findall(r"`([a-z_0-9]+)`", JSON_PAGE.read_text()))
    assert set(_keys(told)) - known == set()


def _keys(answer: Any) -> set[str]:
    """Names of an object's keys; what is named by a date, a room or a crew is data."""
    if isinstance(answer, list):
        return {key for item in answer for key in _keys(item)}
    if not isinstance(answer, dict):
        return set()
    named = {key: _keys(value) for key, value in answer.items()}
    return {key for key in named if re.fullmatch(r"[a-z_]+", key)} | {k for keys in named.values() for k in keys}


def test_a_plan_is_mended_and_what_moved_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(folder), *FAST]) == 0
    capsys.readouterr()
    rooms = (folder / "rooms.csv").read_text().replace("203,2,wide,2026-03-09", "203,2,wide,2026-03-23")
    (folder / "rooms.csv").write_text(rooms)
    assert main(["plan", str(folder), "--on", "2026-03-09", "--replan"]) == 0
    out = capsys.readouterr().out
    moved = out.split("What moved, and why")[1].split("\n\n")[0]
    assert set(re.findall(r"^(\d+): ", moved, re.MULTILINE)) == {"203"} and "ready later" in moved


def test_what_is_late_fails_only_where_nothing_could_help(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    soon = plan_jobs.MONDAY + timedelta(days=2)
    rooms = (
        (folder / "rooms.csv").read_text().replace("103,1,wide,2026-03-09,2026-04-06", f"103,1,wide,2026-03-09,{soon}")
    )
    (folder / "rooms.csv").write_text(rooms)
    assert main(["plan", str(folder), *FAST]) == 1
    out = capsys.readouterr().out
    assert "fails: Done on" in out and "1 room late." in out
    assert "Room 103: due Wed 11 Mar 2026" in out and "ready too late" in out


def test_calendars_parse_back_and_tell_a_phone_what_moved(folder: Path, tmp_path: Path) -> None:
    for _ in range(2):
        assert main(["plan", str(folder), *FAST, "--calendar", str(tmp_path / "ics")]) == 0
    steps = [line.split(",") for line in (folder / "schedule.csv").read_text().splitlines()[3:]]
    for crew in "AB":
        events = read((tmp_path / "ics" / f"crew-{crew}.ics").read_bytes())
        live = [event for event in events if event.get("STATUS", ("", ""))[1] != "CANCELLED"]
        assert len(live) == sum(crew in step[4].split(" + ") for step in steps)


def test_the_board_is_printed(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    assert main(["plan", str(folder), *FAST, "--pdf", str(path)]) == 0
    pages = [page.extract_text() for page in pypdf.PdfReader(path).pages]
    text = " ".join(" ".join(pages).split())
    assert "Made-up home" in text and "Done on" in text
    for words in ("Braces", "3 sets at hand", "Done, due", "Floor 1", "Floor 2", "203", "Crew A", "water test"):
        assert words in text, words


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("--replan",), "there is no schedule.csv in the job to replan"),
        (("--what-if", "people"), '"people" is no other way to work; expected crew, kits=10 or saturday'),
        (("--on", "soon"), ""),
    ],
)
def test_bad_use(folder: Path, capsys: pytest.CaptureFixture[str], asked: tuple[str, ...], says: str) -> None:
    assert main(["plan", str(folder), *asked]) == 64
    assert says in capsys.readouterr().err


def test_a_job_that_names_a_room_that_is_not_there_is_bad_input(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "job.toml").read_text()
    (folder / "job.toml").write_text(text.replace('102 = "2 h"', '112 = "2 h"'))
    assert main(["plan", str(folder), *FAST]) == 65
    assert 'job.toml, field "corrections.112": "112" is no room of this job (did you mean "1' in capsys.readouterr().err
