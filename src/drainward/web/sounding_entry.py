"""A tap or a press typed or touched on the page, made into a `Reading`; its fields are the columns of readings.csv.

read_sounding_entry   the form's fields in, a Reading out; every field that cannot be used is named
BEDS                  how the page says whether the bed was wet or cured, by the stage of the reading
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType

from drainward.job.model import Job, Reading, ReadingKind, Room
from drainward.job.readings_file import read_reading
from drainward.web.entry import NOTE, WHO
from drainward.web.form_row import FormRow, typed_in

__all__ = ["BEDS", "read_sounding_entry"]

BEDS: Mapping[str, str] = MappingProxyType({"cure": "cured", "draft": "still wet"})

_LONGEST = {"who": WHO, "note": NOTE}
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
    typed = typed_in(form, _COLUMNS)
    if typed["kind"] == ReadingKind.TAP:
        typed |= dict.fromkeys(_OF_PRESS, "")
    if typed["u"]:
        typed["instrument"] = ""
    row = FormRow(form, typed, _LONGEST, "a reading")
    if typed["kind"] not in _KINDS:
        row.reader.refuse("kind", f"is not entered here; expected {' or '.join(_KINDS)}")
    if typed["stage"] not in BEDS:
        row.reader.refuse("stage", f"does not say how the bed was; choose {' or '.join(BEDS.values())}")
    found = None if row.reader.problems else read_reading(row.reader, job, room, row.id, when)
    if found is None or row.reader.problems:
        raise row.refusal()
    return found.model_copy(update={"line": None, "setup": ""})
