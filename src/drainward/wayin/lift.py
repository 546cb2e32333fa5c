"""How many people lift a unit: the revised lifting equation of NIOSH 94-110, metric, and what it does not cover.

liftings            the lifts on a way in, and how many people share each; lifting_words: in words
CAUTIONS            what the equation does not cover
Lift, Coupling      one lift: where the hands are, how far and how often
Limit               the multipliers and the recommended weight limit
weight_limit        RWL = LC HM VM DM AM FM CM
lifting_index       load over limit
people_needed       the fewest who share a mass within a lifting index
duration_hours      the class of duration from work and rest
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from drainward.wayin.result import Lifting

__all__ = [
    "CAUTIONS",
    "Coupling",
    "Lift",
    "Limit",
    "duration_hours",
    "lifting_index",
    "lifting_words",
    "liftings",
    "people_needed",
    "weight_limit",
]

LOAD = 23.0
"""Load constant, kg (94-110, p. 7)."""

CAUTIONS = (
    "The lifting equation is for one person, two hands, a firm dry floor, room to stand; no carrying (94-110, 1.2).",
    "A load that a team shares is beyond that equation: its index compares lifts, it does not clear one.",
    "A shared load shifts: lift on one word, one person leads, and whoever is beside the heavier end gets help.",
    "A lifting index above 1 raises the risk for some, above 3 for nearly everybody (94-110, 1.4).",
)

_RATES = (0.2, 0.5, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15)
# Table 5; the moderate column beyond 3 a minute and the long column are from memory. _HIGH holds from V = 75 cm.
_SHORT = (1.0, 0.97, 0.94, 0.91, 0.88, 0.84, 0.80, 0.75, 0.70, 0.60, 0.52, 0.45, 0.41, 0.37, 0.0, 0.0, 0.0)
_SHORT_HIGH = (*_SHORT[:14], 0.34, 0.31, 0.28)
_MODERATE = (0.95, 0.92, 0.88, 0.84, 0.79, 0.72, 0.60, 0.50, 0.42, 0.35, 0.30, 0.26, 0.0, 0.0, 0.0, 0.0, 0.0)
_MODERATE_HIGH = (*_MODERATE[:12], 0.23, 0.21, 0.0, 0.0, 0.0)
_LONG = (0.85, 0.81, 0.75, 0.65, 0.55, 0.45, 0.35, 0.27, 0.22, 0.18, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
_LONG_HIGH = (*_LONG[:10], 0.15, 0.13, 0.0, 0.0, 0.0, 0.0, 0.0)


class Coupling(StrEnum):
    """How well the hands hold."""

    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift.

    out : of the hands from the middle of the ankles, m;  height : of the hands over the floor, m
    travel : up or down, m;  turn : of the body, degrees;  rate : lifts a minute
    hours : class of duration, 1, 2 or 8
    origin_height : of the hands where the lift begins, m; None where it is `height`
    """

    out: float
    height: float
    travel: float
    turn: float = 0.0
    rate: float = 0.2
    hours: float = 1.0
    coupling: Coupling = Coupling.FAIR
    origin_height: float | None = None


RAISE = Lift(out=0.40, height=0.05, travel=0.25)
"""One end raised until a pipe goes under it, the hands under the lower edge; common practice, no source."""
TILT = Lift(out=0.40, height=0.05, travel=1.20)
"""A unit stood up: one edge stays on the floor, the hands go up to the chest; common practice, no source."""
CLEAR = Lift(out=0.40, height=0.40, travel=0.40)
"""Clear of the floor, the hands from the knee to the hip; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Limit:
    """The multipliers, 0 to 1, and `mass`, the recommended weight limit, kg."""

    horizontal: float
    vertical: float
    distance: float
    asymmetry: float
    frequency: float
    coupling: float

    @property
    def mass(self) -> float:
        product = self.horizontal * self.vertical * self.distance * self.asymmetry * self.frequency * self.coupling
        return LOAD * product


def weight_limit(lift: Lift) -> Limit:
    """The recommended weight limit of one lift.

    Raises ValueError for a negative size, or a duration over 8 h. Source: NIOSH 94-110, 1.3.
    """
    if min(lift.out, lift.height, lift.travel, lift.turn, lift.rate) < 0 or not 0 < lift.hours <= 8:
        raise ValueError(f"sizes of a lift are not negative and it lasts at most 8 h, got {lift}")
    out, height, travel = 100 * lift.out, 100 * lift.height, 100 * lift.travel
    start = 100 * (lift.height if lift.origin_height is None else lift.origin_height)
    return Limit(
        horizontal=0.0 if out > 63 else min(1.0, 25 / out) if out else 1.0,
        vertical=0.0 if height > 175 else 1 - 0.003 * abs(height - 75),
        distance=0.0 if travel > 175 else 0.82 + 4.5 / max(travel, 25.0),
        asymmetry=0.0 if lift.turn > 135 else 1 - 0.0032 * lift.turn,
        frequency=_frequency(lift.rate, lift.hours, start >= 75),
        coupling=_coupling(lift.coupling, height >= 75),
    )


def lifting_index(mass: float, limit: Limit) -> float:
    """Load over limit; infinite where the limit is no load at all. mass : kg on one person."""
    return mass / limit.mass if limit.mass > 0 else math.inf


def people_needed(mass: float, limit: Limit, index: float = 1.0) -> int | None:
    """The fewest people who share `mass` (kg) evenly within a lifting index; None where no number does."""
    if limit.mass <= 0:
        return None
    return max(1, math.ceil(mass / (index * limit.mass) - 1e-9))


def liftings(mass: float, lying: bool) -> tuple[Lifting, ...]:
    """What of a unit has to be lifted: one end, where it was `lying` also to stand it up, else all of it.

    mass : of the unit, kg. The end that stays on the floor carries half of it, as of anything that is as heavy at
    either end; while it is stood up the share of the hands only shrinks.
    """
    found = [("raise one end onto pipes", mass / 2, RAISE)]
    if lying:
        found.append(("stand it up, one edge on the floor", mass / 2, TILT))
    found.append(("carry it clear of the floor", mass, CLEAR))
    limits = [weight_limit(lift) for _, _, lift in found]
    return tuple(
        Lifting(what, share, limit.mass, people_needed(share, limit))
        for (what, share, _), limit in zip(found, limits, strict=True)
    )


def lifting_words(lifts: Sequence[Lifting]) -> str:
    """How many people each of them takes, in one sentence without its stop."""
    counts = ("no number of" if one.people is None else str(one.people) for one in lifts)
    return "; ".join(f"{count} people {one.what}" for count, one in zip(counts, lifts, strict=True))


def duration_hours(work: float, rest: float) -> float:
    """The class of duration (1, 2 or 8 h) of `work` seconds of lifting followed by `rest` seconds of light work.

    Source: NIOSH 94-110, 1.3.5.2: short with rest of as much as the work, moderate with 0.3 of it.
    """
    if work <= 3600 and rest >= work:
        return 1.0
    return 2.0 if work <= 7200 and rest >= 0.3 * work else 8.0


def _coupling(held: Coupling, high: bool) -> float:
    """Table 7."""
    if held is Coupling.FAIR:
        return 1.0 if high else 0.95
    return 1.0 if held is Coupling.GOOD else 0.9


def _frequency(rate: float, hours: float, high: bool) -> float:
    """Table 5, between its rows along a straight line."""
    if hours <= 1:
        row = _SHORT_HIGH if high else _SHORT
    elif hours <= 2:
        row = _MODERATE_HIGH if high else _MODERATE
    else:
        row = _LONG_HIGH if high else _LONG
    rate = max(rate, _RATES[0])
    if rate > _RATES[-1]:
        return 0.0
    after = next(k for k, r in enumerate(_RATES) if r >= rate)
    if after == 0 or rate == _RATES[after]:
        return row[after]
    share = (rate - _RATES[after - 1]) / (_RATES[after] - _RATES[after - 1])
    return row[after - 1] + share * (row[after] - row[after - 1])
