"""What one crew's shift can hold, by parts of the day: `DayShape`, `patterns`, `starts`.

A block is unbroken and the crew eats before or after it, so its start falls into one of four parts of the day: first
thing, later in the morning, after the break, and too late to be tested at the end of a shift three days on. A part
matters because of the kit: one that is tested after the same clock time three days on can still be used that day by a
later part, never by an earlier one. Everything here is an outer limit: whatever can be worked fits it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations, product

from drainward.plan.model import Building, Shift, Work

__all__ = ["PARTS", "DayShape", "Pattern", "patterns", "starts"]

PARTS = 4
"""First thing, later in the morning, after the break, last."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to fill a shift: blocks by part, corrections as (length, number), lengths rising.

    free : for each moment of the day, most slots before it that are left for short steps
    """

    blocks: tuple[int, ...]
    corrections: tuple[tuple[int, int], ...]
    free: tuple[int, ...]


def starts(shift: Shift, block: int, lunch: int) -> list[int]:
    """Slots at which a block may start in this shift so that the crew can eat."""
    after = range(shift.start, min(shift.end, shift.lunch_to - lunch) - block + 1)
    before = range(max(shift.start, shift.lunch_from + lunch), shift.end - block + 1)
    return sorted({*after, *before})


class DayShape:
    """One working day of all crews: the parts' first and last starts, and the moments at which kits are counted.

    first, last : per part, slots; a part that holds no start has first > last
    moments : per part, the slot by which each of its blocks has its kit
    """

    def __init__(self, building: Building, day: int) -> None:
        work = building.work
        self.shifts = [(crew, shift) for crew in building.crews for shift in crew.shifts if shift.day == day]
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
        self.moments = [max(last, self.start) + work.brace_at for last in self.last]


def _cuts(shift: Shift, work: Work, lunch: int) -> tuple[int, int, int]:
    """Where the second and later parts begin."""
    second = shift.start + work.block + work.test - work.brace_at
    third = max(second, min(shift.end, shift.lunch_to - lunch) - work.block + 1)
    return second, third, max(third, shift.end - work.test - work.block + 1)


@lru_cache(maxsize=1024)
def patterns(
    shift: Shift, lunch: int, work: Work, sizes: tuple[int, ...], ranges: tuple[tuple[int, int], ...]
) -> tuple[Pattern, ...]:
    """Every way to fill a shift to which no correction can be added.

    shift : its slots and those below count from any one slot;  sizes : lengths of corrections, rising, () for none
    ranges : first and last start of a block in each part of the day
    """
    moments = tuple(last + work.brace_at for _, last in ranges)
    most = (shift.end - shift.start) // work.block
    found: set[Pattern] = set()
    for blocks in product(*(range((most if first <= last else 0) + 1) for first, last in ranges)):
        left = shift.end - shift.start - lunch - work.block * sum(blocks)
        if left < 0:
            continue
        fits = {}
        for counts in _counts(sizes, left):
            free = _free(shift, lunch, work, ranges, blocks, tuple(zip(sizes, counts, strict=True)), moments)
            if free is not None:
                fits[counts] = free
        for counts, free in fits.items():
            more = [(*counts[:k], counts[k] + 1, *counts[k + 1 :]) for k in range(len(sizes))]
            # a way with fewer corrections still counts where it leaves more for short steps before some moment
            if not any(other in fits and _at_least(fits[other], free) for other in more):
                found.add(Pattern(blocks, tuple((s, n) for s, n in zip(sizes, counts, strict=True) if n), free))
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
    moments: tuple[int, ...],
) -> tuple[int, ...] | None:
    """Most slots left free before each moment, over every order of these and the break; None where there is none.

    In each order all is pushed as late as it can be, which leaves the most before every moment.
    """
    items = [(work.block, *ranges[part]) for part, number in enumerate(blocks) for _ in range(number)]
    items += [(size, shift.start, shift.end) for size, number in corrections for _ in range(number)]
    items.append((lunch, shift.lunch_from, shift.lunch_to - lunch))
    best: list[int] | None = None
    for order in set(permutations(items)):
        end, taken = shift.end, [0] * len(moments)
        for length, first, last in reversed(order):
            start = min(last, end - length)
            if start < max(first, shift.start):
                break
            taken = [n + max(0, min(start + length, moment) - start) for n, moment in zip(taken, moments, strict=True)]
            end = start
        else:
            free = [min(moment, shift.end) - shift.start - n for n, moment in zip(taken, moments, strict=True)]
            best = free if best is None else [max(a, b) for a, b in zip(best, free, strict=True)]
    return None if best is None else tuple(best)
