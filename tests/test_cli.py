"""The command line: exit codes, one JSON object, the verdict first, problems named, nothing heavy for help.

The engine is replaced by hand-made drafts; what it computes is tested elsewhere.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import hand_made
import pytest

from drainward.cli import main
from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.floor.result import Draft
from drainward.job import Instrument, Job, Room, write_job
from drainward.validation import CHECKS


def _engine(job: Job, room: str, readings: tuple[Any, ...], **_: Any) -> Draft:
    """101 fails, 102 is not proven, 103 meets."""
    assert all(reading.room == room for reading in readings)
    draft = hand_made.draft(room=room)
    findings = hand_made.findings()
    if room == "102":
        return replace(draft, verdict=Verdict.NOT_PROVEN, findings=findings[3:], mend=None)
    if room == "103":
        return replace(draft, verdict=Verdict.MEETS, findings=findings[1:2], mend=None, next_reading=None, rejected=())
    if room == "105":
        raise StageError("the first unit is not signed off")
    return draft


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("drainward.floor.draft_stage", _engine, raising=False)
    monkeypatch.chdir(tmp_path)
    names = ("101", "102", "103", "104", "105")
    readings = tuple(
        reading.model_copy(update={"id": f"{name}{reading.id}", "room": name, "file": "", "line": None})
        for name in names
        for reading in hand_made.readings()
        if name != "104"
    )
    job = Job(
        name="Made-up [red]care[/red] home",
        units={"U60": hand_made.unit()},
        rooms=tuple(Room(room=name, floor="1", unit="U60") for name in names),
        instruments={"level-24": Instrument(id="level-24", name="24 in level", length=0.61, u=0.0004, u_slope=0.0017)},
        readings=readings,
    )
    write_job(tmp_path / "job", job)
    return tmp_path / "job"


def _json(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    out = capsys.readouterr().out
    assert out.count("\n") == 1, "one object on one line"
    answer: dict[str, Any] = json.loads(out)
    return answer


@pytest.mark.parametrize(("room", "code"), [("101", 1), ("102", 2), ("103", 0)])
def test_a_room_leaves_with_its_verdict(folder: Path, room: str, code: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", room, "--json"]) == code
    answer = _json(capsys)
    assert list(answer)[:5] == ["schema", "room", "stage", "verdict", "findings"]
    assert (answer["schema"], answer["room"], answer["stage"]) == (1, room, "draft")
    assert answer["problems"] == []
    assert {"fall", "ponds", "next_reading", "mend", "readings"} <= set(answer)


def test_the_verdict_sentence_comes_first_then_findings_next_and_mend(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(folder), "--room", "101", "--stage", "draft"]) == 1
    out = capsys.readouterr().out
    places = [
        out.index(words) for words in ("Fails: least fall", "at least 1/4 in/ft", "Read next", "Mend while", "line 3:")
    ]
    assert places == sorted(places)
    assert out.splitlines()[1].startswith("Fails:")


def test_all_rooms_in_one_object(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--json"]) == 1
    answer = _json(capsys)
    assert (answer["room"], answer["verdict"], answer["findings"]) == (None, "fails", [])
    assert [(room["room"], room["verdict"]) for room in answer["rooms"]] == [
        ("101", "fails"),
        ("102", "not proven"),
        ("103", "meets"),
        ("104", "not proven"),
        ("105", "not proven"),
    ]
    assert answer["rooms"][3]["says"] == "not read yet"
    assert answer["rooms"][4]["says"] == "the first unit is not signed off"
    assert set(answer["outlook"]) == {"findings", "questions"}


def test_all_rooms_for_people(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder)]) == 1
    out = capsys.readouterr().out
    assert out.splitlines()[:2] == [
        "Made-up [red]care[/red] home",
        "5 rooms: 1 meets, 1 fails, 1 not proven, 2 not read yet.",
    ]


def test_a_row_that_cannot_be_read_is_named_and_never_passes_for_meets(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with (folder / "readings.csv").open("a") as file:
        file.write("103,,,level-24,draft,wedge,4 in,4 in,28 in,4 in,half an inch,,,,\n")
    assert main(["check", str(folder), "--room", "103"]) == 65
    printed = capsys.readouterr()
    assert printed.out.splitlines()[1].startswith("Meets:")
    assert 'readings.csv, line 26, column "value": "half an inch"' in printed.err
    assert main(["check", str(folder), "--room", "103", "--json"]) == 65
    (problem,) = _json(capsys)["problems"]
    assert (problem["file"], problem["line"], problem["field"], problem["got"]) == (
        "readings.csv",
        26,
        "value",
        "half an inch",
    )
    assert problem["expected"]


def test_a_folder_without_a_job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path)]) == 65
    assert "job.toml" in capsys.readouterr().err
    assert main(["check", str(tmp_path), "--json"]) == 65
    answer = _json(capsys)
    assert answer["verdict"] == "not proven"
    assert "job.toml" in answer["problems"][0]["file"]


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["check"], "Missing argument"),
        (["chekc"], "No such command"),
        (["check", "no-such-folder"], "does not exist"),
        (["check", "job", "--stage", "party"], "party"),
        (["check", "job", "--room", "999"], 'the job has no room "999"; its rooms: 101, 102, 103, 104, 105'),
        (["handover", "job"], "--room"),
        (["handover", "job", "--room", "105"], "nothing to hand over: the first unit is not signed off"),
        (["handover", "job", "--room", "101", "-o", "no/such/place.pdf"], "place.pdf"),
    ],
)
def test_bad_use_is_64(folder: Path, args: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(args) == 64
    printed = capsys.readouterr()
    assert says in printed.err
    assert printed.out == ""


def test_no_words_print_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 64
    assert main(["--help"]) == 0
    assert "0 meets, 1 fails, 2 not proven, 64 bad use, 65 bad input" in capsys.readouterr().out


def test_handover_writes_the_pdf_and_keeps_the_verdict(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handover", str(folder), "--room", "101"]) == 1
    assert Path("handover-101.pdf").read_bytes().startswith(b"%PDF-")
    assert capsys.readouterr().out.splitlines()[1] == "handover-101.pdf"
    assert main(["handover", str(folder), "--room", "103", "-o", "out.pdf", "--json"]) == 0
    assert _json(capsys)["handover"]["file"] == "out.pdf"


def test_stage_job_is_the_outlook(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["check", str(folder), "--stage", "job", "--json"])
    answer = _json(capsys)
    assert (answer["room"], answer["stage"]) == (None, "job")
    assert answer["findings"]
    assert {"meets": 0, "fails": 1, "not proven": 2}[answer["verdict"]] == code


def test_validate_prints_each_check_beside_its_source(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("drainward.cli.validate.CHECKS", CHECKS[:20])
    assert main(["validate"]) == 0
    out = capsys.readouterr().out
    assert "0 fail" in out.splitlines()[0]
    assert "JCGM 106" in out
    assert main(["validate", "--json"]) == 0
    answer = _json(capsys)
    assert (answer["stage"], answer["verdict"]) == ("validate", "meets")
    assert all(check["passed"] for check in answer["checks"])


def test_validate_leaves_with_1_when_a_check_fails_and_names_what_it_skips(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("drainward.validation.check.find_spec", lambda name: None)
    skipped = replace(CHECKS[1], needs="scikit-image")
    monkeypatch.setattr("drainward.cli.validate.CHECKS", (CHECKS[0], skipped))
    assert main(["validate"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("1 of 2 outside checks pass, 0 fail, 1 skipped.")
    assert "scikit-image is not installed" in out
    monkeypatch.setattr("drainward.cli.validate.CHECKS", (CHECKS[0], replace(CHECKS[1], expected=0.0)))
    assert main(["validate"]) == 1
    assert "FAIL" in capsys.readouterr().out


def test_help_loads_nothing_heavy() -> None:
    script = (
        "import sys; from drainward.cli import main; main(['--help']);"
        "heavy = {'numpy', 'scipy', 'numba', 'rich', 'typst', 'pydantic', 'starlette', 'sqlalchemy'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert run.stdout.splitlines()[-1] == "[]"
