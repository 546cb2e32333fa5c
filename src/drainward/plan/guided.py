"""A plan made day after day by the guide's counts: `guided`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from random import Random

from drainward.plan.guide import Quota, Taste, quota
from drainward.plan.lists import first_room
from drainward.plan.model import Building, Kind, Plan, Task
from drainward.plan.state import State
from drainward.plan.timeline import CrewDay

__all__ = ["guided"]

USUAL = Taste()
BEYOND = 0.6
"""What a step beyond the day's count is worth, of its full worth."""


def guided(
    building: Building,
    taste: Taste = USUAL,
    fixed: tuple[Task, ...] = (),
    order: dict[str, int] | None = None,
    progress: Callable[[float], None] | None = None,
    from_day: int = 0,
    trials: int = 8,
    seed: int = 0,
) -> Plan:
    """Count what belongs on a day, place it, go on from what was placed; `progress` gets the share done."""
    state = State(building, fixed, order)
    rng = Random(seed)
    total = sum(len(building.steps(room)) for room in building.rooms)
    for index, day in enumerate(state.days):
        if state.done():
            break
        if day < from_day:
            continue
        state.close(state.starts[index])
        for kind in (Kind.SURVEY, Kind.CORRECTION):
            first_room(state, kind, day)
        state.first_block(day)
        want = quota(state, index, taste)
        if want is not None:
            fill(state, day, want, taste, rng, trials)
        if progress is not None:
            progress(len(state.placed) / total)
    return state.plan()


@dataclass(frozen=True, slots=True)
class _Recipe:
    """One order in which to fill a day: crews, tests placed before the units, corrections before the second units."""

    crews: tuple[int, ...]
    tests_first: int
    fix_first: bool
    wait: int


def fill(state: State, day: int, want: Quota, taste: Taste, rng: Random, trials: int) -> None:
    """Place the wanted steps of one day in several orders, and keep the best of them."""
    number = len(state.crew_days[day])
    shy = sorted(range(number), key=lambda k: (len(state.skills[state.crew_days[day][k].crew]), k))
    best, kept = -1.0, _Recipe(tuple(shy), want.morning_tests, False, 4)
    mark = len(state.log)
    for trial in range(trials):
        recipe = kept if trial == 0 else _draw(rng, shy, want)
        _cook(state, day, want, recipe)
        worth = _worth(state, day, want, taste, mark)
        state.undo(mark)
        if worth > best:
            best, kept = worth, recipe
    _cook(state, day, want, kept)


def _draw(rng: Random, shy: list[int], want: Quota) -> _Recipe:
    order = list(shy)
    if rng.random() < 0.5:
        rng.shuffle(order)
    tests = rng.choice((want.morning_tests, want.tests, rng.randint(0, max(1, want.tests))))
    return _Recipe(tuple(order), tests, rng.random() < 0.3, rng.choice((1, 4, 4, 8)))


def _cook(state: State, day: int, want: Quota, recipe: _Recipe) -> None:
    crews = [state.crew_days[day][k] for k in recipe.crews]
    doubles = crews[: max(0, want.blocks - len(crews))]
    others = crews[len(doubles) :] or crews
    some = partial(_some, state, day, recipe.wait)
    early = some(Kind.TEST, others, recipe.tests_first)
    blocks, fixes = want.blocks, want.corrections
    for one in others if recipe.fix_first else ():
        fixes -= some(Kind.CORRECTION, [one], min(1, fixes))
    for one in doubles:
        blocks -= some(Kind.BLOCK, [one], min(2, blocks))
    for one in others:
        blocks -= some(Kind.BLOCK, [one], min(1, blocks))
    blocks -= some(Kind.BLOCK, crews, blocks)
    some(Kind.TEST, others, want.tests - early)
    some(Kind.CORRECTION, crews, fixes)
    some(Kind.BLOCK, crews, blocks)
    some(Kind.LOOK, crews, want.looks)
    some(Kind.SURVEY, crews, want.surveys)
    for kind in (Kind.RETEST, Kind.TEST, Kind.CORRECTION, Kind.LOOK, Kind.SURVEY):
        some(kind, crews, 1000)


def _worth(state: State, day: int, want: Quota, taste: Taste, mark: int) -> float:
    """What was placed, by the taste; beyond what is wanted it counts less, a unit that ends sooner a bit more."""
    start = min(one.shift.start for one in state.crew_days[day])
    left = {
        Kind.BLOCK: want.blocks,
        Kind.TEST: want.tests,
        Kind.CORRECTION: want.corrections,
        Kind.LOOK: want.looks,
        Kind.SURVEY: want.surveys,
        Kind.RETEST: 0,
    }
    total = 0.0
    for room, kind, _, _ in state.log[mark:]:
        task = state.placed[room, kind]
        worth = {Kind.BLOCK: taste.block, Kind.TEST: taste.test, Kind.LOOK: taste.look, Kind.SURVEY: taste.survey}
        each = worth.get(kind, taste.correction * (task.end - task.start))
        total += each if left[kind] > 0 else BEYOND * each
        left[kind] -= 1
        if kind is Kind.BLOCK:
            total -= 0.02 * (task.end - start)
    return total


def _some(state: State, day: int, wait: int, kind: Kind, crews: list[CrewDay], most: int) -> int:
    """Place up to `most` steps of this kind; how many were."""
    for number in range(most):
        if state.place(kind, day, crews, wait=wait) is None:
            return number
    return max(0, most)
