"""Who works when and with how much: what a plan of the building needs from job.toml.

Hours       a working day from and to; written 7:00-15:30
Weekday     mon, tue, ...
Calendar    working days, hours, breaks, holidays, how long each step takes
Kits        sets of braces
Inspector   when one sees second looks

Every default is common practice, no source; a plan names those that it stands on.
"""

from __future__ import annotations

import re
from datetime import date, time
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from drainward.job.frozen import Frozen

__all__ = ["Calendar", "Hours", "Inspector", "Kits", "Weekday", "hours_text"]

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WORKING_WEEK: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri")
_MINUTE = 60.0
_HOUR = 3600.0
_HOURS = re.compile(r"(\d{1,2}):(\d{2})\s*(?:-|–|to)\s*(\d{1,2}):(\d{2})")


def _read_hours(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    found = _HOURS.fullmatch(value.strip())
    if found is None:
        raise ValueError("expected two times of day such as 7:00-15:30")
    a, b, c, d = map(int, found.groups())
    try:
        start, end = time(a, b), time(c, d)
    except ValueError:
        raise ValueError("holds a time that no clock shows; expected such as 7:00-15:30") from None
    if start >= end:
        raise ValueError("ends before it begins; expected such as 7:00-15:30")
    return start, end


Hours = Annotated[tuple[time, time], BeforeValidator(_read_hours)]


def hours_text(hours: tuple[time, time]) -> str:
    """The hours as job.toml has them."""
    return "-".join(f"{clock.hour}:{clock.minute:02}" for clock in hours)


class Calendar(Frozen):
    """When is worked, and how long each step takes, s.

    start : first working day of the job; None for the day on which the first room is ready
    works, hours : days of the week and the hours of a day, for crews that do not say their own
    lunch, lunch_between : the break, and the hours in which it lies;  holidays : on which nobody works
    floor_change : way from one floor to another;  first : room of the first unit, "" for the one that is due first
    survey, correction, block, test, look : lengths of the steps; a correction where the room does not tell its own
    dry_set, brace : first part of the block, until mixing begins; its last part, from which the braces stand
    correction_skill : that a crew needs for a correction; "" for none
    saturday : what a crew's Saturday costs over another day, ratio
    """

    start: date | None = None
    works: tuple[Weekday, ...] = Field(default=WORKING_WEEK, min_length=1)
    hours: Hours = (time(7), time(15, 30))
    lunch: float = Field(default=30 * _MINUTE, ge=0, le=4 * _HOUR)
    lunch_between: Hours = (time(10, 30), time(13, 30))
    holidays: tuple[date, ...] = ()
    floor_change: float = Field(default=15 * _MINUTE, ge=0, le=2 * _HOUR)
    first: str = ""
    survey: float = Field(default=30 * _MINUTE, gt=0, le=8 * _HOUR)
    correction: float = Field(default=3 * _HOUR, gt=0, le=10 * _HOUR)
    block: float = Field(default=3.75 * _HOUR, gt=0, le=12 * _HOUR)
    dry_set: float = Field(default=_HOUR, gt=0, le=8 * _HOUR)
    brace: float = Field(default=0.75 * _HOUR, gt=0, le=8 * _HOUR)
    test: float = Field(default=30 * _MINUTE, gt=0, le=8 * _HOUR)
    look: float = Field(default=15 * _MINUTE, gt=0, le=8 * _HOUR)
    correction_skill: str = ""
    saturday: float = Field(default=1.5, ge=1, le=5)


class Kits(Frozen):
    """braces : sets of braces at hand, one a room; None where nobody said;  week : cost of one set for a week."""

    braces: int | None = Field(default=None, gt=0)
    week: float = Field(default=25.0, ge=0)


class Inspector(Frozen):
    """Who sees second looks: the same hours on the same days of each week."""

    id: str
    name: str
    works: tuple[Weekday, ...] = Field(default=WORKING_WEEK, min_length=1)
    hours: Hours
