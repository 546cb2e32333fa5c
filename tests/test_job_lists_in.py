"""Room lists as contractors send them: workbooks made here with all that goes wrong in them."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import openpyxl
import pytest
from job_texts import unit_models

from drainward.cli import main
from drainward.errors import QuantityError
from drainward.job import Job, RoomList, load, read_rooms, write_job
from drainward.job.headers import join_headers, take_columns
from drainward.quantity import INCH, parse_length

ROWS: list[list[object]] = [
    ["Maple Court, showers by room", None, None, None, None, None, None],
    ["Room", None, "Shower", None, "Dates", None, "Remarks"],
    ["No.", "Level", "Model", "RO width", "Ready", "Due", None],
    ["0101", "1", "open", '36½"', date(2026, 3, 2), "14 Mar 2026", "north"],
    ["102", None, "open", date(2026, 3, 4), "6.5.2026", 46146, None],
    ["NOTE: level 2 waits for the pour", None, None, None, None, None, None],
    ["Level 2", None, None, None, None, None, None],
    [201.0, "2", "open", "=36+1/2", date(2026, 3, 9), "5/13/26", None],
    ["202", "2", "open", '60 1/4"', None, "5' 0-3/8\"", None],
    [None, "2", "open", None, None, None, None],
    ["TOTAL", None, "4", None, None, None, None],
]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in ROWS:
        sheet.append(row)
    for merged in ("A1:G1", "A2:B2", "C2:D2", "E2:F2", "G2:G3", "B4:B5", "A6:G6"):
        sheet.merge_cells(merged)
    book.save(tmp_path / "list.xlsx")
    return tmp_path / "list.xlsx"


def read(path: Path, **more: bool) -> RoomList:
    return read_rooms(path, unit_models(), **more)  # type: ignore[arg-type]


def test_two_header_rows_with_merged_cells_name_the_columns(path: Path) -> None:
    found = read(path)
    assert found.header_line == 3
    assert [(column.header, column.taken_for) for column in found.mapping] == [
        ("Room No.", "room"),
        ("Level", "floor"),
        ("Model", "unit"),
        ("RO width", "surveyed width"),
        ("Ready", "ready"),
        ("Due", "due"),
        ("Remarks", "note"),
    ]


def test_what_is_merged_down_stands_in_each_row_and_no_further(path: Path) -> None:
    rooms = {room.room: room for room in read(path).rooms}
    assert [rooms[name].floor for name in ("0101", "102", "201", "202")] == ["1", "1", "2", "2"]


def test_names_fractions_and_dates_come_back_as_they_were_meant(path: Path) -> None:
    found = read(path)
    first, second, third, fourth = found.rooms
    assert [room.room for room in found.rooms] == ["0101", "102", "201", "202"]
    assert first.surveyed == pytest.approx({"width": 36.5 * INCH})
    assert fourth.surveyed == pytest.approx({"width": 60.25 * INCH})
    assert (first.ready, first.due) == (date(2026, 3, 2), date(2026, 3, 14))
    # "5/13/26" can only be the month first, so the list's other dates are read so too
    assert (second.ready, third.due) == (date(2026, 6, 5), date(2026, 5, 13))
    assert read(path, day_first=True).rooms[1].ready == date(2026, 5, 6)
    assert not second.surveyed
    assert not third.surveyed


def test_what_cannot_be_read_is_told_with_a_suggestion(path: Path) -> None:
    told = [str(problem).removeprefix("list.xlsx, ") for problem in read(path).problems]
    assert [line.split(":")[0] for line in told] == [
        'line 5, column "RO width"',
        'line 5, column "Due"',
        'line 8, column "D"',
        'line 9, column "Due"',
        'line 10, column "Room No."',
    ]
    assert told[0].endswith("format the column as text; perhaps 3/4 was typed")
    assert "bare number that a spreadsheet keeps for a date" in told[1]
    assert told[2].split(": ", 1)[1] == (
        '"=36+1/2" is a formula without a stored value; open and save the workbook in a spreadsheet, or write the value'
    )


def test_titles_notes_and_totals_are_told_and_are_no_rooms(path: Path) -> None:
    assert [(row.line, row.got) for row in read(path).passed] == [
        (6, "NOTE: level 2 waits for the pour"),
        (7, "Level 2"),
        (11, "TOTAL"),
    ]


def test_a_dry_run_says_row_by_row_what_is_read(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "job"
    write_job(folder, Job(name="x", units=unit_models()))
    before = sorted(folder.iterdir())
    assert main(["import", str(path), "--job", str(folder), "--dry-run", "--dates", "day-first"]) == 65
    printed = capsys.readouterr().out.splitlines()
    lines = [line for line in printed if line.startswith("line ")]
    assert lines[0] == (
        'line 4: room 0101, floor 1, unit open, ready 02 Mar 2026, due 14 Mar 2026, surveyed width 36-1/2", note: north'
    )
    assert lines[1].startswith("line 5: room 102, floor 1, unit open, ready 06 May 2026")
    assert [int(line.split(":")[0].split()[1]) for line in lines] == [4, 5, 5, 5, 6, 7, 8, 8, 8, 9, 9, 10, 11]
    assert sorted(folder.iterdir()) == before
    assert main(["import", str(path), "--job", str(folder)]) == 65
    assert {room.room for room in load(folder).job.rooms} == {"0101", "102", "201", "202"}
    assert 'line 11: "TOTAL" is a note or a total, and no room' in capsys.readouterr().out


def test_an_unknown_order_of_dates_is_bad_use(path: Path, tmp_path: Path) -> None:
    write_job(tmp_path / "job", Job(name="x", units=unit_models()))
    assert main(["import", str(path), "--job", str(tmp_path / "job"), "--dates", "ymd"]) == 64


def test_an_order_that_the_list_does_not_say_is_asked_once(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("Room,Unit,Due\n1,open,3/4/2026\n2,open,5/6/26\n")
    found = read(tmp_path / "list.csv")
    assert "say once which: --dates day-first or --dates month-first" in "\n".join(found.report())


@pytest.mark.parametrize("name", ["0101", "1E2", "007", "B-12"])
def test_names_of_rooms_stay_as_written(tmp_path: Path, name: str) -> None:
    (tmp_path / "list.csv").write_text(f"Room,Unit\n{name},open\n")
    assert [room.room for room in read(tmp_path / "list.csv").rooms] == [name]


@pytest.mark.parametrize(
    ("upper", "lower", "fields"),
    [
        (["Room", "Room", "Unit"], ["No", "Level", "type"], ["room", "floor", "unit"]),
        (["Room", "", "Rough-in", "Handover"], ["", "Floor", "date", "date"], ["room", "floor", "ready", "due"]),
        (["Surveyed", "Surveyed"], ["width (in)", "depth (in)"], ["surveyed width", "surveyed depth"]),
        (["Who", "Room"], ["Painter", "Name"], ["", "room"]),
    ],
)
def test_two_names_make_one(upper: list[str], lower: list[str], fields: list[str]) -> None:
    assert [column.taken_for for column in take_columns(join_headers(upper, lower))] == fields


def test_a_first_room_is_no_second_header(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("Room,,Unit\n101,Level,open\n102,,open\n")
    found = read(tmp_path / "list.csv")
    assert found.header_line == 1
    assert [room.room for room in found.rooms] == ["101", "102"]


@pytest.mark.parametrize(
    ("written", "hint"), [("4-Mar", "3/4"), ("Mar-4", "3/4"), ("1-Apr", "1/4"), ("Mar-32", "3/32")]
)
def test_a_month_in_place_of_a_fraction_is_refused_with_a_suggestion(written: str, hint: str) -> None:
    with pytest.raises(QuantityError, match=f"perhaps {hint} was typed"):
        parse_length(written)


def test_a_row_refused_for_the_same_unit_as_another_is_told_in_its_place(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Rm,Shower unit type\n101,Roma\n102,open\n103,Roma\n")
    found = read(path)
    assert [column.taken_for for column in found.mapping] == ["room", "unit"]
    assert [(line, words.split("; ")[0]) for line, words in found.rows()] == [
        (2, 'column "Shower unit type": "Roma" is no unit model of this job'),
        (3, "room 102, unit open"),
        (4, 'column "Shower unit type": "Roma" is no unit model of this job, as in line 2'),
    ]
    assert "1 room, 1 problem" in found.report()


def test_a_dry_run_tells_each_row_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "list.csv").write_text("Rm,Model,Ready\n101,open,soon\n")
    write_job(tmp_path / "job", Job(name="Made up", units=unit_models()))
    assert main(["import", str(tmp_path / "list.csv"), "--job", str(tmp_path / "job"), "--dry-run"]) == 65
    said = capsys.readouterr()
    assert "is not a date" in said.out and said.err == ""
    assert main(["import", str(tmp_path / "list.csv"), "--job", str(tmp_path / "job")]) == 65
    assert "is not a date" in capsys.readouterr().err
