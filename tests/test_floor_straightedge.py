"""A straightedge over floors that are known: the closed form over a bell, none on a sound floor, places told once."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import DEPTH, INCH, WIDTH, cone_unit, dip, level_unit, planes_unit, still, surface
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.floor.straightedge import gap, high_spots, lines, rock
from drainward.floor.surface import surfaces

FOOT = 12 * INCH
LEVEL = level_unit()


@settings(max_examples=20)
@given(st.floats(0.7, 2), st.floats(0.7, 2), st.floats(0.2, 0.8), st.floats(0.2, 0.8), st.floats(0.15, 0.6))
def test_lines_lie_on_the_floor_at_full_length_clear_of_the_drain(
    width: float, depth: float, sx: float, sy: float, base: float
) -> None:
    rim = [(0.0, 0.0, 0.01), (width, 0.0, 0.01), (width, depth, 0.01), (0.0, depth, 0.01)]
    unit = planes_unit(width, depth, (sx * width, sy * depth), rim)
    where = lines(unit, base)
    mx, my = where.middle
    for px, py in ((where.x, where.y), (where.x2, where.y2), (mx, my)):
        assert px.min() >= -1e-8 and px.max() <= width + 1e-8
        assert py.min() >= -1e-8 and py.max() <= depth + 1e-8
        assert (np.hypot(px - unit.drain.x, py - unit.drain.y) > unit.drain.radius).all()
    np.testing.assert_allclose(np.hypot(where.x2 - where.x, where.y2 - where.y), base)
    angle = np.round(np.arctan2(where.y2 - where.y, where.x2 - where.x) / np.pi * 8).astype(int) % 8
    assert set(angle) == set(range(8))


def test_no_line_is_longer_than_the_floor() -> None:
    assert len(lines(LEVEL, 3.0).x) == 0
    long = lines(LEVEL, 1.3)
    assert len(long.x) > 0
    assert (np.abs(long.x2 - long.x) >= np.sqrt(1.3**2 - DEPTH**2) - 1e-9).all(), "none fits across"


@settings(max_examples=10)
@given(st.floats(0.001, 0.005), st.floats(1.5, 4), st.sampled_from([0.3, 0.6]))
def test_rock_over_a_bell_has_its_closed_form(height: float, half: float, base: float) -> None:
    """The middle on the top, both ends down its flanks: a (1 - exp(-L² / 8 s²))."""
    half *= INCH
    x, y = 20 * INCH, 12 * INCH
    drawn = surfaces(dip(LEVEL, x, y, half, height), LEVEL, INCH / 4)
    where = lines(LEVEL, base)
    rocked = rock(drawn, where)
    top = np.hypot(where.middle[0] - x, where.middle[1] - y) < 1e-6
    assert top.any(), "a line's middle lies on the top"
    expected = height * (1 - np.exp(-(base**2) / (8 * half**2)))
    np.testing.assert_allclose(rocked[top], expected, rtol=0.01)
    assert rocked.max() <= rocked[top].max() * 1.001
    np.testing.assert_allclose(rock(drawn, where, 2), rocked)


@settings(max_examples=10)
@given(st.floats(-0.05, 0.05), st.floats(-0.05, 0.05))
def test_a_plane_never_rocks(a: float, b: float) -> None:
    drawn = surfaces(still(plane=(a, b)), LEVEL, INCH)
    assert np.abs(rock(drawn, lines(LEVEL, FOOT))).max() < 2e-6


def test_the_moulded_shape_is_no_gap_though_a_straightedge_rocks_on_it() -> None:
    """Over a hip the planes of a sound floor meet in a ridge or a valley: intended, and taken out of the gap."""
    unit = cone_unit(0.04)
    where = lines(unit, FOOT)
    drawn = surfaces(still(plane=(0.01, 0.02)), unit, INCH / 4)
    rocked = rock(drawn, where)
    assert np.abs(rocked).max() > 0.001
    assert gap(unit, where, rocked).max() < 2e-4
    bulged = surfaces(dip(unit, 20 * INCH, 12 * INCH, 2 * INCH, 0.003), unit, INCH / 4)
    expected = 0.003 * (1 - np.exp(-(FOOT**2) / (8 * (2 * INCH) ** 2)))
    assert gap(unit, where, rock(bulged, where)).max() == pytest.approx(expected, rel=0.06)


def test_a_hollow_is_a_gap_and_no_high_spot_under_the_middle() -> None:
    where = lines(LEVEL, FOOT)
    hollow = rock(surfaces(dip(LEVEL, 20 * INCH, 12 * INCH, 2 * INCH, -0.003), LEVEL, INCH / 4), where)
    k = hollow[:, 0].argmin()
    assert np.hypot(where.middle[0][k] - 20 * INCH, where.middle[1][k] - 12 * INCH) < 1e-6
    assert gap(LEVEL, where, hollow)[k, 0] == pytest.approx(-hollow[k, 0])


def two_bells() -> tuple[object, np.ndarray]:
    """A high bell on every floor and a lower one on every second."""

    def field(x: np.ndarray, y: np.ndarray, second: float) -> np.ndarray:
        bell = lambda cx, cy: np.exp(-0.5 * ((x - cx) ** 2 + (y - cy) ** 2) / (2 * INCH) ** 2)  # noqa: E731
        return 0.004 * bell(14 * INCH, 12 * INCH) + second * bell(46 * INCH, 24 * INCH)

    drawn = surface(LEVEL, *(lambda x, y, s=s: field(x, y, s) for s in [0.0, 0.003] * 10), step=INCH / 4)
    where = lines(LEVEL, FOOT)
    return where, rock(drawn, where)


def test_high_spots_are_told_once_each_likeliest_first_with_height_and_chance() -> None:
    where, rocked = two_bells()
    spots = high_spots(where, rocked, INCH / 32)  # type: ignore[arg-type]
    assert len(spots) == 2
    first, second = spots
    middle = [((s.x + s.x2) / 2, (s.y + s.y2) / 2) for s in spots]
    assert middle[0] == pytest.approx((14 * INCH, 12 * INCH), abs=2 * INCH)
    assert middle[1] == pytest.approx((46 * INCH, 24 * INCH), abs=2 * INCH)
    assert (first.probability, second.probability) == (1.0, 0.5)
    assert first.height == pytest.approx(0.004, rel=0.03)
    assert second.height == pytest.approx(0.0015, rel=0.03)
    assert first.u == pytest.approx(0.0, abs=1e-6)
    assert second.u == pytest.approx(0.0015, rel=0.03)


def test_a_floor_without_high_spots_names_none() -> None:
    drawn = surfaces(still(WIDTH, DEPTH), LEVEL, INCH)
    where = lines(LEVEL, FOOT)
    assert high_spots(where, rock(drawn, where), INCH / 32) == ()
    none = lines(LEVEL, 3.0)
    assert high_spots(none, rock(drawn, none), INCH / 32) == ()
