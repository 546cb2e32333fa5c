"""Standing water on floors that are known: closed forms of dishes and wedges, places, chances."""

from __future__ import annotations

import math

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, cone_unit, dip, level_unit, planes_unit, still, surface
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.floor.ponds import list_ponds, outlet, standing
from drainward.floor.shape import fine_axes
from drainward.floor.surface import surfaces

COUNTED = INCH / 16
LEVEL = level_unit()


def test_a_sound_floor_holds_no_water() -> None:
    unit = cone_unit()
    drawn = surfaces(still(plane=(0.005, 0.0)), unit, INCH / 4)
    water = standing(drawn, unit, COUNTED)
    # a node exactly on the rim may count as outside it: what stands there is the lean over one cell
    assert water.deepest.max() < 5e-5
    assert water.probability.max() == 0
    assert list_ponds(drawn, water, COUNTED) == ()


@settings(max_examples=12)
@given(st.floats(0.003, 0.006), st.floats(2, 3), st.floats(10, 18), st.floats(10, 26))
def test_a_gaussian_dish_in_a_level_floor(deep: float, half: float, x: float, y: float) -> None:
    """Depth a; volume 2 π a s²; counted area π r² with r² = 2 s² ln(a / counted): solid geometry."""
    half *= INCH
    drawn = surfaces(dip(LEVEL, x * INCH, y * INCH, half, -deep, count=5), LEVEL, INCH / 4)
    water = standing(drawn, LEVEL, COUNTED)
    np.testing.assert_allclose(water.deepest, deep, rtol=0.01)
    np.testing.assert_allclose(water.volume, 2 * math.pi * deep * half**2, rtol=0.02)
    (pond,) = list_ponds(drawn, water, COUNTED)
    assert pond.depth == pytest.approx(deep, rel=0.01) == pond.depth_p95
    assert (pond.x, pond.y) == pytest.approx((x * INCH, y * INCH), abs=INCH / 4)
    assert pond.area == pytest.approx(2 * math.pi * half**2 * math.log(deep / COUNTED), rel=0.06)
    assert pond.probability == 1.0


def test_the_named_pond_holds_the_water_where_it_is_deeper_than_counted() -> None:
    """Over the disc on which a Gaussian is deeper than c stand 2 π s² (a - c)."""
    deep, half = 0.006, 3 * INCH
    drawn = surfaces(dip(LEVEL, 15 * INCH, 18 * INCH, half, -deep), LEVEL, INCH / 4)
    (pond,) = list_ponds(drawn, standing(drawn, LEVEL, COUNTED), COUNTED)
    assert pond.volume == pytest.approx(2 * math.pi * half**2 * (deep - COUNTED), rel=0.01)


@pytest.mark.parametrize(
    ("lean", "wall"), [((0.01, 0.0), "left"), ((-0.01, 0.0), "right"), ((0.0, 0.01), "back"), ((0.0, -0.01), "front")]
)
def test_a_level_floor_that_leans_ponds_along_its_low_wall(lean: tuple[float, float], wall: str) -> None:
    """A wedge behind the drain's low rim: depth t L at the wall, volume t L² / 2 times the wall's length."""
    run, length = (WIDTH / 2, DEPTH) if wall in ("left", "right") else (DEPTH / 2, WIDTH)
    run -= LEVEL.drain.radius
    drawn = surfaces(still(plane=lean), LEVEL, INCH / 4)
    water = standing(drawn, LEVEL, COUNTED)
    np.testing.assert_allclose(water.deepest, 0.01 * run, rtol=0.015)
    (pond,) = list_ponds(drawn, water, COUNTED)
    distance = {"left": pond.x, "right": WIDTH - pond.x, "back": pond.y, "front": DEPTH - pond.y}[wall]
    assert distance < INCH / 2
    np.testing.assert_allclose(water.volume, 0.01 * run**2 / 2 * length, rtol=0.03)


def test_ponds_are_told_by_their_chance_likeliest_first() -> None:
    """A deep dish on a quarter of the floors, a shallow one on all: the sure one comes first."""

    def dishes(x: np.ndarray, y: np.ndarray, left: float, right: float) -> np.ndarray:
        bell = lambda cx: np.exp(-0.5 * ((x - cx) ** 2 + (y - DEPTH / 2) ** 2) / (2 * INCH) ** 2)  # noqa: E731
        return -left * bell(0.3) - right * bell(1.2)

    lefts = [0.006 if k % 4 == 0 else 0.0 for k in range(40)]
    drawn = surface(LEVEL, *(lambda x, y, a=a: dishes(x, y, a, 0.003) for a in lefts), step=INCH / 2)
    water = standing(drawn, LEVEL, COUNTED)
    sure, rare = list_ponds(drawn, water, COUNTED)
    assert (sure.probability, rare.probability) == (1.0, 0.25)
    assert sure.x == pytest.approx(1.2, abs=INCH) and rare.x == pytest.approx(0.3, abs=INCH)
    assert sure.depth == pytest.approx(0.003, rel=0.02)
    assert rare.depth == pytest.approx(0.006, rel=0.02), "the mean over the floors that have it"
    assert rare.depth_p95 == pytest.approx(0.006, rel=0.02), "the 95 % quantile over all floors"
    assert list_ponds(drawn, water, COUNTED, most=1) == (sure,)
    i, j = np.abs(drawn.y - DEPTH / 2).argmin(), np.abs(drawn.x - 0.3).argmin()
    assert water.probability[i, j] == pytest.approx(0.25)


def test_a_dish_less_deep_than_counted_is_no_pond() -> None:
    drawn = surfaces(dip(LEVEL, 0.4, 0.4, 2 * INCH, -0.9 * COUNTED), LEVEL, INCH / 4)
    water = standing(drawn, LEVEL, COUNTED)
    assert water.deepest.max() == pytest.approx(0.9 * COUNTED, rel=0.02)
    assert water.probability.max() == 0
    assert list_ponds(drawn, water, COUNTED) == ()


def test_two_threads_give_what_one_gives() -> None:
    unit = cone_unit(0.005)
    drawn = surfaces(dip(unit, 0.4, 0.4, 2 * INCH, -0.006, count=40), unit, INCH / 2)
    one, two = (standing(drawn, unit, COUNTED, threads) for threads in (1, 2))
    np.testing.assert_array_equal(one.water, two.water)
    np.testing.assert_array_equal(one.deepest, two.deepest)
    np.testing.assert_allclose(one.probability, two.probability)


@given(
    st.floats(0.6, 2), st.floats(0.6, 2), st.floats(0.1, 0.9), st.floats(0.1, 0.9), st.sampled_from([0.25, 0.5, 3.0])
)
def test_the_outlet_is_the_drains_opening_and_never_empty(
    width: float, depth: float, sx: float, sy: float, step: float
) -> None:
    rim = [(0.0, 0.0, 0.01), (width, 0.0, 0.01), (width, depth, 0.01), (0.0, depth, 0.01)]
    unit = planes_unit(width, depth, (sx * width, sy * depth), rim)
    x, y = fine_axes(unit, step * INCH)
    open_nodes = outlet(unit, x, y)
    assert open_nodes.any()
    away = np.hypot(x[None, :] - unit.drain.x, y[:, None] - unit.drain.y)
    assert open_nodes[away <= unit.drain.radius].all()
    assert not open_nodes[(away > unit.drain.radius + 1e-6) & (away > away.min() + 1e-6)].any()
