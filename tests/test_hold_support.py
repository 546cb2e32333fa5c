"""Voids from taps and presses, the largest that may stay, and the support stage as a whole."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shower_units

from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.hold.carried import GRAVITY, Heard, believe, heard, sinks
from drainward.hold.plate import isotropic
from drainward.hold.pressed import panel_of
from drainward.hold.stay import may_stay, void_moves
from drainward.hold.support import support_stage
from drainward.job import Job, Panel, Reading, ReadingKind, Room, Support, UnitModel

INCH = 0.0254
PSI = 4.4482216152605 / INCH**2
LIMITS = Support()


def unit(thickness: float = 0.375) -> UnitModel:
    made = shower_units.level(60, 36, (30, 18), 0.5)
    return made.model_copy(update={"floor": made.floor.model_copy(update={"thickness": thickness * INCH})})


def taps(*voids: tuple[float, float, float], stage: str = "cure") -> tuple[Reading, ...]:
    """Every 6 in, heard as they are; voids x, y, radius in inches."""
    return tuple(
        tap(x, y, any(math.hypot(x - a, y - b) < r for a, b, r in voids), stage)
        for x in range(3, 60, 6)
        for y in range(3, 36, 6)
    )


def tap(x: float, y: float, hollow: bool, stage: str = "cure") -> Reading:
    place = {"id": f"{x} {y}", "room": "1", "x": x * INCH, "y": y * INCH}
    return Reading(**place, kind=ReadingKind.TAP, value=float(not hollow), u=0.5, stage=stage)


def press(x: float, y: float, sank: float) -> Reading:
    return Reading(
        id="p", room="1", kind=ReadingKind.PRESS, x=x * INCH, y=y * INCH, value=sank, u=1e-4, stage="cure", weight=80.0
    )


def job(readings: tuple[Reading, ...], thickness: float = 0.375, **limits: float | bool | str) -> Job:
    made = unit(thickness)
    rooms = (Room(room="1", unit=made.id),)
    return Job(name="j", units={made.id: made}, rooms=rooms, readings=readings, support=Support(**limits))


def nothing() -> Heard:
    return heard(unit(), (), LIMITS)


def test_untapped_a_bed_is_as_hollow_as_it_may_be() -> None:
    found = believe(unit(), nothing(), LIMITS)
    assert found.share.mean() == pytest.approx(12 / 13, abs=0.02)
    assert found.hollow.max() < 0.2


def test_one_certain_tap_tells_of_its_neighbours_as_two_normal_numbers_do() -> None:
    # the field at two places is bivariate normal: the share of draws that are hollow at both, by the drawn pairs alone
    sure = LIMITS.model_copy(update={"heard": 1 - 1e-9, "misheard": 1e-9})
    found = believe(unit(), heard(unit(), [tap(30, 18, True)], sure), sure)
    i, j = round(30 * INCH / (found.x[1] - found.x[0])), round(18 * INCH / (found.y[1] - found.y[0]))
    assert found.hollow[i, j] == 1.0
    prior = believe(unit(), nothing(), LIMITS, seed=3)
    both = (prior.fields[:, i, j] > 0) & (prior.fields[:, i + 1, j] > 0)
    assert found.hollow[i + 1, j] == pytest.approx(both.sum() / (prior.fields[:, i, j] > 0).sum(), abs=0.12)


def test_taps_find_voids_and_say_how_much_is_carried() -> None:
    voids = ((20, 15, 7), (45, 24, 5))
    found = believe(unit(), heard(unit(), taps(*voids), LIMITS), LIMITS)
    true = 1 - sum(math.pi * r * r for *_, r in voids) / (60 * 36)
    low, high = np.quantile(found.share, (0.025, 0.975))
    assert low < true < high
    assert found.hollow[round(20 / 2), round(15 / 2)] > 0.6
    assert found.hollow[round(8 / 2), round(30 / 2)] < 0.1


def test_what_was_tapped_wet_gives_way_to_what_was_tapped_cured() -> None:
    both = (*taps((20, 15, 7), stage="draft"), *taps())
    assert not heard(unit(), both, LIMITS).hollow.any()
    assert not heard(unit(), taps((20, 15, 7), stage="draft"), LIMITS).cured


def test_a_press_that_sinks_tells_of_a_wide_void() -> None:
    heard_so = taps((21, 15, 5))
    bare = believe(unit(), heard(unit(), heard_so, LIMITS), LIMITS)
    soft = believe(unit(), heard(unit(), (*heard_so, press(21, 15, 2e-3)), LIMITS), LIMITS)
    hard = believe(unit(), heard(unit(), (*heard_so, press(21, 15, 5e-5)), LIMITS), LIMITS)
    assert hard.share.mean() > bare.share.mean() > soft.share.mean()


def test_a_clamped_round_plate() -> None:
    rigid = 1e6 * PSI * (0.375 * INCH) ** 3 / (12 * 0.91)
    sunk = sinks(np.array([10 * INCH]), 1.5 * INCH, 300 * 4.4482216152605, rigid)[0]
    assert sunk / INCH == pytest.approx(0.116228, rel=1e-5)


@pytest.mark.parametrize(("wide", "free", "bonded"), [(4, 0.0075, 0.0054), (10, 0.0580, 0.0340), (20, 0.2511, 0.1331)])
def test_a_round_void_moves_as_another_solver_says(wide: float, free: float, bonded: float) -> None:
    limits = Support(load=300 * 0.45359237, bed=1e5 * PSI / INCH)
    told = void_moves(isotropic(1e6 * PSI, 0.3, 0.375 * INCH), limits, wide * INCH)
    assert told[0] / INCH == pytest.approx(free, rel=0.015)
    assert told[2] / INCH == pytest.approx(bonded, rel=0.015)


def test_a_thicker_panel_bears_wider_voids() -> None:
    widths = [may_stay(isotropic(1e6 * PSI, 0.3, t * INCH), LIMITS) for t in (0.1875, 0.25, 0.375)]
    assert [w.widest(False) < w.widest(True) for w in widths] == [True] * 3
    assert widths[0].widest(False) < widths[1].widest(False) < widths[2].widest(False)


def test_two_moduli_make_an_orthotropic_panel() -> None:
    alike = panel_of(unit())
    across = unit().model_copy(update={"panel": Panel(modulus_across=3e9)})
    other = panel_of(across)
    assert other.across / other.along == pytest.approx(3e9 / 6.895e9)
    assert other.coupled < alike.coupled
    near = panel_of(unit().model_copy(update={"panel": Panel(modulus_across=6.895e9 * (1 + 1e-9))}))
    assert (near.along, near.coupled, near.twist) == pytest.approx((alike.along, alike.coupled, alike.twist))


def test_nobody_tapped() -> None:
    found = support_stage(job((), thickness=0.5), "1")
    assert (found.verdict, found.do) == (Verdict.NOT_PROVEN, "tap")
    assert found.steps == ('Nobody tapped the floor: tap all of it on a grid of 6", 60 places, and write down each.',)


def test_a_sound_thick_floor_is_accepted() -> None:
    found = support_stage(job(taps(), thickness=0.5), "1")
    assert (found.verdict, found.do, found.hollows) == (Verdict.MEETS, "accept", ())
    assert {finding.id for finding in found.findings} == {"support/carried", "support/movement", "support/strain"}


@pytest.mark.parametrize(("stage", "do"), [("cure", "inject"), ("draft", "lift and bed again")])
def test_a_wide_void_under_a_thin_floor(stage: str, do: str) -> None:
    found = support_stage(job(taps((21, 15, 9), stage=stage), thickness=0.1875), "1")
    assert (found.verdict, found.do) == (Verdict.FAILS, do)
    assert math.dist((found.hollows[0].x, found.hollows[0].y), (21 * INCH, 15 * INCH)) < 4 * INCH
    assert not found.hollows[0].stays
    told = found.as_json()
    assert np.shape(told["hollow"]["chance"]) == (len(told["hollow"]["y"]), len(told["hollow"]["x"]))
    assert (found.pressed.bonded <= found.pressed.movement).all()


def test_the_same_readings_give_the_same_beds() -> None:
    told = heard(unit(), taps((21, 15, 5)), LIMITS)
    first, again = (believe(unit(), told, LIMITS) for _ in range(2))
    assert np.array_equal(first.fields, again.fields)


def test_limits_are_the_jobs() -> None:
    loose = support_stage(job(taps((21, 15, 5)), 0.25, strain=0.05, movement=0.05, source="sheet 4"), "1")
    assert loose.verdict is Verdict.MEETS
    assert all("sheet 4" in finding.source for finding in loose.findings)


def test_a_unit_on_its_own_base_has_no_bed() -> None:
    made = unit().model_copy(update={"style": "own base"})
    own = Job(name="j", units={made.id: made}, rooms=(Room(room="1", unit=made.id),))
    with pytest.raises(StageError, match="stands on its own base"):
        support_stage(own, "1")


def test_a_weight_that_nobody_wrote_is_the_jobs() -> None:
    bare = press(20, 15, 1e-3).model_copy(update={"weight": None})
    assert heard(unit(), [bare], LIMITS).force[0] == pytest.approx(80 * GRAVITY)
    assert not heard(unit(), [bare], LIMITS).told
