"""A plan from a job and its record: what is done stays, the rest can be worked, and a slip moves little."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import plan_jobs
import pytest
import surveys
from plan_jobs import MONDAY, ZONE, done

from drainward.errors import StageError
from drainward.job import Kits, WaterTest, What, Work
from drainward.job.model import Job, Puddle
from drainward.plan.checker import broken
from drainward.plan.clock import at, local
from drainward.plan.from_job import Case, case_of
from drainward.plan.make import NOT_DONE, Made, again, make
from drainward.plan.model import Kind, Plan, Task
from drainward.plan.progress import standings
from drainward.plan.stored import FILE, read_schedule, restored, schedule_text
from drainward.plan.told import kits_by_day, lates, lists_of, next_day
from drainward.plan.what_if import compare, otherwise, way_of


def morning(days: int = 0, hour: int = 0) -> datetime:
    return datetime(MONDAY.year, MONDAY.month, MONDAY.day, hour, tzinfo=ZoneInfo(ZONE)) + timedelta(days=days)


BEDDED = (done("101", Work.BED_PLACED, morning(0, 9)), done("101", Work.FASTENED, morning(0, 11)))


@cache
def fresh() -> Made:
    return make(case_of(plan_jobs.job(), morning()), 2.0)


def step(made: Made, room: str, kind: Kind) -> Task:
    return next(task for task in made.plan.tasks if (task.room, task.kind) == (room, kind))


def worked(job: Job, made: Made, until: datetime) -> Job:
    """The job after its crews did what was planned up to a time; every block, test and look is written down."""
    what = {Kind.CORRECTION: Work.CORRECTED, Kind.BLOCK: Work.FASTENED, Kind.LOOK: Work.SECOND_LOOK}
    events, tests, taken = list(job.setting), list(job.water_tests), list(job.survey)
    for task in made.plan.tasks:
        end = at(made.case.building, task.end)
        if end > until:
            continue
        if task.kind is Kind.SURVEY:
            width = surveys.measure(What.WIDTH, 61.5, room=task.room, y=10.0, z=2.0)
            taken.append(width.model_copy(update={"when": end, "id": f"s-{task.room}"}))
        if task.kind in what:
            events.append(done(task.room, what[task.kind], end))
        if task.kind is Kind.TEST:
            tests.append(WaterTest(id=f"t-{task.room}", room=task.room, poured=0.004, over=60, puddles=(), when=end))
    return job.model_copy(update={"setting": tuple(events), "water_tests": tuple(tests), "survey": tuple(taken)})


def test_a_plan_from_a_job_can_be_worked_within_its_calendar() -> None:
    made = fresh()
    building = made.case.building
    assert () == broken(building, made.plan)
    assert made.bound <= made.measures.finish_day
    assert {local(building, task.start).date() for task in made.plan.tasks}.isdisjoint({MONDAY + timedelta(days=2)})
    looks = [task for task in made.plan.tasks if task.kind is Kind.LOOK]
    assert {local(building, task.start).strftime("%a") for task in looks} <= {"Tue", "Thu"}
    assert {task.inspector for task in looks} == {"Town"}
    assert {task.crews for task in made.plan.tasks if task.kind is Kind.CORRECTION} == {("A",)}
    assert all(local(building, task.start).hour >= 9 for task in made.plan.tasks if task.crews == ("B",))


def test_the_first_unit_is_set_by_all_before_any_other() -> None:
    made = fresh()
    first = made.case.building.first
    assert first is not None
    assert set(step(made, first, Kind.BLOCK).crews) == {"A", "B"}
    signed = step(made, first, Kind.LOOK).end
    assert all(t.start >= signed for t in made.plan.tasks if t.kind is Kind.BLOCK and t.room != first)


def test_what_nobody_wrote_is_assumed_and_named() -> None:
    bare = plan_jobs.job().model_copy(update={"crews": (), "kits": Kits(), "inspectors": ()})
    case = case_of(bare, morning())
    told = " ".join(case.notes)
    for words in ("No [crews]", "6 sets are assumed", "No [inspectors]", "not surveyed"):
        assert words in told
    assert (case.building.kits, len(case.building.crews)) == (6, 1)


def test_a_survey_that_fails_asks_for_a_correction() -> None:
    job = plan_jobs.job()
    rooms = {room.id: room for room in case_of(job, morning(), {"101": True, "103": False}).building.rooms}
    assert {name: room.correction for name, room in rooms.items() if room.correction} == {"101": 12, "102": 8}
    assert rooms["101"].skills == {"core"}


def test_nobody_trained_and_no_room_are_refused() -> None:
    job = plan_jobs.job()
    with pytest.raises(StageError, match='no crew has the skill "core"'):
        case_of(job.model_copy(update={"crews": job.crews[1:]}), morning())
    with pytest.raises(StageError, match="no room to plan"):
        case_of(job.model_copy(update={"rooms": ()}), morning())


def test_the_record_says_what_is_done() -> None:
    job = plan_jobs.job(
        "101 102", done("101", Work.BED_PLACED, morning(0, 9)), done("101", Work.FASTENED, morning(0, 11))
    )
    now = standings(job, morning(0, 12))["101"]
    assert (now.is_surveyed, now.is_corrected, now.is_set, now.is_tested) == (True, True, True, False)
    assert now.set == morning(0, 11).astimezone(UTC)
    before = standings(job, morning(0, 8))["101"]
    assert not before.is_surveyed, "what was written for later is not done yet"


def test_a_bed_that_lies_is_tested_when_its_own_clock_says() -> None:
    job = plan_jobs.job(
        "101 102", done("101", Work.BED_PLACED, morning(0, 9)), done("101", Work.FASTENED, morning(0, 11))
    )
    case = case_of(job, morning(1))
    made = make(case, 1.0)
    assert () == broken(case.building, made.plan, case.now)
    test = local(case.building, step(made, "101", Kind.TEST).start)
    assert test >= morning(0, 9) + timedelta(hours=72)
    assert step(made, "101", Kind.BLOCK) in case.done


def test_water_that_stood_is_tested_again() -> None:
    wet = WaterTest(id="w", room="101", poured=0.004, over=60, puddles=(Puddle(x=0.5, y=0.5),), when=morning(4, 9))
    job = plan_jobs.job("101 102", done("101", Work.FASTENED, morning(0, 11)))
    case = case_of(job.model_copy(update={"water_tests": (wet,)}), morning(7))
    made = make(case, 1.0)
    assert step(made, "101", Kind.RETEST).start >= case.now
    assert any("Water stood in the last test of Room 101" in note for note in case.notes)
    dry = wet.model_copy(update={"puddles": ()})
    case = case_of(job.model_copy(update={"water_tests": (dry,)}), morning(7))
    assert Kind.RETEST not in {task.kind for task in make(case, 1.0).plan.tasks}


@pytest.mark.parametrize("days", [1, 4, 9, 16, 60])
def test_around_what_is_done_a_plan_can_be_worked(days: int) -> None:
    now = morning(days, 10)
    case = case_of(worked(plan_jobs.job(), fresh(), now), now)
    assert case.done
    made = make(case, 2.0)
    assert () == broken(case.building, made.plan, case.now)
    assert set(case.done) <= set(made.plan.tasks)
    assert made.bound <= made.measures.finish_day
    assert (next_day(made) is None) == (days == 60), "all is done by then"


def before(case: Case, folder: Path) -> Plan:
    """The first plan as a later day reads it from its file."""
    (folder / FILE).write_text(schedule_text(fresh(), morning()))
    return read_schedule(folder / FILE, case)[0].plan


def test_done_as_planned_nothing_moves(tmp_path: Path) -> None:
    now = morning(9)
    case = case_of(worked(plan_jobs.job(), fresh(), now), now)
    new = again(case, before(case, tmp_path), {})
    assert () == broken(case.building, new.plan, case.now)
    assert () == new.moves


def test_what_was_not_done_moves_alone_and_says_why(tmp_path: Path) -> None:
    now = morning(9)
    last = max((t for t in fresh().plan.tasks if t.kind is Kind.BLOCK and at(fresh().case.building, t.end) <= now),
               key=lambda t: t.end)  # fmt: skip
    job = worked(plan_jobs.job(), fresh(), now)
    left = tuple(e for e in job.setting if (e.room, e.what) != (last.room, Work.FASTENED))
    case = case_of(job.model_copy(update={"setting": left}), now)
    new = again(case, before(case, tmp_path), {})
    assert () == broken(case.building, new.plan, case.now)
    assert {move.room for move in new.moves} == {last.room}
    assert {move.why for move in new.moves} == {NOT_DONE}


def test_a_room_that_is_ready_later_moves_alone(tmp_path: Path) -> None:
    now = morning(0, 6)
    rooms = [
        room.model_copy(update={"ready": MONDAY + timedelta(days=14)}) if room.room == "203" else room
        for room in plan_jobs.job().rooms
    ]
    case = case_of(plan_jobs.job().model_copy(update={"rooms": tuple(rooms)}), now)
    new = again(case, before(case, tmp_path), {})
    assert () == broken(case.building, new.plan, case.now)
    assert {move.room: move.why for move in new.moves} == {"203": "ready later"}


def test_a_room_that_is_due_sooner_goes_sooner_where_that_can_be(tmp_path: Path) -> None:
    last = max((t for t in fresh().plan.tasks if t.kind is Kind.LOOK), key=lambda t: t.end)
    due = local(fresh().case.building, last.end).date() - timedelta(days=1)
    rooms = [room.model_copy(update={"due": due}) if room.room == last.room else room for room in plan_jobs.job().rooms]
    case = case_of(plan_jobs.job().model_copy(update={"rooms": tuple(rooms)}), morning(0, 6))
    (tmp_path / FILE).write_text(schedule_text(fresh(), morning()))
    stored, _ = read_schedule(tmp_path / FILE, case)
    new = again(case, stored.plan, stored.dues)
    assert () == broken(case.building, new.plan, case.now)
    assert {move.why for move in new.moves if move.room == last.room} <= {"due sooner"}
    assert new.measures.late_slots <= last.end - next(r.due or 0 for r in case.building.rooms if r.id == last.room)


def test_a_lost_kit_is_made_up_for(tmp_path: Path) -> None:
    now = morning(0, 6)
    case = case_of(plan_jobs.job().model_copy(update={"kits": Kits(braces=2)}), now)
    new = again(case, before(case, tmp_path), {})
    assert () == broken(case.building, new.plan, case.now)
    assert new.measures.kits <= 2
    if fresh().measures.kits > 2:
        assert "no kit left" in {move.why for move in new.moves}


def test_the_plan_reads_back_from_its_table(tmp_path: Path) -> None:
    job, made = plan_jobs.job(), fresh()
    path = tmp_path / FILE
    path.write_text(schedule_text(made, morning(), {"101": 3.7}))
    stored, problems = read_schedule(path, made.case)
    assert problems == ()
    assert sorted(stored.plan.tasks, key=lambda t: (t.room, t.kind)) == sorted(
        made.plan.tasks, key=lambda t: (t.room, t.kind)
    )
    assert stored.bags == {"101": 3.7}
    back, bags, _ = restored(path, job, morning(5))
    assert (back.plan, back.measures, back.bound, back.how) == (
        Plan(tuple(sorted(made.plan.tasks, key=lambda t: (t.start, t.room)))), made.measures, made.bound, made.how,
    )  # fmt: skip
    assert bags == {"101": 3.7}


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("999,9,survey,planned,A,2026-03-09 07:00,2026-03-09 07:30,,,", 'column "room": "999" is no room of this job'),
        ("101,1,dance,planned,A,2026-03-09 07:00,2026-03-09 07:30,,,", 'column "step": "dance" is no step'),
        ("101,1,survey,planned,A,9 o'clock,2026-03-09 07:30,,,", 'column "start": "9 o\'clock" is not a date'),
        (
            "101,1,survey,planned,A,2026-03-09 07:30,2026-03-09 07:00,,,",
            'column "end": "2026-03-09 07:00" is',
        ),
        ("101,1,survey,planned,,2026-03-09 07:00,2026-03-09 07:30,,,", 'column "crew": "" is missing'),
    ],
)
def test_a_bad_line_is_named_and_the_rest_is_kept(tmp_path: Path, line: str, message: str) -> None:
    path = tmp_path / FILE
    text = schedule_text(fresh(), morning())
    path.write_text(text + line + "\n")
    stored, problems = read_schedule(path, fresh().case)
    assert len(stored.plan.tasks) == len(fresh().plan.tasks)
    assert [f"schedule.csv, line {len(text.splitlines()) + 1}, {message}" in str(p) for p in problems] == [True]


def test_lists_are_by_crew_and_in_order() -> None:
    made = fresh()
    day = next_day(made)
    assert day is not None and day > local(made.case.building, made.case.now).date()
    for crew, tasks in lists_of(made, day).items():
        assert all(crew in task.crews for task in tasks)
        assert list(tasks) == sorted(tasks, key=lambda task: task.start)
    assert max(kits_by_day(made).values()) == made.measures.kits <= 3


def test_a_room_that_cannot_be_in_time_is_late_and_says_so() -> None:
    job = plan_jobs.job()
    rooms = [
        room.model_copy(update={"due": MONDAY + timedelta(days=1)}) if room.room == "203" else room
        for room in job.rooms
    ]
    made = make(case_of(job.model_copy(update={"rooms": tuple(rooms)}), morning()), 1.0)
    (late,) = [one for one in lates(made) if one.room == "203"]
    assert late.unavoidable and late.days > 0 and "ready too late" in late.why
    assert lates(fresh()) == ()


def test_other_ways_to_work_stand_side_by_side() -> None:
    job = plan_jobs.job()
    ways = compare(job, morning(), {}, ["crew", "kits=10", "saturday"], 1.0)
    assert [way.name for way in ways] == ["one crew more", "10 sets of braces more", "Saturdays too"]
    as_planned = way_of("as planned", job, fresh())
    assert all(way.late_rooms == 0 and way.cost > 0 for way in (as_planned, *ways))
    assert way_of("x", job.model_copy(update={"kits": Kits(braces=3, week=1000.0)}), fresh()).cost > as_planned.cost
    for asked in ("kits=0", "people", "kits"):
        with pytest.raises(ValueError, match="is no other way to work; expected crew, kits=10 or saturday"):
            otherwise(job, asked)
