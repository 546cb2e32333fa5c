"""What the readings let us believe: against dense Gaussian conditioning, and what a foreman would expect of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from floor_cases import (
    DEPTH,
    INCH,
    WIDTH,
    certain,
    cone_unit,
    dense_covariance,
    functionals,
    mixed_functionals,
    spots,
)

from drainward.floor.belief import Belief, Floors, believe
from drainward.floor.belief.ways import Prior
from drainward.floor.functionals import Functionals
from drainward.floor.shape import moulded, radial_net

UNIT = cone_unit()
LENGTH, SIZE, TILT = 11 * INCH, 0.05 * INCH, 0.01
ONE_WAY = certain(LENGTH, SIZE, TILT)


def belief(f: Functionals, prior: Prior | None = None, **how: int) -> Belief:
    """Deviations only: the readings are taken as on a floor moulded level."""
    return believe(WIDTH, DEPTH, np.zeros(len(f)), f, prior=prior, **({"particles": 32} | how))


def heights(floors: Floors, at: np.ndarray) -> np.ndarray:
    """(places, floors) float64."""
    return floors.at(at[:, 0], at[:, 1]).astype(np.float64)


@pytest.mark.parametrize("seed", range(3))
def test_drawn_floors_have_the_mean_and_covariance_of_dense_conditioning(seed: int) -> None:
    """Heights, wedges, slopes and chords on two unknown datums; covariances by scikit-learn, conditioning by numpy."""
    rng = np.random.default_rng(seed)
    f = mixed_functionals(rng, 14, u=0.0006)
    f = replace(
        f, value=np.where(f.setup >= 0, 0.2, 0.0) + np.where(f.u < 1e-3, 1.0, 2.0) * 0.001 * rng.standard_normal(14)
    )
    at = np.stack([rng.uniform(0, WIDTH, 7), rng.uniform(0, DEPTH, 7)], axis=1)
    readings, crossed, places = dense_covariance(f, LENGTH, SIZE, TILT, ONE_WAY.datum, at)
    gain = np.linalg.solve(readings, crossed.T).T
    mean, covariance = gain @ f.value, places - gain @ crossed.T
    count = 6400
    z = heights(belief(f, ONE_WAY).draw(count // 32, seed), at)
    sd = np.sqrt(np.diagonal(covariance))
    # the lattice adds at most a percent of the prior's standard deviation, see test_floor_field
    np.testing.assert_array_less(np.abs(z.mean(axis=1) - mean), 4.5 * sd / np.sqrt(count) + 0.01 * SIZE)
    ours = np.cov(z) / np.outer(sd, sd)
    np.testing.assert_allclose(ours, covariance / np.outer(sd, sd), atol=6 / np.sqrt(count) + 0.01)


def test_without_readings_the_floors_are_the_priors() -> None:
    none = functionals([], np.zeros(0), [])
    at = np.array([[WIDTH / 2, DEPTH / 2], [0.1, 0.1], [WIDTH, DEPTH]])
    z = heights(belief(none, ONE_WAY).draw(200, 1), at)
    _, _, covariance = dense_covariance(none, LENGTH, SIZE, TILT, 0.3, at)
    np.testing.assert_allclose(z.std(axis=1), np.sqrt(np.diagonal(covariance)), rtol=0.04)
    assert belief(none).blunder.shape == (0,)


@pytest.mark.parametrize("prior", [ONE_WAY, Prior(blunder_odds=0.0)], ids=["one way", "every way"])
def test_readings_of_tiny_uncertainty_are_reproduced(prior: Prior) -> None:
    """Where none can be a blunder; in single precision to a few hundredths of a millimetre."""
    rng = np.random.default_rng(5)
    f = mixed_functionals(rng, 16, u=1e-5)
    truth = 0.003 * np.sin(f.x / 0.3) * np.cos(f.y / 0.4)
    f = replace(f, value=f.apply(truth) + np.where(f.setup >= 0, 0.1, 0.0))
    z = belief(f, prior).draw(4, 0)
    read = f.apply(z.at(f.x.ravel(), f.y.ravel()).T.reshape(-1, len(f), 3))
    for setup in range(2):
        mine = np.flatnonzero(f.setup == setup)
        assert len(mine) > 1
        read[:, mine] += (f.value[mine] - read[:, mine]).mean(axis=1, keepdims=True)
    run = np.hypot(f.x[:, 1] - f.x[:, 0], f.y[:, 1] - f.y[:, 0])
    scale = np.where(np.abs(f.weight[:, 0]) > 1.0, run, 1.0)
    np.testing.assert_allclose((read - f.value) * scale, 0.0, atol=8e-5)


def test_an_unknown_datum_leaves_heights_unknown_and_differences_known() -> None:
    at = np.array([[0.3, 0.3], [0.9, 0.5], [1.2, 0.2]])
    f = replace(spots(at, u=1e-4), value=np.array([0.101, 0.103, 0.099]))
    z = heights(belief(f, certain(LENGTH, 0.2 * INCH, TILT)).draw(100, 2), at)
    np.testing.assert_allclose(np.diff(z, axis=0).mean(axis=1), [0.002, -0.004], atol=3e-5)
    assert np.diff(z, axis=0).std(axis=1).max() < 2e-4
    assert z.std(axis=1).min() > 0.05 * INCH


@pytest.mark.parametrize("shift", [0.05, 1.0, 30.0])
def test_a_constant_on_all_heights_of_a_set_up_changes_no_fall(shift: float) -> None:
    """A rod reads feet above the floor and an elevation tens of metres: only differences count."""
    f = grid(6, 4)
    f = replace(f, value=0.002 * np.sin(f.x[:, 0] / 0.3))
    net = radial_net(UNIT, 0.3, lines=12)
    falls = []
    for value in (f.value, f.value + shift):
        z = belief(replace(f, value=value), ONE_WAY).draw(40, 3).at(net.x, net.y)
        falls.append((z[net.outer] - z[net.inner]) / net.length[:, None])
    np.testing.assert_allclose(falls[0].mean(axis=1), falls[1].mean(axis=1), atol=0.0002)
    np.testing.assert_allclose(falls[0].std(axis=1), falls[1].std(axis=1), atol=0.0001)


def test_two_set_ups_of_one_floor_agree_though_their_datums_differ() -> None:
    one = grid(5, 4)
    one = replace(one, value=0.003 * np.cos(one.x[:, 0] / 0.4))
    both = one.joined(replace(one, value=one.value + 0.4))
    middle = np.array([[0.5, 0.4], [1.0, 0.6]])
    alone, doubled = (np.diff(heights(belief(f, ONE_WAY).draw(80, 4), middle), axis=0) for f in (one, both))
    assert doubled.mean() == pytest.approx(alone.mean(), abs=5e-5)
    assert doubled.std() < alone.std()
    assert belief(both).blunder.max() < 0.2


def grid(columns: int, rows: int, u: float = 0.0003) -> Functionals:
    gx, gy = np.meshgrid((np.arange(columns) + 0.5) * WIDTH / columns, (np.arange(rows) + 0.5) * DEPTH / rows)
    return spots(np.stack([gx.ravel(), gy.ravel()], axis=1), u)


def test_a_floor_read_at_more_places_is_known_better() -> None:
    net = radial_net(UNIT, 0.3, lines=16)
    spread = []
    for columns, rows in ((2, 2), (4, 3), (8, 6)):
        z = belief(grid(columns, rows)).draw(8, 5).at(net.x, net.y)
        spread.append(((z[net.outer] - z[net.inner]) / net.length[:, None]).std(axis=1).mean())
    assert spread[0] > 1.3 * spread[1] > 1.3**2 * spread[2]


def test_a_rough_floor_is_believed_rougher_between_its_readings_than_a_smooth_one() -> None:
    f = grid(7, 5)
    rng = np.random.default_rng(6)
    at = np.array([[0.27, 0.25], [0.9, 0.4], [1.2, 0.7]])
    spread = []
    for size in (0.0, 0.002):
        z = heights(belief(replace(f, value=size * rng.standard_normal(len(f)))).draw(8, 6), at)
        spread.append((z - z.mean(axis=0)).std(axis=1).mean())
    assert spread[1] > 2 * spread[0]


def blundered(by: float) -> tuple[Functionals, int]:
    f = grid(8, 5)
    odd = 19
    value = 0.004 * (f.x[:, 0] - WIDTH / 2) + 0.0003 * np.random.default_rng(7).standard_normal(len(f))
    value[odd] += by
    return replace(f, value=value), odd


def test_a_reading_off_by_an_inch_is_named_and_hardly_moves_the_rest() -> None:
    f, odd = blundered(INCH)
    sound, _ = blundered(0.0)
    chance = belief(f).blunder
    assert chance[odd] > 0.9
    assert np.delete(chance, odd).max() < 0.2
    assert belief(sound).blunder.max() < 0.2
    at = np.array([[0.2, 0.2], [0.7, 0.5], [1.3, 0.7], [f.x[odd, 0], f.y[odd, 0]]])
    with_it, without = (heights(belief(g).draw(8, 8), at) for g in (f, sound))
    relative = [(z - z[:1]).mean(axis=1) for z in (with_it, without)]
    np.testing.assert_allclose(relative[0], relative[1], atol=0.02 * INCH)


def test_a_slope_with_its_sign_turned_is_named() -> None:
    """The commonest slip: the level read the wrong way round, on a floor that other readings know well."""
    f = grid(8, 5)
    f = replace(f, value=0.02 * f.x[:, 0])
    base = 24 * INCH
    level = functionals([[(0.3, 0.45, -1 / base), (0.3 + base, 0.45, 1 / base)]], np.array([0.0009]), [-1])
    wrong = f.joined(replace(level, value=np.array([-0.02])))
    right = f.joined(replace(level, value=np.array([0.02])))
    assert belief(wrong).blunder[-1] > 0.9
    assert belief(right).blunder[-1] < 0.1


def test_a_bulge_that_many_readings_feel_is_believed_and_not_taken_for_blunders() -> None:
    f = grid(15, 9)
    top, height, half = np.array([30, 18]) * INCH, 0.15 * INCH, 3 * INCH
    value = height * np.exp(-0.5 * ((f.x[:, 0] - top[0]) ** 2 + (f.y[:, 0] - top[1]) ** 2) / half**2)
    b = belief(replace(f, value=value + 0.0003 * np.random.default_rng(9).standard_normal(len(f))))
    assert b.blunder.max() < 0.2
    z = heights(b.draw(8, 9), np.array([top, [0.2, 0.2], [1.3, 0.2]]))
    rise = z[0] - z[1:].mean(axis=0)
    assert rise.mean() == pytest.approx(height, abs=0.02 * INCH)
    assert 0.003 * INCH < rise.std() < 0.02 * INCH


def test_one_seed_gives_one_belief_whatever_the_threads() -> None:
    f, _ = blundered(0.01)
    one, again, other = (belief(f, threads=t, seed=s).draw(2, 1) for t, s in ((1, 4), (2, 4), (1, 5)))
    at = np.array([[0.2, 0.2], [0.9, 0.6]])
    np.testing.assert_array_equal(heights(one, at), heights(again, at))
    assert (heights(one, at) != heights(other, at)).any()
    assert (heights(belief(f).draw(2, 1), at) != heights(belief(f).draw(2, 2), at)).any()


def test_readings_of_the_moulded_shape_itself_leave_no_deviation() -> None:
    f = mixed_functionals(np.random.default_rng(3), 20)
    f = replace(f, value=f.apply(moulded(UNIT, f.x, f.y)))
    b = believe(WIDTH, DEPTH, f.apply(moulded(UNIT, f.x, f.y)), f, particles=32)
    z = heights(b.draw(8, 0), np.array([[0.3, 0.3], [0.8, 0.5], [1.2, 0.7]]))
    np.testing.assert_allclose((z - z[:1]).mean(axis=1), 0.0, atol=0.01 * INCH)


def test_drawn_floors_evaluate_every_part_by_its_formula() -> None:
    """Plane about the middle, lattice value at a node, and a bell of stated height."""
    f, _ = blundered(0.0)
    drawn = belief(f).draw(1, 0)
    node = 40
    iy, ix = divmod(node, len(drawn.nodes.x))
    px, py = drawn.nodes.x[ix], drawn.nodes.y[iy]
    expected = drawn.coarse[:, node] + drawn.plane @ (px - WIDTH / 2, py - DEPTH / 2)
    for slot in range(drawn.height.shape[1]):
        expected = expected + drawn.height[:, slot] * drawn.shapes[:, slot].at(px, py)
    np.testing.assert_allclose(drawn.at(np.array([px]), np.array([py]))[0], expected, atol=1e-6)
