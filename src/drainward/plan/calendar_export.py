"""One crew's part of the plan as an iCalendar file (RFC 5545): `crew_calendar`.

An event keeps its UID from plan to plan. Where the file of the plan before is given, an event that moved or says
something else gets the next SEQUENCE, and one that fell away stays as cancelled, so that a phone takes it off. Instants
are computed in UTC and written in the building's zone with its VTIMEZONE.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from icalendar import Calendar, Event

from drainward.errors import InputError, Problem
from drainward.job.names import room_path
from drainward.plan.clock import local
from drainward.plan.model import Building, Kind, Plan, Task

__all__ = ["crew_calendar"]

_SPACE = uuid.UUID("0d6f4b0c-6e0f-5a55-8e2a-4a1d4c7c8f27")
WORDS: Mapping[Kind, str] = {
    Kind.SURVEY: "survey the pocket",
    Kind.CORRECTION: "correct the pocket",
    Kind.BLOCK: "dry set, bed and set, draft check, fasten and brace: unbroken",
    Kind.TEST: "take the braces out, water test",
    Kind.RETEST: "water test again",
    Kind.LOOK: "second look",
}


def crew_calendar(
    job: str,
    building: Building,
    plan: Plan,
    crew: str,
    stamp: datetime,
    before: bytes | None = None,
    page: str = "",
    floors: Mapping[int, str] | None = None,
) -> bytes:
    """The calendar of one crew.

    job : its name, which tells its events from another job's;  stamp : when the plan was made, with a zone
    before : this crew's file of the plan before;  floors : their names, None for the numbers
    page : address of the job's page, for a link to the room
    Raises InputError where `before` is no calendar.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Drainward//plan//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"{job}: {crew}")
    old = _events(before)
    named = {room.id: str(room.floor) if floors is None else floors[room.floor] for room in building.rooms}
    stamped = stamp.astimezone(UTC)
    for task in plan.tasks:
        if crew in task.crews:
            event = _event(job, building, task, crew, named[task.room], stamped, page)
            _take_over(event, old.pop(str(event["uid"]), None))
            calendar.add_component(event)
    for event in old.values():
        calendar.add_component(_cancelled(event, stamped))
    calendar.add_missing_timezones()
    return bytes(calendar.to_ical())


def _events(raw: bytes | None) -> dict[str, Any]:
    if raw is None:
        return {}
    try:
        return {str(event["uid"]): event for event in Calendar.from_ical(raw).walk("VEVENT")}
    except (ValueError, KeyError) as error:
        expected = "is no calendar; expected the file of the plan before"
        raise InputError((Problem("calendar.ics", None, "", str(error)[:60], expected),)) from error


def _event(job: str, building: Building, task: Task, crew: str, floor: str, stamp: datetime, page: str) -> Any:
    event = Event()
    event.add("uid", f"{uuid.uuid5(_SPACE, chr(31).join((job, task.room, task.kind.value, crew)))}@drainward")
    event.add("dtstamp", stamp)
    event.add("dtstart", local(building, task.start))
    event.add("dtend", local(building, task.end))
    event.add("summary", f"Room {task.room}: {WORDS[task.kind]}")
    event.add("location", ", ".join((job, *([f"floor {floor}"] if floor else []), f"room {task.room}")))
    with_whom = [other for other in task.crews if other != crew]
    told = []
    if with_whom:
        told.append(f"With {', '.join(with_whom)}.")
    if task.inspector is not None:
        told.append(f"Inspector: {task.inspector}.")
    if told:
        event.add("description", " ".join(told))
    if page:
        event.add("url", page.rstrip("/") + room_path(task.room))
    return event


def _take_over(event: Any, old: Any) -> None:
    """SEQUENCE as before where nothing changed that a reader must be told, else the next one (RFC 5545, 3.8.7.4)."""
    if old is None:
        event.add("sequence", 0)
        return
    told = ("dtstart", "dtend", "summary", "location", "description", "status")
    same = all(_plain(event.get(name)) == _plain(old.get(name)) for name in told)
    event.add("sequence", int(old.get("sequence", 0)) + (0 if same else 1))


def _plain(value: Any) -> str:
    """A property to compare: an instant in UTC, whatever zone it is written in."""
    if value is None:
        return ""
    when = getattr(value, "dt", None)
    return when.astimezone(UTC).isoformat() if isinstance(when, datetime) else str(value)


def _cancelled(old: Any, stamp: datetime) -> Any:
    """The event as it stood, cancelled once."""
    event = Event()
    for name in ("uid", "dtstart", "dtend", "summary", "location"):
        if name in old:
            event[name] = old[name]
    done = str(old.get("status", "")) == "CANCELLED"
    event.add("dtstamp", stamp)
    event.add("status", "CANCELLED")
    event.add("sequence", int(old.get("sequence", 0)) + (0 if done else 1))
    return event
