"""Rows out of CSV and XLSX files, with the line each stands in.

Grid          what a file held: records and the problems met on the way
read_grid     either kind of file, told apart by its name
read_grids    the same with every sheet of a workbook
separator_of  what stands between cells
split_csv     the CSV part: any of comma, semicolon or tab; one broken line never takes its neighbours along
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from drainward.errors import Problem
from drainward.job.formulas import Formula, uncomputed
from drainward.job.text import file_label, read_lines, shown

__all__ = ["Cell", "Grid", "Record", "read_grid", "read_grids", "separator_of", "split_csv"]

Cell = str | date | datetime
"""A cell as text, or the date object that a spreadsheet stored."""

_UNTYPED = re.compile(r"[\x00-\x08\x0a-\x1f]")
_TITLES = 30
"""Lines at the top of a titled list that are asked for its separator and its width."""
_LONGEST_CELL = 50
"""Lines that one quoted cell may span; an open quotation mark is not searched for further."""


@dataclass(frozen=True, slots=True)
class Record:
    """One row: its first line in the file (counted from 1) and its cells."""

    line: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """All rows of a file that are not blank, in order, and the lines that could not be split.

    merged : (first line, first column, last line, last column) of a workbook's merged cells, from 1. A value that is
             merged down over lines stands in each of them; one merged across stands in its first column only.
    """

    file: str
    records: tuple[Record, ...]
    problems: tuple[Problem, ...] = ()
    sheet: str = ""
    merged: tuple[tuple[int, int, int, int], ...] = ()


def read_grid(path: Path) -> Grid:
    """Rows of a .csv file, or of the first sheet of an .xlsx workbook; see `read_grids`."""
    return read_grids(path)[0]


def read_grids(path: Path, titled: bool = False) -> tuple[Grid, ...]:
    """Rows of a .csv file, or of every sheet of an .xlsx workbook; always one grid or more.

    titled : whether lines may stand above the one that names the columns
    A file that cannot be read at all gives no rows and one problem; nothing is raised.
    """
    name = file_label(path)
    try:
        if path.suffix.lower() == ".xlsx":
            return _sheets(path, name)
        return (split_csv(read_lines(path), name, titled),)
    except OSError as error:
        return (Grid(name, (), (Problem(name, None, "", error.strerror or "error", "while opening the file"),)),)


def split_csv(lines: Sequence[str], file: str, titled: bool = False) -> Grid:
    """Rows of CSV lines; titled as in `read_grids`.

    A quoted cell may run over several lines, but a quotation mark left open spoils its own line only: the lines
    below it that are rows by themselves stay rows.
    """
    separator = separator_of(lines, titled)
    alone = max((line.count(separator) + 1 for line in lines[:_TITLES]), default=0) if titled else 0
    records: list[Record] = []
    problems: list[Problem] = []
    at = 1 if _names_separator(lines) else 0
    while at < len(lines):
        if not lines[at].strip(" \t\x00" + separator):
            at += 1
            continue
        taken, cells = _record(lines, at, separator, alone)
        if cells is None:
            problems.append(Problem(file, at + 1, "", shown(lines[at]), _why_broken(lines[at])))
        elif any(cells):
            records.append(Record(at + 1, tuple(cells)))
            alone = alone or max(len(cells) // 2, 1) + 1
        at += taken
    return Grid(file, tuple(records), tuple(problems))


def separator_of(lines: Sequence[str], titled: bool = False) -> str:
    """The mark between cells: as a first line sep=; says, else the one most frequent in the first lines."""
    if _names_separator(lines):
        return lines[0][4]
    top = [line for line in lines if line.strip()][: _TITLES if titled else 1]
    return max(",;\t", key=lambda mark: max((line.count(mark) for line in top), default=0))


def _names_separator(lines: Sequence[str]) -> bool:
    return bool(lines) and len(lines[0]) == 5 and lines[0].lower().startswith("sep=") and lines[0][4] in ",;\t|"


def _record(lines: Sequence[str], at: int, separator: str, alone: int) -> tuple[int, list[str] | None]:
    """How many lines the row at `at` takes, and its cells; None where it cannot be split.

    alone : a line of so many cells is a row by itself, and no part of a cell above; 0 where that is not yet known
    """
    if _control(lines[at]):
        return 1, None
    cells = _cells([lines[at]], separator)
    if cells is not None:
        return 1, cells
    if lines[at].count('"') % 2 == 0:
        return 1, None
    for end in range(at + 1, min(at + _LONGEST_CELL, len(lines))):
        if _stands_alone(lines[end], separator, alone) or _control(lines[end]):
            return 1, None
        if lines[end].count('"') % 2:
            cells = _cells(lines[at : end + 1], separator)
            return (1, None) if cells is None else (end + 1 - at, cells)
    return 1, None


def _stands_alone(line: str, separator: str, alone: int) -> bool:
    cells = _cells([line], separator)
    return cells is not None and 0 < alone <= len(cells)


def _cells(lines: Sequence[str], separator: str) -> list[str] | None:
    reader = csv.reader([line + "\n" for line in lines], delimiter=separator, strict=True)
    try:
        rows = list(reader)
    except csv.Error:
        return None
    return [cell.strip() for cell in rows[0]] if len(rows) == 1 else None


def _control(line: str) -> bool:
    return _UNTYPED.search(line) is not None


def _why_broken(line: str) -> str:
    if _control(line):
        return "holds characters that no keyboard types; expected plain text"
    return "cannot be split into cells: a quotation mark is left open, or stands in a quoted cell and is not doubled"


def _sheets(path: Path, name: str) -> tuple[Grid, ...]:
    from python_calamine import CalamineError, CalamineWorkbook

    path.open("rb").close()
    try:
        workbook = CalamineWorkbook.from_path(path)
        sheets = [
            (title, sheet.to_python(skip_empty_area=False), sheet.merged_cell_ranges or ())
            for title in workbook.sheet_names
            for sheet in (workbook.get_sheet_by_name(title),)
        ]
    except (CalamineError, ValueError, OSError) as error:
        return (Grid(name, (), (Problem(name, None, "", str(error), "is no workbook; expected an .xlsx file"),)),)
    blind = uncomputed(path)
    grids = []
    for title, rows, ranges in sheets:
        merged = tuple((top + 1, left + 1, bottom + 1, right + 1) for (top, left), (bottom, right) in ranges)
        lines = [[_cell(cell) for cell in row] for row in rows]
        written = [any(cells) for cells in lines]
        _fill_down(lines, merged)
        records = (
            Record(line, tuple(cells))
            for line, (cells, own) in enumerate(zip(lines, written, strict=True), start=1)
            if own  # else the line holds nothing but what is merged into it
        )
        problems = _no_values(name, blind.get(title, ()))
        grids.append(Grid(name, tuple(records), problems, title, merged))
    return tuple(grids) or (Grid(name, ()),)


def _fill_down(lines: Sequence[list[Cell]], merged: Sequence[tuple[int, int, int, int]]) -> None:
    """What is merged down over lines into each of them."""
    for top, left, bottom, _ in merged:
        for cells in lines[top:bottom]:
            if left <= len(cells) and top <= len(lines):
                cells[left - 1] = lines[top - 1][left - 1]


def _no_values(file: str, formulas: Sequence[Formula]) -> tuple[Problem, ...]:
    """A problem for each formula that nothing has computed; its cell reads as empty."""
    expected = "is a formula without a stored value; open and save the workbook in a spreadsheet, or write the value"
    return tuple(Problem(file, line, _letters(column), shown(formula), expected) for line, column, formula in formulas)


def _letters(column: int) -> str:
    """A for 1, AA for 27, as a spreadsheet names its columns."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _cell(value: object) -> Cell:
    if isinstance(value, datetime):
        return value
    if isinstance(value, date):
        return value
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return "" if value is None else str(value).strip()
