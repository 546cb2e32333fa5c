"""The made-up beds: as the trade lays them, told truly, and what the crews wrote down as they set and tapped."""

from __future__ import annotations

import math
from collections import Counter
from datetime import UTC, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from drainward.bed.mix import bag_yield
from drainward.bed.result import BedPlan
from drainward.bed.stage import bed_stage
from drainward.demo import write_demo
from drainward.demo.hollows import BEDDED, Hollow, hollows, moved, taps
from drainward.demo.home import job as bare
from drainward.demo.rooms import POURS, ROOMS
from drainward.demo.setting import SET, setting, true_mortar
from drainward.finding import Verdict
from drainward.hold.stage import cure_stage
from drainward.job import Job, load
from drainward.job.at_stage import at_stage
from drainward.job.model import ReadingKind, Room, Work
from drainward.quantity import INCH

ORDINARY = ("101", "102", "103", "104", "201")
"""Surveyed rooms whose slab lies where it is meant to."""


@pytest.fixture(scope="module")
def made_up(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return load(write_demo(tmp_path_factory.mktemp("beds") / "job", 1)).job


@pytest.fixture(scope="module")
def beds(made_up: Job) -> dict[str, BedPlan]:
    return {room: bed_stage(made_up, room) for room in (*ORDINARY, "106", "107", "203")}


def _room(name: str) -> Room:
    return next(room for room in bare().rooms if room.room == name)


def _said(plan: BedPlan, name: str) -> Verdict:
    return next(finding.verdict for finding in plan.findings if finding.id == f"bed/{name}")


@pytest.mark.parametrize("room", ORDINARY)
def test_an_ordinary_bed_is_as_the_trade_knows_it(beds: dict[str, BedPlan], room: str) -> None:
    """1/16 to 1/8 in near the drain, 1/2 to 3/4 in at the near edges, two bags, two and a half gallons."""
    plan = beds[room]
    assert plan.verdict is Verdict.MEETS
    assert plan.void is not None and plan.mix is not None
    drain = plan.void.unit.drain
    row, column = (int(np.abs(axis - at).argmin()) for axis, at in ((plan.void.y, drain.y), (plan.void.x, drain.x)))
    assert 1 / 32 < plan.void.mean[row, column] / INCH < 5 / 32
    for near in (plan.void.mean[0, column], plan.void.mean[-1, column]):
        assert 1 / 2 < near / INCH < 3 / 4
    assert 1.75 < plan.mix.bags < 2.25
    assert 2.2 < plan.mix.bags * 5 / 4 < 2.8, "gallons"
    assert plan.zones[0].box and plan.zones[0].top == pytest.approx(plan.void.box.deep - INCH / 8)


def test_one_slab_is_ground_one_is_filled_and_one_is_too_near_to_tell(beds: dict[str, BedPlan]) -> None:
    assert _said(beds["107"], "thinnest") is Verdict.FAILS
    assert {place.what for place in beds["107"].off_limits} == {"grind"}
    assert _said(beds["203"], "thickest") is Verdict.FAILS
    assert {place.what for place in beds["203"].off_limits} == {"fill"}
    assert _said(beds["106"], "thinnest") is Verdict.NOT_PROVEN
    for room in ("107", "203"):
        assert beds[room].findings[0].advice.startswith("Mend the slab and read it again first")


def test_thickness_and_pot_life_are_answers(beds: dict[str, BedPlan]) -> None:
    for name in ("thickest", "pot-life"):
        told = Counter(_said(plan, name) for plan in beds.values())
        assert told[Verdict.MEETS] == len(beds) - 1, name


def test_the_told_volume_holds_the_true_one(beds: dict[str, BedPlan], made_up: Job) -> None:
    """Of rooms set as they were surveyed and at their height."""
    for room in ORDINARY:
        void = beds[room].void
        assert void is not None
        assert abs(void.volume - true_mortar(room, made_up.units["B60"])) < 3 * void.u, room


def test_the_gap_that_was_measured_decides_the_bead(beds: dict[str, BedPlan]) -> None:
    assert _said(beds["101"], "under-threshold") is Verdict.MEETS
    open_gap = next(f for f in beds["104"].findings if f.id == "bed/under-threshold")
    assert (open_gap.verdict, open_gap.decides) == (Verdict.NOT_PROVEN, False), "nobody measured it there"
    high = next(f for f in beds["106"].findings if f.id == "bed/under-threshold")
    assert ROOMS["106"].rise > 3 / 8 * INCH and high.verdict is Verdict.NOT_PROVEN and high.decides
    assert "in two passes" in high.advice


def test_setting_reads_back_for_bedded_rooms_alone(made_up: Job) -> None:
    assert {event.room for event in made_up.setting} == set(SET)
    assert all(made_up.units[_room(room).unit].style == "bedded" for room in SET)
    home = bare()
    for room in SET:
        wrote = setting(home, _room(room), 1)
        back = tuple(e for e in made_up.setting if e.room == room)
        assert tuple(e.model_copy(update={"file": "", "line": None}) for e in back) == wrote


def test_what_is_done_is_done_in_its_order(made_up: Job) -> None:
    order = (
        Work.GAP_UNDER_THRESHOLD,
        Work.MORTAR_USED,
        Work.BED_PLACED,
        Work.FASTENED,
        Work.BRACES_ON,
        Work.BRACES_OFF,
    )
    for room in SET:
        done = [e for e in made_up.setting if e.room == room and e.what in order]
        times = [min(e.when for e in done if e.what is what) for what in order if any(e.what is what for e in done)]
        assert all(one < other for one, other in pairwise(times)), room
        placed = next(e.when for e in done if e.what is Work.BED_PLACED)
        wet = [r.when for r in made_up.readings if r.room == room and r.stage == "draft"]
        assert all(when is not None and when > placed for when in wet), "the draft check is on the wet bed"


def test_the_powder_used_is_what_the_void_took(made_up: Job) -> None:
    mortar = made_up.materials.mortar
    for room in SET:
        (used,) = (e for e in made_up.setting if e.room == room and e.what is Work.MORTAR_USED)
        assert used.value is not None
        gave = used.value / mortar.bag_mass * bag_yield(mortar).volume * 0.95
        assert gave == pytest.approx(true_mortar(room, made_up.units["B60"]), rel=0.12)


def test_every_floor_that_was_wetted_had_cured_before(made_up: Job) -> None:
    for room in POURS:
        if room not in BEDDED:
            continue
        poured = min(t.when for t in made_up.water_tests if t.room == room and t.when is not None)
        told = cure_stage(made_up, room, poured.replace(tzinfo=UTC))
        assert told.clock.braces_off is not None
        assert (told.findings[0].verdict is Verdict.MEETS) == (room != "103"), "that room is cold"


def test_a_cold_room_waits_longer(made_up: Job) -> None:
    ages = {}
    for room in ("204", "208"):
        placed = next(e.when for e in made_up.setting if e.room == room and e.what is Work.BED_PLACED)
        ages[room] = cure_stage(made_up, room, placed.replace(tzinfo=UTC) + timedelta(hours=90)).clock.age
    assert ages["204"] < 0.6 * ages["208"]


def test_taps_lie_on_their_grid_and_tell_of_the_hidden_hollows(made_up: Job) -> None:
    unit = made_up.units["B60"]
    right = wrong = 0
    for room in BEDDED:
        heard = [r for r in made_up.readings if r.room == room and r.kind is ReadingKind.TAP]
        assert len(heard) == 60 and {r.stage for r in heard} == {"cure"}
        hidden = hollows(room, unit)
        for tap in heard:
            assert ((tap.x / INCH - 3) / 6) % 1 == pytest.approx(0, abs=1e-9)
            void = any(math.hypot(tap.x - h.x, tap.y - h.y) < h.reach for h in hidden)
            right, wrong = (right + 1, wrong) if bool(tap.value) != void else (right, wrong + 1)
    assert 0 < wrong < 0.05 * right, "heard is not true, and mostly is"


def test_a_foot_is_set_wherever_it_sounded_hollow(made_up: Job) -> None:
    for room in BEDDED:
        mine = [r for r in made_up.readings if r.room == room]
        hollow = [(r.x, r.y) for r in mine if r.kind is ReadingKind.TAP and not r.value]
        pressed = [(r.x, r.y) for r in mine if r.kind is ReadingKind.PRESS]
        assert hollow == pressed
        assert all(r.weight == pytest.approx(81.65, abs=0.01) for r in mine if r.kind is ReadingKind.PRESS)


def test_a_panel_gives_most_in_the_middle_of_a_wide_hollow_and_rests_on_its_floor() -> None:
    unit = bare().units["B60"]
    narrow, wide = (Hollow(0.5, 0.5, reach * INCH, 0.01) for reach in (2, 4))
    middle = moved(unit, (wide,), 0.5, 0.5)
    assert middle == pytest.approx(4 * moved(unit, (narrow,), 0.5, 0.5), rel=1e-9)
    assert 0 < moved(unit, (wide,), 0.5 + 2 * INCH, 0.5) < middle
    assert moved(unit, (wide,), 0.5 + 5 * INCH, 0.5) == 0.0
    assert moved(unit, (Hollow(0.5, 0.5, 4 * INCH, 1e-4),), 0.5, 0.5) == 1e-4


def test_taps_and_setting_have_their_own_streams_of_chance(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = load(write_demo(tmp_path / "whole", 1)).job
    monkeypatch.setattr("drainward.demo.write.taps", lambda *_: ())
    monkeypatch.setattr("drainward.demo.write.setting", lambda *_: ())
    without = load(write_demo(tmp_path / "without", 1)).job
    assert without.setting == ()
    assert {r.id: r.value for r in without.readings}.items() <= {r.id: r.value for r in whole.readings}.items()
    assert [m.value for m in without.survey] == [m.value for m in whole.survey]
    assert taps(_room("103"), whole.units["B60"], 1) != taps(_room("103"), whole.units["B60"], 2)


def test_a_tapped_floor_still_lies_as_it_was_read(made_up: Job) -> None:
    wet, cured = (at_stage(made_up.readings, "101", stage) for stage in ("draft", "cure"))
    of_the_bed = (ReadingKind.TAP, ReadingKind.PRESS)
    assert tuple(r for r in cured if r.kind not in of_the_bed) == wet
    assert len(cured) > len(wet)
