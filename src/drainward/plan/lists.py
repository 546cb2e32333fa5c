"""Plans by simple rules, at once: `dispatch` fills one day after another, `serial` places one room after another.

Both are what a careful foreman does by hand; a solved plan has to be at least as good as either.
"""

from __future__ import annotations

import numpy as np

from drainward.plan.model import Building, Kind, Plan, Task
from drainward.plan.state import NEVER, State, by_due
from drainward.plan.timeline import CrewDay

__all__ = ["dispatch", "serial"]

SEQUENCE = (Kind.LOOK, Kind.REPAIR, Kind.RETEST, Kind.TEST, Kind.BLOCK, Kind.CORRECTION, Kind.SURVEY)


def dispatch(building: Building, fixed: tuple[Task, ...] = (), start_day: int = 0) -> Plan:
    """Day by day: second looks, tests, blocks, corrections, surveys, each by due date where a crew is free soonest."""
    state = State(building, fixed)
    for day in state.days:
        if day < start_day:
            continue
        if state.done():
            break
        state.close(min(one.shift.start for one in state.crew_days[day]))
        for kind in (Kind.SURVEY, Kind.CORRECTION):
            first_room(state, kind, day)
        state.first_block(day)
        for kind in SEQUENCE:
            while state.place(kind, day, state.crew_days[day]):
                pass
    return state.plan()


def first_room(state: State, kind: Kind, day: int) -> None:
    """The first unit's survey, correction or second look goes before all else, on the crew that is free soonest."""
    name = state.building.first
    if name is None or name not in state.waiting[kind]:
        return
    room = state.rooms[name]
    crews = [
        one for one in state.crew_days[day] if kind is not Kind.CORRECTION or room.skills <= state.skills[one.crew]
    ]
    earliest, length = state.waiting[kind][name], state.building.length(room, kind)
    found = [(state.find(one, kind, earliest, length, room.floor, NEVER), one) for one in crews]
    # whoever is trained for most has most to do that others cannot
    places = [(place[0], len(state.skills[one.crew]), one.crew) for place, one in found if place is not None]
    if places:
        start, _, crew = min(places)
        state.put(name, kind, (crew,), start)


def serial(building: Building, fixed: tuple[Task, ...] = (), since: int = 0) -> Plan:
    """Room by room in order of due dates, every step as soon as crew, kit and inspector allow.

    fixed : steps that stay where they are;  since : slot before which nothing else starts
    """
    state = State(building, fixed)
    horizon = max(one.shift.end for days in state.crew_days.values() for one in days) + 1
    in_use = np.zeros(horizon, dtype=np.int32)
    held = {(task.room, task.kind): task for task in fixed}
    for (name, kind), task in held.items():
        if kind is Kind.BLOCK and (name, Kind.TEST) in held:
            in_use[task.start + building.work.brace_at : held[name, Kind.TEST].end] += 1
    # whoever holds a kit already gives it back before another one is taken
    braced = {name for name, kind in held if kind is Kind.BLOCK and (name, Kind.TEST) not in held}
    for room in sorted(by_due(building), key=lambda room: room.id not in braced):
        for kind in building.steps(room):
            if (room.id, kind) in state.placed:
                continue
            earliest = max(since, state.waiting[kind][room.id], state.gate if kind is Kind.BLOCK else 0)
            if kind is Kind.BLOCK:
                crews, start = _block(state, in_use, room.id, earliest)
            else:
                crews, start = _soonest(state, room.id, kind, earliest)
            if start == NEVER:
                return state.plan()
            state.put(room.id, kind, crews, start)
        block, test = state.placed[room.id, Kind.BLOCK], state.placed[room.id, Kind.TEST]
        if (room.id, Kind.BLOCK) in held and (room.id, Kind.TEST) in held:
            continue
        in_use[block.start + building.work.brace_at : test.end] += 1
    return state.plan()


def _days(state: State, earliest: int) -> list[list[CrewDay]]:
    return [state.crew_days[day] for day in state.days[state.day_index(earliest) :]]


def _soonest(state: State, name: str, kind: Kind, earliest: int) -> tuple[tuple[str, ...], int]:
    room, building = state.rooms[name], state.building
    length = building.length(room, kind)
    for here in _days(state, earliest):
        found = []
        for one in here:
            if kind is Kind.CORRECTION and not room.skills <= state.skills[one.crew]:
                continue
            place = state.find(one, kind, earliest, length, room.floor, NEVER)
            if place is not None:
                found.append((place[0], place[1], one.crew))
        if found:
            start, _, crew = min(found)
            return (crew,), start
    return (), NEVER


def _block(state: State, in_use: np.ndarray, name: str, earliest: int) -> tuple[tuple[str, ...], int]:
    """The soonest block after which a kit is free until the room's own test is over."""
    room, work = state.rooms[name], state.building.work
    start = earliest
    while start < NEVER:
        if name == state.building.first:
            for day in state.days[state.day_index(start) :]:
                state.first_block(day)
                if (name, Kind.BLOCK) in state.placed:
                    task = state.placed[name, Kind.BLOCK]
                    state.undo(len(state.log) - 1)
                    return task.crews, task.start
        crews, start = _soonest(state, name, Kind.BLOCK, start)
        if start == NEVER:
            break
        _, test = _soonest(state, name, Kind.TEST, start + work.block + room.cure)
        if test == NEVER:
            break
        held = in_use[start + work.brace_at : test + work.test]
        full = np.flatnonzero(held >= state.building.kits)
        if full.size == 0:
            return crews, start
        start = start + int(full[-1]) + 1
    return (), NEVER
