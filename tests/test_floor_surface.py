"""Fine surfaces: the same floors as drawn, part by part, at nodes and between them, in every lane."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, cone_unit, level_unit, still, surface
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.floor.abreast.lanes import LANES, unpack
from drainward.floor.belief import Floors
from drainward.floor.belief.defects import RIDGE, SPOT, STEP, dictionary
from drainward.floor.belief.field import lattice
from drainward.floor.shape import moulded
from drainward.floor.surface import surfaces

UNIT = cone_unit()
SHAPES, _ = dictionary(WIDTH, DEPTH)
seeds = st.integers(0, 2**32 - 1)


def floors(count: int, seed: int, forms: tuple[int, ...] = (SPOT, RIDGE, STEP)) -> Floors:
    """Random floors with a smooth field, a plane and two defects of the given forms; every third defect is none."""
    rng = np.random.default_rng(seed)
    nodes = lattice(WIDTH, DEPTH, 1.5 * INCH)
    # the smoothest field that uses every node: a few waves
    gx, gy = (g.ravel() for g in np.meshgrid(nodes.x, nodes.y))
    k = rng.uniform(-8, 8, (count, 2))
    coarse = 0.001 * np.cos(k[:, :1] * gx + k[:, 1:] * gy + rng.uniform(0, 6, (count, 1)))
    pick = rng.choice(np.flatnonzero(np.isin(SHAPES.form, forms)), (count, 2))
    height = 0.003 * rng.standard_normal((count, 2)) * (rng.random((count, 2)) > 1 / 3)
    return Floors(nodes, coarse.astype(np.float32), 0.01 * rng.standard_normal((count, 2)), SHAPES[pick], height)


def heights(drawn: Floors, px: np.ndarray, py: np.ndarray) -> np.ndarray:
    return drawn.at(px, py) + moulded(UNIT, px, py)[:, None]


@settings(max_examples=12)
@given(st.integers(1, 2 * LANES + 3), seeds)
def test_nodes_are_the_floors_own_heights(count: int, seed: int) -> None:
    drawn = floors(count, seed)
    fine = surfaces(drawn, UNIT, INCH)
    assert fine.count == count
    gx, gy = (g.ravel() for g in np.meshgrid(fine.x, fine.y))
    expected = heights(drawn, gx, gy)
    np.testing.assert_allclose(fine.at(gx, gy), expected, atol=5e-6)
    np.testing.assert_allclose(unpack(fine.z, count).reshape(count, -1).T, expected, atol=5e-6)


@given(seeds)
@settings(max_examples=10)
def test_between_nodes_bilinear_is_near_enough(seed: int) -> None:
    """Bells of half-width 0.9 in and more, a quarter-inch grid, off the drain's rim: hundredths of a millimetre."""
    drawn = floors(5, seed, (SPOT, RIDGE))
    fine = surfaces(drawn, UNIT, INCH / 4)
    rng = np.random.default_rng(seed)
    px, py = rng.uniform(0, WIDTH, 200), rng.uniform(0, DEPTH, 200)
    off = np.hypot(px - UNIT.drain.x, py - UNIT.drain.y) > UNIT.drain.radius + INCH / 2
    np.testing.assert_allclose(fine.at(px, py)[off], heights(drawn, px, py)[off], atol=8e-5)


def test_a_step_between_nodes_is_off_by_its_bend_only() -> None:
    drawn = floors(9, 3, (STEP,))
    fine = surfaces(drawn, UNIT, INCH / 4)
    rng = np.random.default_rng(0)
    px, py = rng.uniform(0, WIDTH, 400), rng.uniform(0, DEPTH, 400)
    off = np.abs(fine.at(px, py) - heights(drawn, px, py))
    assert off.max() < 0.25 * np.abs(drawn.height).max()
    assert np.median(off) < 2e-6
    assert np.quantile(off, 0.9) < 8e-5


@pytest.mark.parametrize("count", [1, LANES - 1, LANES, LANES + 1, 40])
def test_moments_are_of_the_floors_alone_and_not_of_the_lanes_that_fill_up(count: int) -> None:
    fine = surfaces(floors(count, 8), UNIT, 2 * INCH)
    mean, sd = fine.moments()
    z = unpack(fine.z, count).astype(np.float64)
    np.testing.assert_allclose(mean, z.mean(axis=0), atol=2e-6)
    np.testing.assert_allclose(sd, z.std(axis=0), atol=2e-5)


def test_floors_that_are_all_alike_have_no_spread() -> None:
    fine = surfaces(still(plane=(0.01, -0.02), count=21), UNIT, INCH)
    mean, sd = fine.moments()
    gx, gy = np.meshgrid(fine.x, fine.y)
    expected = moulded(UNIT, gx, gy) + 0.01 * (gx - WIDTH / 2) - 0.02 * (gy - DEPTH / 2)
    np.testing.assert_allclose(mean, expected, atol=2e-6)
    assert sd.max() < 2e-5


def test_two_threads_give_what_one_gives() -> None:
    drawn = floors(40, 1)
    one, two = surfaces(drawn, UNIT, INCH, 1), surfaces(drawn, UNIT, INCH, 2)
    np.testing.assert_array_equal(one.z, two.z)
    px, py = np.random.default_rng(2).uniform(0, DEPTH, (2, 30))
    np.testing.assert_array_equal(one.at(px, py, 1), one.at(px, py, 2))
    np.testing.assert_allclose(one.moments(1), one.moments(2), atol=1e-12)


def test_a_part_is_the_first_floors() -> None:
    fine = surfaces(floors(40, 1), UNIT, 2 * INCH)
    px, py = np.random.default_rng(2).uniform(0, DEPTH, (2, 5))
    some = fine.part(20)
    assert 20 <= some.count <= 40
    np.testing.assert_array_equal(some.at(px, py), fine.at(px, py)[:, : some.count])
    whole = fine.part(1000)
    assert whole.count == 40


@given(st.floats(-0.1, 0.1), st.floats(-0.1, 0.1), st.floats(-0.1, 0.1), seeds)
@settings(max_examples=20)
def test_bilinear_reproduces_planes_to_the_very_edges(a: float, b: float, c: float, seed: int) -> None:
    fine = surface(level_unit(), lambda x, y: a + b * x + c * y, step=2 * INCH)
    rng = np.random.default_rng(seed)
    px = np.concatenate([[0, WIDTH, WIDTH, 0], rng.uniform(0, WIDTH, 20)])
    py = np.concatenate([[0, 0, DEPTH, DEPTH], rng.uniform(0, DEPTH, 20)])
    np.testing.assert_allclose(fine.at(px, py)[:, 0], a + b * px + c * py, atol=1e-6)


def test_cells_tile_the_floor() -> None:
    fine = surface(level_unit(), lambda x, y: 0 * x)
    cells = (len(fine.x) - 1) * (len(fine.y) - 1)
    assert cells * fine.cell_area == pytest.approx(WIDTH * DEPTH)


def test_no_points_have_no_heights() -> None:
    fine = surface(level_unit(), *[lambda x, y: 0 * x] * 5, step=INCH)
    assert fine.at(np.zeros(0), np.zeros(0)).shape == (0, 5)
