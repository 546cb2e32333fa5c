"""Is this plan one that can be worked? `broken` names each rule broken; `measure` says how good the plan is.

Shares no code with what makes plans: it looks at the finished tasks only.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from itertools import pairwise

from drainward.plan.model import Building, Kind, Measures, Plan, PlanRoom, Shift, Task

__all__ = ["broken", "kits_in_use", "measure"]


def broken(building: Building, plan: Plan, since: int = 0) -> tuple[str, ...]:
    """Every rule that the plan breaks, one sentence each; empty where it can be worked.

    What starts before slot `since` is done and stands as it was, however it was done; kits are counted whenever one is
    taken by a unit that is set from then on: there may have been more of them before.
    """
    by_room: dict[str, dict[Kind, list[Task]]] = defaultdict(lambda: defaultdict(list))
    for task in plan.tasks:
        by_room[task.room][task.kind].append(task)
    known = {room.id for room in building.rooms}
    says = [f"{room}: not a room of this building" for room in by_room if room not in known]
    says += _rooms(building, by_room, since)
    says += _crews(building, plan, since)
    says += _inspectors(building, plan, since)
    says += _first(building, plan, since)
    taken = {t.start + building.work.brace_at for t in plan.tasks if t.kind is Kind.BLOCK and t.start >= since}
    most = max((count for at, count in kits_in_use(building, plan) if at in taken), default=0)
    if most > building.kits:
        says.append(f"{most} kits in use, {building.kits} at hand")
    return tuple(says)


def _rooms(building: Building, by_room: dict[str, dict[Kind, list[Task]]], since: int) -> list[str]:
    says = []
    lengths = {Kind.SURVEY: building.work.survey, Kind.BLOCK: building.work.block}
    lengths |= {Kind.TEST: building.work.test, Kind.LOOK: building.work.look}
    day_of = {(crew.id, slot): s.day for crew in building.crews for s in crew.shifts for slot in range(s.start, s.end)}
    for room in building.rooms:
        tasks = by_room.get(room.id, {})
        wanted = lengths | ({Kind.CORRECTION: room.correction} if room.correction else {})
        if room.retest is not None:
            wanted |= {Kind.RETEST: building.work.test} | ({Kind.REPAIR: room.repair} if room.repair else {})
        wrong = [kind for kind in Kind if len(tasks.get(kind, ())) != (kind in wanted)]
        if wrong:
            says += [f"{room.id}: {kind.value} is planned {len(tasks.get(kind, ()))} times" for kind in wrong]
            continue
        one = {kind: tasks[kind][0] for kind in wanted}
        says += [
            f"{room.id}: {kind.value} takes {task.end - task.start} slots, not {wanted[kind]}"
            for kind, task in one.items()
            if task.end - task.start != wanted[kind] and task.start >= since
        ]
        waits = {Kind.SURVEY: room.ready, Kind.BLOCK: one[Kind.SURVEY].end, Kind.TEST: one[Kind.BLOCK].end + room.cure}
        waits[Kind.LOOK] = one[Kind.TEST].end
        tested = Kind.TEST
        if room.retest is not None:
            tested = Kind.RETEST
            mended = one[Kind.REPAIR if room.repair else Kind.TEST].end
            waits[Kind.RETEST] = max(room.retest, mended + room.repair_cure)
            waits |= {Kind.REPAIR: one[Kind.TEST].end} if room.repair else {}
        if room.correction:
            waits |= {Kind.CORRECTION: one[Kind.SURVEY].end, Kind.BLOCK: one[Kind.CORRECTION].end}
        says += [
            f"{room.id}: {kind.value} starts too early"
            for kind, slot in waits.items()
            if since <= one[kind].start < slot
        ]
        days = [
            day_of.get((one[kind].crews[0], one[kind].start), -1) for kind in (tested, Kind.LOOK) if one[kind].crews
        ]
        if len(days) == 2 and days[1] <= days[0] and one[Kind.LOOK].start >= since:
            says.append(f"{room.id}: second look is not on a later working day than its water test")
    return says


def _crews(building: Building, plan: Plan, since: int) -> list[str]:
    says = []
    rooms = {room.id: room for room in building.rooms}
    mine: dict[str, list[Task]] = defaultdict(list)
    for task in plan.tasks:
        for name in task.crews:
            mine[name].append(task)
        alone = not (task.kind is Kind.BLOCK and task.room == building.first)
        if task.start >= since and (not task.crews or (alone and len(task.crews) != 1)):
            says.append(f"{task.room}: {task.kind.value} is given to {len(task.crews)} crews")
    known = {crew.id for crew in building.crews}
    says += [f"{name}: not a crew of this building" for name in mine if name not in known]
    for crew in building.crews:
        of_day: dict[int, list[Task]] = defaultdict(list)
        days = {shift.day: shift for shift in crew.shifts}
        shifts = sorted(crew.shifts, key=lambda shift: shift.start)
        begins = [shift.start for shift in shifts]
        for task in mine[crew.id]:
            done = task.start < since
            # what is done may reach into a shift from before it
            near = shifts[max(0, bisect_right(begins, task.start) - 1) :][:2]
            on = [s for s in near if s.start < task.end and task.start < s.end]
            day = next((s.day for s in on if done or (s.start <= task.start and task.end <= s.end)), None)
            if day is None:
                says += [] if done else [f"{crew.id}: {task.kind.value} of {task.room} lies outside its shifts"]
                continue
            of_day[day].append(task)
            if task.kind is Kind.CORRECTION and not rooms[task.room].skills <= crew.skills:
                says.append(f"{crew.id}: not trained for the correction of {task.room}")
        for day, tasks in of_day.items():
            says += _one_shift(building, crew.id, days[day], sorted(tasks, key=lambda task: task.start), rooms, since)
    return says


def _one_shift(
    building: Building, name: str, shift: Shift, tasks: list[Task], rooms: dict[str, PlanRoom], since: int
) -> list[str]:
    says = []
    for one, other in pairwise(tasks):
        if other.start < since:
            continue
        way = building.travel if rooms[one.room].floor != rooms[other.room].floor else 0
        if other.start < one.end:
            says.append(f"{name}: {one.room} and {other.room} at the same time")
        elif other.start - one.end < way:
            says.append(f"{name}: no time to go from {one.room} to {other.room}")
    if tasks[-1].start < since:
        return says
    free = zip([shift.start, *(t.end for t in tasks)], [*(t.start for t in tasks), shift.end], strict=True)
    if all(min(end, shift.lunch_to) - max(start, shift.lunch_from) < building.lunch for start, end in free):
        says.append(f"{name}: no lunch on day {shift.day}")
    return says


def _inspectors(building: Building, plan: Plan, since: int) -> list[str]:
    says: list[str] = []
    if not building.inspectors:
        return says
    seen: dict[str, list[Task]] = defaultdict(list)
    slots = {who.id: who.windows for who in building.inspectors}
    for task in plan.tasks:
        if task.kind is Kind.LOOK and task.start >= since:
            seen[task.inspector or ""].append(task)
            if not any(a <= task.start and task.end <= b for a, b in slots.get(task.inspector or "", ())):
                says.append(f"{task.room}: second look lies outside the inspector's slots")
    for who, tasks in seen.items():
        tasks.sort(key=lambda task: task.start)
        says += [f"{who}: {a.room} and {b.room} at the same time" for a, b in pairwise(tasks) if b.start < a.end]
    return says


def _first(building: Building, plan: Plan, since: int) -> list[str]:
    if building.first is None:
        return []
    blocks = [task for task in plan.tasks if task.kind is Kind.BLOCK and task.start >= since]
    looks = [task.end for task in plan.tasks if task.kind is Kind.LOOK and task.room == building.first]
    says = [
        f"{task.room}: the first unit is set without every crew"
        for task in blocks
        if task.room == building.first and set(task.crews) != {crew.id for crew in building.crews}
    ]
    return says + [
        f"{task.room}: set before the first unit is signed off"
        for task in blocks
        if task.room != building.first and looks and task.start < looks[0]
    ]


def kits_in_use(building: Building, plan: Plan) -> tuple[tuple[int, int], ...]:
    """(slot, kits in use from then on), at each change; a kit given back at a slot may be taken at that slot."""
    change: dict[int, int] = defaultdict(int)
    for task in plan.tasks:
        if task.kind is Kind.BLOCK:
            change[task.start + building.work.brace_at] += 1
        elif task.kind is Kind.TEST:
            change[task.end] -= 1
    total, out = 0, []
    for slot in sorted(change):
        total += change[slot]
        out.append((slot, total))
    return tuple(out)


def measure(building: Building, plan: Plan) -> Measures:
    """Due dates, finish, kits and calm of a plan that can be worked."""
    due = {room.id: room.due for room in building.rooms}
    floor = {room.id: room.floor for room in building.rooms}
    late = []
    for task in plan.tasks:
        limit = due[task.room]
        if task.kind is Kind.LOOK and limit is not None and task.end > limit:
            late.append(task.end - limit)
    finish = max((task.end for task in plan.tasks), default=0)
    starts: dict[int, int] = {}
    for crew in building.crews:
        for shift in crew.shifts:
            starts[shift.day] = min(shift.start, starts.get(shift.day, shift.start))
    mine: dict[str, list[Task]] = {crew.id: [] for crew in building.crews}
    for task in sorted(plan.tasks, key=lambda task: task.start):
        for name in task.crews:
            mine[name].append(task)
    changes = sum(
        floor[a.room] != floor[b.room] and b.start - a.end < 34 for tasks in mine.values() for a, b in pairwise(tasks)
    )
    load = [sum(task.end - task.start for task in tasks) for tasks in mine.values()]
    return Measures(
        late_rooms=len(late),
        late_slots=sum(late),
        finish=finish,
        finish_day=sum(start < finish for start in starts.values()) - 1,
        kits=max((count for _, count in kits_in_use(building, plan)), default=0),
        floor_changes=changes,
        uneven=max(load, default=0) - min(load, default=0),
    )
