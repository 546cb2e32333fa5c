"""How much of each step belongs on the next day: `quota`, a small integer program over the working days ahead.

The same counting as the bound, a little finer: blocks by morning (their test can follow on the third day) and by
afternoon (a day later), tests before and after the break, kits counted at both. The first day is in whole numbers, the
days after it are not. What it wants: steps soon, each worth its hours, blocks first; a test its kit.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from drainward.plan.model import Kind
from drainward.plan.state import State

__all__ = ["Quota", "Taste", "quota"]


@dataclass(frozen=True, slots=True)
class Taste:
    """What the counting assumes: days ahead, slots of each crew's day lost to ways, worth of each step per room."""

    ahead: int = 12
    lost: float = 1.0
    block: float = 15.0
    correction: float = 1.0
    test: float = 3.0
    look: float = 1.0
    survey: float = 2.0


@dataclass(frozen=True, slots=True)
class Quota:
    """Steps for one day."""

    blocks: int
    morning_tests: int
    tests: int
    corrections: int
    looks: int
    surveys: int


class _Program:
    def __init__(self) -> None:
        self.cost: list[float] = []
        self.high: list[float] = []
        self.whole: list[int] = []
        self.row: list[int] = []
        self.col: list[int] = []
        self.value: list[float] = []
        self.limit: list[float] = []
        self._next = count()

    def new(self, worth: float, whole: bool, high: float = np.inf) -> int:
        self.cost.append(-worth)
        self.high.append(high)
        self.whole.append(int(whole))
        return next(self._next)

    def most(self, terms: list[tuple[int, float]], limit: float) -> None:
        for col, value in terms:
            self.row.append(len(self.limit))
            self.col.append(col)
            self.value.append(value)
        self.limit.append(limit)

    def solve(self, seconds: float) -> np.ndarray | None:
        shape = (len(self.limit), len(self.cost))
        answer = milp(
            np.array(self.cost),
            integrality=np.array(self.whole),
            bounds=Bounds(np.zeros(len(self.cost)), np.array(self.high)),
            constraints=LinearConstraint(
                coo_matrix((self.value, (self.row, self.col)), shape=shape).tocsr(), -np.inf, np.array(self.limit)
            ),
            options={"time_limit": seconds, "mip_rel_gap": 0.002},
        )
        return None if answer.x is None else np.asarray(answer.x)


def _known(state: State, index: int, days: int) -> dict[str, np.ndarray]:
    """What is already under way, counted cumulatively over the days ahead."""
    starts = np.array(state.starts[index : index + days])
    ends = np.array([max(one.shift.end for one in state.crew_days[day]) for day in state.days[index : index + days]])
    fix = np.array(
        sorted(at for name, at in state.waiting[Kind.SURVEY].items() if state.rooms[name].correction), dtype=float
    )
    plain = np.array(
        sorted(at for name, at in state.waiting[Kind.SURVEY].items() if not state.rooms[name].correction), dtype=float
    )
    waits = {kind: np.sort(np.array(list(state.waiting[kind].values()), dtype=float)) for kind in Kind}
    return {
        "early": np.searchsorted(waits[Kind.TEST], starts + 10, side="right"),
        "tests": np.searchsorted(waits[Kind.TEST], ends - state.building.work.test, side="right"),
        "looks": np.searchsorted(waits[Kind.LOOK], ends - 1, side="right"),
        "plain": np.searchsorted(plain, ends - 4, side="right"),
        "fix": np.searchsorted(fix, ends - 4, side="right"),
        "starts": starts,
        "ends": ends,
    }


class _Ahead:
    """The days ahead, counted: columns per day, rows as days are added."""

    def __init__(self, state: State, index: int, taste: Taste) -> None:
        self.state, self.index, self.taste = state, index, taste
        self.days = min(taste.ahead, len(state.days) - index)
        self.known = _known(state, index, self.days)
        fixes = [room for room in state.building.rooms if room.correction]
        self.fix = float(np.mean([room.correction for room in fixes])) if fixes else 1.0
        self.skills = fixes[0].skills if fixes else frozenset()
        self.cure = min(room.cure for room in state.building.rooms)
        self.kits = state.building.kits - state.kits_taken()
        self.program = _Program()
        self.early: list[int] = []
        self.late: list[int] = []
        self.morning: list[int] = []
        self.evening: list[int] = []
        self.correction: list[int] = []
        self.look: list[int] = []
        self.plain: list[int] = []
        self.survey: list[int] = []

    def hours(self, k: int) -> None:
        """Day k: its columns, and what the crews' hours hold."""
        taste, new, work = self.taste, self.program.new, self.state.building.work
        here = self.state.crew_days[self.state.days[self.index + k]]
        able = sum(self.skills <= self.state.skills[one.crew] for one in here)
        soon, whole, crews = 1.0 - 0.5 * k / taste.ahead, k == 0, len(here)
        units = crews if self.state.signed_off else 0
        self.early.append(new(taste.block * soon, whole, units))
        self.late.append(new((taste.block - 0.1) * soon, whole, units))
        self.morning.append(new(taste.test * soon, whole))
        self.evening.append(new((taste.test - 0.1) * soon, whole))
        self.correction.append(new(taste.correction * self.fix * soon, whole))
        self.look.append(new(taste.look * soon, whole, _slots(self.state, self.index + k)))
        self.plain.append(new(taste.survey * soon, whole))
        self.survey.append(new((taste.survey + 0.05) * soon, whole))
        spent = [(self.early[k], work.block), (self.late[k], work.block), (self.morning[k], work.test)]
        spent += [(self.evening[k], work.test), (self.look[k], work.look)]
        spent += [(self.plain[k], work.survey), (self.survey[k], work.survey)]
        room = sum(one.shift.end - one.shift.start - one.lunch for one in here) - taste.lost * crews
        self.program.most([(v, float(slots)) for v, slots in spent] + [(self.correction[k], self.fix)], room)
        self.program.most([(self.correction[k], self.fix)], 30.0 * able)

    def order(self, k: int) -> None:
        """By day k: nothing before what has to come first; kits at the break and in the evening."""
        most, known, waiting = self.program.most, self.known, self.state.waiting
        blocks, tests = self.early + self.late, self.morning + self.evening[:k]
        most(_sum(blocks) + _sum(self.correction[:k] + self.plain[:k], -1.0), len(waiting[Kind.BLOCK]))
        most(_sum(self.correction) + _sum(self.survey[:k], -1.0), len(waiting[Kind.CORRECTION]))
        most(_sum(self.plain), float(known["plain"][k]))
        most(_sum(self.survey), float(known["fix"][k]))
        start, end = known["starts"][k], known["ends"][k]
        # a morning unit ends from slot 15 of the shift on, an afternoon one by its last; a test leaves time for use
        late = _before(known["starts"] + 33 + self.cure, start + 1)
        morning = _before(known["starts"] + 15 + self.cure, start + 4)
        evening = _before(known["starts"] + 17 + self.cure, end - 10)
        most(_sum(tests) + _sum(self.early[:morning] + self.late[:late], -1.0), float(known["early"][k]))
        done = _sum([*tests, self.evening[k]])
        most(done + _sum(self.early[:evening] + self.late[:late], -1.0), float(known["tests"][k]))
        held = _sum(self.early + self.late[:k]) + _sum(tests, -1.0)
        most(held, self.kits)
        most([*held, (self.late[k], 1.0), (self.evening[k], -1.0)], self.kits)
        most(_sum(self.look) + _sum(self.morning[:k] + self.evening[:k], -1.0), float(known["looks"][k]))


def quota(state: State, index: int, taste: Taste, seconds: float = 2.0) -> Quota | None:
    """The steps that belong on working day `index`; None where nothing could be counted."""
    ahead = _Ahead(state, index, taste)
    for k in range(ahead.days):
        ahead.hours(k)
        ahead.order(k)
    x = ahead.program.solve(seconds)
    if x is None:
        return None
    columns = (ahead.early, ahead.late, ahead.morning, ahead.evening, ahead.correction, ahead.look)
    early, late, morning, evening, corrections, looks = (round(float(x[column[0]])) for column in columns)
    return Quota(
        blocks=early + late,
        morning_tests=morning,
        tests=morning + evening,
        corrections=corrections,
        looks=looks,
        surveys=round(float(x[ahead.plain[0]] + x[ahead.survey[0]])),
    )


def _sum(columns: list[int], each: float = 1.0) -> list[tuple[int, float]]:
    return [(v, each) for v in columns]


def _before(slots: np.ndarray, limit: float) -> int:
    return int(np.searchsorted(slots, limit, side="right"))


def _slots(state: State, index: int) -> float:
    if not state.looks.needed:
        return float("inf")
    one = state.crew_days[state.days[index]][0].shift
    return float(sum(len(who) for slot, who in state.looks.free.items() if one.start <= slot < one.end))
