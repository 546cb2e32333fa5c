"""What was measured before a unit is set, typed on the page: its fields are the columns of survey.csv and received.csv.

read_survey_entry   the form's fields in, a Measure or a Received out; every field that cannot be used is named
SENSES              how the page says which way from the line, without a sign
tools               the instruments of a job that measure lengths
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType

from drainward.errors import InputError, Problem
from drainward.job import received_file, survey_file
from drainward.job.model import Instrument, Job, Measure, Received, Room, Size, What
from drainward.job.text import shown
from drainward.web.entry import NOTE, WHO
from drainward.web.form_row import FormRow, typed_in

__all__ = ["SENSES", "TAPE_U", "read_survey_entry", "tools"]

TAPE_U = "1/32 in"
"""Standard uncertainty of a tape read to 1/16 in where the job lists none: common practice, no source."""

SENSES: Mapping[What, Mapping[str, str]] = MappingProxyType(
    {
        What.PLUMB: {"in": "", "out": "-"},
        What.SQUARE: {"open": "", "closed": "-"},
        What.SLAB: {"below": "-", "above": ""},
    }
)
"""Signs by what is measured: a wall stands in or out, a corner is open or closed, a slab lies below the laser line."""

_OWN = ("id", "room", "when", "photo")
"""Columns that the page fills in itself."""
_COLUMNS = tuple(
    dict.fromkeys(
        column
        for columns in (survey_file.REQUIRED, survey_file.OPTIONAL, received_file.REQUIRED, received_file.OPTIONAL)
        for column in columns
        if column not in _OWN
    )
)
_LONGEST = {"who": WHO, "note": NOTE, "value": 200}


def read_survey_entry(
    form: Mapping[str, str], job: Job, room: Room, when: datetime, *, photo: bool = False
) -> Measure | Received:
    """The measure of a pocket, or the size or damage of a unit without its photograph, that a form describes.

    form : id, sense and the columns of both tables, as typed, units with them
    when : it was measured, aware of its time zone;  photo : whether a photograph came with it
    Raises InputError with one Problem for each field that cannot be used; `field` is the form's name of it.
    """
    typed = typed_in(form, _COLUMNS)
    what = " ".join(typed["what"].lower().split())
    sense, bare = form.get("sense", "").strip(), typed["value"]
    signs = SENSES.get(What(what)) if what in tuple(What) else None
    if signs and sense in signs and bare and not bare.startswith(("-", "+", "\N{MINUS SIGN}")):
        typed["value"] = signs[sense] + bare
    row = FormRow(form, typed, _LONGEST, "a measure")
    reader = row.reader
    if signs and sense and sense not in signs:
        reader.refuse("sense", f"does not say which way; choose {' or '.join(signs)}", sense)
    elif signs and sense and typed["value"] == bare != "" and bare.startswith(("-", "+", "\N{MINUS SIGN}")):
        reader.refuse("value", f"has a sign beside the word {sense}; write it without one")
    entry: Measure | Received | None
    if what in tuple(Size):
        entry = received_file.read_received(reader, job, room, row.id, when)
        stray = [column for column in ("wall", "x", "y", "z", "x2", "y2", "setup") if typed[column]]
        for column in stray:
            reader.refuse(column, f"says nothing of {what}; leave it blank")
    else:
        entry = survey_file.read_measure(reader, job, room, row.id, when)
        if photo:
            reader.refuse("photo", "belongs to the unit as it arrived; leave it out here", "the picture")
    if entry is None or reader.problems:
        raise InputError(tuple(_on_page(problem, bare) for problem in reader.problems))
    return entry.model_copy(update={"line": None})


def tools(job: Job) -> tuple[Instrument, ...]:
    """The instruments whose standard uncertainty of a length is known."""
    return tuple(instrument for instrument in job.instruments.values() if instrument.u is not None)


def _on_page(problem: Problem, bare: str) -> Problem:
    """As the page says it: without a line, and the value without the sign that a word gave it."""
    return replace(problem, line=None, got=shown(bare) if problem.field == "value" else problem.got)
