"""What one crew's shift can hold, by parts of the day: `parts_of`, `patterns`, `DayShape`.

A block is unbroken and the crew eats before or after it, so its start falls into one of three parts of the day: first
thing, later in the morning, after the break. A part matters because of the kit: one that is tested after the same clock
time three days on can still be used that day by a later part, never by an earlier one. Everything here is an outer
limit: whatever can be worked fits it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from drainward.plan.model import Building, Shift, Work

__all__ = ["PARTS", "DayShape", "Pattern", "patterns"]

PARTS = 3
"""First thing, later in the morning, after the break."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to fill a shift: blocks by part, corrections as (length, number), lengths rising."""

    blocks: tuple[int, ...]
    corrections: tuple[tuple[int, int], ...]


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


def _cuts(shift: Shift, work: Work, lunch: int) -> tuple[int, int]:
    """Where the second and the third part begin."""
    second = shift.start + work.block + work.test - work.brace_at
    return second, max(second, min(shift.end, shift.lunch_to - lunch) - work.block + 1)


@lru_cache(maxsize=256)
def patterns(length: int, lunch_from: int, lunch_to: int, lunch: int, work: Work, sizes: tuple[int, ...]) -> tuple[
    Pattern, ...
]:
    """Every way to fill a shift of `length` slots to which no correction can be added; the break counts from its start.

    sizes : lengths of corrections, rising;  () where the crew makes none
    """
    shift = Shift(0, 0, length, lunch_from, lunch_to)
    cuts = _cuts(shift, work, lunch)
    parts: list[list[int]] = [[] for _ in range(PARTS)]
    for slot in starts(shift, work.block, lunch):
        parts[sum(slot >= cut for cut in cuts)].append(slot)
    most = length // work.block
    found: set[Pattern] = set()
    for blocks in product(*(range((most if part else 0) + 1) for part in parts)):
        if sum(blocks) > most:
            continue
        fits = {
            counts
            for counts in _counts(sizes, length - work.block * sum(blocks))
            if _fits(shift, lunch, work, parts, blocks, sizes, counts)
        }
        for counts in fits:
            more = [(*counts[:k], counts[k] + 1, *counts[k + 1 :]) for k in range(len(sizes))]
            if not any(other in fits for other in more):
                found.add(Pattern(blocks, tuple((s, n) for s, n in zip(sizes, counts, strict=True) if n)))
    return tuple(sorted(found, key=lambda pattern: (pattern.blocks, pattern.corrections)))


def _counts(sizes: tuple[int, ...], room: int) -> Iterator[tuple[int, ...]]:
    if not sizes:
        yield ()
        return
    for number in range(room // sizes[0] + 1):
        for rest in _counts(sizes[1:], room - number * sizes[0]):
            yield (number, *rest)


def _fits(
    shift: Shift,
    lunch: int,
    work: Work,
    parts: list[list[int]],
    blocks: tuple[int, ...],
    sizes: tuple[int, ...],
    counts: tuple[int, ...],
) -> bool:
    """Is there a way to share these between before and after the break."""
    for before in product(*(range(n + 1) for n in (*blocks, *counts))):
        morning, later = before[:PARTS], [n - k for n, k in zip(blocks, before, strict=False)]
        if any(n and parts[i][0] + work.block > shift.lunch_to - lunch for i, n in enumerate(morning)):
            continue
        if any(n and parts[i][-1] < shift.lunch_from + lunch for i, n in enumerate(later)):
            continue
        spent = work.block * sum(morning) + sum(s * n for s, n in zip(sizes, before[PARTS:], strict=True))
        spent = max([spent, *(parts[i][0] + work.block for i, n in enumerate(morning) if n)])
        left = work.block * sum(later) + sum(
            s * (n - k) for s, n, k in zip(sizes, counts, before[PARTS:], strict=True)
        )
        # the last block after the break starts by its part's last start, so the break ends by then
        latest = min([shift.lunch_to - lunch, *(parts[i][-1] - lunch for i, n in enumerate(later) if n)])
        ends = max(spent, shift.lunch_from)
        if ends <= latest and ends + lunch + left <= shift.end:
            return True
    return False
