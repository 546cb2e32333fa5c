"""Falls toward the drain on floors that are known, and the ways of the water."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, cone_unit, dip, level_unit, still, surface
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.floor.fall import extreme, falls, steepest_lines
from drainward.floor.shape import edge_run, radial_net
from drainward.floor.surface import surfaces

FOOT = 12 * INCH
leans = st.floats(-0.02, 0.02)


@settings(max_examples=8)
@given(st.floats(0.005, 0.06))
def test_every_fall_of_a_cone_is_the_cones(fall: float) -> None:
    unit = cone_unit(fall)
    of = falls(surfaces(still(), unit, INCH / 4), radial_net(unit, FOOT))
    np.testing.assert_allclose(of.fall, fall, rtol=0.005)
    np.testing.assert_array_equal(of.least, of.fall.min(axis=0))
    np.testing.assert_array_equal(of.greatest, of.fall.max(axis=0))


@settings(max_examples=10)
@given(leans, leans)
def test_a_lean_adds_itself_times_the_cosine_of_the_direction(a: float, b: float) -> None:
    unit = cone_unit(0.03)
    net = radial_net(unit, FOOT, lines=32)
    level, leaning = (falls(surfaces(still(plane=p), unit, INCH / 4), net).fall for p in ((0.0, 0.0), (a, b)))
    angle = np.arctan2(net.y[net.outer] - unit.drain.y, net.x[net.outer] - unit.drain.x)
    expected = a * np.cos(angle) + b * np.sin(angle)
    np.testing.assert_allclose(leaning - level, np.broadcast_to(expected[:, None], level.shape), atol=3e-5)


def test_falls_of_planes_are_height_over_perpendicular_run_times_the_cosine() -> None:
    """A pyramid with a level rim: on a ray at angle t to a wall's normal the fall is H / run · cos t."""
    rim = 0.02
    unit = level_unit()
    unit = unit.model_copy(
        update={"floor": unit.floor.model_copy(update={"heights": tuple(
            h.model_copy(update={"height": rim}) for h in unit.floor.heights)})}
    )  # fmt: skip
    net = radial_net(unit, FOOT, lines=32)
    of = falls(surfaces(still(), unit, INCH / 4), net)
    angle = np.arctan2(net.y[net.outer] - unit.drain.y, net.x[net.outer] - unit.drain.x)
    np.testing.assert_allclose(of.fall[:, 0], rim / edge_run(unit, angle), rtol=1e-5)


def test_a_floor_that_runs_from_the_drain_has_negative_falls() -> None:
    unit = cone_unit(0.03)
    upside_down = surface(unit, lambda x, y: -0.02 * np.hypot(x - unit.drain.x, y - unit.drain.y))
    assert (falls(upside_down, radial_net(unit, FOOT)).fall < -0.019).all()


def test_two_threads_give_what_one_gives() -> None:
    unit = cone_unit(0.03)
    drawn = surfaces(still(plane=(0.01, 0.0), count=40), unit, INCH)
    net = radial_net(unit, FOOT, lines=12)
    np.testing.assert_array_equal(falls(drawn, net, 1).fall, falls(drawn, net, 2).fall)


def test_extremes_stand_where_the_defect_makes_them() -> None:
    """A rise half way to the right wall: before its top the fall is greatest, behind it least.

    On the line of the rise the fall over a base that starts at r is 0.03 + (bump(r + base) - bump(r)) / base.
    """
    unit = cone_unit(0.03)
    x0, half, height = unit.drain.x + 15 * INCH, 2 * INCH, 0.1 * INCH
    of = falls(surfaces(dip(unit, x0, unit.drain.y, half, height), unit, INCH / 4), radial_net(unit, FOOT))
    least, greatest = extreme(of, least=True), extreme(of, least=False)
    # least: from the top outward; greatest: from the drain's side up to the top
    assert least.likely == pytest.approx(0.03 - height / FOOT, rel=0.02)
    assert greatest.likely == pytest.approx(0.03 + height / FOOT, rel=0.02)
    assert least.y == pytest.approx(unit.drain.y, abs=2 * INCH) and greatest.y == pytest.approx(
        unit.drain.y, abs=2 * INCH
    )
    assert least.x == pytest.approx(x0 + FOOT / 2, abs=INCH)
    assert greatest.x == pytest.approx(x0 - FOOT / 2, abs=INCH)
    for found in (least, greatest):
        assert found.interval[0] <= found.likely <= found.interval[1]
        assert found.value == pytest.approx(sum(found.interval) / 2)


def test_an_extreme_is_as_unsure_as_the_floors_differ() -> None:
    unit = cone_unit(0.03)
    rng = np.random.default_rng(0)
    slopes = 0.004 * rng.standard_normal(160)
    drawn = surface(
        unit,
        *(lambda x, y, a=a: 0.03 * np.hypot(x - unit.drain.x, y - unit.drain.y) + a * x for a in slopes),
        step=INCH / 2,
    )
    found = extreme(falls(drawn, radial_net(unit, FOOT)), least=True)
    least = 0.03 - np.abs(slopes)
    assert found.likely == pytest.approx(np.median(least), abs=2e-4)
    inside = (least >= found.interval[0]) & (least <= found.interval[1])
    assert 0.93 <= inside.mean() < 1.0
    assert found.u == pytest.approx((found.interval[1] - found.interval[0]) / 2 / 1.96)


def grid() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    x, y = np.linspace(0, WIDTH, 241), np.linspace(0, DEPTH, 145)
    return x, y, *np.meshgrid(x, y)


def test_water_on_a_cone_runs_straight_to_the_drain() -> None:
    x, y, gx, gy = grid()
    drain = (0.6, 0.5, 0.03)
    lines = steepest_lines(x, y, 0.02 * np.hypot(gx - 0.6, gy - 0.5), drain)
    assert len(lines) == 24
    for line in lines:
        ray = line[0] - (0.6, 0.5)
        off = np.cross(np.column_stack([line - (0.6, 0.5), np.zeros(len(line))]), [*ray / np.hypot(*ray), 0])[:, 2]
        assert np.abs(off).max() < 0.01
        assert np.hypot(*(line[-1] - (0.6, 0.5))) < 0.05
        away = np.hypot(*(line - (0.6, 0.5)).T)
        assert (np.diff(away) < 0).all()


def test_water_stops_in_a_pond_and_on_a_flat() -> None:
    x, y, gx, gy = grid()
    bowl = steepest_lines(x, y, (gx - 1.2) ** 2 + (gy - 0.3) ** 2, (9.0, 9.0, 0.03))
    ends = np.array([line[-1] for line in bowl])
    assert (np.hypot(ends[:, 0] - 1.2, ends[:, 1] - 0.3) < 0.03).all()
    flat = steepest_lines(x, y, 0 * gx, (0.3, 0.6, 0.03))
    assert all(len(line) == 1 for line in flat)


def test_water_starts_along_the_whole_edge() -> None:
    x, y, gx, gy = grid()
    starts = np.array([line[0] for line in steepest_lines(x, y, np.hypot(gx - 0.7, gy - 0.4), (0.7, 0.4, 0.03))])
    near = np.minimum.reduce([starts[:, 0], WIDTH - starts[:, 0], starts[:, 1], DEPTH - starts[:, 1]])
    assert near.max() < 0.02
    for side in (starts[:, 0] < 0.1, starts[:, 0] > WIDTH - 0.1, starts[:, 1] < 0.1, starts[:, 1] > DEPTH - 0.1):
        assert side.sum() >= 3
