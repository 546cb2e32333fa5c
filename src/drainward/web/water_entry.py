"""A water test typed on the page, made into a `WaterTest`: its fields are the columns of water.csv.

read_water_entry   the form's fields in, a WaterTest out; every field that cannot be used is named
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from drainward.job.model import Job, Room, WaterTest
from drainward.job.water_file import OPTIONAL, REQUIRED, read_test
from drainward.web.entry import NOTE, WHO
from drainward.web.form_row import FormRow, typed_in

__all__ = ["read_water_entry"]

_OWN = ("id", "room", "when", "photo")
"""Columns that the page fills in itself."""
_LONGEST = {"who": WHO, "note": NOTE, "puddles": 2_000}


def read_water_entry(form: Mapping[str, str], job: Job, room: Room, now: datetime) -> WaterTest:
    """The water test that a form describes, without its photograph.

    form : id and the columns of water.csv, as typed, units with them
    now  : when it was poured, aware of its time zone
    Raises InputError with one Problem for each field that cannot be used; `field` is the form's name of it.
    """
    typed = typed_in(form, (column for column in (*REQUIRED, *OPTIONAL) if column not in _OWN))
    row = FormRow(form, typed, _LONGEST, "a test")
    test = read_test(row.reader, job, room, row.id, now)
    if test is None or row.reader.problems:
        raise row.refusal()
    return test.model_copy(update={"line": None})
