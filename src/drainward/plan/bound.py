"""No plan can finish sooner than this: `finish_bound`, a count of all working days (`counted`), bisected on the last.

The rows are those of `counting`, loose, so whatever can be worked satisfies them: where they have no solution, no plan
ends by that day. The first unit's hours, and that no other is set before its second look is over, are added here. The
linear relaxation is a weaker bound, soon; whole numbers raise it where time allows. Around work that has begun, `Start`
says what of each room is left.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from drainward.plan.counting import Count, inspected
from drainward.plan.halves import DayShape
from drainward.plan.model import Building, Kind, Task
from drainward.plan.state import State

__all__ = ["Bound", "Start", "counted", "finish_bound"]


@dataclass(frozen=True, slots=True)
class Bound:
    """The last working day (0 is the first) before which no plan ends; `how` it was proved."""

    finish_day: int
    how: str

    def as_json(self) -> dict[str, Any]:
        """Plain numbers under their names."""
        return {"finish_day": self.finish_day, "how": self.how}


class Start:
    """What stands when the counting begins: the days from slot `now` on, what is left, the first unit's next step.

    offset : number of the first working day that is not yet over
    first : steps that the first unit still waits for, () where it is signed off;  first_from : from which slot on
    """

    def __init__(self, building: Building, done: Iterable[Task] = (), now: int = 0) -> None:
        self.building = building
        state = State(building, done)
        self.offset = sum(shape.end <= now for shape in state.shapes)
        self.shapes = state.shapes[self.offset :]
        self.first: tuple[Kind, ...] = ()
        self.first_from = now
        self.cure = 0
        self.lengths: dict[Kind, int] = {}
        for room in building.rooms:
            waits = next((kind for kind in Kind if room.id in state.waiting[kind]), None)
            if room.id == building.first and waits is not None:
                steps = building.steps(room)
                self.first = steps[steps.index(waits) :]
                self.first_from = max(now, state.waiting[waits][room.id])
                self.cure = room.cure
                self.lengths = {kind: building.length(room, kind) for kind in self.first}
        self.left = state.left(building.first)
        self.hours = sum(self.lengths.values()) + sum(
            building.length(room, kind)
            for room in building.rooms
            if room.id != building.first
            for kind in building.steps(room)
            if kind is not Kind.RETEST and (room.id, kind) not in state.placed
        )


def finish_bound(building: Building, seconds: float = 30.0, done: Iterable[Task] = (), now: int = 0) -> Bound:
    """The bound by the linear relaxation, then raised by whole numbers, both while `seconds` last.

    done : steps that are done or under way;  now : slot before which nothing else starts
    """
    until = time.monotonic() + seconds
    start = Start(building, done, now)
    high = len(building.working_days()) - 1
    low, sure = _by_linear_program(start, high, until)
    how = "linear program over days"
    while sure and time.monotonic() < until and low < high:
        if _feasible(start, low, until - time.monotonic(), whole=True) is not False:
            break
        low += 1
        how = "integer program over days"
    return Bound(low, how)


def _by_linear_program(start: Start, high: int, until: float) -> tuple[int, bool]:
    """The first last day that the linear program does not rule out; False where time was up before it was found.

    A leap up from what the hours alone need, growing steps from there, then bisected.
    """
    out = _too_soon(start)
    units = start.left.total
    leap, step, top = max(2, units // 60), max(1, units // 200), high
    middle = min(high - 1, out + leap)
    while top - out > 1:
        answer = _feasible(start, middle, until - time.monotonic(), whole=False)
        if answer is None:
            return out + 1, False
        if answer:
            top, middle = middle, (out + middle) // 2
        else:
            out = middle
            middle = min((out + top) // 2, out + step)
            step *= 2
    return top, True


def _too_soon(start: Start) -> int:
    """The last working day by whose end the crews have not had the hours for all the work; -1 where there is none."""
    per_day = [sum(s.end - s.start - start.building.lunch for _, s in shape.shifts) for shape in start.shapes]
    return start.offset - 1 + min(sum(done < start.hours for done in accumulate(per_day)), len(per_day) - 1)


def _feasible(start: Start, last: int, seconds: float, *, whole: bool) -> bool | None:
    """Can all be done by working day `last`, in whole numbers or not; None where that is not known in time."""
    count = counted(start, last) if seconds > 0 else None
    if count is None:
        return None if seconds <= 0 else False
    answer = count.solve(seconds) if whole else count.relaxed(seconds)
    if answer.status == 2:
        return False
    return True if answer.status == 0 else None


def counted(start: Start, last: int) -> Count | None:
    """All that has to be done by working day `last`, as rows; None where the first unit alone takes longer."""
    shapes = start.shapes[: max(0, last + 1 - start.offset)]
    if not shapes:
        return None
    count = Count(start.building, shapes, start.left)
    if not _first_unit(count, start):
        return None
    count.all_done()
    return count


def _first_unit(count: Count, start: Start) -> bool:
    """The first unit's hours, and its second look before all other blocks; False where it alone takes longer."""
    building = start.building
    if not start.first:
        return True
    gate = _first_gate(start, count.shapes)
    if gate is None:
        return False
    most = len(building.crews) * max(s.end - s.start for _, s in count.shapes[0].shifts) // building.work.block
    hours = sum(start.lengths.values())
    hours += (len(building.crews) - 1) * start.lengths.get(Kind.BLOCK, 0)
    signed: list[int] = []
    spent: list[int] = []
    k_gate, slot = gate
    for k, (shape, day) in enumerate(zip(count.shapes, count.days, strict=True)):
        signed.append(count.new(1.0 if k >= k_gate else 0.0, whole=True))
        spent.append(count.new())
        count.row([*count.spent(k), (spent[k], 1.0)], sum(s.end - s.start - building.lunch for _, s in shape.shifts))
        # by the day of its second look all of its hours are spent
        count.row([(v, float(hours)) for v in signed] + [(v, -1.0) for v in spent], 0)
        for part, column in enumerate(day.blocks):
            can = signed if k > k_gate or shape.last[part] >= slot else signed[:-1]
            count.row([(column, 1.0)] + [(v, -float(most)) for v in can], 0)
    count.row([(v, 1.0) for v in signed], 1.0, 1.0)
    return True


def _first_gate(start: Start, shapes: Sequence[DayShape]) -> tuple[int, int] | None:
    """(day, slot) at which the first unit's second look is over, with nothing in its way; None: never."""
    building = start.building

    def soonest(slot: int, length: int) -> int:
        for shape in shapes:
            if max(slot, shape.start) + length <= shape.end:
                return max(slot, shape.start) + length
        return shapes[-1].end + 1

    end = start.first_from
    for number, kind in enumerate(start.first[:-1]):
        # what the next step waits for already holds the cure
        end = soonest(end + (start.cure if kind is Kind.TEST and number > 0 else 0), start.lengths[kind])
    for k, shape in enumerate(shapes):
        begun = shape.end > end if len(start.first) == 1 else shape.start > end
        if begun and inspected(building, shape) > 0:
            slots = [max(a, shape.start) for who in building.inspectors for a, b in who.windows if b > shape.start]
            return k, min(slots, default=shape.start) + building.work.look
    return None
