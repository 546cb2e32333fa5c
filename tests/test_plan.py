"""The plan of a building: every plan is checked by the independent checker, and the checker is shown to fail."""

from dataclasses import replace
from datetime import UTC, date, datetime, time

import pytest

from drainward.errors import InputError
from drainward.plan.bound import finish_bound
from drainward.plan.checker import broken, kits_in_use, measure
from drainward.plan.clock import origin_of, shifts, slot_of
from drainward.plan.guided import guided
from drainward.plan.invented import CASES, invented
from drainward.plan.lists import dispatch, serial
from drainward.plan.mend import without_kit
from drainward.plan.model import SLOT, Building, Crew, Kind, Plan, PlanRoom, Task
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
        (Kind.LOOK, -96 * 4, "second look"),
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


def test_a_kit_lost_while_a_unit_is_being_set_is_told_and_all_else_keeps_to_the_kits(
    sixty: Building, plan: Plan
) -> None:
    """The unit keeps its kit, though there are too few; whoever would take one after it gives way."""
    blocks = [t for t in plan.tasks if t.kind is Kind.BLOCK]
    first = next(t for t in blocks if dict(kits_in_use(sixty, plan))[t.start + sixty.work.brace_at] == sixty.kits)
    now = first.start + sixty.work.brace_at
    new = replan(sixty, plan, now, [LostKits(1)])
    assert () == broken(new.building, new.plan, now)
    assert any(first.room in text and "being set, and 1 sets of braces too few" in text for text in new.says)
    assert first in new.plan.tasks
    moved = without_kit(new.building, plan, now, ())
    assert new.moved_rooms == set(moved) != set()


def test_the_fewest_give_up_their_kits_by_hand() -> None:
    """Three units hold kits over Mon-Thu, Mon-Fri and Tue-Thu; with two kits it is enough that the second waits."""
    shape = _tiny()
    day = [s.start for s in shape.crews[0].shifts]
    spans = {"101": (day[0], day[3]), "102": (day[0] + 15, day[4]), "103": (day[1], day[3] + 2)}
    tasks = [
        Task(room, kind, ("A",), at, at + length)
        for room, (a, b) in spans.items()
        for kind, at, length in ((Kind.BLOCK, a, 15), (Kind.TEST, b, 2))
    ]
    assert ["102"] == list(without_kit(replace(shape, kits=2), Plan(tuple(tasks)), day[0], ()))
    assert ["103"] == list(without_kit(replace(shape, kits=2), Plan(tuple(tasks)), day[1], ()))


def test_many_struck_rooms_are_mended_together(sixty: Building, plan: Plan) -> None:
    now = [t for t in plan.tasks if t.kind is Kind.TEST][20].end
    late = [t for t in plan.tasks if t.kind is Kind.SURVEY and t.start >= now][:15]
    new = replan(sixty, plan, now, [Slip(t.room, t.start + 2 * 96) for t in late])
    assert () == broken(new.building, new.plan, now)
    assert {t.room for t in late} <= new.moved_rooms


def test_a_date_that_cannot_be_kept_is_told(sixty: Building, plan: Plan) -> None:
    now = [t for t in plan.tasks if t.kind is Kind.TEST][25].end
    look = next(t for t in plan.tasks if t.kind is Kind.LOOK and t.start > now + 10 * 96)
    new = replan(sixty, plan, now, [NewDue(look.room, now + 96)])
    assert () == broken(new.building, new.plan, now)
    assert [text.split(":")[0] for text in new.says] == [look.room]


def test_others_wait_where_that_keeps_a_new_date() -> None:
    """Two kits: whoever is set on Monday is done first; the last room gets that turn where its date asks for it."""
    building = _tiny()
    plan = dispatch(building)
    looks = sorted((t.end, t.room) for t in plan.tasks if t.kind is Kind.LOOK)
    last = looks[-1][1]
    new = replan(building, plan, 0, [NewDue(last, looks[1][0] + 34)])
    assert () == broken(new.building, new.plan)
    assert () == new.says
    assert {move.why for move in new.moves if move.room != last} == {f"makes way for {last}"}


def test_a_project_of_three_jobs() -> None:
    """Two jobs of 3 and 4 that share one resource, then none: 7 by hand."""
    found = shortest(Project((0, 3, 4, 0), ((1, 2), (3,), (3,), ()), ((0,), (1,), (1,), (0,)), (1,)), 5.0)
    assert 7 == found.makespan == found.bound


def test_a_project_file_without_its_parts_is_refused() -> None:
    with pytest.raises(InputError, match=r"project\.sm"):
        read_sm("jobs (incl. supersource/sink ):  2\n")
