"""The counting of days: what a shift can hold, by hand, and that every plan satisfies every row."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from drainward.plan.bound import counted, finish_bound
from drainward.plan.checker import broken, measure
from drainward.plan.counting import Count
from drainward.plan.guided import guided
from drainward.plan.halves import PARTS, Pattern, day_shapes, patterns
from drainward.plan.invented import CASES, invented
from drainward.plan.lists import dispatch, serial
from drainward.plan.model import Building, Kind, Plan, Shift, Work
from drainward.plan.solve import solve

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
            number[day.look] += 1
        else:
            fix = rooms[task.room].correction
            number[day.fix[fix] if fix else day.plain] += 1
    for day in count.days:
        for column in (*day.blocks, *day.tests, *day.corrections.values(), *day.fix.values(), day.plain, day.look):
            count.row([(column, 1.0)], number[column], number[column])


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("make", [dispatch, serial, guided])
@pytest.mark.parametrize("rooms", [12, 60])
def test_every_plan_satisfies_every_row(rooms: int, make, seed: int) -> None:
    building = invented(rooms, *CASES[rooms], seed=seed)
    plan = make(building)
    assert () == broken(building, plan)
    count = counted(building, measure(building, plan).finish_day)
    assert count is not None
    assert PARTS == len(count.days[0].blocks)
    _pin(count, building, plan)
    assert 0 == count.solve(30.0).status


def test_a_plan_with_more_kits_than_there_are_breaks_a_row() -> None:
    building = invented(12, *CASES[12], seed=1)
    plan = dispatch(building)
    fewer = replace(building, kits=measure(building, plan).kits - 3)
    count = counted(fewer, measure(building, plan).finish_day)
    assert count is not None
    _pin(count, fewer, plan)
    assert 2 == count.solve(30.0).status


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
