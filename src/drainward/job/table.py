"""A table with named columns, and the reading of one row cell by cell with every refusal kept.

Row          one row: its line and its cells by column name
Table        the rows under a header, and what is wrong with the header
tabulate     Grid to Table for a header that the job folder fixes
RowReader    cells to values; collects problems instead of raising
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from drainward.errors import Problem, QuantityError
from drainward.job.names import name_key, nearest
from drainward.job.records import Cell, Grid, Record
from drainward.job.text import shown
from drainward.quantity.number import fraction_hint
from drainward.quantity.value import Quantity

__all__ = ["Row", "RowReader", "Table", "column_key", "tabulate"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Row:
    """One row; columns without a cell are absent."""

    line: int
    cells: Mapping[str, Cell]

    def get(self, column: str) -> Cell:
        return self.cells.get(column, "")


@dataclass(frozen=True, slots=True)
class Table:
    """Rows in file order; `columns` as the header names them."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]


def column_key(cell: Cell) -> str:
    """A column's name without capitals, doubled blanks or underscores."""
    return name_key(str(cell).replace("_", " "))


def tabulate(grid: Grid, required: Sequence[str], optional: Sequence[str], prefix: str = "") -> Table:
    """Rows under the first record, which names the columns.

    required, optional : the names that are understood; prefix : any name that starts so is understood too
    Missing required columns give one problem and no rows; a header repeated further down is passed over.
    """
    if not grid.records:
        return Table(grid.file, (), (), grid.problems)
    header, *body = grid.records
    names = tuple(column_key(cell) for cell in header.cells)
    known = (*required, *optional)
    problems = list(grid.problems)
    missing = [name for name in required if name not in names]
    if missing:
        expected = f"names no column {_quoted(missing)}; the first line names the columns: {', '.join(known)}"
        problems.append(Problem(grid.file, header.line, "", _joined(header), expected))
        return Table(grid.file, names, (), tuple(problems))
    for name in dict.fromkeys(names):
        if name and name not in known and not (prefix and name.startswith(prefix)):
            expected = f"is no column here and is passed over{nearest(name, known)}; expected {', '.join(known)}"
            problems.append(Problem(grid.file, header.line, name, name, expected))
        elif name and names.count(name) > 1:
            expected = f"names {names.count(name)} columns; expected one"
            problems.append(Problem(grid.file, header.line, name, name, expected))
    rows = []
    for record in body:
        if _repeats(record, names):
            continue
        row = _row(record, names, grid.file)
        if isinstance(row, Problem):
            problems.append(row)
        else:
            rows.append(row)
    return Table(grid.file, names, tuple(rows), tuple(problems))


def _repeats(record: Record, names: Sequence[str]) -> bool:
    """Whether the row is the header once more; its first cell tells nearly always."""
    keys = (column_key(cell) for cell in record.cells)
    return len(record.cells) == len(names) and all(key == name for key, name in zip(keys, names, strict=True))


def _row(record: Record, names: Sequence[str], file: str) -> Row | Problem:
    if any(record.cells[len(names) :]):
        counted = f"has {len(record.cells)} cells under {len(names)} columns"
        expected = f"{counted}; a cell that holds a separator stands in quotation marks"
        return Problem(file, record.line, "", _joined(record), expected)
    cells: dict[str, Cell] = {}
    for name, cell in zip(names, record.cells, strict=False):
        if cell == "":
            continue
        if name in cells and cells[name] != cell:
            both = shown(f"{cells[name]} | {cell}")
            return Problem(file, record.line, name, both, "stands in two columns of one name; expected one")
        cells[name] = cell
    return Row(record.line, cells)


def _joined(record: Record) -> str:
    return shown(" | ".join(str(cell) for cell in record.cells))


def _quoted(names: Sequence[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


@dataclass(slots=True)
class RowReader:
    """Reads one row; `problems` is empty when every cell asked for was good."""

    file: str
    row: Row
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, column: str, expected: str, got: str | None = None) -> None:
        """Note that the cell is not usable."""
        text = str(self.row.get(column)) if got is None else got
        self.problems.append(Problem(self.file, self.row.line, column, shown(text), expected))

    def text(self, column: str) -> str:
        """The cell as one line of text, blank where it is missing."""
        return " ".join(str(self.row.get(column)).split())

    def needed(self, column: str, expected: str) -> str:
        """The cell as text; a blank one is refused."""
        text = self.text(column)
        if not text:
            self.refuse(column, expected)
        return text

    def parsed(self, column: str, parse: Callable[[Cell], T]) -> T | None:
        """What `parse` makes of the cell; None where the cell is blank or refused."""
        cell = self.row.get(column)
        if cell == "":
            return None
        try:
            return parse(cell)
        except QuantityError as error:
            self.refuse(column, error.expected, error.text)
            return None

    def quantity(self, column: str, parse: Callable[[str], Quantity], low: float, high: float) -> Quantity | None:
        """A quantity within [low, high], SI; None where the cell is blank or refused."""

        def read(cell: Cell) -> Quantity:
            if isinstance(cell, date):
                hint = "is a date where a quantity belongs: a spreadsheet makes one of 3/16; format the column as text"
                raise QuantityError(str(cell), hint + fraction_hint(cell))
            quantity = parse(cell)
            if not low <= quantity.value <= high:
                unit = "" if quantity.unit == "1" else f" {quantity.unit}"
                given, expected = f"{_plain(quantity.value)}{unit}", f"{_plain(low)} to {_plain(high)}{unit}"
                raise QuantityError(cell, f"is {given}; expected {expected}; check the unit")
            return quantity

        return self.parsed(column, read)


def _plain(number: float) -> str:
    """Four digits, and no power of ten behind a large number."""
    return f"{number:.0f}" if abs(number) >= 1000 else f"{number:.4g}"
