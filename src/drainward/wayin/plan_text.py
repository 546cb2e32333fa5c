"""plan.csv as it is written, and a storey of it written anew: what nobody touched stays as it stands, to the letter.

PlanText     the lines of a plan.csv, with the rows of each storey
PlanRow      one row: its cells by column, as written, and its point where that is understood
Written      a plan with one storey written anew, and the line of each row
plan_text    a file, or nothing, to a PlanText
write_plan   one storey's rows into it
floors_of    the storeys that it names
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from drainward.errors import Problem
from drainward.job.names import clean, name_key
from drainward.job.records import separator_of, split_csv
from drainward.job.table import RowReader, tabulate
from drainward.job.text import read_lines
from drainward.quantity import parse_length
from drainward.wayin.plan import KINDS, OPTIONAL, REQUIRED

__all__ = ["COLUMNS", "PlanRow", "PlanText", "Written", "floors_of", "plan_text", "write_plan"]

FILE = "plan.csv"
FAR = 300.0
"""No point of a storey lies farther out, m: a slip of the unit does."""
COLUMNS = ("floor", *REQUIRED[:1], "name", *REQUIRED[1:], *(name for name in OPTIONAL if name not in ("floor", "name")))
"""Of a plan that is begun here."""


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A row of a plan.

    line  : where it stands; None for a new one
    cells : by column, as written; of a row to be written, None keeps it as it stands
    point : x, y, m; None where the row is no point that is understood
    """

    line: int | None
    cells: Mapping[str, str] | None
    point: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class PlanText:
    """A plan.csv, line by line.

    columns : of the first line, by their keys;  rows : in file order;  floors : the storey of each row, as written
    problems : why its rows cannot be told apart at all; then nothing of it can be written anew
    """

    lines: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[PlanRow, ...]
    floors: tuple[str, ...]
    separator: str = ","
    line_end: str = "\n"
    mark: str = ""
    problems: tuple[Problem, ...] = ()

    def storey(self, floor: str) -> tuple[PlanRow, ...]:
        """The rows of a storey."""
        own = zip(self.rows, self.floors, strict=True)
        return tuple(row for row, of in own if name_key(of) == name_key(floor))


@dataclass(frozen=True, slots=True)
class Written:
    """text : of the whole file;  lines : in it, of each row that was given, in their order."""

    text: str
    lines: tuple[int, ...]


def plan_text(path: Path) -> PlanText:
    """The file's rows; of a file that is not there, a plan without any. Raises OSError where it cannot be opened."""
    if not path.exists():
        return PlanText((), COLUMNS, (), ())
    raw = path.read_bytes()
    lines = read_lines(path)
    while lines and not lines[-1]:
        lines.pop()
    grid = split_csv(lines, FILE)
    table = tabulate(grid, REQUIRED, OPTIONAL)
    read = {row.line: row for row in table.rows}
    at = table.columns.index("floor") if "floor" in table.columns else None
    rows, floors = [], []
    for record in grid.records[1:]:
        row = read.get(record.line)
        cells = {name: str(cell) for name, cell in zip(table.columns, record.cells, strict=False) if name and cell}
        reader = None if row is None else RowReader(FILE, row)
        rows.append(PlanRow(record.line, cells, None if reader is None else _point(reader)))
        floors.append(clean(str(record.cells[at])) if at is not None and at < len(record.cells) else "")
    headless = bool(grid.records) and not set(REQUIRED) <= set(table.columns)
    return PlanText(
        tuple(lines),
        table.columns or COLUMNS,
        tuple(rows),
        tuple(floors),
        separator_of(lines),
        "\r\n" if b"\r\n" in raw else "\n",
        "\ufeff" if raw.startswith("\ufeff".encode()) else "",
        table.problems if headless else (),
    )


def _point(reader: RowReader) -> tuple[float, float] | None:
    if name_key(reader.text("kind")) not in KINDS:
        return None
    x, y = (reader.quantity(column, parse_length, -FAR, FAR) for column in ("x", "y"))
    return None if x is None or y is None else (x.value, y.value)


def floors_of(text: PlanText) -> tuple[str, ...]:
    """Its storeys as they are first written, in file order."""
    return tuple({name_key(floor): floor for floor in reversed(text.floors)}.values())[::-1]


def write_plan(text: PlanText, floor: str, rows: Sequence[PlanRow]) -> Written:
    """The plan with `rows` as the rows of a storey.

    A row that stands keeps its line, and its words where its cells are the same; a new one comes below the row that is
    given before it, if both are of one thing, else at the end. Rows of the storey that are not given are gone.
    All else stays.
    Raises ValueError where a row says that it stands in a line that is no row of the storey, or twice in one.
    """
    standing = {row.line: row for row in text.storey(floor)}
    given = [row.line for row in rows if row.line is not None]
    if len(set(given)) < len(given) or not set(given) <= set(standing):
        raise ValueError(f'a row is given for a line that is no row of floor "{floor}", or twice for one')
    columns = _columns(text, rows)
    below, by_line = _below(rows), {row.line: n for n, row in enumerate(rows) if row.line is not None}
    out: list[str] = []
    written: dict[int, int] = {}

    def put(numbers: Iterable[int]) -> None:
        for n in numbers:
            written[n] = len(out) + 1
            out.append(_row(columns, rows[n].cells or {}, text.separator))

    if not text.lines:
        out.append(text.separator.join(columns))
    for number, lines in _stretches(text):
        n = by_line.get(number)
        if n is None and number not in standing:
            out += lines
        elif n is not None:
            written[n] = len(out) + 1
            cells = rows[n].cells
            out += lines if cells is None or _same(cells, standing[number].cells) else [
                _row(columns, cells, text.separator)
            ]  # fmt: skip
            put(below.get(n, ()))
    header = 1 if text.lines and text.lines[0].lower().startswith("sep=") else 0
    if text.lines and len(columns) > len(text.columns):
        out[header] = text.separator.join((out[header], *columns[len(text.columns) :]))
    put(below.get(None, ()))
    ended = text.mark + text.line_end.join((*out, ""))
    return Written(ended, tuple(written[n] for n in range(len(rows))))


def _stretches(text: PlanText) -> Iterable[tuple[int, list[str]]]:
    """The file, row by row and line by line where there is no row; a quoted cell may run over several lines."""
    begins = {row.line for row in text.rows}
    at = 0
    while at < len(text.lines):
        number, end = at + 1, at + 1
        if number in begins and text.lines[at].count('"') % 2:
            end = next(k + 1 for k in range(at + 1, len(text.lines)) if text.lines[k].count('"') % 2)
        yield number, list(text.lines[at:end])
        at = end


def _below(rows: Sequence[PlanRow]) -> dict[int | None, list[int]]:
    """Which new rows come below which row that stands; below None, those at the end."""
    found: dict[int | None, list[int]] = {}
    anchor, thing = None, None
    for n, row in enumerate(rows):
        own = (name_key((row.cells or {}).get("kind", "")), name_key((row.cells or {}).get("name", "")))
        if row.line is not None:
            anchor = n
        else:
            anchor = anchor if own == thing else None
            found.setdefault(anchor, []).append(n)
        thing = own
    return found


def _columns(text: PlanText, rows: Iterable[PlanRow]) -> tuple[str, ...]:
    """The file's columns, then those that it lacks and a row fills."""
    filled = {name for row in rows if row.cells for name, cell in row.cells.items() if cell}
    return (*text.columns, *(name for name in COLUMNS if name in filled and name not in text.columns))


def _same(cells: Mapping[str, str], standing: Mapping[str, str] | None) -> bool:
    return {name: cell for name, cell in cells.items() if cell} == dict(standing or {})


def _row(columns: Sequence[str], cells: Mapping[str, str], separator: str) -> str:
    line = io.StringIO()
    csv.writer(line, delimiter=separator, lineterminator="").writerow([cells.get(name, "") for name in columns])
    return line.getvalue()
