"""Calendar files against RFC 5545, read by a library that shares no code with their writer."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from drainward.finding import Certainty
from drainward.plan.calendar_export import crew_calendar
from drainward.plan.calendar_zone import zone_component
from drainward.plan.clock import at, origin_of, shifts, slot_of
from drainward.plan.model import Building, Crew, Kind, Plan, PlanRoom, Task
from drainward.validation.check import Check

__all__ = ["CHECKS"]

_ZONE = "America/Chicago"
_START = date(2026, 2, 2)
_DAYS = 320


def _apart() -> float:
    """Seconds by which an event is off at most: one a day from winter to winter, over both changes of the clock."""
    import vobject

    building = Building(
        origin_of(_START, _ZONE), _ZONE, (PlanRoom("1", 1, 0),), (Crew("A", 2, shifts(_START, _ZONE, _DAYS)),), kits=1
    )
    begins = [shift.start for shift in building.crews[0].shifts]
    tasks = tuple(Task("1", Kind.SURVEY, ("A",), slot, slot + 2) for slot in begins)
    raw = crew_calendar("Job", building, Plan(tasks), "A", datetime(2026, 2, 2, tzinfo=UTC))
    read = [(event.dtstart.value, event.dtend.value) for event in vobject.readOne(raw.decode()).vevent_list]
    planned = [(at(building, task.start), at(building, task.end)) for task in tasks]
    return max(
        abs(float((told - ours).total_seconds()))
        for both, own in zip(read, planned, strict=True)
        for told, ours in zip(both, own, strict=True)
    )


def _cure() -> float:
    """Hours between the clocks on the wall of a set ending on a Friday and a test 72 h later, the clock set back."""
    import vobject

    start = date(2026, 10, 26)
    building = Building(
        origin_of(start, _ZONE), _ZONE, (PlanRoom("1", 1, 0),), (Crew("A", 2, shifts(start, _ZONE, 21)),), kits=1
    )
    end = slot_of(building.origin, _ZONE, date(2026, 10, 30), time(14))
    tasks = (Task("1", Kind.BLOCK, ("A",), end - 15, end), Task("1", Kind.TEST, ("A",), end + 288, end + 290))
    raw = crew_calendar("Job", building, Plan(tasks), "A", datetime(2026, 10, 1, tzinfo=UTC))
    block, test = vobject.readOne(raw.decode()).vevent_list
    wall = test.dtstart.value.replace(tzinfo=None) - block.dtend.value.replace(tzinfo=None)
    return float(wall.total_seconds() / 3600)


def _onset() -> float:
    """Hour at which daylight time begins in New York in 2007, as the file tells it."""
    parts = zone_component("America/New_York", 2007, 2007).subcomponents
    (hour,) = {part["dtstart"].dt.hour for part in parts if part.name == "DAYLIGHT"}
    return float(hour)


CHECKS: tuple[Check, ...] = (
    Check("calendar/instants", "start and end of an event on each working day from February to December, read back",
          "vobject, a reader of RFC 5545 (2009), 3.8.2.4 and 3.6.5", Certainty.SEEN, 0, 0, "s off at most", _apart,
          "vobject"),
    Check("calendar/cure-over-clock-change", "72 h of cure over the end of daylight time, by the clock on the wall",
          "vobject, a reader of RFC 5545 (2009), 3.6.5; tz database", Certainty.SEEN, 71, 0, "h", _cure, "vobject"),
    Check("calendar/onset", "New York, 11 March 2007: hour at which daylight time begins, by the clock before it",
          "RFC 5545 (2009), 3.6.5, first example", Certainty.MEMORY, 2, 0, "h", _onset),
)  # fmt: skip
