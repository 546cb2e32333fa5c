"""A plan half made: `State` knows what each room waits for and places its next step where a crew is free."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

from drainward.plan.counting import Open
from drainward.plan.halves import day_shapes
from drainward.plan.model import Building, Kind, Plan, PlanRoom, Task
from drainward.plan.timeline import CrewDay, Looks

__all__ = ["State"]

NEVER = 1 << 40


class State:
    """What is placed so far; `order` ranks the rooms (a smaller rank goes first)."""

    def __init__(self, building: Building, fixed: Iterable[Task] = (), order: dict[str, int] | None = None) -> None:
        self.building = building
        self.rooms = {room.id: room for room in building.rooms}
        self.order = order or {room.id: rank for rank, room in enumerate(by_due(building))}
        self.days = building.working_days()
        self.shapes = day_shapes(building, self.days)
        self.crew_days: dict[int, list[CrewDay]] = defaultdict(list)
        self.crew_day: dict[tuple[str, int], CrewDay] = {}
        self.skills = {crew.id: crew.skills for crew in building.crews}
        for crew in building.crews:
            for shift in crew.shifts:
                one = CrewDay(crew.id, shift, building.travel, building.lunch)
                self.crew_days[shift.day].append(one)
                self.crew_day[crew.id, shift.day] = one
        self.starts = [min(one.shift.start for one in self.crew_days[day]) for day in self.days]
        self.placed: dict[tuple[str, Kind], Task] = {}
        self.waiting: dict[Kind, dict[str, int]] = {kind: {} for kind in Kind}
        self.kit_events: list[tuple[int, int]] = []
        self.kits_before = 0
        self.log: list[tuple[str, Kind, int, dict[int, list[str]]]] = []
        self.signed_off = building.first is None
        self.gate = 0
        fixed = list(fixed)
        self.looks = Looks(building, fixed)
        for task in sorted(fixed, key=lambda task: task.start):
            self._note(task)
        for room in building.rooms:
            self._advance(room)

    def day_index(self, slot: int) -> int:
        """Number of the working day on which this slot lies."""
        return max(0, bisect_left(self.starts, slot + 1) - 1)

    def _note(self, task: Task) -> None:
        self.placed[task.room, task.kind] = task
        floor = self.rooms[task.room].floor
        day = self.days[self.day_index(task.start)]
        for name in task.crews:
            if (name, day) in self.crew_day:
                self.crew_day[name, day].add(task.start, task.end, floor)
        if task.kind is Kind.BLOCK:
            self.kit_events.append((task.start + self.building.work.brace_at, 1))
        elif task.kind is Kind.TEST:
            self.kit_events.append((task.end, -1))
        elif task.kind is Kind.LOOK and task.room == self.building.first:
            self.signed_off, self.gate = True, task.end

    def _advance(self, room: PlanRoom) -> None:
        """Put the room's next step among what waits, with the slot from which it may start."""
        before: Task | None = None
        for kind in self.building.steps(room):
            task = self.placed.get((room.id, kind))
            if task is None:
                self.waiting[kind][room.id] = self._from(room, kind, before)
                return
            before = task

    def _from(self, room: PlanRoom, kind: Kind, before: Task | None) -> int:
        if before is None:
            return room.ready
        if kind is Kind.RETEST:
            return max(before.end + room.repair_cure, room.retest or 0)
        if kind is Kind.LOOK:
            index = self.day_index(before.start) + 1
            return self.starts[index] if index < len(self.starts) else NEVER
        return before.end + room.wait(kind)

    def put(self, room: str, kind: Kind, crews: Sequence[str], start: int) -> None:
        """Place a step and let the room go on."""
        length = self.building.length(self.rooms[room], kind)
        who, free = None, {}
        if kind is Kind.LOOK and self.looks.needed:
            who = self.looks.at(start)
            free = {slot: self.looks.free.get(slot, []) for slot in range(start - length + 1, start + length)}
            self.looks.take(start, who or "")
        self.log.append((room, kind, self.waiting[kind].pop(room), free))
        self._note(Task(room, kind, tuple(crews), start, start + length, who))
        self._advance(self.rooms[room])

    def undo(self, mark: int) -> None:
        """Take back what was placed since the log had `mark` entries, the last first."""
        while len(self.log) > mark:
            room, kind, earliest, free = self.log.pop()
            task = self.placed.pop((room, kind))
            day = self.days[self.day_index(task.start)]
            for crew in task.crews:
                self.crew_day[crew, day].busy.remove((task.start, task.end, self.rooms[room].floor))
            if kind is Kind.BLOCK:
                self.kit_events.remove((task.start + self.building.work.brace_at, 1))
            elif kind is Kind.TEST:
                self.kit_events.remove((task.end, -1))
            elif room == self.building.first and kind is Kind.LOOK:
                self.signed_off, self.gate = False, 0
            self.looks.free.update(free)
            steps = self.building.steps(self.rooms[room])
            for later in steps[steps.index(kind) + 1 :]:
                self.waiting[later].pop(room, None)
            self.waiting[kind][room] = earliest

    def close(self, slot: int) -> None:
        """Everything before this slot is settled: count its kits once and for all."""
        self.kits_before += sum(change for at, change in self.kit_events if at < slot)
        self.kit_events = [event for event in self.kit_events if event[0] >= slot]
        self.log.clear()

    def kit_from(self, slot: int) -> int:
        """Earliest slot from which on a kit is free for good, as far as tests are placed; NEVER where there is none."""
        total = self.kits_before
        events = sorted(self.kit_events)
        free_from = NEVER if total >= self.building.kits else 0
        for at, change in events:
            total += change
            if total >= self.building.kits:
                free_from = NEVER
            elif free_from == NEVER:
                free_from = at
        return max(slot, free_from)

    def kits_taken(self) -> int:
        """Kits in use after all that is placed."""
        return self.kits_before + sum(change for _, change in self.kit_events)

    def left(self, but: str | None = None) -> Open:
        """What is still to be done, counted; `but` for one room. Water tests to be done again are not counted."""
        rooms, waiting = self.rooms, self.waiting
        fix: dict[int, list[int]] = defaultdict(list)
        for name, slot in waiting[Kind.SURVEY].items():
            if name != but:
                fix[rooms[name].correction].append(slot)
        surveys = {size: tuple(sorted(slots)) for size, slots in fix.items()}
        sizes = Counter(rooms[name].correction for name in waiting[Kind.CORRECTION] if name != but)
        return Open(
            plain=surveys.pop(0, ()),
            fix=surveys,
            corrections=dict(sizes),
            blocks=sum(name != but for name in waiting[Kind.BLOCK]),
            tests=tuple(sorted(slot for name, slot in waiting[Kind.TEST].items() if name != but)),
            looks=tuple(sorted(slot for name, slot in waiting[Kind.LOOK].items() if name != but)),
            kits=max(0, self.building.kits - self.kits_taken() + (but in waiting[Kind.TEST])),
        )

    def candidates(self, kind: Kind, until: int, most: int) -> list[tuple[str, int]]:
        """(room, earliest) of what may start before `until`, by rank."""
        if kind is Kind.BLOCK and not self.signed_off:
            return []
        ready = [(room, max(at, self.gate if kind is Kind.BLOCK else 0)) for room, at in self.waiting[kind].items()]
        ready = [pair for pair in ready if pair[1] < until]
        ready.sort(key=lambda pair: self.order[pair[0]])
        return ready[:most]

    def place(
        self,
        kind: Kind,
        day: int,
        crews: Iterable[CrewDay],
        latest: int = NEVER,
        most: int = 8,
        wait: int = 4,
        soonest: int = 0,
        only: int | None = None,
    ) -> Task | None:
        """Place one step of this kind on this day, from `soonest` to `latest`: soonest, then fewest ways, then rank.

        only : steps of this length alone
        A rank or a change of floor may cost up to `wait` slots of clock before a sooner start is preferred.
        """
        shifts = list(crews)
        if not shifts:
            return None
        until = max(one.shift.end for one in shifts)
        best: tuple[float, str, str, int] | None = None
        kit = self.kit_from(0) - self.building.work.brace_at if kind is Kind.BLOCK else 0
        for rank, (room, earliest) in enumerate(self.candidates(kind, until, most if only is None else 4 * most)):
            it = self.rooms[room]
            length = self.building.length(it, kind)
            if only is not None and length != only:
                continue
            for one in shifts:
                if kind is Kind.CORRECTION and not it.skills <= self.skills[one.crew]:
                    continue
                found = self.find(one, kind, max(earliest, kit, soonest), length, it.floor, latest)
                if found is None:
                    continue
                start, ways = found
                cost = start + wait * ways + 0.3 * rank
                if best is None or cost < best[0]:
                    best = (cost, room, one.crew, start)
        if best is None:
            return None
        _, room, name, start = best
        self.put(room, kind, (name,), start)
        return self.placed[room, kind]

    def find(
        self, one: CrewDay, kind: Kind, earliest: int, length: int, floor: int, latest: int
    ) -> tuple[int, int] | None:
        """Earliest place on this crew's day at which, for a second look, an inspector is free too."""
        found = one.find(earliest, length, floor, latest)
        if kind is not Kind.LOOK or not self.looks.needed:
            return found
        while found is not None and self.looks.at(found[0]) is None:
            found = one.find(found[0] + 1, length, floor, latest)
        return found

    def first_block(self, day: int) -> None:
        """Set the first unit with every crew, as soon as its pocket is ready and all are free at once."""
        name = self.building.first
        here = self.crew_days[day]
        if name is None or name not in self.waiting[Kind.BLOCK] or len(here) < len(self.building.crews):
            return
        room = self.rooms[name]
        length = self.building.work.block
        start = max([self.waiting[Kind.BLOCK][name], *(one.shift.start for one in here)])
        while start + length <= min(one.shift.end for one in here):
            found = [one.find(start, length, room.floor) for one in here]
            if any(place is None for place in found):
                return
            latest = max(place[0] for place in found if place is not None)
            if latest == start:
                self.put(name, Kind.BLOCK, [one.crew for one in here], start)
                return
            start = latest

    def done(self) -> bool:
        """Is every step placed."""
        return not any(self.waiting.values())

    def plan(self) -> Plan:
        """All that is placed, by start, then room."""
        return Plan(tuple(sorted(self.placed.values(), key=lambda task: (task.start, task.room, task.kind))))


def by_due(building: Building) -> list[PlanRoom]:
    """Rooms by due date, those without one last, then ready date, then as listed; the first unit before all."""
    return sorted(building.rooms, key=lambda room: (room.id != building.first, room.due or NEVER, room.ready))
