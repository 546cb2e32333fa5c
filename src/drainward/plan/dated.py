"""When units are set and braces stand, by the plan beside the job: `Dates`, `Dated`, `dated`.

What is bought and sawn takes its days from here where there is a plan, else from the rooms' ready dates.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from drainward.errors import Problem, StageError
from drainward.job.model import Job
from drainward.plan.clock import local
from drainward.plan.from_job import case_of
from drainward.plan.model import Kind
from drainward.plan.stored import FILE, read_schedule

__all__ = ["Dated", "Dates", "dated"]


@dataclass(frozen=True, slots=True)
class Dates:
    """Of one room, by the clock on the wall: the day of its bed, from when to when a set of braces is in it."""

    bed: date
    braced: datetime
    free: datetime


@dataclass(frozen=True, slots=True)
class Dated:
    """made : when the plan was made, by the clock on the wall, None where the file does not tell;  rooms : their dates

    missing : rooms of the job that the plan does not know;  problems : lines of the file that are not understood
    """

    made: datetime | None
    rooms: Mapping[str, Dates]
    missing: tuple[str, ...]
    problems: tuple[Problem, ...]


def dated(path: Path, job: Job, now: datetime) -> Dated | None:
    """The dates of schedule.csv; None where there is no such file. now : aware of its zone. Nothing is raised."""
    if not path.exists() or not job.rooms:
        return None
    try:
        stored, problems = read_schedule(path, case := case_of(job, now))
    except (StageError, OSError) as error:
        return Dated(
            None, {}, tuple(r.room for r in job.rooms), (Problem(FILE, None, "", "", f"is not used: {error}"),)
        )
    building = case.building
    brace = building.work.block - building.work.brace_at
    blocks = {task.room: task for task in stored.plan.tasks if task.kind is Kind.BLOCK}
    tests = {task.room: task for task in stored.plan.tasks if task.kind is Kind.TEST}

    def wall(slot: int) -> datetime:
        return local(building, slot).replace(tzinfo=None)

    rooms = {}
    for name, block in blocks.items():
        # without its test in the file a set is held until the bed has cured
        cured = block.end + next(room.cure for room in building.rooms if room.id == name)
        free = tests[name].end if name in tests else cured
        rooms[name] = Dates(wall(block.start).date(), wall(block.end - brace), wall(free))
    made = None if stored.made is None else stored.made.astimezone(ZoneInfo(job.site.time_zone))
    return Dated(made, rooms, tuple(room.room for room in job.rooms if room.room not in rooms), problems)
