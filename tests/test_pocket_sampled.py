"""The placement over the survey's doubt: chances, findings, words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pockets import NAN, UNIT, pocket, walls
from shower_units import INCH

from drainward.finding import Finding, Verdict
from drainward.floor.doubt import prudent
from drainward.job.model import Job, RuleChoice
from drainward.pocket.limits import Limits, limits_of
from drainward.pocket.mend import change_words
from drainward.pocket.place import place
from drainward.pocket.sampled import findings, sampled
from drainward.pocket.shape import Pocket
from drainward.rules import load_rules

JOB = Job(name="a job", rules=RuleChoice(use=("practice",)))


def found(of: Pocket, job: Job = JOB) -> dict[str, Finding]:
    book = load_rules(job.rules)
    limits = limits_of(book, job.rules.shower)
    told = findings(UNIT, of, place(UNIT, of, limits), sampled(UNIT, of, limits), job, book)
    return {finding.id: finding for finding in told}


def test_the_trades_rows_are_the_limits_where_the_job_says_nothing_else() -> None:
    assert limits_of(load_rules(JOB.rules), JOB.rules.shower) == Limits()


def test_a_jobs_own_row_is_kept_to() -> None:
    own = {"id": "job/clear", "what": "Clearance", "quantity": "pocket.drain_clearance", "low": "1/4 in"}
    own |= {"binds": "drain", "replaces": ["practice/drain-clearance"]}
    rules = RuleChoice(use=("practice",), local=(own,))
    assert limits_of(load_rules(rules), JOB.rules.shower).drain_clearance == pytest.approx(INCH / 4)


def test_the_chance_that_it_goes_in_is_that_of_one_sum() -> None:
    """One face on each side: it goes in where their sum is positive, a normal quantity."""
    faces = [(wall, at, z, gap) for wall, at, z, gap in walls(0.02, 0.5, 0.0) if z == 40 and (wall == 1 or at == 18)]
    for scale, expected in ((1.0, 0.674), (0.25, 0.965), (0.0, 1.0)):
        u = scale / 32
        # sum 0.02 over sqrt(2) / 32: phi(0.4525) = 0.6746; a quarter of the doubt: phi(1.810) = 0.9648
        found = sampled(UNIT, pocket(faces, u=u), samples=8000)
        assert found.fits.mean() == pytest.approx(expected, abs=0.02)
        assert found.goes_in == prudent(found.fits)


def test_the_same_seed_draws_the_same_and_no_doubt_draws_the_placement() -> None:
    made = pocket(walls(0.4, 0.3, 0.2), core=(30, 18, 3), front=(0, 0), slab=[(10, 10, -1.5)], u=0.0)
    drawn, other = (sampled(UNIT, made, samples=20, seed=3) for _ in range(2))
    one = place(UNIT, made)
    np.testing.assert_array_equal(drawn.shim, other.shim)
    np.testing.assert_allclose(drawn.shim, one.largest, atol=1e-9)
    np.testing.assert_allclose(drawn.clearance, one.clearance, atol=1e-9)
    np.testing.assert_allclose(drawn.line, max(abs(off) for off in one.line_off), atol=1e-7)
    np.testing.assert_allclose(drawn.rise, one.heights.rise, atol=1e-9)
    np.testing.assert_allclose(drawn.thin, one.heights.under.min(), atol=1e-9)


def test_what_the_survey_shares_moves_together() -> None:
    """Faces that all hang on one doubtful tape make no shim uncertain."""
    made = pocket(walls(0.4, 0.3, 0.4))
    n = len(made)
    whole = np.zeros_like(made.covariance)
    side = np.where(made.wall == 1, 0.0, 1.0)
    whole[:n, :n] = np.outer(side, side) * (INCH / 4) ** 2
    drawn = sampled(UNIT, replace(made, covariance=whole), samples=200)
    assert drawn.shim.std() < 1e-6


def test_a_roomy_pocket_meets_all_and_measures_unknown_are_not_judged() -> None:
    full = found(pocket(walls(0.3, 0.2, 0.3), core=(30, 18, 3), front=(0, 0), slab=[(10, 10, -1.8), (50, 30, -1.8)]))
    assert set(full) == {
        *("pocket/goes-in", "practice/shim", "practice/drain-clearance"),
        *("practice/threshold-line", "practice/bed-least", "practice/bed-greatest"),
    }
    assert {finding.verdict for finding in full.values()} == {Verdict.MEETS}
    bare = found(pocket(walls(0.3, 0.2, 0.3)))
    assert set(bare) == {"pocket/goes-in", "practice/shim"}


def test_a_narrow_pocket_fails_and_names_the_change() -> None:
    made = pocket(walls(-0.25, 0.3, 0.0), u=1 / 64)
    answer = found(made)["pocket/goes-in"]
    assert answer.verdict is Verdict.FAILS
    change = place(UNIT, made).change
    assert change is not None
    assert change_words(made, change) in answer.advice
    assert '1/4"' in answer.advice


def test_a_core_off_its_place_is_told() -> None:
    answers = found(pocket(walls(0.3, 0.3, 0.3), core=(33, 18, 3), front=(0, 0)))
    assert answers["pocket/goes-in"].verdict is Verdict.FAILS
    assert "core" in answers["pocket/goes-in"].advice
    assert "toward the left" in answers["practice/drain-clearance"].advice


def test_a_thick_shim_tells_what_furring_gains() -> None:
    made = pocket([*walls(0.3, 0.2, 0.3), (0, 18.0, 60.0, 0.8)], u=1 / 64)
    answer = found(made)["practice/shim"]
    assert "left wall, stud 2" in answer.advice
    assert "off the largest shim" in answer.advice


def test_a_slab_too_high_is_ground() -> None:
    answer = found(pocket(walls(0.3, 0.2, 0.3), slab=[(10, 10, 0.0), (50, 30, -1.8)]))["practice/bed-least"]
    assert answer.verdict is Verdict.FAILS
    assert "grind" in answer.advice.lower() and '10" from the left' in answer.advice


def test_a_nan_core_stays_unknown_in_every_draw() -> None:
    drawn = sampled(UNIT, pocket(walls(0.3, 0.2, 0.3), core=(30, 18, NAN)), samples=10)
    assert np.isnan(drawn.clearance).all() and np.isnan(drawn.line).all() and np.isnan(drawn.thin).all()


def test_the_thresholds_height_is_judged_and_the_pipes_cut_told() -> None:
    job = Job(name="a job", rules=RuleChoice(use=("practice", "us-ada-2010")))
    slab = [(10.0, 10.0, -1.8), (50.0, 30.0, -1.8)]
    told = [answer for id, answer in found(pocket(walls(0.3, 0.2, 0.3), slab=slab), job).items() if "608.7" in id]
    assert told
    assert all("Cut the drain pipe" in answer.advice and "below the finished floor" in answer.advice for answer in told)
    assert all(answer.value == pytest.approx(UNIT.threshold_height) for answer in told)
