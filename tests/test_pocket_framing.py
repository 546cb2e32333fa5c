"""The pocket itself: square, plumb, level, recess and core, each with its uncertainty or what to measure."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from shower_units import INCH
from surveys import DEEP, LEVELS, WIDE, changed, job, measure, survey

from drainward.finding import Finding, Verdict
from drainward.job.model import Measure, What
from drainward.pocket.stage import Survey, survey_stage

ROWS = (
    *("practice/diagonals", "practice/plumb@left", "practice/plumb@back", "practice/plumb@right"),
    *("practice/slab-opening", "practice/slab-bed", "practice/recess-width", "practice/recess-depth"),
    *("practice/recess-deep", "practice/core"),
)


def surveyed(measures: Sequence[Measure]) -> Survey:
    return survey_stage(job(measures), "1")


def finding(measures: Sequence[Measure], row: str) -> Finding:
    return next(one for one in surveyed(measures).findings if one.id == row)


def test_a_good_pocket_meets_each_of_them_with_its_uncertainty() -> None:
    told = {one.id: one for one in surveyed(survey()).findings}
    assert set(ROWS) <= set(told)
    for row in ROWS:
        assert told[row].verdict is Verdict.MEETS, row
        assert told[row].u is not None and told[row].u > 0 and told[row].probability is not None


@pytest.mark.parametrize("row", ROWS)
def test_what_nobody_measured_is_open_and_says_what_to_measure(row: str) -> None:
    told = finding([], row)
    assert (told.verdict, told.value, told.decides) == (Verdict.NOT_PROVEN, None, True)
    assert told.advice


def test_a_wall_of_which_only_widths_are_known_is_not_said_to_be_plumb() -> None:
    told = finding([one for one in survey() if one.what is What.WIDTH], "practice/plumb@left")
    assert (told.verdict, told.value) == (Verdict.NOT_PROVEN, None)


def test_a_recess_that_nobody_measured_holds_the_verdict_open_and_is_asked_for() -> None:
    found = surveyed([one for one in survey() if one.what is not What.RECESS_DEEP])
    assert found.verdict is Verdict.NOT_PROVEN
    assert found.says.startswith("The unit goes into the pocket. Not known yet: recess at the drain, how deep.")
    assert found.says.endswith("Straightedge over the recess, tape down to its bottom.")


def test_a_wall_that_leans_is_named_and_by_how_much() -> None:
    out = [
        one.model_copy(update={"value": -0.75 * INCH * (one.z or 0.0) / (82 * INCH)})
        if one.what is What.PLUMB and one.wall == "left"
        else one
        for one in survey()
        if one.what is not What.WIDTH or one.z == LEVELS[0] * INCH
    ]
    told = finding(out, "practice/plumb@left")
    assert told.verdict is Verdict.FAILS and told.value == pytest.approx(0.73 * INCH, abs=INCH / 16)
    assert "leans out of the pocket by" in told.advice
    assert finding(out, "practice/plumb@back").verdict is Verdict.MEETS
    assert surveyed(out).verdict is Verdict.FAILS


def test_a_pocket_out_of_square_tells_the_difference_of_its_diagonals() -> None:
    """Side walls that lead to the right by 0.6 in over 36 in, and diagonals that say the same."""
    skew = 0.6 / 36
    across, deep = WIDE + 0.5, DEEP + 0.25
    found = [one for one in survey() if one.what not in (What.SQUARE, What.DIAGONAL)]
    for wall, way in (("left", 1.0), ("right", -1.0)):
        length = ((across + way * skew * deep) ** 2 + deep**2) ** 0.5
        found += [measure(What.DIAGONAL, length, wall=wall, z=z) for z in (LEVELS[0], LEVELS[2])]
    told = finding(found, "practice/diagonals")
    assert told.value is not None and told.u is not None
    assert told.verdict is Verdict.FAILS
    assert told.value == pytest.approx(1.1 * INCH, abs=0.1 * INCH)
    assert "from the back left corner is longer" in told.advice


def test_a_slab_out_of_level_names_its_highest_and_its_lowest_spot() -> None:
    """The slab before the opening rises from the right to the left by half an inch."""
    high = [
        one.model_copy(update={"value": one.value + (1.4 - (one.x or 0.0)) / 100})
        if one.what is What.SLAB and (one.y or 0.0) > 1.0
        else one
        for one in survey()
    ]
    told = finding(high, "practice/slab-opening")
    assert told.verdict is Verdict.FAILS
    assert told.advice.startswith('Highest at 8" from the left, 46" from the back; lowest at 55" from the left, ')
    inside = [
        one.model_copy(update={"value": one.value + INCH}) if one.what is What.SLAB and one.x == 8 * INCH else one
        for one in survey()
    ]
    assert finding(inside, "practice/slab-bed").verdict is Verdict.FAILS


def test_spots_beside_each_other_tell_nothing_of_a_level() -> None:
    one_side = [one for one in survey() if one.what is not What.SLAB or one.x == 8 * INCH]
    assert finding(one_side, "practice/slab-opening").value is None


@pytest.mark.parametrize(
    ("across", "verdict"),
    [(6.0, Verdict.MEETS), (5.0, Verdict.NOT_PROVEN), (4.7, Verdict.NOT_PROVEN), (4.2, Verdict.FAILS)],
)
def test_a_small_core_is_at_risk_while_the_drain_has_its_room(across: float, verdict: Verdict) -> None:
    """The drain's body is 4.33 in across: in 4.2 in it has none."""
    told = finding(survey(across=across), "practice/core")
    assert told.verdict is verdict
    assert ("At risk: " in told.advice) == (verdict is Verdict.NOT_PROVEN)
    assert ("Core it to 6 in" in told.advice) == (verdict is Verdict.FAILS)


def test_a_small_recess_is_to_be_cut_larger() -> None:
    told = finding(changed(survey(), What.RECESS_WIDTH, -1.0), "practice/recess-width")
    assert told.verdict is Verdict.FAILS and "Cut it larger" in told.advice


def test_a_rule_of_the_job_takes_the_place_of_the_trades() -> None:
    own = {"id": "job/plumb", "what": "Plumb", "quantity": "pocket.plumb", "low": "1/8 in", "high": "1 in"}
    own |= {"binds": "walls", "replaces": ["practice/plumb"]}
    made = job(survey())
    made = made.model_copy(update={"rules": made.rules.model_copy(update={"local": (own,)})})
    told = {one.id: one for one in survey_stage(made, "1").findings}
    assert told["job/plumb@left"].verdict is Verdict.FAILS, "a plumb wall does not lean by an eighth at least"
    assert "practice/plumb@left" not in told
