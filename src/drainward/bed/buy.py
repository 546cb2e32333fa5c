"""What to buy for many rooms at a chosen certainty, and when it is to be there.

Need                    what one room needs of one thing, with its own uncertainty
pooled, expected        what is enough for all of them at a certainty, one uncertainty shared by all; what they take
service_level           the certainty that costs least: the newsvendor's
Purchase, purchase      weighed parts of packs shared, whole packs mixed in each room, and each room rounded up alone
week_of, by_week        the Monday of a day's week; needs by week
Delivery, deliveries    by week of the rooms' dates, less what came already
leftovers               what is lost where an opened pack goes stale before the next room
Yield, learned          what packs really used say of the yield that all rooms share

What rooms do not share averages out and grows like the root of their number; what they share, such as a yield that is
off for every bag, grows like their number and sets the tail.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import NormalDist

__all__ = [
    "Delivery",
    "Need",
    "Purchase",
    "Yield",
    "by_week",
    "deliveries",
    "expected",
    "learned",
    "leftovers",
    "pooled",
    "purchase",
    "service_level",
    "week_of",
]


@dataclass(frozen=True, slots=True)
class Need:
    """Packs that a room needs: mean and the standard deviation that it shares with no other.

    ready : from when the room can take its unit; None where no date is known
    kin, u_kin : rooms of one kin were guessed from the same others, and are all off alike by this standard uncertainty
    done : its packs were used, and the mean is what they were
    """

    room: str
    mean: float
    sd: float
    ready: date | None = None
    kin: str = ""
    u_kin: float = 0.0
    done: bool = False


@dataclass(frozen=True, slots=True)
class Purchase:
    """Packs to buy so that they are enough with `level`.

    weighed  : parts of packs weighed on a scale and shared between rooms
    whole    : whole packs mixed in each room, a surplus of one room used in none
    by_room  : each room rounded up alone at the same certainty
    expected : mean of what is used;  short : chance that `weighed` is not enough
    """

    level: float
    weighed: int
    whole: int
    by_room: int
    expected: float
    short: float

    @property
    def saved(self) -> float:
        """Share of `by_room` that weighing saves."""
        return 1.0 - self.weighed / self.by_room if self.by_room else 0.0


@dataclass(frozen=True, slots=True)
class Delivery:
    """Packs to be on site by a Monday, for the rooms that get ready in that week; None where no date is known."""

    week: date | None
    rooms: tuple[str, ...]
    packs: int


@dataclass(frozen=True, slots=True)
class Yield:
    """How many packs are really used for each pack computed, over all rooms: value and its standard uncertainty."""

    factor: float
    u: float


def pooled(needs: Iterable[Need], common: float, level: float) -> float:
    """Packs that are enough for all rooms together at `level`, 0 to 1.

    common : relative standard uncertainty of what a pack gives, shared by all rooms
    B packs of yield Y ~ N(1, c) are enough for A ~ N(m, s) where A - B Y is not over nought, and that is normal: B is
    the larger root of (B - m)² = z² (s² + c² B²), to first order m + z √(s² + (c m)²). Source: Geary, Journal of the
    Royal Statistical Society 93, 1930, on the quotient of two normal variates (from memory).
    What was used already is counted as it was.
    Raises ValueError for a level not within 0 to 1, or so near to 1 that a pack may give nothing.
    """
    told = list(needs)
    mean, sd = _total(need for need in told if not need.done)
    z = NormalDist().inv_cdf(_within(level))
    left = 1.0 - (z * common) ** 2
    if left <= 0.0:
        raise ValueError(f"no number of packs is enough at {level!r} when what each gives is off by {common!r}")
    used = sum(need.mean for need in told if need.done)
    return used + (mean + z * math.sqrt(left * sd**2 + (common * mean) ** 2)) / left


def expected(needs: Iterable[Need], common: float) -> tuple[float, float]:
    """Packs that all of them take, and the standard uncertainty of that."""
    told = list(needs)
    mean, sd = _total(need for need in told if not need.done)
    return mean + sum(need.mean for need in told if need.done), math.hypot(sd, common * mean)


def service_level(short: float, over: float) -> float:
    """The certainty at which a pack more costs as much as it saves: short / (short + over).

    short : cost of each pack too few;  over : of each pack too many; any one currency
    Source: the newsvendor model, closed form (Arrow, Harris and Marschak 1951, from memory).
    Raises ValueError for a cost that is not positive.
    """
    if not (short > 0 and over > 0):
        raise ValueError(f"expected two costs over nought, got {short!r} and {over!r}")
    return short / (short + over)


def purchase(needs: Sequence[Need], common: float, level: float) -> Purchase:
    """What to buy in three ways, where nothing was used yet. Raises as `pooled`."""
    mean, sd = _total(needs)
    weighed = math.ceil(pooled(needs, common, level) - 1e-9)
    alone = (math.ceil(pooled([need], common, level) - 1e-9) for need in needs)
    spread = math.hypot(sd, common * weighed)
    short = 1.0 - NormalDist(mean, spread).cdf(weighed) if spread > 0 else 0.0
    by_room = sum(alone)
    whole = min(math.ceil(_whole(needs, common, level) - 1e-9), by_room)
    return Purchase(level, weighed, whole, by_room, mean, short)


def week_of(day: date | None) -> date | None:
    """The Monday of its week."""
    return None if day is None else day - timedelta(days=day.weekday())


def by_week(needs: Iterable[Need]) -> dict[date | None, list[Need]]:
    """Needs by the Monday of their week; those without a date last."""
    weeks: dict[date | None, list[Need]] = {}
    for need in sorted(needs, key=lambda n: (n.ready is None, n.ready or date.min)):
        weeks.setdefault(week_of(need.ready), []).append(need)
    return weeks


def deliveries(
    needs: Iterable[Need], common: float, level: float, shelf: float = math.inf, came: float = 0.0
) -> tuple[Delivery, ...]:
    """By week, so that all that has come is enough with `level` for all rooms ready by then; rooms without date last.

    shelf : how long an opened pack keeps, s: what is lost by then is bought too;  came : packs that are on site already
    Packs that came and packs still to come add up to what `pooled` says of all rooms, and what is lost.
    """
    found: list[Delivery] = []
    so_far: list[Need] = []
    come = 0
    for week, own in by_week(needs).items():
        so_far += own
        enough = pooled(so_far, common, level) + leftovers(so_far, shelf) - came
        whole = max(math.ceil(enough - 1e-9), come)
        found.append(Delivery(week, tuple(n.room for n in own), whole - come))
        come = whole
    return tuple(found)


def leftovers(needs: Iterable[Need], shelf: float) -> float:
    """Packs expected to be lost because an opened one goes stale: half a pack at each gap longer than `shelf`, s.

    Rooms without a date are taken to follow at once.
    """
    dates = sorted({n.ready for n in needs if n.ready is not None})
    gaps = [(after - before).total_seconds() for before, after in pairwise(dates)]
    return 0.5 * sum(gap > shelf for gap in gaps)


def learned(before: Yield, used: Sequence[float], needs: Sequence[Need]) -> Yield:
    """What packs really used in rooms say of the shared factor: used = factor × mean ± sd, each room on its own.

    Conjugate normal, known variances. Source: Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, 2.5 and 14.2.
    Raises ValueError where there are not as many used as needed.
    """
    told = list(zip(used, needs, strict=True))
    weight = 1 / before.u**2 + sum((n.mean / n.sd) ** 2 for _, n in told)
    pull = before.factor / before.u**2 + sum(packs * n.mean / n.sd**2 for packs, n in told)
    return Yield(pull / weight, weight**-0.5)


def _total(needs: Iterable[Need]) -> tuple[float, float]:
    """Mean and standard deviation of the sum: rooms on their own add in squares, those of one kin first in a row."""
    mean = square = 0.0
    kin: dict[str, float] = {}
    for need in needs:
        mean += need.mean
        square += need.sd**2
        if need.u_kin:
            kin[need.kin] = kin.get(need.kin, 0.0) + need.u_kin
    return mean, math.sqrt(square + sum(alike**2 for alike in kin.values()))


def _whole(needs: Sequence[Need], common: float, level: float) -> float:
    """Quantile of the sum of needs rounded up: what they share moves it as it moves their rounded means there."""
    z = NormalDist().inv_cdf(level)
    rounded = [_up(need, 1.0) for need in needs]
    mean, sd = _total(rounded)
    alike = sum(_up(need, 1.0 / (1.0 - z * common)).mean for need in needs) - mean
    return mean + math.hypot(z * sd, alike)


def _up(need: Need, factor: float) -> Need:
    """Mean and standard deviation of a need times a factor, rounded up: the chances of needing more than k packs."""
    belief = NormalDist(factor * need.mean, max(factor * need.sd, 1e-9))
    first = max(math.floor(belief.mean - 6 * belief.stdev), 0)
    more = [(k, 1.0 - belief.cdf(k)) for k in range(first, math.ceil(belief.mean + 6 * belief.stdev))]
    mean = first + sum(chance for _, chance in more)
    square = first**2 + sum((2 * k + 1) * chance for k, chance in more)
    return Need(need.room, mean, math.sqrt(max(square - mean**2, 0.0)), kin=need.kin, u_kin=need.u_kin)


def _within(level: float) -> float:
    if not 0.0 < level < 1.0:
        raise ValueError(f"a certainty lies between 0 and 1, got {level!r}")
    return level
