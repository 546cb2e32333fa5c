"""The moulded shape and the lines on which falls are judged: closed forms, symmetries, and a march to the edge."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import INCH, cone_unit, planes_unit
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.shape import edge_run, fine_axes, moulded, radial_net
from drainward.job.model import UnitModel

sizes = st.floats(0.6, 2.0)
shares = st.floats(0.1, 0.9)
seeds = st.integers(0, 2**32 - 1)


def inside(unit: UnitModel, rng: np.random.Generator, n: int = 200) -> tuple[np.ndarray, np.ndarray]:
    return rng.uniform(0, unit.inside_width, n), rng.uniform(0, unit.inside_depth, n)


def rim_unit(width: float, depth: float, sx: float, sy: float, heights: tuple[float, float, float, float]) -> UnitModel:
    """Heights of the corners back left, back right, front right, front left, m."""
    corners = [(0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth)]
    return planes_unit(width, depth, (sx * width, sy * depth), [(*c, h) for c, h in zip(corners, heights, strict=True)])


@given(st.floats(0.005, 0.1), seeds)
def test_a_cone_falls_alike_in_every_direction_and_is_level_over_the_drain(fall: float, seed: int) -> None:
    unit = cone_unit(fall)
    x, y = inside(unit, np.random.default_rng(seed))
    away = np.hypot(x - unit.drain.x, y - unit.drain.y)
    beyond = away > unit.drain.radius
    np.testing.assert_allclose(moulded(unit, x, y)[beyond], fall * (away[beyond] - unit.drain.radius), atol=1e-15)
    assert (moulded(unit, x, y)[~beyond] == 0).all()


@given(sizes, sizes, shares, shares, st.floats(0.005, 0.05))
def test_a_level_rim_makes_a_pyramid_with_falls_of_height_over_perpendicular_run(
    width: float, depth: float, sx: float, sy: float, rim: float
) -> None:
    unit = rim_unit(width, depth, sx, sy, (rim,) * 4)
    x0, y0 = unit.drain.x, unit.drain.y
    tiny = 1e-4
    runs = {(1, 0): width - x0, (-1, 0): x0, (0, 1): depth - y0, (0, -1): y0}
    for (dx, dy), run in runs.items():
        t = np.array([0.2, 0.5, 0.9]) * run
        z = moulded(unit, x0 + dx * t, y0 + dy * t)
        np.testing.assert_allclose(z, rim * t / run, rtol=1e-7)
        # across the direction of its fall a panel is level
        aside = moulded(unit, x0 + dx * t + dy * tiny, y0 + dy * t + dx * tiny)
        np.testing.assert_allclose(aside, z, rtol=1e-7)
    hips = np.linspace(0, 1, 5)
    for cx, cy in ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth)):
        z = moulded(unit, x0 + hips * (cx - x0), y0 + hips * (cy - y0))
        np.testing.assert_allclose(z, rim * hips, atol=1e-9)


@given(sizes, sizes, shares, shares, st.floats(-0.03, 0.03), st.floats(-0.03, 0.03), shares, seeds)
def test_edge_heights_of_one_plane_make_that_plane(
    width: float, depth: float, sx: float, sy: float, a: float, b: float, extra: float, seed: int
) -> None:
    x0, y0 = sx * width, sy * depth

    def height(x: float, y: float) -> float:
        return a * (x - x0) + b * (y - y0)

    edge = [(0.0, 0.0), (extra * width, 0.0), (width, 0.0), (width, extra * depth), (width, depth), (0.0, depth)]
    unit = planes_unit(width, depth, (x0, y0), [(x, y, height(x, y)) for x, y in edge])
    x, y = inside(unit, np.random.default_rng(seed))
    np.testing.assert_allclose(moulded(unit, x, y), height(x, y), atol=1e-9)


def test_corners_without_a_name_lie_on_the_straight_way_along_the_edge_between_their_neighbours() -> None:
    """Only the middles of the sides are named: back 10, right 20, front 30, left 40 mm on a floor of 1.2 by 0.8 m."""
    middles = [(0.6, 0.0, 0.01), (1.2, 0.4, 0.02), (0.6, 0.8, 0.03), (0.0, 0.4, 0.04)]
    unit = planes_unit(1.2, 0.8, (0.5, 0.3), middles)
    x, y = np.array([0.0, 1.2, 1.2, 0.0]), np.array([0.0, 0.0, 0.8, 0.8])
    # from one middle to the next it is 0.6 m along the long side and 0.4 m along the short one
    expected = [
        (0.4 * 0.01 + 0.6 * 0.04),
        (0.4 * 0.01 + 0.6 * 0.02),
        (0.4 * 0.03 + 0.6 * 0.02),
        (0.4 * 0.03 + 0.6 * 0.04),
    ]
    np.testing.assert_allclose(moulded(unit, x, y), expected, atol=1e-9)


@given(sizes, sizes, shares, shares, seeds)
def test_mirrored_and_turned_units_have_mirrored_and_turned_floors(
    width: float, depth: float, sx: float, sy: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    a, b, c, d = (float(h) for h in rng.uniform(0.005, 0.03, 4))
    unit = rim_unit(width, depth, sx, sy, (a, b, c, d))
    x, y = inside(unit, rng)
    z = moulded(unit, x, y)
    mirror = rim_unit(width, depth, 1 - sx, sy, (b, a, d, c))
    np.testing.assert_allclose(moulded(mirror, width - x, y), z, atol=1e-9)
    half_turn = rim_unit(width, depth, 1 - sx, 1 - sy, (c, d, a, b))
    np.testing.assert_allclose(moulded(half_turn, width - x, depth - y), z, atol=1e-9)
    swapped = rim_unit(depth, width, sy, sx, (a, d, c, b))
    np.testing.assert_allclose(moulded(swapped, y, x), z, atol=1e-9)


@given(sizes, sizes, shares, shares, seeds)
def test_height_grows_in_proportion_on_every_ray_up_to_the_edge(
    width: float, depth: float, sx: float, sy: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    heights = tuple(float(h) for h in rng.uniform(-0.01, 0.03, 4))
    unit = rim_unit(width, depth, sx, sy, heights)  # type: ignore[arg-type]
    angle = rng.uniform(-np.pi, np.pi, 50)
    run = edge_run(unit, angle) * 0.999
    edge = moulded(unit, unit.drain.x + run * np.cos(angle), unit.drain.y + run * np.sin(angle))
    for share in (0.1, 0.6):
        z = moulded(unit, unit.drain.x + share * run * np.cos(angle), unit.drain.y + share * run * np.sin(angle))
        np.testing.assert_allclose(z, share * edge, atol=1e-9)
    assert edge.min() / 0.999 >= min(heights) - 1e-9
    assert edge.max() / 0.999 <= max(heights) + 1e-9


@given(sizes, sizes, shares, shares, seeds)
def test_edge_run_is_where_a_march_from_the_drain_leaves_the_floor(
    width: float, depth: float, sx: float, sy: float, seed: int
) -> None:
    unit = rim_unit(width, depth, sx, sy, (0.02,) * 4)
    right_angles = np.array([0.0, 0.5, 1.0, 1.5, -0.5]) * np.pi
    angle = np.concatenate([right_angles, np.random.default_rng(seed).uniform(-4, 8, 40)])
    low, high = np.zeros(len(angle)), np.full(len(angle), 4.0)
    for _ in range(50):
        middle = (low + high) / 2
        x, y = unit.drain.x + middle * np.cos(angle), unit.drain.y + middle * np.sin(angle)
        within = (x >= 0) & (x <= width) & (y >= 0) & (y <= depth)
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    np.testing.assert_allclose(edge_run(unit, angle), low, rtol=1e-9)


@given(sizes, sizes, shares, shares, st.floats(0.1, 0.4))
def test_the_net_lies_on_the_floor_on_lines_through_the_drain(
    width: float, depth: float, sx: float, sy: float, base: float
) -> None:
    unit = rim_unit(width, depth, sx, sy, (0.02,) * 4)
    net = radial_net(unit, base, lines=24)
    assert net.x.min() >= -1e-9 and net.x.max() <= width + 1e-9
    assert net.y.min() >= -1e-9 and net.y.max() <= depth + 1e-9
    dx, dy = net.x - unit.drain.x, net.y - unit.drain.y
    away = np.hypot(dx, dy)
    assert away.min() >= unit.drain.radius - 1e-9
    angle = np.arctan2(dy, dx)[net.outer]
    for end in (net.inner, net.outer):
        np.testing.assert_allclose(dx[end] * np.sin(angle) - dy[end] * np.cos(angle), 0, atol=1e-9)
    np.testing.assert_allclose(away[net.outer] - away[net.inner], net.length, rtol=1e-9)
    run = edge_run(unit, angle) - unit.drain.radius
    np.testing.assert_allclose(net.length, np.minimum(base, run), rtol=1e-9)
    assert (net.length >= base / 2 - 1e-12).all()


@given(sizes, sizes, shares, shares, st.floats(0.1, 0.4))
def test_bases_slide_from_the_rim_to_the_edge_by_an_inch_at_most(
    width: float, depth: float, sx: float, sy: float, base: float
) -> None:
    unit = rim_unit(width, depth, sx, sy, (0.02,) * 4)
    net = radial_net(unit, base, lines=16)
    away = np.hypot(net.x - unit.drain.x, net.y - unit.drain.y)
    corners = [np.arctan2(y - unit.drain.y, x - unit.drain.x) for x in (0.0, width) for y in (0.0, depth)]
    wished = np.array([*(2 * np.pi * np.arange(16) / 16), *corners])
    runs = edge_run(unit, wished) - unit.drain.radius
    assert len(set(net.line.tolist())) == (runs >= base / 2).sum()
    for line in set(net.line.tolist()):
        outer = net.outer[net.line == line]
        angle = np.arctan2(net.y[outer[0]] - unit.drain.y, net.x[outer[0]] - unit.drain.x)
        assert np.abs((angle - wished + np.pi) % (2 * np.pi) - np.pi).min() < 1e-9
        starts = np.sort(away[net.inner[net.line == line]])
        assert starts[0] == pytest.approx(unit.drain.radius)
        assert away[outer].max() == pytest.approx(float(edge_run(unit, angle)))
        assert np.diff(starts).max(initial=0.0) <= INCH + 1e-9


@given(sizes, sizes, st.floats(0.003, 0.05))
def test_the_grid_ends_on_the_edges_and_is_about_as_fine_as_asked(width: float, depth: float, step: float) -> None:
    unit = rim_unit(width, depth, 0.5, 0.5, (0.02,) * 4)
    for nodes, size in zip(fine_axes(unit, step), (width, depth), strict=True):
        assert nodes[0] == 0
        assert nodes[-1] == pytest.approx(size)
        gaps = np.diff(nodes)
        np.testing.assert_allclose(gaps, gaps[0], rtol=1e-9)
        assert abs(len(nodes) - 1 - size / step) <= 0.5 + 1e-9
