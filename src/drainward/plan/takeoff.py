"""What to buy for a whole building and when it is to be there, from what each room was computed to need.

RoomNeeds       one room: mortar, adhesive, screws, shims, pads, lumber
Packs           in what packs things are sold, and how sure it is that what is bought is enough
Bought          one thing: packs to buy, and packs by the week in which their rooms get ready
Takeoff         all of it, with the saw list of the building and of each delivery
takeoff         compute it

Mortar and adhesive are bought so that all rooms together have enough at a stated certainty (`bed.buy`). Counted things
get a share on top for what is dropped or split. Lumber of a delivery is sawn from the sticks of that delivery.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from drainward.bed.buy import Delivery, Need, deliveries, leftovers
from drainward.plan.cutting import KERF, STOCK_FEET, Piece, Saw, saw_lumber
from drainward.quantity import format_length

__all__ = ["Bought", "Packs", "RoomNeeds", "Takeoff", "takeoff"]

_POUND = 0.45359237
_WEEK = 7 * 24 * 3600.0


@dataclass(frozen=True, slots=True)
class RoomNeeds:
    """What one room was computed to need.

    mortar, adhesive : kg of powder and tubes, each its mean and its standard deviation, shared with no other room
    screws : by name, pieces;  shims : by thickness, m, pieces;  pads : under the unit, pieces;  lumber : sawn pieces
    ready : from when the room can take its unit; None where no date is known
    """

    room: str
    ready: date | None = None
    mortar: tuple[float, float] = (0.0, 0.0)
    adhesive: tuple[float, float] = (0.0, 0.0)
    screws: Mapping[str, int] = field(default_factory=dict)
    shims: Mapping[float, int] = field(default_factory=dict)
    pads: int = 0
    lumber: tuple[Piece, ...] = ()


@dataclass(frozen=True, slots=True)
class Packs:
    """How things are sold; the values stand for the job's own where it names none: common practice, no source.

    bag : kg of powder;  mortar_common : relative standard uncertainty of a bag's yield, shared by all rooms
    shelf : how long an opened bag keeps, s;  box : screws;  bundle : shims of one thickness
    spare : share bought on top of counted things;  level : certainty that mortar and adhesive are enough
    stock_feet : lengths of lumber sold;  kerf : of the saw, m
    """

    bag: float = 50 * _POUND
    mortar_common: float = 0.03
    shelf: float = _WEEK
    box: int = 100
    bundle: int = 12
    spare: float = 0.05
    level: float = 0.99
    stock_feet: tuple[int, ...] = STOCK_FEET
    kerf: float = KERF


@dataclass(frozen=True, slots=True)
class Bought:
    """what : in the trade's words;  pack : what one pack is;  needed : packs that are used, on average."""

    what: str
    pack: str
    needed: float
    deliveries: tuple[Delivery, ...]

    @property
    def packs(self) -> int:
        """Packs of all deliveries."""
        return sum(delivery.packs for delivery in self.deliveries)

    def as_json(self) -> dict[str, Any]:
        """Counts of packs; weeks by their Monday."""
        return {
            "what": self.what,
            "pack": self.pack,
            "packs": self.packs,
            "needed": self.needed,
            "deliveries": [
                {"week": None if d.week is None else d.week.isoformat(), "rooms": list(d.rooms), "packs": d.packs}
                for d in self.deliveries
            ],
        }


@dataclass(frozen=True, slots=True)
class Takeoff:
    """things : in the order of a list;  saws : all lumber of the building sawn at once, the least that can be bought

    deliveries : saw lists by week, what is really bought;  level : as in `Packs`
    """

    level: float
    things: tuple[Bought, ...]
    saws: tuple[Saw, ...]
    deliveries: tuple[tuple[date | None, tuple[Saw, ...]], ...]

    @property
    def feet(self) -> int:
        """Feet of lumber bought by delivery."""
        return sum(saw.plan.cost for _, saws in self.deliveries for saw in saws)

    @property
    def least_feet(self) -> int:
        """Feet below which the lumber of the building cannot be bought, however it comes."""
        return sum(saw.plan.bound for saw in self.saws)

    def says(self) -> str:
        """Lumber bought, beside the least that there is."""
        over = self.feet - self.least_feet
        more = f"{over} ft more than the least, since each delivery is sawn by itself" if over else "no list needs less"
        return f"{self.feet} ft of lumber in {len(self.deliveries)} deliveries: {more}." if self.deliveries else ""

    def as_json(self) -> dict[str, Any]:
        """SI throughout; weeks by their Monday."""
        return {
            "schema": 1,
            "level": self.level,
            "things": [thing.as_json() for thing in self.things],
            "saw_list": [saw.as_json() for saw in self.saws],
            "saw_lists_by_delivery": [
                {"week": None if week is None else week.isoformat(), "saws": [saw.as_json() for saw in saws]}
                for week, saws in self.deliveries
            ],
        }


def takeoff(rooms: Sequence[RoomNeeds], packs: Packs | None = None) -> Takeoff:
    """All that the rooms need. Raises ValueError where lumber is longer than any that is sold, or as `buy.pooled`."""
    packs = packs or Packs()
    weeks = _weeks(rooms)
    lists = tuple(
        (week, saws)
        for week, own in weeks.items()
        if (saws := saw_lumber((piece for room in own for piece in room.lumber), packs.stock_feet, packs.kerf))
    )
    whole = saw_lumber((piece for room in rooms for piece in room.lumber), packs.stock_feet, packs.kerf)
    things = (*_weighed(rooms, packs), *_counted(weeks, packs), *_sticks(weeks, lists))
    return Takeoff(packs.level, things, whole, lists)


def _weeks(rooms: Iterable[RoomNeeds]) -> dict[date | None, list[RoomNeeds]]:
    """Rooms by the Monday of their week; those without a date last."""
    found: dict[date | None, list[RoomNeeds]] = {}
    for room in sorted(rooms, key=lambda r: (r.ready is None, r.ready or date.min, r.room)):
        found.setdefault(None if room.ready is None else room.ready - timedelta(room.ready.weekday()), []).append(room)
    return found


def _weighed(rooms: Sequence[RoomNeeds], packs: Packs) -> list[Bought]:
    bags = [Need(r.room, r.mortar[0] / packs.bag, r.mortar[1] / packs.bag, r.ready) for r in rooms if r.mortar[0] > 0]
    tubes = [Need(r.room, *r.adhesive, r.ready) for r in rooms if r.adhesive[0] > 0]
    lost = leftovers(bags, packs.shelf)
    found = []
    for what, pack, needs, common, stale in (
        ("mortar", f"bag of {packs.bag / _POUND:.0f} lb", bags, packs.mortar_common, lost),
        ("adhesive", "tube", tubes, 0.0, 0.0),
    ):
        if needs:
            come = _with_lost(deliveries(needs, common, packs.level), stale)
            found.append(Bought(what, pack, sum(need.mean for need in needs) + stale, come))
    return found


def _with_lost(come: tuple[Delivery, ...], lost: float) -> tuple[Delivery, ...]:
    """Packs that go stale are spread over the deliveries, so that the sum comes to the next whole pack."""
    share, told, found = lost / len(come), 0, []
    for k, delivery in enumerate(come, 1):
        more = math.ceil(k * share - 1e-9) - told
        told += more
        found.append(Delivery(delivery.week, delivery.rooms, delivery.packs + more))
    return tuple(found)


def _counted(weeks: Mapping[date | None, Sequence[RoomNeeds]], packs: Packs) -> list[Bought]:
    def of(what: str, size: int, pack: str, count: Callable[[RoomNeeds], int]) -> Bought:
        come, pieces, told = [], 0, 0
        for week, rooms in weeks.items():
            pieces += sum(map(count, rooms))
            enough = math.ceil(pieces * (1 + packs.spare) / size - 1e-9)
            come.append(Delivery(week, tuple(room.room for room in rooms if count(room)), enough - told))
            told = enough
        return Bought(what, pack, pieces / size, tuple(delivery for delivery in come if delivery.rooms))

    every = [room for rooms in weeks.values() for room in rooms]
    screws = sorted({name for room in every for name in room.screws})
    shims = sorted({thickness for room in every for thickness in room.shims})
    found = [of(f"screw {name}", packs.box, f"box of {packs.box}", _screws(name)) for name in screws]
    found += [
        of(f"shim {format_length(thickness)}", packs.bundle, f"bundle of {packs.bundle}", _shims(thickness))
        for thickness in shims
    ]
    found.append(of("pad", 1, "piece", lambda r: r.pads))
    return [bought for bought in found if bought.needed]


def _screws(name: str) -> Callable[[RoomNeeds], int]:
    return lambda room: room.screws.get(name, 0)


def _shims(thickness: float) -> Callable[[RoomNeeds], int]:
    return lambda room: room.shims.get(thickness, 0)


def _sticks(
    weeks: Mapping[date | None, Sequence[RoomNeeds]], lists: Sequence[tuple[date | None, Sequence[Saw]]]
) -> list[Bought]:
    come: dict[tuple[str, int], list[Delivery]] = defaultdict(list)
    total: Counter[tuple[str, int]] = Counter()
    for week, saws in lists:
        for saw in saws:
            rooms = tuple(r.room for r in weeks[week] if any(piece.section == saw.section for piece in r.lumber))
            for feet, count in saw.bought.items():
                come[saw.section, feet].append(Delivery(week, rooms, count))
                total[saw.section, feet] += count
    return [
        Bought(f"lumber {section}", f"{feet} ft", float(total[section, feet]), tuple(come[section, feet]))
        for section, feet in sorted(come)
    ]
