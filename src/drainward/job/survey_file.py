"""The survey of the pockets of a job, survey.csv: one row a measure, every cell understood or the row refused.

REQUIRED, OPTIONAL   the columns
PLACES               the columns that say where, by what is measured: the needed ones and those that may stand
read_survey_file     rows to measures
read_measure         one row, or the fields of a form, to a measure
length_u             the standard uncertainty of a length, as the row or the instrument gives it
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from drainward.errors import Problem
from drainward.job.model import Instrument, Job, Measure, Room, What
from drainward.job.names import clean, name_key, nearest
from drainward.job.readings_file import setup_of
from drainward.job.room_rows import instruments_of, read_room_rows
from drainward.job.table import RowReader
from drainward.quantity import INCH, parse_length

__all__ = ["OPTIONAL", "PLACES", "REQUIRED", "length_u", "read_measure", "read_survey_file"]

REQUIRED = ("room", "what", "value")
OPTIONAL = ("when", "who", "instrument", "wall", "x", "y", "z", "x2", "y2", "u", "note", "setup", "id")

Wall = Literal["", "left", "back", "right"]
_SIDES: tuple[Wall, ...] = ("left", "right")
_WALLS: tuple[Wall, ...] = ("left", "back", "right")
_SLACK = 1.0
"""How far beyond the unit a place may lie, m: the slab before the opening is read too."""
_HIGHEST = 6.0


@dataclass(frozen=True, slots=True)
class Places:
    """needed, may : columns of the place;  walls : those that `wall` may name, () where it stays blank

    Where `wall` is needed, `along` stands for x on the back wall and y on a side wall, and `along 2` for x2 and y2.
    low, high : of the value, m;  example : as a message shows it
    """

    needed: tuple[str, ...]
    may: tuple[str, ...]
    walls: tuple[Wall, ...]
    low: float
    high: float
    example: str


PLACES: Mapping[What, Places] = {
    What.WIDTH: Places(("y", "z"), (), (), 0.3, 5.0, "61-3/4 in"),
    What.DEPTH: Places(("x", "z"), (), (), 0.3, 5.0, "37-5/8 in"),
    What.DIAGONAL: Places(("z",), (), _SIDES, 0.3, 7.0, "72-1/4 in"),
    What.PLUMB: Places(("along", "z"), (), _WALLS, -0.1, 0.1, "3/16 in"),
    What.SQUARE: Places(("y",), ("z",), _SIDES, -0.1, 0.1, "-1/8 in"),
    What.STUD: Places((), ("z",), _WALLS, 0.0, 5.0, "16 in"),
    What.SLAB: Places(("x", "y"), (), (), -5.0, 5.0, "-41-3/16 in"),
    What.CORE: Places((), (), (), 0.02, 0.6, "6 in"),
    What.CORE_FROM_LEFT: Places((), (), (), 0.0, 5.0, "30-3/4 in"),
    What.CORE_FROM_BACK: Places((), (), (), 0.0, 5.0, "18-3/4 in"),
    What.RECESS_WIDTH: Places((), (), (), 0.0, 5.0, "10 in"),
    What.RECESS_DEPTH: Places((), (), (), 0.0, 5.0, "10 in"),
    What.RECESS_DEEP: Places((), (), (), 0.0, 0.5, "1-1/2 in"),
    What.BUILD_UP: Places((), (), (), 0.0, 0.3, "3/8 in"),
    What.BLOCKING: Places(("along", "along 2", "z"), (), _WALLS, 0.01, 1.5, "9-1/4 in"),
    What.DOOR_WIDTH: Places((), (), (), 0.3, 3.0, "32 in"),
    What.CEILING: Places((), (), (), 1.5, _HIGHEST, "96 in"),
}
"""Beyond low and high a written unit is wrong, not a pocket."""


def read_survey_file(path: Path, job: Job, refused: frozenset[str]) -> tuple[tuple[Measure, ...], tuple[Problem, ...]]:
    """The measures in file order, for the rooms, units and instruments of `job`. Nothing is raised.

    refused : name_key of rooms that are listed but could not be used; their measures wait and are told once a room.
    """
    return read_room_rows(
        path,
        (REQUIRED, OPTIONAL),
        job,
        refused,
        "a measure",
        lambda row: None if row.room is None else read_measure(row.reader, job, row.room, row.id, row.when),
    )


def read_measure(reader: RowReader, job: Job, room: Room, id: str, when: datetime | None) -> Measure | None:
    """The measure that the cells of the columns say; None where the reader refused one."""
    what = _what(reader)
    if what is None:
        return None
    asked, unit = PLACES[what], job.units[room.unit]
    wall = _wall(reader, what)
    needed, may = _columns(asked, wall)
    places: dict[str, float] = {}
    most = {"x": unit.outside_width + _SLACK, "y": unit.outside_depth + _SLACK, "z": _HIGHEST}
    for column in ("x", "y", "z", "x2", "y2"):
        if column not in (*needed, *may):
            if reader.text(column) and not (asked.walls and not wall):
                reader.refuse(column, f"says nothing of {what}; expected {_list(needed, may)}")
            continue
        low = 0.0 if column == "z" or what is not What.SLAB else -_SLACK
        quantity = reader.quantity(column, parse_length, low, most[column[0]])
        if quantity is not None:
            places[column] = quantity.value
        elif column in needed and not reader.text(column):
            reader.refuse(column, f"is missing; {what} needs {', '.join(needed)}")
    _one_way(reader, what, places)
    value = None
    if reader.needed("value", f"is missing; {what} is written such as {asked.example}"):
        value = reader.quantity("value", parse_length, asked.low, asked.high)
    instruments = instruments_of(job)
    u = length_u(reader, instruments)
    if reader.problems or value is None or u is None:
        return None
    instrument = instruments.get(name_key(reader.text("instrument")))
    name = instrument.id if instrument else clean(reader.text("instrument"))
    who = clean(reader.text("who"))
    return Measure(
        id=id,
        room=room.room,
        what=what,
        wall=wall,
        **places,
        value=value.value,
        u=u,
        written=value.written,
        setup=clean(reader.text("setup")) or (setup_of(name, who, when) if what is What.SLAB else ""),
        instrument=name,
        who=who,
        when=when,
        note=reader.text("note"),
        file=reader.file,
        line=reader.row.line,
    )


def _what(reader: RowReader) -> What | None:
    written = reader.needed("what", f"is missing; expected {', '.join(What)}")
    if name_key(written) in tuple(What):
        return What(name_key(written))
    if written:
        reader.refuse("what", f"is nothing that a survey measures{nearest(written, What)}; expected {', '.join(What)}")
    return None


def _wall(reader: RowReader, what: What) -> Wall:
    written, walls = name_key(reader.text("wall")), PLACES[what].walls
    found = next((wall for wall in walls if wall == written), None)
    if found:
        return found
    if written and not walls:
        reader.refuse("wall", f"says nothing of {what}; leave it blank")
    elif walls:
        reader.refuse("wall", f"is {f'no wall of {what}' if written else 'missing'}; expected {' or '.join(walls)}")
    return ""


def _columns(asked: Places, wall: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The needed columns and those that may stand; none of the wall's own where the wall is not known."""
    along = {"": "", "back": "x"}.get(wall, "y")

    def own(names: tuple[str, ...]) -> tuple[str, ...]:
        given = (name.replace("along 2", f"{along}2").replace("along", along) for name in names)
        return tuple(name for name in given if name not in ("", "2"))

    return own(asked.needed), own(asked.may)


def _list(needed: tuple[str, ...], may: tuple[str, ...]) -> str:
    return ", ".join((*needed, *may)) or "no place"


def _one_way(reader: RowReader, what: What, places: Mapping[str, float]) -> None:
    """What runs from a place to another has some length; so has the base of a square."""
    for column in ("x", "y"):
        if f"{column}2" in places and places[f"{column}2"] <= places.get(column, -1.0):
            reader.refuse(f"{column}2", f"is not beyond {column}; {what} runs from {column} to {column}2")
    if what is What.SQUARE and 0 <= places.get("y", 1.0) < 4 * INCH:
        reader.refuse("y", "is too short a base; expected how far from the corner it was read, such as 24 in")
    if what is What.PLUMB and 0 <= places.get("z", 1.0) < 4 * INCH:
        reader.refuse("z", "is too low; expected the height over the foot at which it was read, such as 72 in")


def length_u(reader: RowReader, instruments: Mapping[str, Instrument]) -> float | None:
    """The standard uncertainty of a length, m: as the row gives it, or as the instrument has it."""
    if reader.text("u"):
        written = reader.quantity("u", parse_length, 0.0, 0.1)
        if written is not None and written.value == 0:
            reader.refuse("u", "is no uncertainty; every measure has some")
        return written.value if written else None
    written_name = reader.text("instrument")
    instrument = instruments.get(name_key(written_name))
    if instrument is not None and instrument.u is not None:
        return instrument.u
    if instrument is not None:
        reader.refuse("u", f"is blank, and instrument {instrument.id} has no u in job.toml; give one of the two")
    elif written_name:
        hint = nearest(written_name, (item.id for item in instruments.values()))
        reader.refuse("instrument", f"is no instrument of job.toml{hint}, and u is blank")
    else:
        reader.refuse("u", "is blank, and no instrument is named that would give it")
    return None
