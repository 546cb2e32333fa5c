"""A water test typed on the page, made into a `WaterTest`: its fields are the columns of water.csv.

read_water_entry   the form's fields in, a WaterTest out; every field that cannot be used is named
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from drainward.errors import InputError, Problem
from drainward.job.model import Job, Room, WaterTest
from drainward.job.table import Row, RowReader
from drainward.job.water_file import OPTIONAL, REQUIRED, read_test
from drainward.web.entry import NOTE, WHO

__all__ = ["read_water_entry"]

_OWN = ("id", "room", "when", "photo")
"""Columns that the page fills in itself."""
_LONGEST = {"who": WHO, "note": NOTE, "puddles": 2_000}
_LONG = 60


def read_water_entry(form: Mapping[str, str], job: Job, room: Room, now: datetime) -> WaterTest:
    """The water test that a form describes, without its photograph.

    form : id and the columns of water.csv, as typed, units with them
    now  : when it was poured, aware of its time zone
    Raises InputError with one Problem for each field that cannot be used; `field` is the form's name of it.
    """
    typed = {column: _printed(form.get(column, "")) for column in (*REQUIRED, *OPTIONAL) if column not in _OWN}
    reader = RowReader("page", Row(0, {column: text for column, text in typed.items() if text}))
    for column, text in typed.items():
        if len(text) > _LONGEST.get(column, _LONG):
            reader.refuse(column, "is too long")
    try:
        own_id = str(uuid.UUID(form.get("id", "")))
    except ValueError:
        reader.refuse("id", "is not a test's id; load the page again", form.get("id", ""))
        own_id = ""
    test = read_test(reader, job, room, own_id, now)
    if test is None or reader.problems:
        raise InputError(tuple(_on_page(problem) for problem in reader.problems))
    return test.model_copy(update={"line": None})


def _printed(text: str) -> str:
    return "".join(letter for letter in " ".join(text.split()) if letter.isprintable())


def _on_page(problem: Problem) -> Problem:
    return replace(problem, line=None)
