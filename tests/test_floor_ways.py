"""The table of ways: evidence against a general-purpose library on dense covariances, and a prior that adds up."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, dense_covariance, mixed_functionals
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from drainward.floor.belief.field import lattice
from drainward.floor.belief.ways import Prior, Ways, make_ways
from drainward.floor.functionals import Functionals

PRIOR = Prior(
    lengths=(9 * INCH, 20 * INCH), length_odds=(0.4, 0.6), sizes=(0.01 * INCH, 0.05 * INCH), size_odds=(0.7, 0.3),
    tilts=(0.002, 0.01), tilt_odds=(0.5, 0.5),
)  # fmt: skip


def ways_of(f: Functionals, prior: Prior) -> Ways:
    nodes = lattice(WIDTH, DEPTH, prior.spacing)
    carried = np.einsum(
        "npk,np->nk", nodes.weights(f.x.ravel(), f.y.ravel()).toarray().reshape(len(f), 3, nodes.size), f.weight
    )
    slopes = np.stack([((f.x - WIDTH / 2) * f.weight).sum(1), ((f.y - DEPTH / 2) * f.weight).sum(1)], axis=1)
    return make_ways(prior, f, nodes, carried, slopes, f.value)


@settings(max_examples=15)
@given(st.integers(0, 2**32 - 1), st.integers(1, 16))
def test_evidence_equals_a_librarys_for_every_way(seed: int, n: int) -> None:
    """Outside check: scipy.stats.multivariate_normal.logpdf and scikit-learn's Matern, up to one constant."""
    rng = np.random.default_rng(seed)
    f = mixed_functionals(rng, n, u=0.002)
    f = replace(f, value=np.where(f.setup >= 0, 0.2, 0.0) + 0.004 * rng.standard_normal(n))
    ways = ways_of(f, PRIOR)
    assert len(ways.size) == 8
    ours, theirs = [], []
    for k in range(8):
        length, size, tilt = ways.length[k], ways.size[k], ways.tilt[k]
        odds = 0.5 * dict(zip(PRIOR.lengths, PRIOR.length_odds, strict=True))[length]
        odds *= dict(zip(PRIOR.sizes, PRIOR.size_odds, strict=True))[size]
        covariance, _, _ = dense_covariance(f, length, size, tilt, PRIOR.datum)
        theirs.append(np.log(odds) + multivariate_normal.logpdf(f.value, np.zeros(n), covariance))
        ours.append(ways.log_evidence[k])
    np.testing.assert_allclose(np.array(ours) - ours[0], np.array(theirs) - theirs[0], atol=0.03)


def test_the_covariance_of_the_readings_is_the_dense_one() -> None:
    """Datums, plane, field and noise, each in its place; the lattice costs half a percent of the field."""
    f = mixed_functionals(np.random.default_rng(2), 12, u=0.002)
    ways = ways_of(f, PRIOR)
    for k, root in enumerate(ways.root):
        expected, _, _ = dense_covariance(f, ways.length[k], ways.size[k], ways.tilt[k], PRIOR.datum)
        scale = np.sqrt(np.outer(np.diagonal(expected), np.diagonal(expected)))
        np.testing.assert_allclose(root @ root.T / scale, expected / scale, atol=0.005)


def test_factors_are_factors() -> None:
    f = mixed_functionals(np.random.default_rng(0), 9)
    ways = ways_of(replace(f, value=np.arange(9.0) / 1000), PRIOR)
    for root, whiten, misfit in zip(ways.root, ways.whiten, ways.misfit, strict=True):
        np.testing.assert_allclose(whiten @ root, np.eye(9), atol=1e-6)
        np.testing.assert_allclose(root @ misfit, np.arange(9.0) / 1000, atol=1e-9)


def test_without_readings_the_ways_keep_their_prior_odds() -> None:
    ways = ways_of(mixed_functionals(np.random.default_rng(0), 0), PRIOR)
    assert np.exp(ways.log_evidence).sum() == pytest.approx(1.0)


def test_odds_of_the_prior_sum_to_one_and_fit_their_classes() -> None:
    prior = Prior()
    for field in fields(prior):
        if field.name in ("length_odds", "size_odds", "tilt_odds", "height_odds"):
            assert sum(getattr(prior, field.name)) == pytest.approx(1.0), field.name
    assert len(prior.lengths) == len(prior.length_odds)
    assert len(prior.sizes) == len(prior.size_odds)
    assert len(prior.tilts) == len(prior.tilt_odds)
    assert len(prior.heights) == len(prior.height_sds) == len(prior.height_odds)
