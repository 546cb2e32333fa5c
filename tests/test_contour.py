"""Lines and areas of a height grid, against shapes whose contours are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.report import contour

X, Y = np.linspace(0.0, 1.5, 151), np.linspace(0.0, 0.9, 91)
GX, GY = np.meshgrid(X, Y)


@given(low=st.floats(-0.2, 0.2), rise=st.floats(0.002, 0.5))
def test_levels_are_six_to_fourteen_trade_steps_inside_the_range(low: float, rise: float) -> None:
    step, levels = contour.choose_step(low, low + rise), contour.levels(low, low + rise)
    ratio = step / (0.0254 / 8)
    assert ratio == 2.0 ** round(math.log2(ratio)), "the step is 1/8 in halved or doubled"
    assert len(levels) <= 15
    assert len(levels) >= 6 or step == contour.FINEST
    assert all(low < level < low + rise for level in levels)
    assert all(abs(level / step - round(level / step)) < 1e-9 for level in levels)


def test_a_flat_floor_keeps_the_finest_step_and_has_no_lines() -> None:
    assert contour.choose_step(0.01, 0.01) == contour.FINEST
    assert contour.levels(0.01, 0.01) == ()


def test_a_cone_has_round_contours_of_the_right_size() -> None:
    cone = 0.02 * np.hypot(GX - 0.75, GY - 0.45)
    (circle,) = contour.lines(X, Y, cone, 0.006)
    radii = [math.hypot(x - 0.75, y - 0.45) for x, y in circle]
    assert max(abs(radius - 0.3) for radius in radii) < 0.0005
    assert len(circle) < 130, "half of the 240 grid crossings tell as much"


def test_an_area_with_a_hole_is_filled_by_even_odd() -> None:
    cone = 0.02 * np.hypot(GX - 0.75, GY - 0.45)
    (ring,) = contour.areas(X, Y, cone, 0.004, 0.006)
    assert len(ring) == 2
    assert contour.holds(ring, 0.75 + 0.25, 0.45)
    assert not contour.holds(ring, 0.75, 0.45)
    assert not contour.holds(ring, 0.75 + 0.35, 0.45)
    assert contour.size(ring) == pytest.approx(math.pi * (0.3**2 - 0.2**2), rel=0.01)


def test_two_dips_are_two_areas() -> None:
    dips = np.minimum(np.hypot(GX - 0.4, GY - 0.4), np.hypot(GX - 1.1, GY - 0.5))
    assert len(contour.areas(X, Y, dips, -1.0, 0.1)) == 2
