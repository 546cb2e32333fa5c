"""What a drain takes: the least of weir, orifice and pipe; the cut sheet's drain."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.film.outlet import Outlet, flow_at, flow_growth, outlet_of, pipe_capacity
from drainward.job.model import Drain

INCH = 0.0254
OUTLETS = st.builds(Outlet, st.floats(0.01, 1.0), st.floats(1e-4, 0.02), st.floats(1e-5, 1e-2))
DEPTHS = st.floats(0.0, 0.1)


def drain(**more: float) -> Drain:
    parts = {"x": 0.0, "y": 0.0, "radius": 2 * INCH, "body_diameter": 0.1, "body_depth": 0.1, "pipe": 2 * INCH}
    return Drain(**parts | more)


@given(OUTLETS, DEPTHS, DEPTHS)
def test_takes_the_least_and_more_when_deeper(outlet: Outlet, a: float, b: float) -> None:
    shallow, deep = flow_at(outlet, min(a, b)), flow_at(outlet, max(a, b))
    assert 0 <= shallow <= deep <= outlet.capacity
    d = max(a, b)
    assert deep == pytest.approx(min(outlet.weir * d**1.5, outlet.orifice * d**0.5, outlet.capacity))


@given(OUTLETS, st.floats(1e-4, 0.1))
def test_its_growth_is_the_flow_s_derivative(outlet: Outlet, depth: float) -> None:
    nudge = 1e-7
    below, above = flow_growth(outlet, depth - nudge), flow_growth(outlet, depth + nudge)
    slope = (flow_at(outlet, depth + nudge) - flow_at(outlet, depth - nudge)) / (2 * nudge)
    # Between both sides also where one rule takes over from another.
    assert min(below, above) * (1 - 1e-3) - 1e-9 <= slope <= max(below, above) * (1 + 1e-3) + 1e-9
    assert flow_growth(outlet, 0.0) == 0.0


def test_each_of_the_three_rules_in_its_turn() -> None:
    outlet = Outlet(weir=0.5, orifice=0.005, capacity=0.001)
    assert flow_at(outlet, 0.004) == pytest.approx(0.5 * 0.004**1.5)
    assert flow_at(outlet, 0.02) == pytest.approx(0.005 * 0.02**0.5)
    assert flow_at(outlet, 0.05) == 0.001
    assert flow_at(outlet, 0.0) == flow_at(outlet, -0.01) == 0.0


def test_a_rim_twice_as_long_takes_twice_as_much() -> None:
    narrow, wide = (outlet_of(drain(radius=radius)) for radius in (INCH, 2 * INCH))
    assert flow_at(wide, 0.002) == pytest.approx(2 * flow_at(narrow, 0.002))
    assert wide.weir == pytest.approx(1.66 * math.pi * 4 * INCH)


def test_the_grate_s_open_area_counts_where_the_cut_sheet_tells_it() -> None:
    section = math.pi * INCH**2
    untold, told = outlet_of(drain()), outlet_of(drain(open_area=section / 3))
    assert untold.orifice == pytest.approx(2 * told.orifice)
    assert untold.weir == told.weir and untold.capacity == told.capacity
    assert told.orifice == pytest.approx(0.67 * section / 3 * math.sqrt(2 * 9.80665))


@given(st.floats(0.02, 0.2), st.floats(0.005, 0.1))
def test_pipes_scale_as_manning_s(diameter: float, fall: float) -> None:
    assert pipe_capacity(2 * diameter, fall) == pytest.approx(2 ** (8 / 3) * pipe_capacity(diameter, fall))
    assert pipe_capacity(diameter, 4 * fall) == pytest.approx(2 * pipe_capacity(diameter, fall))


def test_a_two_inch_pipe_takes_ten_showers_of_2_gpm() -> None:
    """About 25 gpm full at 1/4 in/ft (computed)."""
    assert pipe_capacity(2 * INCH) * 60 / 3.785411784e-3 == pytest.approx(25.2, abs=0.2)
    assert outlet_of(drain()).capacity == pipe_capacity(2 * INCH)
