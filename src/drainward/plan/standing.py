"""Braces serve one room after another: how many pieces of each kind are made, and when.

Part      a kind of piece: section, length, what it is
Stand     one room's braces: from when, how long, which pieces
made      pieces to make, by the week in which they are first wanted
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from drainward.bed.buy import week_of

__all__ = ["Part", "Stand", "made"]

Part = tuple[str, float, str]


@dataclass(frozen=True, slots=True)
class Stand:
    """since : None where no date is known;  days : that the braces stand;  pieces : by kind, how many."""

    room: str
    since: date | None
    days: int
    pieces: Mapping[Part, int]


def made(stands: Iterable[Stand], sets: int | None = None) -> dict[date | None, Counter[Part]]:
    """Pieces to make by the Monday of the week: as many as stand at once, over those that were made before.

    sets : rooms that are braced at once at most, the next one waits; None for as many as the dates ask
    Rooms without a date come after all others: at once, or one after the other as sets come free.
    Raises ValueError for less than one set.
    """
    if sets is not None and sets < 1:
        raise ValueError(f"expected one set of braces or more, got {sets!r}")
    order = sorted(stands, key=lambda s: (s.since is None, s.since or date.min))
    last = max((s.since + timedelta(s.days) for s in order if s.since is not None), default=date(1, 1, 1))
    up: list[tuple[date, int]] = []
    held: Counter[Part] = Counter()
    most: Counter[Part] = Counter()
    found: dict[date | None, Counter[Part]] = {}
    for number, stand in enumerate(order):
        start = stand.since or last
        while up and (up[0][0] <= start or (sets is not None and len(up) >= sets)):
            off, other = heapq.heappop(up)
            start = max(start, off)
            held.subtract(order[other].pieces)
        heapq.heappush(up, (start + timedelta(stand.days), number))
        held.update(stand.pieces)
        new = Counter({kind: held[kind] - most[kind] for kind in stand.pieces if held[kind] > most[kind]})
        if new:
            found.setdefault(None if stand.since is None else week_of(start), Counter()).update(new)
            most.update(new)
    return found
