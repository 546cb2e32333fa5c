"""Requirements judged on floors that are known: each value by its formula, each verdict by the share that conforms."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from floor_cases import INCH, Field, cone_unit, dip, still, surface

from drainward.finding import Verdict
from drainward.floor.belief import Floors
from drainward.floor.fall import falls
from drainward.floor.judge import Judged, Look, judge, look
from drainward.floor.ponds import standing
from drainward.floor.shape import moulded, radial_net
from drainward.floor.straightedge import rock
from drainward.floor.surface import surfaces
from drainward.job.model import Job, Room, RuleChoice, UnitModel
from drainward.rules import load_rules

UNIT = cone_unit(0.03)
IRC, POND = "us-plumbing-irc-2021", "practice"
LOW, HIGH = 1 / 48, 1 / 24


def job(*use: str, unit: UnitModel = UNIT, rules: dict[str, Any] | None = None, **more: Any) -> Job:
    choice = RuleChoice(use=use, **(rules or {}))
    return Job(name="One", units={"u": unit}, rooms=(Room(room="1", unit="u"),), rules=choice, **more)


def seen(floors: Floors, of: Job, unit: UnitModel = UNIT, step: float = INCH / 2) -> Look:
    return look(surfaces(floors, unit, step), of, 1, lambda what, share: None)


def judged(floors: Floors, of: Job, **how: Any) -> dict[str, Judged]:
    answers = judge(seen(floors, of, **how), of, load_rules(of.rules))
    assert len({a.finding.id for a in answers}) == len(answers)
    return {a.finding.id: a for a in answers}


def test_a_sound_floor_meets_with_its_own_falls_as_values() -> None:
    answers = judged(still(count=20), job(IRC, POND))
    least, greatest, pond = (
        answers[f"{IRC}/P2709.1-least"],
        answers[f"{IRC}/P2709.1-greatest"],
        answers["practice/pond"],
    )
    assert list(answers) == [f"{IRC}/P2709.1-least", f"{IRC}/P2709.1-greatest", "practice/pond"]
    assert least.finding.value == pytest.approx(0.03, rel=0.015) == greatest.finding.value
    assert pond.finding.value == pytest.approx(0.0, abs=1e-6)
    for answer in answers.values():
        assert answer.finding.verdict is Verdict.MEETS
        assert answer.finding.probability == 1.0
        assert answer.conforms.shape == (20,) and answer.conforms.all()
        assert answer.finding.interval is not None
        low, high = answer.finding.interval
        assert low <= answer.finding.value <= high


@pytest.mark.parametrize(("lean", "failing"), [(0.012, {"least", "greatest"}), (-0.0105, {"least"}), (0.0, set())])
def test_a_lean_fails_where_the_fall_less_or_more_the_lean_leaves_the_window(lean: float, failing: set[str]) -> None:
    unit = cone_unit(0.031 if lean > 0 else 0.03)
    answers = judged(still(plane=(lean, 0.0)), job(IRC, unit=unit), unit=unit)
    told = {id.split("-")[-1] for id, a in answers.items() if a.finding.verdict is Verdict.FAILS}
    assert told == failing
    assert answers[f"{IRC}/P2709.1-least"].finding.value == pytest.approx(unit.floor.fall - abs(lean), rel=0.02)
    assert answers[f"{IRC}/P2709.1-greatest"].finding.value == pytest.approx(unit.floor.fall + abs(lean), rel=0.02)


def some_lean(shares: float, count: int = 100) -> Floors:
    """So many of the floors lean too much."""
    floors = still(count=count)
    floors.plane[: round(shares * count), 0] = 0.015
    return floors


@pytest.mark.parametrize(
    ("share", "verdict"),
    [(0.0, Verdict.MEETS), (0.01, Verdict.MEETS), (0.2, Verdict.NOT_PROVEN), (0.5, Verdict.NOT_PROVEN),
     (0.8, Verdict.NOT_PROVEN), (0.99, Verdict.FAILS), (1.0, Verdict.FAILS)],
)  # fmt: skip
def test_verdicts_follow_the_share_of_floors_that_conform(share: float, verdict: Verdict) -> None:
    answer = judged(some_lean(share), job(IRC))[f"{IRC}/P2709.1-least"]
    assert answer.finding.verdict is verdict
    assert answer.conforms.mean() == pytest.approx(1 - share)
    assert answer.finding.probability is not None
    assert abs(answer.finding.probability - (1 - share)) <= max(share, 1 - share)
    assert answer.finding.probability == pytest.approx(1 - share, abs=0.31)


def test_a_job_may_accept_more_risk() -> None:
    strict, lax = (judged(some_lean(0.1), job(IRC, risk=risk)) for risk in (0.05, 0.25))
    assert strict[f"{IRC}/P2709.1-least"].finding.verdict is Verdict.NOT_PROVEN
    assert lax[f"{IRC}/P2709.1-least"].finding.verdict is Verdict.MEETS


def test_the_pond_counts_from_the_jobs_own_depth_and_says_so() -> None:
    # water over a dish in a cone stands no deeper than the dish is
    floors = dip(UNIT, 15 * INCH, 12 * INCH, 2 * INCH, -0.008)
    depth = float(standing(seen(floors, job(POND)).floors, UNIT, 0.001).deepest[0])
    assert 0.002 < depth < 0.008
    strict = judged(floors, job(POND, pond_counts=depth * 0.8))["practice/pond"].finding
    lax = judged(floors, job(POND, pond_counts=depth * 1.2))["practice/pond"].finding
    assert (strict.verdict, lax.verdict) == (Verdict.FAILS, Verdict.MEETS)
    assert "set by the job" in strict.limit
    assert strict.value == pytest.approx(depth, rel=1e-3)
    assert "set by the job" not in judged(floors, job(POND))["practice/pond"].finding.limit


def test_straightedge_practice_has_closed_forms_over_a_bell() -> None:
    """Gap under 1 ft: a (1 - exp(-L² / 8 s²)); the end of 2 ft lifts twice what its middle stands over its ends."""
    height, half = 0.003, 2 * INCH
    unit = cone_unit(0.0001)
    answers = judged(
        dip(unit, 20 * INCH, 12 * INCH, half, height), job("straightedge", unit=unit), unit=unit, step=INCH / 4
    )
    one, two = (height * (1 - np.exp(-((k * 12 * INCH) ** 2) / (8 * half**2))) for k in (1, 2))
    assert answers["straightedge/1ft"].finding.value == pytest.approx(one, rel=0.02)
    assert answers["straightedge/rock"].finding.value == pytest.approx(2 * two, rel=0.02)
    assert answers["straightedge/1ft"].finding.verdict is Verdict.FAILS
    assert "straightedge/10ft" not in answers, "ten feet do not lie on this floor"


def test_a_hollow_does_not_rock() -> None:
    unit = cone_unit(0.0001)
    answers = judged(dip(unit, 20 * INCH, 12 * INCH, 2 * INCH, -0.003), job("straightedge", unit=unit), unit=unit)
    assert answers["straightedge/1ft"].finding.verdict is Verdict.FAILS
    lift = answers["straightedge/rock"].finding.value
    # its rim lies between the ends only where these reach down into it
    assert lift is not None and lift <= 0.0031


def test_a_clear_space_on_the_floor_binds_its_slope_in_every_direction() -> None:
    rules = {"clear_space_in_shower": True}
    for fall, verdict in ((0.03, Verdict.FAILS), (0.015, Verdict.MEETS)):
        unit = cone_unit(fall)
        of = job("us-ada-2010", unit=unit, rules=rules)
        answer = judged(still(), of, unit=unit)["us-ada-2010/304.2-shower"].finding
        assert answer.value == pytest.approx(fall, rel=0.03)
        assert answer.verdict is verdict
    assert not any("clear space" in a.finding.what for a in judged(still(), job("us-ada-2010")).values())


def test_a_local_rule_is_judged_over_its_own_base() -> None:
    local = (
        {
            "id": "spec/fall",
            "what": "Fall over 6 in",
            "quantity": "floor.fall.least",
            "low": "1/4 in/ft",
            "base": "6 in",
        },
    )
    floors = dip(UNIT, 20 * INCH, 18 * INCH, 2 * INCH, 0.003)
    answer = judged(floors, job(rules={"local": local}))["spec/fall"].finding
    drawn = seen(floors, job()).floors
    assert answer.value == pytest.approx(float(falls(drawn, radial_net(UNIT, 6 * INCH)).least[0]), abs=1e-4)
    assert answer.value < 0.03 - 0.003 / (12 * INCH)
    assert '6"' in answer.advice


def test_advice_names_the_place_in_trade_units() -> None:
    answers = judged(dip(UNIT, 45 * INCH, 18 * INCH, 2 * INCH, 0.004), job(IRC))
    advice = answers[f"{IRC}/P2709.1-least"].finding.advice
    assert "from the left and 1'-6\"" in advice or 'from the left and 18"' in advice
    assert "along the lines of steepest descent" in advice


def test_a_look_holds_what_its_floors_give() -> None:
    of = job(IRC)
    floors = some_lean(0.5, 10)
    view = seen(floors, of)
    np.testing.assert_array_equal(view.falls.least, falls(view.floors, radial_net(UNIT, of.fall_base)).least)
    np.testing.assert_array_equal(view.rocked, rock(view.floors, view.straightedge))
    mean, sd = view.floors.moments()
    np.testing.assert_array_equal(view.mean, mean)
    np.testing.assert_array_equal(view.sd, sd)
    assert view.floors.count == 10


def test_progress_is_told_in_order() -> None:
    told: list[float] = []
    look(surfaces(still(), UNIT, 2 * INCH), job(IRC), 1, lambda what, share: told.append(share))
    assert told == sorted(told)
    assert len(told) >= 3


def test_known_surfaces_are_what_the_formula_says() -> None:
    """The made floors that these tests reason about are the formulas that they name."""
    field: Field = lambda x, y: moulded(UNIT, x, y) + 0.01 * (x - UNIT.inside_width / 2)  # noqa: E731
    np.testing.assert_allclose(
        seen(still(plane=(0.01, 0.0)), job(IRC)).floors.z[..., 0],
        surface(UNIT, field, step=INCH / 2).z[..., 0],
        atol=2e-6,
    )
