"""A room list as a builder keeps it, read into rooms: headers vary, title lines stand above, dates come in any order.

RoomList      the rooms, what each column was taken for, and the problems
read_rooms    a CSV or XLSX room list to a RoomList; nothing is written, so this is the dry run too
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from drainward.errors import Problem
from drainward.job.dates import day_order, read_date
from drainward.job.headers import NOTE, Column, header_score, take_columns
from drainward.job.model import Room, UnitModel
from drainward.job.names import clean, name_key, nearest, room_name
from drainward.job.records import Cell, Grid, Record, read_grids
from drainward.job.rooms_file import SURVEYED, find_unit
from drainward.job.table import Row, RowReader
from drainward.job.waiting import Waiting, in_order
from drainward.quantity import parse_length

__all__ = ["RoomList", "read_rooms"]

_LOOK_AT = 30
"""A header is looked for in so many rows from the top."""
_LARGEST = 100.0


@dataclass(frozen=True, slots=True)
class RoomList:
    """Rooms in the list's order; header_line counts from 1; day_first is how 3/4/2026 was read, None where refused."""

    rooms: tuple[Room, ...]
    mapping: tuple[Column, ...]
    problems: tuple[Problem, ...]
    file: str
    sheet: str = ""
    header_line: int | None = None
    day_first: bool | None = None

    def report(self) -> tuple[str, ...]:
        """What was understood, a line each: the header's place, every column, the order of dates, the count."""
        where = f'{self.file}, sheet "{self.sheet}"' if self.sheet else self.file
        if self.header_line is None:
            return (f"{where}: no row names the columns",)
        order = {True: "day first", False: "month first", None: "refused where both orders are possible"}
        return (
            f"{where}: columns named in line {self.header_line}",
            *map(str, self.mapping),
            f"dates such as 3/4/2026: {order[self.day_first]}",
            f"{len(self.rooms)} rooms, {len(self.problems)} problems",
        )


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
    scores = [_header(grid) for grid in grids]
    score, at = max(scores, key=lambda found: found[0])
    grid = grids[scores.index((score, at))]
    if score == 0:
        return RoomList((), (), grid.problems or (_no_header(grid),), grid.file, grid.sheet)
    header = grid.records[at]
    columns = take_columns(header.cells)
    problems = [*grid.problems, *_other_sheets(grid, grids, scores)]
    if not unit and "unit" not in {column.taken_for for column in columns}:
        expected = "name no column for the shower's model; expected one such as unit, model or shower type"
        problems.append(Problem(grid.file, header.line, "", ", ".join(c.header for c in columns), expected))
        return RoomList((), columns, tuple(problems), grid.file, grid.sheet, header.line, day_first)
    names = _unique([column.header for column in columns])
    rows = [_row(record, names) for record in grid.records[at + 1 :]]
    dates = [name for name, column in zip(names, columns, strict=True) if column.taken_for in ("ready", "due")]
    if day_first is None:
        day_first = day_order(row.get(name) for row in rows for name in dates)
    builder = _Builder(
        grid.file, dict(zip(names, columns, strict=True)), units, unit, partial(read_date, day_first=day_first)
    )
    rooms = builder.rooms(rows)
    problems = list(in_order([*problems, *builder.problems]))
    return RoomList(rooms, columns, tuple(problems), grid.file, grid.sheet, header.line, day_first)


def _header(grid: Grid) -> tuple[int, int]:
    """The best header among the first records: its score and its place."""
    scores = [header_score(record.cells) for record in grid.records[:_LOOK_AT]]
    best = max(scores, default=0)
    return best, scores.index(best) if scores else 0


def _no_header(grid: Grid) -> Problem:
    top = grid.records[0] if grid.records else None
    got = ", ".join(str(cell) for cell in top.cells if cell)[:60] if top else ""
    expected = "names no columns, nor does a row below it; expected headers such as Room, Level, Unit type, Ready, Due"
    return Problem(grid.file, top.line if top else None, "", got, expected)


def _other_sheets(grid: Grid, grids: Sequence[Grid], scores: Sequence[tuple[int, int]]) -> list[Problem]:
    others = [other.sheet for other, (score, _) in zip(grids, scores, strict=True) if score > 1 and other is not grid]
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

    def rooms(self, rows: Iterable[Row]) -> tuple[Room, ...]:
        """The rooms in order; a row without a usable room or unit is refused."""
        rooms: dict[str, Room] = {}
        waiting = Waiting(self.file, self._column("unit"))
        for row in rows:
            reader = RowReader(self.file, row)
            name = room_name(reader.needed(self._column("room"), "is missing; every room needs a name"))
            unit = self._unit(reader, waiting) if name else None
            if name_key(name) in rooms:
                reader.refuse(self._column("room"), "names a second room of this name; the first is kept")
            elif name and unit:
                rooms[name_key(name)] = self._room(reader, name, unit)
            self.problems += reader.problems
        self.problems += waiting.problems()
        return tuple(rooms.values())

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
