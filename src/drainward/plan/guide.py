"""How much of each step belongs on the next day: `quota`, a small integer program over the working days ahead.

The same counting as the bound, a little finer: blocks by morning (their test can follow on the third day) and by afternoon
(a day later), tests before and after the break, kits counted at both. The first day is in whole numbers, the days after it
are not. What it wants: steps soon, each worth its hours, blocks first; a test its kit.
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
    """What is already under way, counted cumulatively over the days ahead: cured by the break, by the evening, and so on."""
    starts = np.array(state.starts[index : index + days])
    middle = starts + 18
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
        "middle": middle,
        "ends": ends,
    }


def quota(state: State, index: int, taste: Taste = Taste(), seconds: float = 2.0) -> Quota | None:
    """The steps that belong on working day `index`; None where nothing could be counted."""
    building, work = state.building, state.building.work
    days = min(taste.ahead, len(state.days) - index)
    known = _known(state, index, days)
    blocks_ready, fixes_ready = len(state.waiting[Kind.BLOCK]), len(state.waiting[Kind.CORRECTION])
    fixes = [room.correction for room in building.rooms if room.correction]
    fix = float(np.mean(fixes)) if fixes else 1.0
    fix_skills = next((room.skills for room in building.rooms if room.correction), frozenset())
    kits = building.kits - state.kits_taken()
    program = _Program()
    b: list[int] = []
    bl: list[int] = []
    ta: list[int] = []
    tp: list[int] = []
    c: list[int] = []
    look: list[int] = []
    plain: list[int] = []
    sfix: list[int] = []
    for k in range(days):
        here = state.crew_days[state.days[index + k]]
        able = sum(fix_skills <= state.skills[one.crew] for one in here)
        late, whole = 1.0 - 0.5 * k / taste.ahead, k == 0
        crews = len(here)
        b.append(program.new(taste.block * late, whole, crews if state.signed_off else 0))
        bl.append(program.new((taste.block - 0.1) * late, whole, crews if state.signed_off else 0))
        ta.append(program.new(taste.test * late, whole))
        tp.append(program.new((taste.test - 0.1) * late, whole))
        c.append(program.new(taste.correction * fix * late, whole))
        look.append(program.new(taste.look * late, whole, _slots(state, index + k)))
        plain.append(program.new(taste.survey * late, whole))
        sfix.append(program.new((taste.survey + 0.05) * late, whole))
        room = sum(one.shift.end - one.shift.start - one.lunch for one in here) - taste.lost * crews
        used = [(b[k], work.block), (bl[k], work.block), (ta[k], work.test), (tp[k], work.test), (c[k], fix)]
        program.most([*used, (look[k], work.look), (plain[k], work.survey), (sfix[k], work.survey)], room)
        program.most([(c[k], fix)], 30.0 * able)
        cum = slice(0, k + 1)
        program.most([(v, 1.0) for v in b[cum] + bl[cum]] + [(v, -1.0) for v in c[:k] + plain[:k]], blocks_ready)
        program.most([(v, 1.0) for v in c[cum]] + [(v, -1.0) for v in sfix[:k]], fixes_ready)
        program.most([(v, 1.0) for v in plain[cum]], float(known["plain"][k]))
        program.most([(v, 1.0) for v in sfix[cum]], float(known["fix"][k]))
        by_break = int(np.searchsorted(known["starts"] + 33 + 288, known["starts"][k] + 1, side="right"))
        morning = int(np.searchsorted(known["starts"] + 15 + 288, known["starts"][k] + 4, side="right"))
        evening = int(np.searchsorted(known["starts"] + 17 + 288, known["ends"][k] - 10, side="right"))
        tests = [(v, 1.0) for v in ta[cum] + tp[:k]]
        program.most(tests + [(v, -1.0) for v in b[:morning] + bl[:by_break]], float(known["early"][k]))
        program.most(
            [*tests, (tp[k], 1.0)] + [(v, -1.0) for v in b[:evening] + bl[:by_break]], float(known["tests"][k])
        )
        held = [(v, 1.0) for v in b[cum] + bl[:k]] + [(v, -1.0) for v in ta[cum] + tp[:k]]
        program.most(held, kits)
        program.most([*held, (bl[k], 1.0), (tp[k], -1.0)], kits)
        program.most([(v, 1.0) for v in look[cum]] + [(v, -1.0) for v in ta[:k] + tp[:k]], float(known["looks"][k]))
    x = program.solve(seconds)
    if x is None:
        return None
    n = [round(float(x[v[0]])) for v in (b, bl, ta, tp, c, look)]
    return Quota(
        blocks=n[0] + n[1],
        morning_tests=n[2],
        tests=n[2] + n[3],
        corrections=n[4],
        looks=n[5],
        surveys=round(float(x[plain[0]] + x[sfix[0]])),
    )


def _slots(state: State, index: int) -> float:
    if not state.looks.needed:
        return float("inf")
    one = state.crew_days[state.days[index]][0].shift
    return float(sum(len(who) for slot, who in state.looks.free.items() if one.start <= slot < one.end))
