"""A recorded test beside the computation: does it agree, why not, and what would tell."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import Any

import numpy as np
import pytest
from floor_cases import INCH
from hypothesis import given
from hypothesis import strategies as st
from water_cases import DISH, SIDE, UNIT, dished, job, poured, read, sound, stage

from drainward.finding import Verdict
from drainward.floor.film.fluid import water
from drainward.floor.film.result import Seen
from drainward.floor.film.seen import HANGS, HANGS_SOAPED, TIMED, _across, _time_chance, _weighed, hangs, watched
from drainward.job.model import Puddle, Reading

READ, FEW = read(), read(sound, 3)
AT = Puddle(x=DISH[0], y=DISH[1], across=5 * INCH, depth=0.006)
SHALLOW = AT.model_copy(update={"depth": 0.002})


def seen(readings: tuple[Reading, ...], *puddles: Puddle, **more: Any) -> Seen:
    (found,) = stage(readings, (poured(*puddles, **more),)).seen
    return found


def sums(found: Seen) -> dict[str, float]:
    """Of the causes' probabilities, by what they are about."""
    total: dict[str, float] = defaultdict(float)
    for cause in found.causes:
        total[cause.about] += cause.probability
    return dict(total)


def test_what_the_readings_let_expect_agrees_and_has_no_cause() -> None:
    for found in (seen(READ, drained=120.0), seen(read(dished), AT.model_copy(update={"depth": 0.0035}))):
        assert found.agrees is True and found.causes == () and found.ask is None
        assert found.puddles_chance is not None and found.puddles_chance > 0.5
        assert "as the readings let expect" in found.says


def test_where_nobody_looked_and_nobody_timed_nothing_is_told() -> None:
    water = stage(READ, (poured(puddles=None),))
    (found,) = water.seen
    assert (found.agrees, found.puddles_chance, found.drained_chance, found.causes) == (None, None, None, ())
    finding = next(f for f in water.findings if f.id == "water/agreement")
    assert finding.verdict is Verdict.NOT_PROVEN and "Write down" in finding.advice
    assert found.weight == 1.0


def test_a_time_alone_is_compared_alone() -> None:
    found = seen(READ, puddles=None, drained=120.0)
    assert found.agrees is True and found.puddles_chance is None and found.drained_chance is not None
    assert "puddle" not in found.says and "2 min" in found.says


def test_a_deep_puddle_that_nobody_expects_is_a_dip_and_a_straightedge_across_it_tells() -> None:
    found = seen(FEW, AT, soap=True)
    assert found.agrees is False and found.puddles_chance is not None and found.puddles_chance < 0.05
    assert found.causes[0].what.startswith("a dip") and found.causes[0].probability > 0.5
    assert sums(found) == pytest.approx({"puddles": 1.0}, abs=0.02)
    ask = found.ask
    assert ask is not None and ask.kind == "chord" and ask.x2 is not None and ask.y2 is not None
    assert ((ask.x + ask.x2) / 2, (ask.y + ask.y2) / 2) == pytest.approx(DISH)
    assert math.hypot(ask.x2 - ask.x, ask.y2 - ask.y) >= 5 * INCH
    assert '9" from the left and 9" from the back' in found.says


def test_a_shallow_patch_without_soap_may_hang_and_with_soap_may_not() -> None:
    bare, soaped = seen(READ, SHALLOW), seen(READ, SHALLOW, soap=True)
    assert bare.agrees is True and bare.puddles_chance == pytest.approx(HANGS, abs=0.05)
    assert soaped.agrees is False and soaped.puddles_chance == pytest.approx(HANGS_SOAPED, abs=0.02)


def test_a_puddle_that_is_missing_is_told_with_its_place() -> None:
    found = seen(read(dished))
    assert found.agrees is False and sums(found) == pytest.approx({"puddles": 1.0}, abs=0.02)
    assert found.says.startswith("No puddle was seen, though") and "from the left" in found.says
    ask = found.ask
    assert ask is not None and ask.x2 is not None and ask.y2 is not None
    assert math.dist(((ask.x + ask.x2) / 2, (ask.y + ask.y2) / 2), DISH) < 3 * INCH


def test_a_drain_that_hardly_takes_anything_is_told_by_the_time() -> None:
    found = seen(READ, drained=1800.0)
    assert found.agrees is False and found.puddles_chance is not None and found.puddles_chance > 0.5
    assert "grate" in found.causes[0].what and found.causes[0].probability > 0.5
    assert sums(found) == pytest.approx({"time": 1.0}, abs=0.02)
    assert "later" in found.says and "30 min" in found.says


def test_too_soon_has_causes_of_its_own() -> None:
    found = seen(READ, over=15.0, drained=16.0)
    assert found.agrees is False and "sooner" in found.says
    assert sums(found) == pytest.approx({"time": 1.0}, abs=0.02)
    assert not any("grate" in cause.what for cause in found.causes)


def test_both_may_disagree_and_each_has_its_causes() -> None:
    found = seen(FEW, AT, soap=True, drained=1800.0)
    assert found.agrees is False
    assert sums(found) == pytest.approx({"puddles": 1.0, "time": 1.0}, abs=0.03)


def test_a_longer_pour_drains_later() -> None:
    minute, two = seen(READ, drained=120.0), seen(READ, over=120.0, drained=200.0)
    assert two.drained.likely - minute.drained.likely == pytest.approx(60.0, abs=10.0)


def test_a_smaller_risk_flags_less() -> None:
    late = poured(drained=260.0)
    strict, lax = (stage(READ, (late,), UNIT, risk=risk).seen[0] for risk in (0.2, 0.01))
    assert strict.agrees is False and strict.causes and lax.agrees is True and lax.causes == ()
    assert strict.drained_chance == lax.drained_chance


def test_how_likely_a_film_hangs_by_hand() -> None:
    """Not deeper than 3.32 mm at 75 degrees, 20 degC."""
    the_job, fluid = job(), water(20.0)
    puddles = tuple(Puddle(x=0.3, y=0.3, depth=depth) for depth in (None, 0.001, 0.0033, 0.0034, 0.02))
    np.testing.assert_array_equal(hangs(the_job, fluid, poured(*puddles)), [HANGS] * 3 + [0.0] * 2)
    soaped = hangs(the_job, fluid, poured(*puddles, soap=True))
    np.testing.assert_array_equal(soaped, [HANGS_SOAPED] * 3 + [0.0] * 2)
    assert hangs(the_job, fluid, poured()).shape == (0,)


def test_the_chance_of_a_stopped_time_by_hand() -> None:
    """Two-sided, of a log-normal of standard deviation TIMED about one computed time."""
    times = np.full(30, 130.0)
    assert _time_chance(130.0, times) == pytest.approx(1.0)
    for factor in (math.exp(1.959964 * TIMED), math.exp(-1.959964 * TIMED)):
        assert _time_chance(130.0 * factor, times) == pytest.approx(0.05, abs=1e-4)
    spread = np.geomspace(60, 280, 30)
    assert _time_chance(260.0, spread) > _time_chance(260.0, times), "floors that differ excuse more"
    assert _time_chance(130.0, np.full(5, np.inf)) == 0.0


@given(st.floats(1.0, 1e4), st.floats(1.0, 1e4))
def test_the_chance_is_one(seen_at: float, computed: float) -> None:
    assert 0.0 <= _time_chance(seen_at, np.full(8, computed)) <= 1.0


def test_computed_times_as_people_would_stop_them() -> None:
    """A log-normal's 95 % band about one time; a floor that never drains has no end."""
    one = watched(np.full(50, 100.0))
    assert one.likely == pytest.approx(100.0, rel=0.01)
    assert one.low == pytest.approx(100.0 * math.exp(-1.96 * TIMED), rel=0.01)
    assert one.high == pytest.approx(100.0 * math.exp(1.96 * TIMED), rel=0.01)
    never = watched(np.array([100.0, 100.0, 100.0, math.inf]))
    assert never.high == math.inf and never.likely == 100.0


def test_causes_sum_to_one_and_those_of_no_weight_are_left_out() -> None:
    causes = _weighed("time", ("a", 3.0), ("b", 1.0), ("c", 0.0), ("d", -1.0), ("e", 0.001))
    assert [(c.what, c.about) for c in causes] == [("a", "time"), ("b", "time")]
    assert [c.probability for c in causes] == pytest.approx([0.75, 0.25], abs=1e-3)
    assert _weighed("time", ("a", 0.0)) == ()


@given(st.floats(0.0, SIDE), st.floats(0.0, SIDE), st.one_of(st.none(), st.floats(0.01, SIDE)))
def test_the_straightedge_that_is_asked_for_lies_on_the_floor_and_over_the_puddle(
    x: float, y: float, across: float | None
) -> None:
    ask = _across(UNIT, Puddle(x=x, y=y, across=across))
    assert ask.x2 is not None and ask.y2 is not None
    for end in (ask.x, ask.x2, ask.y, ask.y2):
        assert -1e-9 <= end <= SIDE + 1e-9
    assert ((ask.x + ask.x2) / 2, (ask.y + ask.y2) / 2) == pytest.approx((x, y))
