"""The job folder, read as a whole.

Loaded   the job and every problem met
load     folder to job: what is good is kept, what is not is named with its file and line
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from drainward.errors import InputError, Problem
from drainward.job.delivered_file import read_delivered_file
from drainward.job.job_in import FILE, read_job
from drainward.job.model import Job, UnitModel
from drainward.job.names import clean, name_key, nearest
from drainward.job.readings_file import read_readings_file
from drainward.job.received_file import read_received_file
from drainward.job.rooms_file import Rooms, read_rooms_file
from drainward.job.setting_file import read_setting_file
from drainward.job.survey_file import read_survey_file
from drainward.job.text import file_label
from drainward.job.unit_in import read_unit
from drainward.job.water_file import read_water_file

__all__ = ["Loaded", "load"]


@dataclass(frozen=True, slots=True)
class Loaded:
    """A job as far as it could be read."""

    job: Job
    problems: tuple[Problem, ...]


def load(folder: Path) -> Loaded:
    """The job of a folder, in SI.

    Raises InputError only when the folder is missing, or its job.toml is missing or no TOML.
    """
    if not folder.is_dir():
        raise InputError((Problem(str(folder), None, "", "", "is no folder; expected one with a job.toml"),))
    job, problems = read_job(folder)
    units, broken, unit_problems = _units(folder)
    rooms = _rooms(folder, units, broken)
    job = job.model_copy(update={"units": units, "rooms": rooms.rooms})
    problems += unit_problems + rooms.problems
    problems += _no_rooms(job)
    if (folder / "readings.csv").exists():
        readings, found = read_readings_file(folder / "readings.csv", job, rooms.refused)
        job, problems = job.model_copy(update={"readings": readings}), problems + found
    if (folder / "water.csv").exists():
        tests, found = read_water_file(folder / "water.csv", job, rooms.refused)
        job, problems = job.model_copy(update={"water_tests": tests}), problems + found
    if (folder / "survey.csv").exists():
        measures, found = read_survey_file(folder / "survey.csv", job, rooms.refused)
        job, problems = job.model_copy(update={"survey": measures}), problems + found
    if (folder / "received.csv").exists():
        sizes, found = read_received_file(folder / "received.csv", job, rooms.refused)
        job, problems = job.model_copy(update={"received": sizes}), problems + found
    if (folder / "setting.csv").exists():
        done, found = read_setting_file(folder / "setting.csv", job, rooms.refused)
        job, problems = job.model_copy(update={"setting": done}), problems + found
    if (folder / "delivered.csv").exists():
        came, found = read_delivered_file(folder / "delivered.csv")
        job, problems = job.model_copy(update={"delivered": came}), problems + found
    return Loaded(job, problems)


def _no_rooms(job: Job) -> tuple[Problem, ...]:
    """Rooms that job.toml names and no list has."""
    known = [room.room for room in job.rooms]
    keys = {name_key(room) for room in known}
    named = {f"corrections.{room}": room for room in job.corrections} | {"calendar.first": job.calendar.first}
    return tuple(
        Problem(FILE, None, field, room, f"is no room of this job{nearest(room, known)}")
        for field, room in named.items()
        if room and known and name_key(room) not in keys
    )


def _units(folder: Path) -> tuple[dict[str, UnitModel], frozenset[str], tuple[Problem, ...]]:
    """Unit models by id, the names of those refused, and why."""
    units: dict[str, UnitModel] = {}
    broken: set[str] = set()
    problems: list[Problem] = []
    try:
        paths = sorted(path for path in (folder / "units").iterdir() if path.suffix.lower() == ".toml")
    except OSError as error:
        return {}, frozenset(), (Problem("units", None, "", error.strerror or "error", "while opening the folder"),)
    for path in paths:
        name = file_label(path, folder)
        unit, found = read_unit(path, name)
        problems += found
        if unit is None:
            broken.add(name_key(clean(path.stem)))
        elif name_key(unit.id) in {name_key(id) for id in units}:
            expected = "is the id of another unit model; this file was not used"
            problems.append(Problem(name, None, "id", unit.id, expected))
        else:
            units[unit.id] = unit
    if not paths:
        problems.append(Problem("units", None, "", "", "holds no unit model; expected a file NAME.toml"))
    return units, frozenset(broken), tuple(problems)


def _rooms(folder: Path, units: dict[str, UnitModel], broken: frozenset[str]) -> Rooms:
    table, workbook = folder / "rooms.csv", folder / "rooms.xlsx"
    if table.exists():
        rooms = read_rooms_file(table, units, broken)
        if not workbook.exists():
            return rooms
        both = Problem(workbook.name, None, "", "", "stands beside rooms.csv and was not read; expected one of the two")
        return Rooms(rooms.rooms, rooms.refused, (both, *rooms.problems))
    if workbook.exists():
        return read_rooms_file(workbook, units, broken)
    return Rooms((), frozenset(), (Problem(table.name, None, "", "", "is missing; expected rooms.csv or rooms.xlsx"),))
