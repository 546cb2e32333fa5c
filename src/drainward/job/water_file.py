"""The water tests of a job, water.csv: one row a test, every cell understood or the row refused.

REQUIRED, OPTIONAL   the columns
read_water_file      rows to water tests
read_test            one row, or the fields of a form, to a water test
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from drainward.errors import Problem
from drainward.job.model import Job, Pattern, Puddle, Room, UnitModel, WaterTest
from drainward.job.names import clean, name_key, nearest
from drainward.job.photos import find_photo, photo_names
from drainward.job.puddles import SLACK, parse_puddles
from drainward.job.room_rows import RoomRow, read_room_rows
from drainward.job.table import RowReader
from drainward.job.written import duration_text
from drainward.quantity import (
    Quantity,
    parse_duration,
    parse_flow,
    parse_length,
    parse_temperature,
    parse_volume,
)

__all__ = ["OPTIONAL", "REQUIRED", "read_test", "read_water_file"]

REQUIRED = ("room", "poured")
OPTIONAL = (
    *("when", "who", "over", "how", "x", "y", "drained", "puddles"),
    *("soap", "hottest", "flow", "photo", "note", "id"),
)

# Beyond these a written unit is wrong, not a water test; SI.
_POURED = 0.2
_OVER = 3_600.0
_DRAINED = 86_400.0
_HOTTEST = 100.0
_FLOW = 0.01

_SOAP = {"yes": True, "y": True, "no": False, "n": False, "": False}
_stopwatch = partial(parse_duration, stopwatch=True)


def read_water_file(path: Path, job: Job, refused: frozenset[str]) -> tuple[tuple[WaterTest, ...], tuple[Problem, ...]]:
    """The water tests in file order, for the rooms and units of `job`. Nothing is raised.

    refused : name_key of rooms that are listed but could not be used; their tests wait and are told once a room.
    A photograph that cannot be used is told, and the test kept without it.
    """
    folder, names = path.parent, photo_names(path.parent)
    return read_room_rows(
        path, (REQUIRED, OPTIONAL), job, refused, "a water test", lambda row: _test(row, job, folder, names)
    )


def _test(row: RoomRow, job: Job, folder: Path, names: Sequence[str]) -> WaterTest | None:
    test = None if row.room is None else read_test(row.reader, job, row.room, row.id, row.when)
    if test is None:
        return None
    photo = row.reader.parsed("photo", lambda cell: find_photo(folder, names, str(cell)))
    return test.model_copy(update={"photo": photo or ""})


def read_test(reader: RowReader, job: Job, room: Room, id: str, when: datetime | None) -> WaterTest | None:
    """The test that the cells of the columns say, without its photograph; None where the reader refused one."""
    unit = job.units[room.unit]
    reader.needed("poured", "is missing; expected how much was poured, such as 1 gal")
    poured = _some(reader, "poured", parse_volume, _POURED)
    over = _some(reader, "over", _stopwatch, _OVER)
    how = _how(reader)
    place = _place(reader, how, unit)
    drained = _drained(reader, over.value if over else job.water.over)
    puddles = _puddles(reader, unit)
    soap = _SOAP.get(name_key(reader.text("soap")))
    if soap is None:
        reader.refuse("soap", "is not understood; expected yes or no")
    hottest = reader.quantity("hottest", parse_temperature, 0.0, _HOTTEST)
    flow = _some(reader, "flow", parse_flow, _FLOW)
    if reader.problems or poured is None or soap is None:
        return None
    return WaterTest(
        id=id,
        room=room.room,
        poured=poured.value,
        over=over.value if over else job.water.over,
        how=how,
        x=place[0],
        y=place[1],
        drained=drained.value if drained else None,
        puddles=puddles,
        soap=soap,
        hottest=hottest.value if hottest else None,
        flow=flow.value if flow else None,
        who=clean(reader.text("who")),
        when=when,
        note=reader.text("note"),
        written=" | ".join(reader.text(column) for column in ("poured", "drained", "puddles")),
        file=reader.file,
        line=reader.row.line,
    )


def _some(reader: RowReader, column: str, parse: Callable[[str], Quantity], most: float) -> Quantity | None:
    """A quantity more than zero; None where the cell is blank or refused."""
    quantity = reader.quantity(column, parse, 0.0, most)
    if quantity is not None and quantity.value == 0:
        reader.refuse(column, "is nothing; expected more than 0")
        return None
    return quantity


def _how(reader: RowReader) -> Pattern:
    written = name_key(reader.text("how"))
    if written in tuple(Pattern):
        return Pattern(written)
    if written:
        reader.refuse("how", f"is no way to pour{nearest(written, Pattern)}; expected {', '.join(Pattern)}")
    return Pattern.OVER_THE_FLOOR


def _place(reader: RowReader, how: Pattern, unit: UnitModel) -> tuple[float | None, float | None]:
    """Where the bucket or the head was, m; None for the middle of the floor."""
    written = [column for column in ("x", "y") if reader.text(column)]
    if not written:
        return None, None
    if how is Pattern.OVER_THE_FLOOR:
        reader.refuse(
            written[0], f"is a place, and {how} has none; write how: {Pattern.AT_A_POINT} or {Pattern.SHOWER}"
        )
        return None, None
    if len(written) == 1:
        reader.refuse("y" if written == ["x"] else "x", "is missing; a place needs x and y")
    x = reader.quantity("x", parse_length, -SLACK, unit.inside_width + SLACK)
    y = reader.quantity("y", parse_length, -SLACK, unit.inside_depth + SLACK)
    return x.value if x else None, y.value if y else None


def _drained(reader: RowReader, over: float) -> Quantity | None:
    drained = _some(reader, "drained", _stopwatch, _DRAINED)
    if drained is not None and drained.value < over:
        expected = f"is less than the {duration_text(over)} of pouring; it counts from the first water on"
        reader.refuse("drained", f"{expected}, and over says how long was poured")
    return drained


def _puddles(reader: RowReader, unit: UnitModel) -> tuple[Puddle, ...] | None:
    """None where the cell is blank: nobody looked."""
    return reader.parsed("puddles", lambda cell: parse_puddles(str(cell), unit.inside_width, unit.inside_depth))
