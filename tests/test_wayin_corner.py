"""A box round a corner: closed form, the general gap, and the search between proved bounds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.quantity import INCH
from drainward.wayin.cell_bound import most_clearance
from drainward.wayin.clearance import CAP, clearance, gap, sort_walls
from drainward.wayin.corner import corner, ladder, turning
from drainward.wayin.polish import kept_between
from drainward.wayin.route import find_route

CASES = [
    (48, 48, 62, 34, 1.193867),
    (44, 50, 60, 32, 1.784107),
    (42, 42, 60, 30, -0.249783),
    (48, 40, 62, 36, -2.090675),
]


def ell(a: float, b: float, arm: float = 150) -> np.ndarray:
    walls = [(0, 0, arm, 0), (0, 0, 0, arm), (b, a, arm, a), (b, a, b, arm), (arm, 0, arm, a), (0, arm, b, arm)]
    return INCH * np.array(walls, dtype=float)


@pytest.mark.parametrize(("a", "b", "length", "width", "left"), CASES)
def test_the_closed_form(a: float, b: float, length: float, width: float, left: float) -> None:
    assert corner(a, b, length, width).clearance == pytest.approx(left, abs=1e-6)


def test_a_nearly_square_box_slides() -> None:
    found = corner(40, 41, 40.5, 39.5)
    assert (found.clearance, found.turn) == (pytest.approx(0.25), None)
    assert turning(40, 41, 40.5, 39.5).clearance < -1


def test_the_ladder_just_goes() -> None:
    assert ladder(1, 1) == pytest.approx(2 * math.sqrt(2))
    assert turning(2, 4, ladder(2, 4), 0.0).clearance == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("a", "b", "length", "width", "left"), CASES)
def test_the_search_encloses_the_closed_form(a: float, b: float, length: float, width: float, left: float) -> None:
    start, goal = (110 * INCH, a / 2 * INCH, None), (b / 2 * INCH, 110 * INCH, None)
    found = find_route(ell(a, b), length * INCH, width * INCH, start, goal)
    assert found.low <= left * INCH <= found.high
    assert found.high - found.low <= 0.0101 * INCH
    assert sum(contact.weight for contact in found.contacts) == pytest.approx(1)
    walls = sort_walls(ell(a, b), math.hypot(length, width) / 2 * INCH)
    kept = [clearance(walls, length / 2 * INCH, width / 2 * INCH, *(float(v) for v in pose)) for pose in found.poses]
    assert min(kept) >= found.low


def test_an_end_outside_the_plan_is_refused() -> None:
    with pytest.raises(ValueError, match="outside the walls"):
        find_route(ell(48, 48), 1.0, 0.5, (-1.0, 0.5, None), (0.5, 2.0, None))


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.floats(-3, 3), min_size=4, max_size=4),
    st.floats(-1, 1), st.floats(-1, 1), st.floats(0, 3),
    st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(-0.2, 0.2),
)  # fmt: skip
def test_no_move_changes_the_gap_by_more_than_itself(
    wall: list[float], x: float, y: float, turn: float, dx: float, dy: float, dturn: float
) -> None:
    line, long, short = np.array(wall), 0.8, 0.4
    before = gap(long, short, x, y, math.cos(turn), math.sin(turn), line)
    after = gap(long, short, x + dx, y + dy, math.cos(turn + dturn), math.sin(turn + dturn), line)
    assert abs(after - before) <= math.hypot(dx, dy) + math.hypot(long, short) * abs(dturn) + 1e-9


def test_a_nearly_square_box_is_searched_round_the_corner_too() -> None:
    found = find_route(
        ell(40, 41), 40.5 * INCH, 39.5 * INCH, (110 * INCH, 20 * INCH, None), (20.5 * INCH, 110 * INCH, None)
    )
    assert found.low <= 0.25 * INCH <= found.high <= found.low + 0.0101 * INCH


@pytest.mark.parametrize(("a", "b", "length", "width", "left"), CASES)
def test_whether_there_is_a_way_is_known_sooner(a: float, b: float, length: float, width: float, left: float) -> None:
    start, goal = (110 * INCH, a / 2 * INCH, None), (b / 2 * INCH, 110 * INCH, None)
    found = find_route(ell(a, b), length * INCH, width * INCH, start, goal, sign=True)
    assert (found.low > 0) == (left > 0)
    assert (found.high <= 0) == (left < 0)


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 2**32 - 1))
def test_no_pose_of_a_cell_is_clearer_than_its_bound(seed: int) -> None:
    rng = np.random.default_rng(seed)
    walls = sort_walls(rng.uniform(-1.5, 1.5, (9, 4)), 0.9)
    half_length, half_width = np.sort(rng.uniform(0.05, 0.6, 2))[::-1]
    for _ in range(40):
        shift, turn = 10 ** rng.uniform(-4, -0.7, 2)
        x, y, angle = rng.uniform(-1.4, 1.4, 3)
        bound = most_clearance(walls, half_length, half_width, x, y, angle, shift, turn, 9.0)
        moves = np.vstack([rng.uniform(-1, 1, (20, 3)), np.sign(rng.normal(size=(20, 3)))]) * [shift, shift, turn]
        free = [clearance(walls, half_length, half_width, x + d[0], y + d[1], angle + d[2]) for d in moves]
        assert max((f for f in free if f < CAP), default=-9.0) <= bound


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 2**32 - 1))
def test_nothing_is_nearer_between_two_poses_than_is_said(seed: int) -> None:
    rng = np.random.default_rng(seed)
    walls = sort_walls(rng.uniform(-1.5, 1.5, (9, 4)), 0.9)
    half_length, half_width = np.sort(rng.uniform(0.05, 0.6, 2))[::-1]
    for _ in range(40):
        first = rng.uniform(-1.4, 1.4, 3)
        second = first + rng.uniform(-1, 1, 3) * 10 ** rng.uniform(-3, -0.9)
        said = kept_between(walls, half_length, half_width, first, second)
        for share in np.linspace(0, 1, 21):
            x, y, turn = first + share * (second - first)
            assert clearance(walls, half_length, half_width, x, y, turn) >= said - 1e-12


def test_a_way_is_found_straight_into_a_door_that_just_takes_the_box() -> None:
    corridor, door, deep, far = 60.0, 42.0, 96.0, 300.0
    left, right, top = 120.0, 120.0 + door, corridor + 5
    lines = [
        (0, 0, far, 0), (0, 0, 0, corridor), (far, 0, far, corridor), (0, corridor, left, corridor),
        (right, corridor, far, corridor), (left, corridor, left, top), (right, corridor, right, top),
        (left - 60, top, left, top), (right, top, right + 60, top), (left - 60, top, left - 60, top + deep),
        (right + 60, top, right + 60, top + deep), (left - 60, top + deep, right + 60, top + deep),
    ]  # fmt: skip
    walls = INCH * np.array(lines, dtype=float)
    start, goal = (40 * INCH, 30 * INCH, None), ((left + 21) * INCH, (top + 48) * INCH, None)
    # shorter than the corridor is wide, it goes in crosswise: half of what the door, or the corridor, leaves
    found = find_route(walls, 56 * INCH, 38 * INCH, start, goal)
    assert found.low <= 2 * INCH <= found.high <= found.low + 0.0101 * INCH
    found = find_route(walls, 56 * INCH, 43 * INCH, start, goal)
    assert found.high <= -0.49 * INCH
