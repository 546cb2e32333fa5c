"""Rows that each say one thing of a room and count once: what readings.csv, water.csv, survey.csv, received.csv and
setting.csv have in common.

RoomRow          one row: its cells, its room, its time and its id
read_room_rows   the rows of such a file, each made into what it says
instruments_of   the instruments that a row may name
"""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from pathlib import Path
from typing import TypeVar

from drainward.errors import Problem
from drainward.job.dates import read_when
from drainward.job.model import Instrument, Job, Measure, Reading, Received, Room, SettingEvent, WaterTest
from drainward.job.names import clean, name_key, nearest, room_name
from drainward.job.records import read_grid
from drainward.job.table import RowReader, tabulate
from drainward.job.waiting import Waiting, in_order

__all__ = ["RoomRow", "instruments_of", "read_room_rows"]

_SPACE = uuid.UUID("6f1c6a0e-7f0b-5d43-9a5e-0c3d6f0b8a11")

Entry = TypeVar("Entry", bound=Reading | WaterTest | Measure | Received | SettingEvent)


@dataclass(frozen=True, slots=True)
class RoomRow:
    """room : None where the row names none that can be used;  id : as written, or made from what the row says."""

    reader: RowReader
    room: Room | None
    when: datetime | None
    id: str


@dataclass(frozen=True, slots=True)
class _Rooms:
    """Rooms by name_key, and rows that name another."""

    known: Mapping[str, Room]
    refused: frozenset[str]
    waiting: Waiting


def read_room_rows(
    path: Path,
    columns: tuple[Sequence[str], Sequence[str]],
    job: Job,
    refused: frozenset[str],
    once: str,
    make: Callable[[RoomRow], Entry | None],
) -> tuple[tuple[Entry, ...], tuple[Problem, ...]]:
    """What the rows say, in file order, and what is wrong with them. Nothing is raised.

    columns : the needed ones and the others; `room`, `when` and `id` are among them
    refused : name_key of rooms that are listed but could not be used; rows of theirs wait and are told once a room
    once    : what one row is, as messages call it: "a reading"
    make    : what a row says, or None where it refused a cell
    """
    required, optional = columns
    table = tabulate(read_grid(path), required, optional)
    problems = list(table.problems)
    rooms = _Rooms({name_key(room.room): room for room in job.rooms}, refused, Waiting(table.file, "room"))
    found: dict[str, Entry] = {}
    seen: Counter[str] = Counter()
    for row in table.rows:
        reader = RowReader(table.file, row)
        content = "\x1f".join(f"{column}={row.get(column)}" for column in (*required, *optional))
        seen[content] += 1
        entry = make(_room_row(reader, rooms, content, seen[content], once))
        if entry is not None and entry.id in found:
            reader.refuse("id", f"stands already in line {found[entry.id].line}; expected one of its own")
        elif entry is not None:
            found[entry.id] = entry
        problems += reader.problems
    problems += rooms.waiting.problems()
    return tuple(found.values()), in_order(problems)


def instruments_of(job: Job) -> dict[str, Instrument]:
    """The instruments of the job by name_key."""
    return {name_key(id): instrument for id, instrument in job.instruments.items()}


def _room_row(reader: RowReader, rooms: _Rooms, content: str, copy: int, once: str) -> RoomRow:
    room = _room(reader, rooms)
    when = reader.parsed("when", read_when)
    id = clean(reader.text("id"))
    if copy > 1 and when is not None and when.time() != time() and not id:
        reader.refuse("when", f"makes this row the same as one above to the minute; {once} counts once")
    return RoomRow(reader, room, when, id or str(uuid.uuid5(_SPACE, f"{content}\x1f{copy}")))


def _room(reader: RowReader, rooms: _Rooms) -> Room | None:
    written = reader.needed("room", "is missing; expected a room of rooms.csv")
    key = name_key(room_name(written))
    room = rooms.known.get(key)
    if room is None and key in rooms.refused:
        rooms.waiting.add(room_name(written), reader.row.line, "is a room whose own row was refused")
    elif room is None and written:
        names = [room.room for room in rooms.known.values()]
        rooms.waiting.add(room_name(written), reader.row.line, f"is no room of this job{nearest(written, names)}")
    return room
