"""A plan mended: `mend` puts struck rooms elsewhere and moves as little as it can; `Move` is what moved.

Move            a step that is elsewhere than it was, and why
moves_between   all of them, of two plans
without_kit     the fewest rooms that have to wait where there are too few kits
mend            struck rooms put into what the others leave free, others asked to wait where a date is missed

All that has started stays. Struck rooms are placed one after another first, then by CP-SAT within the days that this
took, some rooms at a time. Moving a start in the next two days weighs five times another's.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from drainward.plan.checker import broken, kits_in_use, measure
from drainward.plan.lists import serial
from drainward.plan.model import Building, Kind, Plan
from drainward.plan.window import Aim, Window

__all__ = ["NO_KIT", "Move", "mend", "moves_between", "without_kit"]

SOON = 2 * 96
"""Slots of the next two days."""
NO_KIT = "no kit left"
WAY = "makes way for"
AT_ONCE = 12
"""Rooms for which CP-SAT looks together for the least that has to move."""
OTHERS = (1, 3, 6, 12)
"""Rooms asked to wait, one try after another, where a room would miss its date."""

Key = tuple[str, Kind]


@dataclass(frozen=True, slots=True)
class Move:
    """A step that is elsewhere than it was, or new (`was` None), and why."""

    room: str
    kind: Kind
    was: int | None
    now: int
    why: str


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


def without_kit(building: Building, plan: Plan, now: int, struck: Collection[str]) -> dict[str, str]:
    """The fewest rooms to take out so that the kits at hand suffice for the rest; `struck` ones are out already.

    At each moment of want the one that would give its kit back last: no smaller number will do, for kits are held over
    stretches of time. A unit that is being set stays, though no kit be left for it.
    """
    brace = {t.room: t for t in plan.tasks if t.kind is Kind.BLOCK}
    test = {t.room: t.end for t in plan.tasks if t.kind is Kind.TEST}
    begins = {t.start + building.work.brace_at for t in brace.values()}
    out = {room for room in struck if room in brace and brace[room].start >= now}
    due = {room.id: room.due or 1 << 40 for room in building.rooms}
    why: dict[str, str] = {}
    moments = [at for at, _ in kits_in_use(building, plan) if at >= now and at in begins]
    held: list[str] = []
    waiting = sorted(brace, key=lambda room: brace[room].start, reverse=True)
    for at in moments:
        held = [room for room in held if test.get(room, at + 1) > at and room not in out]
        while waiting and brace[waiting[-1]].start + building.work.brace_at <= at:
            room = waiting.pop()
            if room not in out and test.get(room, at + 1) > at:
                held.append(room)
        while len(held) > building.kits:
            may = [room for room in held if brace[room].start >= now]
            if not may:
                break
            last = max(may, key=lambda name: (test.get(name, at + 1), due[name], brace[name].start))
            held.remove(last)
            why[last] = NO_KIT
    return why


def mend(
    building: Building,
    plan: Plan,
    now: int,
    why: Mapping[str, str],
    done: Collection[Key],
    seconds: float,
    dated: Collection[str] = (),
) -> tuple[Plan, dict[str, str]]:
    """The plan with the open steps of these rooms elsewhere, and which rooms had to move why.

    why : struck rooms;  done : steps that stay;  dated : rooms for whose due dates others are asked to wait
    Raises ValueError where no place is left within the crews' shifts.
    """
    until = time.monotonic() + seconds
    dues = {room.id: room.due for room in building.rooms if room.id in set(dated) and room.due is not None}
    best, said = _settle(building, plan, now, why, done, 0.5 * seconds if dues else seconds), dict(why)
    for number in OTHERS:
        missed = {t.room for t in best.tasks if t.kind is Kind.LOOK and t.end > dues.get(t.room, t.end)}
        if not missed or time.monotonic() >= until:
            break
        wider = {**_others(building, plan, now, {room: dues[room] for room in missed}, number), **why}
        try:
            tried = _settle(building, plan, now, wider, done, 0.5 * (until - time.monotonic()))
        except ValueError:
            continue
        if _missed(building, plan, tried, dues) < _missed(building, plan, best, dues):
            best, said = tried, wider
    return best, said


def _missed(building: Building, before: Plan, plan: Plan, dues: Mapping[str, int]) -> tuple[int, int, int]:
    """Slots over these dates, over all dates, then rooms moved: smaller is better."""
    over = sum(max(0, t.end - dues[t.room]) for t in plan.tasks if t.kind is Kind.LOOK and t.room in dues)
    return over, measure(building, plan).late_slots, len({move.room for move in moves_between(before, plan, {})})


def _others(building: Building, plan: Plan, now: int, dues: Mapping[str, int], number: int) -> dict[str, str]:
    """For each room that would miss its date: rooms planned before it that are least late in its place."""
    why: dict[str, str] = {}
    look = {t.room: t for t in plan.tasks if t.kind is Kind.LOOK}
    block = {t.room: t.start for t in plan.tasks if t.kind is Kind.BLOCK}
    spare = {r.id: (r.due or 1 << 40) - look[r.id].end for r in building.rooms if r.id in look}
    for name, due in dues.items():
        # a room that is set already wants a look's or a test's turn, not a unit's
        turn = block if block.get(name, now) >= now else {r: task.start for r, task in look.items()}
        wait = [r for r in look if now <= turn.get(r, -1) and look[r].start <= due and r not in dues]
        late = {r: max(0, look[name].end - look[r].end - spare[r]) if name in look else -spare[r] for r in wait}
        wait.sort(key=lambda r: (late[r], -look[r].start))
        why |= dict.fromkeys(wait[:number], f"{WAY} {name}")
    return why


def _settle(
    building: Building, plan: Plan, now: int, why: Mapping[str, str], done: Collection[Key], seconds: float
) -> Plan:
    """The open steps of these rooms, put into what the rest leaves free."""
    until = time.monotonic() + seconds
    # who only gives up a kit keeps what comes before bracing where it was, who gives up its turn its survey
    kept = {(room, Kind.SURVEY) for room, text in why.items() if text == NO_KIT or text.startswith(WAY)}
    kept |= {(room, Kind.CORRECTION) for room, text in why.items() if text == NO_KIT}
    steps = {(r.id, kind) for r in building.rooms if r.id in why for kind in building.steps(r)}
    free = steps - kept - set(done)
    found = serial(building, tuple(t for t in plan.tasks if (t.room, t.kind) not in free), now)
    if broken(building, found, now):
        raise ValueError("no place is left for " + ", ".join(sorted(why)) + " within the crews' shifts")
    weight = {(t.room, t.kind): (t.start, 5 if t.start < now + SOON else 1) for t in plan.tasks}
    for some, share in _by_turns(found, free):
        if time.monotonic() >= until:
            break
        reach = max((t.end for t in found.tasks if (t.room, t.kind) in some), default=now)
        aim = Aim(soon=False, late=2, finish_only=True, moves={key: weight[key] for key in some if key in weight})
        solved = Window(building, found, some, (now, reach), aim).solve(share * (until - time.monotonic()))
        if solved.plan is not None and not broken(building, solved.plan, now):
            found = solved.plan
    return found


def _by_turns(plan: Plan, free: Collection[Key]) -> Iterator[tuple[set[Key], float]]:
    """Some rooms' free steps at a time, the soonest first, and their share of the time that is left."""
    rooms = list(dict.fromkeys(t.room for t in plan.tasks if (t.room, t.kind) in free))
    for begin in range(0, len(rooms), AT_ONCE):
        some = set(rooms[begin : begin + AT_ONCE])
        turns = -(-(len(rooms) - begin) // AT_ONCE)
        yield {key for key in free if key[0] in some}, 1.0 / turns
