"""`drainward handover`: the evidence of one room, as PDF.

run            the command
survey_sheet   instead a sheet to survey the room by hand
file_name      a room as part of a file's name
"""

from __future__ import annotations

import hashlib
import re
import sys
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from drainward.cli.answer import complain, emit
from drainward.cli.compute import WATER, find_room, room_answer, watched_answer, water_tests
from drainward.cli.exits import ExitCode, Finished, bad_use, end
from drainward.finding import Verdict, overall
from drainward.floor.stage import unit_of
from drainward.job import load
from drainward.job.at_stage import at_stage
from drainward.job.photos import read_photo
from drainward.report import NOT_YET, handover_pdf
from drainward.report.handover_before import before_stages
from drainward.report.handover_hold import hold_of
from drainward.report.hold_words import clock_words
from drainward.report.survey_sheet import survey_sheet_pdf
from drainward.report.water_words import water_headline
from drainward.report.words import headline
from drainward.wayin.plan import plan_of, read_plan

__all__ = ["file_name", "run", "survey_sheet"]


def run(folder: Path, name: str, output: Path | None, with_water: bool, as_json: bool) -> None:
    """Write the PDF, say where, and leave with the verdict's code: a failing floor is handed over as failing.

    The water is computed where a water test is recorded, or where `with_water` asks for it; the verdict is over both.
    The stages before the unit was set are computed where its pocket or the unit was measured, or a plan leads to the
    room; they say what was known then and do not change the verdict on what stands now. What holds the unit is said as
    it stands at this moment, where something was written down when it was set.
    """
    loaded = load(folder)
    job = loaded.job
    room = find_room(job, name)
    answer = room_answer(job, room)
    if answer.draft is None:
        bad_use(f"room {room.room} has nothing to hand over: {answer.says}")
    water = watched_answer(job, room, WATER).water if with_water or water_tests(job, room.room) else None
    readings = at_stage(job.readings, room.room, "draft")
    drawn = folder / "plan.csv"
    plans, doubts = read_plan(drawn) if drawn.exists() else ({}, ())
    problems = (*loaded.problems, *doubts)
    before = before_stages(job, room.room, plan_of(plans, room.room, room.floor))
    photos = partial(read_photo, folder)
    now = datetime.now(UTC)
    bed, walls = (None, None) if before is None else (before.bed, before.set_out)
    hold = hold_of(job, room.room, answer.draft if readings else None, bed, now, walls)
    unit = job.units[room.unit]
    pdf = handover_pdf(job, room, answer.draft, unit, readings, water, photos, before=before, hold=hold)
    path = output or Path(f"handover-{file_name(room.room)}.pdf")
    path.write_bytes(pdf)
    stands = answer.verdict if readings else Verdict.NOT_PROVEN
    verdict = stands if water is None else overall((stands, water.verdict))
    if as_json:
        told = {**answer.as_json(), "verdict": str(verdict)}
        if water is not None:
            told["water"] = water.as_json()
        if before is not None:
            told["before"] = before.as_json()
        if hold is not None:
            told["hold"] = hold.stages.as_json()
        emit({**told, "handover": {"file": str(path), "sha256": hashlib.sha256(pdf).hexdigest()}}, problems)
    else:
        sys.stdout.write(f"{headline(answer.draft).says if readings else NOT_YET}\n")
        if water is not None:
            sys.stdout.write(f"Water test: {water_headline(water).says}\n")
        if before is not None:
            sys.stdout.write(f"Before it was set: {before.headline.says}\n")
        if hold is not None and hold.stages.cure is not None:
            clock = clock_words(hold.stages.cure, job.site)
            sys.stdout.write(f"Its bed: {clock.left} {clock.under}. {clock.says}\n")
        sys.stdout.write(f"{path}\n")
        complain(problems)
    end(verdict, problems)


def survey_sheet(folder: Path, name: str, output: Path | None, as_json: bool) -> None:
    """Write the sheet and say where; it judges nothing, so it leaves with 0 unless the input had problems."""
    loaded = load(folder)
    room = find_room(loaded.job, name)
    pdf = survey_sheet_pdf(loaded.job, room, unit_of(loaded.job, room.room))
    path = output or Path(f"survey-{file_name(room.room)}.pdf")
    path.write_bytes(pdf)
    if as_json:
        sheet = {"file": str(path), "sha256": hashlib.sha256(pdf).hexdigest()}
        told = {"schema": 1, "room": room.room, "stage": "survey", "verdict": None, "findings": [], "sheet": sheet}
        emit(told, loaded.problems)
    else:
        sys.stdout.write(f"{path}\n")
        complain(loaded.problems)
    raise Finished(ExitCode.BAD_INPUT if loaded.problems else ExitCode.MEETS)


def file_name(room: str) -> str:
    """A room's name with nothing in it that a file system could take for more than a name."""
    return re.sub(r"[^\w-]+", "-", room).strip("-") or "room"
