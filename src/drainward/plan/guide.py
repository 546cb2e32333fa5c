"""How much of each step belongs on the next day: `quota`, a count of the days ahead, the next in whole numbers.

A `Course` says first, for all days at once, what should be done by when; the count of the days ahead keeps to it.

The rows are those of `counting`, strict: what follows a step waits for the next day, cure is reckoned from the latest
end, some of each crew's day is lost to ways. What it wants: steps soon, each worth its hours, blocks first; a test its
kit.
"""

from __future__ import annotations

from dataclasses import dataclass

from drainward.plan.counting import Count, Day
from drainward.plan.halves import Pattern
from drainward.plan.model import Kind
from drainward.plan.state import State

__all__ = ["Course", "Quota", "Taste", "quota"]

TAIL, SPARE = 20, 1.35
"""Working days that a course looks over, beside those that the hours alone take, so many times."""


@dataclass(frozen=True, slots=True)
class Taste:
    """What the counting assumes: days ahead, slots of each crew's day lost to ways, worth of each step.

    whole : days in whole numbers;  correction : worth of each of its slots;  fade : worth lost by the last day ahead
    behind : what each slot of work is worth that the days ahead leave undone of the course
    """

    ahead: int = 12
    whole: int = 1
    lost: float = 1.0
    block: float = 15.0
    correction: float = 1.0
    test: float = 3.0
    look: float = 1.0
    survey: float = 2.0
    fade: float = 0.5
    behind: float = 4.0


@dataclass(frozen=True, slots=True)
class Quota:
    """Steps for one day: blocks by part, tests by moment, corrections by length.

    crews : how shifts are filled, and whether by a trained crew
    """

    blocks: tuple[int, ...]
    tests: tuple[int, ...]
    corrections: dict[int, int]
    looks: int
    surveys: int
    crews: tuple[tuple[bool, Pattern], ...] = ()


def _gate_day(state: State, index: int) -> int:
    """Days from now until units other than the first may be set."""
    name = state.building.first
    if state.signed_off or name is None:
        return 0
    if name in state.waiting[Kind.LOOK]:
        return max(0, state.day_index(state.waiting[Kind.LOOK][name]) - index)
    if name in state.waiting[Kind.TEST]:
        return max(0, state.day_index(state.waiting[Kind.TEST][name]) + 1 - index)
    return 4


class Course:
    """What of all steps should be done by the end of each day, from working day `index` of `state` on.

    One linear program over all days: units soon, but no sooner than everything gets done. It knows what no count of a
    few days does, such as that a kit lent on a Wednesday stands over the weekend.
    """

    def __init__(self, state: State, index: int, taste: Taste, seconds: float = 60.0) -> None:
        building, left = state.building, state.left()
        work = building.work
        slots = left.total * (work.block + work.test + work.survey + work.look)
        slots += sum(size * len(rooms) for size, rooms in left.fix.items())
        slots += sum(size * number for size, number in left.corrections.items())
        a_day = sum(shift.end - shift.start - building.lunch for _, shift in state.shapes[index].shifts)
        shapes = state.shapes[index : index + TAIL + round(SPARE * slots / a_day)]
        count = Count(building, shapes, left, strict=True, lost=taste.lost, whole=0)
        _gated(count, state, index)
        for k, day in enumerate(count.days):
            for v in day.blocks:
                count.worth[v] = 1.0 - 0.9 * k / len(count.days)
        count.all_done()
        answer = count.relaxed(seconds)
        self.first, self.total = index, count.totals()
        self.by_day = [] if answer.x is None else count.sums(answer.x)

    def missing(self, count: Count, index: int) -> dict[str, float]:
        """Of what `count` counts, by name: how much should be done by the end of working day `index`."""
        if not self.by_day:
            return {}
        wanted = self.by_day[min(index - self.first, len(self.by_day) - 1)]
        done = {name: self.total[name] - left for name, left in count.totals().items()}
        return {name: wanted[name] - number for name, number in done.items() if wanted[name] > number}


def _gated(count: Count, state: State, index: int) -> None:
    """No unit but the first before its second look is over."""
    shape = count.shapes[0]
    if state.gate > shape.start:
        # the first unit was signed off within this day: one block at most is left to each crew
        count.row([(v, 1.0) for v in count.days[0].blocks], len(shape.shifts))
        for v, last in zip(count.days[0].blocks, shape.last, strict=True):
            count.high[v] = 0.0 if last < state.gate else count.high[v]
    for day in count.days[: _gate_day(state, index)]:
        for v in day.blocks:
            count.high[v] = 0.0


def quota(state: State, index: int, taste: Taste, course: Course, seconds: float = 2.0) -> Quota | None:
    """The steps that belong on working day `index`; None where nothing could be counted."""
    shapes = state.shapes[index : index + taste.ahead]
    count = Count(state.building, shapes, state.left(), strict=True, lost=taste.lost, whole=taste.whole)
    _gated(count, state, index)
    for k, day in enumerate(count.days):
        soon = 1.0 - taste.fade * k / taste.ahead
        for v, each in _worths(day, taste).items():
            count.worth[v] = each * soon
    for name, number in course.missing(count, index + len(shapes) - 1).items():
        # what cannot be caught up with counts against the answer
        short = count.new()
        count.row([*count.sum_to(name, len(shapes) - 1), (short, 1.0)], float("inf"), number)
        count.worth[short] = -taste.behind * _slots(name, state)
    answer = count.solve(seconds, gap=0.002)
    if answer.x is None:
        return None
    day, x = count.days[0], answer.x
    return Quota(
        blocks=tuple(round(float(x[v])) for v in day.blocks),
        tests=tuple(round(float(x[v])) for v in day.tests),
        corrections={size: round(float(x[v])) for size, v in day.corrections.items()},
        looks=round(sum(float(x[v]) for v in day.looks)),
        surveys=round(float(x[day.plain]) + sum(float(x[v]) for v in day.fix.values())),
        crews=tuple((able, pattern) for v, able, pattern in day.patterns for _ in range(round(float(x[v])))),
    )


def _worths(day: Day, taste: Taste) -> dict[int, float]:
    """What one more of each of a day's columns is worth on the first day."""
    worth = {v: taste.block - 0.05 * part for part, v in enumerate(day.blocks)}
    worth |= {v: taste.test - 0.05 * j for j, v in enumerate(day.tests)}
    worth |= {v: taste.correction * size for size, v in day.corrections.items()}
    worth |= dict.fromkeys(day.fix.values(), taste.survey + 0.05) | {day.plain: taste.survey}
    return worth | dict.fromkeys(day.looks, taste.look)


def _slots(name: str, state: State) -> float:
    """Slots of the step of a running sum."""
    work = state.building.work
    kind, _, size = name.partition(" ")
    each = {"block": work.block, "test": work.test, "look": work.look, "correction": int(size or 0)}
    return float(each.get(kind, work.survey))
