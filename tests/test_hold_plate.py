"""The floor panel as a plate: series, symmetry, the sweep over all places against a solve for each."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drainward.hold.contact import lifted
from drainward.hold.greens import movements
from drainward.hold.plate import Panel, Plate, Points, at, bent, disc, isotropic, laid, plate, points, surface_strain

UNIT = isotropic(1.0, 0.3, (12 * (1 - 0.09)) ** (1 / 3))


def beds(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return np.where(np.hypot(x - 0.5, y - 0.3) < 0.13, 0.0, 4e9)


@pytest.fixture(scope="module")
def floor() -> Plate:
    return plate(isotropic(6.9e9, 0.3, 0.0095), 0.9, 0.6, 0.03, beds)


def test_a_strip_bends_as_a_beam() -> None:
    # no coupling: a cylinder, 5 q L^4 / (384 D)
    found = plate(Panel(1.0, 1.0, 0.0, 1e-9, 0.1), 1.0, 20.0, 0.125, None, "simply supported")
    w = bent(found, found.even)
    middle = (at(found, np.array([0.5]), np.array([10.0])) @ w)[0]
    assert middle == pytest.approx(5 / 384, rel=1e-3)


def test_an_even_load_sinks_a_free_floor_evenly() -> None:
    found = plate(UNIT, 2.0, 1.0, 0.25, lambda x, y: np.full(np.shape(x), 50.0))
    w = bent(found, found.even)
    x, y = np.array([0.1, 1.3, 2.0]), np.array([0.9, 0.2, 1.0])
    assert at(found, x, y) @ w == pytest.approx(1 / 50)
    assert surface_strain(found, w, x, y) == pytest.approx(0.0, abs=1e-10)


def test_the_matrix_is_symmetric_and_a_disc_weighs_its_load(floor: Plate) -> None:
    assert abs(floor.matrix - floor.matrix.T).max() < 1e-9 * abs(floor.matrix).max()
    load = disc(floor, 0.4, 0.3, 0.04)
    assert load[0::4].sum() == pytest.approx(1.0)


def test_every_place_moves_as_its_own_solve_says(floor: Plate) -> None:
    found = movements(floor, 0.0381)
    x, y = np.meshgrid(found.x, found.y, indexing="ij")
    loads = np.stack([disc(floor, px, py, 0.0381) for px, py in zip(x.ravel(), y.ravel(), strict=True)], axis=1)
    moved = bent(floor, loads)
    reads = at(floor, x.ravel(), y.ravel())
    centre = np.asarray([(reads[[k]] @ moved[:, k])[0] for k in range(x.size)])
    assert found.centre.ravel() == pytest.approx(centre, rel=1e-9)
    assert found.mean.ravel() == pytest.approx((loads * moved).sum(axis=0), rel=1e-9)
    assert math.dist(found.worst, (0.5, 0.3)) < 0.05


def test_bad_sizes_are_refused(floor: Plate) -> None:
    with pytest.raises(ValueError, match="expected a positive modulus"):
        isotropic(0.0, 0.3, 0.01)
    with pytest.raises(ValueError, match="has no place"):
        movements(floor, 0.4)


def test_a_panel_that_nothing_lifts_lies_as_if_bonded() -> None:
    found = plate(UNIT, 2.0, 1.0, 0.25)
    under = points(found)
    w, _ = lifted(found.matrix, under, 50.0 * under.weight, found.even)
    assert at(found, np.array([0.3]), np.array([0.8])) @ w == pytest.approx(1 / 50, rel=1e-6)


@pytest.mark.parametrize("across", [0.1, 0.2, 0.3])
def test_a_panel_that_can_lift_moves_more_over_a_void(across: float) -> None:
    free = plate(isotropic(6.9e9, 0.3, 0.0095), 0.8, 0.6, 0.04)
    under = points(free)
    push = under.weight * np.where(np.hypot(under.x - 0.4, under.y - 0.3) < across / 2, 0.0, 4e9)
    load = 1334.0 * disc(free, 0.4, 0.3, 0.0381)
    middle = at(free, np.array([0.4]), np.array([0.3]))
    w, _ = lifted(free.matrix, under, push, load)
    assert 1.2 < (middle @ w)[0] / (middle @ bent(laid(free, under, push), load))[0] < 2.5


def test_a_panel_that_can_lift_always_settles_where_no_energy_is_less() -> None:
    rng = np.random.default_rng(5)
    for _ in range(25):
        thickness, stiff = rng.uniform(0.004, 0.013), 10 ** rng.uniform(8, 11.5)
        free = plate(isotropic(6.9e9, 0.3, thickness), 1.5, 0.9, 0.1)
        under = points(free, 4)
        holes = [(*rng.uniform((0, 0), (1.5, 0.9)), rng.uniform(0.03, 0.3)) for _ in range(rng.integers(0, 6))]
        inside = [np.hypot(under.x - x, under.y - y) < r for x, y, r in holes]
        push = under.weight * np.where(np.any(inside, axis=0), 0.0, stiff) if holes else under.weight * stiff
        load = 1334.0 * disc(free, *rng.uniform((0.1, 0.1), (1.4, 0.8)), 0.0381) + rng.uniform(0, 200) * free.even
        w, steps = lifted(free.matrix, under, push, load)
        assert steps < 40

        best = energy(free, under, push, load, w)
        for _ in range(5):
            aside = rng.normal(size=len(w)) * np.abs(w).max() * 1e-3
            assert energy(free, under, push, load, w + aside) >= best


def energy(free: Plate, under: Points, push: np.ndarray, load: np.ndarray, w: np.ndarray) -> float:
    pressed = np.maximum(under.depth(w), 0.0)
    return float(w @ (free.matrix @ w) / 2 + (push * pressed**2).sum() / 2 - load @ w)
