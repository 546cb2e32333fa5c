"""The made-up beds are as the trade lays them, three slabs are not, and what is told of them is true."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from drainward.bed.result import BedPlan
from drainward.bed.stage import bed_stage
from drainward.demo import write_demo
from drainward.demo.rooms import ROOMS
from drainward.demo.setting import SET, bed_volume
from drainward.demo.surveys import POCKETS, hidden_pocket
from drainward.finding import Finding, Verdict
from drainward.job import Job, load
from drainward.job.model import Work
from drainward.quantity import INCH

ORDINARY = ("101", "102", "103", "104", "201")
"""Surveyed rooms whose slab lies where it is meant to."""


@pytest.fixture(scope="module")
def made_up(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return load(write_demo(tmp_path_factory.mktemp("beds") / "job", 1)).job


@pytest.fixture(scope="module")
def beds(made_up: Job) -> dict[str, BedPlan]:
    return {room: bed_stage(made_up, room) for room in (*ORDINARY, "106", "107", "203")}


def _said(plan: BedPlan, name: str) -> Finding:
    return next(finding for finding in plan.findings if finding.id == f"bed/{name}")


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
    for room, name, what in (("107", "thinnest", "grind"), ("203", "thickest", "fill")):
        assert _said(beds[room], name).verdict is Verdict.FAILS
        assert {place.what for place in beds[room].off_limits} == {what}
        assert _said(beds[room], "volume").advice.startswith("Mend the slab and read it again first")
    assert _said(beds["106"], "thinnest").verdict is Verdict.NOT_PROVEN


def test_thickness_and_pot_life_are_answers(beds: dict[str, BedPlan]) -> None:
    for name in ("thickest", "pot-life"):
        told = Counter(_said(plan, name).verdict for plan in beds.values())
        assert told[Verdict.MEETS] >= len(beds) - 1, name


def test_the_told_volume_holds_the_true_one(beds: dict[str, BedPlan], made_up: Job) -> None:
    unit = made_up.units["B60"]
    for room in ORDINARY:
        void = beds[room].void
        assert void is not None
        assert abs(void.volume - bed_volume(unit, hidden_pocket(POCKETS[room], unit))) < 3 * void.u, room


def test_the_gap_that_was_measured_decides_the_bead(made_up: Job, beds: dict[str, BedPlan]) -> None:
    assert {e.room for e in made_up.setting if e.what is Work.GAP_UNDER_THRESHOLD} == set(SET)
    assert _said(beds["101"], "under-threshold").verdict is Verdict.MEETS
    nobody = _said(beds["104"], "under-threshold")
    assert (nobody.verdict, nobody.decides) == (Verdict.NOT_PROVEN, False)
    high = _said(beds["106"], "under-threshold")
    assert ROOMS["106"].rise > 3 / 8 * INCH and high.verdict is not Verdict.MEETS and high.decides
    assert "in two passes" in high.advice and beds["106"].bead.diameter > INCH
