"""A tap or a press typed or touched on the page, made into a `Reading`; its fields are the columns of readings.csv.

read_sounding_entry   the form's fields in, a Reading out; every field that cannot be used is named
BEDS                  how the page says whether the bed was wet or cured, by the stage of the reading
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType

from drainward.errors import InputError
from drainward.job.model import Job, Reading, ReadingKind, Room
from drainward.job.readings_file import read_reading
from drainward.job.table import Row, RowReader
from drainward.web.entry import NOTE, WHO

__all__ = ["BEDS", "read_sounding_entry"]

BEDS: Mapping[str, str] = MappingProxyType({"cure": "cured", "draft": "still wet"})

_LONGEST = {"who": WHO, "note": NOTE}
_LONG = 60
_COLUMNS = ("kind", "stage", "x", "y", "value", "u", "weight", "instrument", "who", "note")
_OF_PRESS = ("u", "weight", "instrument")
"""Of a tap the form sends these too, since it is one form: they say nothing there."""
_KINDS = (ReadingKind.TAP, ReadingKind.PRESS)


def read_sounding_entry(form: Mapping[str, str], job: Job, room: Room, when: datetime) -> Reading:
    """The tap or press that a form describes.

    form : id, kind, stage, x, y, value, u, weight, instrument, who, note, as typed, units with them
    when : it was made, aware of its time zone
    Raises InputError with one Problem for each field that cannot be used; `field` is the form's name of it.
    """
    typed = {column: _printed(form.get(column, "")) for column in _COLUMNS}
    if typed["kind"] == ReadingKind.TAP:
        typed |= dict.fromkeys(_OF_PRESS, "")
    if typed["u"]:
        typed["instrument"] = ""
    reader = RowReader("page", Row(0, {column: text for column, text in typed.items() if text}))
    for column, text in typed.items():
        if len(text) > _LONGEST.get(column, _LONG):
            reader.refuse(column, "is too long")
    if typed["kind"] not in _KINDS:
        reader.refuse("kind", f"is not entered here; expected {' or '.join(_KINDS)}")
    if typed["stage"] not in BEDS:
        reader.refuse("stage", f"does not say how the bed was; choose {' or '.join(BEDS.values())}")
    try:
        own_id = str(uuid.UUID(form.get("id", "")))
    except ValueError:
        reader.refuse("id", "is not a reading's id; load the page again", form.get("id", ""))
        own_id = ""
    found = None if reader.problems else read_reading(reader, job, room, own_id, when)
    if found is None or reader.problems:
        raise InputError(tuple(replace(problem, line=None) for problem in reader.problems))
    return found.model_copy(update={"line": None, "setup": ""})


def _printed(text: str) -> str:
    return "".join(letter for letter in " ".join(text.split()) if letter.isprintable())
