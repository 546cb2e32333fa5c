"""What to change at the doors so that a way opens: the least of it, each proved by looking for a way again.

Mend             what is done at one door, altered: the door after it, mend_words: in words
all_mended       a plan with every door as wide and as high as its wall lets it be
smallest_change  the mends of one door, or of two, that open a way and cut the least
STEP             doors are widened by whole steps of it

Whoever carries takes what costs least: a leaf off its hinges, then the trim off the jambs, then a wider opening, then a
higher one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from drainward.quantity import INCH, format_length
from drainward.wayin.plan import Door, Plan

__all__ = ["STEP", "Mend", "all_mended", "altered", "mend_words", "smallest_change"]

STEP = 0.25 * INCH
"""Doors are widened and raised by whole steps of it, m."""

_MOST = 36 * INCH  # nobody widens a door by more
_FRAMING = 4.5 * INCH  # studs left between a wider door and the corner or the next door; common practice, no source
_ON_LINE = 0.15  # of a door's own wall: doors may lie so far off its middle line, m


@dataclass(frozen=True, slots=True)
class Mend:
    """leaf, trim : whether it comes off;  wider : the opening as it stands, m;  higher : its head, m."""

    door: Door
    leaf: bool = False
    trim: bool = False
    wider: float = 0.0
    higher: float = 0.0

    @property
    def cost(self) -> tuple[bool, float, bool, bool]:
        """Least first: heads are framed anew last, and nothing is cut first."""
        return self.higher > 0, self.wider, self.trim, self.leaf

    @property
    def any(self) -> bool:
        return self.leaf or self.trim or self.wider > 0 or self.higher > 0


Opens = Callable[[Plan], bool]
Mends = tuple[Mend, ...]


def altered(plan: Plan, mends: Sequence[Mend]) -> Plan:
    """The plan after them."""
    after = {mend.door: _after(plan, mend) for mend in mends}
    return replace(plan, doors=tuple(after.get(door, door) for door in plan.doors))


def mend_words(mends: Sequence[Mend]) -> str:
    """As one sentence without its capital and its stop."""
    return " and ".join(words for mend in mends for words in _words(mend))


def _words(mend: Mend) -> Iterator[str]:
    name = mend.door.label
    if mend.wider > 0:
        yield f"widen {name} by {format_length(mend.wider)}{', its leaf off' if mend.leaf else ''}"
    elif mend.leaf or mend.trim:
        yield f"take {' and '.join(['the leaf'] * mend.leaf + ['the trim'] * mend.trim)} off {name}"
    if mend.higher > 0:
        yield f"raise the head of {name} by {format_length(mend.higher)}"


def all_mended(plan: Plan, height: float) -> Plan:
    """Every door as wide as its wall lets it be, its leaf off, its head over a box as high as `height`, m."""
    return altered(plan, [_most(plan, door, height) for door in plan.doors])


def smallest_change(
    plan: Plan, doors: Sequence[Door], height: float, clearance: float, opens: Opens
) -> tuple[Mend, ...] | None:
    """What to do at one of `doors`, or at two where one does not do, so that a way opens; None where nothing does.

    height : of the box, m;  clearance : what no way exceeds as the plan is, m: no smaller change is tried than it takes
    opens : whether a way through a plan is proved
    """
    best: tuple[Mend, ...] | None = None
    for count in (1, 2):
        for chosen in combinations(doors, count):
            most = tuple(_most(plan, door, height) for door in chosen)
            if best is not None:
                # it has to do with less than what was found
                most = tuple(replace(mend, wider=_less(mend.wider, best)) for mend in most)
            if not opens(altered(plan, most)):
                continue
            found = _least(plan, most, clearance, opens)
            if best is None or _cost(found) < _cost(best):
                best = found
        clearance = 0.0  # of a plan with another door altered nothing is known yet
        if best is not None:
            return best
    return None


def _less(wider: float, best: Sequence[Mend]) -> float:
    cut = sum(mend.wider for mend in best)
    return wider if any(mend.higher for mend in best) else min(wider, max(0.0, cut - STEP))


def _cost(mends: Sequence[Mend]) -> tuple[float, ...]:
    """Heads to raise, all that is widened, trims and leaves."""
    return tuple(sum(part) for part in zip(*(mend.cost for mend in mends), strict=True))


def _most(plan: Plan, door: Door, height: float) -> Mend:
    low = door.head is not None and door.head <= height
    higher = STEP * math.ceil((height - (door.head or 0.0)) / STEP + 0.5) if low else 0.0
    return Mend(door, bool(door.leaf), door.trim > 0, STEP * int(min(_MOST, sum(_room(plan, door))) / STEP), higher)


def _least(plan: Plan, most: tuple[Mend, ...], clearance: float, opens: Opens) -> tuple[Mend, ...]:
    """As little as possible of `most`, which opens a way: one door after the other."""
    for k in range(len(most)):
        before, after = most[:k], most[k + 1 :]

        def does(mend: Mend, before: Mends = before, after: Mends = after) -> bool:
            return opens(altered(plan, (*before, mend, *after)))

        most = (*before, _least_of(most[k], max(0.0, -clearance), does), *after)
    return tuple(mend for mend in most if mend.any)


def _least_of(most: Mend, lack: float, does: Callable[[Mend], bool]) -> Mend:
    """The least of one door's mends that does.

    A jamb that gives way by x raises the clearance by x at most, so jambs that give way by less than `lack` do not do;
    of a leaf taken off, or a head raised, nothing is known.
    """
    door = most.door
    for raised in dict.fromkeys((0.0, most.higher)):
        kept = replace(most, higher=raised)
        if raised < most.higher and not does(kept):
            continue
        for leaf, trim in ((False, False), (True, False), (False, True), (True, True)):
            there = leaf <= most.leaf and trim <= most.trim
            if there and (raised > 0 or leaf or door.trim * trim > lack) and does(Mend(door, leaf, trim, 0.0, raised)):
                return Mend(door, leaf, trim, 0.0, raised)
        low, high = 0 if most.leaf or raised > 0 else int(lack / STEP), math.ceil(most.wider / STEP)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if does(replace(kept, trim=False, wider=middle * STEP)) else (middle, high)
        bare = replace(kept, trim=False, wider=min(high * STEP, most.wider))
        hung = replace(bare, leaf=False)
        return hung if most.leaf and does(hung) else bare
    return most


def _after(plan: Plan, mend: Mend) -> Door:
    """The door wider by half at either jamb, or by more at one where the wall ends beside the other."""
    door = mend.door
    more = max(mend.wider, 2 * door.trim * mend.trim)
    before, beyond = _room(plan, door) if mend.wider > 0 else (more, more)
    at_first = min(max(more / 2, more - beyond), before)
    dx, dy = ((door.second[axis] - door.first[axis]) / door.width for axis in (0, 1))
    first = door.first[0] - dx * at_first, door.first[1] - dy * at_first
    second = door.second[0] + dx * (more - at_first), door.second[1] + dy * (more - at_first)
    head = None if door.head is None else door.head + mend.higher
    return replace(door, first=first, second=second, head=head, leaf="" if mend.leaf else door.leaf)


def _room(plan: Plan, door: Door) -> tuple[float, float]:
    """How far its jambs may move: to the next door, or to where another wall begins, framing kept, m."""
    points = [point for wall in plan.walls for point in wall.points]
    points += [point for other in plan.doors if other != door for point in (other.first, other.second)]
    on_it = [at for at, off in (_along(door, point) for point in points) if abs(off) <= _ON_LINE]
    before = -max((at for at in on_it if at <= 0), default=0.0) - _FRAMING
    beyond = min((at for at in on_it if at >= door.width), default=door.width) - door.width - _FRAMING
    return max(before, 0.0), max(beyond, 0.0)


def _along(door: Door, point: tuple[float, float]) -> tuple[float, float]:
    """Where a point lies along a door's line from its first end, and how far off it, m."""
    dx, dy = ((door.second[axis] - door.first[axis]) / door.width for axis in (0, 1))
    px, py = point[0] - door.first[0], point[1] - door.first[1]
    return px * dx + py * dy, px * dy - py * dx
