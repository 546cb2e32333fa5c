"""Rooms more at the end of a job folder's rooms.csv, which a person may have written.

add_rooms_csv   add them, all or none
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from drainward.errors import InputError, Problem
from drainward.job.model import Room
from drainward.job.open_table import open_table, replace_file
from drainward.job.rooms_file import OPTIONAL, REQUIRED
from drainward.job.write import room_cells

__all__ = ["add_rooms_csv"]


def add_rooms_csv(folder: Path, rooms: Sequence[Room]) -> None:
    """Add rooms that the file does not hold yet; the rows that stand in it stay as they are, byte for byte.

    Columns that it lacks are added to its first line. A missing file is begun. The file is replaced at one stroke, so
    that it holds all of the rooms or none. Raises InputError where the file names no columns or cannot be added to, or
    where rooms.xlsx holds the rooms; OSError where it cannot be written.
    """
    if (folder / "rooms.xlsx").exists():
        raise InputError((Problem("rooms.xlsx", None, "", "", "holds the rooms; save it as rooms.csv first"),))
    path = folder / "rooms.csv"
    table = open_table(path, (*REQUIRED, *OPTIONAL))
    rows = [room_cells(room) for room in rooms]
    table.widen(dict.fromkeys(column for row in rows for column, cell in row.items() if cell))
    replace_file(path, table.raw + table.rows(rows))
