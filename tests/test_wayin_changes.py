"""What to change at the doors, over ways that are open by the widths of doors alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.quantity import INCH
from drainward.wayin.changes import STEP, Mend, all_mended, altered, mend_words, smallest_change
from drainward.wayin.plan import Door, Plan, Wall


def storey(*doors: Door) -> Plan:
    return Plan("1", tuple(Wall(d.name, ((0.0, d.first[1]), (4.0, d.first[1]))) for d in doors), doors)


def door(
    name: str, width: float, y: float = 0.0, *, head: float | None = None, leaf: str = "", trim: float = 0.0
) -> Door:
    return Door(name, (2.0 - width / 2 * INCH, y), (2.0 + width / 2 * INCH, y), head, leaf, trim * INCH)


def wide(**inches: float) -> Callable[[Plan], bool]:
    """Open where each door is as wide as it must be, and no leaf takes 2 in of it."""

    def opens(plan: Plan) -> bool:
        return all(d.width / INCH - 2 * bool(d.leaf) >= inches[d.name] - 1e-9 for d in plan.doors)

    return opens


def change(plan: Plan, opens: Callable[[Plan], bool], clearance: float = -1e-9, height: float = 2.1) -> str | None:
    found = smallest_change(plan, plan.doors, height, clearance, opens)
    return None if found is None else mend_words(found)


def test_nothing_is_cut_where_a_leaf_or_the_trim_does() -> None:
    plan = storey(door("a", 36, leaf="left", trim=0.75))
    assert change(plan, wide(a=36)) == "take the leaf off door a"
    assert change(plan, wide(a=37)) == "take the leaf off door a and the trim off door a".replace(
        " off door a and", " and"
    )
    assert change(storey(door("a", 36, trim=0.75)), wide(a=37)) == "take the trim off door a"


@given(st.integers(1, 80), st.integers(0, 40))
def test_the_smallest_widening_is_found(steps: int, known: int) -> None:
    plan = storey(door("a", 36))
    need = 36 + steps * STEP / INCH
    clearance = -min(known, steps) * STEP / 2
    found = smallest_change(plan, plan.doors, 2.1, clearance, wide(a=need))
    assert found is not None
    assert found[0].wider == pytest.approx(steps * STEP)


def test_the_door_that_takes_least_is_chosen_and_two_where_one_does_not_do() -> None:
    plan = storey(door("a", 36), door("b", 36, 3.0))

    def either(after: Plan) -> bool:
        return after.doors[0].width >= 39 * INCH - 1e-9 or after.doors[1].width >= 38 * INCH - 1e-9

    assert change(plan, either) == 'widen door b by 2"'
    assert change(plan, wide(a=38, b=39)) == 'widen door a by 2" and widen door b by 3"'
    assert change(plan, wide(a=36, b=39)) == 'widen door b by 3"'


def test_a_leaf_that_may_stay_stays() -> None:
    plan = storey(door("a", 36, leaf="left"))
    assert change(plan, lambda p: p.doors[0].width >= 40 * INCH - 1e-9) == 'widen door a by 4"'
    assert change(plan, wide(a=40)) == 'widen door a by 4", its leaf off'


def test_a_head_is_raised_over_the_box() -> None:
    plan = storey(door("a", 36, head=2.0))
    found = smallest_change(plan, plan.doors, 2.1, 0.0, lambda p: (p.doors[0].head or 9) > 2.1)
    assert found is not None
    assert 0.1 < found[0].higher <= 0.1 + 2 * STEP


def test_nothing_is_said_where_no_door_does() -> None:
    assert change(storey(door("a", 36)), lambda plan: False) is None


def test_a_door_stays_between_the_corner_and_the_next_door() -> None:
    near = Door("a", (0.3, 0.0), (1.2, 0.0))
    plan = Plan("1", (Wall("w", ((0.0, 0.0), (4.0, 0.0))),), (near, Door("b", (1.9, 0.0), (2.8, 0.0))))
    wider = all_mended(plan, 2.0).doors[0]
    assert wider.first[0] > 0.1
    assert wider.second[0] < 1.9
    by = altered(plan, [Mend(near, wider=20 * INCH)]).doors[0]
    assert by.width == pytest.approx(0.9 + 20 * INCH)
    assert by.first[0] == pytest.approx(4.5 * INCH), "framing is kept at the corner, and the other jamb gives the rest"
