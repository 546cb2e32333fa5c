"""What to buy for a whole building and when it is to be there, from what each room was computed to take.

Bought          one thing: packs to buy, and packs by the week in which they are wanted
MortarWeek      one week's mortar: what its rooms take, with its uncertainty, what comes, what is left
Takeoff         all of it, with the saw list of the building and of each delivery
takeoff         adds it up

Mortar and adhesive are bought so that all rooms together have enough at a stated certainty (`bed.buy`), parts of bags
weighed. Rooms that nobody surveyed are guessed from those of their model (`plan.guess`). Counted things get a share on
top for what is dropped or split. Braces serve one room after another (`plan.standing`). Lumber of a delivery is sawn
from the sticks of that delivery.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from drainward.bed.buy import (
    Delivery,
    Need,
    Yield,
    by_week,
    deliveries,
    expected,
    learned,
    leftovers,
    purchase,
    service_level,
)
from drainward.bed.mix import bag_yield
from drainward.errors import Problem
from drainward.job.materials import Materials
from drainward.job.model import Delivered, Job
from drainward.job.names import name_key, nearest
from drainward.plan.cutting import Saw
from drainward.plan.guess import guess
from drainward.plan.needs import RoomNeeds
from drainward.plan.sawing import SawDay, brace_parts, saw_days, saw_whole, sticks
from drainward.quantity import format_length

__all__ = ["Bought", "MortarWeek", "Takeoff", "takeoff"]

U_BEAD = 0.1
"""How far a bead is off its thickness, share of what it takes, standard uncertainty; common practice, no source."""
ORDINARY, ORDINARY_AREA = 2.0, 60 * 36 * 0.0254**2
"""Bags of 50 lb that serve an ordinary unit, and its floor, m2: common practice, no source."""
SPREAD = 0.25
"""Of mortar from room to room before any was surveyed, share of its mean; ours, no source."""
_KINDS = ("mortar", "adhesive", "screw", "shim", "pad", "wedge", "lumber")
_POUND = 0.45359237

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Bought:
    """what : in the trade's words;  pack : what one pack is;  needed, u : packs that are used, and its uncertainty.

    came : packs on site already;  deliveries : packs still to come, by week
    """

    what: str
    pack: str
    needed: float
    u: float
    came: float
    deliveries: tuple[Delivery, ...]

    @property
    def packs(self) -> int:
        """Packs still to come."""
        return sum(delivery.packs for delivery in self.deliveries)

    def as_json(self) -> dict[str, Any]:
        """Counts of packs; weeks by their Monday."""
        return {
            "what": self.what,
            "pack": self.pack,
            "packs": self.packs,
            "needed": {"value": self.needed, "u": self.u},
            "came": self.came,
            "deliveries": [{"week": _iso(d.week), "rooms": list(d.rooms), "packs": d.packs} for d in self.deliveries],
        }


@dataclass(frozen=True, slots=True)
class MortarWeek:
    """One week, its Monday; None for rooms without a date.

    bags, u : that its rooms take;  water : m3;  come : bags still to come for it;  left : bags on hand after it
    lost : bags expected to have gone stale until then
    """

    week: date | None
    rooms: tuple[str, ...]
    bags: float
    u: float
    water: float
    come: int
    left: float
    lost: float

    def as_json(self) -> dict[str, Any]:
        """SI but for the bags."""
        return {
            "week": _iso(self.week), "rooms": list(self.rooms), "bags": {"value": self.bags, "u": self.u},
            "water": self.water, "come": self.come, "left": self.left, "lost": self.lost,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Takeoff:
    """things : in the order of a list;  saws : all lumber of the building sawn at once, the least that can be bought

    level, tubes_level : certainty that mortar and adhesive are enough
    factor : bags used for each bag computed, as far as known;  measured : rooms that told it
    mortar : by week;  alone : bags if each room were rounded up by itself
    guessed : rooms whose bed is not known well enough to mix for;  uncounted : those of which other things are guessed
    ceilings : rooms whose posts are as long as an ordinary ceiling lets them;  days : saw lists of the deliveries
    problems : rows of delivered.csv that name nothing here
    """

    level: float
    tubes_level: float
    factor: Yield
    measured: int
    things: tuple[Bought, ...]
    mortar: tuple[MortarWeek, ...]
    alone: int
    guessed: tuple[str, ...]
    uncounted: tuple[str, ...]
    ceilings: tuple[str, ...]
    saws: tuple[Saw, ...]
    days: tuple[SawDay, ...]
    problems: tuple[Problem, ...] = ()

    @property
    def feet(self) -> int:
        """Feet of lumber sawn by delivery."""
        return sum(saw.plan.cost for day in self.days for saw in day.saws)

    @property
    def least_feet(self) -> int:
        """Feet below which the lumber of the building cannot be sawn, however it comes."""
        return sum(saw.plan.bound for saw in self.saws)

    def as_json(self) -> dict[str, Any]:
        """SI but for packs; weeks by their Monday."""
        return {
            "level": self.level,
            "tubes_level": self.tubes_level,
            "yield_factor": {"value": self.factor.factor, "u": self.factor.u, "rooms": self.measured},
            "things": [thing.as_json() for thing in self.things],
            "mortar_by_week": [week.as_json() for week in self.mortar],
            "each_room_alone": self.alone,
            "guessed": list(self.guessed),
            "uncounted": list(self.uncounted),
            "ceilings_assumed": list(self.ceilings),
            "saw_list": [saw.as_json() for saw in self.saws],
            "saw_lists_by_delivery": [day.as_json() for day in self.days],
        }


@dataclass(frozen=True, slots=True)
class _Thing:
    """One thing before it is bought; counts in packs."""

    what: str
    pack: str
    needs: tuple[Need, ...]
    level: float
    common: float = 0.0
    shelf: float = math.inf


def takeoff(
    job: Job,
    needs: Sequence[RoomNeeds],
    *,
    certainty: float | None = None,
    dates: Mapping[str, tuple[date, date]] | None = None,
    sets: int | None = None,
    progress: Progress | None = None,
) -> Takeoff:
    """All that the rooms take.

    certainty : that mortar and adhesive are enough; None for what costs least, by the job's costs of a pack
    dates : by a plan, the day on which a room's unit is set and that on which its braces come off; None for ready dates
    sets : of braces that stand at once at most; None for as many as the dates ask
    Raises ValueError for a certainty not within 0 to 1 or less than one set.
    """
    tell = progress or (lambda what, share: None)
    goods, planned = job.materials, dates or {}
    when = {n.room.room: planned[n.room.room][0] if n.room.room in planned else n.room.ready for n in needs}
    level = certainty or service_level(goods.costs.bag_short, goods.costs.bag)
    tubes_level = certainty or service_level(goods.costs.tube_short, goods.costs.tube)
    factor, measured = _learned(needs, goods)
    mortar = _mortar(needs, when, factor, goods, level)
    came = _came(job)
    tell("sawing", 0.2)
    parts = brace_parts(needs, when, planned, sets)
    days = saw_days(needs, when, parts, goods.lumber)
    tell("sawing all at once", 0.7)
    things = [mortar, _tubes(needs, when, tubes_level), *_counted(needs, when, goods), *_laid(parts, needs, when)]
    found = [_bought(thing, came) for thing in things if thing.needs]
    found += [_stick(name, come, came) for name, come in sticks(days).items()]
    found += _spare(job, found)
    surveys = [n for n in needs if n.screws is None or n.shims is None or n.blocking is None]
    return Takeoff(
        level=level,
        tubes_level=tubes_level,
        factor=factor,
        measured=measured,
        things=tuple(found),
        mortar=_weeks(mortar, found[0] if mortar.needs else None, goods),
        alone=purchase([n for n in mortar.needs if not n.done], mortar.common, level).by_room if mortar.needs else 0,
        guessed=tuple(n.room.room for n in needs if n.bedded and n.mortar is None and n.used is None),
        uncounted=tuple(n.room.room for n in surveys),
        ceilings=tuple(n.room.room for n in needs if not n.ceiling),
        saws=saw_whole(days, goods.lumber),
        days=days,
        problems=_unknown(job),
    )


def _learned(needs: Sequence[RoomNeeds], goods: Materials) -> tuple[Yield, int]:
    """What bags really used say of the yield that all rooms share; a bed laid more than once tells nothing."""
    used, own = [], []
    for need in needs:
        if need.used is not None and need.mortar is not None and not need.relaid:
            mean, sd = need.mortar
            used.append(need.used[0])
            own.append(Need(need.room.room, mean, math.hypot(sd, need.used[1])))
    return learned(Yield(1.0, bag_yield(goods.mortar).shared), used, own), len(own)


def _mortar(
    needs: Sequence[RoomNeeds], when: Mapping[str, date | None], factor: Yield, goods: Materials, level: float
) -> _Thing:
    """Bags: as used, as computed, or as rooms of the model take."""
    known = [n for n in needs if n.mortar is not None]
    found = []
    for need in needs:
        name, ready = need.room.room, when[need.room.room]
        if need.used is not None:
            found.append(Need(name, *need.used, ready, done=True))
        elif need.mortar is not None:
            mean, sd = need.mortar
            found.append(Need(name, factor.factor * mean, factor.factor * sd, ready))
        elif need.bedded:
            mean, sd, alike, kin = _guessed_bags(need, known)
            by = factor.factor
            found.append(Need(name, by * mean, by * sd, ready, kin=kin, u_kin=by * alike))
    pack = f"bag of {goods.mortar.bag_mass / _POUND:.0f} lb"
    return _Thing("mortar", pack, tuple(found), level, factor.u / factor.factor, goods.mortar.shelf_life)


def _guessed_bags(need: RoomNeeds, known: Sequence[RoomNeeds]) -> tuple[float, float, float, str]:
    """Mean, own and shared uncertainty, and kin: by its model's rooms, else by all with floors of any size."""
    own = [n.mortar[0] for n in known if n.mortar and n.room.unit == need.room.unit]
    if own:
        got, kin = guess(own, SPREAD * sum(own) / len(own)), need.room.unit
    elif known:
        scaled = [n.mortar[0] * need.area / n.area for n in known if n.mortar]
        got, kin = guess(scaled, SPREAD * sum(scaled) / len(scaled)), "all models"
    else:
        mean = ORDINARY * need.area / ORDINARY_AREA
        return mean, SPREAD * mean, SPREAD * mean, "ordinary"
    return got.mean, got.sd, got.u, kin


def _tubes(needs: Sequence[RoomNeeds], when: Mapping[str, date | None], level: float) -> _Thing:
    own = [Need(n.room.room, n.tubes, U_BEAD * n.tubes, when[n.room.room]) for n in needs if n.tubes > 0]
    return _Thing("adhesive", "tube", tuple(own), level)


def _counted(needs: Sequence[RoomNeeds], when: Mapping[str, date | None], goods: Materials) -> list[_Thing]:
    """Screws by kind and shims by thickness."""
    screws = {n.room.room: n.screws for n in needs}
    thick = {format_length(size): size for n in needs for size in n.shims or ()}
    shims = {
        n.room.room: None if n.shims is None else {format_length(size): c for size, c in n.shims.items()} for n in needs
    }
    kinds = (
        ("screw", screws, goods.screws.box, f"box of {goods.screws.box}", goods.screws.spare),
        ("shim", shims, goods.shims.bundle, f"bundle of {goods.shims.bundle}", goods.shims.spare),
    )
    found = []
    for noun, counts, size, pack, spare in kinds:
        names = {name for count in counts.values() if count is not None for name in count}
        for name in sorted(names, key=lambda name: (thick.get(name, 0.0), name)):
            own = _each(needs, when, {room: None if c is None else c.get(name, 0) for room, c in counts.items()})
            packed = tuple(
                Need(n.room, n.mean * (1 + spare) / size, n.sd / size, n.ready, n.kin, n.u_kin / size) for n in own
            )
            found.append(_Thing(f"{noun} {name}", pack, packed, 0.95))
    return found


def _each(needs: Sequence[RoomNeeds], when: Mapping[str, date | None], counts: Mapping[str, int | None]) -> list[Need]:
    """One thing's count by room; guessed for rooms that nobody surveyed."""
    known = [(n.room.unit, count) for n in needs if (count := counts[n.room.room]) is not None]
    found = []
    for need in needs:
        room, count = need.room.room, counts[need.room.room]
        if count is not None:
            if count:
                found.append(Need(room, count, 0.0, when[room]))
            continue
        like = [c for unit, c in known if unit == need.room.unit] or [c for _, c in known]
        mean = sum(like) / len(like)
        if mean > 0:
            # Counts scatter like a Poisson's before any is known.
            got = guess(like, math.sqrt(mean))
            found.append(Need(room, got.mean, got.sd, when[room], need.room.unit, got.u))
    return found


def _laid(
    parts: Mapping[date | None, Mapping[tuple[str, float, str], int]],
    needs: Sequence[RoomNeeds],
    when: Mapping[str, date | None],
) -> list[_Thing]:
    """What belongs to the braces and is not sawn; blocking where nobody measured the studs."""
    found = []
    for what, pack in (("pad", "piece"), ("wedge", "pair")):
        own = [Need("", count, 0.0, week) for week, some in parts.items() for part, count in some.items()
               if part[2] == what]  # fmt: skip
        found.append(_Thing(f"{what} for braces", pack, tuple(own), 0.95))
    sections = sorted({piece.section for n in needs if n.blocking is not None for piece in n.blocking})
    for section in sections:
        feet = {
            n.room.room: None
            if n.blocking is None
            else math.ceil(sum(p.length * p.count for p in n.blocking if p.section == section) / 0.3048 - 1e-9)
            for n in needs
        }
        open_rooms = {room for room, length in feet.items() if length is None}
        own = [need for need in _each(needs, when, feet) if need.room in open_rooms]
        found.append(_Thing(f"lumber {section}, rooms not surveyed", "foot", tuple(own), 0.95))
    return found


def _bought(thing: _Thing, came: Mapping[str, float]) -> Bought:
    here = came.get(name_key(thing.what), 0.0)
    mean, u = expected(thing.needs, thing.common)
    lost = leftovers(thing.needs, thing.shelf)
    come = deliveries(thing.needs, thing.common, thing.level, thing.shelf, here)
    return Bought(thing.what, thing.pack, mean + lost, u, here, tuple(_named_rooms(d) for d in come))


def _named_rooms(come: Delivery) -> Delivery:
    """Braces belong to no room."""
    return Delivery(come.week, tuple(room for room in come.rooms if room), come.packs)


def _stick(what: str, come: Sequence[Delivery], came: Mapping[str, float]) -> Bought:
    """Sticks of one length, less those that came, the first first."""
    here = left = came.get(name_key(what), 0.0)
    still = []
    for delivery in come:
        taken = min(delivery.packs, max(math.floor(left), 0))
        left -= taken
        still.append(Delivery(delivery.week, delivery.rooms, delivery.packs - taken))
    return Bought(what, "stick", float(sum(d.packs for d in come)), 0.0, here, tuple(still))


def _weeks(thing: _Thing, bought: Bought | None, goods: Materials) -> tuple[MortarWeek, ...]:
    if bought is None:
        return ()
    come = {delivery.week: delivery.packs for delivery in bought.deliveries}
    on_hand, found = bought.came, []
    so_far: list[Need] = []
    before = 0.0
    for week, own in by_week(thing.needs).items():
        so_far += own
        bags, u = expected(own, thing.common)
        lost = leftovers(so_far, thing.shelf)
        on_hand += come[week] - bags - (lost - before)
        before = lost
        rooms = tuple(need.room for need in own)
        water = bags * goods.mortar.water_per_bag
        found.append(MortarWeek(week, rooms, bags, u, water, come[week], on_hand, lost))
    return tuple(found)


def _came(job: Job) -> dict[str, float]:
    """Packs that came, by thing."""
    found: dict[str, float] = {}
    for row in job.delivered:
        found[name_key(row.what)] = found.get(name_key(row.what), 0.0) + row.packs
    return found


def _spare(job: Job, found: Sequence[Bought]) -> list[Bought]:
    """What came and no room takes, as where a survey changed what is sawn."""
    taken = {name_key(thing.what) for thing in found}
    rows = {name_key(row.what): row.what for row in job.delivered if _kind(row) in _KINDS}
    return [
        Bought(what, "", 0.0, 0.0, _came(job)[key], ())
        for key, what in rows.items()
        if key not in taken and _came(job)[key]
    ]


def _unknown(job: Job) -> tuple[Problem, ...]:
    """Rows of delivered.csv that name no thing of this trade."""
    expected = f"expected a thing as takeoff names it: {', '.join(_KINDS)}, with its kind"
    return tuple(
        Problem(
            row.file,
            row.line,
            "what",
            row.what,
            f"is nothing that takeoff lists{nearest(row.what, _KINDS)}; {expected}",
        )
        for row in job.delivered
        if _kind(row) not in _KINDS
    )


def _kind(row: Delivered) -> str:
    """The first word."""
    return name_key(row.what).split()[0]


def _iso(week: date | None) -> str | None:
    return None if week is None else week.isoformat()
