"""Runs, ratios and moulded falls: published ratios, closed forms, mirrors, and the floor's own shape as a witness."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shower_units import CORNERS, INCH, cone, level, planes

from drainward.job.model import UnitModel
from drainward.rules.runs import best_drain, falls, is_level, run_ratio, wall_runs

sides = st.floats(24, 72)
parts = st.floats(0.15, 0.85)
rims = st.lists(st.floats(0.1, 2.0), min_size=4, max_size=4)


def test_runs_of_a_drain_off_centre() -> None:
    assert {"left": 12, "right": 48, "back": 10, "front": 20} == wall_runs(60, 30, 12, 10)
    assert run_ratio(60, 30, 12, 10) == 4.8


@pytest.mark.parametrize(
    ("width", "depth", "ratio"),
    [
        (60, 30, 2.0),  # the IRC window of 2 to 4 percent allows 2.0
        (1800, 900, 2.0),  # pcgroup.net.au on NCC 2022: "cannot possibly have a single floor waste" (1.6)
        (36, 36, 1.0),
        (60, 36, 5 / 3),
    ],
)
def test_centred_drain(width: float, depth: float, ratio: float) -> None:
    x, y, best = best_drain(width, depth)
    assert ratio == pytest.approx(best)
    assert ratio == pytest.approx(run_ratio(width, depth, x, y))


@given(sides, sides, parts, parts)
def test_no_drain_place_beats_the_centre(width: float, depth: float, px: float, py: float) -> None:
    assert run_ratio(width, depth, px * width, py * depth) >= best_drain(width, depth)[2] - 1e-9


def test_level_rim_falls_height_over_run() -> None:
    moulded = falls(level(60, 30, (20, 12), 0.6))
    expected = {"left": 0.6 / 20, "right": 0.6 / 40, "back": 0.6 / 12, "front": 0.6 / 18}
    assert expected == pytest.approx(moulded.walls)
    assert (0.6 / 40, "right") == (pytest.approx(moulded.least), moulded.flattest)
    assert 0.6 / 12 == pytest.approx(moulded.greatest)
    assert 0.6 / 12 == pytest.approx(moulded.any)
    assert 0.6 / math.hypot(40, 18) == pytest.approx(moulded.corner)


def test_one_tilted_plane_is_found_as_one_slope() -> None:
    """Rim heights of one plane, 3 % down to the right and 1 % down to the back, over a drain near that corner."""
    moulded = falls(planes(60, 30, (58, 2), [58 * 0.03 - 2 * 0.01, -2 * 0.03 - 2 * 0.01, -0.06 + 0.28, 1.74 + 0.28]))
    assert math.hypot(0.03, 0.01) == pytest.approx(moulded.any)


def test_cone_falls_alike_all_round() -> None:
    moulded = falls(cone(36, 36, (18, 18), 0.0156))
    assert [0.0156] * 4 == [moulded.least, moulded.greatest, moulded.any, moulded.corner]


def test_level_is_level_and_nothing_else_is() -> None:
    assert is_level(level(60, 30, (30, 15), 0.6))
    assert not is_level(planes(60, 30, (30, 15), [0.6, 0.6, 0.5, 0.5]))
    assert not is_level(cone(60, 30, (30, 15), 0.02))


@given(sides, sides, parts, parts, rims)
def test_mirror_left_to_right(width: float, depth: float, px: float, py: float, rim: list[float]) -> None:
    here = falls(planes(width, depth, (px * width, py * depth), rim))
    a, b, c, d = rim
    there = falls(planes(width, depth, (width - px * width, py * depth), [b, a, d, c]))
    swap = {"left": "right", "right": "left", "back": "back", "front": "front"}
    assert here.walls == pytest.approx({swap[wall]: fall for wall, fall in there.walls.items()})
    assert (here.greatest, here.any, here.corner) == pytest.approx((there.greatest, there.any, there.corner))


@given(sides, sides, parts, parts, rims, st.floats(0.5, 2.0))
def test_falls_scale_with_the_rim(
    width: float, depth: float, px: float, py: float, rim: list[float], scale: float
) -> None:
    here = falls(planes(width, depth, (px * width, py * depth), rim))
    there = falls(planes(width, depth, (px * width, py * depth), [scale * height for height in rim]))
    assert scale * here.least == pytest.approx(there.least)
    assert scale * here.greatest == pytest.approx(there.greatest)


def _radial(unit: UnitModel, angles: int) -> np.ndarray:
    """Falls toward the drain along lines from the edge, read off the named heights by walking the edge."""
    w, d, x, y = unit.inside_width, unit.inside_depth, unit.drain.x, unit.drain.y
    named = [(p.x, p.y, p.height) for p in unit.floor.heights]
    found = []
    for (ax, ay, ah), (bx, by, bh) in zip(named, named[1:] + named[:1], strict=True):
        for t in np.linspace(0, 1, angles):
            px, py, height = ax + t * (bx - ax), ay + t * (by - ay), ah + t * (bh - ah)
            assert min(abs(px), abs(w - px), abs(py), abs(d - py)) < 1e-9
            found.append(height / math.hypot(px - x, py - y))
    return np.array(found)


@given(sides, sides, parts, parts, rims)
def test_falls_bound_every_line_to_the_drain(
    width: float, depth: float, px: float, py: float, rim: list[float]
) -> None:
    unit = planes(width, depth, (px * width, py * depth), rim)
    moulded, lines = falls(unit), _radial(unit, 400)
    assert lines.min() == pytest.approx(moulded.corner, rel=1e-9)
    assert lines.max() <= moulded.greatest * (1 + 1e-9)
    assert lines.max() == pytest.approx(moulded.greatest, rel=2e-3)


def test_corners_that_are_not_named_lie_between_their_neighbours() -> None:
    middles = ((0.5, 0.0), (1.0, 0.5), (0.5, 1.0), (0.0, 0.5))
    unit = planes(60, 30, (30, 15), [0.4, 0.8, 0.4, 0.8], at=middles)
    corner = 0.4 + (0.8 - 0.4) * 30 / 45  # 30 in along the back wall, then 15 in along the side
    turns = (*CORNERS[1:], CORNERS[0])
    both = [point for pair in zip(middles, turns, strict=True) for point in pair]
    whole = planes(60, 30, (30, 15), [0.4, corner, 0.8, corner] * 2, at=both)
    assert falls(whole).walls == pytest.approx(falls(unit).walls)
    assert falls(whole).corner == pytest.approx(falls(unit).corner)
    assert INCH * 15 == pytest.approx(falls(unit).runs["back"])
