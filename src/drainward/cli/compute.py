"""From a loaded job to answers, for every command that shows them.

Answer                 one room's draft or water test, or why there is none
find_room              a room by name
room_answer, answers   one room's answer; every room's, with a bar on a terminal's stderr
water_answer           one room's water test, with a bar: it takes its time
outlook                what can be said before anything is set
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from drainward.cli.exits import bad_use
from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job.at_stage import WATER, at_stage
from drainward.job.model import Job, Room, WaterTest
from drainward.job.names import name_key, room_name
from drainward.rules import load_rules
from drainward.rules.outlook import JobOutlook
from drainward.rules.window import job_warnings

__all__ = [
    "WATER",
    "Answer",
    "answers",
    "find_room",
    "outlook",
    "room_answer",
    "water_answer",
    "water_tests",
]

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """One room: its draft, or at the water test its water, or in `says` why there is none, which proves nothing."""

    room: Room
    draft: Draft | None
    says: str = ""
    stage: str = "draft"
    water: Water | None = None

    @property
    def verdict(self) -> Verdict:
        found = self.draft or self.water
        return Verdict.NOT_PROVEN if found is None else found.verdict

    def as_json(self) -> dict[str, Any]:
        """The object of the stage."""
        found = self.draft or self.water
        if found is not None:
            return found.as_json()
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


def water_tests(job: Job, room: str) -> tuple[WaterTest, ...]:
    """The water tests recorded in one room."""
    return tuple(test for test in job.water_tests if test.room == room)


def room_answer(job: Job, room: Room, stage: str = "draft", progress: Progress | None = None) -> Answer:
    """The floor or the water of one room at a stage; without readings it still says which to take first."""
    readings = at_stage(job.readings, room.room, stage)
    try:
        if stage == WATER:
            from drainward.floor.film import water_stage

            water = water_stage(job, room.room, readings, water_tests(job, room.room), progress=progress)
            return Answer(room, None, stage=stage, water=water)
        from drainward.floor import draft_stage

        return Answer(room, draft_stage(job, room.room, readings, stage=stage, progress=progress))
    except StageError as refusal:
        return Answer(room, None, str(refusal), stage)


def water_answer(job: Job, room: Room) -> Answer:
    """The water of one room, with a bar on a terminal's stderr."""
    with _bar(1) as watch:
        return room_answer(job, room, WATER, watch(0, room.room))


def answers(job: Job, stage: str = "draft") -> tuple[Answer, ...]:
    """Every room's answer, in the job's order; rooms not read yet cost nothing."""
    found = []
    with _bar(len(job.rooms)) as watch:
        for number, room in enumerate(job.rooms):
            unread = not at_stage(job.readings, room.room, stage)
            progress = watch(number, room.room)
            found.append(
                Answer(room, None, "not read yet", stage) if unread else room_answer(job, room, stage, progress)
            )
    return tuple(found)


def outlook(job: Job) -> JobOutlook:
    """Findings and questions on the rules picked and the unit models, before anything is set."""
    return job_warnings(job, load_rules(job.rules))


@contextmanager
def _bar(rooms: int) -> Iterator[Callable[[int, str], Progress | None]]:
    """A bar over all rooms, each a part of it; gives what takes a room's place and name to its own progress."""
    if not rooms or not sys.stderr.isatty():
        yield lambda number, name: None
        return
    from rich.console import Console
    from rich.progress import Progress as Bar

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("computing", total=rooms)

        def watch(number: int, name: str) -> Progress:
            return lambda what, share: bar.update(task, completed=number + share, description=f"{name}: {what}")

        yield watch
