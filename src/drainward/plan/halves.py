"""What one crew's shift can hold, by parts of the day: `DayShape`, `day_shapes`, `patterns`, `starts`.

A block is unbroken and the crew eats before or after it, so its start falls into one of four parts of the day: first
thing, later in the morning, after the break, and too late to be tested at the end of a shift three days on. A part
matters because of the kit: one that is tested after the same clock time three days on can still be used that day by a
later part, never by an earlier one. Everything here is an outer limit: whatever can be worked fits it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise, permutations, product

import numpy as np

from drainward.plan.model import Building, Crew, Shift, Work

__all__ = ["PARTS", "DayShape", "Pattern", "day_shapes", "patterns", "starts"]

PARTS = 4
"""First thing, later in the morning, after the break, last."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to fill a shift: blocks by part, corrections as (length, number), lengths rising.

    free : for each moment of the day, most slots before it that are left for short steps
    between : for each moment but the first, the same between the last start of a test that ends by the one before
        and this one
    looks : for each window of an inspector, the same within it
    short : most tests and surveys that fit between all that
    """

    blocks: tuple[int, ...]
    corrections: tuple[tuple[int, int], ...]
    free: tuple[int, ...]
    between: tuple[int, ...]
    looks: tuple[int, ...]
    short: int


def starts(shift: Shift, block: int, lunch: int) -> list[int]:
    """Slots at which a block may start in this shift so that the crew can eat."""
    after = range(shift.start, min(shift.end, shift.lunch_to - lunch) - block + 1)
    before = range(max(shift.start, shift.lunch_from + lunch), shift.end - block + 1)
    return sorted({*after, *before})


class DayShape:
    """One working day of all crews: the parts' first and last starts, and the moments at which kits are counted.

    first, last : per part, slots; a part that holds no start has first > last
    moments : per part, the slot by which each of its blocks has its kit
    windows : of inspectors on this day, as far as crews are there
    """

    def __init__(self, building: Building, shifts: Sequence[tuple[Crew, Shift]]) -> None:
        work = building.work
        self.shifts = shifts
        self.start = min(shift.start for _, shift in self.shifts)
        self.end = max(shift.end for _, shift in self.shifts)
        every = sorted({slot for _, shift in self.shifts for slot in starts(shift, work.block, building.lunch)})
        self.first = [self.end + 1] * PARTS
        self.last = [self.start - 1] * PARTS
        cuts = _cuts(self.shifts[0][1], work, building.lunch)
        for slot in every:
            part = sum(slot >= cut for cut in cuts)
            self.first[part] = min(self.first[part], slot)
            self.last[part] = max(self.last[part], slot)
        self.moments = _moments(self.last, self.start, work)
        fit = [(max(a, self.start), min(b, self.end)) for who in building.inspectors for a, b in who.windows]
        self.windows = [(a, b) for a, b in fit if b - a >= work.look]


def day_shapes(building: Building, days: Iterable[int]) -> list[DayShape]:
    """The shapes of these working days."""
    of_day: dict[int, list[tuple[Crew, Shift]]] = defaultdict(list)
    for crew in building.crews:
        for shift in crew.shifts:
            of_day[shift.day].append((crew, shift))
    return [DayShape(building, of_day[day]) for day in days]


def _moments(last: Iterable[int], start: int, work: Work) -> list[int]:
    """By when the blocks of each part and of those before it have their kits."""
    return list(accumulate((max(slot, start) + work.brace_at for slot in last), max))


def _cuts(shift: Shift, work: Work, lunch: int) -> tuple[int, int, int]:
    """Where the second and later parts begin."""
    second = shift.start + work.block + work.test - work.brace_at
    third = max(second, min(shift.end, shift.lunch_to - lunch) - work.block + 1)
    return second, third, max(third, shift.end - work.test - work.block + 1)


@lru_cache(maxsize=1024)
def patterns(
    shift: Shift,
    lunch: int,
    work: Work,
    sizes: tuple[int, ...],
    ranges: tuple[tuple[int, int], ...],
    windows: tuple[tuple[int, int], ...] = (),
) -> tuple[Pattern, ...]:
    """Every way to fill a shift to which no correction can be added.

    shift : its slots and those below count from the start of the day's first shift
    sizes : lengths of corrections, rising, () for none
    ranges : first and last start of a block in each part of the day;  windows : of inspectors, from and to
    """
    moments = _moments([last for _, last in ranges], 0, work)
    spans = [(shift.start, moment) for moment in moments]
    spans += [(one - work.test + 1, other) for one, other in pairwise(moments)]
    split = len(spans)
    spans += windows
    most = (shift.end - shift.start) // work.block
    found: set[Pattern] = set()
    for blocks in product(*(range((most if first <= last else 0) + 1) for first, last in ranges)):
        left = shift.end - shift.start - lunch - work.block * sum(blocks)
        if left < 0:
            continue
        fits = {}
        for counts in _counts(sizes, left):
            free = _free(shift, lunch, work, ranges, blocks, tuple(zip(sizes, counts, strict=True)), spans)
            if free is not None:
                fits[counts] = free
        for counts, free in fits.items():
            more = [(*counts[:k], counts[k] + 1, *counts[k + 1 :]) for k in range(len(sizes))]
            # a way with fewer corrections still counts where it leaves more for short steps before some moment
            if not any(other in fits and _at_least(fits[other], free) for other in more):
                some = tuple((size, number) for size, number in zip(sizes, counts, strict=True) if number)
                found.add(Pattern(blocks, some, free[:PARTS], free[PARTS:split], free[split:-1], free[-1]))
    return tuple(sorted(found, key=lambda pattern: (pattern.blocks, pattern.corrections)))


def _at_least(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    return all(a >= b for a, b in zip(one, other, strict=True))


def _counts(sizes: tuple[int, ...], room: int) -> Iterator[tuple[int, ...]]:
    if not sizes:
        yield ()
        return
    for number in range(room // sizes[0] + 1):
        for rest in _counts(sizes[1:], room - number * sizes[0]):
            yield (number, *rest)


def _free(
    shift: Shift,
    lunch: int,
    work: Work,
    ranges: tuple[tuple[int, int], ...],
    blocks: tuple[int, ...],
    corrections: tuple[tuple[int, int], ...],
    spans: list[tuple[int, int]],
) -> tuple[int, ...] | None:
    """Most slots left free within each span, over every order of these and the break, and most short steps.

    None where there is no order that fits.
    """
    items = [(work.block, *ranges[part]) for part, number in enumerate(blocks) for _ in range(number)]
    items += [(size, shift.start, shift.end) for size, number in corrections for _ in range(number)]
    items.append((lunch, shift.lunch_from, shift.lunch_to - lunch))
    slots = np.arange(shift.start, shift.end + 1)
    low, high = np.array(spans).T[:, :, None]
    whole = (np.minimum(high, shift.end) - np.maximum(low, shift.start)).clip(0)[:, 0]
    # short steps that fit from one slot until another
    between = np.tril((slots[:, None] - slots) // min(work.test, work.survey)).astype(float)
    between[slots[:, None] < slots] = -np.inf
    best: np.ndarray | None = None
    for order in set(permutations(items)):
        # least of each span taken by the items so far, all of which are over by a slot
        taken = np.zeros((len(spans), slots.size))
        # most short steps until a slot at which the last item is over
        most = np.where(slots == shift.start, 0.0, -np.inf)
        for length, first, last in order:
            each = (np.minimum(slots + length, high) - np.maximum(slots, low)).clip(0).astype(float)
            each[:, (slots < first) | (slots > last) | (slots + length > shift.end)] = np.inf
            later = np.full_like(taken, np.inf)
            later[:, length:] = (taken + each)[:, : slots.size - length]
            taken = np.minimum.accumulate(later, axis=1)
            begun = np.where(np.isfinite(each[0]), (between + most).max(axis=1), -np.inf)
            most = np.full_like(most, -np.inf)
            most[length:] = begun[: slots.size - length]
        if np.isfinite(taken[0, -1]):
            free = np.append(whole - taken[:, -1], (between[-1] + most).max())
            best = free if best is None else np.maximum(best, free)
    return None if best is None else tuple(int(n) for n in best)
