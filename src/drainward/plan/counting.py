"""Working days counted: `Count` says in linear rows how much of each step a row of days can hold; `Open`, what is left.

For each day: surveys, corrections by length, blocks by part of the day (`halves`), water tests by the moment at which
their kit is back, second looks. Crews' days hold what patterns of blocks and corrections say, and no more hours than
their shifts less the break; kits are counted at each moment and overnight, cure by the clock, inspectors by slots.
Ways between floors and the rooms' names are left out. Loose (`strict` False), whatever can be worked satisfies every
row, and `bound` proves from it; strict, what follows waits for the next day, and `guide` plans by it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, linprog, milp
from scipy.sparse import coo_matrix, csr_matrix

from drainward.plan.halves import PARTS, DayShape, Pattern, patterns
from drainward.plan.model import Building, Shift

__all__ = ["Count", "Day", "Open", "inspected"]

Slots = tuple[int, ...]
Terms = list[tuple[int, float]]


@dataclass(frozen=True, slots=True)
class Open:
    """What is still to be done: slots from which each may start, rising; `total` rooms still without a block.

    plain, fix : surveys of rooms without a correction, and with one by its length
    corrections : corrections by length that may start;  blocks : rooms that may be set
    tests, looks : of units that are set;  kits : not in use
    """

    plain: Slots
    fix: Mapping[int, Slots]
    corrections: Mapping[int, int] = field(default_factory=dict)
    blocks: int = 0
    tests: Slots = ()
    looks: Slots = ()
    kits: int = 0

    @property
    def total(self) -> int:
        """Rooms that are not yet set."""
        return len(self.plain) + sum(map(len, self.fix.values())) + sum(self.corrections.values()) + self.blocks


@dataclass(slots=True)
class Day:
    """Columns of one day; `patterns`: how many crews fill their shift so, and whether they are trained."""

    patterns: list[tuple[int, bool, Pattern]] = field(default_factory=list)
    blocks: list[int] = field(default_factory=list)
    tests: list[int] = field(default_factory=list)
    between: dict[int, Terms] = field(default_factory=dict)
    corrections: dict[int, int] = field(default_factory=dict)
    fix: dict[int, int] = field(default_factory=dict)
    plain: int = 0
    looks: list[int] = field(default_factory=list)


class Count:
    """Columns and rows; `worth` of a column is what one more of it is worth, 0 unless said."""

    def __init__(
        self,
        building: Building,
        shapes: Sequence[DayShape],
        left: Open,
        *,
        strict: bool = False,
        lost: float = 0.0,
        whole: int | None = None,
    ) -> None:
        self.building, self.left, self.strict, self.lost = building, left, strict, lost
        self.whole = len(shapes) if whole is None else whole
        self.shapes = shapes
        self.sizes = tuple(sorted({*left.fix, *left.corrections}))
        self.cure = min((room.cure for room in building.rooms), default=0)
        skills = [room.skills for room in building.rooms if room.correction]
        self.able = {crew.id for crew in building.crews if any(need <= crew.skills for need in skills)}
        self.worth: list[float] = []
        self.high: list[float] = []
        self.kind: list[int] = []
        self._row: list[int] = []
        self._col: list[int] = []
        self._value: list[float] = []
        self._limits: list[tuple[float, float]] = []
        self.days: list[Day] = []
        self._sums: list[dict[str, int]] = []
        for k in range(len(shapes)):
            self._hours(k)
            self._add_up(k)
            self._order(k)
            self._kits(k)

    def new(self, high: float = np.inf, whole: bool = False) -> int:
        """One more column, from 0 to `high`."""
        self.worth.append(0.0)
        self.high.append(high)
        self.kind.append(int(whole))
        return len(self.high) - 1

    def row(self, terms: Terms, high: float, low: float = -np.inf) -> None:
        """low <= sum of terms <= high."""
        for col, value in terms:
            self._row.append(len(self._limits))
            self._col.append(col)
            self._value.append(value)
        self._limits.append((low, high))

    def relaxed(self, seconds: float) -> OptimizeResult:
        """The most worth, whole numbers left out; by an interior point, much sooner here than the simplex."""
        limits, matrix = self._matrix()
        same = limits[:, 0] == limits[:, 1]
        return linprog(
            -np.array(self.worth),
            A_ub=matrix[~same],
            b_ub=limits[~same, 1],
            A_eq=matrix[same],
            b_eq=limits[same, 1],
            bounds=np.column_stack((np.zeros(len(self.high)), self.high)),
            method="highs-ipm",
            options={"time_limit": max(0.05, seconds)},
        )

    def _matrix(self) -> tuple[np.ndarray, csr_matrix]:
        limits = np.array(self._limits)
        shape = (len(limits), len(self.high))
        return limits, coo_matrix((self._value, (self._row, self._col)), shape=shape).tocsr()

    def solve(self, seconds: float, gap: float = 0.0) -> OptimizeResult:
        """The most worth, in whole numbers where columns ask for them."""
        limits, matrix = self._matrix()
        return milp(
            -np.array(self.worth),
            integrality=np.array(self.kind),
            bounds=Bounds(np.zeros(len(self.high)), np.array(self.high)),
            constraints=LinearConstraint(matrix, limits[:, 0], limits[:, 1]),
            options={"mip_rel_gap": gap, "time_limit": max(0.05, seconds)},
        )

    def sum_to(self, name: str, k: int, each: float = 1.0) -> Terms:
        """All of a step up to day k, as terms: nothing before the first day."""
        return [(self._sums[k][name], each)] if k >= 0 else []

    def spent(self, k: int) -> Terms:
        """Slots that day k's steps take."""
        day, work = self.days[k], self.building.work
        terms = [(v, float(work.block)) for v in day.blocks] + [(v, float(work.test)) for v in day.tests]
        terms += [(v, float(size)) for size, v in day.corrections.items()]
        terms += [(v, float(work.survey)) for v in (day.plain, *day.fix.values())]
        return [*terms, *((v, float(work.look)) for v in day.looks)]

    def _hours(self, k: int) -> None:
        """Day k's columns, and what its crews' shifts hold."""
        building, shape, whole = self.building, self.shapes[k], k < self.whole
        look = building.work.look
        day = Day(
            blocks=[self.new(np.inf if a <= b else 0.0, whole) for a, b in zip(shape.first, shape.last, strict=True)],
            tests=[self.new(np.inf, whole) for _ in range(PARTS + 1)],
            corrections={size: self.new(np.inf, whole) for size in self.sizes},
            fix={size: self.new(np.inf, whole) for size in self.left.fix},
            plain=self.new(np.inf, whole),
            looks=[self.new((b - a) // look, whole) for a, b in shape.windows]
            if building.inspectors
            else [self.new(np.inf, whole)],
        )
        self.days.append(day)
        held: dict[tuple[str, int], Terms] = {}
        groups = Counter((crew.id in self.able, _from(shift, shape.start)) for crew, shift in shape.shifts)
        ranges = tuple((a - shape.start, b - shape.start) for a, b in zip(shape.first, shape.last, strict=True))
        windows = tuple((a - shape.start, b - shape.start) for a, b in shape.windows)
        for (able, shift), number in groups.items():
            sizes = self.sizes if able else ()
            columns: list[int] = []
            for pattern in patterns(shift, building.lunch, building.work, sizes, ranges, windows):
                columns.append(self.new(number, whole))
                day.patterns.append((columns[-1], able, pattern))
                for moment, slots in enumerate(pattern.free):
                    held.setdefault(("free", moment), []).append((columns[-1], -float(slots)))
                for moment, slots in enumerate(pattern.between):
                    day.between.setdefault(moment + 1, []).append((columns[-1], -float(slots)))
                held.setdefault(("short", 0), []).append((columns[-1], -float(pattern.short)))
                for window, slots in enumerate(pattern.looks):
                    held.setdefault(("look", window), []).append((columns[-1], -float(slots)))
                for part, count in enumerate(pattern.blocks):
                    held.setdefault(("block", part), []).append((columns[-1], -float(count)))
                for size, count in pattern.corrections:
                    held.setdefault(("correction", size), []).append((columns[-1], -float(count)))
            self.row([(v, 1.0) for v in columns], number)
        for part, column in enumerate(day.blocks):
            self.row([(column, 1.0), *held.get(("block", part), [])], 0)
        for size, column in day.corrections.items():
            self.row([(column, 1.0), *held.get(("correction", size), [])], 0)
        for window in range(len(windows)):
            self.row([(day.looks[window], float(look)), *held.get(("look", window), [])], 0)
        hours = sum(shift.end - shift.start - building.lunch - self.lost for _, shift in shape.shifts)
        self.row(self.spent(k), hours)
        short = [(v, 1.0) for v in (*day.tests, day.plain, *day.fix.values())]
        self.row(short + held.get(("short", 0), []), 0)
        for moment in range(PARTS):
            tests = [(v, float(building.work.test)) for v in day.tests[: moment + 1]]
            self.row(tests + held.get(("free", moment), []), 0)
        self._last_tests(k)

    def _last_tests(self, k: int) -> None:
        """Tests after the last moment of day k fit between it and the evening."""
        shape, day, work = self.shapes[k], self.days[k], self.building.work
        after = shape.moments[-1] + 1 - work.test
        over = float(max(0, min(work.block, shape.first[-1] + work.block - after)))
        late = sum(max(0, shift.end - after) for _, shift in shape.shifts)
        self.row([(day.tests[-1], float(work.test)), (day.blocks[-1], over)], late)

    def _add_up(self, k: int) -> None:
        """Running sums up to day k."""
        day = self.days[k]
        groups = {f"block {part}": [v] for part, v in enumerate(day.blocks)}
        groups |= {"block": day.blocks, "test": day.tests, "look": day.looks, "plain": [day.plain]}
        groups |= {"ready": [day.plain, *day.corrections.values()]}
        groups |= {f"correction {size}": [v] for size, v in day.corrections.items()}
        groups |= {f"fix {size}": [v] for size, v in day.fix.items()}
        sums = {}
        for name, columns in groups.items():
            sums[name] = self.new()
            before = self.sum_to(name, k - 1, -1.0)
            self.row([(sums[name], 1.0), *before, *((v, -1.0) for v in columns)], 0, 0)
        self._sums.append(sums)

    def _order(self, k: int) -> None:
        """By the end of day k: nothing before what has to come first."""
        left, shape, work = self.left, self.shapes[k], self.building.work
        last = shape.end - (2 * work.survey if self.strict else work.survey)
        before = k - 1 if self.strict else k
        self.row(self.sum_to("plain", k), _until(left.plain, last))
        for size in self.sizes:
            if size in left.fix:
                self.row(self.sum_to(f"fix {size}", k), _until(left.fix[size], last))
            surveyed = self.sum_to(f"fix {size}", before, -1.0) if size in left.fix else []
            self.row(self.sum_to(f"correction {size}", k) + surveyed, left.corrections.get(size, 0))
        self.row(self.sum_to("block", k) + self.sum_to("ready", before, -1.0), left.blocks)
        known = _until(left.looks, shape.end - work.look)
        self.row(self.sum_to("look", k) + self.sum_to("test", k - 1, -1.0), known)

    def _kits(self, k: int) -> None:
        """Tests only after the cure, and no more kits out than there are: at each moment of day k and overnight."""
        shape, day, work, left = self.shapes[k], self.days[k], self.building.work, self.left
        early: tuple[Terms, int] = ([], 0)
        for j in range(PARTS + 1):
            tests = self.sum_to("test", k - 1) + [(v, 1.0) for v in day.tests[: j + 1]]
            latest = (shape.moments[j] if j < PARTS else shape.end) - work.test
            cured: Terms = []
            for part in range(PARTS):
                ends = [(one.last if self.strict else one.first)[part] for one in self.shapes[: k + 1]]
                until = sum(slot + work.block + self.cure <= latest for slot in ends)
                cured += self.sum_to(f"block {part}", until - 1, -1.0)
            known = _until(left.tests, latest)
            self.row(tests + cured, known)
            if 0 < j < PARTS:
                # what the moment before came too soon for falls between both
                held = [(v, work.test * each) for v, each in tests + early[0]]
                self.row(held + day.between[j], float(work.test * early[1]))
            early = (cured, known)
            held = self.sum_to("block", k - 1) + [(v, 1.0) for v in day.blocks[: j + 1]]
            self.row(held + [(v, -each) for v, each in tests], left.kits)

    def totals(self) -> dict[str, int]:
        """All that is to be done, by the name of its running sum."""
        left = self.left
        units = left.total
        looks = units + len(left.tests) + len(left.looks)
        totals = {"plain": len(left.plain), "block": units, "test": units + len(left.tests), "look": looks}
        totals |= {f"fix {size}": len(slots) for size, slots in left.fix.items()}
        for size in self.sizes:
            totals[f"correction {size}"] = left.corrections.get(size, 0) + len(left.fix.get(size, ()))
        return totals

    def all_done(self) -> None:
        """By the last day nothing is left."""
        for name, total in self.totals().items():
            self.row(self.sum_to(name, len(self.days) - 1), total, total)

    def sums(self, x: np.ndarray) -> list[dict[str, float]]:
        """What is done by the end of each day, by the name of its running sum."""
        names = self.totals()
        return [{name: float(x[sums[name]]) for name in names} for sums in self._sums]


def _from(shift: Shift, zero: int) -> Shift:
    """The same shift, counted from slot `zero`."""
    return Shift(0, shift.start - zero, shift.end - zero, shift.lunch_from - zero, shift.lunch_to - zero)


def inspected(building: Building, shape: DayShape) -> float:
    """Most second looks that inspectors have slots for on this working day."""
    if not building.inspectors:
        return float("inf")
    look = building.work.look
    fit = [(max(a, shape.start), min(b, shape.end)) for who in building.inspectors for a, b in who.windows]
    return float(sum((b - a) // look for a, b in fit if b > a))


def _until(slots: Slots, last: int) -> int:
    """How many of these may start by slot `last`."""
    return int(np.searchsorted(np.asarray(slots), last, side="right"))
