"""No plan can finish sooner than this: `finish_bound`, an integer program over whole working days, bisected on the last one.

It counts, for each working day, surveys, corrections by length, blocks, tests and second looks. A crew's day holds what a
pattern of blocks and corrections says, and no more hours than its shift less the break. Kits are counted overnight, cure by
calendar days, inspectors by their slots. Ways between floors and clock times within a day are left out, so whatever can be
worked satisfies it: where it has no solution, no plan ends by that day. Its linear relaxation is a weaker bound, at once.
"""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass
from itertools import count
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
    """Can all rooms be done by working day `last`? `seconds` None asks the linear program; None back: not known in time."""
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


def _day_rows(building: Building, days: tuple[int, ...]) -> tuple[_Rows | None, list[float]]:
    work = building.work
    rest = [room for room in building.rooms if room.id != building.first]
    lengths = sorted({room.correction for room in rest if room.correction})
    cure = min((room.cure for room in building.rooms), default=0)
    number, upper = count(), []

    def new(limit: float = np.inf) -> int:
        upper.append(limit)
        return next(number)

    crews = {day: [(c, s) for c in building.crews for s in c.shifts if s.day == day] for day in days}
    starts = np.array([min(s.start for _, s in crews[day]) for day in days])
    ends = np.array([max(s.end for _, s in crews[day]) for day in days])
    ready = np.sort([room.ready for room in rest if not room.correction])
    ready_fix = np.sort([room.ready for room in rest if room.correction])
    needs = [room.skills for room in rest if room.correction]
    gate = _first_gate(building, starts, ends)
    rows = _Rows()
    sums: dict[str, list[tuple[int, float]]] = {name: [] for name in ("plain", "fix", "c", "b", "t", "l")}
    at: dict[str, list[int]] = {"b": [], "t": [], "l": []}
    by_length: dict[int, list[tuple[int, float]]] = {length: [] for length in lengths}
    for k, day in enumerate(days):
        here = crews[day]
        longest = max(s.end - s.start for _, s in here) - building.lunch
        able = sum(any(need <= c.skills for need in needs) for c, _ in here)
        shapes = _patterns(lengths, work.block, longest)
        trained = [new() for _ in shapes]
        others = new()
        rows.add([(v, 1.0) for v in trained], -np.inf, able)
        rows.add([(others, 1.0)], -np.inf, len(here) - able)
        plain, fix, b, t, look = new(), new(), new(0 if k < gate else np.inf), new(), new(_looks_on(building, starts, k))
        cs = {length: new() for length in lengths}
        rows.add(
            [(b, 1.0), (others, -float(longest // work.block))]
            + [(v, -float(s[0])) for v, s in zip(trained, shapes, strict=True)],
            -np.inf,
            0,
        )
        for length in lengths:
            rows.add(
                [(cs[length], 1.0)] + [(v, -float(s[length])) for v, s in zip(trained, shapes, strict=True)], -np.inf, 0
            )
            by_length[length].append((cs[length], 1.0))
        hours = sum(s.end - s.start - building.lunch for _, s in here)
        rows.add(
            [(plain, work.survey), (fix, work.survey), (b, work.block), (t, work.test), (look, work.look)]
            + [(v, float(length)) for length, v in cs.items()],
            -np.inf,
            hours,
        )
        sums["plain"].append((plain, 1.0))
        sums["fix"].append((fix, 1.0))
        sums["c"] += [(v, 1.0) for v in cs.values()]
        for name, v in (("b", b), ("t", t), ("l", look)):
            at[name].append(v)
        rows.add(list(sums["plain"]), -np.inf, float(np.searchsorted(ready, ends[k])))
        rows.add(list(sums["fix"]), -np.inf, float(np.searchsorted(ready_fix, ends[k])))
        rows.add([*sums["c"], *_less(sums["fix"])], -np.inf, 0)
        set_so_far = [(v, 1.0) for v in at["b"]]
        rows.add([*set_so_far, *_less(sums["plain"]), *_less(sums["c"])], -np.inf, 0)
        cured = int(np.searchsorted(starts + work.block + cure, ends[k] - work.test, side="right"))
        rows.add([(v, 1.0) for v in at["t"]] + [(v, -1.0) for v in at["b"][:cured]], -np.inf, 0)
        rows.add(set_so_far + [(v, -1.0) for v in at["t"]], -np.inf, building.kits)
        rows.add([(v, 1.0) for v in at["l"]] + [(v, -1.0) for v in at["t"][:k]], -np.inf, 0)
    need = {"plain": len(ready), "fix": len(ready_fix)}
    for name, total in need.items():
        rows.add(sums[name], total, total)
    for length in lengths:
        rows.add(by_length[length], *(2 * [float(sum(room.correction == length for room in rest))]))
    for name in at:
        rows.add([(v, 1.0) for v in at[name]], len(rest), len(rest))
    if gate >= len(days) or (rest and gate + 1 >= len(days)):
        return None, upper
    return rows, upper


def _less(terms: list[tuple[int, float]]) -> list[tuple[int, float]]:
    return [(v, -value) for v, value in terms]


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


