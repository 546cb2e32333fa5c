"""What was done when a unit was set, typed on the page, made into a `SettingEvent`; fields are columns of setting.csv.

read_setting_entry   the form's fields in, an event out; every field that cannot be used is named
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, time, timedelta

from drainward.errors import InputError
from drainward.job.dates import read_when
from drainward.job.model import Job, Room, SettingEvent
from drainward.job.setting_file import read_setting
from drainward.job.table import Row, RowReader
from drainward.web.entry import NOTE, WHO

__all__ = ["read_setting_entry"]

_LONGEST = {"what": 60, "value": 60, "when": 60, "who": WHO, "note": NOTE}
"""The fields that a person types, and how long each may be."""
_AHEAD = timedelta(minutes=5)
"""By so much may a clock on the wall be ahead of the server's."""


def read_setting_entry(form: Mapping[str, str], job: Job, room: Room, taken: datetime, now: datetime) -> SettingEvent:
    """The event that a form describes.

    form  : id, what, value, when, who, note, as typed; a time without a zone is by the clock on the wall of the site
    taken : when it was done where `when` is blank, aware of its zone;  now : nothing was done later than this
    Raises InputError with one Problem for each field that cannot be used; `field` is the form's name of it.
    """
    typed = {field: _printed(form.get(field, "")) for field in _LONGEST}
    reader = RowReader("page", Row(0, {field: text for field, text in typed.items() if text}))
    for field, text in typed.items():
        if len(text) > _LONGEST[field]:
            reader.refuse(field, "is too long")
    try:
        own_id = str(uuid.UUID(form.get("id", "")))
    except ValueError:
        reader.refuse("id", "is not an entry's id; load the page again", form.get("id", ""))
        own_id = ""
    # Midnight to the second is how a date without a time of day is read.
    at_once = taken + timedelta(seconds=taken.time() == time())
    when = reader.parsed("when", read_when) if typed["when"] else at_once
    if when is not None and job.site.utc(when) > now + _AHEAD:
        reader.refuse("when", "lies ahead; expected when it was done")
    event = read_setting(reader, job, room, own_id, when)
    if event is None or reader.problems:
        raise InputError(tuple(replace(problem, line=None) for problem in reader.problems))
    return event.model_copy(update={"line": None})


def _printed(text: str) -> str:
    return "".join(letter for letter in " ".join(text.split()) if letter.isprintable())
