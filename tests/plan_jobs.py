"""A small job with crews, kits and a calendar, for the tests of its plan."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import surveys

from drainward.job import Job, SettingEvent, Work
from drainward.job.materials import Site
from drainward.job.model import Crew
from drainward.job.planning import Calendar, Inspector, Kits

__all__ = ["MONDAY", "done", "job"]

MONDAY = date(2026, 3, 9)
ZONE = "America/Chicago"


def job(rooms: str = "101 102 103 201 202 203", *events: SettingEvent) -> Job:
    """Rooms of two floors, nothing measured yet; ready on Monday, due four weeks later."""
    made = surveys.job((), (), rooms=rooms)
    own = tuple(
        room.model_copy(update={"floor": room.room[0], "ready": MONDAY, "due": MONDAY + timedelta(weeks=4)})
        for room in made.rooms
    )
    return made.model_copy(
        update={
            "rooms": own,
            "site": Site(time_zone=ZONE),
            "crews": (
                Crew(id="A", name="A", people=3, skills=("core",), day=1000.0),
                Crew(id="B", name="B", people=2, hours=(time(9), time(17, 30))),
            ),
            "calendar": Calendar(holidays=(date(2026, 3, 11),), correction_skill="core"),
            "kits": Kits(braces=3),
            "inspectors": (Inspector(id="town", name="Town", works=("tue", "thu"), hours=(time(9), time(12))),),
            "corrections": {"102": 2 * 3600.0},
            "setting": events,
        }
    )


def done(room: str, what: Work, when: datetime) -> SettingEvent:
    """A thing that was done; by the clock in UTC."""
    return SettingEvent(id=f"{room}-{what}", room=room, what=what, when=when.astimezone(UTC))
