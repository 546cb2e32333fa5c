"""From a loaded job to answers, for every command that shows them.

Answer                 one room's draft, or why there is none
find_room              a room by name
room_answer, answers   one room's answer; every room's, with a bar on a terminal's stderr
outlook                what can be said before anything is set
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from drainward.cli.exits import bad_use
from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.floor.result import Draft
from drainward.job.model import Job, Reading, Room
from drainward.job.names import name_key, room_name
from drainward.rules import load_rules
from drainward.rules.outlook import JobOutlook
from drainward.rules.window import job_warnings

__all__ = ["Answer", "answers", "find_room", "floor_readings", "outlook", "room_answer"]


@dataclass(frozen=True, slots=True)
class Answer:
    """One room: its draft, or in `says` why there is none, which proves nothing."""

    room: Room
    draft: Draft | None
    says: str = ""
    stage: str = "draft"

    @property
    def verdict(self) -> Verdict:
        return Verdict.NOT_PROVEN if self.draft is None else self.draft.verdict

    def as_json(self) -> dict[str, Any]:
        """The draft stage's object."""
        if self.draft is not None:
            return self.draft.as_json()
        return {
            "schema": 1,
            "room": self.room.room,
            "stage": self.stage,
            "verdict": str(self.verdict),
            "findings": [],
            "readings": {"used": 0, "rejected": []},
            "says": self.says,
        }


def find_room(job: Job, name: str) -> Room:
    """The room of that name; leaves with 64, naming those there are, where there is none."""
    key = name_key(room_name(name))
    for room in job.rooms:
        if name_key(room.room) == key:
            return room
    known = ", ".join(room.room for room in job.rooms[:12]) or "none"
    more = " ..." if len(job.rooms) > 12 else ""
    bad_use(f'the job has no room "{name}"; its rooms: {known}{more}')
    return None


def floor_readings(job: Job, room: str, stage: str = "draft") -> tuple[Reading, ...]:
    """What was read on one room's floor at a stage; a cured floor not read anew stands as it was read wet."""
    mine = tuple(reading for reading in job.readings if reading.room == room)
    at_stage = tuple(reading for reading in mine if reading.stage == stage)
    return at_stage or tuple(reading for reading in mine if reading.stage == "draft")


def room_answer(job: Job, room: Room, stage: str = "draft") -> Answer:
    """The floor of one room at a stage; without readings it still says which to take first."""
    from drainward.floor import draft_stage

    try:
        return Answer(room, draft_stage(job, room.room, floor_readings(job, room.room, stage), stage=stage))
    except StageError as refusal:
        return Answer(room, None, str(refusal), stage)


def answers(job: Job, stage: str = "draft") -> tuple[Answer, ...]:
    """Every room's answer, in the job's order; rooms not read yet cost nothing."""
    found = []
    for room in _watched(job.rooms):
        unread = not floor_readings(job, room.room, stage)
        found.append(Answer(room, None, "not read yet", stage) if unread else room_answer(job, room, stage))
    return tuple(found)


def outlook(job: Job) -> JobOutlook:
    """Findings and questions on the rules picked and the unit models, before anything is set."""
    return job_warnings(job, load_rules(job.rules))


def _watched(rooms: tuple[Room, ...]) -> Iterable[Room]:
    if len(rooms) < 3 or not sys.stderr.isatty():
        return rooms
    from rich.console import Console
    from rich.progress import track

    return track(rooms, "computing", console=Console(stderr=True), transient=True)
