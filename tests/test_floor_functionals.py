"""Readings as functionals: closed forms on planes and paraboloids, the signs, set-ups, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import INCH, cone_unit, reading
from hypothesis import assume, given
from hypothesis import strategies as st

from drainward.floor.functionals import Functionals, as_functionals
from drainward.job.model import Reading, ReadingKind

UNIT = cone_unit()
HEIGHT, WEDGE, SLOPE, CHORD = (ReadingKind(k) for k in ("height", "wedge", "slope", "chord"))
px, py = st.floats(0, UNIT.inside_width), st.floats(0, UNIT.inside_depth)
slopes = st.floats(-0.1, 0.1)


def read(*readings: Reading) -> Functionals:
    f, used, rejected = as_functionals(UNIT, readings)
    assert used == readings
    assert rejected == ()
    return f


def on(f: Functionals, field: object) -> np.ndarray:
    return f.apply(field(f.x, f.y))  # type: ignore[operator]


@given(px, py, px, py, slopes, slopes)
def test_every_kind_on_a_plane(x: float, y: float, x2: float, y2: float, a: float, b: float) -> None:
    run = np.hypot(x2 - x, y2 - y)
    assume(run > 0.05)
    f = read(
        reading(HEIGHT, x, y, value=0.1),
        reading(WEDGE, x, y, x2, y2, value=0.1),
        reading(SLOPE, x, y, x2, y2, value=0.1),
        reading(CHORD, x, y, x2, y2, value=0.1),
    )
    rise = a * (x2 - x) + b * (y2 - y)
    expected = [0.01 + a * x + b * y, -rise, rise / run, 0.0]
    np.testing.assert_allclose(on(f, lambda gx, gy: 0.01 + a * gx + b * gy), expected, atol=1e-12)


@given(px, py, px, py, st.floats(-0.2, 0.2), px, py)
def test_chord_of_a_paraboloid_is_a_quarter_of_its_curvature_times_length_squared(
    x: float, y: float, x2: float, y2: float, k: float, cx: float, cy: float
) -> None:
    """z = k r²: the line over both ends of a chord of length L stands k L²/4 over the middle, wherever it lies."""
    length = np.hypot(x2 - x, y2 - y)
    assume(length > 0.05)
    f = read(reading(CHORD, x, y, x2, y2, value=0.0))
    z = on(f, lambda gx, gy: k * ((gx - cx) ** 2 + (gy - cy) ** 2))
    np.testing.assert_allclose(z, k * length**2 / 4, atol=1e-12)


def test_signs_as_the_design_says() -> None:
    """The floor rises to the right: the free end at the right end has the smaller gap, the slope is positive."""
    rising = lambda x, y: 0.02 * x + 0 * y  # noqa: E731
    assert on(read(reading(WEDGE, 0.9, 0.3, 0.3, 0.3, value=0.0)), rising)[0] == pytest.approx(0.02 * 0.6)
    assert on(read(reading(WEDGE, 0.3, 0.3, 0.9, 0.3, value=0.0)), rising)[0] == pytest.approx(-0.02 * 0.6)
    assert on(read(reading(SLOPE, 0.3, 0.3, 0.9, 0.3, value=0.0)), rising)[0] == pytest.approx(0.02)
    assert on(read(reading(SLOPE, 0.9, 0.3, 0.3, 0.3, value=0.0)), rising)[0] == pytest.approx(-0.02)
    bump = lambda x, y: 0.003 * np.exp(-((x - 0.6) ** 2 + (y - 0.3) ** 2) / 0.005)  # noqa: E731
    rocks = on(read(reading(CHORD, 0.3, 0.3, 0.9, 0.3, value=0.0)), bump)[0]
    assert rocks == pytest.approx(-0.003, abs=1e-6)
    assert on(read(reading(CHORD, 0.3, 0.3, 0.9, 0.3, value=0.0)), lambda x, y: -bump(x, y))[0] == -rocks


def test_values_and_uncertainties_are_the_readings_own() -> None:
    f = read(reading(SLOPE, 0.1, 0.1, 0.5, 0.1, value=0.021, u=0.0009), reading(HEIGHT, 0.2, 0.2, value=1.3, u=0.0004))
    assert f.value.tolist() == [0.021, 1.3]
    assert f.u.tolist() == [0.0009, 0.0004]
    assert len(f) == 2


def test_heights_hang_on_the_datum_of_their_set_up_and_differences_on_none() -> None:
    f = read(
        reading(HEIGHT, 0.1, 0.1, value=0.0, setup="a"),
        reading(SLOPE, 0.1, 0.1, 0.5, 0.1, value=0.0, setup="a"),
        reading(HEIGHT, 0.2, 0.1, value=0.0, setup="b"),
        reading(HEIGHT, 0.3, 0.1, value=0.0, setup="a"),
        reading(WEDGE, 0.3, 0.1, 0.5, 0.1, value=0.0),
        reading(CHORD, 0.3, 0.1, 0.5, 0.1, value=0.0),
    )
    assert f.setup[[1, 4, 5]].tolist() == [-1, -1, -1]
    assert f.setup[0] == f.setup[3] != f.setup[2]
    assert set(f.setup.tolist()) == {-1, 0, 1}


def test_joined_lists_share_no_set_up() -> None:
    one = read(reading(HEIGHT, 0.1, 0.1, value=1.0, setup="a"), reading(SLOPE, 0.1, 0.1, 0.5, 0.1, value=2.0))
    both = one.joined(one)
    assert both.value.tolist() == [1.0, 2.0, 1.0, 2.0]
    assert both.setup[1] == both.setup[3] == -1
    assert both.setup[0] != both.setup[2]
    np.testing.assert_array_equal(both.x[2:], one.x)
    alone = read(reading(SLOPE, 0.1, 0.1, 0.5, 0.1, value=2.0)).joined(one)
    assert alone.setup.tolist() == [-1, 0, -1]


@pytest.mark.parametrize(
    ("kind", "place", "why"),
    [
        (WEDGE, (0.5, 0.5), "a wedge needs its second point x2, y2"),
        (SLOPE, (0.5, 0.5), "a slope needs its second point x2, y2"),
        (CHORD, (0.5, 0.5), "a chord needs its second point x2, y2"),
        (SLOPE, (0.5, 0.5, 0.51, 0.5), "its two points are the same place"),
        (HEIGHT, (-0.1, 0.5), "it lies outside the floor"),
        (HEIGHT, (0.5, -0.01), "it lies outside the floor"),
        (WEDGE, (0.5, 0.5, UNIT.inside_width + 0.01, 0.5), "it lies outside the floor"),
    ],
)
def test_refused_with_line_and_reason_and_the_rest_kept(kind: ReadingKind, place: tuple[float, ...], why: str) -> None:
    good = reading(HEIGHT, 0.3, 0.3, value=0.0, line=2)
    bad = reading(kind, *place, value=0.01, line=3)
    f, used, rejected = as_functionals(UNIT, (bad, good))
    assert used == (good,)
    assert len(f) == 1
    assert [(r.id, r.line) for r in rejected] == [(bad.id, 3)]
    assert rejected[0].why.startswith(why)


def test_a_point_written_at_the_edge_may_lie_a_rounding_beyond_it() -> None:
    read(reading(HEIGHT, UNIT.inside_width + 0.001, -0.001, value=0.0))


def test_taps_presses_and_the_world_outside_are_no_floor_readings() -> None:
    tap = reading(ReadingKind.TAP, 0.5, 0.5, value=1.0)
    press = reading(ReadingKind.PRESS, 0.5, 0.5, value=0.001)
    threshold = reading(HEIGHT, 0.5, UNIT.inside_depth + 1 * INCH, value=0.0)
    across = reading(WEDGE, 0.5, UNIT.inside_depth + 1 * INCH, 0.5, UNIT.inside_depth + 6 * INCH, value=0.01)
    f, used, rejected = as_functionals(UNIT, (tap, press, threshold, across))
    assert len(f) == 0
    assert used == rejected == ()


@pytest.mark.parametrize("kind", [WEDGE, SLOPE, CHORD])
def test_a_base_from_the_floor_over_the_opening_is_named_as_not_used(kind: ReadingKind) -> None:
    """Neither the floor nor the threshold can use it, so the foreman must hear of it."""
    odd = reading(kind, 0.5, 0.7, 0.5, UNIT.inside_depth + 1 * INCH, value=0.01, line=7)
    _, _, rejected = as_functionals(UNIT, (odd,))
    assert [r.line for r in rejected] == [7]


def test_no_readings_are_a_list_of_none() -> None:
    f, used, rejected = as_functionals(UNIT, ())
    assert len(f) == 0
    assert f.x.shape == (0, 3)
    assert used == rejected == ()
