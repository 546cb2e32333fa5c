"""A plan made day after day by the guide's counts: `guided`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from random import Random

from drainward.plan.fitted import fit
from drainward.plan.guide import Quota, Taste, quota
from drainward.plan.halves import PARTS, DayShape
from drainward.plan.lists import first_room
from drainward.plan.model import Building, Kind, Plan, Task
from drainward.plan.state import NEVER, State
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
    seconds: float = 0.0,
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
        first_room(state, Kind.LOOK, day)
        want = quota(state, index, taste)
        if want is not None:
            _fill(state, day, want, taste, rng, trials, seconds)
        if progress is not None:
            progress(len(state.placed) / total)
    return state.plan()


@dataclass(frozen=True, slots=True)
class _Recipe:
    """One order in which to fill a day: crews by turn, tests before the first units, how far a change of floor weighs."""

    crews: tuple[int, ...]
    tests_first: int
    fix_first: bool
    wait: int


class _Filling:
    """One day to be filled, again and again."""

    def __init__(self, state: State, day: int, want: Quota, taste: Taste) -> None:
        self.state, self.day, self.want, self.taste = state, day, want, taste
        self.shape = DayShape(state.building, day)
        self.crews = state.crew_days[day]
        self.mark = len(state.log)

    def draw(self, rng: Random, usual: bool) -> _Recipe:
        """The usual recipe, or one by chance."""
        skills = self.state.skills
        order = sorted(range(len(self.crews)), key=lambda k: (len(skills[self.crews[k].crew]), k))
        if usual:
            return _Recipe(tuple(order), self.want.tests[0], False, 4)
        if rng.random() < 0.5:
            rng.shuffle(order)
        tests = rng.choice((self.want.tests[0], rng.randint(0, max(1, sum(self.want.tests)))))
        return _Recipe(tuple(order), tests, rng.random() < 0.4, rng.choice((1, 4, 4, 8)))

    def some(self, kind: Kind, crews: list[CrewDay], most: int, recipe: _Recipe, latest: int = NEVER) -> int:
        """Place up to `most` steps of this kind; how many were."""
        for number in range(most):
            if self.state.place(kind, self.day, crews, wait=recipe.wait, latest=latest) is None:
                return number
        return max(0, most)

    def blocks(self, part: int, crews: Iterable[CrewDay], most: int, recipe: _Recipe) -> int:
        """Place up to `most` blocks in this part of the day, one for each crew; how many were."""
        number = 0
        for one in crews:
            if number >= most:
                break
            task = self.state.place(
                Kind.BLOCK, self.day, [one], latest=self.shape.last[part], wait=recipe.wait, soonest=self.shape.first[part]
            )
            number += task is not None
        return number

    def cook(self, recipe: _Recipe) -> None:
        """Fill the day by this recipe."""
        want, moments, test = self.want, self.shape.moments, self.state.building.work.test
        crews = [self.crews[k] for k in recipe.crews]
        single = max(0, len(crews) - max(0, sum(want.blocks) - len(crews)))
        spare = crews[len(crews) - single :] or crews
        tests = self.some(Kind.TEST, spare, recipe.tests_first, recipe, moments[0] - test)
        tests += self.some(Kind.TEST, crews, recipe.tests_first - tests, recipe, moments[0] - test)
        fixes = sum(want.corrections.values())
        if recipe.fix_first:
            for one in reversed(crews[sum(want.blocks[:2]) :]):
                fixes -= self.some(Kind.CORRECTION, [one], min(1, fixes), recipe)
        left = 0
        for part in range(PARTS):
            if part > 0:
                due = sum(want.tests[: part + 1]) - tests
                tests += self.some(Kind.TEST, [*spare], due, recipe, moments[part] - test)
                tests += self.some(Kind.TEST, crews, due, recipe, moments[part] - test) if part == PARTS - 1 else 0
            left += want.blocks[part]
            left -= self.blocks(part, crews, left, recipe)
        fixes -= self.some(Kind.CORRECTION, crews, fixes, recipe)
        self.some(Kind.BLOCK, crews, left, recipe)
        self.some(Kind.TEST, crews, sum(want.tests) - tests, recipe)
        self.some(Kind.LOOK, crews, want.looks, recipe)
        self.some(Kind.SURVEY, crews, want.surveys, recipe)
        for kind in (Kind.RETEST, Kind.TEST, Kind.CORRECTION, Kind.LOOK, Kind.SURVEY):
            self.some(kind, crews, 1000, recipe)

    def worth(self) -> float:
        """What was placed, by the taste; beyond what is wanted it counts less, a unit that ends sooner a bit more."""
        want, taste = self.want, self.taste
        left = {
            Kind.BLOCK: sum(want.blocks),
            Kind.TEST: sum(want.tests),
            Kind.CORRECTION: sum(want.corrections.values()),
            Kind.LOOK: want.looks,
            Kind.SURVEY: want.surveys,
            Kind.RETEST: 0,
        }
        each = {Kind.BLOCK: taste.block, Kind.TEST: taste.test, Kind.LOOK: taste.look, Kind.SURVEY: taste.survey}
        total = 0.0
        for room, kind, _, _ in self.state.log[self.mark :]:
            task = self.state.placed[room, kind]
            worth = each.get(kind, taste.correction * (task.end - task.start))
            total += worth if left[kind] > 0 else BEYOND * worth
            left[kind] -= 1
            if kind is Kind.BLOCK:
                total -= 0.02 * (task.end - self.shape.start)
        return total


def _fill(state: State, day: int, want: Quota, taste: Taste, rng: Random, trials: int, seconds: float = 0.0) -> None:
    """Place the wanted steps of one day in several orders, and keep the best of them."""
    filling = _Filling(state, day, want, taste)
    best, kept = -1.0, filling.draw(rng, usual=True)
    for trial in range(trials):
        recipe = kept if trial == 0 else filling.draw(rng, usual=False)
        filling.cook(recipe)
        worth = filling.worth()
        state.undo(filling.mark)
        if worth > best:
            best, kept = worth, recipe
    filling.cook(kept)
    if seconds > 0:
        hint = [(kind, room, state.placed[room, kind].start, state.placed[room, kind].crews[0]) for room, kind, _, _ in state.log[filling.mark:]]
        state.undo(filling.mark)
        if not fit(state, day, want, taste, seconds, 0, hint):
            filling.cook(kept)
