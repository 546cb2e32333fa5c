"""Uplift, and braces that hold it: their limits kept with certainty, clear of the drain, cut to what is overhead."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise

import bed_cases
import pytest
from shower_units import INCH
from surveys import UNIT, measure

from drainward.bed.mix import bag_yield
from drainward.finding import Finding, Verdict
from drainward.hold.brace import SAFETY, SECTIONS, Brace, brace_findings, braces, cut_list
from drainward.hold.head import Head, Place, heads
from drainward.hold.uplift import buoyancy, uplift
from drainward.job import Materials, Mortar, SettingEvent, Site, What, Work
from drainward.job.materials import Braces, Lumber

POUND = 4.4482216152605
WHEN = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
KNOWN: dict[Place, Head] = {
    "drain": Head(96 * INCH, INCH / 16, True, True),
    "threshold": Head(95 * INCH, INCH / 16, True, True),
}


def made(materials: Materials | None = None, over: dict[Place, Head] | None = None) -> tuple[Brace, ...]:
    return braces(UNIT, uplift(UNIT, Mortar()), over or KNOWN, materials or Materials(), 0.05)


def finding(name: str, materials: Materials | None = None, over: dict[Place, Head] | None = None) -> Finding:
    found = brace_findings(made(materials, over), materials or Materials(), 0.05)
    return next(f for f in found if f.id == f"brace/{name}")


def test_uplift_grows_with_the_bed_and_holds_its_range() -> None:
    thin, thick = (uplift(UNIT, Mortar(), bed_cases.flat(under)) for under in (0.5, 1.0))
    assert not thin.assumed
    deeper = buoyancy(bag_yield(Mortar()).density, INCH / 2, bed_cases.FLOOR)
    assert thick.buoyancy - thin.buoyancy == pytest.approx(deeper, rel=0.05)
    assert thin.squeeze[0] > thick.squeeze[0], "a thinner bed squeezes harder"
    usual = uplift(UNIT, Mortar())
    assert usual.assumed
    assert usual.force == pytest.approx(usual.buoyancy + sum(usual.squeeze) / 2)
    assert usual.u > (usual.squeeze[1] - usual.squeeze[0]) / 4


def test_both_boards_hold_all_of_it_within_every_limit() -> None:
    found = made()
    assert [brace.place for brace in found] == ["drain", "threshold"]
    assert sum(brace.load for brace in found) == pytest.approx(uplift(UNIT, Mortar()).force)
    for name in ("movement", "strength", "posts", "pressure", "length"):
        assert finding(name).verdict is Verdict.MEETS, name
    for brace in found:
        assert brace.safety > SAFETY
        assert brace.moved < Braces().movement
        assert brace.held >= brace.load / len(brace.posts)


def test_feet_stand_clear_of_drain_and_walls_and_carry_a_level_board() -> None:
    pad = Braces().pad
    drain, threshold = made()
    assert drain.y == UNIT.drain.y
    for foot in drain.feet:
        assert abs(foot.x - UNIT.drain.x) >= UNIT.drain.radius + pad / 2
        assert foot.height >= Braces().foot - 1e-9
    for brace in (drain, threshold):
        xs = [foot.x for foot in brace.feet]
        assert min(xs) > pad / 2 and max(xs) < UNIT.inside_width - pad / 2
        assert max(b - a for a, b in pairwise(xs)) <= max(Braces().apart, 2 * UNIT.drain.radius + 0.2)


def test_posts_are_cut_by_what_is_overhead() -> None:
    short = dict(KNOWN) | {"drain": Head(90 * INCH, INCH / 16, True, True)}
    by = made()[0].post_length - made(over=short)[0].post_length
    assert by == pytest.approx(6 * INCH)
    brace = made()[0]
    floor = min(foot.height for foot in brace.feet) - Braces().foot
    assert floor == pytest.approx(0.0, abs=1e-9)
    pieces = cut_list(made())
    assert sum(p.count for p in pieces if p.what == "post") == sum(len(b.posts) for b in made())
    assert sum(p.count for p in pieces if p.what == "foot") == sum(len(b.feet) for b in made())
    assert all(p.length / INCH * 16 == pytest.approx(round(p.length / INCH * 16)) for p in pieces)


def test_heads() -> None:
    ceiling = measure(What.CEILING, 96.0, 1 / 8)
    site = Site()
    usual = heads(UNIT, [], [], site)
    assert not usual["drain"].known
    surveyed = heads(UNIT, [ceiling], [], site)
    assert surveyed["threshold"].length == pytest.approx(96 * INCH - UNIT.threshold_height)
    assert surveyed["drain"].length > surveyed["threshold"].length, "the floor lies lower"
    assert (surveyed["drain"].known, surveyed["drain"].measured) == (True, False)
    rows = [
        SettingEvent(id=str(k), room="1", what=Work.HEAD_OVER_DRAIN, value=value, u=0.001, when=WHEN.replace(hour=k))
        for k, value in ((13, 2.2), (9, 2.5))
    ]
    assert heads(UNIT, [ceiling], rows, site)["drain"] == Head(2.2, 0.001, True, True), "the last one counts"


def test_a_head_that_nobody_measured_is_asked_for_not_failed() -> None:
    unknown = heads(UNIT, [], [], Site())
    told = finding("length", over=unknown)
    assert (told.verdict, "Measure from the unit up" in told.advice) == (Verdict.NOT_PROVEN, True)
    low = dict(KNOWN) | {"drain": Head(5 * INCH, INCH / 16, True, True)}
    assert finding("length", over=low).verdict is Verdict.FAILS


def test_weak_wood_and_small_pads_fail_and_say_what_to_do() -> None:
    weak = Materials(lumber=Lumber(sections=("2x4",), modulus=1.2e9, u_modulus=1e8, strength=1.1e6))
    told = finding("movement", weak)
    assert (told.verdict is Verdict.MEETS, "stronger lumber" in told.advice) == (False, True)
    soft = Materials(braces=Braces(pad=0.02, pressure=2e3))
    assert finding("pressure", soft).verdict is Verdict.FAILS
    tall: dict[Place, Head] = {place: Head(150 * INCH, INCH / 16, True, True) for place in ("drain", "threshold")}
    assert finding("posts", Materials(lumber=Lumber(sections=("2x4",))), tall).verdict is Verdict.FAILS
    assert finding("posts", Materials(lumber=Lumber(sections=("2x4", "4x4"))), tall).verdict is Verdict.MEETS


def test_sections_are_thicker_one_way() -> None:
    assert all(thin <= wide for thin, wide in SECTIONS.values())
