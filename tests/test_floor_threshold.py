"""The threshold's rise over the finished floor: least squares in closed form, and readings that do not tell."""

from __future__ import annotations

import numpy as np
import pytest
from floor_cases import INCH, cone_unit, reading
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.functionals import as_functionals
from drainward.floor.threshold import threshold_rise
from drainward.job.model import ReadingKind

UNIT = cone_unit()
HEIGHT, WEDGE, SLOPE, CHORD = (ReadingKind(k) for k in ("height", "wedge", "slope", "chord"))
ON, OUT = UNIT.inside_depth + 1 * INCH, UNIT.inside_depth + 8 * INCH
assert UNIT.threshold_width > 1 * INCH

heights = st.lists(st.floats(-0.05, 0.05), min_size=1, max_size=5)


@given(heights, heights, st.floats(-2, 2))
def test_heights_of_one_set_up_give_the_difference_of_means(on: list[float], out: list[float], datum: float) -> None:
    u = 0.0005
    readings = tuple(reading(HEIGHT, 0.1 + 0.1 * k, ON, value=datum + v, u=u) for k, v in enumerate(on))
    readings += tuple(reading(HEIGHT, 0.1 + 0.1 * k, OUT, value=datum + v, u=u) for k, v in enumerate(out))
    rise = threshold_rise(UNIT, readings)
    assert rise is not None
    assert rise[0] == pytest.approx(np.mean(on) - np.mean(out), abs=1e-9)
    expected = u * np.sqrt(1 / len(on) + 1 / len(out))
    free = len(on) + len(out) - 2
    if free:
        scatter = (np.var(on) * len(on) + np.var(out) * len(out)) / u**2 / free
        expected *= np.sqrt(max(scatter, 1.0))
    assert rise[1] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("swap", [False, True])
def test_a_wedge_and_a_slope_read_the_rise_in_either_direction(swap: bool) -> None:
    """The threshold stands 12 mm over the floor outside: with the bubble centred the gap outside is 12 mm wider."""
    ends = (0.5, OUT, 0.5, ON) if swap else (0.5, ON, 0.5, OUT)
    sign = -1.0 if swap else 1.0
    run = OUT - ON
    wedge = reading(WEDGE, *ends, value=sign * 0.012, u=0.0004)
    assert threshold_rise(UNIT, (wedge,)) == pytest.approx((0.012, 0.0004))
    slope = reading(SLOPE, *ends, value=-sign * 0.012 / run, u=0.001)
    assert threshold_rise(UNIT, (slope,)) == pytest.approx((0.012, 0.001 * run))


def test_two_readings_are_weighed_by_their_uncertainties() -> None:
    fine, coarse = (reading(WEDGE, 0.5, ON, 0.5, OUT, value=v, u=u) for v, u in ((0.012, 0.0003), (0.0125, 0.0006)))
    rise = threshold_rise(UNIT, (fine, coarse))
    assert rise is not None
    weight = np.array([1 / 0.0003**2, 1 / 0.0006**2])
    assert rise[0] == pytest.approx((weight @ [0.012, 0.0125]) / weight.sum())
    assert rise[1] == pytest.approx(1 / np.sqrt(weight.sum()))


def test_readings_that_scatter_more_than_they_should_are_trusted_less() -> None:
    some = tuple(
        reading(WEDGE, 0.3 + 0.1 * k, ON, 0.3, OUT, value=v, u=0.0002) for k, v in enumerate((0.010, 0.014, 0.012))
    )
    rise = threshold_rise(UNIT, some)
    assert rise is not None
    # Birge: u of the mean times the root of chi squared over its degrees of freedom
    assert rise[1] == pytest.approx(0.0002 / np.sqrt(3) * np.sqrt((10**2 + 10**2) / 2))


def test_a_datum_serves_only_its_own_set_up() -> None:
    here = [reading(HEIGHT, 0.5, ON, value=1.2, setup="a"), reading(HEIGHT, 0.5, OUT, value=0.3, setup="b")]
    assert threshold_rise(UNIT, tuple(here)) is None
    both = (*here, reading(HEIGHT, 0.5, OUT, value=1.188, setup="a"))
    rise = threshold_rise(UNIT, both)
    assert rise is not None
    assert rise[0] == pytest.approx(0.012)


def test_readings_that_do_not_cross_tell_nothing() -> None:
    inside = reading(WEDGE, 0.5, 0.3, 0.5, 0.6, value=0.01)
    on_it = reading(SLOPE, 0.2, ON, 0.8, ON, value=0.001)
    chord = reading(CHORD, 0.5, ON, 0.5, OUT, value=0.001)
    assert threshold_rise(UNIT, ()) is None
    assert threshold_rise(UNIT, (inside, on_it, chord)) is None
    assert threshold_rise(UNIT, (reading(HEIGHT, 0.5, ON, value=0.1),)) is None


def test_a_height_on_the_floors_front_edge_is_read_once() -> None:
    """A grid of spot heights may end on y = inside depth: of the floor or of the threshold, never of both."""
    edge = reading(HEIGHT, 0.5, UNIT.inside_depth, value=0.020)
    outside = reading(HEIGHT, 0.5, OUT, value=0.008)
    _, used, _ = as_functionals(UNIT, (edge, outside))
    assert (used == (edge,)) != (threshold_rise(UNIT, (edge, outside)) is not None)
