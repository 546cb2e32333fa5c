"""Bands and chances with a little more doubt than the draws have."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.doubt import band, middle, prudent, wide_band


@given(st.floats(-1, 1), st.floats(0.001, 1))
def test_a_band_holds_95_percent_of_the_draws_or_more_evenly_cut(low: float, width: float) -> None:
    values = low + width * np.linspace(0, 1, 4001)
    ends = band(values)
    below, above = (values < ends[0]).mean(), (values > ends[1]).mean()
    assert below == pytest.approx(above, abs=5e-4)
    assert 0.005 < below < 0.0255


def test_a_band_follows_the_skew_of_the_draws() -> None:
    values = np.random.default_rng(0).exponential(1.0, 4000)
    low, high = band(values)
    value, u = middle((low, high))
    assert value - u * 1.96 == pytest.approx(low)
    assert value + u * 1.96 == pytest.approx(high)
    assert high - np.median(values) > 2 * (np.median(values) - low)


@given(st.integers(60, 940), st.floats(-5, 5))
def test_the_wide_band_spans_the_own_bands_of_both_kinds_of_floor(rare: int, apart: float) -> None:
    """However few the floors with a missed defect are, from one in twenty on they count like the others."""
    values = np.random.default_rng(rare).random(1000)
    missed = np.arange(1000) < rare
    values[missed] += apart
    own = [band(values[kind]) for kind in (missed, ~missed)]
    low, high = wide_band(values, missed)
    assert low == min(end for end, _ in own)
    assert high == max(end for _, end in own)


def test_a_kind_of_which_there_are_hardly_any_has_no_band_of_its_own() -> None:
    values = np.append(np.linspace(0, 1, 990), np.full(10, 50.0))
    assert wide_band(values, np.arange(1000) >= 990)[1] < 1.0
    assert wide_band(values, np.zeros(1000, dtype=bool)) == band(values)


def test_an_uncertainty_is_never_zero() -> None:
    assert middle((0.02, 0.02))[1] > 0


@given(st.integers(1, 400), st.integers(0, 400))
def test_a_chance_is_never_surer_than_the_draws_and_leans_the_same_way(count: int, good: int) -> None:
    good = min(good, count)
    conforms = np.arange(count) < good
    p, share = prudent(conforms), good / count
    assert min(share, 0.5) - 1e-12 <= p <= max(share, 0.5) + 1e-12
    assert prudent(~conforms) == pytest.approx(1 - p)


def test_more_conforming_draws_never_lower_the_chance() -> None:
    chances = [prudent(np.arange(200) < good) for good in range(201)]
    assert chances == sorted(chances)
    assert chances[0] == 0.0
    assert chances[-1] == 1.0
    assert chances[100] == 0.5
