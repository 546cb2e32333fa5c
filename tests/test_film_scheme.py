"""The film's kernels, each by itself: fluxes, losses, factors, and the mending of a step."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from film_cases import Array
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from drainward.floor.film import scheme

K = 2e7
DEPTHS = hnp.arrays(float, (6, 4), elements=st.one_of(st.just(0.0), st.floats(1e-6, 5e-3)))
FLOORS = hnp.arrays(float, (6, 4), elements=st.floats(-5e-3, 5e-3))


def over(n: int) -> Array:
    """One over the widths of cells along an axis of n nodes: 2 at the walls."""
    widths = np.ones(n)
    widths[[0, -1]] = 2.0
    return widths


def rates(h: Array, z: Array) -> Array:
    out = np.zeros_like(h)
    scheme.rates(h, z, over(len(h)), K, out)
    return out


def flux(h: list[float], z: list[float]) -> float:
    """From the first to the second of two cells, over K."""
    out = rates(np.array([[value] for value in (*h, 0.0)]), np.array([[value] for value in (*z, 9.0)]))
    return -float(out[0, 0]) / 2 / K


@given(DEPTHS, FLOORS)
def test_the_film_moves_water_and_makes_none(h: Array, z: Array) -> None:
    out = rates(h, z)
    inward = out / over(len(h))[:, None]
    assert np.abs(inward.sum(axis=0)).max() <= 1e-12 * max(np.abs(inward).max(), 1e-300)
    np.testing.assert_allclose(rates(h[::-1], z[::-1])[::-1], out, rtol=1e-9, atol=1e-15 * np.abs(out).max())


@given(st.floats(1e-6, 5e-3), st.floats(1e-6, 5e-3), st.floats(-0.01, 0.01))
def test_a_flux_runs_down_the_level_and_grows_with_it(a: float, b: float, rise: float) -> None:
    level = a - (rise + b)
    found = flux([a, b], [0.0, rise])
    assert found * level >= 0
    if level:
        up, down = (a, b) if level > 0 else (b, a)
        cube = found / level
        assert min(up, down) ** 3 * (1 - 1e-9) <= cube <= max(up, min(3 ** (1 / 3) * up, down)) ** 3 * (1 + 1e-6)
        assert cube <= 3 * up**3 * (1 + 1e-9)


def test_an_empty_cell_gives_nothing_and_takes() -> None:
    assert flux([0.0, 1e-3], [0.01, 0.0]) == 0.0
    assert flux([1e-3, 0.0], [0.01, 0.0]) == pytest.approx(1e-9 / 4 * 0.011)
    assert flux([-1e-3, 1e-3], [0.05, 0.0]) == 0.0


def test_a_film_on_a_flat_floor_has_the_mean_cube() -> None:
    """The flux of h^3 dh between depths a and b is (a^4 - b^4) / 4, exactly."""
    assert flux([2e-3, 1e-3], [0.0, 0.0]) == pytest.approx((2e-3**4 - 1e-3**4) / 4)


def test_a_level_is_still() -> None:
    z = np.array([[0.25, 0.5], [0.125, 0.25], [0.5, 0.125]])
    assert not rates(np.maximum(0.375 - z, 0.0), z).any()


def test_a_lip_takes_what_stands_over_it() -> None:
    h = np.array([[1e-3, 2e-3, 0.0], [5e-3, 6e-3, 7e-3]])
    lip = np.array([0.004, 0.006, math.inf])

    def lost(depth: Array) -> tuple[Array, Array]:
        out, slope = np.empty(3), np.empty(3)
        scheme.over_lip(depth, lip, 100.0, out, slope)
        return out, slope

    out, slope = lost(h)
    np.testing.assert_allclose(out, [100 * 1e-3**1.5, 0.0, 0.0], atol=1e-15)
    nudge = 1e-9
    steeper = (lost(h + nudge)[0] - lost(h - nudge)[0]) / (2 * nudge)
    np.testing.assert_allclose(slope[0], steeper[0], rtol=1e-3)
    assert slope[2] == 0.0


def factored(h: Array, z: Array, fade: float, lose: Array) -> tuple[Array, ...]:
    factors = tuple(np.empty_like(h) for _ in range(3))
    scheme.factor(h, z, over(len(h)), fade * K, lose, *factors)
    return factors


def matrix(factors: tuple[Array, ...], column: int) -> Array:
    """Of one column of the grid, from its factors (I - fade A + lose)."""
    low, pivot, high = (part[:, column] for part in factors)
    lower, upper = np.diag(low[1:], -1) + np.eye(len(low)), np.diag(1 / pivot) + np.diag(high[:-1], 1)
    return np.asarray(lower @ upper)


@given(DEPTHS, FLOORS, st.floats(1e-3, 30.0))
def test_what_is_factored_is_an_m_matrix_that_keeps_water(h: Array, z: Array, fade: float) -> None:
    lose = np.abs(z) * 100
    factors = factored(h, z, fade, lose)
    for column in range(4):
        m = matrix(factors, column)
        scale = np.abs(m).max()
        outside = m - np.diag(np.diag(m))
        assert outside.max() <= 1e-12 * scale
        # Weighed by the cells' widths, columns sum to 1 and what is lost: the factors move water and make none.
        sums = (m / over(6)[:, None]).sum(axis=0) * over(6)
        np.testing.assert_allclose(sums, 1 + lose[:, column], atol=1e-12 * scale)


@given(DEPTHS, FLOORS, st.floats(1e-3, 1.0), st.integers(0, 2**32 - 1))
def test_solve_solves(h: Array, z: Array, fade: float, seed: int) -> None:
    factors = factored(h, z, fade, np.zeros_like(h))
    right = np.random.default_rng(seed).standard_normal(h.shape)
    got = right.copy()
    scheme.solve(got, *factors)
    for column in range(4):
        m = matrix(factors, column)
        want = np.linalg.solve(m, right[:, column])
        np.testing.assert_allclose(got[:, column], want, rtol=1e-8, atol=1e-10 * np.abs(m).max())


@given(hnp.arrays(float, (6, 4), elements=st.floats(5e-4, 2e-3)))
def test_the_factors_hold_the_derivative_of_a_film_that_levels(h: Array) -> None:
    """On a flat floor nothing is shifted: I - fade A is the Jacobian itself."""
    flat, fade, nudge = np.zeros_like(h), 1e-2, 1e-9
    m = matrix(factored(h, flat, fade, flat), 1)
    for k in range(6):
        more, less = h.copy(), h.copy()
        more[k, 1] += nudge
        less[k, 1] -= nudge
        derivative = (rates(more, flat) - rates(less, flat))[:, 1] / (2 * nudge)
        np.testing.assert_allclose(np.eye(6)[k] - fade * derivative, m[:, k], rtol=1e-3, atol=1e-4 * np.abs(m).max())


def test_combine_is_the_second_order_step() -> None:
    rng = np.random.default_rng(1)
    h, k1, k2, area = (rng.random((3, 3)) for _ in range(4))
    k2 -= 3.0
    new = np.empty_like(h)
    square, motion, least = scheme.combine(h, 0.2, k1, k2, area, new)
    np.testing.assert_allclose(new, h + 0.3 * k1 + 0.1 * k2)
    assert square == pytest.approx(((0.1 * (k1 + k2)) ** 2 * area).sum())
    assert motion == pytest.approx((np.abs(k1) * area).sum())
    assert least == min(new.min(), 0.0)


def test_borrow_takes_from_neighbours() -> None:
    area = np.array([[0.25, 0.5, 0.25], [0.5, 1.0, 0.5], [0.25, 0.5, 0.25]])
    h = np.array([[1.0, 0.5, 1.0], [0.5, -0.9, 0.25], [1.0, 1.0, 1.0]])
    water = (h * area).sum()
    assert scheme.borrow(h, area)
    assert h.min() >= 0 and h[1, 1] == 0
    assert (h * area).sum() == pytest.approx(water)
    np.testing.assert_array_equal(h[[0, 0, 2, 2], [0, 2, 0, 2]], 1.0)


def test_borrow_tells_when_nobody_can_lend() -> None:
    area = np.ones((3, 3))
    assert not scheme.borrow(np.array([[9.0, 0.1, 9.0], [0.1, -0.9, 0.1], [9.0, 0.1, 9.0]]), area)
    assert not scheme.borrow(np.array([[-1e-9, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 0.0]]), area)
    assert scheme.borrow(np.zeros((3, 3)), area)


@given(hnp.arrays(float, (5, 5), elements=st.floats(-0.1, 1.0)))
def test_borrow_keeps_water(h: Array) -> None:
    area = np.random.default_rng(0).uniform(0.25, 1.0, (5, 5))
    mended = h.copy()
    if scheme.borrow(mended, area):
        assert (mended >= 0).all()
        assert (mended * area).sum() == pytest.approx((h * area).sum(), abs=1e-12)
        assert (mended[h > 0] <= h[h > 0]).all()


def record(old: list[float], new: list[float]) -> tuple[Any, Any]:
    deepest, wet = np.array([old]), np.full((1, len(old)), -1.0)
    scheme.record(np.array([old]), np.array([new]), 10.0, 2.0, 0.5, deepest, wet)
    return deepest[0], wet[0]


def test_record_keeps_the_deepest_and_the_last_time_wet() -> None:
    deepest, wet = record([1.0, 0.0, 0.9, 0.1, 0.6], [0.7, 0.8, 0.1, 0.2, 0.5])
    np.testing.assert_array_equal(deepest, [1.0, 0.8, 0.9, 0.2, 0.6])
    np.testing.assert_allclose(wet, [12.0, 12.0, 11.0, -1.0, 12.0])
