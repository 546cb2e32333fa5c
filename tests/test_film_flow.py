"""Water that runs over small floors: never below empty, nothing lost, closed forms, symmetry, ends, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from film_cases import DRAIN, INCH, WATER, Array, Case, basin, cases, missing, tank
from hypothesis import given, settings
from hypothesis import strategies as st

from drainward.errors import StageError
from drainward.floor.film.flow import TOLERANCE, Basin, Ran, Spell, _Stepper, run
from drainward.floor.film.outlet import LIP_WEIR, Outlet, flow_at
from drainward.validation.film_laws import disc, dish, draining, front, sheet

LEVEL = np.zeros((5, 7))
CONE = 0.02 * np.hypot(np.arange(-6, 7)[:, None], np.arange(-9, 10)) * INCH
MIDDLE = (6, 9)


def ran(case: Case, until: float = 300.0, **more: Any) -> Ran:
    return run(case.basin, case.spells, WATER, start=case.start, until=until, **more)


def poured(floor: Basin, volume: float = 4e-4, over: float = 10.0) -> list[Spell]:
    """An even pour of `volume`, m3."""
    return [Spell(np.full(floor.z.shape, volume / over / floor.area.sum()), over)]


@settings(max_examples=50)
@given(cases())
def test_never_below_empty_and_nothing_lost(case: Case) -> None:
    found = ran(case)
    assert np.isfinite(found.depth).all() and (found.depth >= 0).all()
    assert (found.deepest >= found.depth).all() and (found.deepest >= case.start).all()
    assert missing(found) <= 1e-10
    assert (np.diff(found.t) > 0).all() and found.t[0] == 0 and found.t[-1] <= 300.0
    assert ((found.wet_until >= 0) & (found.wet_until <= found.t[-1])).all()
    assert found.volume[-1] == pytest.approx((found.depth * case.basin.area).sum(), rel=1e-12, abs=1e-15)
    # What a drain or a lip gives back is at most an error of a step.
    least = -TOLERANCE * case.basin.area.sum()
    assert np.diff(found.drained).min() >= least and np.diff(found.spilled).min() >= least
    if case.basin.outlet is None:
        assert (found.drained == 0).all()
    if case.basin.lip == math.inf:
        assert (found.spilled == 0).all()


@settings(max_examples=40)
@given(cases(), st.floats(0.2, 0.9))
def test_still_water_stays_still(case: Case, share: float) -> None:
    """Level ponds between dry banks, behind walls: nothing moves but rounding, which grows as the steps widen."""
    floor = replace(case.basin, outlet=None, lip=math.inf)
    pond = np.maximum(np.quantile(floor.z, share) - floor.z, 0.0)
    for until, moved in ((1.0, 1e-14), (60.0, 1e-4 * TOLERANCE)):
        found = run(floor, [], WATER, start=pond, until=until, rest=0.0)
        assert np.abs(found.depth - pond).max() <= moved
        assert found.refused == 0


@pytest.mark.parametrize("flip", [np.s_[:, ::-1], np.s_[::-1, :], np.s_[::-1, ::-1]])
@settings(max_examples=12)
@given(case=cases(walls=True, smooth=True))
def test_a_mirrored_floor_has_mirrored_water(case: Case, flip: tuple[slice, slice]) -> None:
    """But for rounding, and the order in which neighbours lend."""
    there, here = (ran(each, 60.0, tolerance=2e-7) for each in (case.turned(flip), case))
    assert np.abs(there.depth[flip] - here.depth).max() <= 2e-5
    assert there.volume[-1] == pytest.approx(here.volume[-1], abs=2e-6 * case.basin.area.sum())


def test_a_symmetric_floor_has_symmetric_water() -> None:
    floor = basin(CONE, drain=[MIDDLE])
    found = run(floor, poured(floor), WATER, until=30.0)
    np.testing.assert_allclose(found.depth, found.depth[:, ::-1], rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(found.depth, found.depth[::-1], rtol=1e-9, atol=1e-12)
    assert found.depth.max() > 1e-4


def test_both_axes_are_alike() -> None:
    """A floor turned by a quarter: the axes are split, so within a step's error."""
    z = CONE + 0.0005 * np.sin(np.arange(19.0))
    across = basin(z, drain=[MIDDLE])
    along = replace(across, z=across.z.T, opening=across.opening.T)
    one, other = (run(floor, poured(floor), WATER, until=30.0, tolerance=1e-7).depth for floor in (across, along))
    np.testing.assert_allclose(one, other.T, atol=2e-6)


def test_a_dry_floor_ends_at_once() -> None:
    found = run(basin(CONE, drain=[MIDDLE]), [], WATER)
    assert len(found.t) == 2 and found.t[-1] < 0.01
    assert not found.depth.any() and not found.wet_until.any() and found.stream_below(1e-9) == 0.0


def test_no_rain_in_a_spell_is_no_water() -> None:
    found = run(basin(CONE, drain=[MIDDLE]), [Spell(np.zeros(CONE.shape), 30.0)], WATER)
    assert found.t[-1] == pytest.approx(30.0, abs=1.0) and not found.depth.any() and not found.drained.any()


def test_a_full_floor_spills_what_comes_and_ends() -> None:
    """Blocked drain: the head over the lip is that of its weir, and after the rain the lip's level stays."""
    floor, flow, lip = basin(LEVEL, lip=0.0127), 1e-4, 0.0127
    rain = np.full(LEVEL.shape, flow / floor.area.sum())
    full = run(floor, [Spell(rain, 600.0)], WATER, until=600.0, rest=0.0)
    head = (flow / (LIP_WEIR * 6 * INCH)) ** (2 / 3)
    assert full.depth[-1] - lip == pytest.approx(head, rel=5e-3)
    assert np.diff(full.spilled)[-1] / np.diff(full.t)[-1] == pytest.approx(flow, rel=1e-3)
    assert full.volume[-1] > 0.0127 * floor.area.sum()
    after = run(floor, [Spell(rain, 60.0)], WATER, until=1e5, rest=1e-9)
    assert after.t[-1] < 1e5
    assert after.depth == pytest.approx(np.full(LEVEL.shape, lip), abs=3e-5)
    assert (after.depth >= lip).all()
    assert missing(after) < 1e-12


def test_a_full_floor_overflows_when_its_volume_has_come() -> None:
    floor, lip, flow = basin(LEVEL, lip=0.0127), 0.0127, 1e-4
    found = run(floor, [Spell(np.full(LEVEL.shape, flow / floor.area.sum()), 100.0)], WATER, until=100.0)
    first = found.t[np.flatnonzero(found.spilled > 0)[0] - 1]
    step = np.diff(found.t).max()
    assert lip * floor.area.sum() / flow == pytest.approx(first, abs=step)


@pytest.mark.parametrize(("lip", "through"), [(np.array([1.0, 1, 0.002, 1, 1, 1, 1]), True), (math.inf, False)])
def test_a_lip_may_be_low_in_one_place(lip: Array | float, through: bool) -> None:
    floor = basin(LEVEL, lip=lip)
    found = run(floor, [], WATER, start=np.full(LEVEL.shape, 0.005), until=1000.0)
    assert (found.spilled[-1] > 0) == through
    if through:
        assert found.depth == pytest.approx(np.full(LEVEL.shape, 0.002), abs=2e-4)


def test_weir_empties_a_tank_by_its_law() -> None:
    """dh/dt = -w h^1.5 / A: h = (h0^-0.5 + w t / 2A)^-2."""
    weir, start = 0.02, 0.004
    floor = tank(Outlet(weir, 1e9, 1e9))
    w = weir / floor.area.sum()
    found = run(floor, [], WATER, start=np.full((4, 4), start), until=20.0, rest=0.0, film=5e-4, tolerance=1e-7)
    assert found.depth == pytest.approx(np.full((4, 4), (start**-0.5 + w * 20.0 / 2) ** -2), rel=2e-3)
    assert found.wet_until == pytest.approx(np.full((4, 4), 2 / w * (5e-4**-0.5 - start**-0.5)), rel=2e-3)
    assert found.deepest == pytest.approx(np.full((4, 4), start))
    flow = weir * 5e-4**1.5
    assert found.stream_below(flow) == pytest.approx(float(found.wet_until[0, 0]), rel=5e-3)


def test_orifice_empties_a_tank_by_its_law_to_the_last_drop() -> None:
    """dh/dt = -o h^0.5 / A: h = (h0^0.5 - o t / 2A)^2, until nothing is left."""
    orifice, start = 2e-4, 0.004
    floor = tank(Outlet(1e9, orifice, 1e9))
    o = orifice / floor.area.sum()
    half = math.sqrt(start) / o
    found = run(floor, [], WATER, start=np.full((4, 4), start), until=half, rest=0.0, tolerance=1e-7)
    assert found.depth == pytest.approx(np.full((4, 4), start / 4), rel=2e-3)
    late = run(floor, [], WATER, start=np.full((4, 4), start), until=10 * half, rest=0.0)
    assert late.depth.max() < 2 * TOLERANCE and missing(late) < 1e-12


def test_pipe_empties_a_tank_evenly() -> None:
    capacity, start = 1e-5, 0.004
    floor = tank(Outlet(1e9, 1e9, capacity))
    found = run(floor, [], WATER, start=np.full((4, 4), start), until=1.0, rest=0.0)
    assert found.stream == pytest.approx(np.full(len(found.t) - 1, capacity), rel=0.01)
    assert found.drained[-1] == pytest.approx(capacity, rel=5e-3)
    assert found.volume[-1] == pytest.approx(start * floor.area.sum() - found.drained[-1], rel=1e-12)


def test_the_pipe_limits_what_several_nodes_take() -> None:
    floor = basin(CONE, drain=[MIDDLE, (5, 9), (6, 8)], outlet=replace(DRAIN, capacity=1e-6))
    found = run(floor, poured(floor), WATER, until=60.0)
    assert found.stream.max() < 1.02e-6
    assert found.stream[-1] == pytest.approx(1e-6, rel=0.02)


@pytest.mark.parametrize("radius", [0.5, 1.0, 2.0])
def test_a_shower_stands_over_its_drain_as_the_weir_asks(radius: float) -> None:
    """Once steady, the drain takes what comes, within the share at which the run ends: whatever the steps."""
    from_drain = np.hypot(np.arange(-18, 19)[:, None], np.arange(-30, 31))
    places = [(int(i), int(j)) for i, j in np.argwhere(from_drain <= radius)]
    outlet, flow = Outlet(weir=1.66 * 2 * math.pi * radius * INCH, orifice=1.0, capacity=1.0), 1.5e-4
    floor = basin(0.02 * from_drain * INCH, drain=places, outlet=outlet)
    rain = Spell(np.full(from_drain.shape, flow / floor.area.sum()), 600.0)
    for tolerance in (5e-6, 1e-6):
        found = run(floor, [rain], WATER, until=600.0, rest=0.01 * flow, tolerance=tolerance)
        deep = np.average(found.depth[floor.opening], weights=floor.area[floor.opening])
        assert flow_at(outlet, deep) == pytest.approx(flow, rel=0.015)
        assert found.stream[-1] == pytest.approx(flow, rel=0.015)


def test_a_drain_in_the_row_of_the_lip_keeps_the_balance() -> None:
    """Its node loses by both."""
    floor = basin(CONE, drain=[(-1, 9), (-1, 0)], lip=0.002)
    found = run(floor, poured(floor, 1e-3), WATER, until=120.0)
    assert found.drained[-1] > 0 and found.spilled[-1] > 0
    assert missing(found) < 1e-12


def test_spells_follow_each_other() -> None:
    floor = basin(CONE)
    rate = np.full(CONE.shape, 1e-5)
    found = run(floor, [Spell(rate, 5.0), Spell(0 * rate, 8.0), Spell(2 * rate, 10.0)], WATER, until=20.0, rest=0.0)
    area = float(floor.area.sum())
    at = np.interp([5.0, 8.0, 10.0, 20.0], found.t, found.poured)
    assert at == pytest.approx(np.array([5e-5, 5e-5, 9e-5, 9e-5]) * area)
    assert {5.0, 8.0, 10.0} <= set(found.t)
    split = run(floor, [Spell(rate, 5.0), Spell(rate, 10.0)], WATER, until=10.0, rest=0.0)
    whole = run(floor, [Spell(rate, 10.0)], WATER, until=10.0, rest=0.0)
    np.testing.assert_allclose(split.depth, whole.depth, atol=10 * TOLERANCE)


def test_ends_where_asked_or_at_rest() -> None:
    floor = basin(CONE, drain=[MIDDLE])
    assert run(floor, poured(floor), WATER, until=7.0).t[-1] == 7.0
    assert run(floor, poured(floor), WATER, until=10.0, rest=0.0).t[-1] == 10.0
    at_rest = run(floor, poured(floor), WATER, until=1e6, rest=1e-7)
    assert 10.0 < at_rest.t[-1] < 1e5
    assert at_rest.stream[-1] < 1e-7
    steady = run(floor, [Spell(np.full(CONE.shape, 1e-5), 1e6)], WATER, until=1e6, rest=1e-9)
    assert steady.t[-1] < 1e5
    assert steady.stream[-1] == pytest.approx(1e-5 * floor.area.sum(), rel=1e-3)


def test_frames_lie_between_steps_and_end_with_the_end() -> None:
    floor = basin(CONE, drain=[MIDDLE])
    spells = poured(floor)
    start = np.full(CONE.shape, 1e-4)
    free = run(floor, spells, WATER, start=start, until=60.0)
    k = len(free.t) // 2
    between = 0.3 * free.t[k] + 0.7 * free.t[k + 1]
    asked = [1e9, 0.0, between, free.t[k], free.t[k + 1], free.t[-1]]
    shown = run(floor, spells, WATER, start=start, until=60.0, frames=asked)
    np.testing.assert_array_equal(shown.depth, free.depth)
    assert shown.frames.dtype == np.float32 and shown.frames.shape == (6, *CONE.shape)
    first, at, middle, after, last, never = shown.frames
    np.testing.assert_array_equal(first, start.astype(np.float32))
    np.testing.assert_allclose(middle, 0.3 * at + 0.7 * after, rtol=1e-5, atol=1e-10)
    np.testing.assert_array_equal(last, free.depth.astype(np.float32))
    np.testing.assert_array_equal(never, last)
    assert (at * floor.area).sum() == pytest.approx(free.volume[k], rel=1e-6)


def told(t: list[float], drained: list[float]) -> Ran:
    """A run of which only the drain is of interest."""
    none, flat = np.zeros(len(t)), np.zeros((3, 3))
    frames = np.zeros((0, 3, 3), np.float32)
    return Ran(flat, flat, flat, np.array(t), none, np.array(drained), none, none, frames, 0)


def test_stream_below_is_when_it_falls_for_good() -> None:
    """Mean flows 1, 4, 2, 3, 1 stand at 0.5, 1.5, 2.5, 3.5, 5.0 s."""
    stream = told([0.0, 1, 2, 3, 4, 6], [0.0, 1, 5, 7, 10, 12])
    np.testing.assert_array_equal(stream.stream, [1, 4, 2, 3, 1])
    assert stream.stream_below(2.0) == pytest.approx(4.25)
    assert stream.stream_below(2.5) == pytest.approx(3.875)
    assert stream.stream_below(3.5) == pytest.approx(1.75)
    assert stream.stream_below(1.0) == math.inf
    assert stream.stream_below(5.0) == 0.0
    assert told([0.0], [0.0]).stream_below(1.0) == 0.0


def test_wet_until_is_when_it_was_last_deeper() -> None:
    """Rain on a tank without a drain rises evenly; a dry bank never was wet."""
    z = LEVEL.copy()
    z[2, 3] = 0.01
    rate = np.where(z > 0, 0.0, 1e-4)
    floor = basin(z)
    found = run(floor, [Spell(rate, 10.0)], WATER, until=10.0, film=2e-4, rest=0.0)
    assert (found.wet_until[z == 0] == 10.0).all()
    assert found.wet_until[2, 3] == 0.0
    dry = run(floor, [Spell(rate, 1.0)], WATER, until=10.0, film=2e-4, rest=0.0)
    assert not dry.wet_until.any()


def test_finer_tolerance_comes_closer() -> None:
    floor = basin(CONE, drain=[MIDDLE])
    spells = poured(floor)
    true = run(floor, spells, WATER, until=15.0, tolerance=1e-8).depth
    errors = [
        float(np.abs(run(floor, spells, WATER, until=15.0, tolerance=tolerance).depth - true).max())
        for tolerance in (2e-5, 2e-6, 2e-7)
    ]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < errors[0] / 10
    assert errors[2] < 20e-6


def test_steps_are_of_second_order() -> None:
    x = np.linspace(0, math.pi, 17)
    along, across = x[None, :], x[:, None]
    z = 0.002 * np.cos(along) + 0.0004 * np.cos(2 * across)
    start = 0.0015 + 0.0005 * np.cos(along) * np.cos(2 * across)
    stepper = _Stepper(basin(z), WATER)

    def after(steps: int) -> Array:
        h = start
        for _ in range(steps):
            h, took, _ = stepper.step(h, np.zeros_like(z), 0.25 / steps)
            assert took == (0.0, 0.0)
        return h

    true = after(1024)
    errors = [np.sqrt(((after(steps) - true) ** 2).mean()) for steps in (16, 32, 64)]
    orders = np.log2(np.divide(errors[:-1], errors[1:]))
    assert (orders > 1.8).all(), orders


def test_laws_of_thin_films() -> None:
    """On grids coarser than the outside checks' own: each nears its law as the grid does."""
    rounds = [abs(disc(2e-4, step, 0.45, 60.0, tolerance=1e-6).off) for step in (0.02, 0.01)]
    assert rounds[1] < rounds[0] < 0.005
    fronts = [front(2e-4, 0.0156, 0.0127, 1.5, until).off for until in (20.0, 60.0, 200.0)]
    assert -0.06 < fronts[0] < fronts[1] < fronts[2] < 0
    dry = [draining(0.002, 1 / 48, 0.0127, 1.5, until, tolerance=1e-6).off for until in (60.0, 300.0)]
    assert 0 < dry[1] < dry[0] < 0.02
    assert abs(sheet(2e-4, 1 / 48, 0.0127, 0.6, 60.0, tolerance=1e-6).off) < 1e-3


def test_a_dish_keeps_its_volume_and_ever_less_above() -> None:
    left = [dish(0.12, 0.008, 0.01, until).off for until in (300.0, 3600.0, 40_000.0)]
    assert left == sorted(left, reverse=True)
    assert -0.002 < left[-1] < 0.01


GOOD: dict[str, Any] = {"z": LEVEL, "dx": INCH, "dy": INCH, "opening": LEVEL > 0, "outlet": DRAIN, "lip": 0.01}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"z": np.where(LEVEL == 0, math.nan, 0)}, "a floor needs finite heights"),
        ({"z": LEVEL + math.inf}, "a floor needs finite heights"),
        ({"z": LEVEL[:2], "opening": LEVEL[:2] > 0}, "a grid of 3 x 3 nodes or more"),
        ({"opening": LEVEL.T > 0}, "an opening of its shape"),
        ({"dx": 0.0}, "the spacing of the floor's nodes"),
        ({"dy": math.nan}, "the spacing of the floor's nodes"),
        ({"lip": math.nan}, "the lip must be one height or inf"),
        ({"lip": np.zeros(5)}, "as many as the floor has columns"),
    ],
)
def test_refuses_a_floor_that_is_none(change: dict[str, Any], says: str) -> None:
    with pytest.raises(StageError, match=says):
        run(Basin(**GOOD | change), [], WATER)


@pytest.mark.parametrize(
    ("spells", "start", "says"),
    [
        ([Spell(LEVEL - 1, 1.0)], None, "rain must be finite and not negative"),
        ([Spell(LEVEL + math.nan, 1.0)], None, "rain must be finite and not negative"),
        ([Spell(LEVEL.T, 1.0)], None, "rain must be on the floor's grid"),
        ([Spell(LEVEL, 2.0), Spell(LEVEL, 2.0)], None, "each spell of rain must end after the one before"),
        ([Spell(LEVEL, 0.0)], None, "each spell of rain must end after the one before"),
        ([Spell(LEVEL, math.nan)], None, "each spell of rain must end after the one before"),
        ([], LEVEL - 1e-9, "the depth at the start must be finite, not negative"),
        ([], LEVEL + math.inf, "the depth at the start must be finite, not negative"),
        ([], LEVEL[1:], "the depth at the start must be .* on the floor's grid"),
    ],
)
def test_refuses_water_that_is_none(spells: list[Spell], start: Array | None, says: str) -> None:
    with pytest.raises(StageError, match=says):
        run(Basin(**GOOD), spells, WATER, start=start)
