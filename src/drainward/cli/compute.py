"""From a loaded job to answers, for every command that shows them.

Answer                 one room at a stage, or why there is no answer
BEFORE, WATER          the stages before a unit is set; the stage at which water is poured
HOLD                   the stages that hold a unit, and whether its bed carries it
find_room              a room by name
room_answer, answers   one room's answer; every room's, with a bar on a terminal's stderr
watched_answer         one room's, with a bar: the water and the way in take their time
bar                    over rooms, on a terminal's stderr
outlook                what can be said before anything is set
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from drainward.cli.exits import bad_use
from drainward.errors import InputError, NoBedError, Problem, StageError
from drainward.finding import Verdict, overall
from drainward.floor.film.result import Water
from drainward.floor.result import Draft
from drainward.job.at_stage import WATER, at_stage
from drainward.job.model import Job, Room, WaterTest, Work
from drainward.job.names import name_key, room_name
from drainward.rules import load_rules
from drainward.rules.outlook import JobOutlook
from drainward.rules.window import job_warnings

if TYPE_CHECKING:
    from drainward.bed.result import BedPlan
    from drainward.hold.stage import BracePlan, Cure, FastenPlan
    from drainward.hold.support import Supported
    from drainward.pocket.stage import DrySet, SetOut, Survey
    from drainward.wayin.plan import Plan
    from drainward.wayin.result import WayIn

    Hold = FastenPlan | BracePlan | Supported
    Before = Survey | WayIn | DrySet | BedPlan | SetOut

__all__ = [
    "BEFORE",
    "CURE",
    "HOLD",
    "NOT_MEASURED",
    "NOT_READ",
    "NO_BED",
    "WATER",
    "WAY_IN",
    "Answer",
    "answers",
    "bar",
    "find_room",
    "outlook",
    "room_answer",
    "watched_answer",
    "water_tests",
]

WAY_IN = "way in"
NOT_READ, NOT_MEASURED, NO_BED = "not read yet", "not measured yet", "no bed"
BED, FASTEN, BRACE, CURE, SUPPORT = "bed", "fasten", "brace", "cure", "support"
BEFORE = ("survey", WAY_IN, "dry set", BED, "set")
HOLD = (FASTEN, BRACE, SUPPORT)

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """One room: its draft, its water at the water test, what is known before it is set, or in `says` why none of it is.

    hold : screws, braces or support;  clock : of a bed beside its cured floor, or in `clock_says` why there is none
    problems : of the input, found only now: they keep the room from an answer
    idle : True where the unit stands on its own base and the stage has nothing to do there
    """

    room: Room
    draft: Draft | None
    says: str = ""
    stage: str = "draft"
    water: Water | None = None
    before: Before | None = None
    hold: Hold | None = None
    clock: Cure | None = None
    clock_says: str = ""
    problems: tuple[Problem, ...] = ()
    idle: bool = False

    @property
    def found(self) -> Draft | Water | Before | Hold | None:
        """The answer of the stage."""
        return self.draft or self.water or self.before or self.hold

    @property
    def verdict(self) -> Verdict:
        found = self.found
        if self.idle:
            return Verdict.MEETS
        own = Verdict.NOT_PROVEN if found is None else found.verdict
        return own if self.clock is None else overall((own, self.clock.verdict))

    def as_json(self) -> dict[str, Any]:
        """The object of the stage."""
        found = self.found
        clock = self._clock_json()
        if found is not None:
            told = found.as_json()
            more = [] if self.clock is None else [finding.as_json() for finding in self.clock.findings]
            return {**told, "verdict": str(self.verdict), "findings": [*told["findings"], *more], **clock}
        floor = {} if self.stage in (*BEFORE, *HOLD) else {"readings": {"used": 0, "rejected": []}}
        return {
            "schema": 1,
            "room": self.room.room,
            "stage": self.stage,
            "verdict": str(self.verdict),
            "findings": [],
            **floor,
            "says": self.says,
            **clock,
        }

    def _clock_json(self) -> dict[str, Any]:
        if self.stage != CURE:
            return {}
        clock = None if self.clock is None else self.clock.clock.as_json()
        return {"clock": clock, "clock_says": self.clock_says}


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


def room_answer(
    job: Job,
    room: Room,
    stage: str = "draft",
    progress: Progress | None = None,
    plans: Mapping[str, Plan] | None = None,
    now: datetime | None = None,
) -> Answer:
    """One room at a stage; a floor without readings, a pocket without measures still says which to take first.

    plans : of the storeys, for the way in;  now : at which a clock is read, aware of its zone; None for this moment
    """
    try:
        if stage in HOLD:
            return Answer(room, None, stage=stage, hold=_hold(job, room, stage, progress))
        if stage in BEFORE:
            return _before_answer(job, room, stage, progress, plans or {})
        readings = at_stage(job.readings, room.room, stage)
        if stage == WATER:
            from drainward.floor.film import water_stage

            water = water_stage(job, room.room, readings, water_tests(job, room.room), progress=progress)
            return Answer(room, None, stage=stage, water=water)
        from drainward.floor import draft_stage

        found = Answer(room, draft_stage(job, room.room, readings, stage=stage, progress=progress), stage=stage)
        return _with_clock(job, found, now or datetime.now(UTC)) if stage == CURE else found
    except StageError as refusal:
        return Answer(room, None, str(refusal), stage, idle=isinstance(refusal, NoBedError))


def _with_clock(job: Job, found: Answer, now: datetime) -> Answer:
    from drainward.hold.stage import cure_stage

    try:
        return replace(found, clock=cure_stage(job, found.room.room, now))
    except StageError as refusal:
        return replace(found, clock_says=str(refusal))


def _hold(job: Job, room: Room, stage: str, progress: Progress | None) -> Hold:
    if stage == SUPPORT:
        from drainward.hold.support import support_stage

        return support_stage(job, room.room, progress=progress)
    from drainward.hold.stage import brace_stage, fasten_stage

    if stage == FASTEN:
        from drainward.floor import draft_stage

        readings = at_stage(job.readings, room.room, "draft")
        checked = draft_stage(job, room.room, readings, progress=progress).verdict if readings else None
        return fasten_stage(job, room.room, checked)
    from drainward.bed.stage import bed_stage

    try:
        bed = bed_stage(job, room.room, progress=progress)
    except (StageError, InputError):
        # braces are for an ordinary bed where nobody surveyed this one, and say so
        bed = None
    return brace_stage(job, room.room, bed)


def _before_answer(job: Job, room: Room, stage: str, progress: Progress | None, plans: Mapping[str, Plan]) -> Answer:
    try:
        return Answer(room, None, stage=stage, before=_before(job, room, stage, progress, plans))
    except InputError as error:
        says = "; ".join(str(problem) for problem in error.problems)
        return Answer(room, None, says, stage, problems=error.problems)


def _before(job: Job, room: Room, stage: str, progress: Progress | None, plans: Mapping[str, Plan]) -> Before:
    if stage == WAY_IN:
        from drainward.wayin.plan import plan_of
        from drainward.wayin.stage import way_in_stage

        plan = plan_of(plans, room.room, room.floor)
        if plan is None:
            storey = f'floor "{room.floor}"' if room.floor else "its storey"
            raise StageError(f"no plan of {storey}: draw its walls, doors, a start and the goal in plan.csv")
        return way_in_stage(job, room.room, plan, progress=progress)
    if stage == BED:
        from drainward.bed.stage import bed_stage

        return bed_stage(job, room.room, progress=progress)
    from drainward.pocket.stage import dry_set_stage, set_stage, survey_stage

    if stage == "survey":
        return survey_stage(job, room.room)
    return dry_set_stage(job, room.room) if stage == "dry set" else set_stage(job, room.room)


def watched_answer(
    job: Job, room: Room, stage: str, plans: Mapping[str, Plan] | None = None, now: datetime | None = None
) -> Answer:
    """One room at a stage, with a bar on a terminal's stderr."""
    with bar(1) as watch:
        return room_answer(job, room, stage, watch(0, room.room), plans, now)


def answers(
    job: Job, stage: str = "draft", plans: Mapping[str, Plan] | None = None, now: datetime | None = None
) -> tuple[Answer, ...]:
    """Every room's answer, in the job's order; rooms not read or measured yet cost nothing."""
    found = []
    with bar(len(job.rooms)) as watch:
        for number, room in enumerate(job.rooms):
            progress = watch(number, room.room)
            missing = _nothing(job, room, stage, plans or {})
            found.append(
                Answer(room, None, missing, stage) if missing else room_answer(job, room, stage, progress, plans, now)
            )
            if progress is not None:
                progress("done", 1.0)
    return tuple(found)


def _nothing(job: Job, room: Room, stage: str, plans: Mapping[str, Plan]) -> str:
    """That nothing is known of a room at a stage, in the words of the list; "" where something is."""
    if stage in (BRACE, SUPPORT):
        # what can be said before anybody was there holds for every unit with a bed
        return ""
    if stage == CURE and any(done.room == room.room and done.what is Work.BED_PLACED for done in job.setting):
        # its clock runs
        return ""
    if stage not in BEFORE:
        return "" if at_stage(job.readings, room.room, stage) else NOT_READ
    if stage == WAY_IN:
        return "" if any(plan.goal(room.room) is not None for plan in plans.values()) else NOT_MEASURED
    unit = job.units.get(room.unit)
    if stage == BED and unit is not None and unit.style == "own base":
        return ""
    return "" if any(measure.room == room.room for measure in job.survey) else NOT_MEASURED


def outlook(job: Job) -> JobOutlook:
    """Findings and questions on the rules picked and the unit models, before anything is set."""
    return job_warnings(job, load_rules(job.rules))


@contextmanager
def bar(rooms: int) -> Iterator[Callable[[int, str], Progress | None]]:
    """A bar over all rooms, each a part of it; gives what takes a room's place and name to its own progress."""
    if not rooms or not sys.stderr.isatty():
        yield lambda number, name: None
        return
    from rich.console import Console
    from rich.progress import Progress as Bar

    with Bar(console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task("computing", total=rooms)

        def watch(number: int, name: str) -> Progress:
            return lambda what, share: shown.update(task, completed=number + share, description=f"{name}: {what}")

        yield watch
