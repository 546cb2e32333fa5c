"""Clock times by constraint programming (OR-Tools CP-SAT) for some rooms while all else stays: `Window`, `improve`.

The full model: crews, breaks, ways between floors, kits, inspectors, the first unit. Small buildings are solved whole,
large ones a few rooms at a time, a replan what it frees.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from drainward.plan.model import Building, Kind, Plan, Task

__all__ = ["Aim", "Solved", "Window", "improve"]

Key = tuple[str, Kind]
NEXT_DAY = 45
"""Starts this many slots apart lie on different working days: shifts are shorter than this, nights longer."""


@dataclass(frozen=True, slots=True)
class Aim:
    """What is made small: weight of each start, of lateness, of a move from where `keep` has it, or the finish alone.

    moves : (room, step) -> (start, weight of moving it, weight of giving it to another crew is the same)
    """

    soon: bool = True
    finish_only: bool = False
    late: int = 20
    moves: Mapping[Key, tuple[int, int]] | None = None
    finish_at_least: int = 0


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan with the solver's word for it: optimal, feasible, infeasible, unknown; None where it found no plan."""

    plan: Plan | None
    status: str


class Window:
    """The model: `free` steps get variables, the steps of `plan` that are not free stay as they are."""

    def __init__(self, building: Building, plan: Plan, free: Collection[Key], span: tuple[int, int], aim: Aim) -> None:
        self.building, self.span, self.aim = building, span, aim
        self.rooms = {room.id: room for room in building.rooms}
        self.old = {(task.room, task.kind): task for task in plan.tasks}
        self.free = sorted(free, key=lambda key: (key[0], key[1].value))
        self.fixed = [task for key, task in self.old.items() if key not in set(free)]
        self.model = cp_model.CpModel()
        self.start: dict[Key, Any] = {}
        self.on: dict[tuple[Key, str], Any] = {}
        self.seen: dict[tuple[Key, str], Any] = {}
        self.shifts = {c.id: [s for s in c.shifts if s.end > span[0] and s.start < span[1]] for c in building.crews}
        self.busy: dict[str, list[Any]] = {crew.id: [] for crew in building.crews}
        self.may: dict[str, cp_model.Domain] = {crew.id: cp_model.Domain.from_intervals([]) for crew in building.crews}
        self.taken: dict[str, list[Task]] = {crew.id: [] for crew in building.crews}
        for task in self._near():
            for name in task.crews:
                self.taken[name].append(task)
        for key in self.free:
            self._step(key)
        self._order()
        self._crews()
        self._ways()
        self._kits()
        self._inspectors()
        self._aim()

    def length(self, key: Key) -> int:
        """Slots of a step."""
        return self.building.length(self.rooms[key[0]], key[1])

    def _step(self, key: Key) -> None:
        model, name, length = self.model, f"{key[0]} {key[1].value}", self.length(key)
        together = key == (self.building.first, Kind.BLOCK)
        able = [
            c for c in self.building.crews if key[1] is not Kind.CORRECTION or self.rooms[key[0]].skills <= c.skills
        ]
        domains = {c.id: self._places(key, c.id) for c in able}
        whole = cp_model.Domain.from_intervals([])
        for domain in domains.values():
            whole = whole.union_with(domain)
        start = model.new_int_var_from_domain(whole, name)
        self.start[key] = start
        chosen = []
        for crew in able:
            present = model.new_bool_var(f"{name} {crew.id}")
            self.on[key, crew.id] = present
            chosen.append(present)
            self.busy[crew.id].append(model.new_optional_fixed_size_interval_var(start, length, present, name))
            if len(able) > 1:
                model.add_linear_expression_in_domain(start, domains[crew.id]).only_enforce_if(present)
            if key in self.old:
                model.add_hint(present, crew.id in self.old[key].crews)
        if together:
            model.add_bool_and(chosen)
        else:
            model.add_exactly_one(chosen)
        if key in self.old:
            model.add_hint(start, self.old[key].start)

    def _places(self, key: Key, crew: str) -> cp_model.Domain:
        """Starts within the crew's shifts beside the steps that stay, ways between floors left."""
        length, floor, travel = self.length(key), self.rooms[key[0]].floor, self.building.travel
        low, high = self.span
        spans = [(max(s.start, low), min(s.end, high) - length) for s in self.shifts[crew]]
        barred = []
        for task in self.taken[crew]:
            way = travel if self.rooms[task.room].floor != floor else 0
            barred.append([task.start - way - length + 1, task.end + way - 1])
        free = cp_model.Domain.from_intervals([list(span) for span in spans if span[0] <= span[1]])
        if barred:
            free = free.intersection_with(cp_model.Domain.from_intervals(barred).complement())
        self.may[crew] = self.may[crew].union_with(free)
        return free

    def at(self, key: Key) -> Any:
        """Start of a step: a variable where it is free, a number where it stays."""
        return self.start[key] if key in self.start else self.old[key].start

    def _order(self) -> None:
        building, model = self.building, self.model
        for name in sorted({key[0] for key in self.free}):
            room = self.rooms[name]
            steps = building.steps(room)
            if (name, steps[0]) in self.start:
                model.add(self.start[name, steps[0]] >= room.ready)
            if (name, Kind.RETEST) in self.start:
                model.add(self.start[name, Kind.RETEST] >= (room.retest or 0))
            for one, other in pairwise(steps):
                gap = building.length(room, one) + room.wait(other)
                gap = NEXT_DAY if other is Kind.LOOK else gap
                if (name, one) in self.start or (name, other) in self.start:
                    model.add(self.at((name, other)) >= self.at((name, one)) + gap)
        if building.first is None:
            return
        gate = self.at((building.first, Kind.LOOK)) + building.work.look
        for key in self.free:
            if key[1] is Kind.BLOCK and key[0] != building.first:
                model.add(self.start[key] >= gate)

    def _near(self) -> list[Task]:
        return [task for task in self.fixed if task.end > self.span[0] - 2 and task.start < self.span[1] + 2]

    def _crews(self) -> None:
        """No crew at two places, and a break in each shift that a free step can come into."""
        model, building = self.model, self.building
        for crew in building.crews:
            for shift in self.shifts[crew.id]:
                if self.may[crew.id].intersection_with(cp_model.Domain(shift.start, shift.end)).is_empty():
                    continue
                eat = model.new_int_var(shift.lunch_from, shift.lunch_to - building.lunch, "lunch")
                self.busy[crew.id].append(model.new_fixed_size_interval_var(eat, building.lunch, "lunch"))
                for task in self.taken[crew.id]:
                    if task.start < shift.end and shift.start < task.end:
                        fixed = model.new_fixed_size_interval_var(task.start, task.end - task.start, "fixed")
                        self.busy[crew.id].append(fixed)
            model.add_no_overlap(self.busy[crew.id])

    def _ways(self) -> None:
        """Free steps of one crew on two floors: one after the other, with the way in between."""
        model, travel = self.model, self.building.travel
        if travel == 0:
            return
        floor = {name: room.floor for name, room in self.rooms.items()}
        for i, one in enumerate(self.free):
            for other in self.free[i + 1 :]:
                if floor[one[0]] == floor[other[0]] or one[0] == other[0]:
                    continue
                before = model.new_bool_var("before")
                for crew in self.building.crews:
                    both = [self.on[key, crew.id] for key in (one, other) if (key, crew.id) in self.on]
                    if len(both) == 2:
                        first = self.start[one] + self.length(one) + travel <= self.start[other]
                        then = self.start[other] + self.length(other) + travel <= self.start[one]
                        model.add(first).only_enforce_if([*both, before])
                        model.add(then).only_enforce_if([*both, before.negated()])

    def _kits(self) -> None:
        model, work = self.model, self.building.work
        held = []
        since: list[int] = []
        for name in self.rooms:
            block, test = (name, Kind.BLOCK), (name, Kind.TEST)
            if block in self.start or test in self.start:
                begin, end = self.at(block) + work.brace_at, self.at(test) + work.test
                size = model.new_int_var(0, self.span[1] + 10_000, "held")
                held.append(model.new_interval_var(begin, size, end, f"kit {name}"))
            elif block in self.old and test in self.old:
                begin, end = self.old[block].start + work.brace_at, self.old[test].end
                if self.old[block].start < self.span[0] < end:
                    since.append(end)
                elif end > self.span[0] and begin < self.span[1]:
                    held.append(model.new_fixed_size_interval_var(begin, end - begin, f"kit {name}"))
        # more may be in use than are left: those that come back first are not missed, nor can they be used
        last = sorted(since)[max(0, len(since) - self.building.kits) :]
        now = self.span[0]
        held += [model.new_fixed_size_interval_var(now, end - now, "held") for end in last]
        model.add_cumulative(held, [1] * len(held), self.building.kits)

    def _inspectors(self) -> None:
        model, length = self.model, self.building.work.look
        looks = [key for key in self.free if key[1] is Kind.LOOK]
        if not self.building.inspectors or not looks:
            return
        for who in self.building.inspectors:
            mine = [
                model.new_fixed_size_interval_var(task.start, length, "seen")
                for task in self._near()
                if task.inspector == who.id
            ]
            slots = cp_model.Domain.from_intervals([[a, b - length] for a, b in who.windows])
            for key in looks:
                seen = model.new_bool_var(f"{key[0]} {who.id}")
                self.seen[key, who.id] = seen
                model.add_linear_expression_in_domain(self.start[key], slots).only_enforce_if(seen)
                mine.append(model.new_optional_fixed_size_interval_var(self.start[key], length, seen, "look"))
                if key in self.old:
                    model.add_hint(seen, self.old[key].inspector == who.id)
            model.add_no_overlap(mine)
        for key in looks:
            model.add_exactly_one([self.seen[key, who.id] for who in self.building.inspectors])

    def _aim(self) -> None:
        model, aim = self.model, self.aim
        worth = {Kind.SURVEY: 0, Kind.BLOCK: 3}
        terms = [worth.get(key[1], 1) * self.start[key] for key in self.free] if aim.soon else []
        for key in self.free:
            due = self.rooms[key[0]].due
            if key[1] is Kind.LOOK and due is not None:
                late = model.new_int_var(0, self.span[1], "late")
                model.add(late >= self.start[key] + self.building.work.look - due)
                terms.append(aim.late * late)
            if aim.moves is not None and key in aim.moves:
                terms += self._moved(key, *aim.moves[key])
        if aim.finish_only:
            finish = model.new_int_var(aim.finish_at_least, self.span[1], "finish")
            for key in self.free:
                if key[1] is Kind.LOOK:
                    model.add(finish >= self.start[key] + self.building.work.look)
            terms.append(1000 * finish if aim.soon else finish)
        model.minimize(sum(terms))

    def _moved(self, key: Key, start: int, weight: int) -> list[Any]:
        """A step counts as moved when its start or its crew is another."""
        model = self.model
        kept = model.new_bool_var("kept")
        model.add(self.start[key] == start).only_enforce_if(kept)
        for crew in self.old[key].crews if key in self.old else ():
            if (key, crew) in self.on:
                model.add_implication(kept, self.on[key, crew])
        model.add_hint(kept, True)
        return [weight * (1 - kept)]

    def solve(self, seconds: float, workers: int = 2, seed: int = 0) -> Solved:
        """The best found in time."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = seed
        # probing takes seconds where most intervals are fixed, longer than the search itself
        solver.parameters.cp_model_probing_level = 0
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Solved(None, solver.status_name(status).lower())
        tasks = list(self.fixed)
        for key in self.free:
            start = int(solver.value(self.start[key]))
            crews = tuple(
                c.id for c in self.building.crews if (key, c.id) in self.on and solver.value(self.on[key, c.id])
            )
            who = next((n for (k, n), seen in self.seen.items() if k == key and solver.value(seen)), None)
            tasks.append(Task(key[0], key[1], crews, start, start + self.length(key), who))
        return Solved(
            Plan(tuple(sorted(tasks, key=lambda t: (t.start, t.room, t.kind)))), solver.status_name(status).lower()
        )


def improve(
    building: Building,
    plan: Plan,
    free: Collection[Key],
    span: tuple[int, int],
    aim: Aim,
    seconds: float,
    seed: int = 0,
) -> Solved:
    """Solve the window once."""
    return Window(building, plan, free, span, aim).solve(seconds, seed=seed)
