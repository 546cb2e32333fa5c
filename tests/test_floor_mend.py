"""The mend on floors that are known: a lean is turned back, a rise taken out, and nothing promised for nothing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, cone_unit, dip, planes_unit, still, surface
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.floor.fall import Falls, falls
from drainward.floor.mend import CURED, best_move, in_sixteenths, mend, mortar_map, mortar_places, moved_falls
from drainward.floor.shape import moulded, radial_net
from drainward.floor.surface import surfaces
from drainward.job.model import UnitModel

UNIT = cone_unit(0.03)
LOW, HIGH = 0.0208, 0.0417
SIXTEENTH = INCH / 16
SIZE = float(np.hypot(WIDTH, DEPTH))
leans = st.floats(-0.02, 0.02)


def leaning(a: float, b: float) -> Falls:
    return falls(surfaces(still(plane=(a, b), count=2), UNIT, INCH / 2), radial_net(UNIT, 12 * INCH, lines=24))


@settings(max_examples=15)
@given(leans, leans, leans, leans)
def test_a_turn_changes_the_falls_as_it_changes_the_floor(a: float, b: float, c: float, d: float) -> None:
    np.testing.assert_allclose(moved_falls(leaning(a, b), np.array([c, d])), leaning(a + c, b + d).fall, atol=3e-5)


@settings(max_examples=15)
@given(leans, leans)
def test_the_best_move_turns_a_lean_back(a: float, b: float) -> None:
    """A cone in the middle of its window: no turn keeps more room on both sides than the one that undoes the lean."""
    turn = best_move(leaning(a, b), LOW, HIGH, SIZE)
    np.testing.assert_allclose(turn, [-a, -b], atol=0.0015)
    fall = moved_falls(leaning(a, b), turn)
    assert fall.min() >= LOW and fall.max() <= HIGH


@pytest.mark.parametrize(("low", "high"), [(LOW, None), (None, HIGH)])
def test_the_best_move_serves_one_sided_limits(low: float | None, high: float | None) -> None:
    of = leaning(0.015, 0.0)
    fall = moved_falls(of, best_move(of, low, high, SIZE))
    assert low is None or fall.min() >= low
    assert high is None or fall.max() <= high


@given(leans, leans, st.floats(0.2, 0.8), st.floats(0.2, 0.8))
def test_sixteenths_at_the_corners_come_to_nearly_the_turn_asked_for(a: float, b: float, sx: float, sy: float) -> None:
    rim = [(0.0, 0.0, 0.02), (WIDTH, 0.0, 0.02), (WIDTH, DEPTH, 0.02), (0.0, DEPTH, 0.02)]
    unit = planes_unit(WIDTH, DEPTH, (sx * WIDTH, sy * DEPTH), rim)
    shims, made = in_sixteenths(unit, np.array([a, b]))
    assert len(shims) == 4
    for shim in shims:
        wished = a * (shim.x - unit.drain.x) + b * (shim.y - unit.drain.y)
        assert abs(shim.sixteenths * SIXTEENTH - wished) <= SIXTEENTH / 2 + 1e-9
        assert ("left" in shim.corner) == (shim.x == 0.0)
        assert ("back" in shim.corner) == (shim.y == 0.0)
    assert abs(made[0] - a) * WIDTH <= SIXTEENTH + 1e-9
    assert abs(made[1] - b) * DEPTH <= SIXTEENTH + 1e-9


def mended(a: float, b: float, unit: UnitModel = UNIT) -> object:
    drawn = surfaces(still(plane=(a, b), count=2), unit, INCH / 2)
    of = falls(drawn, radial_net(unit, 12 * INCH, lines=24))
    mean, sd = drawn.moments()

    def chance(turn: np.ndarray) -> float:
        fall = moved_falls(of, turn)
        return float(((fall.min(axis=0) >= LOW) & (fall.max(axis=0) <= HIGH)).mean())

    turn = best_move(of, LOW, HIGH, SIZE)
    places = mortar_places(mortar_map(mean, drawn.base, drawn.x, drawn.y), sd, drawn.x, drawn.y)
    return mend(unit, turn, chance, places)


def test_a_floor_that_leans_to_the_right_has_its_right_edge_pressed_and_its_left_one_raised() -> None:
    """Too high on the right by 0.012: over the 30 in to either edge that is 0.36 in, 6 sixteenths (5.76)."""
    m = mended(0.012, 0.0)
    assert (m.probability_before, m.probability) == (0.0, 1.0)
    steps = {shim.corner: shim.sixteenths for shim in m.shims}
    assert steps == {"back left": 6, "front left": 6, "back right": -6, "front right": -6}
    moves = {edge.edge: edge.move for edge in m.edges}
    assert moves == {"left": pytest.approx(6 * SIXTEENTH), "right": pytest.approx(-6 * SIXTEENTH)}
    assert m.mortar == ()
    assert "0% to 100%" in m.says and m.says.startswith("While the bed is wet")


def test_a_floor_that_leans_to_the_front_has_its_front_pressed() -> None:
    m = mended(0.0, 0.016)
    moves = {edge.edge: edge.move for edge in m.edges}
    assert set(moves) == {"back", "front"}
    assert moves["front"] < 0 < moves["back"]
    assert m.probability > m.probability_before


def test_a_floor_that_conforms_is_left_alone() -> None:
    m = mended(0.001, 0.0)
    assert m.shims == m.edges == ()
    assert m.probability == m.probability_before == 1.0
    assert "no turn of the whole unit helps" in m.says


def test_a_move_beyond_a_correction_is_told_as_a_new_setting() -> None:
    m = mended(0.03, 0.0)
    assert m.probability == 1.0
    assert "set it again on a fresh bed" in m.says


def test_the_mortar_map_is_what_stands_over_the_moulded_shape_whatever_its_lean() -> None:
    x0, y0, half, height = 20 * INCH, 12 * INCH, 3 * INCH, 0.004
    drawn = surfaces(dip(UNIT, x0, y0, half, height), UNIT, INCH / 4)
    mean, sd = drawn.moments()
    gx, gy = np.meshgrid(drawn.x, drawn.y)
    excess = mortar_map(mean, drawn.base, drawn.x, drawn.y)
    bell = height * np.exp(-0.5 * ((gx - x0) ** 2 + (gy - y0) ** 2) / half**2)
    np.testing.assert_allclose(excess, bell, atol=2e-4)
    leant = surfaces(still(plane=(0.01, -0.02)), UNIT, INCH / 4).moments()[0]
    back = mortar_map(leant, drawn.base, drawn.x, drawn.y)
    assert np.abs(back).max() < 5e-6
    assert sd.max() < 1e-4


@pytest.mark.parametrize(("height", "do"), [(0.004, "take out"), (-0.004, "put in")])
def test_mortar_is_named_with_place_depth_and_volume(height: float, do: str) -> None:
    """Of a Gaussian the part over 1/32 in: area π r², volume 2 π s² (a - c), r² = 2 s² ln(a / c): solid geometry."""
    x0, y0, half, c = 20 * INCH, 12 * INCH, 3 * INCH, INCH / 32
    x, y = np.linspace(0, WIDTH, 241), np.linspace(0, DEPTH, 145)
    gx, gy = np.meshgrid(x, y)
    excess = height * np.exp(-0.5 * ((gx - x0) ** 2 + (gy - y0) ** 2) / half**2)
    (place,) = mortar_places(excess, np.zeros_like(excess), x, y)
    assert place.do == do
    assert (place.x, place.y) == pytest.approx((x0, y0), abs=INCH / 8)
    assert place.depth == pytest.approx(abs(height), rel=0.01)
    assert place.area == pytest.approx(2 * math.pi * half**2 * math.log(abs(height) / c), rel=0.03)
    assert place.volume == pytest.approx(2 * math.pi * half**2 * (abs(height) - c), rel=0.01)


def test_mortar_work_is_named_only_where_it_is_sure() -> None:
    x, y = np.linspace(0, WIDTH, 61), np.linspace(0, DEPTH, 37)
    gx, gy = np.meshgrid(x, y)
    excess = 0.002 * np.exp(-0.5 * ((gx - 0.5) ** 2 + (gy - 0.3) ** 2) / 0.08**2)
    assert len(mortar_places(excess, np.full_like(excess, 0.0005), x, y)) == 1
    assert mortar_places(excess, np.full_like(excess, 0.0015), x, y) == ()


def test_the_larger_work_comes_first() -> None:
    x, y = np.linspace(0, WIDTH, 121), np.linspace(0, DEPTH, 73)
    gx, gy = np.meshgrid(x, y)
    bell = lambda cx, half: np.exp(-0.5 * ((gx - cx) ** 2 + (gy - 0.4) ** 2) / half**2)  # noqa: E731
    places = mortar_places(0.003 * bell(0.3, 0.05) - 0.002 * bell(1.1, 0.12), np.zeros_like(gx), x, y)
    assert [p.do for p in places] == ["put in", "take out"]


def test_after_the_cure_it_says_that_it_cannot_be_mended_by_moving() -> None:
    assert "cannot be mended by moving" in CURED


def test_one_dish_that_no_turn_mends_asks_for_mortar_and_not_for_shims() -> None:
    unit = UNIT
    field = lambda x, y: moulded(unit, x, y) - 0.008 * np.exp(-0.5 * ((x - 0.4) ** 2 + (y - 0.3) ** 2) / 0.07**2)  # noqa: E731
    drawn = surface(unit, field, field, step=INCH / 2)
    of = falls(drawn, radial_net(unit, 12 * INCH, lines=48))
    mean, sd = drawn.moments()

    def chance(turn: np.ndarray) -> float:
        fall = moved_falls(of, turn)
        return float(((fall.min(axis=0) >= LOW) & (fall.max(axis=0) <= HIGH)).mean())

    turn = best_move(of, LOW, HIGH, SIZE)
    places = mortar_places(mortar_map(mean, drawn.base, drawn.x, drawn.y), sd, drawn.x, drawn.y)
    m = mend(unit, turn, chance, places)
    assert m.probability == 0.0
    assert m.shims == ()
    assert [p.do for p in m.mortar][:1] == ["put in"]
    assert (m.mortar[0].x, m.mortar[0].y) == pytest.approx((0.4, 0.3), abs=INCH)
    assert "work the mortar" in m.says
