"""Calendars read back by a reader that shares no code with their writer: a small one here, zones by dateutil."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical

from drainward.errors import InputError
from drainward.plan.calendar_export import crew_calendar
from drainward.plan.clock import at, origin_of, shifts, slot_of
from drainward.plan.model import Building, Crew, Kind, Plan, PlanRoom, Task

STAMP = datetime(2026, 10, 1, 12, tzinfo=UTC)
ZONE = "America/Chicago"
START = date(2026, 10, 26)
Event = dict[str, tuple[dict[str, str], str]]


def read(raw: bytes) -> list[Event]:
    """Events of a calendar by RFC 5545, 3.1 to 3.3: CRLF, lines of 75 octets unfolded, names, parameters, escapes."""
    assert raw.endswith(b"\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert max(map(len, raw.split(b"\r\n"))) <= 75
    lines = raw.replace(b"\r\n ", b"").decode().split("\r\n")
    assert (lines[0], lines[-2]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert {"VERSION:2.0", "PRODID:-//Drainward//plan//EN"} <= set(lines)
    events: list[Event] = []
    for line in lines[:-1]:
        head, value = re.fullmatch(r'((?:[^":;]|;|"[^"]*")+):(.*)', line).groups()  # type: ignore[union-attr]
        name, *rest = head.split(";")
        if line == "BEGIN:VEVENT":
            events.append({})
        elif events and "END" not in events[-1]:
            assert name not in events[-1]
            text = re.sub(r"\\([;,\\nN])", lambda found: "\n" if found[1] in "nN" else found[1], value)
            events[-1][name] = (dict(part.split("=", 1) for part in rest), text)
    return events


def instant(raw: bytes, event: Event, name: str) -> datetime:
    parameters, value = event[name]
    zone = tzical(io.StringIO(raw.decode().replace("\r\n ", "").replace("\r\n", "\n"))).get(parameters["TZID"])
    return datetime.strptime(value, "%Y%m%dT%H%M%S").replace(tzinfo=zone).astimezone(UTC)


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


def test_events_come_back_at_their_instants_over_the_clock_change() -> None:
    raw, work = made(plan()), building()
    first, second = read(raw)
    for event, task in zip((first, second), plan().tasks, strict=False):
        assert at(work, task.start) == instant(raw, event, "DTSTART")
        assert at(work, task.end) == instant(raw, event, "DTEND")
    assert instant(raw, second, "DTSTART") - instant(raw, first, "DTEND") == timedelta(hours=72)
    assert (first["DTEND"][1], second["DTSTART"][1]) == ("20261030T134500", "20261102T124500")
    assert at(work, plan().tasks[1].start).astimezone(ZoneInfo(ZONE)).utcoffset() == timedelta(hours=-6)


def test_an_event_says_what_where_with_whom() -> None:
    first, second = read(made(plan()))
    assert first["SUMMARY"][1].startswith("Room 1, east; \\wing: dry set, bed and set")
    assert first["LOCATION"][1] == "Maple Court, floor 1, room 1, east; \\wing"
    assert first["DESCRIPTION"][1] == "With B."
    assert second["DESCRIPTION"][1] == "Inspector: first inspector."
    assert first["URL"][1] == "https://site.test:8080/rooms/1%2C%20east%3B%20%5Cwing"
    assert first["DTSTAMP"][1] == "20261001T120000Z"


def test_a_crew_gets_its_own_tasks_under_its_own_ids() -> None:
    mine, others = ({event["UID"][1] for event in read(made(plan(), crew=crew))} for crew in "AB")
    assert (len(mine), len(others)) == (2, 2)
    assert not mine & others
    assert mine == {event["UID"][1] for event in read(made(plan()))}


def test_what_moved_counts_up_what_stayed_does_not_what_fell_away_is_cancelled() -> None:
    block, test, survey = plan().tasks
    before = made(plan())
    again = made(plan(), before)
    assert [event["SEQUENCE"][1] for event in read(again)] == ["0", "0"]
    moved = made(Plan((block, replace(test, start=test.start + 4, end=test.end + 4), survey)), again)
    assert [event["SEQUENCE"][1] for event in read(moved)] == ["0", "1"]
    gone = made(Plan((block, survey)), moved)
    kept, cancelled = read(gone)
    assert "STATUS" not in kept
    assert (cancelled["STATUS"][1], cancelled["SEQUENCE"][1]) == ("CANCELLED", "2")
    assert instant(gone, cancelled, "DTSTART") == at(building(), test.start + 4)
    assert read(made(Plan((block, survey)), gone))[1]["SEQUENCE"][1] == "2"
    back = read(made(plan(), gone))[1]
    assert ("STATUS" not in back, back["SEQUENCE"][1]) == (True, "3")


def test_a_file_that_is_no_calendar_is_refused() -> None:
    with pytest.raises(InputError, match="is no calendar"):
        made(plan(), b"room,unit\r\n101,U60\r\n")
