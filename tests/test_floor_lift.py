"""Lifting coarse fields: against dense matrices, polynomials that cubic taps reproduce, bumps by their formula."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.floor.lanes import LANES
from drainward.floor.lift import Bumps, coarse_count, cubic_taps, lift


@given(st.integers(20, 250), st.integers(1, 6), st.integers(0, 2))
def test_taps_reproduce_polynomials_to_degree_two(n_fine: int, factor: int, degree: int) -> None:
    taps, count = cubic_taps(n_fine, factor), coarse_count(n_fine, factor)
    np.testing.assert_allclose(taps.weight.sum(axis=1), 1.0, rtol=1e-14)
    assert taps.index.min() == 0
    assert taps.index.max() == count - 1
    scale = n_fine - 1.0
    lifted = taps.matrix(count) @ ((np.arange(count) * factor / scale) ** degree)
    np.testing.assert_allclose(lifted, (np.arange(n_fine) / scale) ** degree, atol=1e-13)


def test_taps_keep_coarse_values() -> None:
    taps = cubic_taps(25, 6)
    np.testing.assert_array_equal(taps.matrix(5)[::6], np.eye(5))


def test_taps_converge_with_order_three() -> None:
    errors = []
    for factor in (16, 8, 4):
        fine = np.sin(np.linspace(0, 7, 241))
        errors.append(np.abs(cubic_taps(241, factor).matrix(coarse_count(241, factor)) @ fine[::factor] - fine).max())
    assert np.log2(errors[0] / errors[1]) > 2.5
    assert np.log2(errors[1] / errors[2]) > 2.5


def test_taps_refuse_too_few_nodes() -> None:
    with pytest.raises(ValueError, match="cubic taps need four coarse nodes; 10 fine nodes, one in 6, give 3"):
        cubic_taps(10, 6)


def case(seed: int, blocks: int = 2, ny: int = 31, nx: int = 43, factor: int = 6) -> tuple:
    rng = np.random.default_rng(seed)
    ay, ax = cubic_taps(ny, factor), cubic_taps(nx, factor)
    coarse = rng.standard_normal((blocks, coarse_count(ny, factor), coarse_count(nx, factor), LANES)).astype(np.float32)
    plane = rng.standard_normal((blocks, 3, LANES)) * 0.1
    return coarse, ay, ax, rng.standard_normal((ny, nx)), plane, np.arange(nx) * 0.25, np.arange(ny) * 0.25


def dense(coarse, ay, ax, base, plane, x, y) -> np.ndarray:
    field = np.einsum("yc,bcdl,xd->byxl", ay.matrix(coarse.shape[1]), coarse, ax.matrix(coarse.shape[2]), optimize=True)
    a, b, c = (plane[:, k, None, None, :] for k in range(3))
    return field + base[None, :, :, None] + a + b * x[None, None, :, None] + c * y[None, :, None, None]


@settings(deadline=None, max_examples=20)
@given(st.integers(0, 2**32 - 1))
def test_lift_equals_dense_matrices(seed: int) -> None:
    arguments = case(seed)
    for threads in (1, 2):
        np.testing.assert_allclose(lift(*arguments, threads), dense(*arguments), atol=3e-6)


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 2**32 - 1), st.integers(1, 3))
def test_bumps_equal_their_formula(seed: int, count: int) -> None:
    coarse, ay, ax, base, plane, x, y = case(seed)
    rng = np.random.default_rng(seed)
    shape = (len(coarse), count, LANES)
    turn, long, short = rng.uniform(0, 3.2, shape), rng.uniform(0.5, 3, shape), rng.uniform(0.2, 0.6, shape)
    bumps = Bumps(
        height=np.where(rng.random(shape) < 0.3, 0.0, rng.standard_normal(shape)),
        x=rng.uniform(-2, x[-1] + 2, shape),
        y=rng.uniform(-2, y[-1] + 2, shape),
        xx=(np.cos(turn) / long) ** 2 + (np.sin(turn) / short) ** 2,
        xy=np.cos(turn) * np.sin(turn) * (1 / long**2 - 1 / short**2),
        yy=(np.sin(turn) / long) ** 2 + (np.cos(turn) / short) ** 2,
    )
    expected = dense(coarse, ay, ax, base, plane, x, y)
    for k in range(count):
        part = {name: getattr(bumps, name)[:, k, None, None, :] for name in Bumps.__slots__}
        dx, dy = x[None, None, :, None] - part["x"], y[None, :, None, None] - part["y"]
        q = part["xx"] * dx * dx + 2 * part["xy"] * dx * dy + part["yy"] * dy * dy
        expected = expected + part["height"] * np.exp(-q / 2)
    np.testing.assert_allclose(lift(coarse, ay, ax, base, plane, x, y, bumps=bumps), expected, atol=5e-6)


def test_lift_refuses_what_does_not_fit() -> None:
    coarse, ay, ax, base, plane, x, y = case(0)
    with pytest.raises(ValueError, match=r"base has shape \(43, 31\), expected \(31, 43\)"):
        lift(coarse, ay, ax, base.T, plane, x, y)
    with pytest.raises(ValueError, match="ay reaches coarse node 5, coarse has 5 that way"):
        lift(coarse[:, :5], ay, ax, base, plane, x, y)
    with pytest.raises(ValueError, match="x is not evenly spaced"):
        lift(coarse, ay, ax, base, plane, x**2, y)
    none = np.zeros((2, 1, LANES))
    with pytest.raises(ValueError, match="not positive definite"):
        lift(coarse, ay, ax, base, plane, x, y, bumps=Bumps(none + 1, none, none, none, none, none))
    with pytest.raises(ValueError, match="a bump is not finite"):
        lift(coarse, ay, ax, base, plane, x, y, bumps=Bumps(none + np.nan, none, none, none, none, none))
    with pytest.raises(ValueError, match=r"out is contiguous float32 of shape \(2, 31, 43, 16\)"):
        lift(coarse, ay, ax, base, plane, x, y, out=np.empty(3, np.float32))
