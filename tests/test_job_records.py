"""Rows out of files that spreadsheets, editors and accidents have made."""

from __future__ import annotations

import csv
import io
from datetime import date, datetime, time
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.job.records import Grid, read_grid, split_csv


def rows(text: str, titled: bool = False) -> list[tuple[object, ...]]:
    return [record.cells for record in split_csv(text.split("\n"), "t.csv", titled).records]


def read(tmp_path: Path, raw: bytes) -> Grid:
    (tmp_path / "t.csv").write_bytes(raw)
    return read_grid(tmp_path / "t.csv")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1", "utf-16"])
def test_any_separator_line_end_and_encoding(tmp_path: Path, separator: str, end: str, encoding: str) -> None:
    lines = (separator.join(cells) for cells in (("room", "note"), ("101", "café ½"), ("", ""), ("102", "")))
    grid = read(tmp_path, end.join(lines).encode(encoding))
    assert [(record.line, record.cells) for record in grid.records] == [
        (1, ("room", "note")),
        (2, ("101", "café ½")),
        (4, ("102", "")),
    ]
    assert grid.problems == ()


def test_one_odd_line_leaves_the_encoding_of_the_others(tmp_path: Path) -> None:
    grid = read(tmp_path, "½,é\n".encode() + b"\xbd,\xe9\n" + b"\x81,\xff\n")
    assert [record.cells for record in grid.records] == [("½", "é"), ("½", "é"), ("\x81", "ÿ")]


def test_a_first_line_can_name_the_separator() -> None:
    assert rows("sep=|\na|b,c\n1|2") == [("a", "b,c"), ("1", "2")]


def test_an_inch_mark_needs_no_quotation() -> None:
    assert rows('a,b,c\n1,36-1/2",2\n1,"36-1/2""",2') == [("a", "b", "c"), ("1", '36-1/2"', "2"), ("1", '36-1/2"', "2")]


def test_a_quoted_cell_runs_over_lines() -> None:
    grid = split_csv(["a,b,c,d", '1,2,3,"one', 'two, more"', "4,5,6,7"], "t.csv")
    assert [(record.line, record.cells) for record in grid.records] == [
        (1, ("a", "b", "c", "d")),
        (2, ("1", "2", "3", "one\ntwo, more")),
        (4, ("4", "5", "6", "7")),
    ]


@pytest.mark.parametrize("broken", ['1,"2,3', '"', '1,2,"', '1,"2" x,3', '1,"2""', "1,\x00,3", "\x1b[0m,2,3"])
@pytest.mark.parametrize("after", ["4,5,6", '4,5",6', '4,"5",6', '"4",5,6'])
def test_a_broken_line_takes_no_other_along(broken: str, after: str) -> None:
    grid = split_csv(["a,b,c", broken, after, "7,8,9"], "t.csv")
    assert [record.line for record in grid.records] == [1, 3, 4]
    assert [problem.line for problem in grid.problems] == [2]
    assert str(grid.problems[0]).startswith("t.csv, line 2: ")
    assert str(grid.problems[0]).isprintable()


def test_a_titled_list_may_break_its_headers() -> None:
    text = 'List,,,\nRoom,"Rough-in\npassed","Due\ndate",Unit\n1,2,3,4'
    assert rows(text, titled=True)[1:] == [("Room", "Rough-in\npassed", "Due\ndate", "Unit"), ("1", "2", "3", "4")]


@given(st.lists(st.lists(st.text("ab\"' \té;½", max_size=5), min_size=3, max_size=3), min_size=1, max_size=6))
def test_what_the_standard_writer_writes_is_read(table: list[list[str]]) -> None:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([["h", "i", "j"], *table])
    expected = [tuple(cell.strip() for cell in row) for row in table]
    assert rows(text.getvalue())[1:] == [row for row in expected if any(row)]


def test_workbook_cells(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    day = date(2026, 3, 14)
    sheet["B2"], sheet["C2"], sheet["D2"] = 101, 1.5, "  x "
    sheet["B4"], sheet["C4"], sheet["D4"] = day, datetime.combine(day, time(9, 30)), True
    book.save(tmp_path / "t.xlsx")
    assert [(record.line, record.cells) for record in read_grid(tmp_path / "t.xlsx").records] == [
        (2, ("", "101", "1.5", "x")),
        (4, ("", day, datetime.combine(day, time(9, 30)), "True")),
    ]


@pytest.mark.parametrize("content", [b"", b"no workbook", b"PK\x05\x06" + bytes(18)])
def test_no_workbook_is_one_problem(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "t.xlsx").write_bytes(content)
    grid = read_grid(tmp_path / "t.xlsx")
    assert (grid.records, len(grid.problems)) == ((), 1)
    assert "is no workbook; expected an .xlsx file" in str(grid.problems[0])
