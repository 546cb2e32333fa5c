"""The stages before a unit is set at the command line: exit codes, the verdict first, all rooms, plans and bad input.

Survey, dry set and set run the real engine over hand-made surveys; the way in is made by hand.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import ways_in
from surveys import SMALL, arrived, changed, job, survey

from drainward.cli import main
from drainward.job import Job, write_job
from drainward.job.model import Size, What
from drainward.wayin.plan import Plan
from drainward.wayin.result import WayIn

PLAN = """\
kind,floor,name,x,y
wall,1,A,0,0
wall,1,A,20 ft,0
start,1,street,5 ft,5 ft
goal,1,good,10 ft,9 ft
goal,1,good,15 ft,9 ft
goal,1,core,10 ft,19 ft
goal,1,core,15 ft,19 ft
"""


def _way_in(given: Job, room: str, plan: Plan, **_: Any) -> WayIn:
    assert plan.goal(room) is not None
    return ways_in.way_in(room, 0.02 if room == "good" else -0.05)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """`good` meets, `core` fails, `wrong` holds a blunder, `bare` has nothing measured."""
    measures = [
        *survey(room="good"),
        *survey(core=(2.5, 0.0), room="core"),
        *changed(survey(room="wrong"), What.WIDTH, 1.0, only=5),
    ]
    folder = tmp_path_factory.mktemp("before") / "job"
    write_job(folder, job(measures, (), SMALL, rooms="good core wrong bare"))
    (folder / "plan.csv").write_text(PLAN)
    return folder


@pytest.fixture
def folder(made: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("drainward.wayin.stage.way_in_stage", _way_in)
    return made


def _json(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    out = capsys.readouterr().out
    assert out.count("\n") == 1, "one object on one line"
    answer: dict[str, Any] = json.loads(out)
    return answer


def _in_order(out: str, *parts: str) -> None:
    plain = " ".join(out.split())
    places = [plain.index(words) for words in parts]
    assert places == sorted(places)


@pytest.mark.parametrize(
    ("written", "stage", "room", "code"),
    [
        ("survey", "survey", "good", 0),
        ("survey", "survey", "core", 1),
        ("survey", "survey", "wrong", 2),
        ("dry-set", "dry set", "good", 0),
        ("dry set", "dry set", "core", 1),
        ("bed", "bed", "good", 2),
        ("set", "set", "good", 0),
        ("way-in", "way in", "good", 0),
        ("way in", "way in", "core", 1),
    ],
)
def test_a_room_leaves_with_its_verdict(
    folder: Path, written: str, stage: str, room: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(folder), "--room", room, "--stage", written, "--json"]) == code
    answer = _json(capsys)
    assert list(answer)[:5] == ["schema", "room", "stage", "verdict", "findings"]
    assert (answer["room"], answer["stage"], answer["problems"]) == (room, stage, [])


def test_a_survey_says_first_whether_the_pocket_takes_the_unit(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(folder), "--room", "core", "--stage", "survey"]) == 1
    out = capsys.readouterr().out
    assert out.splitlines()[1].startswith("Mend this first: widen the core by ")
    _in_order(out, "Mend this first", "Fails: ", "Room for the unit in its", "Which unit models would do here")
    assert "measures used, 1000 pockets drawn" in out


def test_a_wrong_measure_is_asked_again_before_all_else(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "wrong", "--stage", "survey"]) == 2
    out = capsys.readouterr().out
    _in_order(
        out,
        "The pocket takes the unit, unless a measure that contradicts the others is right",
        "Not proven: measures that contradict the others",
        "Measure next",
        "Width between studs: Tape from the left stud face",
        "measure it once more",
        "Measures not used",
        "was read, the others let expect",
    )


def test_the_dry_set_prints_a_shim_for_every_stud_and_height(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "good", "--stage", "dry-set"]) == 0
    out = capsys.readouterr().out
    _in_order(out, "Meets:", "Shims between flange and stud", '2" up', "Where it stands", "Cut the drain pipe")
    rows = [line for line in out.splitlines() if line.startswith(("left ", "back ", "right ")) and "stud " in line]
    assert len(rows) == 13
    assert all(line.count('"') == 4 for line in rows), "a place and three thicknesses"


def test_a_unit_that_does_not_go_in_says_what_to_plane(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "core", "--stage", "dry-set"]) == 1
    out = capsys.readouterr().out
    _in_order(out, "Fails: ", "Mend as the pocket is believed", "Widen the core by ", "Shims between flange and stud")


def test_the_bed_prints_the_mix_its_batches_and_where_they_go(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "good", "--stage", "bed"]) == 2
    out = capsys.readouterr().out
    _in_order(out, "Not proven:", "Mix", "Bead under the threshold", "Take care", "silica")


def test_the_set_out_prints_holes_zones_and_the_order(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "good", "--stage", "set"]) == 0
    out = capsys.readouterr().out
    _in_order(out, "Meets:", "Holes and screws", "back wall, top flange", "In this order", "pipe cut to height")


def test_nothing_measured_is_open_and_says_what_to_measure(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "bare", "--stage", "survey"]) == 2
    _in_order(capsys.readouterr().out, "Not known yet whether the pocket takes the unit", "Measure next")
    assert main(["check", str(folder), "--room", "bare", "--stage", "set"]) == 2
    _in_order(capsys.readouterr().out, "Not proven: ", "Not measured yet", "stud on the right wall")


def test_the_way_in_prints_the_ways_the_steps_and_the_lift(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--room", "good", "--stage", "way-in"]) == 0
    out = capsys.readouterr().out
    _in_order(
        out,
        "Meets:",
        "Ways to carry it",
        "The way",
        "1. through door D1",
        "The lift",
        "4 people carry it clear of the floor",
    )
    assert main(["check", str(folder), "--room", "core", "--stage", "way-in"]) == 1
    out = capsys.readouterr().out
    _in_order(out, "Fails:", "The way that lacks least", "What would open a way", "take the leaf off door D1")


def test_a_room_that_no_plan_leads_to_is_not_proven(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "plan.csv").rename(folder / "plan.txt")
    try:
        assert main(["check", str(folder), "--room", "good", "--stage", "way-in", "--json"]) == 2
        answer = _json(capsys)
        assert answer["says"].startswith('no plan of floor "1"')
        assert "readings" not in answer
    finally:
        (folder / "plan.txt").rename(folder / "plan.csv")


def test_a_row_of_the_plan_that_cannot_be_read_is_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = folder / "plan.csv"
    try:
        plan.write_text(PLAN + "wall,1,B,four,0\n")
        assert main(["check", str(folder), "--room", "good", "--stage", "way-in"]) == 65
        assert 'plan.csv, line 9, column "x"' in capsys.readouterr().err
    finally:
        plan.write_text(PLAN)


@pytest.mark.parametrize(
    ("stage", "verdicts", "counted"),
    [
        (
            "survey",
            ["meets", "fails", "not proven", "not proven"],
            "1 meets, 1 fails, 1 not proven, 1 not measured yet.",
        ),
        ("way-in", ["meets", "fails", "not proven", "not proven"], "1 meets, 1 fails, 2 not measured yet."),
    ],
)
def test_all_rooms(
    folder: Path, stage: str, verdicts: list[str], counted: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(folder), "--stage", stage, "--json"]) == 1
    answer = _json(capsys)
    assert (answer["room"], answer["stage"], answer["verdict"]) == (None, stage.replace("-", " "), "fails")
    assert [room["verdict"] for room in answer["rooms"]] == verdicts
    assert answer["rooms"][3]["says"] == "not measured yet"
    assert "outlook" not in answer
    assert main(["check", str(folder), "--stage", stage]) == 1
    assert f"4 rooms: {counted}" in capsys.readouterr().out


def test_sizes_that_make_no_unit_stop_their_room_and_no_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Each size alone is possible; together the outside is smaller than the inside.
    sizes = [arrived(Size.OUTSIDE_WIDTH, 61.5, room="core"), arrived(Size.INSIDE_WIDTH, 62.5, room="core")]
    measures = [*survey(room="good"), *survey(room="core")]
    write_job(tmp_path / "job", job(measures, sizes, rooms="good core"))
    assert main(["check", str(tmp_path / "job"), "--stage", "survey", "--json"]) == 65
    answer = _json(capsys)
    assert [room["verdict"] for room in answer["rooms"]] == ["meets", "not proven"]
    assert {problem["file"] for problem in answer["problems"]} == {"received.csv"}
    assert main(["check", str(tmp_path / "job"), "--stage", "dry-set", "--room", "core"]) == 65
    assert "makes no unit" in capsys.readouterr().err


def test_a_unit_on_its_own_base_has_no_bed_and_that_is_no_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = job(survey(room="good"), (), SMALL, rooms="good bare")
    own = {id: unit.model_copy(update={"style": "own base"}) for id, unit in given.units.items()}
    write_job(tmp_path / "job", given.model_copy(update={"units": own}))
    assert main(["check", str(tmp_path / "job"), "--room", "good", "--stage", "bed"]) == 0
    assert "Nothing to do: the unit of room good stands on its own base" in " ".join(capsys.readouterr().out.split())
    assert main(["check", str(tmp_path / "job"), "--stage", "bed"]) == 0
    assert "2 rooms: 2 have no bed." in capsys.readouterr().out
    assert main(["check", str(tmp_path / "job"), "--room", "bare", "--stage", "bed", "--json"]) == 0
    answer = _json(capsys)
    assert (answer["verdict"], answer["findings"]) == ("meets", []) and "own base" in answer["says"]
