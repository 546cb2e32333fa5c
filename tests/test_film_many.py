"""Water on many floors: the same on any number of threads, and each answer by hand where the hand can."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from film_cases import INCH, WATER, Array

from drainward.errors import StageError
from drainward.floor.film.flow import Spell, run
from drainward.floor.film.many import DROPS, FILM, Outcome, Setting, basin_on, outcomes, poured_on
from drainward.floor.film.outlet import Outlet, flow_at
from drainward.floor.film.result import Pour
from drainward.job.model import Pattern

X, Y = np.arange(0, 31) * 2 * INCH, np.arange(0, 19) * 2 * INCH
FROM_DRAIN = np.hypot(X[None, :] - 30 * INCH, Y[:, None] - 18 * INCH)
GALLON, SHOWER, LIP = 3.785411784e-3, 1.5e-4, 0.5 * INCH
SETTING = Setting(
    X,
    Y,
    FROM_DRAIN <= 2 * INCH,
    Outlet(0.5, 0.004, 0.001),
    LIP,
    WATER,
    Pour(Pattern.OVER_THE_FLOOR, GALLON, 60.0),
    SHOWER,
)
CONE = 0.02 * FROM_DRAIN


def floor(k: int) -> Array:
    """A cone with waves, another for every k."""
    rng = np.random.default_rng(k)
    length, phase = rng.uniform(0.3, 1.0, 2), rng.uniform(0, 2 * math.pi, 2)
    waves = np.sin(2 * math.pi * X / length[0] + phase[0]) * np.cos(2 * math.pi * Y[:, None] / length[1] + phase[1])
    return np.asarray(CONE + 0.001 * waves)


def on(z: Array, setting: Setting = SETTING) -> Outcome:
    return outcomes(setting, lambda k: z, 1, 1, lambda share: None)


def test_threads_do_not_change_the_answers() -> None:
    """Not one bit, and each floor keeps its place."""
    one, two, five = (outcomes(SETTING, floor, 6, threads, lambda share: None) for threads in (1, 2, 5))
    alone = [on(floor(k)) for k in range(6)]
    for part in fields(Outcome):
        values = getattr(one, part.name)
        assert values.shape == (6,)
        np.testing.assert_array_equal(values, getattr(two, part.name))
        np.testing.assert_array_equal(values, getattr(five, part.name))
        np.testing.assert_array_equal(values, np.concatenate([getattr(each, part.name) for each in alone]))
    assert len(set(one.drained)) == 6


def test_tells_the_share_done() -> None:
    told: list[float] = []
    outcomes(SETTING, floor, 4, 2, told.append)
    assert told == [0.25, 0.5, 0.75, 1.0]


def test_a_sound_floor_drains_within_minutes_and_holds_little() -> None:
    found = on(CONE)
    assert 60.0 < found.drained[0] < 600.0
    assert 0 < found.left[0] < 0.15 * GALLON
    assert found.spilled[0] == 0.0
    assert 0 < found.lip_depth[0] < 0.002
    assert LIP - found.freeboard[0] == pytest.approx(found.lip_depth[0], abs=0.001)


def test_drained_and_left_are_when_the_stream_breaks_up() -> None:
    found, ran = on(CONE), poured_on(SETTING, basin_on(SETTING, CONE))
    assert found.drained[0] == ran.stream_below(DROPS)
    after = np.searchsorted(ran.t, found.drained[0])
    assert ran.volume[after] <= found.left[0] <= ran.volume[after - 1]
    assert ran.poured[-1] == pytest.approx(GALLON)
    assert ran.t[-1] >= found.drained[0]
    assert ran.wet_until.max() <= ran.t[-1]
    late = poured_on(SETTING, basin_on(SETTING, CONE), drops=DROPS / 100)
    assert late.t[-1] > ran.t[-1]
    assert ran.frames.shape == (0, *CONE.shape)
    assert poured_on(SETTING, basin_on(SETTING, CONE), frames=[0.0, 30.0]).frames.shape == (2, *CONE.shape)


def test_water_that_never_reaches_the_drain_is_left() -> None:
    """A floor that falls away from its drain."""
    found = on(-CONE)
    assert found.drained[0] == 0.0
    assert found.left[0] == pytest.approx(GALLON, rel=0.01)


def test_a_blocked_drain_overflows_when_the_floor_below_the_lip_is_full() -> None:
    """Level floor: lip times area over the flow. A tilted one: over its lowest crest."""
    area = 60 * 36 * INCH**2
    assert on(np.zeros_like(CONE)).overflow[0] == pytest.approx(LIP * area / SHOWER)
    tilted = np.zeros_like(CONE) + 0.01 * X
    wedge = LIP**2 / 2 / 0.01 * 36 * INCH
    assert on(tilted).overflow[0] == pytest.approx(wedge / SHOWER, rel=0.02)
    basin = replace(basin_on(SETTING, CONE), outlet=None)
    rain = Spell(np.full(CONE.shape, SHOWER / area), 1000.0)
    ran = run(basin, [rain], WATER, until=1000.0)
    first = float(ran.t[np.flatnonzero(ran.spilled > 1e-6)[0]])
    # A film that still runs inward stands a little over the level.
    assert on(CONE).overflow[0] == pytest.approx(first, rel=0.06)


def test_capacity_is_the_drain_s_at_the_lip_s_level() -> None:
    rise = 0.02 * 18 * INCH
    crest = rise + LIP - float(CONE[SETTING.opening].mean())
    assert on(CONE).capacity[0] == pytest.approx(flow_at(SETTING.outlet, crest))
    assert on(-CONE - 1.0).capacity[0] == on(-CONE).capacity[0]


def test_a_shower_stands_as_deep_as_the_drain_asks() -> None:
    """Small pipe: the water rises until it spills."""
    choked = replace(SETTING, outlet=Outlet(0.5, 0.004, SHOWER / 3))
    found = on(CONE, choked)
    assert found.shower_depth[0] > LIP and found.freeboard[0] < 0
    assert on(CONE).shower_depth[0] < found.shower_depth[0]
    assert on(CONE).freeboard[0] > 0.8 * LIP


def test_a_low_lip_loses_water() -> None:
    low = replace(SETTING, lip=1e-4, pour=replace(SETTING.pour, over=5.0))
    found = on(CONE, low)
    assert 0 < found.spilled[0] < GALLON
    assert found.lip_depth[0] > 1e-4


def test_a_bucket_at_the_opening_drains_otherwise_than_a_pour_over_the_floor() -> None:
    bucket = replace(SETTING, pour=Pour(Pattern.AT_A_POINT, GALLON, 5.0, 30 * INCH, 33 * INCH))
    found = on(CONE, bucket)
    assert found.lip_depth[0] > 3 * on(CONE).lip_depth[0]
    # The shower is over the floor all the same.
    assert found.shower_depth[0] == on(CONE).shower_depth[0]


def test_refuses_to_pour_beside_the_floor() -> None:
    with pytest.raises(StageError, match="beside the floor"):
        on(CONE, replace(SETTING, pour=Pour(Pattern.AT_A_POINT, GALLON, 5.0, -1.0, 0.0)))


def test_basin_has_the_setting_s_drain_and_lip() -> None:
    basin = basin_on(SETTING, CONE.astype(np.float32))
    assert basin.z.dtype == float and basin.lip == LIP and basin.outlet is SETTING.outlet
    assert basin.dx == pytest.approx(2 * INCH) and basin.dy == pytest.approx(2 * INCH)
    assert basin.area.sum() == pytest.approx(60 * 36 * INCH**2)
    assert FILM < 1e-3
