"""Lifting coarse fields: against dense matrices, bumps by their formula."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.floor.abreast.lanes import LANES
from drainward.floor.abreast.lift import Bumps, lift
from drainward.floor.taps import Taps, taps_at


def case(seed: int, blocks: int = 2, ny: int = 31, nx: int = 43, factor: int = 6) -> tuple:
    rng = np.random.default_rng(seed)
    cy, cx = -(-(ny - 1) // factor) + 1, -(-(nx - 1) // factor) + 1
    ay, ax = (taps_at(np.arange(c) * float(factor), np.arange(float(n))) for c, n in ((cy, ny), (cx, nx)))
    coarse = rng.standard_normal((blocks, cy, cx, LANES)).astype(np.float32)
    plane = rng.standard_normal((blocks, 3, LANES)) * 0.1
    return coarse, ay, ax, rng.standard_normal((ny, nx)), plane, np.arange(nx) * 0.25, np.arange(ny) * 0.25


def matrix(taps: Taps, count: int) -> np.ndarray:
    full = np.zeros((len(taps.index), count))
    np.put_along_axis(full, taps.index, taps.weight, axis=1)
    return full


def dense(coarse, ay, ax, base, plane, x, y) -> np.ndarray:
    field = np.einsum(
        "yc,bcdl,xd->byxl", matrix(ay, coarse.shape[1]), coarse, matrix(ax, coarse.shape[2]), optimize=True
    )
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
