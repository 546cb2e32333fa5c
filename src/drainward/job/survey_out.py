"""Measures of pockets and of units as rows of survey.csv and received.csv.

MEASURE_COLUMNS, measure_cells     the columns in order, and the row of one measure by column
RECEIVED_COLUMNS, received_cells   the same of one size of a unit, or its damage
"""

from __future__ import annotations

from collections.abc import Mapping

from drainward.job.model import Instrument, Measure, Received, Size, What
from drainward.job.readings_file import setup_of
from drainward.job.written import length_text, still_says, when_text
from drainward.quantity import parse_length

__all__ = ["MEASURE_COLUMNS", "RECEIVED_COLUMNS", "measure_cells", "received_cells"]

MEASURE_COLUMNS = (
    *("room", "when", "who", "instrument", "what", "wall", "x", "y", "z", "x2", "y2", "value", "u", "note"),
    *("setup", "id"),
)
RECEIVED_COLUMNS = ("room", "when", "who", "instrument", "what", "value", "u", "photo", "note", "id")


def measure_cells(measure: Measure, instruments: Mapping[str, Instrument]) -> dict[str, str]:
    """The row of a measure by column. An uncertainty or a set-up that `load` would find by itself stays blank."""
    places = {column: getattr(measure, column) for column in ("x", "y", "z", "x2", "y2")}
    derived = setup_of(measure.instrument, measure.who, measure.when) if measure.what is What.SLAB else ""
    return {
        **_common(measure),
        "what": str(measure.what),
        "wall": measure.wall,
        **{column: "" if place is None else length_text(place) for column, place in places.items()},
        "value": _length(measure),
        "u": _u(measure, instruments),
        "setup": "" if measure.setup == derived else measure.setup,
    }


def received_cells(size: Received, instruments: Mapping[str, Instrument]) -> dict[str, str]:
    """The row of a size by column; damage stands in its own words."""
    if size.what is Size.DAMAGE:
        words = " ".join(size.written.split())
        none = words.lower() == "none"
        value = words if words and none != bool(size.value) else "seen, not described" if size.value else "none"
    else:
        value = _length(size)
    return {
        **_common(size),
        "what": str(size.what),
        "value": value,
        "u": _u(size, instruments),
        "photo": size.photo,
    }


def _common(entry: Measure | Received) -> dict[str, str]:
    return {
        "room": entry.room,
        "when": when_text(entry.when),
        "who": entry.who,
        "instrument": entry.instrument,
        "note": " ".join(entry.note.split()),
        "id": entry.id,
    }


def _length(entry: Measure | Received) -> str:
    """The value as it was written, or anew where that would not read back."""
    if still_says(entry.written, entry.value, lambda text: parse_length(text).value):
        return entry.written
    return length_text(entry.value)


def _u(entry: Measure | Received, instruments: Mapping[str, Instrument]) -> str:
    own = getattr(instruments.get(entry.instrument), "u", None)
    return "" if entry.u is None or entry.u == own else length_text(entry.u)
