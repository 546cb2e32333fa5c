"""A site's clock as a VTIMEZONE (RFC 5545, 3.6.5): `zone_component`.

Each change of the clock is a part of its own, whose start is told by the clock before the change. A list of dates in
one part is as good by the standard, but there are readers that take only its first.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

__all__ = ["zone_component"]

_DAY = timedelta(days=1)


def zone_component(name: str, first: int, last: int) -> Any:
    """The component. name : of the tz database;  first, last : years that it covers, both whole."""
    zone = ZoneInfo(name)
    begin = datetime(first, 1, 1, tzinfo=UTC) - 2 * _DAY
    found = Timezone()
    found.add("tzid", name)
    found.add_component(_part(zone, begin, begin))
    for change in _changes(zone, begin, datetime(last + 1, 1, 1, tzinfo=UTC)):
        found.add_component(_part(zone, change - timedelta(seconds=1), change))
    return found


def _part(zone: ZoneInfo, before: datetime, after: datetime) -> Any:
    """What holds from `after` on."""
    was, now = before.astimezone(zone), after.astimezone(zone)
    part = TimezoneDaylight() if now.dst() else TimezoneStandard()
    offset = was.utcoffset() or timedelta()
    part.add("dtstart", (after + offset).replace(tzinfo=None))
    part.add("tzname", now.tzname() or "")
    part.add("tzoffsetfrom", offset)
    part.add("tzoffsetto", now.utcoffset() or timedelta())
    return part


def _changes(zone: ZoneInfo, begin: datetime, end: datetime) -> Iterator[datetime]:
    """Instants at which the offset changes, to the second; two within a day would cancel out unseen."""
    day = begin
    while day < end:
        low, high = day, day + _DAY
        if low.astimezone(zone).utcoffset() != high.astimezone(zone).utcoffset():
            while high - low > timedelta(seconds=1):
                middle = low + (high - low) // 2
                middle = middle.replace(microsecond=0)
                if middle.astimezone(zone).utcoffset() == day.astimezone(zone).utcoffset():
                    low = middle
                else:
                    high = middle
            yield high
        day += _DAY
