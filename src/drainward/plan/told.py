"""What people ask of a plan: `lates`, `lists_of`, `next_day`, `kits_by_day`, `set_by_day`, `day_of`.

Late      a room that ends over its due date, and what it waits for
Kits      sets of braces in use on a day, at most
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from drainward.plan.checker import kits_in_use
from drainward.plan.clock import local
from drainward.plan.from_job import Case
from drainward.plan.make import Made, rest_of
from drainward.plan.model import Building, Kind, Task

SURELY = "ready too late for it: its own steps and its cure take longer"

__all__ = ["Late", "day_of", "finish_of", "kits_by_day", "lates", "lists_of", "next_day", "set_by_day"]


@dataclass(frozen=True, slots=True)
class Late:
    """days : calendar days over the due date;  why : what the room waits for longest, in words

    unavoidable : it would be late though every crew, set of braces and inspector were free for it
    """

    room: str
    due: date
    ends: datetime
    days: int
    why: str
    unavoidable: bool


def day_of(case: Case, number: int) -> date:
    """The date of a working day of the building, counted from 0."""
    building = case.building
    return _first_date(building) + timedelta(days=building.working_days()[number])


def _first_date(building: Building) -> date:
    return building.origin.astimezone(ZoneInfo(building.zone)).date()


def finish_of(made: Made) -> datetime:
    """When the last step ends, local."""
    return local(made.case.building, made.measures.finish)


def next_day(made: Made) -> date | None:
    """The first day after today on which somebody has something to do; None where all is done."""
    building = made.case.building
    today = local(building, made.case.now).date()
    days = {local(building, task.start).date() for task in made.plan.tasks if task.start >= made.case.now}
    return min((day for day in days if day > today), default=min(days, default=None))


def lists_of(made: Made, day: date) -> dict[str, tuple[Task, ...]]:
    """Each crew's steps that begin on a day, in order; crews with nothing to do are there too."""
    building = made.case.building
    found: dict[str, list[Task]] = {crew.id: [] for crew in building.crews}
    for task in made.plan.tasks:
        if task.start >= made.case.now and local(building, task.start).date() == day:
            for name in task.crews:
                found[name].append(task)
    return {name: tuple(sorted(tasks, key=lambda task: task.start)) for name, tasks in found.items()}


def kits_by_day(made: Made) -> dict[date, int]:
    """The most sets of braces in use on each calendar day, from the first one that is taken to the last."""
    building = made.case.building
    changes = kits_in_use(building, made.plan)
    most: dict[date, int] = {}
    held, day = 0, None
    for slot, number in changes:
        here = local(building, slot).date()
        while day is not None and day < here:
            day += timedelta(days=1)
            most[day] = held
        most[here] = max(most.get(here, held), number)
        held, day = number, here
    return most


def set_by_day(made: Made) -> dict[date, tuple[str, ...]]:
    """Rooms whose unit is set, by day, those that are done included."""
    found: dict[date, list[str]] = defaultdict(list)
    for task in made.plan.tasks:
        if task.kind is Kind.BLOCK:
            found[local(made.case.building, task.start).date()].append(task.room)
    return {day: tuple(rooms) for day, rooms in sorted(found.items())}


def lates(made: Made) -> tuple[Late, ...]:
    """Rooms that end after their due date, the latest first."""
    case, building = made.case, made.case.building
    found = []
    by_room: dict[str, list[Task]] = defaultdict(list)
    for task in made.plan.tasks:
        by_room[task.room].append(task)
    for room in building.rooms:
        end = max((task.end for task in by_room[room.id]), default=0)
        if room.due is not None and end > room.due:
            due, ends = local(building, room.due).date(), local(building, end)
            surely = rest_of(case, room)[1] > room.due
            why = SURELY if surely else _why(made, sorted(by_room[room.id], key=lambda task: task.start))
            found.append(Late(room.id, due, ends, (ends.date() - due).days, why, surely))
    return tuple(sorted(found, key=lambda late: (-late.days, late.room)))


def _why(made: Made, steps: Iterable[Task]) -> str:
    """What the longest wait before one of the room's steps is for."""
    case, building = made.case, made.case.building
    room_of = {room.id: room for room in building.rooms}
    longest, why, before = 0, "waits for a crew", None
    for task in steps:
        room = room_of[task.room]
        since = case.now if before is None else before.end + (room.cure if task.kind is Kind.TEST else 0)
        since = max(since, room.ready if before is None else case.now, (room.retest or 0) * (task.kind is Kind.RETEST))
        before = task
        if task.start < case.now:
            continue
        waits = _worked(building, since, task.start)
        if waits > longest:
            longest, why = waits, _what_for(made, task, since)
    return why


def _worked(building: Building, low: int, high: int) -> int:
    """Slots of shifts between two slots, of any crew."""
    days: dict[int, tuple[int, int]] = {}
    for crew in building.crews:
        for shift in crew.shifts:
            a, b = days.get(shift.day, (shift.start, shift.end))
            days[shift.day] = min(a, shift.start), max(b, shift.end)
    return sum(max(0, min(b, high) - max(a, low)) for a, b in days.values())


def _what_for(made: Made, task: Task, since: int) -> str:
    building = made.case.building
    if task.kind is Kind.BLOCK:
        looks = [t for t in made.plan.tasks if t.kind is Kind.LOOK and t.room == building.first]
        if looks and task.room != building.first and since < looks[0].end:
            return "waits until the first unit is signed off"
        held = [number for slot, number in kits_in_use(building, made.plan) if slot <= since + building.work.brace_at]
        if held and held[-1] >= building.kits:
            return "waits for a set of braces"
    if task.kind is Kind.LOOK and building.inspectors:
        return "waits for an inspector"
    return "waits for a crew"
