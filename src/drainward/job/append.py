"""One row more at the end of a job folder's table, which a person may have written; on the disk when this returns.

append_reading_csv   a reading to readings.csv
append_water_csv     a water test to water.csv
append_measure_csv   a measure to survey.csv
append_received_csv  a size or the damage of a unit to received.csv
append_setting_csv   what was done when a unit was set to setting.csv
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from drainward.job.model import Measure, Reading, Received, SettingEvent, WaterTest
from drainward.job.open_table import open_table, replace_file
from drainward.job.setting_out import SETTING_COLUMNS, setting_cells
from drainward.job.survey_out import MEASURE_COLUMNS, RECEIVED_COLUMNS, measure_cells, received_cells
from drainward.job.text import read_lines
from drainward.job.water_out import WATER_COLUMNS, water_cells
from drainward.job.write import READING_COLUMNS, reading_cells

__all__ = ["append_measure_csv", "append_reading_csv", "append_received_csv", "append_setting_csv", "append_water_csv"]


def append_reading_csv(folder: Path, reading: Reading) -> int:
    """Append the reading and return its line.

    The file keeps its separator, its line ends and the order of its columns; columns that it lacks are added to its
    first line. A missing file is begun. Raises InputError where the file names no columns or cannot be added to,
    OSError where it cannot be written.
    """
    return _append(folder / "readings.csv", READING_COLUMNS, reading_cells(reading, {}))


def append_water_csv(folder: Path, test: WaterTest) -> int:
    """Append the water test and return its line; all else as for a reading."""
    return _append(folder / "water.csv", WATER_COLUMNS, water_cells(test))


def append_measure_csv(folder: Path, measure: Measure) -> int:
    """Append the measure and return its line; all else as for a reading."""
    return _append(folder / "survey.csv", MEASURE_COLUMNS, measure_cells(measure, {}))


def append_received_csv(folder: Path, size: Received) -> int:
    """Append the size or the damage and return its line; all else as for a reading."""
    return _append(folder / "received.csv", RECEIVED_COLUMNS, received_cells(size, {}))


def append_setting_csv(folder: Path, event: SettingEvent, bag: float) -> int:
    """Append what was done and return its line; all else as for a reading. bag : mass of a bag of mortar, kg."""
    return _append(folder / "setting.csv", SETTING_COLUMNS, setting_cells(event, {}, bag))


def _append(path: Path, columns: Sequence[str], cells: Mapping[str, str]) -> int:
    begun = path.exists()
    table = open_table(path, columns)
    widened = table.widen(column for column in columns if cells[column])
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
