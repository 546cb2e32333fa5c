"""Rooms more at the end of a job folder's rooms.csv, which a person may have written.

add_rooms_csv   add them, all or none
"""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from drainward.errors import InputError, Problem
from drainward.job.model import Room
from drainward.job.records import separator_of, split_csv
from drainward.job.rooms_file import OPTIONAL, REQUIRED, SURVEYED
from drainward.job.table import column_key
from drainward.job.text import read_lines
from drainward.job.written import length_text

__all__ = ["add_rooms_csv"]

_NAME = "rooms.csv"


def add_rooms_csv(folder: Path, rooms: Sequence[Room]) -> None:
    """Add rooms that the file does not hold yet; the rows that stand in it stay as they are, byte for byte.

    Columns that it lacks are added to its first line. A missing file is begun. The file is replaced at one stroke, so
    that it holds all of the rooms or none. Raises InputError where the file names no columns or cannot be added to, or
    where rooms.xlsx holds the rooms; OSError where it cannot be written.
    """
    if (folder / "rooms.xlsx").exists():
        raise _refused("rooms.xlsx", "holds the rooms; save it as rooms.csv first")
    path, cells = folder / _NAME, [_cells(room) for room in rooms]
    begun = ",".join((*REQUIRED, *OPTIONAL)).encode()
    raw, lines = (path.read_bytes(), read_lines(path)) if path.exists() else (begun, [begun.decode()])
    grid = split_csv(lines, _NAME)
    if not grid.records:
        raise _refused(_NAME, "names no columns; its first line names them")
    if b"\0" in raw:
        raise _refused(_NAME, "holds bytes that are no text; save it as CSV UTF-8 first")
    header, separator, end = grid.records[0], separator_of(lines), "\r\n" if b"\r\n" in raw else "\n"
    names = [column_key(cell) for cell in header.cells]
    lacking = [name for name in dict.fromkeys(key for row in cells for key in row if row[key]) if name not in names]
    if lacking and any(any(record.cells[len(names) :]) for record in grid.records[1:]):
        raise _refused(_NAME, "has a row with more cells than columns; mend it first")
    parts = re.split(rb"(\r\n|\n|\r)", raw)
    parts[2 * (header.line - 1)] += "".join(separator + name for name in lacking).encode()
    if parts[-1]:
        parts.append(end.encode())
    rows = ([row.get(name, "") for name in (*names, *lacking)] for row in cells)
    _replace(path, b"".join(parts) + _csv(rows, separator, end))


def _cells(room: Room) -> dict[str, str]:
    """The row of a room, by column."""
    return {
        "room": room.room,
        "unit": room.unit,
        "floor": room.floor,
        "ready": room.ready.isoformat() if room.ready else "",
        "due": room.due.isoformat() if room.due else "",
        **{SURVEYED + name: length_text(size) for name, size in room.surveyed.items()},
        "note": " ".join(room.note.split()),
    }


def _csv(rows: Iterable[Sequence[str]], separator: str, end: str) -> bytes:
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator=end).writerows(rows)
    return text.getvalue().encode()


def _replace(path: Path, data: bytes) -> None:
    """Put new content in the file's place at one stroke, on the disk before it counts."""
    beside = path.with_name(f".{path.name}.new")
    with beside.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)


def _refused(file: str, expected: str) -> InputError:
    return InputError((Problem(file, None, "", "", expected),))
