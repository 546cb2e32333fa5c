"""A CSV file that a person wrote and to which rows are added: its separator, line ends and order of columns are kept.

OpenTable     the file as it stands, and the bytes of rows in its hand
open_table    the file, or the beginning of one
replace_file  new content in a file's place at one stroke
"""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from drainward.errors import InputError, Problem
from drainward.job.records import Grid, separator_of, split_csv
from drainward.job.table import column_key
from drainward.job.text import file_label, read_lines

__all__ = ["OpenTable", "open_table", "replace_file"]


@dataclass(slots=True)
class OpenTable:
    """raw : the content; names : its columns; end : its line end."""

    raw: bytes
    grid: Grid
    names: list[str]
    separator: str
    end: str

    def widen(self, columns: Iterable[str]) -> bool:
        """Add the columns that the first line lacks; whether there were any.

        Raises InputError where cells beyond the last column would gain a name.
        """
        lacking = [column for column in columns if column not in self.names]
        if not lacking:
            return False
        header, *records = self.grid.records
        for record in records:
            if any(record.cells[len(header.cells) :]):
                raise _refused(self.grid.file, "has more cells than columns; mend this row first", record.line)
        parts = re.split(rb"(\r\n|\n|\r)", self.raw)
        parts[2 * (header.line - 1)] += "".join(self.separator + column for column in lacking).encode()
        self.raw = b"".join(parts)
        self.names += lacking
        return True

    def rows(self, rows: Iterable[Mapping[str, str]]) -> bytes:
        """What to write behind the content: the rows under the file's own columns, on lines of their own."""
        text = io.StringIO()
        writer = csv.writer(text, delimiter=self.separator, lineterminator=self.end)
        for row in rows:
            writer.writerow(
                row.get(name, "") if self.names.index(name) == place else "" for place, name in enumerate(self.names)
            )
        start = "" if self.raw.endswith((b"\n", b"\r")) else self.end
        return (start + text.getvalue()).encode()


def open_table(path: Path, columns: Sequence[str]) -> OpenTable:
    """The file's content, with `columns` as its first line where there is no file yet; nothing is written.

    Raises InputError where the file names no columns or holds no plain text, OSError where it cannot be read.
    """
    name = file_label(path)
    if not path.exists():
        line = ",".join(columns)
        return OpenTable(f"{line}\n".encode(), split_csv([line], name), list(columns), ",", "\n")
    raw, lines = path.read_bytes(), read_lines(path)
    if b"\0" in raw:
        raise _refused(name, "holds bytes that are no text; save it as CSV UTF-8 first")
    grid = split_csv(lines, name)
    if not grid.records:
        raise _refused(name, "names no columns; its first line names them")
    names = [column_key(cell) for cell in grid.records[0].cells]
    return OpenTable(raw, grid, names, separator_of(lines), "\r\n" if b"\r\n" in raw else "\n")


def replace_file(path: Path, data: bytes) -> None:
    """Put the data in the file's place at one stroke, on the disk before it counts."""
    beside = path.with_name(f".{path.name}.new")
    with beside.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)


def _refused(file: str, expected: str, line: int | None = None) -> InputError:
    return InputError((Problem(file, line, "", "", expected),))
