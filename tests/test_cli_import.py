"""`drainward import`: rooms come in once, what stands in the job stays, what is refused is named."""

from __future__ import annotations

import json
from pathlib import Path

import hand_made
import pytest

from drainward.cli import main
from drainward.job import Job, Room, load, write_job

LIST = """\
Care home, shower list
Rm No.;Level;Shower type;Rough-in date;RO width (in)
101;1;U60;2026-03-02;61
201;2;U60;2026-03-04;61 1/4
202;2;U99;;
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    job = Job(name="x", units={"U60": hand_made.unit()}, rooms=(Room(room="101", floor="1", unit="U60", note="kept"),))
    write_job(tmp_path / "job", job)
    (tmp_path / "list.csv").write_text(LIST)
    return tmp_path / "job"


def _import(folder: Path, *more: str) -> int:
    return main(["import", str(folder.parent / "list.csv"), "--job", str(folder), *more])


def test_rooms_come_in_once_and_what_stands_stays(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (folder / "rooms.csv").read_text().splitlines()
    assert _import(folder) == 65
    printed = capsys.readouterr()
    assert printed.out.splitlines()[0] == "1 room added to rooms.csv"
    assert 'column "Shower type": taken for unit' in printed.out
    assert 'list.csv: "101" stands in rooms.csv with another ready, surveyed; it was kept as it is' in printed.err
    assert '"U99"' in printed.err
    after = (folder / "rooms.csv").read_text().splitlines()
    assert after[1] == before[1]
    loaded = load(folder)
    assert not [problem for problem in loaded.problems if problem.file == "rooms.csv"]
    rooms = {room.room: room for room in loaded.job.rooms}
    assert set(rooms) == {"101", "201"}
    assert rooms["101"].note == "kept"
    assert rooms["201"].surveyed == {"width": pytest.approx(61.25 * 0.0254)}
    assert str(rooms["201"].ready) == "2026-03-04"
    _import(folder)
    assert (folder / "rooms.csv").read_text().splitlines() == after, "a second time adds nothing"


def test_a_dry_run_writes_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (folder / "rooms.csv").read_bytes()
    assert _import(folder, "--dry-run", "--json") == 65
    answer = json.loads(capsys.readouterr().out)
    assert (folder / "rooms.csv").read_bytes() == before
    assert [room["room"] for room in answer["added"]] == ["201"]
    assert (answer["stage"], answer["verdict"], answer["dry_run"]) == ("import", None, True)
    assert {"header": "Level", "taken_for": "floor"} in answer["columns"]


def test_a_job_without_rooms_gets_its_first_ones(folder: Path) -> None:
    (folder / "rooms.csv").unlink()
    (folder.parent / "list.csv").write_text("Room,Unit\n101,U60\n")
    assert _import(folder) == 0
    assert [room.room for room in load(folder).job.rooms] == ["101"]


def test_line_ends_and_separator_are_kept(folder: Path) -> None:
    (folder / "rooms.csv").write_bytes(b"room;unit\r\n101;U60")
    (folder.parent / "list.csv").write_text("Room,Unit,Floor\n102,U60,1\n")
    assert _import(folder) == 0
    assert (folder / "rooms.csv").read_bytes() == b"room;unit;floor\r\n101;U60\r\n102;U60;1\r\n"


def test_a_broken_rooms_file_is_mended_first(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with (folder / "rooms.csv").open("a") as file:
        file.write("201,2,U77,,,\n")
    before = (folder / "rooms.csv").read_bytes()
    assert _import(folder) == 65
    assert "rooms.csv, line 3" in capsys.readouterr().err
    assert (folder / "rooms.csv").read_bytes() == before


def test_rooms_in_a_workbook_are_not_added_to(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "rooms.xlsx").write_bytes(b"")
    assert _import(folder) == 65
    assert "rooms.xlsx" in capsys.readouterr().err


def test_a_list_that_names_no_columns(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder.parent / "list.csv").write_text("hello\nworld\n")
    assert _import(folder) == 65
    assert "list.csv" in capsys.readouterr().err


def test_a_list_that_is_not_there_is_bad_use(folder: Path) -> None:
    assert main(["import", "nowhere.csv", "--job", str(folder)]) == 64
