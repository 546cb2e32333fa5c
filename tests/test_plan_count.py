"""The counting of days: what a shift can hold, by hand, and that every plan satisfies every row."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest

from drainward.plan.bound import Start, counted, finish_bound
from drainward.plan.checker import broken, measure
from drainward.plan.clock import origin_of, shifts
from drainward.plan.counting import Count
from drainward.plan.guide import Course, Taste
from drainward.plan.guided import guided
from drainward.plan.halves import PARTS, Pattern, day_shapes, patterns
from drainward.plan.invented import CASES, invented
from drainward.plan.lists import dispatch, serial
from drainward.plan.model import Building, Crew, Kind, Plan, PlanRoom, Shift, Task, Work
from drainward.plan.oneday import best_day
from drainward.plan.solve import solve
from drainward.plan.state import State

DAY = Shift(0, 0, 34, 14, 26)
"""A shift of 8 1/2 h, its break of half an hour within 3 1/2 to 6 1/2 h from its start."""
RANGES = ((0, 4), (5, 9), (16, 17), (18, 19))


def _by_blocks() -> dict[tuple[int, ...], Pattern]:
    return {pattern.blocks: pattern for pattern in patterns(DAY, 2, Work(), (), RANGES)}


def test_the_parts_of_a_day_by_hand() -> None:
    """A block takes 15 slots: it starts by slot 9, and the break ends the window at 26, or from 14 + 2 to 34 - 15."""
    building = invented(12, *CASES[12])
    shape = day_shapes(building, [0])[0]
    assert RANGES == tuple((a - shape.start, b - shape.start) for a, b in zip(shape.first, shape.last, strict=True))
    # a kit is taken twelve slots into the block
    assert [16, 21, 29, 31] == [moment - shape.start for moment in shape.moments]


def test_two_blocks_leave_one_short_step() -> None:
    """34 - 2 - 30 = 2 slots: before the first where the second starts last, else only at the end of the day."""
    found = _by_blocks()
    twice = {blocks for blocks in found if sum(blocks) == 2}
    assert {(1, 0, 1, 0), (1, 0, 0, 1)} == twice
    assert (2, 2, 2, 2) == found[1, 0, 0, 1].free
    assert (0, 0, 0, 0) == found[1, 0, 1, 0].free


def test_a_block_later_in_the_morning_leaves_no_time_between_the_first_moments() -> None:
    """It starts at 5 to 9 and ends at 20 to 24; from slot 15 to 21 one slot is left, where it starts first."""
    assert 1 == _by_blocks()[0, 1, 0, 0].between[0]


def _pin(count: Count, building: Building, plan: Plan) -> None:
    """The plan's own numbers, as rows."""
    rooms = {room.id: room for room in building.rooms}
    number: Counter[int] = Counter()
    for task in plan.tasks:
        if task.room == building.first:
            continue
        k = next(k for k, shape in enumerate(count.shapes) if shape.start <= task.start < shape.end)
        shape, day = count.shapes[k], count.days[k]
        if task.kind is Kind.BLOCK:
            number[day.blocks[sum(task.start > last for last in shape.last)]] += 1
        elif task.kind is Kind.TEST:
            number[day.tests[sum(task.end > moment for moment in shape.moments)]] += 1
        elif task.kind is Kind.CORRECTION:
            number[day.corrections[task.end - task.start]] += 1
        elif task.kind is Kind.LOOK:
            window = next(w for w, (a, b) in enumerate(shape.windows) if a <= task.start < b)
            number[day.looks[window]] += 1
        else:
            fix = rooms[task.room].correction
            number[day.fix[fix] if fix else day.plain] += 1
    for day in count.days:
        for column in (*day.blocks, *day.tests, *day.corrections.values(), *day.fix.values(), day.plain, *day.looks):
            count.row([(column, 1.0)], number[column], number[column])


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("make", [dispatch, serial, guided])
@pytest.mark.parametrize("rooms", [12, 60])
def test_every_plan_satisfies_every_row(rooms: int, make, seed: int) -> None:
    building = invented(rooms, *CASES[rooms], seed=seed)
    plan = make(building)
    assert () == broken(building, plan)
    count = counted(Start(building), measure(building, plan).finish_day)
    assert count is not None
    assert PARTS == len(count.days[0].blocks)
    _pin(count, building, plan)
    assert 0 == count.solve(30.0).status


def test_a_plan_with_more_kits_than_there_are_breaks_a_row() -> None:
    building = invented(12, *CASES[12], seed=1)
    plan = dispatch(building)
    fewer = replace(building, kits=measure(building, plan).kits - 3)
    count = counted(Start(fewer), measure(building, plan).finish_day)
    assert count is not None
    _pin(count, fewer, plan)
    assert 2 == count.solve(30.0).status


@pytest.mark.parametrize("day", [0, 2, 5, 9, 14, 20])
@pytest.mark.parametrize("rooms", [12, 60])
def test_around_begun_work_the_bound_is_below_the_plan(rooms: int, day: int) -> None:
    building = invented(rooms, *CASES[rooms], seed=2)
    plan = guided(building, trials=2)
    now = building.crews[0].shifts[day].start + 7
    done = [task for task in plan.tasks if task.start < now]
    finish = measure(building, plan).finish_day
    if len(done) < len(plan.tasks):
        assert day <= finish_bound(building, 2.0, done, now).finish_day <= finish


def test_the_bound_knows_kits_that_are_out() -> None:
    """Two units stand braced since Monday, no third kit: two more are set on Thursday and looked at on Tuesday, day 6.

    With more kits they are set on Tuesday, day 1, tested on Friday and looked at on Monday, day 5 (both by hand).
    """
    zone, begin = "America/Chicago", date(2027, 1, 4)
    shift = shifts(begin, zone, 40)
    rooms = tuple(PlanRoom(f"{101 + k}", 1, shift[0].start) for k in range(4))
    building = Building(origin_of(begin, zone), zone, rooms, (Crew("A", 3, shift),), kits=2)
    monday = shift[0].start
    done = [Task(room.id, Kind.SURVEY, ("A",), monday - 2, monday) for room in rooms]
    done += [
        Task(r.id, Kind.BLOCK, ("A",), monday + at, monday + at + 15) for r, at in zip(rooms, (0, 17), strict=False)
    ]
    now = shift[1].start
    assert 6 == finish_bound(building, 5.0, done, now).finish_day
    assert 5 == finish_bound(replace(building, kits=4), 5.0, done, now).finish_day


@pytest.mark.parametrize("seed", [1, 2])
def test_twelve_rooms_are_proven(seed: int) -> None:
    building = invented(12, *CASES[12], seed=seed)
    answer = solve(building, 10.0)
    assert answer.proven
    assert () == broken(building, answer.plan)


def test_the_bound_needs_some_time_only() -> None:
    """With no time at all, what the hours alone need is left, never more than with it."""
    building = invented(12, *CASES[12], seed=1)
    assert 0 < finish_bound(building, 0.0).finish_day <= finish_bound(building, 5.0).finish_day


def test_a_plan_is_made_in_a_thread_of_a_server() -> None:
    """Its processes are fresh ones: a fork would take along locks that other threads hold."""
    with ThreadPoolExecutor(1) as threads:
        answer = threads.submit(solve, invented(12, *CASES[12], seed=1), 10.0).result(60.0)
    assert answer.proven


def test_second_looks_fit_only_where_a_crew_is_free_while_an_inspector_is_there() -> None:
    """An inspector from 26 to 32: a second block of the day covers all of it, a block at 9 to 24 none."""
    found = {p.blocks: p for p in patterns(DAY, 2, Work(), (), RANGES, ((26, 32),))}
    assert (0,) == found[1, 0, 1, 0].looks
    assert (0,) == found[1, 0, 0, 1].looks
    assert (6,) == found[0, 1, 0, 0].looks
    assert (6,) == found[0, 0, 0, 0].looks


def test_short_steps_need_two_slots_in_a_row() -> None:
    """Two blocks leave 2 of 34 slots, one step; one block leaves 17, an odd number: 8 steps, and a slot is lost."""
    found = _by_blocks()
    assert 1 == found[1, 0, 0, 1].short
    assert 8 == found[0, 1, 0, 0].short
    assert 16 == found[0, 0, 0, 0].short


def test_a_course_gets_all_done_and_tells_what_is_behind() -> None:
    building = invented(12, *CASES[12], seed=1)
    state = State(building)
    course = Course(state, 0, Taste())
    last = course.by_day[-1]
    assert last == pytest.approx({name: float(number) for name, number in course.total.items()}, abs=1e-6)
    for before, after in pairwise(course.by_day):
        assert all(after[name] >= before[name] - 1e-6 for name in before)
    count = Count(building, state.shapes, state.left(), strict=True)
    behind = course.missing(count, len(course.by_day) - 1)
    assert behind == pytest.approx(last), "nothing is done yet"


def _day_of(*floors: int, crews: int = 1) -> tuple[State, int]:
    """Crews, and rooms on these floors that only wait to be set."""
    start = date(2027, 1, 4)
    days = shifts(start, "UTC", 14)
    rooms = tuple(PlanRoom(str(k), floor, 0) for k, floor in enumerate(floors))
    who = tuple(Crew(chr(65 + k), 2, days) for k in range(crews))
    building = Building(origin_of(start, "UTC"), "UTC", rooms, who, kits=4)
    surveyed = [Task(room.id, Kind.SURVEY, ("A",), -2 * k - 2, -2 * k) for k, room in enumerate(rooms)]
    state = State(building, surveyed)
    return state, state.days[0]


@pytest.mark.parametrize(("floors", "units"), [((1, 1, 1), 2), ((1, 2, 2), 2), ((1,), 1)])
def test_one_day_by_itself_sets_what_fits(floors: tuple[int, ...], units: int) -> None:
    state, day = _day_of(*floors)
    worth = {(room.id, Kind.BLOCK): 15.0 for room in state.building.rooms}
    found = best_day(state, day, worth, [], {}, 5.0)
    assert units == len(found)
    for task in found:
        state.put(task.room, task.kind, task.crews, task.start)
    assert all(one.end <= other.start for one, other in pairwise(found))


def test_one_day_keeps_to_what_is_wanted_and_to_what_is_worth_most() -> None:
    state, day = _day_of(1, 1, 1)
    worth = {("0", Kind.BLOCK): 1.0, ("1", Kind.BLOCK): 9.0, ("2", Kind.BLOCK): 5.0}
    most = [(list(worth), 1)]
    assert ["1"] == [task.room for task in best_day(state, day, worth, most, {}, 5.0)]
