"""The odds of every element: evidences with and without it by a general-purpose library, draws by frequency."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from drainward.floor.belief.odds import choose, log_ratio

seeds = st.integers(0, 2**32 - 1)


@dataclass
class Case:
    """n readings, m elements in two groups of height classes (sorted), o other elements already there."""

    covariance: np.ndarray
    value: np.ndarray
    feature: np.ndarray
    odds: np.ndarray
    group: np.ndarray
    mean: np.ndarray
    sd: np.ndarray
    share: np.ndarray
    none: float
    others: np.ndarray
    other_mean: np.ndarray
    other_sd: np.ndarray

    def log_factors(self) -> np.ndarray:
        """(m, classes) evidence with the element over evidence without it, by scipy.stats.multivariate_normal."""
        without = self.covariance + (self.others.T * self.other_sd**2) @ self.others
        expected = self.other_mean @ self.others
        base = multivariate_normal.logpdf(self.value, expected, without)
        factors = np.empty((len(self.feature), len(self.share)))
        for k, feature in enumerate(self.feature):
            for c in range(len(self.share)):
                mean, sd = self.mean[self.group[k], c], self.sd[self.group[k], c]
                covariance = without + sd**2 * np.outer(feature, feature)
                factors[k, c] = multivariate_normal.logpdf(self.value, expected + mean * feature, covariance) - base
        return factors

    def draw(self, count: int, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Element, height class and log total of `count` draws."""
        whiten = np.linalg.inv(np.linalg.cholesky(self.covariance))
        white = whiten @ self.feature.T
        b = (self.others @ whiten.T) * self.other_sd[:, None]
        misfit = whiten @ (self.value - self.other_mean @ self.others)
        inner = np.linalg.inv(np.eye(len(b)) + b @ b.T)
        each = [np.repeat(part[None], count, axis=0) for part in (misfit @ white, b @ white, inner, inner @ b @ misfit)]
        element, height, total = np.empty(count, np.intp), np.empty(count, np.intp), np.empty(count)
        product, cross, inner_each, pull = each
        norm, start, way = (white**2).sum(0)[None], np.searchsorted(self.group, [0, 1, 2]), np.zeros(count, np.intp)
        choose(
            norm.astype(np.float32), product.astype(np.float32), cross.astype(np.float32), inner_each, pull, self.odds,
            start, self.mean, self.sd**2, self.share, self.none, rng.random((count, 2)), way, element, height, total,
        )  # fmt: skip
        return element, height, total


def case(seed: int, others: int, misfit: float = 1.0) -> Case:
    rng = np.random.default_rng(seed)
    n, m, classes = 5, 6, 3
    root = np.eye(n) + 0.15 * rng.standard_normal((n, n))
    odds = rng.random(m)
    none = float(rng.uniform(0.2, 0.8))
    share = rng.random(classes)
    return Case(
        covariance=root @ root.T,
        value=misfit * rng.standard_normal(n),
        feature=rng.standard_normal((m, n)) * rng.choice([0.0, 1.0], (m, n), p=[0.3, 0.7]),
        odds=odds * (1 - none) / odds.sum(),
        group=np.sort(rng.integers(0, 2, m)),
        mean=rng.standard_normal((2, classes)),
        sd=rng.uniform(0.2, 2.0, (2, classes)),
        share=share / share.sum(),
        none=none,
        others=rng.standard_normal((others, n)),
        other_mean=rng.standard_normal(others),
        other_sd=rng.uniform(0.0, 1.5, others),
    )


@given(seeds)
def test_the_factor_is_a_ratio_of_evidences(seed: int) -> None:
    c = case(seed, 0)
    white = c.feature @ np.linalg.inv(np.linalg.cholesky(c.covariance)).T
    misfit = np.linalg.solve(np.linalg.cholesky(c.covariance), c.value)
    q, b = (white**2).sum(1), white @ misfit
    ours = log_ratio(q[:, None], b[:, None], c.mean[c.group], c.sd[c.group] ** 2)
    np.testing.assert_allclose(ours, c.log_factors(), atol=1e-9)


@settings(max_examples=40)
@given(seeds, st.integers(0, 3), st.sampled_from([0.0, 1.0, 10.0]))
def test_the_total_is_the_evidence_of_all_elements_together(seed: int, others: int, misfit: float) -> None:
    c = case(seed, others, misfit)
    terms = np.log(c.odds)[:, None] + np.log(c.share) + c.log_factors()
    expected = np.logaddexp.reduce(np.append(terms.ravel(), np.log(c.none)))
    _, _, total = c.draw(2, np.random.default_rng(0))
    np.testing.assert_allclose(total, expected, rtol=2e-5, atol=1e-3)


@pytest.mark.parametrize("others", [0, 1, 3])
@pytest.mark.parametrize("seed", range(4))
def test_draws_have_the_frequencies_of_their_probabilities(seed: int, others: int) -> None:
    c = case(seed, others)
    count = 20_000
    element, height, _ = c.draw(count, np.random.default_rng(seed))
    terms = np.append(np.log(c.odds)[:, None] + np.log(c.share) + c.log_factors(), np.log(c.none))
    probability = np.exp(terms - np.logaddexp.reduce(terms))
    drawn = np.where(element < 0, len(terms) - 1, element * len(c.share) + height)
    seen = np.bincount(drawn, minlength=len(terms))
    sd = np.sqrt(count * probability * (1 - probability))
    np.testing.assert_array_less(np.abs(seen - count * probability), 4.5 * sd + 1.0)


def test_an_element_that_no_reading_feels_keeps_its_prior_odds() -> None:
    c = case(1, 2)
    c.feature[:] = 0.0
    element, height, total = c.draw(20_000, np.random.default_rng(0))
    np.testing.assert_allclose(total, 0.0, atol=1e-6)
    expected = np.append(c.none, c.odds)
    seen = np.bincount(element + 1, minlength=len(expected)) / 20_000
    np.testing.assert_allclose(seen, expected, atol=0.015)
    np.testing.assert_allclose(
        np.bincount(height[element >= 0], minlength=3) / (element >= 0).sum(), c.share, atol=0.025
    )


def test_a_certain_element_is_always_drawn_and_an_impossible_one_never() -> None:
    c = case(0, 0)
    c.feature[:] = 0.0
    c.feature[2, 0] = 1.0
    c.group[:] = 0
    c.value = np.array([60.0, 0, 0, 0, 0])
    c.covariance = np.eye(5)
    c.mean[:], c.sd[:] = 0.0, 30.0
    element, _, _ = c.draw(500, np.random.default_rng(0))
    assert set(element.tolist()) == {2}
    c.value[:] = 0.0
    c.mean[:], c.sd[:] = 50.0, 0.5
    element, _, _ = c.draw(500, np.random.default_rng(0))
    assert 2 not in element
