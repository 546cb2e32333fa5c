"""What was measured and seen of the units as they arrived, received.csv: one row a size, or the damage.

REQUIRED, OPTIONAL   the columns
read_received_file   rows to sizes and damage
read_received        one row, or the fields of a form, to one of them
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from drainward.errors import Problem
from drainward.job.model import Job, Received, Room, Size, UnitModel
from drainward.job.names import clean, name_key, nearest
from drainward.job.photos import find_photo, photo_names
from drainward.job.room_rows import RoomRow, instruments_of, read_room_rows
from drainward.job.survey_file import length_u
from drainward.job.table import RowReader
from drainward.job.written import length_text
from drainward.quantity import parse_length

__all__ = ["OPTIONAL", "REQUIRED", "read_received", "read_received_file", "sheet_size"]

REQUIRED = ("room", "what", "value")
OPTIONAL = ("when", "who", "instrument", "u", "photo", "note", "id")

_OFF = 0.0762
"""A size farther from the cut sheet is a slip, or another unit, m."""


def read_received_file(
    path: Path, job: Job, refused: frozenset[str]
) -> tuple[tuple[Received, ...], tuple[Problem, ...]]:
    """The rows in file order, for the rooms, units and instruments of `job`. Nothing is raised.

    refused : name_key of rooms that are listed but could not be used; their rows wait and are told once a room.
    A photograph that cannot be used is told, and the row kept without it.
    """
    folder, names = path.parent, photo_names(path.parent)
    return read_room_rows(
        path, (REQUIRED, OPTIONAL), job, refused, "a row", lambda row: _received(row, job, folder, names)
    )


def _received(row: RoomRow, job: Job, folder: Path, names: Sequence[str]) -> Received | None:
    size = None if row.room is None else read_received(row.reader, job, row.room, row.id, row.when)
    if size is None:
        return None
    photo = row.reader.parsed("photo", lambda cell: find_photo(folder, names, str(cell)))
    return size.model_copy(update={"photo": photo or ""})


def read_received(reader: RowReader, job: Job, room: Room, id: str, when: datetime | None) -> Received | None:
    """What the cells of the columns say, without its photograph; None where the reader refused one."""
    what = _what(reader)
    if what is None:
        return None
    instruments = instruments_of(job)
    instrument = instruments.get(name_key(reader.text("instrument")))
    value: float | None
    u: float | None = None
    if what is Size.DAMAGE:
        written = reader.needed("value", "is missing; expected none, or the damage in words")
        value = 0.0 if name_key(written) == "none" else 1.0
        if reader.text("u"):
            reader.refuse("u", "stands beside damage, which is seen and not measured; leave it blank")
    else:
        value, written = _size(reader, what, job.units[room.unit])
        u = length_u(reader, instruments)
    if reader.problems or value is None:
        return None
    return Received(
        id=id,
        room=room.room,
        what=what,
        value=value,
        u=u,
        written=written,
        instrument=instrument.id if instrument else clean(reader.text("instrument")),
        who=clean(reader.text("who")),
        when=when,
        note=reader.text("note"),
        file=reader.file,
        line=reader.row.line,
    )


def _what(reader: RowReader) -> Size | None:
    written = reader.needed("what", f"is missing; expected {', '.join(Size)}")
    if name_key(written) in tuple(Size):
        return Size(name_key(written))
    if written:
        reader.refuse("what", f"is nothing asked of a unit{nearest(written, Size)}; expected {', '.join(Size)}")
    return None


def _size(reader: RowReader, what: Size, unit: UnitModel) -> tuple[float | None, str]:
    sheet = sheet_size(unit, what)
    if not reader.needed("value", f"is missing; the cut sheet says {length_text(sheet)}"):
        return None, ""
    quantity = reader.quantity("value", parse_length, 0.0, 5.0)
    if quantity is None:
        return None, ""
    if abs(quantity.value - sheet) > _OFF:
        says = f"is more than {length_text(_OFF)} off the cut sheet of {unit.id}, {length_text(sheet)}"
        reader.refuse("value", f"{says}; check the tape, and whether it is that unit")
    return quantity.value, quantity.written


def sheet_size(unit: UnitModel, what: Size) -> float:
    """A size as the cut sheet has it, m. Raises ValueError for damage, which no sheet gives."""
    found = {
        Size.OUTSIDE_WIDTH: unit.outside_width,
        Size.OUTSIDE_DEPTH: unit.outside_depth,
        Size.OUTSIDE_HEIGHT: unit.outside_height,
        Size.INSIDE_WIDTH: unit.inside_width,
        Size.INSIDE_DEPTH: unit.inside_depth,
        Size.THRESHOLD_HEIGHT: unit.threshold_height,
        Size.DRAIN_X: unit.drain.x,
        Size.DRAIN_Y: unit.drain.y,
        Size.FLANGE_WIDTH: unit.flange.width,
    }.get(what)
    if found is None:
        raise ValueError(f"no cut sheet gives {what}")
    return found
