"""From the rooms' lumber to saw lists by delivery.

Cut            pieces alike in one delivery, under the letter that the saw list knows them by
SawDay         the saw lists of one delivery
brace_parts    pieces, pads and wedges of braces to make, by week
saw_days       saw lists by week
saw_whole      one saw list for all of it, the least that can be bought
sticks         sticks to buy, by section and length, week by week
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from drainward.bed.buy import Delivery, week_of
from drainward.job.materials import Lumber
from drainward.plan.cutting import STEP, Piece, Saw, saw_lumber
from drainward.plan.needs import RoomNeeds
from drainward.plan.standing import Part, Stand, made

__all__ = ["Cut", "SawDay", "brace_parts", "saw_days", "saw_whole", "sticks"]

_DAY = 86400.0
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which read as numbers."""


@dataclass(frozen=True, slots=True)
class Cut:
    """Pieces alike. mark : the letter;  steps : length in 1/32 in;  uses : what of them becomes what, with how many.

    rooms : for which blocking is, with how many; empty for braces, which serve one room after another
    """

    mark: str
    section: str
    steps: int
    count: int
    uses: tuple[tuple[str, int], ...]
    rooms: tuple[tuple[str, int], ...]

    def as_json(self) -> dict[str, Any]:
        """SI throughout."""
        return {
            "mark": self.mark, "section": self.section, "length": self.steps * STEP, "count": self.count,
            "uses": [{"what": what, "count": count} for what, count in self.uses],
            "rooms": [{"room": room, "count": count} for room, count in self.rooms],
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class SawDay:
    """week : its Monday, None for what has no date;  saws : by section;  cuts : what their pieces are."""

    week: date | None
    saws: tuple[Saw, ...]
    cuts: tuple[Cut, ...]

    def mark(self, section: str, steps: int) -> str:
        """The letter of a piece."""
        return next(cut.mark for cut in self.cuts if (cut.section, cut.steps) == (section, steps))

    def as_json(self) -> dict[str, Any]:
        """SI throughout."""
        return {
            "week": None if self.week is None else self.week.isoformat(),
            "saws": [saw.as_json() for saw in self.saws],
            "pieces": [cut.as_json() for cut in self.cuts],
        }


def brace_parts(
    needs: Iterable[RoomNeeds],
    when: Mapping[str, date | None],
    planned: Mapping[str, tuple[date, date]],
    sets: int | None,
) -> dict[date | None, Counter[Part]]:
    """Pieces, pads and wedges of the braces, by the week in which they are first wanted.

    when : the day on which a room's unit is set;  planned : that and the day on which its braces come off, by a plan
    """
    stands = []
    for need in needs:
        if not need.braces:
            continue
        name = need.room.room
        pieces: Counter[Part] = Counter()
        for piece in need.braces:
            pieces[piece.section, piece.length, piece.use] += piece.count
        pieces["", 0.0, "pad"], pieces["", 0.0, "wedge"] = need.pads, need.wedges
        # Without a plan they come off on the working day after the cure.
        days = (planned[name][1] - planned[name][0]).days if name in planned else math.ceil(need.stands / _DAY) + 1
        stands.append(Stand(name, when[name], days, pieces))
    return made(stands, sets)


def saw_days(
    needs: Iterable[RoomNeeds],
    when: Mapping[str, date | None],
    parts: Mapping[date | None, Mapping[Part, int]],
    lumber: Lumber,
) -> tuple[SawDay, ...]:
    """Saw lists by week; blocking comes with its room, braces when they are first wanted."""
    weeks: dict[date | None, list[tuple[Piece, str]]] = defaultdict(list)
    for week, some in parts.items():
        weeks[week] += [(Piece(s, length, n, use), "") for (s, length, use), n in some.items() if s]
    for need in needs:
        for piece in need.blocking or ():
            weeks[week_of(when[need.room.room])].append((piece, need.room.room))
    found = []
    for week in sorted(weeks, key=lambda w: (w is None, w or date.min)):
        saws = saw_lumber((piece for piece, _ in weeks[week]), lumber.stock_feet, lumber.kerf)
        found.append(SawDay(week, saws, _cuts(weeks[week])))
    return tuple(found)


def _cuts(pieces: Sequence[tuple[Piece, str]]) -> tuple[Cut, ...]:
    uses: dict[tuple[str, int], Counter[str]] = defaultdict(Counter)
    rooms: dict[tuple[str, int], Counter[str]] = defaultdict(Counter)
    for piece, room in pieces:
        kind = piece.section, math.ceil(piece.length / STEP - 1e-6)
        uses[kind][piece.use] += piece.count
        if room:
            rooms[kind][room] += piece.count
    order = sorted(uses, key=lambda kind: (kind[0], -kind[1]))
    return tuple(
        Cut(_letter(k), *kind, uses[kind].total(), tuple(sorted(uses[kind].items())), tuple(rooms[kind].items()))
        for k, kind in enumerate(order)
    )


def _letter(number: int) -> str:
    """A, B, … Z, AA, AB …"""
    first, last = divmod(number, len(_LETTERS))
    return (_letter(first - 1) if first else "") + _LETTERS[last]


def saw_whole(days: Sequence[SawDay], lumber: Lumber) -> tuple[Saw, ...]:
    """All pieces of all deliveries at once."""
    if len(days) == 1:
        return days[0].saws
    pieces = (Piece(cut.section, cut.steps * STEP, cut.count) for day in days for cut in day.cuts)
    return saw_lumber(pieces, lumber.stock_feet, lumber.kerf)


def sticks(days: Sequence[SawDay]) -> dict[str, list[Delivery]]:
    """By name, such as lumber 2x4, 8 ft."""
    found: dict[tuple[str, int], list[Delivery]] = defaultdict(list)
    for day in days:
        for saw in day.saws:
            rooms = dict.fromkeys(room for cut in day.cuts if cut.section == saw.section for room, _ in cut.rooms)
            for feet, count in saw.bought.items():
                found[saw.section, feet].append(Delivery(day.week, tuple(rooms), count))
    return {f"lumber {section}, {feet} ft": found[section, feet] for section, feet in sorted(found)}
