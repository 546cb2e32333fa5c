"""What was done when units were set, setting.csv: one row a thing done, every cell understood or the row refused.

REQUIRED, OPTIONAL   the columns
VALUED               the things that have a value, each with an example
read_setting_file    rows to events
read_setting         one row, or the fields of a form, to an event
parse_powder         powder as people say it: 100 lb, or 2-1/2 bags
parser_of, usual_u   how a value is written, and its standard uncertainty where none is
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, time
from functools import partial
from pathlib import Path

from drainward.errors import Problem, QuantityError
from drainward.job.model import Instrument, Job, Room, SettingEvent, Work
from drainward.job.names import clean, name_key, nearest
from drainward.job.room_rows import read_room_rows
from drainward.job.survey_file import instruments_of
from drainward.job.table import RowReader
from drainward.quantity import (
    INCH,
    Quantity,
    parse_length,
    parse_mass,
    parse_temperature,
    parse_temperature_step,
)
from drainward.quantity.number import clean as plain
from drainward.quantity.number import read_number

__all__ = [
    "OPTIONAL",
    "REQUIRED",
    "VALUED",
    "parse_powder",
    "parser_of",
    "read_setting",
    "read_setting_file",
    "usual_u",
]

REQUIRED = ("room", "when", "what")
OPTIONAL = ("value", "u", "who", "instrument", "note", "id")

_BAGS = re.compile(r"(?P<number>[^a-z]*) ?(?:bags?|sacos?)")
_U_TEMPERATURE = 1.0
"""Standard uncertainty of a thermometer held to a slab, K; common practice, no source."""
_U_AIR = 3.0
"""Of a slab's temperature told by the air over it, K; common practice, no source."""
_U_POWDER = 0.02
"""Of powder weighed or counted in parts of bags, share of it; common practice, no source."""
_U_LENGTH = INCH / 16
"""Of a tape, where no instrument is named, m; common practice, no source."""

_LENGTHS = (Work.GAP_UNDER_THRESHOLD, Work.HEAD_OVER_DRAIN, Work.HEAD_OVER_THRESHOLD)
_TEMPERATURES = (Work.SLAB_TEMPERATURE, Work.AIR_TEMPERATURE)


@dataclass(frozen=True, slots=True)
class Valued:
    """low, high : of the value, SI; beyond them a written unit is wrong;  most_u : of its uncertainty, SI."""

    low: float
    high: float
    most_u: float
    example: str


VALUED: Mapping[Work, Valued] = {
    Work.MORTAR_USED: Valued(0.0, 500.0, 50.0, "100 lb or 2 bags"),
    Work.GAP_UNDER_THRESHOLD: Valued(0.0, 0.15, 0.02, "3/4 in"),
    Work.SLAB_TEMPERATURE: Valued(-30.0, 60.0, 10.0, "62 °F"),
    Work.AIR_TEMPERATURE: Valued(-30.0, 60.0, 10.0, "62 °F"),
    Work.HEAD_OVER_DRAIN: Valued(0.5, 6.0, 0.1, "96-1/4 in"),
    Work.HEAD_OVER_THRESHOLD: Valued(0.5, 6.0, 0.1, "95-1/2 in"),
}


def read_setting_file(
    path: Path, job: Job, refused: frozenset[str]
) -> tuple[tuple[SettingEvent, ...], tuple[Problem, ...]]:
    """The events in file order, for the rooms, instruments and bags of `job`. Nothing is raised.

    refused : name_key of rooms that are listed but could not be used; their rows wait and are told once a room.
    """
    return read_room_rows(
        path,
        (REQUIRED, OPTIONAL),
        job,
        refused,
        "what was done",
        lambda row: None if row.room is None else read_setting(row.reader, job, row.room, row.id, row.when),
    )


def read_setting(reader: RowReader, job: Job, room: Room, id: str, when: datetime | None) -> SettingEvent | None:
    """The event that the cells of the columns say; None where the reader refused one."""
    what = _what(reader)
    if when is None and not reader.text("when"):
        reader.refuse("when", "is missing; expected date and time of day, such as 2026-03-14 09:30")
    elif when is not None and when.time() == time():
        reader.refuse("when", "has no time of day, and the cure counts hours; expected such as 2026-03-14 09:30")
    if what is None:
        return None
    written_name = reader.text("instrument")
    instrument = instruments_of(job).get(name_key(written_name))
    value, u = _value(reader, what, job.materials.mortar.bag_mass, instrument)
    if reader.problems or when is None:
        return None
    return SettingEvent(
        id=id,
        room=room.room,
        what=what,
        value=value,
        u=u,
        written=reader.text("value"),
        instrument=instrument.id if instrument else clean(written_name),
        who=clean(reader.text("who")),
        when=when,
        note=reader.text("note"),
        file=reader.file,
        line=reader.row.line,
    )


def _what(reader: RowReader) -> Work | None:
    written = reader.needed("what", f"is missing; expected {', '.join(Work)}")
    if name_key(written) in tuple(Work):
        return Work(name_key(written))
    if written:
        reader.refuse("what", f"is nothing that is done to a bed{nearest(written, Work)}; expected {', '.join(Work)}")
    return None


def _value(
    reader: RowReader, what: Work, bag: float, instrument: Instrument | None
) -> tuple[float | None, float | None]:
    """The value and its standard uncertainty, SI; None and None where there is none, or a cell was refused."""
    asked = VALUED.get(what)
    if asked is None:
        for column in ("value", "u"):
            if reader.text(column):
                reader.refuse(column, f"says nothing of {what}; leave it blank")
        return None, None
    parse = parser_of(what, bag)
    value = None
    if reader.needed("value", f"is missing; {what} is written such as {asked.example}"):
        value = reader.quantity("value", parse, asked.low, asked.high)
    step = parse_temperature_step if what in _TEMPERATURES else parse
    u = reader.quantity("u", step, 0.0, asked.most_u)
    if u is not None and u.value == 0:
        reader.refuse("u", "is no uncertainty; every measure has some")
    if value is None:
        return None, None
    if what is Work.MORTAR_USED and value.value == 0:
        reader.refuse("value", "is nothing; expected more than 0")
        return None, None
    return value.value, u.value if u else usual_u(what, value.value, instrument)


def usual_u(what: Work, value: float, instrument: Instrument | None) -> float:
    """The standard uncertainty of a value that was written without one, SI."""
    if what in _LENGTHS:
        return instrument.u if instrument is not None and instrument.u is not None else _U_LENGTH
    if what is Work.MORTAR_USED:
        return _U_POWDER * value
    return _U_AIR if what is Work.AIR_TEMPERATURE else _U_TEMPERATURE


def parser_of(what: Work, bag: float) -> Callable[[str], Quantity]:
    """How the value of a thing is written; bag : mass of a bag, kg."""
    if what is Work.MORTAR_USED:
        return partial(parse_powder, bag=bag)
    return parse_length if what in _LENGTHS else parse_temperature


def parse_powder(text: str, bag: float) -> Quantity:
    """Powder in kilograms, written as a mass or in bags of `bag` kg. Raises QuantityError."""
    counted = _BAGS.fullmatch(plain(text))
    if counted is None:
        try:
            return parse_mass(text)
        except QuantityError as error:
            raise QuantityError(error.text, f"{error.expected}; or in bags, such as 2-1/2 bags") from None
    return Quantity(float(read_number(text, counted["number"].strip())) * bag, "kg", text)
