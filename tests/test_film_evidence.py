"""A water test as evidence: puddles as readings, how deep water is inside and outside of them, odds, drawing again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, level_unit, surface
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from water_cases import SIDE, UNIT, poured

from drainward.floor.film.evidence import WIDTH as UNMEASURED
from drainward.floor.film.evidence import Depths, depths, level_readings, resample, standing_odds
from drainward.floor.film.fluid import water
from drainward.floor.film.wetting import notice, thickness
from drainward.floor.ponds import standing
from drainward.job.model import Puddle, Reading, ReadingKind, WaterTest

FLUID, ANGLES = water(20.0), (30.0, 75.0)
EDGE, MOST = (thickness(FLUID, angle) for angle in ANGLES)


def laid(test: WaterTest) -> dict[str, Reading]:
    """The readings of a test's only puddle, by their last two names."""
    return {r.id.split("/", 2)[2]: r for r in level_readings(UNIT, test, FLUID, ANGLES)}


def test_a_puddle_is_a_straightedge_and_a_level_across_it_both_ways() -> None:
    found = laid(poured(Puddle(x=0.4, y=0.5, across=0.2, depth=0.006), id="t7", line=4))
    assert set(found) == {"x/dip", "x/level", "y/dip", "y/level"}
    ends = {name: (r.x, r.y, r.x2, r.y2) for name, r in found.items()}
    assert ends["x/dip"] == ends["x/level"] == pytest.approx((0.3, 0.5, 0.5, 0.5))
    assert ends["y/dip"] == ends["y/level"] == pytest.approx((0.4, 0.4, 0.4, 0.6))
    assert {r.kind for name, r in found.items() if name.endswith("dip")} == {ReadingKind.CHORD}
    assert {r.kind for name, r in found.items() if name.endswith("level")} == {ReadingKind.WEDGE}
    assert {(r.line, r.room, r.stage) for r in found.values()} == {(4, "1", "water test")}


def test_the_edge_of_a_puddle_is_anywhere_from_nothing_to_where_it_draws_back() -> None:
    """Even between 0 and e: mean e / 2, standard deviation e / sqrt(12); a level has two edges, a straightedge one."""
    found = laid(poured(Puddle(x=0.4, y=0.5, across=0.2, depth=0.006)))
    spread = EDGE / math.sqrt(12)
    assert abs(EDGE - 1.41e-3) < 0.01e-3, "2 l sin(30 degrees / 2), l = 2.73 mm"
    assert found["x/dip"].value == pytest.approx(0.006 - EDGE / 2)
    assert found["x/level"].value == 0.0
    assert found["x/level"].u == pytest.approx(math.sqrt(2) * spread)
    assert found["x/dip"].u > spread, "the rule adds to it"


def test_soap_makes_a_puddle_tell_more() -> None:
    bare, soaped = (laid(poured(Puddle(x=0.4, y=0.5, across=0.2, depth=0.004), soap=soap)) for soap in (False, True))
    for name in bare:
        assert soaped[name].u < bare[name].u
    assert soaped["x/dip"].value > bare["x/dip"].value, "less of its depth is film"


def test_a_depth_that_nobody_measured_tells_less_than_one_that_was() -> None:
    unknown, known = (laid(poured(Puddle(x=0.4, y=0.5, across=0.2, depth=depth))) for depth in (None, 0.0035))
    assert unknown["x/dip"].u > known["x/dip"].u
    assert unknown["x/level"].u == known["x/level"].u


@pytest.mark.parametrize(
    ("x", "kept"), [(0.0, {"y"}), (0.02, {"y"}), (0.06, {"x", "y"}), (SIDE / 2, {"x", "y"}), (SIDE, {"y"})]
)
def test_at_a_wall_it_is_read_along_the_wall_alone(x: float, kept: set[str]) -> None:
    found = laid(poured(Puddle(x=x, y=0.5)))
    assert {name[0] for name in found} == kept
    for r in found.values():
        assert r.x2 is not None
        assert 0 <= min(r.x, r.x2) <= max(r.x, r.x2) <= SIDE
    assert found["y/dip"].y2 == pytest.approx(0.5 + UNMEASURED / 2)


def test_none_seen_and_nobody_looked_are_no_readings() -> None:
    assert level_readings(UNIT, poured(), FLUID, ANGLES) == ()
    assert level_readings(UNIT, poured(puddles=None), FLUID, ANGLES) == ()


def test_depths_inside_and_outside_of_the_outlines() -> None:
    """A level floor, its drain in the middle, with a hollow of 4 mm on the left and one of 2 mm on the right."""
    unit = level_unit()

    def hollow(x: np.ndarray, y: np.ndarray, at: float, depth: float) -> np.ndarray:
        return np.where(np.hypot(x - at, y - DEPTH / 2) < 2 * INCH, -depth, 0.0)

    def plateau(x: np.ndarray) -> np.ndarray:
        return np.where(x > 0.7 * WIDTH, 0.0005, 0.0)

    floors = surface(
        unit,
        lambda x, y: plateau(x),
        lambda x, y: plateau(x) + hollow(x, y, 12 * INCH, 0.004),
        lambda x, y: plateau(x) + hollow(x, y, 12 * INCH, 0.004) + hollow(x, y, WIDTH - 12 * INCH, 0.002),
    )
    still = standing(floors, unit, 0.001)
    left = Puddle(x=12 * INCH, y=DEPTH / 2, across=4 * INCH)
    right = Puddle(x=WIDTH - 12 * INCH, y=DEPTH / 2)
    found = depths(floors, still, (left,))
    np.testing.assert_allclose(found.inside, [[0, 0.004, 0.004]], atol=1e-6)
    np.testing.assert_allclose(found.outside, [0, 0, 0.002], atol=1e-6)
    both = depths(floors, still, (left, right))
    np.testing.assert_allclose(both.inside, [[0, 0.004, 0.004], [0, 0, 0.002]], atol=1e-6)
    np.testing.assert_allclose(both.outside, [0, 0, 0], atol=1e-6)
    none = depths(floors, still, ())
    assert none.inside.shape == (0, 3)
    np.testing.assert_allclose(none.outside, still.deepest, atol=1e-6)
    beside = depths(floors, still, (Puddle(x=18.5 * INCH, y=DEPTH / 2, across=2 * INCH),))
    np.testing.assert_allclose(beside.inside, [[0, 0, 0]], atol=1e-6, err_msg="3 in round it, as it was marked")
    touching = depths(floors, still, (Puddle(x=16 * INCH, y=DEPTH / 2, across=2 * INCH),))
    np.testing.assert_allclose(touching.inside, [[0, 0.004, 0.004]], atol=1e-6, err_msg="marked 2 in off")


def test_a_pond_wider_than_its_mark_is_one_puddle() -> None:
    """A trough right across a falling floor, marked by its middle; and a second one that nobody marked."""
    unit = level_unit()

    def trough(x: np.ndarray, y: np.ndarray, at: float) -> np.ndarray:
        return np.where((np.abs(y - at) < INCH) & (np.abs(x - WIDTH / 2) < 20 * INCH), -0.003, 0.0)

    floors = surface(
        unit,
        lambda x, y: 0.01 * np.abs(y - DEPTH / 2) + trough(x, y, 6 * INCH),
        lambda x, y: 0.01 * np.abs(y - DEPTH / 2) + trough(x, y, 6 * INCH) + trough(x, y, DEPTH - 5 * INCH),
    )
    still = standing(floors, unit, 0.001)
    found = depths(floors, still, (Puddle(x=WIDTH / 2, y=6 * INCH, across=2 * INCH),))
    assert found.inside[0].min() > 0.002
    np.testing.assert_allclose(found.outside, [0.0, still.deepest[1]], atol=3e-4)


def test_the_odds_of_what_was_seen_by_hand() -> None:
    """Floor by floor: nothing stands; it stands where it was seen; elsewhere; both. Nobody measured."""
    deep = 0.02
    sure = float(notice(np.array([deep]))[0])
    found = Depths(np.array([[0, deep, 0, deep]]), np.array([0, 0, deep, deep]))
    puddle = (Puddle(x=0.4, y=0.4),)
    odds = standing_odds(found, puddle, np.array([0.3]), EDGE, MOST)
    shown = sure + (1 - sure) * 0.3
    np.testing.assert_allclose(odds, [0.3, shown, 0.3 * (1 - sure), shown * (1 - sure)], rtol=1e-12)
    assert standing_odds(found, puddle, np.array([0.0]), EDGE, MOST)[0] == 0.0, "it cannot hang: no such floor"


def test_a_measured_depth_picks_the_floors_that_hold_as_much() -> None:
    """Normal about the depth less half an edge, sd of the rule and of the edge together; a film is anything to MOST."""
    inside = np.array([[0.0, 0.003, 0.006, 0.020]])
    puddle = (Puddle(x=0.4, y=0.4, depth=0.006 + EDGE / 2),)
    odds = standing_odds(Depths(inside, np.zeros(4)), puddle, np.array([0.3]), EDGE, MOST)
    assert odds.argmax() == 2
    u = math.hypot(0.8e-3, EDGE / math.sqrt(12))
    shows = notice(inside[0])
    by_hand = shows * np.exp(-0.5 * ((inside[0] - 0.006) / u) ** 2) / (u * math.sqrt(2 * math.pi))
    np.testing.assert_allclose(odds, by_hand + (1 - shows) * 0.3 / MOST, rtol=1e-12)


def test_two_puddles_multiply_and_none_seen_leaves_the_rest_of_the_floor() -> None:
    two = (Puddle(x=0.4, y=0.4), Puddle(x=0.8, y=0.4))
    odds = standing_odds(Depths(np.zeros((2, 2)), np.zeros(2)), two, np.array([0.3, 0.02]), EDGE, MOST)
    np.testing.assert_allclose(odds, 0.3 * 0.02)
    outside = np.array([0.0, 1.0e-3, 0.02])
    found = standing_odds(Depths(np.empty((0, 3)), outside), (), np.empty(0), EDGE, MOST)
    np.testing.assert_allclose(found, 1 - notice(outside))
    assert found[0] == 1.0 and 0.5 < found[1] < 0.55, "half of the people see a millimetre"


def test_deeper_water_is_noticed_more_and_nothing_is_not_noticed() -> None:
    seen = notice(np.linspace(0.0, 0.01, 200))
    assert seen[0] == 0.0 and (np.diff(seen) >= 0).all() and 0.9 < seen[-1] < 1.0


def test_drawing_again_by_hand() -> None:
    rng = np.random.default_rng(1)
    index, share = resample(np.array([0.75, 0.25]), rng)
    assert len(index) == 2 and share == pytest.approx(1 / (2 * (0.75**2 + 0.25**2)))
    index, share = resample(np.array([0.0, 5.0, 0.0, 0.0]), rng)
    assert index.tolist() == [1, 1, 1, 1] and share == pytest.approx(1 / 4)
    index, share = resample(np.full(6, 0.2), rng)
    assert sorted(index) == list(range(6)) and share == pytest.approx(1.0)


def test_where_no_floor_can_show_it_all_stay_and_the_share_is_none() -> None:
    index, share = resample(np.zeros(5), np.random.default_rng(1))
    assert index.tolist() == [0, 1, 2, 3, 4] and share == 0.0


@given(arrays(float, st.integers(1, 60), elements=st.floats(0, 1)), st.integers(0, 2**32))
def test_a_floor_comes_as_often_as_its_odds_say_to_within_one(odds: np.ndarray, seed: int) -> None:
    index, share = resample(odds, np.random.default_rng(seed))
    assert len(index) == len(odds) and 0.0 <= share <= 1.0 + 1e-9
    if odds.sum() > 0:
        meant = len(odds) * odds / odds.sum()
        off = np.abs(np.bincount(index, minlength=len(odds)) - meant)
        assert off.max() < 1.0 + 1e-6
