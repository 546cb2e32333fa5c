"""One reading more at the end of a job folder's readings.csv, which a person may have written.

append_reading_csv   append, synced to the disk before it returns
"""

from __future__ import annotations

import os
from pathlib import Path

from drainward.job.model import Reading
from drainward.job.open_table import open_table, replace_file
from drainward.job.text import read_lines
from drainward.job.write import READING_COLUMNS, reading_cells

__all__ = ["append_reading_csv"]


def append_reading_csv(folder: Path, reading: Reading) -> int:
    """Append the reading and return its line.

    The file keeps its separator, its line ends and the order of its columns; columns that it lacks are added to its
    first line. A missing file is begun. Raises InputError where the file names no columns or cannot be added to,
    OSError where it cannot be written.
    """
    path = folder / "readings.csv"
    begun = path.exists()
    table = open_table(path, READING_COLUMNS)
    cells = reading_cells(reading, {})
    widened = table.widen(column for column in READING_COLUMNS if cells[column])
    row = table.rows([cells])
    if widened or not begun:
        replace_file(path, table.raw + row)
    else:
        _sync(path, row)
    return len(read_lines(path)) - 1


def _sync(path: Path, data: bytes) -> None:
    """Append in one write and wait for the disk."""
    with path.open("ab", buffering=0) as file:
        file.write(data)
        os.fsync(file.fileno())
