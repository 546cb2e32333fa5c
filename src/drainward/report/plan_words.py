"""A plan in sentences, for every face.

due_finding                           are the due dates kept
head_lines, late_lines                finish, bound, late rooms and why
list_rows, move_rows                  a crew's day; what moved
day_words, clock_words, STEP_WORDS    a date, a time of day, a step
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from drainward.finding import Finding, Verdict
from drainward.plan.clock import local
from drainward.plan.make import Made
from drainward.plan.model import Kind, Task
from drainward.plan.told import Late, day_of, finish_of, lates

__all__ = [
    "STEP_WORDS",
    "clock_words",
    "day_words",
    "due_finding",
    "head_lines",
    "late_lines",
    "list_rows",
    "move_rows",
]

STEP_WORDS: Mapping[Kind, str] = {
    Kind.SURVEY: "survey the pocket",
    Kind.CORRECTION: "correct the pocket",
    Kind.BLOCK: "dry set, bed and set, draft check, fasten and brace: unbroken",
    Kind.TEST: "braces out, water test",
    Kind.RETEST: "water test again",
    Kind.LOOK: "second look",
}


def day_words(day: date) -> str:
    """Such as Mon 9 Mar 2026."""
    return f"{day:%a} {day.day} {day:%b %Y}"


def clock_words(when: datetime) -> str:
    """Such as 7:15 AM."""
    return f"{when.hour % 12 or 12}:{when:%M %p}"


def due_finding(made: Made) -> Finding:
    """Whether every room is done by its due date; where it is not, whether any plan could."""
    late = lates(made)
    proven = any(one.unavoidable for one in late)
    verdict = Verdict.MEETS if not late else Verdict.FAILS if proven else Verdict.NOT_PROVEN
    advice = ""
    if late:
        advice = "Move due dates or ready dates, or look what a crew, sets of braces or Saturdays would change."
    return Finding(
        id="plan/due",
        what="Rooms done after their due date",
        value=float(len(late)),
        u=None,
        unit="1",
        limit="none",
        probability=None,
        verdict=verdict,
        source="the job's own due dates",
        advice=advice,
    )


def head_lines(made: Made) -> tuple[str, ...]:
    """Finish, bound and gap, late rooms, sets of braces."""
    case, measures = made.case, made.measures
    building = case.building
    bound = day_words(day_of(case, made.bound))
    if made.gap_days == 0:
        proof = f"Proven: no plan ends on an earlier working day ({made.how})."
    else:
        days = "1 working day" if made.gap_days == 1 else f"{made.gap_days} working days"
        proof = f"Proven: no plan ends before {bound} ({made.how}); a better one saves {days} at most."
    late = "No room is late." if measures.late_rooms == 0 else f"{_count(measures.late_rooms, 'room')} late."
    kits = f"At most {_count(measures.kits, 'set')} of braces in use at once, of {building.kits}."
    return (f"Done on {day_words(finish_of(made).date())}. {late}", proof, kits)


def _count(number: int, name: str) -> str:
    return f"{number} {name}{'' if number == 1 else 's'}"


def late_lines(late: Sequence[Late]) -> tuple[str, ...]:
    """Each late room with its days and why."""
    return tuple(
        f"Room {one.room}: due {day_words(one.due)}, done {day_words(one.ends.date())}, "
        f"{_count(one.days, 'day')} late; {one.why}."
        for one in late
    )


def list_rows(made: Made, tasks: Sequence[Task]) -> tuple[tuple[str, str, str], ...]:
    """From and to, room and floor, what to do; in order."""
    building, rows = made.case.building, []
    floor = {room.id: made.case.floors[room.floor] for room in building.rooms}
    for task in tasks:
        start, end = local(building, task.start), local(building, task.end)
        where = f"room {task.room}" + (f", floor {floor[task.room]}" if floor[task.room] else "")
        what = STEP_WORDS[task.kind]
        if len(task.crews) > 1:
            what += f", with all crews ({', '.join(task.crews)})"
        if task.inspector:
            what += f", with {task.inspector}"
        rows.append((f"{clock_words(start)} to {clock_words(end)}", where, what))
    return tuple(rows)


def move_rows(made: Made) -> tuple[tuple[str, str, str, str], ...]:
    """Room and step, from when, to when, why."""
    building = made.case.building

    def when(slot: int) -> str:
        here = local(building, slot)
        return f"{here:%a} {here.day} {here:%b}, {clock_words(here)}"

    return tuple(
        (f"{move.room}: {STEP_WORDS[move.kind].split(',')[0]}", "new" if move.was is None else when(move.was),
         when(move.now), move.why)
        for move in sorted(made.moves, key=lambda move: (move.now, move.room))
    )  # fmt: skip
