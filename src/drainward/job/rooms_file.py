"""The rooms of a job: rooms.csv, or rooms.xlsx.

REQUIRED, OPTIONAL, SURVEYED   the columns
Rooms                          the rooms, the names that were refused, and the problems
read_rooms_file                rows to rooms
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from drainward.errors import Problem
from drainward.job.dates import read_date
from drainward.job.model import Room, UnitModel
from drainward.job.names import clean, name_key, nearest, room_name
from drainward.job.records import read_grid
from drainward.job.table import RowReader, tabulate
from drainward.job.waiting import Waiting, in_order
from drainward.quantity import parse_length

__all__ = ["OPTIONAL", "REQUIRED", "SURVEYED", "Rooms", "find_unit", "read_rooms_file"]

REQUIRED = ("room", "unit")
OPTIONAL = ("floor", "ready", "due", "note")
SURVEYED = "surveyed "
"""A column whose name starts so holds a surveyed size; the rest of the name is the size's name."""

_LARGEST = 100.0
"""No surveyed size is larger, m."""


@dataclass(frozen=True, slots=True)
class Rooms:
    """`refused` are the names of rooms that the file holds but that could not be used, by name_key."""

    rooms: tuple[Room, ...]
    refused: frozenset[str]
    problems: tuple[Problem, ...]


def read_rooms_file(path: Path, units: Mapping[str, UnitModel], broken: frozenset[str]) -> Rooms:
    """The rooms in file order. broken : name_key of unit models whose file was refused. Nothing is raised.

    A row without a usable room or unit is refused; a refused date or size is left blank and the room kept.
    """
    table = tabulate(read_grid(path), REQUIRED, OPTIONAL, SURVEYED)
    problems = list(table.problems)
    rooms: dict[str, Room] = {}
    refused: set[str] = set()
    waiting = Waiting(table.file, "unit")
    sizes = [name for name in table.columns if name.startswith(SURVEYED)]
    for row in table.rows:
        reader = RowReader(table.file, row)
        name = room_name(reader.needed("room", "is missing; every room needs a name"))
        unit = _unit(reader, units, broken, waiting)
        if name and name_key(name) in rooms:
            reader.refuse("room", "names a second room of this name; the first is kept")
        elif name and unit:
            rooms[name_key(name)] = _room(reader, name, unit, sizes)
        elif name:
            refused.add(name_key(name))
        problems += reader.problems
    problems += waiting.problems()
    return Rooms(tuple(rooms.values()), frozenset(refused - rooms.keys()), in_order(problems))


def find_unit(written: str, units: Mapping[str, UnitModel]) -> str | None:
    """The id of the unit model that is meant, by id or by name, whatever the capitals."""
    key = name_key(room_name(written))
    by_id = [id for id in units if name_key(id) == key]
    found = by_id or [id for id, unit in units.items() if name_key(unit.name) == key]
    return found[0] if len(found) == 1 else None


def _unit(reader: RowReader, units: Mapping[str, UnitModel], broken: frozenset[str], waiting: Waiting) -> str | None:
    written = reader.needed("unit", "is missing; expected the id of a unit model")
    if not written:
        return None
    unit = find_unit(written, units)
    if unit is None and name_key(written) in broken:
        waiting.add(clean(written), reader.row.line, "is a unit model whose file was refused")
    elif unit is None:
        known = ", ".join(sorted(units)) or "a file units/NAME.toml"
        expected = f"is no unit model of this job{nearest(written, units)}; expected {known}"
        waiting.add(clean(written), reader.row.line, expected)
    return unit


def _room(reader: RowReader, name: str, unit: str, sizes: list[str]) -> Room:
    surveyed = {}
    for column in sizes:
        size = reader.quantity(column, parse_length, 0.0, _LARGEST)
        if size is not None:
            surveyed[column.removeprefix(SURVEYED)] = size.value
    return Room(
        room=name,
        floor=room_name(reader.text("floor")),
        unit=unit,
        ready=reader.parsed("ready", read_date),
        due=reader.parsed("due", read_date),
        surveyed=surveyed,
        note=reader.text("note"),
    )
