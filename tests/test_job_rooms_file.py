"""Rooms of the job folder, from CSV and from a workbook."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import job_texts
import openpyxl
import pytest

from drainward.job.rooms_file import Rooms, find_unit, read_rooms_file

UNITS = job_texts.unit_models()
HEADER = "room,floor,unit,ready,due,surveyed width,note"


def read(tmp_path: Path, *rows: str, header: str = HEADER) -> tuple[Rooms, list[str]]:
    path = tmp_path / "rooms.csv"
    path.write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    found = read_rooms_file(path, UNITS, frozenset({"shut"}))
    return found, [str(problem) for problem in found.problems]


def test_a_room(tmp_path: Path) -> None:
    found, problems = read(tmp_path, " 101.0 ,2,OPEN,2026-03-14,1 Apr 2026,49-1/4 in, by  the stair")
    assert problems == []
    room = found.rooms[0]
    assert (room.room, room.floor, room.unit, room.note) == ("101", "2", "open", "by the stair")
    assert (room.ready, room.due) == (date(2026, 3, 14), date(2026, 4, 1))
    assert room.surveyed == {"width": pytest.approx(49.25 * 0.0254)}


@pytest.mark.parametrize(("written", "unit"), [("open", "open"), ("Alcove 60 x 36", "alcove"), ("alcov", None)])
def test_find_unit(written: str, unit: str | None) -> None:
    assert find_unit(written, UNITS) == unit


def test_two_models_of_one_name_are_not_guessed() -> None:
    twins = {id: UNITS["open"].model_copy(update={"id": id}) for id in ("a", "b")}
    assert find_unit("Open 48 x 36", twins) is None
    assert find_unit("B", twins) == "b"


def test_a_bad_date_or_size_leaves_the_room(tmp_path: Path) -> None:
    found, problems = read(tmp_path, "101,,open,soon,3/4/2026,49,")
    assert (found.rooms[0].ready, found.rooms[0].due, found.rooms[0].surveyed) == (None, None, {})
    assert len(problems) == 3
    assert problems[0].startswith('rooms.csv, line 2, column "surveyed width": "49" has no unit')


def test_refused_rows(tmp_path: Path) -> None:
    found, problems = read(
        tmp_path, ",,open,,,,", "1,,,,,,", "2,,opne,,,,", "3,,shut,,,,", "4,,open,,,,", " 4.0,,open,,,,"
    )
    assert [room.room for room in found.rooms] == ["4"]
    assert found.refused == {"1", "2", "3"}
    assert [problem.removeprefix("rooms.csv, ") for problem in problems] == [
        'line 2, column "room": "" is missing; every room needs a name',
        'line 3, column "unit": "" is missing; expected the id of a unit model',
        'line 4, column "unit": "opne" is no unit model of this job (did you mean "open"?); expected alcove, open',
        'line 5, column "unit": "shut" is a unit model whose file was refused',
        'line 7, column "room": "4.0" names a second room of this name; the first is kept',
    ]


def test_unknown_column(tmp_path: Path) -> None:
    _, problems = read(tmp_path, header="room,unit,redy")
    assert len(problems) == 1
    assert 'line 1, column "redy": "redy" is no column here and is passed over (did you mean "ready"?)' in problems[0]


def test_workbook(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Room", "Unit", "Due", "Surveyed width"])
    sheet.append([101, "open", date(2026, 4, 1), '49 1/4"'])
    sheet.append([102, "open", None, date(2026, 3, 16)])
    book.save(tmp_path / "rooms.xlsx")
    found = read_rooms_file(tmp_path / "rooms.xlsx", UNITS, frozenset())
    assert [(room.room, room.due) for room in found.rooms] == [("101", date(2026, 4, 1)), ("102", None)]
    assert len(found.problems) == 1
    message = (
        'rooms.xlsx, line 3, column "surveyed width": "2026-03-16" is a date where a quantity belongs: a spreadsheet'
    )
    assert str(found.problems[0]).startswith(message)
