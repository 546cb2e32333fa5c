"""Water by its temperature: against another formula, monotone, refused where it is none."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.floor.film.fluid import GRAVITY, Fluid, water

TEMPERATURES = st.floats(0.0, 100.0)


@given(TEMPERATURES)
def test_viscosity_follows_another_formula(t: float) -> None:
    """Vogel's equation as handbooks print it: 2.414e-5 Pa s times 10^(247.8 / (T - 140)), good to 2.5 %."""
    fluid = water(t)
    assert fluid.viscosity * fluid.density == pytest.approx(2.414e-5 * 10 ** (247.8 / (t + 273.15 - 140)), rel=0.025)


@given(TEMPERATURES)
def test_tension_follows_another_formula(t: float) -> None:
    """75.64 - 0.1391 t - 0.0003 t2 mN/m, a handbook's fit, good to 1 % (from memory)."""
    assert water(t).tension == pytest.approx((75.64 - 0.1391 * t - 0.0003 * t * t) / 1000, rel=0.01)


@given(TEMPERATURES, TEMPERATURES)
def test_warmer_water_is_thinner_and_lighter(a: float, b: float) -> None:
    cold, warm = water(min(a, b)), water(max(a, b))
    assert warm.viscosity <= cold.viscosity and warm.tension <= cold.tension
    if min(a, b) >= 4.0:
        assert warm.density <= cold.density


def test_water_is_densest_at_4_degrees() -> None:
    assert water(3.98).density > max(water(3.0).density, water(5.0).density)
    assert water(3.98).density == pytest.approx(999.97, abs=0.01)


def test_capillary_length_balances_weight_and_tension() -> None:
    assert Fluid(1000.0, 1e-6, 0.0980665).capillary_length == pytest.approx(math.sqrt(0.0980665 / (1000 * GRAVITY)))
    assert water(20.0).capillary_length == pytest.approx(2.73e-3, abs=0.005e-3)


@pytest.mark.parametrize("t", [-0.1, 100.1, math.nan, math.inf])
def test_refuses_ice_and_steam(t: float) -> None:
    with pytest.raises(ValueError, match="water between 0 and 100 degC was expected, got"):
        water(t)
