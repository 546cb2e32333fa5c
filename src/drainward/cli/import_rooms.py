"""`drainward import`: rooms from a builder's list into the job's rooms.csv."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from drainward.cli.answer import complain, emit
from drainward.cli.exits import ExitCode, Finished, bad_use
from drainward.errors import InputError, Problem
from drainward.job import Room, load
from drainward.job.add_rooms import add_rooms_csv
from drainward.job.names import name_key
from drainward.job.rooms_in import RoomList, count, read_rooms

__all__ = ["run"]

_ORDERS = {"": None, "day-first": True, "month-first": False}


def run(path: Path, folder: Path, dry_run: bool, dates: str, as_json: bool) -> None:
    """Say what each column was taken for, add the rooms that the job does not hold, and name those it refuses.

    dry_run : write nothing, and say row by row what was read;  dates : how 3/4/2026 is read, "" where the list says it
    A room that stands in the job already is kept as it is. Raises InputError where the job's own rooms.csv has rows
    that cannot be read: it is mended first, or a room might come in twice.
    """
    if dates not in _ORDERS:
        bad_use(f'no order of dates "{dates}"; expected day-first or month-first')
    loaded = load(folder)
    own = tuple(problem for problem in loaded.problems if problem.file.startswith("rooms."))
    begun = (folder / "rooms.csv").exists() or (folder / "rooms.xlsx").exists()
    if own and begun:
        raise InputError(own)
    found = read_rooms(path, loaded.job.units, day_first=_ORDERS[dates])
    added, differing = _sort(found, loaded.job.rooms)
    if added and not dry_run:
        add_rooms_csv(folder, added)
    problems = (*found.problems, *differing)
    if as_json:
        _emit(added, problems, found, dry_run)
    else:
        word = "would be added to" if dry_run else "added to"
        shown = [f"line {line}: {words}" for line, words in found.rows()] if dry_run else _passed(found)
        sys.stdout.write("\n".join([f"{count(len(added), 'room')} {word} rooms.csv", *found.report(), *shown]) + "\n")
        # the dry run has said row by row what is wrong in it
        complain([problem for problem in problems if not dry_run or problem.line is None])
    raise Finished(ExitCode.BAD_INPUT if problems else ExitCode.MEETS)


def _passed(found: RoomList) -> list[str]:
    """The rows taken for a title, a note or a total."""
    return [f'line {row.line}: "{row.got}" {row.expected}' for row in found.passed]


def _sort(found: RoomList, standing: Sequence[Room]) -> tuple[list[Room], list[Problem]]:
    """The rooms that are new, and a problem for each that the job holds with other values."""
    known = {name_key(room.room): room for room in standing}
    added: list[Room] = []
    problems: list[Problem] = []
    for room in found.rooms:
        old = known.get(name_key(room.room))
        if old is None:
            added.append(room)
            continue
        fields = [
            name for name in ("unit", "floor", "ready", "due", "surveyed") if getattr(old, name) != getattr(room, name)
        ]
        if fields:
            expected = f"stands in rooms.csv with another {', '.join(fields)}; it was kept as it is"
            problems.append(Problem(found.file, None, "", room.room, expected))
    return added, problems


def _emit(added: Sequence[Room], problems: Sequence[Problem], found: RoomList, dry_run: bool) -> None:
    emit(
        {
            "schema": 1,
            "room": None,
            "stage": "import",
            "verdict": None,
            "findings": [],
            "dry_run": dry_run,
            "added": [room.model_dump(mode="json") for room in added],
            "rows": [{"line": line, "read": words} for line, words in found.rows()],
            "columns": [{"header": column.header, "taken_for": column.taken_for} for column in found.mapping],
        },
        problems,
    )
