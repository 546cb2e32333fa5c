"""Room lists as builders keep them: headers, title lines, dates and sheets of every kind."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_texts import unit_models

from drainward.job import RoomList, read_rooms
from drainward.job.headers import take_columns


def listed(tmp_path: Path, text: str, **options: object) -> RoomList:
    path = tmp_path / "list.csv"
    path.write_text(text, encoding="utf-8")
    return read_rooms(path, **options)  # type: ignore[arg-type]


def workbook(path: Path, **sheets: list[list[object]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


TITLED = """\
Maple Court care home,,,,,,
"Rooms, revision C",,,,printed 2 Mar 2026,,
,,,,,,
Room #,Storey,Shower model,"Rough-in
passed",Handover date,Pocket width (in),Wing
101.0,1,open,14 Mar 2026,2026-04-01,49 1/4,East
102,1,alcove,3/14/2026,4/1/2026,61.5,
103,1,Alcove 60 x 36,,4/2/2026,5' 1-1/2",West
"""


def test_a_titled_list_is_understood_column_by_column(tmp_path: Path) -> None:
    found = listed(tmp_path, TITLED, units=unit_models())
    assert found.report() == (
        "list.csv: columns named in line 4",
        'column "Room #": taken for room',
        'column "Storey": taken for floor',
        'column "Shower model": taken for unit',
        'column "Rough-in passed": taken for ready',
        'column "Handover date": taken for due',
        'column "Pocket width (in)": taken for surveyed width, bare numbers in in',
        'column "Wing": not known; kept in the note',
        "dates such as 3/4/2026: month first",
        "3 rooms, 0 problems",
    )
    first, second, third = found.rooms
    assert (first.room, first.floor, first.unit, first.ready, first.due) == (
        "101", "1", "open", date(2026, 3, 14), date(2026, 4, 1),
    )  # fmt: skip
    assert first.note == "Wing: East"
    assert first.surveyed == pytest.approx({"width": 49.25 * 0.0254})
    assert (second.ready, second.due) == (date(2026, 3, 14), date(2026, 4, 1))
    assert (third.unit, third.due) == ("alcove", date(2026, 4, 2))
    assert third.surveyed == pytest.approx({"width": 61.5 * 0.0254})


@pytest.mark.parametrize(
    ("header", "field"),
    [
        *(("Room #", "room"), ("Rm", "room"), ("Rm. No.", "room"), ("ROOM NUMBER", "room"), ("Suite", "room")),
        *(("Unit type", "unit"), ("Shower model", "unit"), ("Model", "unit"), ("Unit", "unit")),
        *(("Level", "floor"), ("Storey", "floor"), ("Floor", "floor"), ("FLR", "floor")),
        *(("Ready", "ready"), ("Rough-in passed", "ready"), ("Ready date", "ready"), ("rough_in complete", "ready")),
        *(("Due", "due"), ("Handover", "due"), ("Hand-over date", "due"), ("Planned handover", "due")),
        *(("Surveyed depth (mm)", "surveyed depth"), ("Rough opening head height", "surveyed head height")),
        *(("Remarks", "note"), ("Painter", ""), ("", ""), ("Bed type", "")),
    ],
)
def test_header(header: str, field: str) -> None:
    assert field == take_columns([header])[0].taken_for


def test_unit_beside_a_model_is_the_dwelling() -> None:
    assert ["room", "unit"] == [column.taken_for for column in take_columns(["Unit", "Shower model"])]
    assert ["room", "unit"] == [column.taken_for for column in take_columns(["Room", "Unit"])]


def test_two_columns_for_one_field_lose_nothing(tmp_path: Path) -> None:
    found = listed(tmp_path, "Room,Unit,Ready,Rough-in passed\n1,U,2026-03-01,2026-02-01\n")
    assert found.rooms[0].ready == date(2026, 3, 1)
    assert found.rooms[0].note == "Rough-in passed: 2026-02-01"


@pytest.mark.parametrize(
    ("dates", "day_first", "expected"),
    [
        (("3/4/2026", "14/3/2026"), None, (date(2026, 4, 3), date(2026, 3, 14))),
        (("3/4/2026", "3/14/2026"), None, (date(2026, 3, 4), date(2026, 3, 14))),
        (("3/4/2026", "5/6/2026"), None, (None, None)),
        (("3/4/2026", "3/14/2026", "14/3/2026"), None, (None, date(2026, 3, 14), date(2026, 3, 14))),
        (("3/4/2026", "5/6/26"), True, (date(2026, 4, 3), date(2026, 6, 5))),
        (("3/4/2026", "3/14/2026"), True, (date(2026, 4, 3), None)),
        (("3/3/2026", "14 Mar 2026"), None, (date(2026, 3, 3), date(2026, 3, 14))),
    ],
)
def test_order_of_day_and_month_is_never_guessed(
    tmp_path: Path, dates: tuple[str, ...], day_first: bool | None, expected: tuple[date | None, ...]
) -> None:
    rows = "".join(f"{number},U,{text}\n" for number, text in enumerate(dates))
    found = listed(tmp_path, "Room,Unit,Due\n" + rows, day_first=day_first)
    assert expected == tuple(room.due for room in found.rooms)
    assert expected.count(None) == len(found.problems)


def test_what_is_refused_says_where_and_why(tmp_path: Path) -> None:
    text = "Room,Unit type,Due\n101,alcov,\n102,open,3/4/2026\n,open,\n102,open,\n104,,\nTotal: 4,alcov,\n"
    found = listed(tmp_path, text, units=unit_models())
    assert [room.room for room in found.rooms] == ["102"]
    first, *others = (str(problem).removeprefix("list.csv, ") for problem in found.problems)
    assert first.startswith('line 2, column "Unit type": "alcov" is no unit model of this job (did you mean "alcove"?)')
    assert first.endswith("expected alcove, open")
    assert [(row.line, row.got) for row in found.passed] == [(7, "Total: 4")]
    assert others == [
        'line 3, column "Due": "3/4/2026" reads as day/month and as month/day; write 14 Mar 2026 or 2026-03-14',
        'line 4, column "Room": "" is missing; every room needs a name',
        'line 5, column "Room": "102" names a second room of this name; the first is kept',
        'line 6, column "Unit type": "" is missing; expected the model of the shower unit',
    ]


def test_a_list_without_models_takes_the_one_that_is_given(tmp_path: Path) -> None:
    text = "Room,Level\n101,1\n"
    without = listed(tmp_path, text)
    assert without.rooms == ()
    assert "names no column for the shower's model" in str(without.problems[0]).replace("name no", "names no")
    assert listed(tmp_path, text, unit="open", units=unit_models()).rooms[0].unit == "open"


def test_no_header_is_one_problem(tmp_path: Path) -> None:
    found = listed(tmp_path, "101,open\n102,open\n")
    assert found.rooms == ()
    assert found.report() == ("list.csv: no row names the columns",)
    assert [problem.line for problem in found.problems] == [1]


def test_workbook_with_a_cover_sheet(tmp_path: Path) -> None:
    rooms: list[list[object]] = [
        ["Level 1", None, None, None],
        [],
        ["Rm", "Unit type", "Due", "RO width"],
        [101, "open", date(2026, 4, 1), '49-1/4"'],
        [102.0, "open", datetime.combine(date(2026, 4, 2), time()), date(2026, 3, 4)],
        ["North 1", "open", 46113, 49.25],
    ]
    path = workbook(tmp_path / "list.xlsx", Cover=[["Maple Court"]], Rooms=rooms, Old=[["Room", "Unit"], [7, "x"]])
    found = read_rooms(path)
    assert (found.sheet, found.header_line) == ("Rooms", 3)
    assert [(room.room, room.due) for room in found.rooms] == [
        ("101", date(2026, 4, 1)),
        ("102", date(2026, 4, 2)),
        ("North 1", None),
    ]
    assert found.rooms[0].surveyed == pytest.approx({"width": 49.25 * 0.0254})
    messages = [str(problem) for problem in found.problems]
    assert any('"Old" looks like a room list too' in message for message in messages)
    assert any("is a date where a quantity belongs" in message and "line 5" in message for message in messages)
    assert any("bare number that a spreadsheet keeps for a date" in message for message in messages)
    assert any('column "RO width": "49.25" has no unit' in message for message in messages)


@pytest.mark.parametrize("content", [b"", b"\0\0", b"PK\x03\x04 no zip", b"\xff\xfe", b'"'])
@pytest.mark.parametrize("name", ["list.xlsx", "list.csv"])
def test_rubbish_is_one_problem(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    found = read_rooms(tmp_path / name)
    assert (found.rooms, len(found.problems)) == ((), 1)


@given(st.binary(max_size=200) | st.text('Room,Unit;"\n\t3/4/2026 #é', max_size=120).map(str.encode))
def test_no_list_is_a_traceback(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.mktemp("list") / "list.csv"
    path.write_bytes(b"Room,Unit,Due,Pocket width\n" + content)
    found = read_rooms(path)
    assert len(found.report()) >= 1


@given(st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 255)), min_size=1, max_size=20), st.integers(1, 10**6))
def test_no_mangled_workbook_is_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, flips: list[tuple[int, int]], length: int
) -> None:
    folder = tmp_path_factory.mktemp("list")
    path = workbook(folder / "list.xlsx", Rooms=[["Room", "Unit", "Due"], [101, "open", date(2026, 4, 1)]])
    raw = bytearray(path.read_bytes())
    for place, value in flips:
        raw[place % len(raw)] = value
    path.write_bytes(raw if length % 2 else raw[: length % len(raw)])
    found = read_rooms(path)
    assert found.rooms or found.problems


def test_missing_file_is_one_problem(tmp_path: Path) -> None:
    assert len(read_rooms(tmp_path / "list.csv").problems) == 1


@given(
    st.lists(st.tuples(st.integers(1, 999), st.dates(date(2020, 1, 1), date(2035, 12, 31))), max_size=8), st.booleans()
)
def test_dates_of_a_list_written_in_one_order_come_back(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[int, date]], day_first: bool
) -> None:
    form = "%d/%m/%Y" if day_first else "%m/%d/%Y"
    text = "Room,Unit,Due\n" + "".join(f"r{at}-{name},U,{due.strftime(form)}\n" for at, (name, due) in enumerate(rows))
    found = listed(tmp_path_factory.mktemp("list"), text)
    for room, (_, due) in zip(found.rooms, rows, strict=True):
        assert room.due in (due, None)
    if any(due.day > 12 for _, due in rows):
        assert [due for _, due in rows] == [room.due for room in found.rooms]
