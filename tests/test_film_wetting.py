"""What surface tension keeps back, and what an eye sees."""

from __future__ import annotations

import math

import numpy as np
import pytest
from film_cases import WATER
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.film.wetting import hang, notice, thickness

ANGLES = st.floats(1.0, 120.0)
FALLS = st.floats(0.002, 0.1)


@given(ANGLES)
def test_a_puddle_s_edge_carries_its_weight(angle: float) -> None:
    """rho g e^2 / 2 = tension (1 - cos angle), the balance at its edge."""
    e = thickness(WATER, angle)
    weight = WATER.density * 9.80665 * e**2 / 2
    assert weight == pytest.approx(WATER.tension * (1 - math.cos(math.radians(angle))))


@given(ANGLES, ANGLES, FALLS)
def test_a_strip_hangs_by_its_edges(a: float, b: float, fall: float) -> None:
    """rho g S times its section = tension (cos receding - cos advancing)."""
    angles = min(a, b), max(a, b)
    hung = hang(WATER, angles, fall, 0.0, 1.0, 1.0)
    section = hung.length * (hung.least + hung.most) / 2
    pull = WATER.tension * (math.cos(math.radians(angles[0])) - math.cos(math.radians(angles[1])))
    assert WATER.density * 9.80665 * fall * section == pytest.approx(pull, abs=1e-12)
    assert hung.least <= hung.most and hung.fall == fall


def test_what_hangs_is_no_more_than_was_poured() -> None:
    wide = hang(WATER, (30.0, 75.0), 0.02, 0.0, 1.4, 1e-3)
    assert wide.volume == (0.0, 1e-3)
    narrow = hang(WATER, (30.0, 75.0), 0.02, 0.0, 0.1, 1e-3)
    assert narrow.volume == (0.0, pytest.approx(0.1 * narrow.least))


def test_on_a_level_a_strip_of_any_length_hangs() -> None:
    assert hang(WATER, (30.0, 75.0), 0.0, 0.0, 1.0, 1.0).length == math.inf


def test_a_dip_is_deeper_than_what_hangs_by_itself() -> None:
    assert hang(WATER, (30.0, 75.0), 0.02, 0.0016, 1.0, 1.0).dip == thickness(WATER, 75.0)
    assert hang(WATER, (5.0, 20.0), 0.02, 0.0016, 1.0, 1.0).dip == 0.0016


@given(st.floats(0.0, 0.02), st.floats(0.0, 0.02))
def test_deeper_water_is_seen_sooner(a: float, b: float) -> None:
    shallow, deep = notice(np.array([min(a, b), max(a, b)]))
    assert 0.0 <= shallow <= deep <= 1.0


def test_no_water_is_not_seen_and_nobody_sees_all() -> None:
    np.testing.assert_array_equal(notice(np.array([0.0, -1e-3])), 0.0)
    assert 0.9 < float(notice(np.array([0.02]))[0]) < 1.0
