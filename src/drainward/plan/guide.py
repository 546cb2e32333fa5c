"""How much of each step belongs on the next day: `quota`, a count of the days ahead, the next in whole numbers.

The rows are those of `counting`, strict: what follows a step waits for the next day, cure is reckoned from the latest
end, some of each crew's day is lost to ways. What it wants: steps soon, each worth its hours, blocks first; a test its
kit.
"""

from __future__ import annotations

from dataclasses import dataclass

from drainward.plan.counting import Count
from drainward.plan.halves import Pattern
from drainward.plan.model import Kind
from drainward.plan.state import State

__all__ = ["Quota", "Taste", "quota"]


@dataclass(frozen=True, slots=True)
class Taste:
    """What the counting assumes: days ahead, slots of each crew's day lost to ways, worth of each step.

    whole : days in whole numbers;  correction : worth of each of its slots;  fade : worth lost by the last day ahead
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


def quota(state: State, index: int, taste: Taste, seconds: float = 2.0) -> Quota | None:
    """The steps that belong on working day `index`; None where nothing could be counted."""
    shapes = state.shapes[index : index + taste.ahead]
    count = Count(state.building, shapes, state.left(), strict=True, lost=taste.lost, whole=taste.whole)
    gate = _gate_day(state, index)
    shape = count.shapes[0]
    if state.gate > shape.start:
        # the first unit was signed off within this day: one block at most is left to each crew
        count.row([(v, 1.0) for v in count.days[0].blocks], len(shape.shifts))
        for v, last in zip(count.days[0].blocks, shape.last, strict=True):
            count.high[v] = 0.0 if last < state.gate else count.high[v]
    for k, day in enumerate(count.days):
        soon = 1.0 - taste.fade * k / taste.ahead
        worth = dict.fromkeys(day.blocks, taste.block)
        worth |= {v: taste.test - 0.05 * j for j, v in enumerate(day.tests)}
        worth |= {v: taste.correction * size for size, v in day.corrections.items()}
        worth |= dict.fromkeys(day.fix.values(), taste.survey + 0.05) | {day.plain: taste.survey, day.look: taste.look}
        for part, v in enumerate(day.blocks):
            worth[v] -= 0.05 * part
            if k < gate:
                count.high[v] = 0.0
        for v, each in worth.items():
            count.worth[v] = each * soon
    answer = count.solve(seconds, gap=0.002)
    if answer.x is None:
        return None
    day, x = count.days[0], answer.x
    return Quota(
        blocks=tuple(round(float(x[v])) for v in day.blocks),
        tests=tuple(round(float(x[v])) for v in day.tests),
        corrections={size: round(float(x[v])) for size, v in day.corrections.items()},
        looks=round(float(x[day.look])),
        surveys=round(float(x[day.plain]) + sum(float(x[v]) for v in day.fix.values())),
        crews=tuple((able, pattern) for v, able, pattern in day.patterns for _ in range(round(float(x[v])))),
    )
