"""The plan of a building: every plan is checked by the independent checker, and the checker is shown to fail."""

from dataclasses import replace
from datetime import UTC, date, datetime, time

import pytest

from drainward.errors import InputError
from drainward.plan.bound import finish_bound
from drainward.plan.checker import broken, measure
from drainward.plan.clock import SLOT, origin_of, shifts, slot_of
from drainward.plan.guided import guided
from drainward.plan.invented import CASES, invented
from drainward.plan.lists import dispatch, serial
from drainward.plan.model import Building, Crew, Kind, Plan, PlanRoom
from drainward.plan.psplib import Project, read_sm, shortest
from drainward.plan.replan import FailedTest, LostKits, NewDue, Slip, replan
from drainward.plan.solve import solve


@pytest.fixture(scope="module")
def sixty() -> Building:
    return invented(60, *CASES[60], seed=1)


@pytest.fixture(scope="module")
def plan(sixty: Building) -> Plan:
    return guided(sixty, trials=3)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("make", [dispatch, serial, guided])
def test_every_plan_can_be_worked(make, seed: int) -> None:
    building = invented(60, *CASES[60], seed=seed)
    assert () == broken(building, make(building))


def test_guided_days_beat_the_lists(sixty: Building, plan: Plan) -> None:
    assert measure(sixty, plan).finish_day < measure(sixty, serial(sixty)).finish_day


def _moved(plan: Plan, kind: Kind, number: int, by: int) -> Plan:
    task = [t for t in plan.tasks if t.kind is kind][number]
    new = replace(task, start=task.start + by, end=task.end + by)
    return Plan(tuple(new if t == task else t for t in plan.tasks))


@pytest.mark.parametrize(
    ("kind", "by", "word"),
    [
        (Kind.TEST, -96 * 7, "test starts too early"),
        (Kind.BLOCK, 50, "outside its shifts"),
        (Kind.LOOK, -96, "second look"),
        (Kind.BLOCK, -96 * 3, "set before the first unit is signed off"),
    ],
)
def test_the_checker_sees_a_moved_step(sixty: Building, plan: Plan, kind: Kind, by: int, word: str) -> None:
    assert any(word in text for text in broken(sixty, _moved(plan, kind, 1, by)))


def test_the_checker_counts_kits(sixty: Building, plan: Plan) -> None:
    most = measure(sixty, plan).kits
    assert any("kits in use" in text for text in broken(replace(sixty, kits=most - 1), plan))


def test_the_checker_wants_ways_and_lunch(sixty: Building, plan: Plan) -> None:
    assert any("no time to go" in text for text in broken(replace(sixty, travel=6), plan))
    assert any("no lunch" in text for text in broken(replace(sixty, lunch=12), plan))


def test_a_step_left_out_is_seen(sixty: Building, plan: Plan) -> None:
    assert any("planned 0 times" in text for text in broken(sixty, Plan(plan.tasks[:-1])))


def test_cure_is_counted_in_true_hours_over_a_clock_change() -> None:
    """Clocks go back on 7 November 2027 in this zone: 72 true hours after Friday 14:00 is Monday 13:00 local."""
    zone, start = "America/Chicago", date(2027, 11, 1)
    origin = origin_of(start, zone)
    friday, monday = (slot_of(origin, zone, date(2027, 11, d), time(14)) for d in (5, 8))
    assert 288 + 4 == monday - friday
    assert datetime(2027, 11, 8, 19, 0, tzinfo=UTC) == origin + (friday + 288) * SLOT


def _tiny() -> Building:
    zone, start = "America/Chicago", date(2027, 1, 4)
    shift = shifts(start, zone, 40)
    rooms = tuple(PlanRoom(f"{101 + k}", 1, shift[0].start) for k in range(4))
    return Building(origin_of(start, zone), zone, rooms, (Crew("A", 3, shift),), kits=2)


def test_a_tiny_building_by_hand() -> None:
    """Four rooms, two kits, one crew: two units on Monday, their tests on Thursday, so no third unit before Thursday.

    Its cure ends on Sunday, its test is on Monday, its second look on Tuesday, working day 6 (by hand).
    """
    building = _tiny()
    answer = solve(building, 3.0)
    assert () == broken(building, answer.plan)
    assert 6 <= answer.measures.finish_day
    assert answer.bound.finish_day <= answer.measures.finish_day


def test_the_bound_is_below_every_plan(sixty: Building, plan: Plan) -> None:
    assert finish_bound(sixty, 4.0).finish_day <= measure(sixty, plan).finish_day


def test_replan_moves_the_struck_room_only(sixty: Building, plan: Plan) -> None:
    survey = [t for t in plan.tasks if t.kind is Kind.SURVEY][30]
    now = survey.start - 40
    new = replan(sixty, plan, now, [Slip(survey.room, survey.start + 96)])
    assert () == broken(new.building, new.plan)
    assert new.moved_rooms <= {survey.room}


@pytest.mark.parametrize("what", ["test", "kit", "due"])
def test_replan_after_other_events(sixty: Building, plan: Plan, what: str) -> None:
    tests = [t for t in plan.tasks if t.kind is Kind.TEST]
    now = tests[25].end
    look = next(t for t in plan.tasks if t.kind is Kind.LOOK and t.start > now + 10 * 96)
    event = {
        "test": FailedTest(tests[25].room, now + 100),
        "kit": LostKits(1),
        "due": NewDue(look.room, look.end - 96),
    }[what]
    new = replan(sixty, plan, now, [event])
    assert () == broken(new.building, new.plan, now)
    before = {(t.room, t.kind): t for t in plan.tasks if t.start < now}
    after = {(t.room, t.kind): t for t in new.plan.tasks}
    assert all(after[key] == task for key, task in before.items())


def test_a_project_of_three_jobs() -> None:
    """Two jobs of 3 and 4 that share one resource, then none: 7 by hand."""
    found = shortest(Project((0, 3, 4, 0), ((1, 2), (3,), (3,), ()), ((0,), (1,), (1,), (0,)), (1,)), 5.0)
    assert 7 == found.makespan == found.bound


def test_a_project_file_without_its_parts_is_refused() -> None:
    with pytest.raises(InputError, match=r"project\.sm"):
        read_sm("jobs (incl. supersource/sink ):  2\n")
