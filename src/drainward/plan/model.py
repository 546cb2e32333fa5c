"""What a plan is made of: `Building`, its rooms, crews and inspectors, `Task`, `Plan`, `Measures`; frozen, in slots.

A slot is a quarter of an hour of true time, counted in UTC from `Building.origin`. Only `clock` turns slots into dates.

The work of a room, in this order: survey; correction where the survey found one; the block (dry set, bed and set, draft
check, fasten and brace: one crew, one shift, unbroken); cure in wall-clock hours; brace removal and water test; where
water stood, repair, its cure in wall-clock hours, and the test again; second look, on a later working day and, where
inspectors are named, in one of their slots.

Rules: no task is split, so a crew eats between tasks, and the break includes the ways to and from it; another floor
costs `travel` slots; a kit is held from bracing to the end of the water test; the first unit is set by every crew
together, and no other is set before its second look is over. Sources: common practice, no source.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

__all__ = [
    "ORDER",
    "SLOT",
    "Building",
    "Crew",
    "Inspector",
    "Kind",
    "Measures",
    "Plan",
    "PlanRoom",
    "Shift",
    "Task",
    "Work",
]

SLOT = timedelta(minutes=15)


class Kind(StrEnum):
    """One step in the work of a room."""

    SURVEY = "survey"
    CORRECTION = "correction"
    BLOCK = "block"
    TEST = "test"
    REPAIR = "repair"
    RETEST = "water test again"
    LOOK = "look"


ORDER = (Kind.SURVEY, Kind.CORRECTION, Kind.BLOCK, Kind.TEST, Kind.REPAIR, Kind.RETEST, Kind.LOOK)


@dataclass(frozen=True, slots=True)
class Work:
    """Length of each step, slots; `brace_at` is when, within the block, bracing starts and takes its kit."""

    survey: int = 2
    block: int = 15
    brace_at: int = 12
    test: int = 2
    look: int = 1


@dataclass(frozen=True, slots=True)
class Shift:
    """One crew's day: `day` counts calendar days from the origin; the break lies within lunch_from..lunch_to."""

    day: int
    start: int
    end: int
    lunch_from: int
    lunch_to: int


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works when, and what they are trained for; holidays are shifts that are not there."""

    id: str
    people: int
    shifts: tuple[Shift, ...]
    skills: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Inspector:
    """Slots in which one inspector sees one room at a time: (start, end) each."""

    id: str
    windows: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class PlanRoom:
    """A room: surveyed from `ready` on, its second look over by `due`; `skills` are for its correction.

    retest : after a failed water test, the slot from which it may be done again, without a kit; None where none failed
    repair, repair_cure : work and wait before it is done again
    """

    id: str
    floor: int
    ready: int
    due: int | None = None
    correction: int = 0
    skills: frozenset[str] = frozenset()
    cure: int = 288
    retest: int | None = None
    repair: int = 0
    repair_cure: int = 0

    def wait(self, kind: Kind) -> int:
        """Slots of the clock that pass between this step and the one before it, at least."""
        return {Kind.TEST: self.cure, Kind.RETEST: self.repair_cure}.get(kind, 0)


@dataclass(frozen=True, slots=True)
class Building:
    """All that a plan has to respect; `first` is the room of the first unit, None once that is signed off."""

    origin: datetime
    zone: str
    rooms: tuple[PlanRoom, ...]
    crews: tuple[Crew, ...]
    kits: int
    inspectors: tuple[Inspector, ...] = ()
    first: str | None = None
    travel: int = 1
    lunch: int = 2
    work: Work = Work()

    def length(self, room: PlanRoom, kind: Kind) -> int:
        """Slots that a step of this room takes; 0 for a step that it does not need."""
        if kind is Kind.CORRECTION:
            return room.correction
        if kind is Kind.REPAIR:
            return 0 if room.retest is None else room.repair
        if kind is Kind.RETEST:
            return 0 if room.retest is None else self.work.test
        return int(getattr(self.work, kind.value))

    def steps(self, room: PlanRoom) -> tuple[Kind, ...]:
        """The steps of this room, in order."""
        return tuple(kind for kind in ORDER if self.length(room, kind) > 0)

    def working_days(self) -> tuple[int, ...]:
        """Days on which at least one crew works, in order."""
        return tuple(sorted({shift.day for crew in self.crews for shift in crew.shifts}))


@dataclass(frozen=True, slots=True)
class Task:
    """One step of one room, by whom, from `start` to `end` (slots)."""

    room: str
    kind: Kind
    crews: tuple[str, ...]
    start: int
    end: int
    inspector: str | None = None


@dataclass(frozen=True, slots=True)
class Measures:
    """How good a plan is, in the order of the goals.

    late_rooms, late_slots : rooms over their due date, and by how much together;  finish : slot of the last end
    finish_day : number of that working day, the first being 0;  kits : most in use at once
    floor_changes : within shifts, all crews;  uneven : slots between the busiest crew's work and the least busy one's
    """

    late_rooms: int
    late_slots: int
    finish: int
    finish_day: int
    kits: int
    floor_changes: int
    uneven: int

    def key(self) -> tuple[int, int, int, int, int]:
        """Smaller is better: due dates, finish, kits, calm crews."""
        return (self.late_slots, self.finish_day, self.finish, self.kits, self.floor_changes + self.uneven)

    def as_json(self) -> dict[str, Any]:
        """Plain numbers under their names."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Plan:
    """Tasks by start, then room."""

    tasks: tuple[Task, ...]

    def as_json(self, building: Building) -> dict[str, Any]:
        """Times as ISO 8601 in UTC."""
        return {
            "tasks": [
                {
                    "room": task.room,
                    "kind": task.kind.value,
                    "crews": list(task.crews),
                    "start": (building.origin + task.start * SLOT).isoformat(),
                    "end": (building.origin + task.end * SLOT).isoformat(),
                    "inspector": task.inspector,
                }
                for task in self.tasks
            ]
        }
