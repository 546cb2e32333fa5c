"""Shifts being filled: `CrewDay` finds the earliest start that leaves ways and a break; `Looks`: inspectors' slots."""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable

from drainward.plan.model import Building, Shift, Task

__all__ = ["CrewDay", "Looks"]


class CrewDay:
    """Busy stretches (start, end, floor) of one crew in one shift, sorted."""

    __slots__ = ("busy", "crew", "lunch", "shift", "travel")

    def __init__(self, crew: str, shift: Shift, travel: int, lunch: int) -> None:
        self.crew, self.shift, self.travel, self.lunch = crew, shift, travel, lunch
        self.busy: list[tuple[int, int, int]] = []

    def add(self, start: int, end: int, floor: int) -> None:
        """Take the stretch."""
        insort(self.busy, (start, end, floor))

    def free(self) -> int:
        """Slots not yet taken, the break left out."""
        return self.shift.end - self.shift.start - self.lunch - sum(end - start for start, end, _ in self.busy)

    def find(self, earliest: int, length: int, floor: int, latest: int = 1 << 40) -> tuple[int, int] | None:
        """(start, changes of floor at both ends) of the earliest place of `length` slots, None where there is none."""
        shift, busy = self.shift, self.busy
        for k in range(len(busy) + 1):
            low = after = shift.start
            high, ways = shift.end, 0
            if k > 0:
                # what is done may lie outside of the shift
                after = low = max(shift.start, busy[k - 1][1])
                if busy[k - 1][2] != floor:
                    low += self.travel
                    ways += 1
            if k < len(busy):
                high = min(shift.end, busy[k][0])
                if busy[k][2] != floor:
                    high -= self.travel
                    ways += 1
            start = max(low, earliest)
            if start > latest:
                return None
            if start + length > high:
                continue
            if not self._eats(start, start + length):
                # the break is taken first, right after what stands before
                start = max(start, max(after, shift.lunch_from) + self.lunch)
                if start > latest or start + length > high or not self._eats(start, start + length):
                    continue
            return start, ways
        return None

    def _eats(self, start: int, end: int) -> bool:
        """Would a break be left, with this stretch taken too."""
        low, top, need = self.shift.lunch_from, self.shift.lunch_to, self.lunch
        at = low
        waiting = True
        for a, b, _ in self.busy:
            if waiting and start < a:
                waiting = False
                if min(start, top) - at >= need:
                    return True
                at = max(at, end)
            if min(a, top) - at >= need:
                return True
            at = max(at, b)
        if waiting:
            if min(start, top) - at >= need:
                return True
            at = max(at, end)
        return min(self.shift.end, top) - at >= need


class Looks:
    """Which slots of the inspectors are still free."""

    def __init__(self, building: Building, taken: Iterable[Task] = ()) -> None:
        self.needed = bool(building.inspectors)
        self.length = building.work.look
        self.free: dict[int, list[str]] = {}
        for who in building.inspectors:
            for start, end in who.windows:
                for slot in range(start, end - self.length + 1):
                    self.free.setdefault(slot, []).append(who.id)
        for task in taken:
            if task.inspector:
                self.take(task.start, task.inspector)

    def at(self, slot: int) -> str | None:
        """An inspector who is free at this slot."""
        free = self.free.get(slot)
        return free[0] if free else None

    def take(self, start: int, who: str) -> None:
        """Take an inspector; looks that would overlap are gone too."""
        for slot in range(start - self.length + 1, start + self.length):
            if who in self.free.get(slot, ()):
                self.free[slot] = [name for name in self.free[slot] if name != who]
