"""No plan can finish sooner than this: `finish_bound`, an integer program over working days, bisected on the last.

It counts, for each working day, surveys, corrections by length, blocks, tests and second looks. A crew's day holds
what a pattern of blocks and corrections says, and no more hours than its shift less the break. Kits are counted
overnight, cure by calendar days, inspectors by their slots. Ways between floors and clock times within a day are left
out, so whatever can be worked satisfies it: where it has no solution, no plan ends by that day. Its linear relaxation
is a weaker bound, at once.
"""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from drainward.plan.model import Building

__all__ = ["Bound", "finish_bound"]


@dataclass(frozen=True, slots=True)
class Bound:
    """The last working day (0 is the first) before which no plan ends; `how` it was proved."""

    finish_day: int
    how: str

    def as_json(self) -> dict[str, Any]:
        """Plain numbers under their names."""
        return {"finish_day": self.finish_day, "how": self.how}


def finish_bound(building: Building, seconds: float = 30.0) -> Bound:
    """The bound by the linear relaxation, then raised by whole numbers while `seconds` last."""
    until = time.monotonic() + seconds
    days = building.working_days()
    low, high = 0, len(days) - 1
    step = 8
    low = _first_feasible(building, low, high, step, None)
    how = "linear program over days"
    limit = max(5.0, seconds / 3)
    while time.monotonic() < until and low < high:
        left = min(limit, until - time.monotonic())
        if _feasible(building, low, left) is not False:
            break
        low += 1
        how = "integer program over days"
    return Bound(low, how)


def _first_feasible(building: Building, low: int, high: int, step: int, seconds: float | None) -> int:
    """The first last day that the linear program allows, by doubling steps and bisection."""
    work = sum(sum(building.length(room, kind) for kind in building.steps(room)) for room in building.rooms)
    per_day = sum(s.end - s.start - building.lunch for c in building.crews for s in c.shifts) / max(1, high + 1)
    low = min(high, int(work / per_day))
    if _feasible(building, low, seconds) is not False:
        return low
    top = low + step
    while top < high and _feasible(building, top, seconds) is False:
        low, step = top, 2 * step
        top = low + step
    top = min(top, high)
    while top - low > 1:
        middle = (low + top) // 2
        if _feasible(building, middle, seconds) is False:
            low = middle
        else:
            top = middle
    return top


def _patterns(lengths: list[int], block: int, room: int) -> list[Counter[int]]:
    """Every most-filled day of blocks (key 0) and corrections (key: length) in `room` slots."""
    sizes = [(0, block), *((length, length) for length in lengths)]
    found: list[Counter[int]] = []

    def grow(index: int, left: int, have: Counter[int]) -> None:
        if index == len(sizes):
            if all(size > left for _, size in sizes):
                found.append(have)
            return
        key, size = sizes[index]
        for number in range(left // size + 1):
            grow(index + 1, left - number * size, have + Counter({key: number}))

    grow(0, room, Counter())
    return found


class _Rows:
    """Sparse rows low <= a x <= high."""

    def __init__(self) -> None:
        self.row: list[int] = []
        self.col: list[int] = []
        self.value: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, terms: list[tuple[int, float]], low: float, high: float) -> None:
        for col, value in terms:
            self.row.append(len(self.low))
            self.col.append(col)
            self.value.append(value)
        self.low.append(low)
        self.high.append(high)

    def matrix(self, columns: int) -> coo_matrix:
        return coo_matrix((self.value, (self.row, self.col)), shape=(len(self.low), columns))


def _feasible(building: Building, last: int, seconds: float | None) -> bool | None:
    """Can all be done by working day `last`? `seconds` None asks the linear program; None back: not known in time."""
    days = building.working_days()[: last + 1]
    rows, upper = _day_rows(building, days)
    if rows is None:
        return False
    columns = len(upper)
    whole = np.zeros(columns) if seconds is None else np.ones(columns)
    options = {} if seconds is None else {"time_limit": seconds}
    answer = milp(
        np.zeros(columns),
        integrality=whole,
        bounds=Bounds(np.zeros(columns), np.array(upper)),
        constraints=LinearConstraint(rows.matrix(columns).tocsr(), np.array(rows.low), np.array(rows.high)),
        options=options,
    )
    if answer.status == 2:
        return False
    return True if answer.status == 0 else None


class _Days:
    """Columns and rows of the counting, day after day; lists run over the days so far."""

    def __init__(self, building: Building, days: tuple[int, ...]) -> None:
        self.building, self.days = building, days
        self.rest = [room for room in building.rooms if room.id != building.first]
        self.lengths = sorted({room.correction for room in self.rest if room.correction})
        self.cure = min((room.cure for room in building.rooms), default=0)
        self.needs = [room.skills for room in self.rest if room.correction]
        self.ready = np.sort([room.ready for room in self.rest if not room.correction])
        self.ready_fix = np.sort([room.ready for room in self.rest if room.correction])
        self.here = [[(c, s) for c in building.crews for s in c.shifts if s.day == day] for day in days]
        self.starts = np.array([min(s.start for _, s in here) for here in self.here])
        self.ends = np.array([max(s.end for _, s in here) for here in self.here])
        self.gate = _first_gate(building, self.starts, self.ends)
        self.rows = _Rows()
        self.upper: list[float] = []
        self.plain: list[int] = []
        self.fix: list[int] = []
        self.block: list[int] = []
        self.test: list[int] = []
        self.look: list[int] = []
        self.correction: dict[int, list[int]] = {length: [] for length in self.lengths}

    def new(self, limit: float = np.inf) -> int:
        """One more column, from 0 to `limit`."""
        self.upper.append(limit)
        return len(self.upper) - 1

    def hours(self, k: int) -> None:
        """Day k: what its crews' hours hold."""
        building, work, here, rows = self.building, self.building.work, self.here[k], self.rows
        longest = max(s.end - s.start for _, s in here) - building.lunch
        able = sum(any(need <= c.skills for need in self.needs) for c, _ in here)
        shapes = _patterns(self.lengths, work.block, longest)
        trained, others = [self.new() for _ in shapes], self.new()
        rows.add(_sum(trained), -np.inf, able)
        rows.add([(others, 1.0)], -np.inf, len(here) - able)
        self.plain.append(self.new())
        self.fix.append(self.new())
        self.block.append(self.new(0 if k < self.gate else np.inf))
        self.test.append(self.new())
        self.look.append(self.new(_looks_on(building, self.starts, k)))
        for column in self.correction.values():
            column.append(self.new())
        held = [(v, -float(shape[0])) for v, shape in zip(trained, shapes, strict=True)]
        rows.add([(self.block[k], 1.0), (others, -float(longest // work.block)), *held], -np.inf, 0)
        for length, column in self.correction.items():
            held = [(v, -float(shape[length])) for v, shape in zip(trained, shapes, strict=True)]
            rows.add([(column[k], 1.0), *held], -np.inf, 0)
        spent = [(self.plain[k], work.survey), (self.fix[k], work.survey), (self.block[k], work.block)]
        spent += [(self.test[k], work.test), (self.look[k], work.look)]
        spent += [(column[k], length) for length, column in self.correction.items()]
        rows.add(
            [(v, float(slots)) for v, slots in spent], -np.inf, sum(s.end - s.start - building.lunch for _, s in here)
        )

    def order(self, k: int) -> None:
        """By the end of day k: nothing before what has to come first, and no more kits out than there are."""
        rows, work = self.rows, self.building.work
        fixed = [v for column in self.correction.values() for v in column]
        rows.add(_sum(self.plain), -np.inf, float(np.searchsorted(self.ready, self.ends[k])))
        rows.add(_sum(self.fix), -np.inf, float(np.searchsorted(self.ready_fix, self.ends[k])))
        rows.add(_sum(fixed) + _sum(self.fix, -1.0), -np.inf, 0)
        rows.add(_sum(self.block) + _sum(self.plain, -1.0) + _sum(fixed, -1.0), -np.inf, 0)
        cured = int(np.searchsorted(self.starts + work.block + self.cure, self.ends[k] - work.test, side="right"))
        rows.add(_sum(self.test) + _sum(self.block[:cured], -1.0), -np.inf, 0)
        rows.add(_sum(self.block) + _sum(self.test, -1.0), -np.inf, self.building.kits)
        rows.add(_sum(self.look) + _sum(self.test[:k], -1.0), -np.inf, 0)

    def totals(self) -> None:
        """By the last day all is done."""
        for column, total in ((self.plain, len(self.ready)), (self.fix, len(self.ready_fix))):
            self.rows.add(_sum(column), total, total)
        for length, column in self.correction.items():
            total = sum(room.correction == length for room in self.rest)
            self.rows.add(_sum(column), total, total)
        for column in (self.block, self.test, self.look):
            self.rows.add(_sum(column), len(self.rest), len(self.rest))


def _day_rows(building: Building, days: tuple[int, ...]) -> tuple[_Rows | None, list[float]]:
    """All rows, or None where the first unit alone takes longer; the columns' upper limits."""
    counted = _Days(building, days)
    if counted.gate >= len(days) or (counted.rest and counted.gate + 1 >= len(days)):
        return None, []
    for k in range(len(days)):
        counted.hours(k)
        counted.order(k)
    counted.totals()
    return counted.rows, counted.upper


def _sum(columns: list[int], each: float = 1.0) -> list[tuple[int, float]]:
    return [(v, each) for v in columns]


def _looks_on(building: Building, starts: np.ndarray, k: int) -> float:
    """Most second looks that inspectors have slots for on this working day."""
    if not building.inspectors:
        return float("inf")
    stop = starts[k + 1] if k + 1 < len(starts) else starts[k] + 96
    return sum(
        (b - a) // building.work.look for who in building.inspectors for a, b in who.windows if starts[k] <= a < stop
    )


def _first_gate(building: Building, starts: np.ndarray, ends: np.ndarray) -> int:
    """Working day before which no unit but the first can be set: its own way through, with nothing else in its way."""
    if building.first is None:
        return 0
    room = next(room for room in building.rooms if room.id == building.first)
    work = building.work

    def soonest(slot: int, length: int) -> int:
        for start, end in zip(starts, ends, strict=True):
            if max(slot, start) + length <= end:
                return int(max(slot, start)) + length
        return int(ends[-1]) + 1

    end = soonest(room.ready, work.survey)
    if room.correction:
        end = soonest(end, room.correction)
    end = soonest(end, work.block)
    end = soonest(end + room.cure, work.test)
    later = starts[starts > end]
    if later.size == 0:
        return len(starts)
    k = len(starts) - later.size
    while k < len(starts) and _looks_on(building, starts, k) == 0:
        k += 1
    return k
