"""The plan of a job as its record stands: `make`, and after a slip `again`.

Made          the plan, how good it is, and how good any could be
make          from nothing, or around what is done
again         the plan before, with as little moved as may be
rest_of       how soon one room alone could be done

A job that has not begun is solved whole (`plan.solve`). Around what is done, the lists are filled up first and CP-SAT
then moves a few days at a time, from tomorrow on. The bound counts what is left, of rooms under way too, and no room is
done sooner than its own shortest rest.
"""

from __future__ import annotations

import time
from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from drainward.errors import StageError
from drainward.plan.bound import finish_bound
from drainward.plan.checker import broken, measure
from drainward.plan.from_job import Case
from drainward.plan.lists import dispatch, serial
from drainward.plan.mend import NO_KIT, Move, mend, moves_between, without_kit
from drainward.plan.model import Building, Kind, Measures, Plan, PlanRoom, Task
from drainward.plan.solve import solve
from drainward.plan.window import Aim, Window

__all__ = ["Made", "again", "make", "rest_of"]

Progress = Callable[[str, float], None]
Key = tuple[str, Kind]

NOT_DONE = "was not done as planned"
AFRESH = "planned anew: what was planned can no longer be worked"


@dataclass(frozen=True, slots=True)
class Made:
    """bound : number of the working day before which no plan ends, the building's first being 0, and how it was proved
    moves : against the plan before; () for a first plan
    """

    case: Case
    plan: Plan
    measures: Measures
    bound: int
    how: str
    moves: tuple[Move, ...] = ()

    @property
    def gap_days(self) -> int:
        """Working days between finish and bound."""
        return max(0, self.measures.finish_day - self.bound)


def make(case: Case, seconds: float = 20.0, seed: int = 0, progress: Progress | None = None) -> Made:
    """The best plan found in about `seconds`. Raises StageError where none fits into the crews' days."""
    if not case.done:
        try:
            answer = solve(
                case.building, seconds, seed, None if progress is None else lambda share, what: progress(what, share)
            )
        except ValueError as error:
            raise StageError(_WHY_NOT) from error
        return Made(case, answer.plan, answer.measures, answer.bound.finish_day, answer.bound.how)
    begun = time.monotonic()
    plan = _filled_up(case)
    day, how = _bound(case, 0.2 * seconds)
    if progress is not None:
        progress("lists and bound", 0.2)
    plan = _bettered(case, plan, day, begun + seconds, seed, progress)
    return Made(case, plan, measure(case.building, plan), day, how)


_WHY_NOT = (
    "no plan fits into the crews' days: is a shift long enough for bed and set with its break, is there a kit, do all "
    "crews share a day for the first unit, does an inspector come?"
)


def _filled_up(case: Case) -> Plan:
    """The better of both lists around what is done."""
    building, today = case.building, _today(case)
    found = (dispatch(building, case.done, today), serial(building, case.done, case.now))
    good = [plan for plan in found if not broken(building, plan, case.now)]
    if not good:
        raise StageError(_WHY_NOT)
    return min(good, key=lambda plan: measure(building, plan).key())


def _today(case: Case) -> int:
    """The first day on which something can still start."""
    days = {s.day for c in case.building.crews for s in c.shifts if s.start >= case.now}
    return min(days, default=0)


def _bettered(case: Case, plan: Plan, bound: int, until: float, seed: int, progress: Progress | None) -> Plan:
    """A few days at a time, everything sooner and nothing later, until the bound is met or time is up."""
    rng, building = Random(seed), case.building
    begun = time.monotonic()
    days = sorted({s.day for c in building.crews for s in c.shifts if s.start > case.now})
    best = measure(building, plan)
    width = max(3, min(8, 70 // (6 * len(building.crews))))
    while time.monotonic() + 0.5 < until and days:
        if best.finish_day <= bound and best.late_slots == 0:
            break
        last = max((k for k, day in enumerate(days) if _span(building, day)[0] < best.finish), default=0)
        first = rng.randint(0, max(0, last - width + 1))
        low, high = _span(building, days[first])[0], _span(building, days[min(len(days) - 1, first + width - 1)])[1]
        free = [(t.room, t.kind) for t in plan.tasks if low <= t.start and t.end <= high]
        if not free:
            break
        solved = Window(building, plan, free, (low, high), Aim()).solve(min(4.0, until - time.monotonic()), seed=seed)
        if solved.plan is not None and not broken(building, solved.plan, case.now):
            better = measure(building, solved.plan)
            if (better.late_slots, better.finish) <= (best.late_slots, best.finish):
                plan, best = solved.plan, better
        if solved.status == "optimal" and first == 0 and last < width:
            # all that is left was one window, and it is solved
            break
        if progress is not None:
            progress("days by CP-SAT", min(1.0, 0.2 + 0.8 * (time.monotonic() - begun) / max(1e-9, until - begun)))
    return plan


def _span(building: Building, day: int) -> tuple[int, int]:
    here = [s for c in building.crews for s in c.shifts if s.day == day]
    return min(s.start for s in here), max(s.end for s in here)


def _bound(case: Case, seconds: float) -> tuple[int, str]:
    """Number of the working day before which what is left cannot end."""
    own = max((rest_of(case, room)[0] for room in case.building.rooms), default=0)
    done = {(task.room, task.kind) for task in case.done}
    if all((room.id, kind) in done for room in case.building.rooms for kind in case.building.steps(room)):
        return own, "all is done"
    found = finish_bound(case.building, seconds, case.done, case.now)
    return (found.finish_day, found.how) if found.finish_day >= own else (own, "a room's own rest")


def rest_of(case: Case, room: PlanRoom) -> tuple[int, int]:
    """Working day, by its number, and slot at which this room alone could be done, with all free for it at any time."""
    building = case.building
    done = {task.kind: task for task in case.done if task.room == room.id}
    opens = _opens(building)
    shifts = sorted((s for c in building.crews for s in c.shifts), key=lambda s: s.start)
    at, day = 0, -1
    for kind in building.steps(room):
        if kind in done:
            at, day = done[kind].end, _day_of(opens, done[kind].start)
            continue
        at = max(at + room.wait(kind), case.now, (room.retest or 0) * (kind is Kind.RETEST))
        length, look = building.length(room, kind), kind is Kind.LOOK
        fits = (s for s in shifts if max(s.start, at) + length <= s.end and (not look or _day_of(opens, s.start) > day))
        found = next(fits, None)
        if found is None:
            return 0, 0
        at, day = max(found.start, at) + length, _day_of(opens, found.start)
    return max(0, day), at


def _opens(building: Building) -> list[int]:
    """When each working day begins, by its number."""
    first: dict[int, int] = {}
    for crew in building.crews:
        for shift in crew.shifts:
            first[shift.day] = min(shift.start, first.get(shift.day, shift.start))
    return sorted(first.values())


def _day_of(opens: list[int], slot: int) -> int:
    """Number of the working day that is under way at a slot, or was last before it; -1 before the first."""
    return bisect_right(opens, slot) - 1


def again(case: Case, old: Plan, dues: Mapping[str, int], seconds: float = 4.0) -> Made:
    """The plan before with what no longer holds put elsewhere, moving as little as may be of the next two days.

    dues : when rooms were due when `old` was made, slots
    Raises StageError where no plan fits at all.
    """
    building = case.building
    was = {(task.room, task.kind): task for task in old.tasks}
    done = {(task.room, task.kind) for task in case.done}
    kept = _kept(case, old, done)
    why = _struck(case, kept, was, dues)
    whole = Plan(tuple(sorted((*case.done, *kept.values()), key=lambda task: task.start)))
    why |= without_kit(building, _whole_rooms(building, whole), case.now, set(why))
    plan = whole
    if why:
        try:
            dated = [room for room, text in why.items() if text != NO_KIT]
            plan, why = mend(building, whole, case.now, why, done, seconds, dated)
        except ValueError:
            plan = Plan(())
    if broken(building, plan, case.now):
        made = make(case, seconds)
        plan, why = made.plan, {room.id: AFRESH for room in building.rooms}
    day, how = _bound(case, 0.5 * seconds)
    open_ = Plan(tuple(task for task in plan.tasks if (task.room, task.kind) not in done))
    return Made(case, plan, measure(building, plan), day, how, moves_between(old, open_, why))


def _kept(case: Case, old: Plan, done: set[Key]) -> dict[Key, Task]:
    """Steps of the plan before that may stay: still needed, not begun, by crews that work then."""
    building = case.building
    rooms = {room.id: room for room in building.rooms}
    spans = {c.id: [(s.start, s.end) for s in c.shifts] for c in building.crews}
    windows = {one.id: one.windows for one in building.inspectors}
    kept = {}
    for task in old.tasks:
        key, room = (task.room, task.kind), rooms.get(task.room)
        if room is None or key in done or task.start < case.now or task.kind not in building.steps(room):
            continue
        works = all(any(a <= task.start and task.end <= b for a, b in spans.get(c, ())) for c in task.crews)
        sees = task.kind is not Kind.LOOK or not windows or _within(task, windows.get(task.inspector or "", ()))
        if works and sees and task.end - task.start == building.length(room, task.kind):
            kept[key] = task
    return kept


def _within(task: Task, spans: tuple[tuple[int, int], ...]) -> bool:
    return any(a <= task.start and task.end <= b for a, b in spans)


def _whole_rooms(building: Building, plan: Plan) -> Plan:
    """Without the blocks of rooms whose test is not placed: their kits are counted once they are."""
    tested = {task.room for task in plan.tasks if task.kind is Kind.TEST}
    return Plan(tuple(task for task in plan.tasks if task.kind is not Kind.BLOCK or task.room in tested))


def _struck(case: Case, kept: dict[Key, Task], was: Mapping[Key, Task], dues: Mapping[str, int]) -> dict[str, str]:
    """Rooms of which a step has no place any more, and why; their later steps leave `kept`."""
    building = case.building
    done = {(task.room, task.kind): task for task in case.done}
    opens = _opens(building)
    why: dict[str, str] = {}
    for room in building.rooms:
        said = _first_wrong(building, room, done, kept, was, opens)
        if not said and room.due is not None and dues.get(room.id, room.due) > room.due:
            look = kept.get((room.id, Kind.LOOK))
            said = "due sooner" if look is not None and look.end > room.due else ""
        if said:
            why[room.id] = said
    why |= _busy(case, kept, why)
    if building.first is not None:
        look = kept.get((building.first, Kind.LOOK)) if building.first not in why else None
        for (name, kind), task in kept.items():
            early = look is None or task.start < look.end
            if kind is Kind.BLOCK and name != building.first and early:
                why.setdefault(name, "the first unit is not signed off by then")
    return why


def _first_wrong(
    building: Building,
    room: PlanRoom,
    done: Mapping[Key, Task],
    kept: dict[Key, Task],
    was: Mapping[Key, Task],
    opens: list[int],
) -> str:
    """Why a room cannot stay as it was planned; "" where it can. Its steps from the first wrong one on leave `kept`."""
    said, before = "", None
    for kind in building.steps(room):
        key = room.id, kind
        if key in done:
            before = done[key]
            continue
        task = kept.get(key)
        if not said:
            said = _wrong(room, kind, task, before, (room.id, kind) in was, opens)
        if said:
            kept.pop(key, None)
        before = task
    return said


def _wrong(room: PlanRoom, kind: Kind, task: Task | None, before: Task | None, was: bool, opens: list[int]) -> str:
    """Why one step cannot stay; before : the step before it, where there is one;  was : it was planned before."""
    if task is None:
        if kind in (Kind.REPAIR, Kind.RETEST):
            return "water stood in its test"
        if was:
            return NOT_DONE
        return "needs a correction" if kind is Kind.CORRECTION else "new in the plan"
    if before is None:
        return "ready later" if task.start < room.ready else ""
    if kind is Kind.TEST and task.start < before.end + room.cure:
        return "its bed cures later"
    if kind is Kind.RETEST and task.start < before.end + room.repair_cure:
        return "its repair cures later"
    if kind is Kind.LOOK:
        return "" if _day_of(opens, task.start) > _day_of(opens, before.start) else "its water test is later"
    return "the step before it ends later" if task.start < before.end else ""


def _busy(case: Case, kept: Mapping[Key, Task], why: Mapping[str, str]) -> dict[str, str]:
    """Rooms whose crew is still at something that the record says began before."""
    found: dict[str, str] = {}
    for crew in case.building.crews:
        mine = [t for t in (*case.done, *kept.values()) if crew.id in t.crews and t.room not in why]
        for one, other in pairwise(sorted(mine, key=lambda t: t.start)):
            if other.start < one.end and other.start >= case.now:
                found[other.room] = "its crew is still elsewhere"
    return found
