"""The lattice that carries the smooth field: cubics reproduced, order of convergence, covariance against a library."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH
from hypothesis import given
from hypothesis import strategies as st
from sklearn.gaussian_process.kernels import Matern

from drainward.floor.belief.field import lattice, matern52
from drainward.floor.belief.ways import Prior
from drainward.floor.taps import taps_at

seeds = st.integers(0, 2**32 - 1)


@given(st.floats(0.01, 5.0), seeds)
def test_covariance_equals_a_librarys(length: float, seed: int) -> None:
    """Outside check: scikit-learn, Matern with nu = 5/2."""
    x = np.random.default_rng(seed).uniform(0, 2, (6, 2))
    distance = np.hypot(*(x[:, None] - x).transpose(2, 0, 1))
    np.testing.assert_allclose(matern52(distance, length), Matern(length, nu=2.5)(x), atol=1e-12)


@given(st.integers(4, 40), st.floats(-2, 2), st.floats(0.01, 1), seeds)
def test_cubic_reproduces_every_cubic_to_the_very_ends(n: int, start: float, step: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    nodes = start + step * np.arange(n)
    p = np.concatenate([nodes[[0, -1]], rng.uniform(nodes[0], nodes[-1], 30)])
    taps = taps_at(nodes, p)
    index, weight = taps.index, taps.weight
    assert index.min() >= 0 and index.max() < n
    for degree in range(4):
        t = (nodes - start) / step
        values = (t[index] ** degree * weight).sum(axis=1)
        np.testing.assert_allclose(values, ((p - start) / step) ** degree, rtol=1e-9, atol=1e-9)


def test_cubic_converges_with_order_four() -> None:
    p = np.linspace(0, 3, 500)
    errors = []
    for n in (16, 31, 61):
        nodes = np.linspace(0, 3, n)
        taps = taps_at(nodes, p)
        index, weight = taps.index, taps.weight
        errors.append(np.abs((np.sin(4 * nodes)[index] * weight).sum(axis=1) - np.sin(4 * p)).max())
    assert np.log2(errors[0] / errors[1]) > 3.6
    assert np.log2(errors[1] / errors[2]) > 3.6


@given(seeds)
def test_weights_are_cubic_along_both_axes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    nodes = lattice(WIDTH, DEPTH, 3 * INCH)
    px, py = rng.uniform(0, WIDTH, 20), rng.uniform(0, DEPTH, 20)
    cx, cy = rng.standard_normal(4), rng.standard_normal(4)
    gx, gy = np.meshgrid(nodes.x, nodes.y)
    field = (np.polyval(cx, gx) * np.polyval(cy, gy)).ravel()
    assert field.size == nodes.size
    np.testing.assert_allclose(nodes.weights(px, py) @ field, np.polyval(cx, px) * np.polyval(cy, py), atol=1e-9)


@pytest.mark.parametrize("length", Prior().lengths)
def test_the_carried_field_has_the_covariance_it_should(length: float) -> None:
    """Between any two places the lattice's covariance misses the field's own by half a percent of its variance."""
    nodes = lattice(WIDTH, DEPTH, Prior().spacing)
    rng = np.random.default_rng(3)
    px, py = rng.uniform(0, WIDTH, 300), rng.uniform(0, DEPTH, 300)
    weights = nodes.weights(px, py)
    carried = weights @ (weights @ nodes.covariance(length)).T
    exact = matern52(np.hypot(px[:, None] - px, py[:, None] - py), length)
    assert np.abs(carried - exact).max() < 0.005
    assert np.abs(np.sqrt(np.diagonal(carried)) - 1).max() < 0.0025


@given(st.floats(0.4, 2.5), st.floats(0.4, 2.5), st.floats(0.02, 0.1))
def test_the_lattice_covers_the_floor_about_as_densely_as_asked(width: float, depth: float, spacing: float) -> None:
    nodes = lattice(width, depth, spacing)
    for line, size in ((nodes.x, width), (nodes.y, depth)):
        assert line[0] == 0 and line[-1] == pytest.approx(size)
        assert len(line) >= 5
        assert line[1] - line[0] <= 1.5 * spacing


def test_the_root_is_a_root() -> None:
    nodes = lattice(WIDTH, DEPTH, 4 * INCH)
    root = nodes.root(11 * INCH).astype(np.float64)
    np.testing.assert_allclose(root @ root.T, nodes.covariance(11 * INCH), atol=1e-5)
    assert (np.triu(root, 1) == 0).all()
