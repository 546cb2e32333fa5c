"""The plan of a building: `solve` tries lists, guided days and CP-SAT windows in the time it is given.

Small buildings are solved whole: can all be done by this working day, one day less each time. Each answer is checked
by the independent checker before it is taken, and none is later than the list schedules.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from multiprocessing import get_context
from random import Random
from typing import Any

from drainward.plan.bound import Bound, finish_bound
from drainward.plan.checker import broken, measure
from drainward.plan.guide import Taste
from drainward.plan.guided import guided
from drainward.plan.lists import dispatch, serial
from drainward.plan.model import Building, Measures, Plan
from drainward.plan.window import Aim, Window

__all__ = ["Answer", "solve"]

WHOLE = 20
"""Rooms up to which the whole building is one window."""

FEW = 500
"""Rooms up to which there is time to fill each day in more ways."""

TAILS = (5, 7, 9)
"""Working days at the end that are taken apart together."""

Progress = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan, how good it is, and how good any could be; gaps are in working days, and as a ratio of the bound's."""

    plan: Plan
    measures: Measures
    bound: Bound
    by_list: Measures
    how: str

    @property
    def gap_days(self) -> int:
        """Working days between the plan's finish and the bound."""
        return self.measures.finish_day - self.bound.finish_day

    @property
    def gap(self) -> float:
        """The same as a ratio of the working days up to the bound."""
        return self.gap_days / (self.bound.finish_day + 1)

    @property
    def proven(self) -> bool:
        """Is no plan done on an earlier working day."""
        return self.gap_days <= 0

    def as_json(self, building: Building) -> dict[str, Any]:
        """The plan beside its measures, bound and gap."""
        return {
            **self.plan.as_json(building),
            "measures": self.measures.as_json(),
            "bound": self.bound.as_json(),
            "gap_days": self.gap_days,
            "gap": self.gap,
            "proven": self.proven,
            "by_list": self.by_list.as_json(),
            "how": self.how,
        }


class _Best:
    """The best plan so far that the checker lets pass."""

    def __init__(self, building: Building) -> None:
        self.building = building
        self.plan: Plan | None = None
        self.measures: Measures | None = None
        self.how = ""

    def offer(self, plan: Plan, how: str) -> bool:
        if broken(self.building, plan):
            return False
        measures = measure(self.building, plan)
        if self.measures is not None and measures.key() >= self.measures.key():
            return False
        self.plan, self.measures, self.how = plan, measures, how
        return True

    def done_by(self, bound: Bound) -> bool:
        """Is no plan sooner, and no room late."""
        measures = self.get()[1]
        return measures.finish_day <= bound.finish_day and measures.late_slots == 0

    def get(self) -> tuple[Plan, Measures]:
        if self.plan is None or self.measures is None:
            raise ValueError("no plan of this building can be worked within its calendar")
        return self.plan, self.measures


def solve(
    building: Building, seconds: float = 60.0, seed: int = 0, progress: Progress | None = None, workers: int = 2
) -> Answer:
    """The best plan found in about `seconds`; ValueError where even the lists find none within the crews' shifts."""
    begun = time.monotonic()

    def tell(what: str) -> None:
        if progress is not None:
            progress(min(1.0, (time.monotonic() - begun) / seconds), what)

    best = _Best(building)
    best.offer(dispatch(building), "list, day by day")
    best.offer(serial(building), "list, room by room")
    _, by_list = best.get()
    tell("lists")
    small = len(building.rooms) <= WHOLE
    until = begun + (0.3 if small else 0.75) * seconds
    # fresh processes: a fork of a server's process would take along locks that its other threads hold
    # one more than workers: the bound is proved beside the plans
    with ProcessPoolExecutor(workers + 1, mp_context=get_context("spawn")) as pool:
        proving = pool.submit(finish_bound, building, 0.7 * (until - time.monotonic()))
        for plan in _guided_plans(pool, building, seed, until, workers):
            best.offer(plan, "guided days")
            tell("guided days")
            if proving.done() and best.done_by(proving.result()):
                pool.shutdown(cancel_futures=True)
                break
        bound = proving.result()
        tell("bound")
    until = begun + seconds
    bound = _days_off(best, bound, until, tell) if small else bound
    if not small:
        _tail(best, bound, until, seed, tell)
        _windows(best, until, seed, tell)
    plan, measures = best.get()
    return Answer(plan, measures, bound, by_list, best.how)


def _guided_plans(
    pool: ProcessPoolExecutor, building: Building, seed: int, until: float, workers: int
) -> Iterator[Plan]:
    """Guided plans by several tastes, as long as one more is likely to be ready in time."""
    rng, number, slowest = Random(seed), 0, 0.0
    begun: dict[Future[Plan], float] = {}
    while True:
        while len(begun) < workers and (number == 0 or time.monotonic() + slowest < until):
            trials, think = (8, 0.6) if len(building.rooms) <= FEW else (3, 0.3)
            taste = _taste(building, rng, number)
            job = pool.submit(guided, building, taste, trials=trials, seed=seed + number, think=think)
            begun[job] = time.monotonic()
            number += 1
        if not begun:
            return
        for job in wait(begun, return_when=FIRST_COMPLETED).done:
            slowest = max(slowest, time.monotonic() - begun.pop(job))
            yield job.result()


def _taste(building: Building, rng: Random, number: int) -> Taste:
    """Two that have done well first, then others by chance."""
    if number < 2:
        return Taste(ahead=(8, 12)[number], lost=(0.5, 1.0)[number])
    few = len(building.rooms) <= FEW
    return Taste(
        ahead=rng.choice((8, 8, 10, 15) if few else (8, 10)),
        lost=rng.choice((0.25, 0.5, 0.5, 1.0, 1.5)),
        correction=rng.choice((0.3, 1.0, 1.0)),
        test=rng.choice((2.0, 3.0)),
        survey=rng.choice((1.0, 2.0)),
        behind=rng.choice((1.5, 4.0, 4.0, 8.0)),
    )


def _days_off(best: _Best, bound: Bound, until: float, tell: Callable[[str], None]) -> Bound:
    """Ask CP-SAT for a plan that ends a working day sooner, until there is none or time is up."""
    building = best.building
    days = building.working_days()
    every = [(room.id, kind) for room in building.rooms for kind in building.steps(room)]
    while time.monotonic() < until:
        plan, measures = best.get()
        target = measures.finish_day - 1
        if target < bound.finish_day:
            break
        end = max(s.end for crew in building.crews for s in crew.shifts if s.day == days[target])
        aim = Aim(soon=False, late=1)
        solved = Window(building, plan, every, (0, end), aim).solve(until - time.monotonic())
        tell(f"whole building by day {target}")
        if solved.status == "infeasible":
            return Bound(target + 1, "CP-SAT: none by the day before")
        if solved.plan is None or not best.offer(solved.plan, "CP-SAT, whole building"):
            break
    return bound


def _tail(best: _Best, bound: Bound, until: float, seed: int, tell: Callable[[str], None]) -> None:
    """Take the last days apart and ask CP-SAT to end a working day sooner, as long as it can."""
    building = best.building
    days = building.working_days()
    opens = [min(s.start for crew in building.crews for s in crew.shifts if s.day == day) for day in days]
    for width in TAILS:
        while time.monotonic() + 1 < until:
            plan, measures = best.get()
            target = measures.finish_day - 1
            if target < max(bound.finish_day, width):
                return
            low = opens[target - width]
            high = max(s.end for crew in building.crews for s in crew.shifts if s.day == days[target])
            free = [(task.room, task.kind) for task in plan.tasks if task.start >= low]
            seconds = min(0.5 * (until - time.monotonic()), 0.02 * len(free))
            solved = Window(building, plan, free, (low, high), Aim(soon=False, late=1)).solve(seconds, seed=seed)
            tell("last days")
            if solved.plan is None or not best.offer(solved.plan, best.how.split(",")[0] + ", last days by CP-SAT"):
                break


def _windows(best: _Best, until: float, seed: int, tell: Callable[[str], None]) -> None:
    """Free what starts in a few days at a time, the last days first: everything sooner, nothing later."""
    rng = Random(seed)
    building = best.building
    days = building.working_days()
    per_day = 6 * len(building.crews)
    width = max(3, min(8, 70 // per_day))
    while time.monotonic() + 2 < until:
        plan, measures = best.get()
        top = max(0, measures.finish_day - width + 1)
        first = top if rng.random() < 0.2 else rng.randint(0, top)
        last = min(len(days) - 1, first + width - 1)
        low = min(s.start for crew in building.crews for s in crew.shifts if s.day == days[first])
        high = max(s.end for crew in building.crews for s in crew.shifts if s.day == days[last])
        free = [(task.room, task.kind) for task in plan.tasks if low <= task.start and task.end <= high]
        solved = Window(building, plan, free, (low, high), Aim()).solve(min(4.0, until - time.monotonic()), seed=seed)
        if solved.plan is not None and not broken(building, solved.plan):
            better = measure(building, solved.plan)
            # a plan with sooner starts is taken though nothing else shows yet: the next window may use the room it left
            if (better.late_slots, better.finish) <= (measures.late_slots, measures.finish):
                best.plan, best.measures, best.how = solved.plan, better, best.how.split(",")[0] + ", CP-SAT windows"
        tell("windows")
