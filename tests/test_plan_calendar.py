"""Calendars read back by a library that shares no code with their writer."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from icalendar import Calendar

from drainward.errors import InputError
from drainward.plan.calendar_export import crew_calendar
from drainward.plan.calendar_zone import zone_component
from drainward.plan.clock import at, origin_of, shifts, slot_of
from drainward.plan.model import Building, Crew, Kind, Plan, PlanRoom, Task

STAMP = datetime(2026, 10, 1, 12, tzinfo=UTC)
ZONE = "America/Chicago"
START = date(2026, 10, 26)


def read(raw: bytes) -> list[dict[str, Any]]:
    """The values of each event by property, as the other library understands them; "" where there is none."""
    names = ("uid", "summary", "location", "description", "url", "status", "sequence", "dtstamp", "dtstart", "dtend")
    events = getattr(vobject.readOne(raw.decode()), "vevent_list", ())
    return [{name: getattr(getattr(event, name, None), "value", "") for name in names} for event in events]


def building() -> Building:
    shift = shifts(START, ZONE, 21)
    return Building(
        origin=origin_of(START, ZONE), zone=ZONE, kits=2, first="1, east; \\wing",
        rooms=(PlanRoom("1, east; \\wing", 1, 0), PlanRoom("202", 2, 0)),
        crews=(Crew("A", 3, shift), Crew("B", 2, shift)),
    )  # fmt: skip


def plan() -> Plan:
    """Bedded on a Friday; 72 true hours end an hour earlier by the clock on the wall once it was set back."""
    work = building()
    block = slot_of(work.origin, ZONE, date(2026, 10, 30), time(10))
    test = block + 15 + 288
    return Plan((
        Task("1, east; \\wing", Kind.BLOCK, ("A", "B"), block, block + 15),
        Task("1, east; \\wing", Kind.TEST, ("A",), test, test + 2, "first inspector"),
        Task("202", Kind.SURVEY, ("B",), block, block + 2),
    ))  # fmt: skip


def made(told: Plan, before: bytes | None = None, crew: str = "A") -> bytes:
    return crew_calendar("Maple Court", building(), told, crew, STAMP, before, "https://site.test:8080/")


def test_lines_are_folded_and_end_as_the_standard_has_it() -> None:
    raw = made(plan())
    assert raw.endswith(b"\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert max(map(len, raw.split(b"\r\n"))) <= 75


def test_events_come_back_at_their_instants_over_the_clock_change() -> None:
    work = building()
    first, second = read(made(plan()))
    for event, task in zip((first, second), plan().tasks, strict=False):
        assert (at(work, task.start), at(work, task.end)) == (event["dtstart"], event["dtend"])
    assert second["dtstart"].astimezone(UTC) - first["dtend"].astimezone(UTC) == timedelta(hours=72)
    assert (first["dtend"].hour, second["dtstart"].hour) == (13, 12)
    assert second["dtstart"].utcoffset() == timedelta(hours=-6)


@pytest.mark.parametrize("zone", ["America/Chicago", "Europe/London", "Australia/Lord_Howe", "Asia/Kolkata", "UTC"])
def test_the_zone_is_the_sites_own_at_every_hour(zone: str) -> None:
    calendar = Calendar()
    calendar.add_component(zone_component(zone, 2025, 2027))
    told = vobject.readOne(calendar.to_ical().decode()).vtimezone.tzinfo
    # the fields of the clock on the wall, once; an hour that the clock shows twice or never has no one answer
    clock = datetime.combine(date(2025, 1, 1), time(0, 30))
    while clock.year < 2028:
        own = clock.replace(tzinfo=ZoneInfo(zone))
        if own.utcoffset() == own.replace(fold=1).utcoffset():
            assert own.utcoffset() == clock.replace(tzinfo=told).utcoffset(), clock
        clock += timedelta(hours=1)


def test_a_site_on_universal_time_names_no_zone() -> None:
    raw = crew_calendar("Maple Court", replace(building(), zone="UTC"), plan(), "A", STAMP)
    assert b"VTIMEZONE" not in raw
    assert read(raw)[0]["dtstart"] == at(building(), plan().tasks[0].start)


def test_an_event_says_what_where_with_whom() -> None:
    first, second = read(made(plan()))
    assert first["summary"].startswith("Room 1, east; \\wing: dry set, bed and set")
    assert first["location"] == "Maple Court, floor 1, room 1, east; \\wing"
    assert first["description"] == "With B."
    assert second["description"] == "Inspector: first inspector."
    assert first["url"] == "https://site.test:8080/rooms/1%2C%20east%3B%20%5Cwing"
    assert first["dtstamp"] == STAMP


def test_a_crew_gets_its_own_tasks_under_its_own_ids() -> None:
    mine, others = ({event["uid"] for event in read(made(plan(), crew=crew))} for crew in "AB")
    assert (len(mine), len(others)) == (2, 2)
    assert not mine & others
    assert mine == {event["uid"] for event in read(made(plan()))}


def test_what_moved_counts_up_what_stayed_does_not_what_fell_away_is_cancelled() -> None:
    block, test, survey = plan().tasks
    before = made(plan())
    again = made(plan(), before)
    assert [event["sequence"] for event in read(again)] == ["0", "0"]
    moved = made(Plan((block, replace(test, start=test.start + 4, end=test.end + 4), survey)), again)
    assert [event["sequence"] for event in read(moved)] == ["0", "1"]
    gone = made(Plan((block, survey)), moved)
    kept, cancelled = read(gone)
    assert kept["status"] == ""
    assert (cancelled["status"], cancelled["sequence"]) == ("CANCELLED", "2")
    assert cancelled["dtstart"] == at(building(), test.start + 4)
    assert read(made(Plan((block, survey)), gone))[1]["sequence"] == "2"
    back = read(made(plan(), gone))[1]
    assert (back["status"], back["sequence"]) == ("", "3")


def test_a_file_that_is_no_calendar_is_refused() -> None:
    with pytest.raises(InputError, match="is no calendar"):
        made(plan(), b"room,unit\r\n101,U60\r\n")
