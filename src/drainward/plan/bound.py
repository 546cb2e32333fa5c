"""No plan can finish sooner than this: `finish_bound`, a count of all working days (`counted`), bisected on the last.

The rows are those of `counting`, loose, so whatever can be worked satisfies them: where they have no solution, no plan
ends by that day. The first unit's hours, and that no other is set before its second look is over, are added here. The
linear relaxation is a weaker bound, soon; whole numbers raise it where time allows.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from drainward.plan.counting import Count, Open, inspected
from drainward.plan.halves import DayShape, day_shapes
from drainward.plan.model import Building, PlanRoom

__all__ = ["Bound", "counted", "finish_bound"]


@dataclass(frozen=True, slots=True)
class Bound:
    """The last working day (0 is the first) before which no plan ends; `how` it was proved."""

    finish_day: int
    how: str

    def as_json(self) -> dict[str, Any]:
        """Plain numbers under their names."""
        return {"finish_day": self.finish_day, "how": self.how}


def finish_bound(building: Building, seconds: float = 30.0) -> Bound:
    """The bound by the linear relaxation, then raised by whole numbers, both while `seconds` last."""
    until = time.monotonic() + seconds
    high = len(building.working_days()) - 1
    low, sure = _by_linear_program(building, high, until)
    how = "linear program over days"
    while sure and time.monotonic() < until and low < high:
        if _feasible(building, low, until - time.monotonic(), whole=True) is not False:
            break
        low += 1
        how = "integer program over days"
    return Bound(low, how)


def _by_linear_program(building: Building, high: int, until: float) -> tuple[int, bool]:
    """The first last day that the linear program does not rule out; False where time was up before it was found.

    A leap up from what the hours alone need, growing steps from there, then bisected.
    """
    out = _too_soon(building)
    leap, step, top = max(2, len(building.rooms) // 60), max(1, len(building.rooms) // 200), high
    middle = min(high - 1, out + leap)
    while top - out > 1:
        answer = _feasible(building, middle, until - time.monotonic(), whole=False)
        if answer is None:
            return out + 1, False
        if answer:
            top, middle = middle, (out + middle) // 2
        else:
            out = middle
            middle = min((out + top) // 2, out + step)
            step *= 2
    return top, True


def _too_soon(building: Building) -> int:
    """The last working day by whose end the crews have not had the hours for all the work; -1 where there is none."""
    left = sum(sum(building.length(room, kind) for kind in building.steps(room)) for room in building.rooms)
    for k, day in enumerate(building.working_days()):
        left -= sum(s.end - s.start - building.lunch for crew in building.crews for s in crew.shifts if s.day == day)
        if left <= 0:
            return k - 1
    return len(building.working_days()) - 2


def _feasible(building: Building, last: int, seconds: float, *, whole: bool) -> bool | None:
    """Can all be done by working day `last`, in whole numbers or not; None where that is not known in time."""
    count = counted(building, last) if seconds > 0 else None
    if count is None:
        return None if seconds <= 0 else False
    answer = count.solve(seconds) if whole else count.relaxed(seconds)
    if answer.status == 2:
        return False
    return True if answer.status == 0 else None


def counted(building: Building, last: int) -> Count | None:
    """All that has to be done by working day `last`, as rows; None where the first unit alone takes longer."""
    days = building.working_days()[: last + 1]
    rest = [room for room in building.rooms if room.id != building.first]
    fix: dict[int, list[int]] = defaultdict(list)
    for room in rest:
        fix[room.correction].append(room.ready)
    ready = {size: tuple(sorted(slots)) for size, slots in fix.items()}
    plain = ready.pop(0, ())
    count = Count(building, day_shapes(building, days), Open(plain, ready, kits=building.kits))
    if not _first_unit(count):
        return None
    count.all_done()
    return count


def _first_unit(count: Count) -> bool:
    """The first unit's hours, and its second look before all other blocks; False where it alone takes longer."""
    building = count.building
    if building.first is None:
        return True
    room = next(room for room in building.rooms if room.id == building.first)
    gate = _first_gate(building, room, count.shapes)
    if gate is None:
        return False
    most = len(building.crews) * max(s.end - s.start for _, s in count.shapes[0].shifts) // building.work.block
    hours = sum(building.length(room, kind) for kind in building.steps(room))
    hours += (len(building.crews) - 1) * building.work.block
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


def _first_gate(building: Building, room: PlanRoom, shapes: Sequence[DayShape]) -> tuple[int, int] | None:
    """(working day, slot) at which the first unit's second look is over, with nothing in its way; None: never."""
    work = building.work

    def soonest(slot: int, length: int) -> int:
        for shape in shapes:
            if max(slot, shape.start) + length <= shape.end:
                return max(slot, shape.start) + length
        return shapes[-1].end + 1

    end = soonest(room.ready, work.survey)
    if room.correction:
        end = soonest(end, room.correction)
    end = soonest(end, work.block)
    end = soonest(end + room.cure, work.test)
    for k, shape in enumerate(shapes):
        if shape.start > end and inspected(building, shape) > 0:
            slots = [max(a, shape.start) for who in building.inspectors for a, b in who.windows if b > shape.start]
            return k, min(slots, default=shape.start) + work.look
    return None
