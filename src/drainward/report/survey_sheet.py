"""The survey of one room's pocket as a sheet to fill in by hand: `survey_sheet_pdf`. Layout stands in survey_sheet.typ.

The same round, words and pictures as the page takes it by; one page, for a crew without a phone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from drainward.job.model import Job, Room, UnitModel, What
from drainward.quantity import format_length
from drainward.report.press import print_pdf
from drainward.report.survey_steps import Step, survey_steps
from drainward.report.tape_svg import tape_svg

__all__ = ["survey_sheet_pdf"]

_CORE = (What.CORE, What.CORE_FROM_LEFT, What.CORE_FROM_BACK)
_RECESS = (What.RECESS_WIDTH, What.RECESS_DEPTH, What.RECESS_DEEP)
_ACROSS = {
    What.CORE: "across the hole",
    What.CORE_FROM_LEFT: "its middle from the left",
    What.CORE_FROM_BACK: "its middle from the back",
    What.RECESS_WIDTH: "left to right",
    What.RECESS_DEPTH: "back to front",
    What.RECESS_DEEP: "how deep",
    What.BLOCKING: "width of the board",
}
_SIGNS = {
    What.PLUMB: "In is +, away is -.",
    What.SQUARE: "Open is +, closed is -.",
    What.SLAB: "A rule stood under the line is written with -.",
}
_BOARD = ("wall", "from", "to", "its lower edge up")


def survey_sheet_pdf(job: Job, room: Room, unit: UnitModel) -> bytes:
    """One letter page: what to measure with its picture and blank fields, in the order of a round."""
    steps = survey_steps(unit, (), (), None)
    groups = groupby((step for step in steps if step.of == "pocket"), key=_together)
    size = " × ".join(format_length(side) for side in (unit.outside_width, unit.outside_depth, unit.outside_height))
    data = {
        "job": job.name,
        "room": room.room,
        "floor": room.floor,
        "unit": f"{unit.name} ({unit.id}), outside {size} (width × depth × height)",
        "cells": [_cell(tuple(group), unit) for _, group in groups],
    }
    return print_pdf("survey_sheet.typ", data)


def _together(step: Step) -> str:
    """What shares a cell."""
    return "core" if step.what in _CORE else "recess" if step.what in _RECESS else str(step.what)


def _cell(steps: Sequence[Step], unit: UnitModel) -> dict[str, object]:
    first = steps[0]
    several = len({step.what for step in steps}) > 1
    named = bool(first.wall) or several
    fields = [_field(step) for step in steps]
    if first.what is What.BLOCKING:
        fields = [*fields, *_BOARD] * 2
    return {
        "title": first.title.split(",")[0] if named else first.title,
        "how": "" if several else _how(first),
        "picture": tape_svg(steps[1] if several else first, unit),
        "fields": fields,
    }


def _how(step: Step) -> str:
    """As the page says it, for every place of the cell at once."""
    if step.what is What.BLOCKING:
        return "Tape across a board between studs; where it begins and ends as for studs."
    how = replace(step, x=None, y=None, z=None).how
    if step.wall:
        for end in (" stud face", " wall", ""):
            how = how.replace(f"the {step.wall}{end}", f"that{end or ' wall'}")
    sign = _SIGNS.get(step.what) if isinstance(step.what, What) else None
    return f"{how} {sign}" if sign else how


def _field(step: Step) -> str:
    """Where, in the few words that a line has room for."""
    if isinstance(step.what, What) and step.what in _ACROSS:
        return _ACROSS[step.what]
    if step.number:
        return f"{step.wall} {step.number}"
    ways = ((step.x, "from left"), (step.y, "from back"), (step.z, "up"))
    wall = f"{step.wall} {'corner' if step.what in (What.DIAGONAL, What.SQUARE) else 'wall'}" if step.wall else ""
    places = (f"{format_length(at, denominator=4)} {way}" for at, way in ways if at is not None)
    return ", ".join(part for part in (wall, *places) if part)
