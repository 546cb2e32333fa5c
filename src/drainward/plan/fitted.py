"""One day filled by constraint programming (OR-Tools CP-SAT): `fit` places what the day's counts want, as far as it can.

Steps that differ in nothing but the room are one group, so there is no symmetry to search: a variable says that one of
the group starts with this crew at this slot. Breaks, ways, kits and inspectors are in the model; which room of a group
is next, the state's order says.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from drainward.plan.guide import Quota, Taste
from drainward.plan.halves import DayShape
from drainward.plan.model import Kind
from drainward.plan.state import State
from drainward.plan.timeline import CrewDay

__all__ = ["fit"]

KINDS = (Kind.BLOCK, Kind.TEST, Kind.RETEST, Kind.CORRECTION, Kind.LOOK, Kind.SURVEY)
SCALE = 100
BEYOND = 0.6
"""What a step beyond the day's count is worth, of its full worth."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Steps alike: rooms by rank, first slot, length."""

    kind: Kind
    floor: int
    length: int
    earliest: int
    skills: frozenset[str]


class _Day:
    """The model of one day."""

    def __init__(self, state: State, day: int, want: Quota, taste: Taste) -> None:
        self.state, self.want, self.taste = state, want, taste
        self.building, self.crews = state.building, state.crew_days[day]
        self.shape = DayShape(self.building, day)
        self.model = cp_model.CpModel()
        self.groups = self._groups()
        self.starts: dict[tuple[_Group, int, int], Any] = {}
        self.over: dict[tuple[int, int, int | None], list[Any]] = defaultdict(list)
        for k, one in enumerate(self.crews):
            self._break(k, one)
            for group in self.groups:
                self._starts(k, one, group)
        for group, rooms in self.groups.items():
            mine = [v for (g, _, _), v in self.starts.items() if g == group]
            if len(mine) > len(rooms):
                self.model.add(sum(mine) <= len(rooms))
        for k, one in enumerate(self.crews):
            self._one_at_a_time(k, one)
        self._kits()
        self._looks()
        self._aim()

    def _groups(self) -> dict[_Group, list[str]]:
        """What may start today, by rank."""
        state, want = self.state, self.want
        numbers = {
            Kind.BLOCK: sum(want.blocks) + 4,
            Kind.TEST: 4 * len(self.crews),
            Kind.RETEST: 4,
            Kind.CORRECTION: 3 * len(self.crews),
            Kind.LOOK: 8 * len(self.crews),
            Kind.SURVEY: want.surveys + 4,
        }
        groups: dict[_Group, list[str]] = defaultdict(list)
        for kind in KINDS:
            for name, slot in state.candidates(kind, self.shape.end, numbers[kind]):
                room = state.rooms[name]
                skills = room.skills if kind is Kind.CORRECTION else frozenset()
                length = self.building.length(room, kind)
                groups[_Group(kind, room.floor, length, max(slot, self.shape.start), skills)].append(name)
        return groups

    def _break(self, k: int, one: CrewDay) -> None:
        shift, lunch = one.shift, self.building.lunch
        eats = []
        for slot in range(shift.lunch_from, shift.lunch_to - lunch + 1):
            if all(slot + lunch <= a or b <= slot for a, b, _ in one.busy):
                eats.append(self.model.new_bool_var(""))
                for t in range(slot, slot + lunch):
                    self.over[k, t, None].append(eats[-1])
        self.model.add_exactly_one(eats)

    def _starts(self, k: int, one: CrewDay, group: _Group) -> None:
        if not group.skills <= self.state.skills[one.crew]:
            return
        travel = self.building.travel
        for slot in range(max(group.earliest, one.shift.start), one.shift.end - group.length + 1):
            end = slot + group.length
            ways = [(a, b, 0 if floor == group.floor else travel) for a, b, floor in one.busy]
            if any(slot < b + way and a < end + way for a, b, way in ways):
                continue
            if group.kind is Kind.LOOK and self.state.looks.needed and self.state.looks.at(slot) is None:
                continue
            start = self.model.new_bool_var("")
            self.starts[group, k, slot] = start
            for t in range(slot, end):
                self.over[k, t, group.floor].append(start)

    def _one_at_a_time(self, k: int, one: CrewDay) -> None:
        """One thing at each slot, and a way between floors."""
        floors = sorted({group.floor for group in self.groups})
        for t in range(one.shift.start, one.shift.end):
            here = {floor: self.over[k, t, floor] for floor in floors}
            self.model.add_at_most_one([*self.over[k, t, None], *(v for some in here.values() for v in some)])
            for d in range(1, self.building.travel + 1):
                for floor in floors:
                    others = [v for f in floors if f != floor for v in self.over[k, t + d, f]]
                    if here[floor] and others:
                        self.model.add_at_most_one([*here[floor], *others])

    def _kits(self) -> None:
        """At each slot at which one may be taken."""
        building, state = self.building, self.state
        takes, gives = defaultdict(list), defaultdict(list)
        for (group, _, slot), start in self.starts.items():
            if group.kind is Kind.BLOCK:
                takes[slot + building.work.brace_at].append(start)
            elif group.kind is Kind.TEST:
                gives[slot + group.length].append(start)
        for t in sorted(takes):
            # what is given back later on is out of count, so kits promised to later steps are never taken
            free = building.kits - state.kits_before - sum(max(0, c) if a > t else c for a, c in state.kit_events)
            taken = [v for at, some in takes.items() if at <= t for v in some]
            given = [v for at, some in gives.items() if at <= t for v in some]
            self.model.add(sum(taken) - sum(given) <= max(0, free))

    def _looks(self) -> None:
        if not self.state.looks.needed:
            return
        at = defaultdict(list)
        for (group, _, slot), start in self.starts.items():
            if group.kind is Kind.LOOK:
                for t in range(slot - group.length + 1, slot + group.length):
                    at[t].append(start)
        for t, some in at.items():
            free = len(self.state.looks.free.get(t, ()))
            if free:
                self.model.add(sum(some) <= free)

    def _aim(self) -> None:
        """What is wanted first; units and tests in their part of the day, sooner rather than later, by rank."""
        taste, want, model, shape = self.taste, self.want, self.model, self.shape
        terms: list[Any] = []
        rank = {name: r for r, name in enumerate(sorted(self.state.rooms, key=self.state.order.__getitem__))}
        wanted: dict[Any, list[Any]] = defaultdict(list)
        for (group, _, slot), start in self.starts.items():
            first = min(rank[name] for name in self.groups[group])
            terms.append((-(slot - shape.start) // 2 - min(60, first // 4) // 2) * start)
            if group.kind is Kind.BLOCK:
                wanted["block", sum(slot > last for last in shape.last)].append(start)
            elif group.kind is Kind.TEST:
                wanted["test", sum(slot + group.length > moment for moment in shape.moments)].append(start)
            wanted[group.kind, group.length if group.kind is Kind.CORRECTION else 0].append(start)
        limits: dict[Any, tuple[float, float, int]] = {}
        for part, number in enumerate(want.blocks):
            limits["block", part] = (0.15 * taste.block, 0.0, number)
        for moment, number in enumerate(want.tests):
            limits["test", moment] = (0.15 * taste.test, 0.0, number)
        for size, number in want.corrections.items():
            limits[Kind.CORRECTION, size] = (taste.correction * size, BEYOND * taste.correction * size, number)
        limits[Kind.BLOCK, 0] = (taste.block, 0.4 * taste.block, sum(want.blocks))
        limits[Kind.TEST, 0] = (taste.test, BEYOND * taste.test, sum(want.tests))
        limits[Kind.LOOK, 0] = (taste.look, BEYOND * taste.look, want.looks)
        limits[Kind.SURVEY, 0] = (taste.survey, BEYOND * taste.survey, want.surveys)
        limits[Kind.RETEST, 0] = (taste.test, taste.test, 0)
        for key, some in wanted.items():
            full, beyond, number = limits.get(key, (taste.correction * key[1], 0.0, 0) if key[1] else (0.0, 0.0, 0))
            if number:
                counted = model.new_int_var(0, number, "")
                model.add(counted <= sum(some))
                terms.append(int(SCALE * (full - beyond)) * counted)
            terms.append(int(SCALE * beyond) * sum(some))
        model.maximize(sum(terms))

    def solve(self, seconds: float, seed: int, hint: list[tuple[Kind, str, int, str]]) -> list[tuple[int, _Group, int]]:
        """(slot, group, crew's number), rising; empty where nothing was found in time."""
        for key in self._hinted(hint):
            self.model.add_hint(self.starts[key], True)
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = seed
        solver.parameters.relative_gap_limit = 0.002
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return []
        chosen = [key for key, start in self.starts.items() if solver.boolean_value(start)]
        return sorted(((slot, group, k) for group, k, slot in chosen), key=lambda one: (one[0], one[2]))

    def _hinted(self, hint: list[tuple[Kind, str, int, str]]) -> list[tuple[_Group, int, int]]:
        group_of = {(group.kind, name): group for group, rooms in self.groups.items() for name in rooms}
        number = {one.crew: k for k, one in enumerate(self.crews)}
        keys = [(group_of[kind, room], number[crew], slot) for kind, room, slot, crew in hint if (kind, room) in group_of]
        return [key for key in keys if key in self.starts]


def fit(state: State, day: int, want: Quota, taste: Taste, seconds: float, seed: int = 0, hint: Any = ()) -> bool:
    """Place the day's steps; False, and nothing placed, where no way was found in time."""
    model = _Day(state, day, want, taste)
    if not model.starts:
        return False
    chosen = model.solve(seconds, seed, list(hint))
    for slot, group, k in chosen:
        room = model.groups[group].pop(0)
        state.put(room, group.kind, (model.crews[k].crew,), slot)
    return bool(chosen)
