"""One reading more at the end of a job folder's readings.csv, which a person may have written.

append_reading_csv   append, synced to the disk before it returns
"""

from __future__ import annotations

import csv
import io
import os
import re
from pathlib import Path

from drainward.errors import InputError, Problem
from drainward.job.model import Reading
from drainward.job.records import Grid, Record, separator_of, split_csv
from drainward.job.table import column_key
from drainward.job.text import read_lines
from drainward.job.write import READING_COLUMNS, reading_cells

__all__ = ["append_reading_csv"]

_NAME = "readings.csv"


def append_reading_csv(folder: Path, reading: Reading) -> int:
    """Append the reading and return its line.

    The file keeps its separator, its line ends and the order of its columns; columns that it lacks are added to its
    first line. A missing file is begun. Raises InputError where the file names no columns or cannot be added to,
    OSError where it cannot be written.
    """
    path = folder / _NAME
    cells = reading_cells(reading, {})
    if not path.exists():
        _sync(path, _line(READING_COLUMNS, ",", "\n").encode())
    raw = path.read_bytes()
    if b"\0" in raw:
        raise _refused("holds bytes that are no text; save it as CSV UTF-8 first")
    lines = read_lines(path)
    grid = split_csv(lines, _NAME)
    if not grid.records:
        raise _refused("names no columns; its first line names them")
    separator, end = separator_of(lines), "\r\n" if b"\r\n" in raw else "\n"
    header = grid.records[0]
    names = [column_key(cell) for cell in header.cells]
    lacking = [column for column in READING_COLUMNS if cells[column] and column not in names]
    if lacking:
        raw = _widened(raw, grid, header, separator, lacking)
        _replace(path, raw)
        names += lacking
    first = names.index
    row = ["" if first(name) != place else cells.get(name, "") for place, name in enumerate(names)]
    start = "" if not raw or raw.endswith((b"\n", b"\r")) else end
    _sync(path, (start + _line(row, separator, end)).encode())
    return len(read_lines(path)) - 1


def _widened(raw: bytes, grid: Grid, header: Record, separator: str, lacking: list[str]) -> bytes:
    """The file with columns added to its first line; refused where cells beyond the last column would gain a name."""
    width = len(header.cells)
    for record in grid.records[1:]:
        if any(record.cells[width:]):
            raise _refused("has more cells than columns; mend this row first", record.line)
    parts = re.split(rb"(\r\n|\n|\r)", raw)
    at = 2 * (header.line - 1)
    parts[at] += (separator + separator.join(lacking)).encode()
    return b"".join(parts)


def _line(cells: list[str] | tuple[str, ...], separator: str, end: str) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator=end).writerow(cells)
    return text.getvalue()


def _sync(path: Path, data: bytes) -> None:
    """Append in one write and wait for the disk."""
    with path.open("ab", buffering=0) as file:
        file.write(data)
        os.fsync(file.fileno())


def _replace(path: Path, data: bytes) -> None:
    """Put new content in the file's place at one stroke."""
    beside = path.with_name(f".{path.name}.new")
    with beside.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)


def _refused(expected: str, line: int | None = None) -> InputError:
    return InputError((Problem(_NAME, line, "", "", expected),))
