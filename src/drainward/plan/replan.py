"""After a slip: `replan` keeps what is done, moves as little as it can (`mend`) and says what cannot be kept.

Slip, FailedTest, LostKits, NewDue   what can happen
Replanned                            the new plan, what moved, which dates are missed
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from drainward.plan.checker import broken, kits_in_use, measure
from drainward.plan.clock import local
from drainward.plan.mend import Move, mend, moves_between, without_kit
from drainward.plan.model import Building, Kind, Measures, Plan

__all__ = ["Event", "FailedTest", "LostKits", "NewDue", "Replanned", "Slip", "replan"]


@dataclass(frozen=True, slots=True)
class Slip:
    """A room is ready later than was said: not before this slot."""

    room: str
    ready: int


@dataclass(frozen=True, slots=True)
class FailedTest:
    """A water test failed; it may be done again from this slot, after the repair where the room tells its hours."""

    room: str
    again_from: int


@dataclass(frozen=True, slots=True)
class LostKits:
    """So many brace kits fewer, from now on."""

    number: int = 1


@dataclass(frozen=True, slots=True)
class NewDue:
    """A room's second look should be over by this slot."""

    room: str
    due: int


Event = Slip | FailedTest | LostKits | NewDue


@dataclass(frozen=True, slots=True)
class Replanned:
    """The new plan, for the building as it now is, and what moved; `says`: what cannot be kept, one sentence each."""

    building: Building
    plan: Plan
    moves: tuple[Move, ...]
    measures: Measures
    before: Measures
    says: tuple[str, ...] = ()

    @property
    def moved_rooms(self) -> frozenset[str]:
        """Rooms of which at least one step moved."""
        return frozenset(move.room for move in self.moves)

    def as_json(self) -> dict[str, Any]:
        """Moves in the building's local time."""
        return {
            "moves": [
                {
                    "room": move.room,
                    "kind": move.kind.value,
                    "was": None if move.was is None else local(self.building, move.was).isoformat(),
                    "now": local(self.building, move.now).isoformat(),
                    "why": move.why,
                }
                for move in self.moves
            ],
            "measures": self.measures.as_json(),
            "before": self.before.as_json(),
            "says": list(self.says),
        }


def replan(building: Building, plan: Plan, now: int, events: Sequence[Event], seconds: float = 4.0) -> Replanned:
    """The plan from slot `now` on after these events; ValueError where no place is left within the crews' shifts."""
    changed, why = _strike(building, events)
    done = {(t.room, t.kind) for t in plan.tasks if t.start < now}
    why |= without_kit(changed, plan, now, why)
    result = plan
    if why:
        dated = [event.room for event in events if not isinstance(event, LostKits)]
        result, why = mend(changed, plan, now, why, done, seconds, dated)
    wrong = broken(changed, result, now)
    if wrong:
        raise ValueError("the plan cannot be mended: " + "; ".join(wrong))
    moves = moves_between(plan, result, why)
    says = (*_missed(building, plan, changed, result), *_unbraced(changed, result, now))
    return Replanned(changed, result, moves, measure(changed, result), measure(building, plan), says)


def _missed(was: Building, before: Plan, building: Building, plan: Plan) -> list[str]:
    """Dates that this plan misses and the one before kept, and new dates that are missed."""
    old = {room.id: room.due for room in was.rooms}
    looks = {t.room: t.end for t in before.tasks if t.kind is Kind.LOOK}
    due = {room.id: room.due for room in building.rooms}
    says = []
    for task in plan.tasks:
        limit, first = due[task.room], old[task.room]
        if task.kind is not Kind.LOOK or limit is None or task.end <= limit:
            continue
        if limit != first or looks[task.room] <= limit:
            end, wanted = local(building, task.end), local(building, limit)
            says.append(f"{task.room}: due {wanted:%Y-%m-%d %H:%M}, its second look is over {end:%Y-%m-%d %H:%M}")
    return says


def _unbraced(building: Building, plan: Plan, now: int) -> list[str]:
    """Units that are being set while there are too few kits to brace them all."""
    used = dict(kits_in_use(building, plan))
    braced: dict[int, list[str]] = defaultdict(list)
    for task in plan.tasks:
        if task.kind is Kind.BLOCK and task.start < now <= task.start + building.work.brace_at:
            braced[task.start + building.work.brace_at].append(task.room)
    return [
        f"{', '.join(rooms)}: being set, and {used[at] - building.kits} sets of braces too few"
        for at, rooms in braced.items()
        if used[at] > building.kits
    ]


def _strike(building: Building, events: Sequence[Event]) -> tuple[Building, dict[str, str]]:
    """The building after the events, and the rooms struck with why."""
    rooms = {room.id: room for room in building.rooms}
    kits = building.kits
    why: dict[str, str] = {}
    for event in events:
        if isinstance(event, LostKits):
            kits -= event.number
            continue
        room = rooms[event.room]
        if isinstance(event, Slip):
            rooms[room.id], why[room.id] = replace(room, ready=max(room.ready, event.ready)), "ready later"
        elif isinstance(event, NewDue):
            rooms[room.id], why[room.id] = replace(room, due=event.due), "due date changed"
        else:
            why[room.id] = "water test failed"
            rooms[room.id] = replace(room, retest=event.again_from)
    return replace(building, rooms=tuple(rooms[room.id] for room in building.rooms), kits=kits), why
