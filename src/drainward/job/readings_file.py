"""The readings of a job, readings.csv: one row a reading, every cell understood or the row refused.

REQUIRED, OPTIONAL, STAGES   the columns, and the stages at which one can read
read_readings_file           rows to readings
setup_of                     the set-up of a row that names none
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from pathlib import Path

from drainward.errors import Problem
from drainward.job.model import Instrument, Job, Reading, ReadingKind, UnitModel
from drainward.job.names import clean, name_key, nearest
from drainward.job.room_rows import RoomRow, read_room_rows
from drainward.job.table import RowReader
from drainward.quantity import Quantity, parse_length, parse_mass, parse_slope

__all__ = ["OPTIONAL", "REQUIRED", "STAGES", "read_readings_file", "setup_of"]

REQUIRED = ("room", "kind", "x", "y", "value")
OPTIONAL = ("when", "who", "instrument", "stage", "x2", "y2", "u", "weight", "note", "setup", "id")
STAGES = (
    *("survey", "receive", "way in", "dry set", "bed", "set"),
    *("fasten", "brace", "draft", "cure", "water test", "handover"),
)

_OUTSIDE = 1.0
"""How far beyond the unit a point may lie, m: the threshold and the floor before it are read too."""
_SHORTEST = 0.01
"""Two points nearer than this are one point, m."""
_TAP_U = 0.5
"""A tap is heard, not measured: half the step from hollow to sound."""
_EXAMPLES = {ReadingKind.TAP: "sound or hollow", ReadingKind.SLOPE: "such as 1/4 in/ft"}
_TAPS = {"sound": 1.0, "hollow": 0.0}
_LIMITS = {
    ReadingKind.HEIGHT: 5.0,
    ReadingKind.WEDGE: 0.3,
    ReadingKind.SLOPE: 0.3,
    ReadingKind.CHORD: 0.3,
    ReadingKind.PRESS: 0.05,
}
"""Beyond these a written unit is wrong, not a floor; m, and a ratio for a slope."""
_HEAVIEST = 500.0
_TWO_POINTS = (ReadingKind.WEDGE, ReadingKind.SLOPE, ReadingKind.CHORD)
_length = lru_cache(4096)(parse_length)
"""Places and values of a job repeat, and the parser is exact rather than quick."""


def read_readings_file(
    path: Path, job: Job, refused: frozenset[str]
) -> tuple[tuple[Reading, ...], tuple[Problem, ...]]:
    """The readings in file order, for the rooms, units and instruments of `job`. Nothing is raised.

    refused : name_key of rooms that are listed but could not be used; their readings wait and are told once a room.
    """
    instruments = {name_key(id): instrument for id, instrument in job.instruments.items()}
    return read_room_rows(
        path, (REQUIRED, OPTIONAL), job, refused, "a reading", lambda row: _reading(row, job.units, instruments)
    )


def setup_of(instrument: str, who: str, when: datetime | None) -> str:
    """One instrument in one pair of hands on one day is taken for one set-up, with one unknown datum."""
    return " | ".join((instrument, who, when.date().isoformat() if when else "undated"))


def _reading(row: RoomRow, units: Mapping[str, UnitModel], instruments: Mapping[str, Instrument]) -> Reading | None:
    """instruments : by name_key."""
    reader, room, when = row.reader, row.room, row.when
    kind = _kind(reader)
    stage = _stage(reader)
    if room is None or kind is None:
        return None
    points = _points(reader, kind, units[room.unit])
    value = _value(reader, kind)
    instrument = instruments.get(name_key(reader.text("instrument")))
    u = _u(reader, kind, instrument, instruments)
    weight = _weight(reader, kind)
    if reader.problems or points is None or value is None or u is None:
        return None
    name = instrument.id if instrument else clean(reader.text("instrument"))
    who = clean(reader.text("who"))
    return Reading(
        id=row.id,
        room=room.room,
        kind=kind,
        **points,
        value=value.value,
        u=u,
        weight=weight,
        written=value.written,
        setup=clean(reader.text("setup")) or setup_of(name, who, when),
        stage=stage,
        instrument=name,
        who=who,
        when=when,
        note=reader.text("note"),
        file=reader.file,
        line=reader.row.line,
    )


def _kind(reader: RowReader) -> ReadingKind | None:
    kinds = tuple(ReadingKind)
    written = reader.needed("kind", f"is missing; expected {', '.join(kinds)}")
    if name_key(written) in kinds:
        return ReadingKind(name_key(written))
    if written:
        reader.refuse("kind", f"is no kind of reading{nearest(written, kinds)}; expected {', '.join(kinds)}")
    return None


def _stage(reader: RowReader) -> str:
    written = name_key(reader.text("stage").removesuffix(" check")) or "draft"
    if written not in STAGES:
        reader.refuse("stage", f"is no stage{nearest(written, STAGES)}; expected {', '.join(STAGES)}")
    return written


def _points(reader: RowReader, kind: ReadingKind, unit: UnitModel) -> dict[str, float] | None:
    """x and y, and x2 and y2 for the kinds that have them, m; None when one was refused."""
    columns = ("x", "y", "x2", "y2") if kind in _TWO_POINTS else ("x", "y")
    points: dict[str, float] = {}
    for column in columns:
        room_for = unit.inside_width if column.startswith("x") else unit.inside_depth
        quantity = reader.quantity(column, _length, -_OUTSIDE, room_for + _OUTSIDE)
        if quantity is not None:
            points[column] = quantity.value
        elif not reader.text(column):
            reader.refuse(column, f"is missing; a {kind} needs {', '.join(columns)}")
    extra = next((column for column in ("x2", "y2") if column not in columns and reader.text(column)), None)
    if extra:
        reader.refuse(extra, f"is one point too many; a {kind} is read at x, y alone")
    if len(points) < len(columns):
        return None
    if kind in _TWO_POINTS and math.dist((points["x"], points["y"]), (points["x2"], points["y2"])) < _SHORTEST:
        reader.refuse("x2", f"is the same place as x, y; a {kind} is read between two points")
    return points


def _value(reader: RowReader, kind: ReadingKind) -> Quantity | None:
    if not reader.text("value"):
        reader.refuse("value", f"is missing; a {kind} is written {_EXAMPLES.get(kind, 'such as 3/16 in')}")
        return None
    if kind is ReadingKind.TAP:
        heard = _TAPS.get(name_key(reader.text("value")))
        if heard is None:
            reader.refuse("value", "is not what a tap tells; expected sound or hollow")
            return None
        return Quantity(heard, "1", reader.text("value"))
    parse = parse_slope if kind is ReadingKind.SLOPE else _length
    least = 0.0 if kind is ReadingKind.PRESS else -_LIMITS[kind]
    return reader.quantity("value", parse, least, _LIMITS[kind])


def _weight(reader: RowReader, kind: ReadingKind) -> float | None:
    """What pressed, kg; None where the row does not tell."""
    if kind is not ReadingKind.PRESS:
        if reader.text("weight"):
            reader.refuse("weight", f"stands beside a {kind}; only a press is made with a weight")
        return None
    written = reader.quantity("weight", parse_mass, 0.0, _HEAVIEST)
    if written is not None and written.value == 0:
        reader.refuse("weight", "presses nothing; expected such as 80 kg")
        return None
    return written.value if written else None


def _u(
    reader: RowReader, kind: ReadingKind, instrument: Instrument | None, known: Mapping[str, Instrument]
) -> float | None:
    """The standard uncertainty: as the row gives it, or as the instrument has it; a ratio for a slope, else m."""
    slope = kind is ReadingKind.SLOPE
    if kind is ReadingKind.TAP:
        if reader.text("u"):
            reader.refuse("u", "stands beside a tap, which is heard and not measured; leave it blank")
        return _TAP_U
    if reader.text("u"):
        written = reader.quantity("u", parse_slope if slope else _length, 0.0, _LIMITS[kind])
        if written is not None and written.value == 0:
            reader.refuse("u", "is no uncertainty; every reading has some")
        return written.value if written else None
    key = "u_slope" if slope else "u"
    found = getattr(instrument, key, None)
    if isinstance(found, float):
        return found
    written_name = reader.text("instrument")
    if instrument is not None:
        reader.refuse("u", f"is blank, and instrument {instrument.id} has no {key} in job.toml; give one of the two")
    elif written_name:
        hint = nearest(written_name, (item.id for item in known.values()))
        reader.refuse("instrument", f"is no instrument of job.toml{hint}, and u is blank")
    else:
        reader.refuse("u", "is blank, and no instrument is named that would give it")
    return None
