"""The ways a floor may be: against exact enumeration of one defect, and short runs against long ones."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, certain, dense_covariance, functionals, mixed_functionals, spots

from drainward.floor.belief import Belief, believe
from drainward.floor.belief.defects import FORMS, SPOT, STEP, dictionary
from drainward.floor.belief.ways import Prior
from drainward.floor.functionals import Functionals

SIZES = (0.01 * INCH, 0.04 * INCH)
ONE_SLOT = replace(
    certain(11 * INCH, SIZES[0], 0.003), slots=1, defect_odds=0.5, sizes=SIZES, size_odds=(0.6, 0.4),
    height_odds=(0.25, 0.25, 0.25, 0.25), blunder_odds=0.3, blunders=(10.0, 30.0, 100.0, 300.0),
)  # fmt: skip
"""Height classes with equal odds, because a blunder's classes share them."""


def drawn(f: Functionals, prior: Prior, particles: int, seed: int = 0, **how: int) -> Belief:
    return believe(WIDTH, DEPTH, np.zeros(len(f)), f, prior=prior, particles=particles, seed=seed, **how)


@cache
def case() -> Functionals:
    """Seven heights around a rise, one of them odd, and two slopes: a defect, a blunder or neither."""
    at = np.array([[0.5, 0.4], [0.62, 0.45], [0.7, 0.6], [0.8, 0.3], [0.9, 0.55], [1.1, 0.4], [0.3, 0.7]])
    slope = functionals(
        [[(0.4, 0.2, -4.0), (0.65, 0.2, 4.0)], [(0.9, 0.8, -4.0), (1.15, 0.8, 4.0)]], np.full(2, 0.001), [-1, -1]
    )
    f = spots(at, 0.0005).joined(slope)
    rise = 0.0016 * np.exp(-0.5 * ((f.x[:, 0] - 0.62) ** 2 + (f.y[:, 0] - 0.47) ** 2) / 0.07**2)
    noise = 0.0005 * np.random.default_rng(3).standard_normal(len(f))
    value = np.where(f.setup >= 0, 0.1 + rise + noise, 0.002)
    value[4] += 0.0035
    return replace(f, value=value)


def log_normal(value: np.ndarray, covariance: np.ndarray) -> np.ndarray:
    """Log density of each value (..., n) under its covariance (..., n, n)."""
    fit = (value * np.linalg.solve(covariance, value[..., None])[..., 0]).sum(axis=-1)
    return -0.5 * fit - 0.5 * np.linalg.slogdet(covariance)[1]


@cache
def exact() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Posterior of one slot, by field size: nothing (2,), each shape (2, m), each blunder (2, n)."""
    f, p = case(), ONE_SLOT
    shapes, share = dictionary(WIDTH, DEPTH)
    feature = (shapes[:, None, None].at(f.x, f.y) * f.weight).sum(axis=2)
    parts = []
    for size, odds in zip(p.sizes, p.size_odds, strict=True):
        # the belief carries its field on a lattice; the library's covariance is the field's own
        covariance, _, _ = dense_covariance(f, p.lengths[0], size, p.tilts[0], p.datum)
        nothing = np.log(odds * (1 - p.defect_odds)) + log_normal(f.value, covariance)
        defects = []
        for mean, sd, of_class in zip(p.heights, p.height_sds, p.height_odds, strict=True):
            spread = covariance + sd**2 * feature[:, :, None] * feature[:, None, :]
            prior = odds * p.defect_odds * (1 - p.blunder_odds) * of_class * share
            defects.append(np.log(prior) + log_normal(f.value - mean * feature, spread))
        blunders = []
        for sd in p.blunders:
            spread = covariance + (sd * f.u[:, None, None]) ** 2 * np.einsum(
                "ai,aj->aij", np.eye(len(f)), np.eye(len(f))
            )
            prior = odds * p.defect_odds * p.blunder_odds / len(f) / len(p.blunders)
            blunders.append(np.log(prior) + log_normal(np.tile(f.value, (len(f), 1)), spread))
        parts.append((nothing, np.logaddexp.reduce(defects), np.logaddexp.reduce(blunders)))
    nothing, defects, blunders = (np.stack(part) for part in zip(*parts, strict=True))
    top = max(nothing.max(), defects.max(), blunders.max())
    some = [np.exp(part - top) for part in (nothing, defects, blunders)]
    total = sum(part.sum() for part in some)
    return some[0] / total, some[1] / total, some[2] / total


def test_the_toy_problem_leaves_everything_possible() -> None:
    nothing, defects, blunders = exact()
    assert min(nothing.sum(), defects.sum(), blunders.sum()) > 0.05
    assert min(nothing[0] + defects[0].sum() + blunders[0].sum(), nothing[1] + defects[1].sum()) > 0.05


@pytest.mark.parametrize(("moves", "tolerance"), [(0, 0.005), (4, 0.03)])
def test_one_slot_has_the_posterior_of_exact_enumeration(moves: int, tolerance: float) -> None:
    """Without moves the first draw is exact; moves trade the dictionary for all shapes between: a small change."""
    f, count = case(), 4000
    b = drawn(f, ONE_SLOT, count, sweeps=0, moves=moves)
    nothing, defects, blunders = exact()
    element = b.particles.element[:, 0]

    def agree(ours: np.ndarray, theirs: float) -> None:
        share = float(np.mean(ours))
        assert share == pytest.approx(theirs, abs=4.5 * np.sqrt(theirs * (1 - theirs) / count) + tolerance)

    agree(element < 0, nothing.sum())
    agree(element == 0, defects.sum())
    for i in range(len(f)):
        agree(element == 1 + i, blunders[:, i].sum())
    np.testing.assert_allclose(b.blunder, [(element == 1 + i).mean() for i in range(len(f))])
    small = b.ways.size[b.particles.way] == SIZES[0]
    agree(small, nothing[0] + defects[0].sum() + blunders[0].sum())
    agree(small & (element == 0), defects[0].sum())
    shapes, _ = dictionary(WIDTH, DEPTH)
    of_shape = defects.sum(axis=0)
    mine = b.particles.shapes[element == 0, 0]
    for form in range(len(FORMS)):
        agree((element == 0) & (b.particles.shapes.form[:, 0] == form), of_shape[shapes.form == form].sum())
    weight = of_shape / of_shape.sum()
    for name in ("x", "y", "across"):
        values, drawn_values = getattr(shapes, name), getattr(mine, name)
        mean = weight @ values
        sd = np.sqrt(weight @ (values - mean) ** 2)
        assert drawn_values.mean() == pytest.approx(mean, abs=sd * (4.5 / np.sqrt(len(drawn_values)) + 5 * tolerance))


def test_three_slots_after_one_sweep_are_as_after_many() -> None:
    """The usual short run against long Gibbs chains, which forget how they began."""
    f = case()
    prior = replace(ONE_SLOT, slots=3)
    once = drawn(f, prior, 1500, seed=1)
    swept = drawn(f, prior, 600, sweeps=20, moves=0, seed=2)

    def told(b: Belief) -> np.ndarray:
        element = b.particles.element
        taken = (element >= 0).sum(axis=1)
        return np.array(
            [
                *((taken == k).mean() for k in range(4)),
                (element == 0).any(axis=1).mean(),
                (b.ways.size[b.particles.way] == SIZES[0]).mean(),
                *b.blunder,
            ]
        )

    np.testing.assert_allclose(told(once), told(swept), atol=0.07)


def test_without_readings_the_moves_keep_the_prior() -> None:
    """Places uniform, sizes uniform in their logs, shares of forms, and the number of defects as the prior says."""
    prior = replace(certain(slots=3, defect_odds=0.36), blunder_odds=0.0)
    b = drawn(mixed_functionals(np.random.default_rng(0), 0), prior, 4000, sweeps=1, moves=4)
    element, shapes = b.particles.element, b.particles.shapes
    assert (element >= 0).mean() == pytest.approx(0.36, abs=0.02)
    taken = np.bincount((element >= 0).sum(axis=1), minlength=4) / len(element)
    np.testing.assert_allclose(taken, [0.64**3, 3 * 0.36 * 0.64**2, 3 * 0.36**2 * 0.64, 0.36**3], atol=0.03)
    mine = shapes[element == 0]
    shares = np.bincount(mine.form, minlength=3) / len(mine.form)
    np.testing.assert_allclose(shares, [bounds.share for bounds in FORMS], atol=0.03)
    bells = mine[mine.form != STEP]
    margin = 1.5 * INCH
    for value, size in ((bells.x, WIDTH), (bells.y, DEPTH)):
        t = (value + margin) / (size + 2 * margin)
        assert t.min() >= 0 and t.max() <= 1
        assert t.mean() == pytest.approx(0.5, abs=0.02)
        assert t.std() == pytest.approx(12**-0.5, abs=0.015)
    spots_only = mine[mine.form == SPOT]
    low, high = FORMS[SPOT].across
    t = np.log(spots_only.across / low) / np.log(high / low)
    assert t.mean() == pytest.approx(0.5, abs=0.025)
    assert t.std() == pytest.approx(12**-0.5, abs=0.015)


def test_heights_of_nothing_are_nothing_and_blunders_move_no_floor() -> None:
    b = drawn(case(), replace(ONE_SLOT, slots=2), 200)
    floors = b.draw(1, 0)
    element = b.particles.element
    assert (floors.height[element < 0] == 0).all()
    assert (floors.height[element > 0] == 0).all()
    assert (floors.height[element == 0] != 0).all()


def test_particles_stand_in_no_order() -> None:
    """Any part of them stands for all, which the next reading's search relies on."""
    b = drawn(case(), ONE_SLOT, 2000)
    first, last = b.particles.element[:1000, 0] == 0, b.particles.element[1000:, 0] == 0
    assert first.mean() == pytest.approx(last.mean(), abs=0.1)
