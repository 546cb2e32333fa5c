"""Slots and dates: `slot_of` (local date and time to slot), `at` and `local` (back), `shifts`, `windows`.

Slots are counted in UTC, so that 72 h of cure are 72 true hours where the clocks change in between.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from drainward.plan.model import SLOT, Building, Shift

__all__ = ["at", "local", "origin_of", "shifts", "slot_of", "windows"]


def origin_of(start: date, zone: str) -> datetime:
    """The UTC instant of local midnight on the first day."""
    return datetime.combine(start, time(), ZoneInfo(zone)).astimezone(UTC)


def slot_of(origin: datetime, zone: str, day: date, clock: time) -> int:
    """Slot of a local date and time; a time within a slot counts as its start."""
    return int((datetime.combine(day, clock, ZoneInfo(zone)).astimezone(UTC) - origin) // SLOT)


def at(building: Building, slot: int) -> datetime:
    """The UTC instant of a slot."""
    return building.origin + slot * SLOT


def local(building: Building, slot: int) -> datetime:
    """The same in the building's zone, for printing only."""
    return at(building, slot).astimezone(ZoneInfo(building.zone))


def shifts(
    start: date,
    zone: str,
    days: int,
    hours: tuple[time, time] = (time(7), time(15, 30)),
    lunch: tuple[time, time] = (time(10, 30), time(13, 30)),
    holidays: Iterable[date] = (),
    weekdays: Iterable[int] = range(5),
) -> tuple[Shift, ...]:
    """The shifts of `days` calendar days from `start`; weekdays as in `date.weekday`, Monday 0."""
    origin, off, on = origin_of(start, zone), set(holidays), set(weekdays)
    found = []
    for number in range(days):
        day = start + timedelta(days=number)
        if day.weekday() in on and day not in off:
            begin, end, eat, back = (slot_of(origin, zone, day, clock) for clock in (*hours, *lunch))
            found.append(Shift(number, begin, end, eat, back))
    return tuple(found)


def windows(
    start: date, zone: str, days: int, hours: tuple[time, time], weekdays: Iterable[int], holidays: Iterable[date] = ()
) -> tuple[tuple[int, int], ...]:
    """An inspector's slots: the same hours on the same days of each week."""
    return tuple((shift.start, shift.end) for shift in shifts(start, zone, days, hours, hours, holidays, weekdays))
