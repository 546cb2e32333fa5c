"""One working day by constraint programming (OR-Tools CP-SAT): `best_day`, which waiting steps, by whom and when.

Crews, breaks, ways between floors, kits and inspectors are in it. Each step may be left for another day, so that there
is always an answer; what each is worth, and how many of a kind, is said by who asks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Any

from ortools.sat.python import cp_model

from drainward.plan.model import Kind, Task
from drainward.plan.state import State

__all__ = ["best_day"]

Key = tuple[str, Kind]
SCALE = 100
"""Worths are counted in whole numbers, this many to one."""


def best_day(
    state: State,
    day: int,
    worth: Mapping[Key, float],
    most: Sequence[tuple[Sequence[Key], int]],
    hint: Mapping[Key, Task],
    seconds: float,
) -> list[Task]:
    """The steps of this day that are worth most together, by start.

    worth : of each step that may be placed;  most : no more than so many of these steps
    hint : a day to begin with;  seconds : of the processor, of one worker: the same answer each time, nearly
    """
    model = _Day(state, day, worth, most, hint)
    return model.solve(seconds)


class _Day:
    def __init__(
        self,
        state: State,
        day: int,
        worth: Mapping[Key, float],
        most: Sequence[tuple[Sequence[Key], int]],
        hint: Mapping[Key, Task],
    ) -> None:
        self.state, self.crews, self.hint = state, state.crew_days[day], hint
        self.model = cp_model.CpModel()
        self.keys = sorted(worth, key=lambda key: (key[1], state.order[key[0]]))
        self.begin = min(one.shift.start for one in self.crews)
        self.end = max(one.shift.end for one in self.crews)
        self.start: dict[Key, Any] = {}
        self.there: dict[Key, Any] = {}
        self.on: dict[tuple[Key, str], Any] = {}
        self.busy: dict[str, list[Any]] = {one.crew: [] for one in self.crews}
        for key in self.keys:
            self._step(key)
        self._shifts()
        self._ways()
        self._kits()
        self._inspectors()
        for keys, number in most:
            self.model.add(sum(self.there[key] for key in keys) <= number)
        self.model.maximize(
            sum(round(SCALE * each) * self.there[key] for key, each in worth.items())
            - sum(self.start[key] - self.begin for key in self.keys if key[1] is Kind.BLOCK)
        )

    def length(self, key: Key) -> int:
        """Slots of a step."""
        return self.state.building.length(self.state.rooms[key[0]], key[1])

    def _step(self, key: Key) -> None:
        model, length, room = self.model, self.length(key), self.state.rooms[key[0]]
        earliest = max(self.begin, self.state.waiting[key[1]][key[0]])
        if key[1] is Kind.BLOCK:
            earliest = max(earliest, self.state.gate)
        start = model.new_int_var(min(earliest, self.end), self.end, "start")
        there = model.new_bool_var("there")
        chosen = []
        for one in self.crews:
            if key[1] is Kind.CORRECTION and not room.skills <= self.state.skills[one.crew]:
                continue
            low, high = max(one.shift.start, earliest), one.shift.end - length
            if low > high:
                continue
            on = model.new_bool_var(one.crew)
            model.add_linear_constraint(start, low, high).only_enforce_if(on)
            self.busy[one.crew].append(model.new_optional_fixed_size_interval_var(start, length, on, "step"))
            self.on[key, one.crew] = on
            chosen.append(on)
            model.add_hint(on, key in self.hint and one.crew in self.hint[key].crews)
        model.add(sum(chosen) == there)
        model.add_hint(there, key in self.hint)
        model.add_hint(start, self.hint[key].start if key in self.hint else min(earliest, self.end))
        self.start[key], self.there[key] = start, there

    def _shifts(self) -> None:
        model = self.model
        for one in self.crews:
            shift = one.shift
            eat = model.new_int_var(shift.lunch_from, shift.lunch_to - one.lunch, "lunch")
            self.busy[one.crew].append(model.new_fixed_size_interval_var(eat, one.lunch, "lunch"))
            for start, end, _ in one.busy:
                self.busy[one.crew].append(model.new_fixed_size_interval_var(start, end - start, "placed"))
            model.add_no_overlap(self.busy[one.crew])

    def _ways(self) -> None:
        model, travel, rooms = self.model, self.state.building.travel, self.state.rooms
        for one in self.crews:
            mine = [key for key in self.keys if (key, one.crew) in self.on]
            for a, b in combinations(mine, 2):
                if rooms[a[0]].floor == rooms[b[0]].floor:
                    continue
                both = (self.on[a, one.crew], self.on[b, one.crew])
                first = model.new_bool_var("first")
                model.add(self.start[a] + self.length(a) + travel <= self.start[b]).only_enforce_if(*both, first)
                model.add(self.start[b] + self.length(b) + travel <= self.start[a]).only_enforce_if(*both, ~first)
            for start, end, floor in one.busy:
                for key in mine:
                    if rooms[key[0]].floor != floor:
                        barred = cp_model.Domain(start - travel - self.length(key) + 1, end + travel - 1)
                        away = model.add_linear_expression_in_domain(self.start[key], barred.complement())
                        away.only_enforce_if(self.on[key, one.crew])

    def _kits(self) -> None:
        """Kits that are out come back with their tests; those taken today stay out."""
        model, state = self.model, self.state
        work, over = state.building.work, self.end + 1
        out, held = state.kits_taken(), []
        for key in self.keys:
            if key[1] is Kind.TEST:
                back = model.new_int_var(self.begin, over, "back")
                model.add(back == self.start[key] + work.test).only_enforce_if(self.there[key])
                model.add(back == over).only_enforce_if(~self.there[key])
                held.append(model.new_interval_var(self.begin, model.new_int_var(0, over, "held"), back, "kit"))
                out -= 1
            elif key[1] is Kind.BLOCK:
                taken = self.start[key] + work.brace_at
                size = model.new_int_var(0, over, "held")
                held.append(model.new_optional_interval_var(taken, size, over, self.there[key], "kit"))
        if any(key[1] is Kind.BLOCK for key in self.keys):
            model.add_cumulative(held, [1] * len(held), max(0, state.building.kits - max(0, out)))

    def _inspectors(self) -> None:
        model, looks = self.model, self.state.looks
        if not looks.needed:
            return
        slots = [slot for slot in range(self.begin, self.end) if looks.free.get(slot)]
        mine = [key for key in self.keys if key[1] is Kind.LOOK]
        length = self.state.building.work.look
        seen = [
            model.new_optional_fixed_size_interval_var(self.start[key], length, self.there[key], "look") for key in mine
        ]
        for key in mine:
            domain = cp_model.Domain.from_values(slots) if slots else cp_model.Domain(self.end, self.end)
            model.add_linear_expression_in_domain(self.start[key], domain).only_enforce_if(self.there[key])
        if mine:
            # one inspector at a time is asked for, though there may be two
            model.add_no_overlap(seen)

    def solve(self, seconds: float) -> list[Task]:
        """The best found in time."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        solver.parameters.cp_model_probing_level = 0
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return []
        found = []
        for key in self.keys:
            if solver.value(self.there[key]):
                start = int(solver.value(self.start[key]))
                crews = tuple(
                    c.crew for c in self.crews if (key, c.crew) in self.on and solver.value(self.on[key, c.crew])
                )
                found.append(Task(key[0], key[1], crews, start, start + self.length(key)))
        return sorted(found, key=lambda task: task.start)
