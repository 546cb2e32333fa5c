"""After a slip: `replan` keeps what is done and moves as little as it can; `settle` puts struck rooms anywhere else.

All that has started stays. The rooms that were struck, and those whose kit is gone, are put into what the others leave
free; first one after another, then by CP-SAT within the days that this took. Moving a start in the next two
days weighs five times another's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from drainward.plan.checker import broken, kits_in_use, measure
from drainward.plan.clock import local
from drainward.plan.lists import serial
from drainward.plan.model import Building, Kind, Measures, Plan
from drainward.plan.window import Aim, Window

__all__ = [
    "Event",
    "FailedTest",
    "LostKits",
    "Move",
    "NewDue",
    "Replanned",
    "Slip",
    "moves_between",
    "replan",
    "settle",
    "without_kit",
]

SOON = 2 * 96
"""Slots of the next two days."""
NO_KIT = "no kit left"
WAY = "makes way for"
FEW = 6
"""Rooms up to which CP-SAT looks for the least that has to move; more are placed one after another."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A room is ready later than was said: not before this slot."""

    room: str
    ready: int


@dataclass(frozen=True, slots=True)
class FailedTest:
    """A water test failed; it may be done again from this slot. The hours of the repair itself are not planned."""

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
class Move:
    """A step that is elsewhere than it was, or new (`was` None), and why."""

    room: str
    kind: Kind
    was: int | None
    now: int
    why: str


@dataclass(frozen=True, slots=True)
class Replanned:
    """The new plan, for the building as it now is, and what moved."""

    building: Building
    plan: Plan
    moves: tuple[Move, ...]
    measures: Measures
    before: Measures

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
        }


def replan(building: Building, plan: Plan, now: int, events: Sequence[Event], seconds: float = 4.0) -> Replanned:
    """The plan from slot `now` on after these events; ValueError where no place is left within the crews' shifts."""
    changed, why = _strike(building, events)
    done = {(t.room, t.kind) for t in plan.tasks if t.start < now}
    why |= without_kit(changed, plan, now, set(why))
    why |= {room: text for room, text in _early_others(changed, plan, now, events).items() if room not in why}
    result = plan
    if why:
        result = settle(changed, plan, now, why, done, seconds)
    moves = moves_between(plan, result, why)
    return Replanned(changed, result, moves, measure(changed, result), measure(building, plan))


def moves_between(before: Plan, after: Plan, why: Mapping[str, str]) -> tuple[Move, ...]:
    """Steps that are elsewhere than they were, or new; why : by room."""
    was = {(t.room, t.kind): t for t in before.tasks}
    return tuple(
        Move(
            t.room,
            t.kind,
            was[t.room, t.kind].start if (t.room, t.kind) in was else None,
            t.start,
            why.get(t.room, "made room"),
        )
        for t in after.tasks
        if (t.room, t.kind) not in was or (t.start, t.crews) != (was[t.room, t.kind].start, was[t.room, t.kind].crews)
    )


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


def without_kit(building: Building, plan: Plan, now: int, struck: set[str]) -> dict[str, str]:
    """Rooms to take out until the kits at hand suffice: at each moment of want, the one braced last."""
    why: dict[str, str] = {}
    brace = {t.room: t for t in plan.tasks if t.kind is Kind.BLOCK}
    test = {t.room: t.end for t in plan.tasks if t.kind is Kind.TEST}
    left = list(plan.tasks)
    taken = {t.start + building.work.brace_at for t in brace.values()}
    while True:
        over = [
            at
            for at, number in kits_in_use(building, Plan(tuple(left)))
            if number > building.kits and at >= now and at in taken
        ]
        if not over:
            return why
        at = over[0]
        held = [
            r
            for r, t in brace.items()
            if t.start >= now and t.start + building.work.brace_at <= at < test[r] and r not in why and r not in struck
        ]
        if not held:
            return why
        room = max(held, key=lambda name: brace[name].start)
        why[room] = NO_KIT
        left = [t for t in left if t.room != room]


def _early_others(building: Building, plan: Plan, now: int, events: Sequence[Event]) -> dict[str, str]:
    """For a room that is due sooner: rooms planned before it that can wait longest, to change places with it."""
    why: dict[str, str] = {}
    look = {t.room: t for t in plan.tasks if t.kind is Kind.LOOK}
    block = {t.room: t.start for t in plan.tasks if t.kind is Kind.BLOCK}
    for event in events:
        if isinstance(event, NewDue) and look[event.room].end > event.due:
            spare = {r.id: (r.due or 1 << 40) - look[r.id].end for r in building.rooms}
            wait = [r for r in look if now <= block[r] and look[r].start <= event.due and r != event.room]
            why |= dict.fromkeys(sorted(wait, key=lambda r: -spare[r])[:3], f"{WAY} {event.room}")
    return why


def settle(
    building: Building, plan: Plan, now: int, why: dict[str, str], done: set[tuple[str, Kind]], seconds: float
) -> Plan:
    """The open steps of these rooms, put into what the rest leaves free."""
    rooms = set(why)
    open_steps = [(r.id, kind) for r in building.rooms if r.id in rooms for kind in building.steps(r)]
    waits = {Kind.SURVEY, Kind.CORRECTION}
    struck = {room for room, text in why.items() if text != NO_KIT and not text.startswith(WAY)}
    # who only gives up a kit or its turn keeps what comes before bracing where it was
    free = [key for key in open_steps if key not in done and not (key[0] not in struck and key[1] in waits)]
    weight = {(t.room, t.kind): (t.start, 5 if t.start < now + SOON else 1) for t in plan.tasks}
    found = serial(building, tuple(t for t in plan.tasks if (t.room, t.kind) not in set(free)), now)
    if broken(building, found, now):
        raise ValueError("no place is left for " + ", ".join(sorted(rooms)) + " within the crews' shifts")
    if len(rooms) > FEW:
        return found
    reach = max((t.end for t in found.tasks if (t.room, t.kind) in set(free)), default=now)
    aim = Aim(soon=False, late=2, finish_only=True, moves={key: weight[key] for key in free if key in weight})
    solved = Window(building, found, free, (now, reach), aim).solve(seconds)
    if solved.plan is not None and not broken(building, solved.plan, now):
        return solved.plan
    return found
