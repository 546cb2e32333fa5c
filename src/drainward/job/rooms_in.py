"""A room list as a builder keeps it, read into rooms: headers vary and may take two lines, title lines stand above,
notes and totals between, dates come in any order.

RoomList      the rooms, what each column and row was taken for, and the problems
count         a number of things in words
read_rooms    a CSV or XLSX room list to a RoomList; nothing is written, so this is the dry run too
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

from drainward.errors import Problem
from drainward.job.dates import day_order, read_date
from drainward.job.headers import NOTE, Column, header_score, join_headers, take_columns
from drainward.job.model import Room, UnitModel
from drainward.job.names import clean, name_key, nearest, room_name
from drainward.job.records import Cell, Grid, Record, read_grids
from drainward.job.rooms_file import SURVEYED, find_unit
from drainward.job.table import Row, RowReader
from drainward.job.text import shown
from drainward.job.waiting import Waiting, in_order
from drainward.quantity import format_length, parse_length

__all__ = ["RoomList", "count", "read_rooms"]

ASK = "say once which: --dates day-first or --dates month-first"
_NO_ROOM = {"total", "totals", "subtotal", "sum", "note", "notes", "nota", "notas", "remark", "remarks", "legend"}
"""A row whose room begins with one of these words is none."""
_LOOK_AT = 30
"""A header is looked for in so many rows from the top."""
_LARGEST = 100.0


@dataclass(frozen=True, slots=True)
class RoomList:
    """Rooms in the list's order; header_line counts from 1; day_first is how 3/4/2026 was read, None where refused.

    lines : of the rooms, one each;  passed : rows taken for a title, a note or a total, and why: read, but no rooms
    alike : rows refused for the same unit as one above, which `problems` tell once
    """

    rooms: tuple[Room, ...]
    mapping: tuple[Column, ...]
    problems: tuple[Problem, ...]
    file: str
    sheet: str = ""
    header_line: int | None = None
    day_first: bool | None = None
    lines: tuple[int, ...] = ()
    passed: tuple[Problem, ...] = ()
    alike: tuple[Problem, ...] = ()

    def report(self) -> tuple[str, ...]:
        """What was understood, a line each: the header's place, every column, the order of dates, the count."""
        where = f'{self.file}, sheet "{self.sheet}"' if self.sheet else self.file
        if self.header_line is None:
            return (f"{where}: no row names the columns",)
        order = {True: "day first", False: "month first", None: f"refused where both orders are possible; {ASK}"}
        return (
            f"{where}: columns named in line {self.header_line}",
            *map(str, self.mapping),
            f"dates such as 3/4/2026: {order[self.day_first]}",
            f"{count(len(self.rooms), 'room')}, {count(len(self.problems), 'problem')}"
            + (f", {count(len(self.passed), 'row')} without a room" if self.passed else ""),
        )

    def rows(self) -> tuple[tuple[int, str], ...]:
        """Row by row, as the list has them: the line, and what was read there or why nothing was."""
        told = [(line, _room_words(room)) for line, room in zip(self.lines, self.rooms, strict=True)]
        rest = (*self.passed, *self.problems, *self.alike)
        told += [(p.line, f'{_column_words(p)}"{p.got}" {p.expected}') for p in rest if p.line is not None]
        return tuple(sorted(told, key=lambda row: row[0]))


def read_rooms(
    path: Path, units: Mapping[str, UnitModel] | None = None, unit: str = "", day_first: bool | None = None
) -> RoomList:
    """The rooms of a list.

    units : the job's unit models, to which the list's names are held; None takes the names as they are
    unit : the model of rooms whose row names none
    day_first : how 3/4/2026 is read; None lets the list's other dates say it, and refuses where they do not
    A file that cannot be read gives no rooms and one problem; nothing is raised.
    """
    grids = read_grids(path, titled=True)
    headers = [_header(grid) for grid in grids]
    best = max(headers, key=lambda header: header.score)
    grid = grids[headers.index(best)]
    if best.score == 0:
        return RoomList((), (), grid.problems or (_no_header(grid),), grid.file, grid.sheet)
    columns = take_columns(best.cells)
    problems = [*grid.problems, *_other_sheets(grid, grids, [header.score for header in headers])]
    if not unit and "unit" not in {column.taken_for for column in columns}:
        expected = "name no column for the shower's model; expected one such as unit, model or shower type"
        problems.append(Problem(grid.file, best.line, "", ", ".join(c.header for c in columns), expected))
        return RoomList((), columns, tuple(problems), grid.file, grid.sheet, best.line, day_first)
    names = _unique([column.header for column in columns])
    rows = [_row(record, names) for record in grid.records[best.below :]]
    dates = [name for name, column in zip(names, columns, strict=True) if column.taken_for in ("ready", "due")]
    if day_first is None:
        day_first = day_order(row.get(name) for row in rows for name in dates)
    builder = _Builder(
        grid.file, dict(zip(names, columns, strict=True)), units, unit, partial(read_date, day_first=day_first)
    )
    rooms = builder.rooms(rows)
    problems = list(in_order([*problems, *builder.problems]))
    passed = tuple(builder.passed)
    return RoomList(
        rooms,
        columns,
        tuple(problems),
        grid.file,
        grid.sheet,
        best.line,
        day_first,
        tuple(builder.lines),
        passed,
        tuple(builder.alike),
    )


@dataclass(frozen=True, slots=True)
class _Header:
    """score : how many fields it names;  line : of its last row;  below : the first record after it."""

    score: int
    cells: tuple[Cell, ...] = ()
    line: int = 0
    below: int = 0


def _header(grid: Grid) -> _Header:
    """The best header among the first records: one row, or two where the upper one stands over groups of columns."""
    best = _Header(0)
    top = grid.records[:_LOOK_AT]
    for at, record in enumerate(top):
        score = header_score(record.cells)
        if score > best.score:
            best = _Header(score, record.cells, record.line, at + 1)
    for at, (upper, lower) in enumerate(pairwise(top)):
        cells = join_headers(_across(upper, grid), lower.cells)
        score = header_score(cells)
        if score > best.score:
            best = _Header(score, cells, lower.line, at + 2)
    return best


def _across(record: Record, grid: Grid) -> tuple[Cell, ...]:
    """The row with what is merged across written into each of its columns."""
    cells = list(record.cells)
    for top, left, bottom, right in grid.merged:
        if top <= record.line <= bottom:
            cells[left - 1 : right] = [cells[left - 1]] * len(cells[left - 1 : right])
    return tuple(cells)


def count(number: int, name: str) -> str:
    """Such as: 1 room, 3 rooms."""
    return f"{number} {name}{'' if number == 1 else 's'}"


def _column_words(problem: Problem) -> str:
    return f'column "{problem.field}": ' if problem.field else ""


def _room_words(room: Room) -> str:
    sizes = [f"surveyed {name} {format_length(size)}" for name, size in room.surveyed.items()]
    parts = (
        f"room {room.room}",
        f"floor {room.floor}" if room.floor else "",
        f"unit {room.unit}",
        f"ready {room.ready:%d %b %Y}" if room.ready else "",
        f"due {room.due:%d %b %Y}" if room.due else "",
        *sizes,
        f"note: {room.note}" if room.note else "",
    )
    return ", ".join(part for part in parts if part)


def _no_header(grid: Grid) -> Problem:
    top = grid.records[0] if grid.records else None
    got = ", ".join(str(cell) for cell in top.cells if cell)[:60] if top else ""
    expected = "names no columns, nor does a row below it; expected headers such as Room, Level, Unit type, Ready, Due"
    return Problem(grid.file, top.line if top else None, "", got, expected)


def _other_sheets(grid: Grid, grids: Sequence[Grid], scores: Sequence[int]) -> list[Problem]:
    others = [other.sheet for other, score in zip(grids, scores, strict=True) if score > 1 and other is not grid]
    expected = f'looks like a room list too and was not read; only sheet "{grid.sheet}" was'
    return [Problem(grid.file, None, "", sheet, expected) for sheet in others]


def _unique(headers: Sequence[str]) -> list[str]:
    """Headers as column names: unnamed and repeated ones get their column's number."""
    return [
        header if header and headers.index(header) == place else f"{header} (column {place + 1})".strip()
        for place, header in enumerate(headers)
    ]


def _row(record: Record, names: Sequence[str]) -> Row:
    beyond = [f"column {place + 1}" for place in range(len(names), len(record.cells))]
    return Row(record.line, dict(zip([*names, *beyond], record.cells, strict=False)))


@dataclass(slots=True)
class _Builder:
    """Rows to rooms; `problems` grows."""

    file: str
    columns: Mapping[str, Column]
    units: Mapping[str, UnitModel] | None
    unit: str
    read_date: Callable[[Cell], date]
    problems: list[Problem] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    passed: list[Problem] = field(default_factory=list)
    alike: list[Problem] = field(default_factory=list)

    def rooms(self, rows: Iterable[Row]) -> tuple[Room, ...]:
        """The rooms in order; a row without a usable room or unit is refused."""
        rooms: dict[str, Room] = {}
        waiting = Waiting(self.file, self._column("unit"))
        for row in rows:
            reader = RowReader(self.file, row)
            why = self._no_room(row)
            if why:
                got = next(str(cell) for cell in row.cells.values() if cell)
                self.passed.append(Problem(self.file, row.line, "", shown(got), why))
                continue
            name = room_name(reader.needed(self._column("room"), "is missing; every room needs a name"))
            unit = self._unit(reader, waiting) if name else None
            if name_key(name) in rooms:
                reader.refuse(self._column("room"), "names a second room of this name; the first is kept")
            elif name and unit:
                rooms[name_key(name)] = self._room(reader, name, unit)
                self.lines.append(row.line)
            self.problems += reader.problems
        self.problems += waiting.problems()
        return tuple(rooms.values())

    def _no_room(self, row: Row) -> str:
        """Why the row is no room; "" for one that is, or that should be and is not understood."""
        filled = [(name, str(cell)) for name, cell in row.cells.items() if cell != ""]
        words = re.findall(r"\w+", name_key(filled[0][1])) if filled else []
        if words and words[0] in _NO_ROOM:
            return "is a note or a total, and no room"
        names = [self.columns[name].taken_for for name, _ in filled if name in self.columns]
        alone = len(filled) == 1 and names in (["room"], [NOTE], [""]) and len(self.columns) > 1 and not self.unit
        if alone and (len(words) > 1 or not any(letter.isdigit() for letter in filled[0][1])):
            return "stands alone in its row: a heading or a note, and no room"
        return ""

    def _column(self, field: str) -> str:
        """The name of the column taken for the field, blank where there is none."""
        return next((name for name, column in self.columns.items() if column.taken_for == field), "")

    def _unit(self, reader: RowReader, waiting: Waiting) -> str | None:
        column = self._column("unit")
        written = clean(reader.text(column)) or self.unit
        if not written:
            reader.refuse(column, "is missing; expected the model of the shower unit")
            return None
        if self.units is None:
            return room_name(written)
        found = find_unit(written, self.units)
        if found is None:
            known = ", ".join(sorted(self.units)) or "a file units/NAME.toml first"
            expected = f"is no unit model of this job{nearest(written, self.units)}; expected {known}"
            if written in waiting.lines:
                same = f"is no unit model of this job, as in line {waiting.lines[written][0]}"
                self.alike.append(Problem(self.file, reader.row.line, self._column("unit"), shown(written), same))
            waiting.add(written, reader.row.line, expected)
        return found

    def _room(self, reader: RowReader, name: str, unit: str) -> Room:
        values: dict[str, Any] = {"room": name, "unit": unit, "surveyed": {}}
        notes = [reader.text(self._column(NOTE))]
        for column, taken in self.columns.items():
            if taken.taken_for in ("ready", "due"):
                values[taken.taken_for] = reader.parsed(column, self.read_date)
            elif taken.taken_for == "floor":
                values["floor"] = room_name(reader.text(column))
            elif taken.taken_for.startswith(SURVEYED):
                size = reader.quantity(column, partial(parse_length, default=taken.unit), 0.0, _LARGEST)
                if size is not None:
                    values["surveyed"][taken.taken_for.removeprefix(SURVEYED)] = size.value
            elif not taken.taken_for and reader.text(column):
                notes.append(f"{column}: {reader.text(column)}")
        for column in reader.row.cells.keys() - self.columns.keys():
            if reader.text(column):
                reader.refuse(column, "stands beyond the last named column and was passed over")
        return Room(**values, note="; ".join(note for note in notes if note))
