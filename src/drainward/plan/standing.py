"""Braces serve one room after another: how many pieces of each kind are made, and when.

Part      a kind of piece: section, length, what it is
Stand     one room's braces: from when, how long, which pieces
made      pieces to make, by the week in which they are first wanted, and in how many rooms braces stand at once
spared    the same with pieces to spare
"""

from __future__ import annotations

import heapq
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from drainward.bed.buy import week_of

__all__ = ["Part", "Stand", "made", "spared"]

Part = tuple[str, float, str]
_LONG_AGO = datetime.combine(date.min, time())
ByWeek = dict[date | None, Counter[Part]]


@dataclass(frozen=True, slots=True)
class Stand:
    """since : by the clock on the wall, None where no date is known;  lasts : how long;  pieces : by kind, how many."""

    room: str
    since: datetime | None
    lasts: timedelta
    pieces: Mapping[Part, int]


def made(stands: Iterable[Stand], sets: int | None = None) -> tuple[ByWeek, int]:
    """Pieces to make by the Monday of the week: as many as stand at once, over those that were made before.

    sets : rooms that are braced at once at most, the next one waits; None for as many as the dates ask
    Also the rooms that are braced at once, at most. Rooms without a date come after all others: at once, or one after
    the other as sets come free.
    Raises ValueError for less than one set.
    """
    if sets is not None and sets < 1:
        raise ValueError(f"expected one set of braces or more, got {sets!r}")
    order = sorted(stands, key=lambda s: (s.since is None, s.since or _LONG_AGO))
    last = max((s.since + s.lasts for s in order if s.since is not None), default=_LONG_AGO)
    up: list[tuple[datetime, int]] = []
    held: Counter[Part] = Counter()
    most: Counter[Part] = Counter()
    found: ByWeek = {}
    rooms = 0
    for number, stand in enumerate(order):
        start = stand.since or last
        while up and (up[0][0] <= start or (sets is not None and len(up) >= sets)):
            off, other = heapq.heappop(up)
            start = max(start, off)
            held.subtract(order[other].pieces)
        heapq.heappush(up, (start + stand.lasts, number))
        rooms = max(rooms, len(up))
        held.update(stand.pieces)
        new = Counter({kind: held[kind] - most[kind] for kind in stand.pieces if held[kind] > most[kind]})
        if new:
            found.setdefault(None if stand.since is None else week_of(start.date()), Counter()).update(new)
            most.update(new)
    return found, rooms


def spared(pieces: Mapping[date | None, Counter[Part]], share: float) -> ByWeek:
    """With this share more of each section and use, the longest of them, since a longer one can be cut down."""
    found: ByWeek = {week: Counter(some) for week, some in pieces.items()}
    total: Counter[tuple[str, str]] = Counter()
    longest: dict[tuple[str, str], tuple[float, date | None]] = defaultdict(lambda: (-1.0, None))
    for week, some in pieces.items():
        for (section, length, use), count in some.items():
            total[section, use] += count
            if length > longest[section, use][0]:
                longest[section, use] = length, week
    for (section, use), count in total.items():
        length, week = longest[section, use]
        found[week][section, length, use] += math.ceil(share * count - 1e-9)
    return found
