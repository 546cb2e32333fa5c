"""The clock of one room's bed: how old it is, when its braces may come off and water may be poured.

Clock, clock     all of it, from what the record holds and a time
clock_findings   its age, its braces, its temperatures

Nothing is kept but what the record holds: a program that starts anew reads the same clock. Times are UTC inside.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from drainward.errors import StageError
from drainward.finding import Certainty, Finding, Source, Verdict, conformance, decide
from drainward.hold.cure import LAWS, History, age, when
from drainward.job.materials import Site
from drainward.job.model import SettingEvent, UnitModel, Work

__all__ = ["LEAST", "ByLaw", "Clock", "Known", "clock", "clock_findings", "last_of"]

LEAST = 72 * 3600.0
"""From placing until a bed carries load at 70 °F, s: common practice, no source."""
COLD, HOT = (40 - 32) / 1.8, (90 - 32) / 1.8
"""A bed is not left to cure below or above, degC: common practice, no source."""
_NIGHT = 12 * 3600.0
"""A slab may have got colder or warmer, unseen, between readings farther apart than this, s."""
_BESIDE = 6 * 3600.0
"""A reading of the air stands for the slab where none of the slab is nearer, s."""
_BEFORE = 24 * 3600.0
"""A slab read longer before the placing tells nothing of the bed, s."""
_NO_SURER = 60.0
"""No clock of a site is surer than this, s."""
_LONGEST = 60 * 86400.0

PRACTICE = str(Source("", "", "", Certainty.PRACTICE))
_BY_LAW = f"{PRACTICE}; equivalent age by the forms of ASTM C1074 (memory)"


@dataclass(frozen=True, slots=True)
class Known:
    """Temperatures that stand for the slab: when, s from the placing, degC, u in K; and whether of the air."""

    at: float
    celsius: float
    u: float
    air: bool


@dataclass(frozen=True, slots=True)
class ByLaw:
    """One law: equivalent age now, s at 70 °F, and when the cure is reached, UTC; None where it never is."""

    law: str
    age: float
    ready: datetime | None


@dataclass(frozen=True, slots=True)
class Clock:
    """placed, now : UTC;  needed : equivalent age that the bed needs, s at 70 °F

    age, u : now, by the slowest law, and its standard uncertainty;  law : the slowest
    ready    : when the slowest law reaches `needed` if the slab stays as it was last read, UTC
    earliest, latest : the same if it gets warmer or colder by the site's spread and the thermometer is off; None where
               never
    may      : from when it is sure enough that braces may come off and water may be poured; None where never
    known    : temperatures that were read;  assumed : what stands for something that nobody read, in sentences
    fastened, braces_on, braces_off : when, UTC; None where nobody wrote it down
    """

    room: str
    placed: datetime
    now: datetime
    needed: float
    age: float
    u: float
    law: str
    by_law: tuple[ByLaw, ...]
    ready: datetime | None
    earliest: datetime | None
    latest: datetime | None
    may: datetime | None
    known: tuple[Known, ...]
    assumed: tuple[str, ...]
    fastened: datetime | None
    braces_on: datetime | None
    braces_off: datetime | None
    at_braces_off: float | None

    def as_json(self) -> dict[str, Any]:
        """Times in UTC, ISO 8601; SI throughout."""
        return {
            "placed": _iso(self.placed),
            "now": _iso(self.now),
            "needed": self.needed,
            "age": {"value": self.age, "u": self.u, "law": self.law},
            "by_law": [{"law": row.law, "age": row.age, "ready": _iso(row.ready)} for row in self.by_law],
            "ready": _iso(self.ready),
            "earliest": _iso(self.earliest),
            "latest": _iso(self.latest),
            "may": _iso(self.may),
            "temperatures": [{"at": k.at, "value": k.celsius, "u": k.u, "air": k.air} for k in self.known],
            "fastened": _iso(self.fastened),
            "braces_on": _iso(self.braces_on),
            "braces_off": _iso(self.braces_off),
            "assumed": list(self.assumed),
        }


def clock(
    room: str, unit: UnitModel, events: Iterable[SettingEvent], site: Site, now: datetime, risk: float = 0.05
) -> Clock:
    """The clock of a room at `now`, which is aware of its zone.

    events : of this room. The cure needs 72 h at 70 °F, or the unit's minimum cure where that is longer.
    Raises StageError where no bed was placed before `now`; ValueError where `now` has no zone.
    """
    if now.tzinfo is None:
        raise ValueError("expected a time that is aware of its zone")
    now = site.utc(now)
    told = [event for event in events if event.room == room and site.utc(event.when) <= now]
    bed = last_of(told, Work.BED_PLACED, site)
    if bed is None:
        raise StageError(f"nobody wrote down when the bed of room {room} was placed: the cure counts from there")
    known = _known(told, site, bed)
    slab = _Slab(known, site)
    needed = max(LEAST, unit.minimum_cure)
    until = (now - bed).total_seconds()
    gained = [age(law, slab.expected, until) for law in LAWS]
    slowest = min(range(len(LAWS)), key=gained.__getitem__)
    by_law = tuple(
        ByLaw(law.name, own, _after(bed, when(law, slab.expected, needed)))
        for law, own in zip(LAWS, gained, strict=True)
    )
    stood = {work: _since(told, work, site, bed) for work in (Work.FASTENED, Work.BRACES_ON, Work.BRACES_OFF)}
    off = stood[Work.BRACES_OFF]
    return Clock(
        room=room,
        placed=bed,
        now=now,
        needed=needed,
        age=gained[slowest],
        u=slab.u(until),
        law=LAWS[slowest].name,
        by_law=by_law,
        ready=_after(bed, _slowest(slab.expected, needed)),
        earliest=_after(bed, slab.edge(needed, 1)),
        latest=_after(bed, slab.edge(needed, -1)),
        may=_after(bed, slab.sure(needed, risk)),
        known=known,
        assumed=_assumed(known, site, until),
        fastened=stood[Work.FASTENED],
        braces_on=stood[Work.BRACES_ON],
        braces_off=off,
        at_braces_off=None if off is None else slab.chance((off - bed).total_seconds(), needed),
    )


def clock_findings(told: Clock, site: Site, risk: float) -> tuple[Finding, ...]:
    """Whether the bed has cured, its braces stood so long, and it was neither too cold nor too hot.

    Times in their words are by the clock on the wall of the site.
    """
    return (_age(told, site, risk), _braces(told, site, risk), _temperature(told, risk))


def last_of(events: Iterable[SettingEvent], work: Work, site: Site) -> datetime | None:
    """When a thing was done last, UTC; None where it was not."""
    return max((site.utc(event.when) for event in events if event.what is work), default=None)


class _Slab:
    """What the slab's temperature is taken to be: as read, and as cold and as warm as it may have been beside that."""

    def __init__(self, known: Sequence[Known], site: Site) -> None:
        self.expected = _history(known, site, 0.0)
        self.cold = _history(known, site, -site.spread)
        self.warm = _history(known, site, site.spread)
        self._off = math.sqrt(sum(k.u**2 for k in known) / len(known)) if known else 0.0

    def u(self, until: float) -> float:
        """Standard uncertainty of the slowest law's age, s: the thermometer off all along, and what nobody read."""
        high, low = (_youngest(self.expected.shifted(sign * self._off), until) for sign in (1, -1))
        unread = (_youngest(self.warm, until) - _youngest(self.cold, until)) / math.sqrt(12)
        return max(math.hypot((high - low) / 2, unread), _NO_SURER)

    def edge(self, needed: float, sign: int) -> float | None:
        """When it is reached at the warm end, 1, or the cold end, -1, of what the slab may be, s."""
        return _slowest((self.warm if sign > 0 else self.cold).shifted(sign * self._off), needed)

    def chance(self, until: float, needed: float) -> float:
        """Chance that the age needed is reached at a time."""
        return conformance(_youngest(self.expected, until), self.u(until), needed, None)

    def sure(self, needed: float, risk: float) -> float | None:
        """From when it is reached with a chance of 1 - risk or more, s, if nobody reads the slab any more."""
        low = _slowest(self.expected, needed)
        if low is None:
            return None
        high = low + 3600.0
        while self.chance(high, needed) < 1 - risk:
            high += high - low + 3600.0
            if high > _LONGEST:
                return None
        while high - low > 30.0:
            middle = (low + high) / 2
            low, high = (low, middle) if self.chance(middle, needed) >= 1 - risk else (middle, high)
        return high


def _youngest(history: History, until: float) -> float:
    return min(age(law, history, until) for law in LAWS)


def _slowest(history: History, needed: float) -> float | None:
    """When the last law reaches `needed`, s; None where one never does."""
    times = [when(law, history, needed) for law in LAWS]
    known = [time for time in times if time is not None]
    return max(known) if len(known) == len(times) else None


def _known(events: Sequence[SettingEvent], site: Site, bed: datetime) -> tuple[Known, ...]:
    """Temperatures that stand for the slab, in order of time; of two at one time the later written one."""
    found: dict[float, Known] = {}
    slab = [_read(event, site, bed) for event in events if event.what is Work.SLAB_TEMPERATURE]
    air = [_read(event, site, bed) for event in events if event.what is Work.AIR_TEMPERATURE]
    alone = [row for row in air if all(abs(row.at - other.at) > _BESIDE for other in slab)]
    for row in (*alone, *slab):
        if row.at >= -_BEFORE:
            found[row.at] = row
    return tuple(found[at] for at in sorted(found))


def _read(event: SettingEvent, site: Site, bed: datetime) -> Known:
    at = (site.utc(event.when) - bed).total_seconds()
    return Known(at, event.value or 0.0, event.u or 0.0, event.what is Work.AIR_TEMPERATURE)


def _history(known: Sequence[Known], site: Site, off: float) -> History:
    """Straight between what was read; `off`, K, wherever nobody read for a night, and after the last reading."""
    if not known:
        return History((0.0,), (site.temperature + off,))
    at, celsius = [known[0].at], [known[0].celsius]
    for before, after in pairwise(known):
        if off and after.at - before.at > _NIGHT:
            at.append((before.at + after.at) / 2)
            celsius.append((before.celsius + after.celsius) / 2 + off)
        at.append(after.at)
        celsius.append(after.celsius)
    if off:
        at.append(at[-1] + _NIGHT)
        celsius.append(celsius[-1] + off)
    return History(tuple(at), tuple(celsius))


def _since(events: Iterable[SettingEvent], work: Work, site: Site, bed: datetime) -> datetime | None:
    """When a thing was last done to the bed that lies there now, UTC."""
    done = last_of(events, work, site)
    return done if done is not None and done >= bed else None


def _after(bed: datetime, seconds: float | None) -> datetime | None:
    return None if seconds is None or seconds > _LONGEST else bed + timedelta(seconds=round(seconds))


def _iso(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat(timespec="seconds")


def _assumed(known: Sequence[Known], site: Site, until: float) -> tuple[str, ...]:
    spread = f"{site.spread * 1.8:.0f} °F"
    if not known:
        warm = f"{site.temperature * 1.8 + 32:.0f} °F"
        return (f"Nobody read the slab's temperature: it is taken to lie within {spread} of {warm}.",)
    told = []
    if any(row.air for row in known):
        told.append("The air's temperature stands for the slab's where nobody read the slab: a slab follows it slowly.")
    if until - known[-1].at > _NIGHT:
        told.append(
            f"Nobody read the slab for {(until - known[-1].at) / 3600:.0f} h: within {spread} it stays as it was."
        )
    return tuple(told)


def _hours(seconds: float) -> str:
    return f"{seconds / 3600:.0f} h"


def _at(time: datetime | None, site: Site) -> str:
    if time is None:
        return "a time that does not come while it stays so cold"
    return f"{site.wall(time):%Y-%m-%d %H:%M %Z}"


def _age(told: Clock, site: Site, risk: float) -> Finding:
    """A bed that has not cured yet fails nothing: time settles it."""
    chance = conformance(told.age, told.u, told.needed, None)
    cured = decide(chance, Certainty.PRACTICE, risk) is Verdict.MEETS
    wait = f"Keep off the floor, leave the braces, pour no water before {_at(told.may, site)}: then it is sure enough."
    band = f" If it gets colder, {_at(told.latest, site)}. Read the slab's temperature again: it narrows this."
    return Finding(
        id="cure/age",
        what=f"Age of the bed as if it were kept at 70 °F ({told.law}, the slowest)",
        value=told.age,
        u=told.u,
        unit="s",
        limit=f"at least {_hours(told.needed)}",
        probability=chance,
        verdict=Verdict.MEETS if cured else Verdict.NOT_PROVEN,
        source=_BY_LAW,
        advice="" if cured else wait + band,
    )


def _braces(told: Clock, site: Site, risk: float) -> Finding:
    """Braces stand from the fastening until the bed has cured."""
    now = conformance(told.age, told.u, told.needed, None)
    chance = now if told.at_braces_off is None else told.at_braces_off
    verdict = decide(chance, Certainty.PRACTICE, risk)
    advice = ""
    if told.braces_off is not None:
        stood = (told.braces_off - told.placed).total_seconds()
        if verdict is not Verdict.MEETS:
            advice = "They came off before the bed had surely cured: tap and press all of it before water is poured."
    else:
        stood = (told.now - told.placed).total_seconds()
        if told.braces_on is None:
            verdict, chance = Verdict.NOT_PROVEN, now
            advice = "Nobody wrote down that braces were put on: put them on at once, and write it down."
        elif verdict is Verdict.MEETS:
            advice = "They may come off."
        else:
            verdict, advice = Verdict.NOT_PROVEN, f"They stay on until {_at(told.may, site)}."
    return Finding(
        id="cure/braces",
        what="Braces stood until the bed had cured",
        value=stood,
        u=_NO_SURER,
        unit="s",
        limit=f"until the bed is {_hours(told.needed)} old at 70 °F",
        probability=chance,
        verdict=verdict,
        source=_BY_LAW,
        advice=advice,
    )


def _temperature(told: Clock, risk: float) -> Finding:
    limit = "40 to 90 °F"
    what = "Temperature of the slab while the bed cured"
    if not told.known:
        ask = "Read the slab beside the bed now, then morning and evening, and write it down."
        return Finding("cure/temperature", what, None, None, "degC", limit, None, Verdict.NOT_PROVEN, PRACTICE, ask)
    cured = told.ready or told.now
    rows = [row for row in told.known if row.at <= (cured - told.placed).total_seconds()]
    coldest = min(rows, key=lambda row: row.celsius)
    hottest = max(rows, key=lambda row: row.celsius)
    cold = conformance(coldest.celsius, coldest.u, COLD, None)
    hot = conformance(hottest.celsius, hottest.u, None, HOT)
    worse = coldest if cold <= hot else hottest
    verdict = decide(min(cold, hot), Certainty.PRACTICE, risk)
    advice = ""
    if cold < 1 - risk and cold <= hot:
        advice = (
            "Too cold: close the room off and warm it and its slab, with fumes led out; a bed that froze is lifted and "
            "placed anew."
        )
    elif hot < 1 - risk:
        # Heat spoils a bed by drying it: whether it did is heard, not read off a thermometer.
        verdict = Verdict.NOT_PROVEN
        advice = "Hot: shade it and keep it damp under cover; tap all of the floor once it has cured."
    return Finding(
        "cure/temperature", what, worse.celsius, worse.u, "degC", limit, min(cold, hot), verdict, PRACTICE, advice
    )
