"""The plan as a table beside the job, schedule.csv: one line a step, so that git shows what moved.

FILE, COLUMNS     its name and its columns
Stored            a plan read back
schedule_text     a plan as the text of the file
read_schedule     and back
restored          the whole plan as it was made

The first lines have no room: `made` is the time of the plan, `earliest` the day before which no plan ends, and how that
was proved. Times are local; around a change of the clocks they carry their offset.
"""

from __future__ import annotations

import csv
import io
import math
import re
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from drainward.errors import Problem
from drainward.job.dates import read_date, read_when
from drainward.job.model import Job
from drainward.job.names import name_key, nearest
from drainward.job.records import read_grid
from drainward.job.table import RowReader, tabulate
from drainward.job.waiting import Waiting, in_order
from drainward.plan.checker import measure
from drainward.plan.clock import at, local, slot_of
from drainward.plan.from_job import Case, case_of
from drainward.plan.make import Made
from drainward.plan.model import SLOT, Kind, Plan, Task

__all__ = ["COLUMNS", "FILE", "STEPS", "Stored", "read_schedule", "restored", "schedule_text"]

FILE = "schedule.csv"
COLUMNS = ("room", "floor", "step", "state", "crew", "start", "end", "inspector", "due", "note")
_REQUIRED = ("room", "step", "crew", "start", "end")
STEPS: Mapping[Kind, str] = {
    Kind.SURVEY: "survey",
    Kind.CORRECTION: "correction",
    Kind.BLOCK: "bed and set",
    Kind.TEST: "water test",
    Kind.REPAIR: "repair",
    Kind.RETEST: "water test again",
    Kind.LOOK: "second look",
}
"""As people say them; `bed and set` runs from the dry set to the braces."""
_BAGS = re.compile(r"(\d+(?:\.\d+)?) bags")
_MADE, _EARLIEST = "made", "earliest"


@dataclass(frozen=True, slots=True)
class Stored:
    """made : when, UTC, None where the file does not tell;  earliest, how : the bound
    dues : of rooms when it was made, as slots of the case that it was read for;  bags : of mortar by room
    """

    plan: Plan
    made: datetime | None
    earliest: date | None
    how: str
    dues: Mapping[str, int]
    bags: Mapping[str, float]


def schedule_text(made: Made, when: datetime, bags: Mapping[str, float] | None = None) -> str:
    """The text of the file; when : the plan was made, aware of its zone;  bags : of mortar by room, as far as known."""
    case = made.case
    building = case.building
    day = building.working_days()[made.bound]
    earliest = (building.origin.astimezone(ZoneInfo(building.zone))).date().toordinal() + day
    done = {(task.room, task.kind) for task in case.done}
    due = {room.id: room.due for room in building.rooms}
    floors = {room.id: case.floors[room.floor] for room in building.rooms}
    known = bags or {}
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerow({"step": _MADE, "start": _local(case, when)})
    writer.writerow({"step": _EARLIEST, "start": date.fromordinal(earliest).isoformat(), "note": made.how})
    order = {kind: number for number, kind in enumerate(STEPS)}
    for task in sorted(made.plan.tasks, key=lambda t: (t.start, t.room, order[t.kind])):
        until = due[task.room] if task.kind is Kind.LOOK else None
        writer.writerow(
            {
                "room": task.room,
                "floor": floors[task.room],
                "step": STEPS[task.kind],
                "state": "begun" if (task.room, task.kind) in done else "planned",
                "crew": " + ".join(task.crews),
                "start": _local(case, at(building, task.start)),
                "end": _local(case, at(building, task.end)),
                "inspector": task.inspector or "",
                "due": "" if until is None else local(building, until).date().isoformat(),
                "note": f"{known[task.room]:.2f} bags" if task.kind is Kind.BLOCK and task.room in known else "",
            }
        )
    return out.getvalue()


def _local(case: Case, when: datetime) -> str:
    """By the clock on the wall; with its offset where that clock shows the time twice."""
    here = when.astimezone(ZoneInfo(case.building.zone))
    twice = here.replace(fold=0).utcoffset() != here.replace(fold=1).utcoffset()
    return f"{here:%Y-%m-%d %H:%M}" + (f"{here:%z}"[:3] + ":" + f"{here:%z}"[3:] if twice else "")


def read_schedule(path: Path, case: Case) -> tuple[Stored, tuple[Problem, ...]]:
    """The plan of the file as far as it is understood, in the slots of `case`; nothing is raised for a bad line.

    Raises OSError where the file cannot be read.
    """
    table = tabulate(read_grid(path), _REQUIRED, tuple(c for c in COLUMNS if c not in _REQUIRED))
    rooms = {name_key(room.id): room.id for room in case.building.rooms}
    crews = {name_key(crew.id): crew.id for crew in case.building.crews}
    problems = list(table.problems)
    tasks: list[Task] = []
    dues: dict[str, int] = {}
    bags: dict[str, float] = {}
    made, earliest, how = None, None, ""
    waiting = Waiting(FILE, "room")
    for row in table.rows:
        reader = RowReader(FILE, row)
        name = reader.text("room")
        if not name:
            if reader.text("step") == _MADE:
                made = _when(reader, "start", case)
            elif reader.text("step") == _EARLIEST:
                earliest, how = reader.parsed("start", read_date), reader.text("note")
            else:
                reader.refuse("room", "is missing; expected a room of this job")
        elif name_key(name) not in rooms:
            waiting.add(name, row.line, f"is no room of this job{nearest(name, rooms.values())}")
        else:
            task = _task(reader, case, rooms, crews)
            due = reader.parsed("due", read_date)
            if task is not None and not reader.problems:
                tasks.append(task)
                noted = _BAGS.fullmatch(reader.text("note"))
                if noted:
                    bags[task.room] = float(noted[1])
                if due is not None:
                    dues[task.room] = _due_slot(case, task.room, due)
        problems += reader.problems
    return Stored(Plan(tuple(tasks)), made, earliest, how, dues, bags), in_order((*problems, *waiting.problems()))


def restored(path: Path, job: Job, now: datetime) -> tuple[Made, Mapping[str, float], tuple[Problem, ...]]:
    """The plan of the file as it was made, by the job as its record stood then; bags of mortar by room.

    Raises StageError where the job has no room, OSError where the file cannot be read.
    """
    stored, problems = read_schedule(path, case_of(job, now))
    case = case_of(job, stored.made or now)
    stored, _ = read_schedule(path, case)
    building = case.building
    known = {crew.id for crew in building.crews}
    tasks = [
        replace(t, crews=tuple(c for c in t.crews if c in known) or (building.crews[0].id,)) for t in stored.plan.tasks
    ]
    plan = Plan(tuple(sorted(tasks, key=lambda task: (task.start, task.room))))
    day = 0
    if stored.earliest is not None:
        day = (stored.earliest - building.origin.astimezone(ZoneInfo(building.zone)).date()).days
    bound = min(bisect_left(building.working_days(), day), len(building.working_days()) - 1)
    return Made(case, plan, measure(building, plan), bound, stored.how), stored.bags, problems


def _due_slot(case: Case, room: str, due: date) -> int:
    """The room's due slot moved to another day: the same hour."""
    now = next(one.due for one in case.building.rooms if one.id == room)
    hour = local(case.building, now or 0).time()
    return slot_of(case.building.origin, case.building.zone, due, hour)


def _task(reader: RowReader, case: Case, rooms: Mapping[str, str], crews: Mapping[str, str]) -> Task | None:
    room = rooms[name_key(reader.text("room"))]
    kinds = {name: kind for kind, name in STEPS.items()}
    kind = kinds.get(name_key(reader.text("step")))
    if kind is None:
        reader.refuse("step", f"is no step; expected {', '.join(kinds)}")
    names = [name_key(name) for name in reader.text("crew").split("+")]
    # a crew that the job no longer has keeps its name: what it was to do goes to others
    found = tuple(crews.get(name, name) for name in names if name)
    if not found:
        reader.refuse("crew", "is missing; expected a crew's id")
    start, end = (_when(reader, column, case) for column in ("start", "end"))
    if reader.problems or kind is None or start is None or end is None:
        return None
    first, last = (math.floor((time - case.building.origin) / SLOT) for time in (start, end))
    if last <= first:
        reader.refuse("end", "is not after its start")
        return None
    return Task(room, kind, found, first, last, reader.text("inspector") or None)


def _when(reader: RowReader, column: str, case: Case) -> datetime | None:
    """UTC."""
    found = reader.parsed(column, read_when)
    if found is None:
        if not reader.problems:
            reader.refuse(column, "is missing; expected date and time of day, such as 2026-03-14 09:30")
        return None
    return (found if found.tzinfo else found.replace(tzinfo=ZoneInfo(case.building.zone))).astimezone(UTC)
