"""A box round a corner: closed form, the general gap, and the search between proved bounds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.quantity import INCH
from drainward.wayin.clearance import clearance, gap, sort_walls
from drainward.wayin.corner import corner, ladder, turning
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
