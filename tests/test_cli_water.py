"""The water test at the command line: its stage, its page in the handover, its exit codes.

The engine is replaced by hand-made answers; what it computes is tested elsewhere.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import hand_made
import pytest

from drainward.cli import main
from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job import Instrument, Job, Reading, Room, WaterTest, write_job


def _draft(job: Job, room: str, readings: tuple[Reading, ...], **_: Any) -> Draft:
    meets = replace(hand_made.draft(room=room), findings=hand_made.findings()[1:2], mend=None, next_reading=None)
    return replace(meets, verdict=Verdict.MEETS)


def _water(job: Job, room: str, readings: tuple[Reading, ...], tests: tuple[WaterTest, ...], **_: Any) -> Water:
    """101 is tested and not proven, 102 fails, 103 meets untested, 104 has no reading, 105 is refused."""
    assert all(one.room == room for one in (*readings, *tests))
    assert bool(tests) == (room == "101")
    water = hand_made.water(room=room, used=len(readings))
    if room == "101":
        return replace(water, seen=(replace(water.seen[0], test=tests[0]),))
    if room == "102":
        return replace(water, verdict=Verdict.FAILS, seen=())
    if room == "105":
        raise StageError("the bed has not cured")
    return replace(water, verdict=Verdict.MEETS, findings=water.findings[:2], seen=(), next_reading=None)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("drainward.floor.draft_stage", _draft)
    monkeypatch.setattr("drainward.floor.film.water_stage", _water)
    monkeypatch.chdir(tmp_path)
    names = ("101", "102", "103", "104", "105")
    readings = tuple(
        reading.model_copy(update={"id": f"{name}{reading.id}", "room": name, "file": "", "line": None})
        for name in names
        for reading in hand_made.readings()
        if name != "104"
    )
    job = Job(
        name="Made-up care home",
        units={"U60": hand_made.unit()},
        rooms=tuple(Room(room=name, unit="U60") for name in names),
        instruments={"level-24": Instrument(id="level-24", name="24 in level", length=0.61, u=0.0004, u_slope=0.0017)},
        readings=readings,
        water_tests=(hand_made.water_test(written=""),),
    )
    write_job(tmp_path / "job", job)
    return tmp_path / "job"


def _json(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    out = capsys.readouterr().out
    assert out.count("\n") == 1, "one object on one line"
    answer: dict[str, Any] = json.loads(out)
    return answer


@pytest.mark.parametrize("stage", ["water test", "water-test"])
@pytest.mark.parametrize(("room", "code"), [("101", 2), ("102", 1), ("103", 0), ("104", 0), ("105", 2)])
def test_a_room_leaves_with_its_verdict(
    folder: Path, stage: str, room: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(folder), "--room", room, "--stage", stage, "--json"]) == code
    answer = _json(capsys)
    assert list(answer)[:5] == ["schema", "room", "stage", "verdict", "findings"]
    assert (answer["room"], answer["stage"]) == (room, "water test")
    if room == "105":
        assert answer["says"] == "the bed has not cured"
    else:
        assert {"pour", "drained", "overflow", "hang", "tests"} <= set(answer)


def test_a_time_that_never_comes_is_null(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(folder), "--room", "101", "--stage", "water test", "--json"])
    assert _json(capsys)["overflow"] == {"low": 95.0, "likely": 128.0, "high": None}


def test_the_verdict_comes_first_then_what_the_pour_shows(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "101", "--stage", "water test"]) == 2
    out = capsys.readouterr().out
    parts = (
        "Room 101  60 x 36 roll-in, water test",
        "Not proven: water test as seen",
        "The stream into the drain breaks up into drops",
        "1 min 35 s to never within an hour",
        "Water lost over the",
        "Read next",
        "What may stay",
        "9/64",
        "Recorded test 1, Ana B.",
        "seen 1: 45-1/4",
        "Not as computed.",
        "Why: Puddles: a dip that no reading crosses, 81 in 100",
        "line 3:",
        "6 readings used, water run on 200 floors",
    )
    places = [out.index(words) for words in parts]
    assert places == sorted(places)


def test_a_room_without_a_test_says_so(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(folder), "--room", "103", "--stage", "water test"])
    out = capsys.readouterr().out
    assert "Now pour: 1 gal" in out
    assert "No water test is recorded: all of this is computed from the readings alone." in out


def test_a_refused_room_says_why(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(folder), "--room", "105", "--stage", "water test"])
    assert "Not proven: the bed has not cured." in capsys.readouterr().out


def test_all_rooms_at_the_water_test(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--stage", "water-test", "--json"]) == 1
    answer = _json(capsys)
    assert (answer["room"], answer["stage"], answer["verdict"]) == (None, "water test", "fails")
    assert [room["verdict"] for room in answer["rooms"]] == [
        "not proven", "fails", "meets", "not proven", "not proven",
    ]  # fmt: skip
    assert answer["rooms"][3]["says"] == "not read yet"
    assert "outlook" not in answer
    assert main(["check", str(folder), "--stage", "water test"]) == 1
    out = capsys.readouterr().out
    assert "5 rooms: 1 meets, 1 fails, 1 not proven, 2 not read yet." in out
    assert "water test as seen beside the water" in out


def test_check_without_a_stage_runs_no_water(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drainward.floor.film.water_stage", None)
    assert main(["check", str(folder), "--room", "101"]) == 0


def test_a_stage_that_is_none_is_named_with_those_there_are(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--stage", "party"]) == 64
    said = capsys.readouterr().err
    assert '"party" is no stage' in said
    assert "water test" in said


def test_the_handover_has_its_water_page_where_a_test_is_recorded(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["handover", str(folder), "--room", "101"]) == 2, "over both: the floor meets, the water is open"
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("Meets:")
    assert said[1].startswith("Water test: Not proven:")
    assert said[2] == "handover-101.pdf"
    assert main(["handover", str(folder), "--room", "101", "--json"]) == 2
    answer = _json(capsys)
    assert (answer["verdict"], answer["stage"], answer["water"]["stage"]) == ("not proven", "draft", "water test")


def test_without_a_test_the_water_page_is_asked_for(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handover", str(folder), "--room", "102", "--json"]) == 0
    assert "water" not in _json(capsys)
    assert main(["handover", str(folder), "--room", "102", "--water", "--json"]) == 1
    assert _json(capsys)["water"]["verdict"] == "fails"


def test_a_photograph_of_the_folder_is_printed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[bytes, str]] = []

    def pdf(*args: Any, **_: Any) -> bytes:
        asked.append(args[-1]("floor.png"))
        return b"%PDF-"

    monkeypatch.setattr("drainward.cli.handover.handover_pdf", pdf)
    data = b"\x89PNG\r\n\x1a\n and the rest"
    (folder / "photos").mkdir()
    (folder / "photos" / "floor.png").write_bytes(data)
    main(["handover", str(folder), "--room", "101"])
    assert asked == [(data, "image/png")]
