"""A board on springs: balanced, mirrored, and stiffer supports move it less; the closed forms are outside checks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.hold.beam import bend, euler

PLACES = st.lists(st.integers(0, 40).map(lambda n: n / 20), min_size=1, max_size=6)
SUPPORTS = st.lists(st.integers(0, 40).map(lambda n: n / 20), min_size=2, max_size=5, unique=True)


@given(PLACES, SUPPORTS)
def test_forces_and_supports_balance(at: list[float], supports: list[float]) -> None:
    force = [100.0 * (k + 1) for k in range(len(at))]
    found = bend(at, force, supports, 1e6, 2000.0)
    assert found.held.sum() == pytest.approx(sum(force), rel=1e-6)
    turned = float(np.dot(found.held, supports))
    assert turned == pytest.approx(float(np.dot(force, at)), rel=1e-6, abs=1e-4)


@given(PLACES, SUPPORTS)
def test_mirrored(at: list[float], supports: list[float]) -> None:
    force = [100.0] * len(at)
    one = bend(at, force, supports, 1e6, 2000.0)
    other = bend([2 - x for x in at], force, [2 - x for x in supports], 1e6, 2000.0)
    assert other.moved == pytest.approx(one.moved, rel=1e-6, abs=1e-9)
    assert other.moment == pytest.approx(one.moment, rel=1e-6, abs=1e-6)


def test_moment_of_a_simple_board() -> None:
    assert bend([1.0], [500.0], [0.0, 2.0], 1e12, 2000.0).moment == pytest.approx(500.0 * 2 / 4, rel=1e-6)


@pytest.mark.parametrize("supports", [[], [1.0], [1.0, 1.0]])
def test_one_support_is_not_enough(supports: list[float]) -> None:
    with pytest.raises(ValueError, match="turns on fewer than two supports"):
        bend([0.5], [1.0], supports, 1e6, 2000.0)


def test_a_post_half_as_long_holds_four_times_as_much() -> None:
    assert euler(1000.0, 1.0) == pytest.approx(4 * euler(1000.0, 2.0))
