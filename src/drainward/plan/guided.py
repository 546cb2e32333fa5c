"""A plan made day after day by the guide's counts: `guided`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from drainward.plan.guide import Course, Quota, Taste, quota
from drainward.plan.halves import PARTS, Pattern
from drainward.plan.lists import first_room
from drainward.plan.model import Building, Kind, Plan, Task
from drainward.plan.oneday import best_day
from drainward.plan.state import NEVER, State
from drainward.plan.timeline import CrewDay

__all__ = ["guided"]

USUAL = Taste()
BEYOND = 0.6
"""What a step beyond the day's count is worth, of its full worth."""
AFTER_BREAK = 2
"""The first part of the day after the break."""
LOOKED_AT = ((Kind.TEST, 20), (Kind.CORRECTION, 8), (Kind.LOOK, 12), (Kind.SURVEY, 14))
"""Rooms, by rank, that CP-SAT chooses from."""


def guided(
    building: Building,
    taste: Taste = USUAL,
    fixed: tuple[Task, ...] = (),
    order: dict[str, int] | None = None,
    progress: Callable[[float], None] | None = None,
    from_day: int = 0,
    trials: int = 8,
    seed: int = 0,
    think: float = 0.0,
) -> Plan:
    """Count what belongs on a day, place it, go on from what was placed; `progress` gets the share done.

    trials : orders in which each day is filled;  think : seconds for CP-SAT on a day that falls short
    """
    state = State(building, fixed, order)
    rng = Random(seed)
    total = sum(len(building.steps(room)) for room in building.rooms)
    course: Course | None = None
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
        course = course or Course(state, index, taste)
        want = quota(state, index, taste, course)
        if want is not None:
            _fill(state, day, want, taste, rng, trials, think)
        if progress is not None:
            progress(len(state.placed) / total)
    return state.plan()


@dataclass(frozen=True, slots=True)
class _Recipe:
    """How to fill a day: each crew's pattern and tests before its first unit; what a change of floor weighs, slots."""

    patterns: tuple[Pattern | None, ...]
    tests_first: tuple[int, ...]
    wait: int


class _Filling:
    """One day to be filled, again and again."""

    def __init__(self, state: State, day: int, want: Quota, taste: Taste) -> None:
        self.state, self.day, self.want, self.taste = state, day, want, taste
        self.shape = state.shapes[state.day_index(state.crew_days[day][0].shift.start)]
        self.crews = state.crew_days[day]
        self.mark = len(state.log)
        skills = [room.skills for room in state.building.rooms if room.correction]
        self.able = [any(need <= state.skills[one.crew] for need in skills) for one in self.crews]

    def draw(self, rng: Random) -> _Recipe:
        """Which crew fills its shift how, and where the first tests go, by chance."""
        patterns: list[Pattern | None] = [None] * len(self.crews)
        for able in (True, False):
            mine = [pattern for trained, pattern in self.want.crews if trained == able]
            rng.shuffle(mine)
            for k in (k for k, trained in enumerate(self.able) if trained == able):
                patterns[k] = mine.pop() if mine else None
        tests = [0] * len(patterns)
        left = self.want.tests[0]
        turns = list(range(len(patterns)))
        rng.shuffle(turns)
        units = [0 if pattern is None else sum(pattern.blocks) for pattern in patterns]
        turns.sort(key=units.__getitem__, reverse=rng.random() < 0.3)
        for _ in range(left):
            for k in turns:
                pattern = patterns[k]
                most = left if pattern is None else pattern.free[0] // self.state.building.work.test
                if left > 0 and tests[k] < most:
                    tests[k] += 1
                    left -= 1
        return _Recipe(tuple(patterns), tuple(tests), rng.choice((1, 4, 4, 8)))

    def some(self, kind: Kind, crews: list[CrewDay], most: int, recipe: _Recipe, latest: int = NEVER) -> int:
        """Place up to `most` steps of this kind; how many were."""
        for number in range(most):
            if self.state.place(kind, self.day, crews, wait=recipe.wait, latest=latest) is None:
                return number
        return max(0, most)

    def block(self, part: int, one: CrewDay, recipe: _Recipe) -> int:
        """Place a block of this crew in this part of the day; 1 where it was."""
        first, last = self.shape.first[part], self.shape.last[part]
        task = self.state.place(Kind.BLOCK, self.day, [one], latest=last, wait=recipe.wait, soonest=first)
        return int(task is not None)

    def tests(self, turns: list[tuple[CrewDay, int | None]], most: int, recipe: _Recipe, latest: int) -> int:
        """Place up to `most` tests on these crews, as long as each one's next block still fits its part of the day."""
        state, block = self.state, self.state.building.work.block
        parts = {one.crew: part for one, part in turns}
        crews = [one for one, _ in turns]
        number = 0
        while number < most and crews:
            task = state.place(Kind.TEST, self.day, crews, wait=recipe.wait, latest=latest)
            if task is None:
                break
            part, one = parts[task.crews[0]], next(one for one in crews if one.crew == task.crews[0])
            if part is not None:
                floor = state.rooms[task.room].floor
                if one.find(self.shape.first[part], block, floor, self.shape.last[part]) is None:
                    state.undo(len(state.log) - 1)
                    crews.remove(one)
                    continue
            number += 1
        return number

    def corrections(self, pattern: Pattern, one: CrewDay, recipe: _Recipe) -> int:
        """Place the pattern's corrections, the longest first; how many were."""
        sizes = [size for size, number in reversed(pattern.corrections) for _ in range(number)]
        placed = [
            self.state.place(Kind.CORRECTION, self.day, [one], wait=recipe.wait, only=size) is not None
            for size in sizes
        ]
        return sum(placed)

    def cook(self, recipe: _Recipe) -> None:
        """Fill the day by this recipe."""
        want, moments, state = self.want, self.shape.moments, self.state
        test, crews = state.building.work.test, self.crews
        pairs = list(zip(crews, recipe.patterns, strict=True))
        left, fixes, tests = sum(want.blocks), sum(want.corrections.values()), 0
        for (one, pattern), number in zip(pairs, recipe.tests_first, strict=True):
            tests += self.tests([(one, _next_part(pattern, 0))], number, recipe, moments[0] - test)
        for part in range(PARTS):
            if part > 0:
                turns = [(one, _next_part(pattern, part)) for one, pattern in pairs]
                tests += self.tests(turns, sum(want.tests[: part + 1]) - tests, recipe, moments[part] - test)
            for one, pattern in pairs:
                if pattern is None:
                    continue
                left -= sum(self.block(part, one, recipe) for _ in range(pattern.blocks[part]))
                # corrections follow a block of the morning, and go before all else where there is none
                if part == next((k for k in range(AFTER_BREAK) if pattern.blocks[k]), 0):
                    fixes -= self.corrections(pattern, one, recipe)
        fixes -= self.some(Kind.CORRECTION, crews, fixes, recipe)
        self.some(Kind.BLOCK, crews, left, recipe)
        self.some(Kind.TEST, crews, sum(want.tests) - tests, recipe)
        self.some(Kind.LOOK, crews, want.looks, recipe)
        self.some(Kind.SURVEY, crews, want.surveys, recipe)
        self.rest(recipe.wait)

    def rest(self, wait: int) -> None:
        """Place what still fits, but no unit."""
        for kind in (Kind.RETEST, Kind.TEST, Kind.CORRECTION, Kind.LOOK, Kind.SURVEY):
            while self.state.place(kind, self.day, self.crews, wait=wait):
                pass

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

    def short(self) -> bool:
        """Are there fewer units, tests or corrections than belong on this day."""
        placed = Counter(kind for _, kind, _, _ in self.state.log[self.mark :])
        want = self.want
        wanted = {Kind.BLOCK: want.blocks, Kind.TEST: want.tests, Kind.CORRECTION: want.corrections.values()}
        return any(placed[kind] < sum(numbers) for kind, numbers in wanted.items())

    def think(self, seconds: float, worth: float) -> None:
        """The day again by CP-SAT, kept where it is worth more."""
        state, want, taste = self.state, self.want, self.taste
        before = {(room, kind): state.placed[room, kind] for room, kind, _, _ in state.log[self.mark :]}
        state.undo(self.mark)
        until = max(one.shift.end for one in self.crews)
        each = {Kind.BLOCK: taste.block, Kind.TEST: taste.test, Kind.LOOK: taste.look, Kind.SURVEY: taste.survey}
        offered: dict[Kind, list[str]] = {}
        for kind, number in ((Kind.BLOCK, 3 * sum(want.blocks) + 2), *LOOKED_AT):
            offered[kind] = [room for room, _ in state.candidates(kind, until, number)]
        worths = {
            (room, kind): each.get(kind, taste.correction * state.rooms[room].correction)
            for kind, rooms in offered.items()
            for room in rooms
        }
        most = [([(room, Kind.BLOCK) for room in offered[Kind.BLOCK]], sum(want.blocks))]
        for size in {state.rooms[room].correction for room in offered[Kind.CORRECTION]}:
            alike = [(r, Kind.CORRECTION) for r in offered[Kind.CORRECTION] if state.rooms[r].correction == size]
            most.append((alike, want.corrections.get(size, 0)))
        for task in best_day(state, self.day, worths, most, before, seconds):
            state.put(task.room, task.kind, task.crews, task.start)
        self.rest(4)
        if self.worth() < worth:
            state.undo(self.mark)
            for task in sorted(before.values(), key=lambda task: task.start):
                state.put(task.room, task.kind, task.crews, task.start)


def _next_part(pattern: Pattern | None, part: int) -> int | None:
    """The next part of the day, this one or later, in which the pattern has a block."""
    return None if pattern is None else next((k for k in range(part, PARTS) if pattern.blocks[k]), None)


def _fill(state: State, day: int, want: Quota, taste: Taste, rng: Random, trials: int, think: float) -> None:
    """Place the wanted steps of one day in several orders, keep the best; by CP-SAT where units or tests are short."""
    filling = _Filling(state, day, want, taste)
    best, kept = -1.0, filling.draw(rng)
    for trial in range(trials):
        recipe = kept if trial == 0 else filling.draw(rng)
        filling.cook(recipe)
        worth = filling.worth()
        state.undo(filling.mark)
        if worth > best:
            best, kept = worth, recipe
    filling.cook(kept)
    if think > 0 and filling.short():
        filling.think(think, best)
