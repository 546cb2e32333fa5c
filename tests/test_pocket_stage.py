"""The stages survey, dry set and set over hand-made surveys: what they say, what they ask, what their JSON holds."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from shower_units import INCH
from surveys import SMALL, STUDS, WIDE, arrived, changed, job, measure, survey

from drainward.errors import InputError, StageError
from drainward.finding import Finding, Verdict
from drainward.job.fittings import Fittings, Framing
from drainward.job.model import Job, Measure, Size, What
from drainward.pocket.shape import Wall
from drainward.pocket.stage import Survey, dry_set_stage, set_stage, survey_stage
from drainward.quantity import format_length

CORE_OFF = survey(core=(2.5, 0.0))
SHALLOW = survey(back=-0.6)
NARROW = survey(side=-0.3)
NO_PLACE = survey(side=-0.3, core=(0.0, 2.5))


def told(answer: Any) -> dict[str, Finding]:
    return {finding.id: finding for finding in answer.findings}


def surveyed(measures: Sequence[Measure], *units: Any) -> Survey:
    return survey_stage(job(measures, (), *units), "1")


def test_a_good_pocket_takes_the_unit() -> None:
    found = surveyed(survey())
    assert (found.verdict, found.says) == (Verdict.MEETS, "The pocket takes the unit.")
    assert found.drawn.goes_in > 0.99
    assert found.adjusted.asked is None
    assert [(choice.unit.id, choice.fits) for choice in found.units] == [("wide", Verdict.MEETS)]


def test_a_core_off_its_place_names_how_far_to_widen_it_and_that_is_enough() -> None:
    found = surveyed(CORE_OFF)
    assert found.verdict is Verdict.FAILS
    assert found.says.startswith("Mend this first: widen the core by ")
    assert found.placed.change is not None
    most = found.placed.change.most / INCH
    assert surveyed(changed(CORE_OFF, What.CORE, 2 * most + 0.01)).placed.goes_in
    assert not surveyed(changed(CORE_OFF, What.CORE, 2 * most - 0.1)).placed.goes_in


def test_a_narrow_pocket_names_the_wall_to_move_and_that_is_enough() -> None:
    found = surveyed(NARROW)
    assert found.says.startswith("Mend this first: move the ")
    assert found.placed.change is not None
    most = found.placed.change.most / INCH
    assert most == pytest.approx(0.6, abs=0.02), "as much as the pocket is narrower than the unit"
    assert surveyed(changed(NARROW, What.WIDTH, most + 0.01)).placed.goes_in
    assert not surveyed(changed(NARROW, What.WIDTH, most - 0.1)).placed.goes_in


def test_a_shallow_pocket_names_how_far_off_its_line_the_threshold_goes_and_that_is_enough() -> None:
    found = surveyed(SHALLOW)
    assert found.says.startswith("Mend this first: let the threshold lie ")
    assert found.placed.change is not None
    most = found.placed.change.most / INCH

    def at(limit: float) -> Job:
        own = {"id": "job/line", "what": "Line", "quantity": "pocket.line_off", "high": f"{limit:.4f} in"}
        own |= {"binds": "threshold", "replaces": ["practice/threshold-line"]}
        given = job(SHALLOW)
        return given.model_copy(update={"rules": given.rules.model_copy(update={"local": (own,)})})

    assert survey_stage(at(0.125 + most + 0.01), "1").placed.goes_in
    assert not survey_stage(at(0.125 + most - 0.1), "1").placed.goes_in


def test_a_pocket_that_no_single_change_mends_names_the_model_that_would_go_in() -> None:
    found = surveyed(NO_PLACE, SMALL)
    assert found.placed.change is None
    assert found.says.startswith("Wrong unit for this pocket: small would go in. To keep this one: ")
    assert [(choice.unit.id, choice.fits) for choice in found.units] == [
        ("small", Verdict.MEETS),
        ("wide", Verdict.FAILS),
    ]
    assert surveyed(NO_PLACE).says.startswith("The pocket does not take the unit: ")


@pytest.mark.parametrize("count", [0, 3])
def test_a_few_measures_leave_it_open_and_the_next_is_asked(count: int) -> None:
    found = surveyed(survey()[:count])
    assert found.verdict is Verdict.NOT_PROVEN
    assert found.says.startswith("Not known yet whether the pocket takes the unit.")
    asked = found.adjusted.asked
    assert asked is not None and asked.what is What.WIDTH
    assert found.as_json()["next_measure"]["what"] == "width"


@pytest.mark.parametrize("stage", [survey_stage, dry_set_stage])
def test_a_wrong_measure_is_named_and_holds_the_verdict_open(stage: Any) -> None:
    found = stage(job(changed(survey(), What.WIDTH, 1.0, only=5)), "1")
    wrong = [one for one in survey() if one.what is What.WIDTH][5]
    assert [blunder.measure.id for blunder in found.adjusted.blunders] == [wrong.id]
    assert found.verdict is Verdict.NOT_PROVEN
    held = told(found)["survey/contradiction"]
    assert held.verdict is Verdict.NOT_PROVEN
    assert f"the others let expect {format_length(wrong.value)}" in held.advice
    if isinstance(found, Survey):
        assert found.says.startswith(
            "The pocket takes the unit, unless a measure that contradicts the others is right:"
        )


def test_measured_again_the_verdict_closes() -> None:
    again = changed(survey(), What.WIDTH, 1.0, only=5)
    right = [one for one in survey() if one.what is What.WIDTH][5]
    assert surveyed(again).verdict is Verdict.NOT_PROVEN
    assert surveyed([right if one.id == right.id else one for one in again]).verdict is Verdict.MEETS


def test_the_unit_as_it_arrived_is_the_one_that_must_go_in() -> None:
    wider = [arrived(Size.OUTSIDE_WIDTH, WIDE + 0.25)]
    as_drawn, as_measured = job(survey(side=0.375)), job(survey(side=0.375), wider)
    found = survey_stage(as_measured, "1")
    assert found.unit.outside_width == pytest.approx((WIDE + 0.25) * INCH)
    assert told(found)["receive/outside-width"].verdict is Verdict.FAILS
    assert found.verdict is Verdict.FAILS
    assert found.says.startswith("The unit goes into the pocket. Settle this first: outside width as measured")
    sides = [
        sum(shim.thickness for shim, wall in _shims(one) if wall is not Wall.BACK)
        for one in (dry_set_stage(as_drawn, "1"), dry_set_stage(as_measured, "1"))
    ]
    pairs = 3 * len(STUDS["left"])
    assert (sides[0] - sides[1]) / pairs == pytest.approx(0.25 * INCH, abs=1e-4)
    assert set_stage(as_measured, "1").unit.outside_width == found.unit.outside_width


def _shims(found: Any) -> list[tuple[Any, Wall]]:
    return [(shim, Wall(int(found.adjusted.pocket.wall[shim.index]))) for shim in found.placed.shims]


def test_sizes_that_make_no_unit_are_refused_with_their_rows() -> None:
    with pytest.raises(InputError, match="makes no unit"):
        survey_stage(job(survey(), [arrived(Size.OUTSIDE_WIDTH, 50.0)]), "1")


def test_the_dry_set_tells_shims_drain_line_and_pipe() -> None:
    found = dry_set_stage(job(survey()), "1")
    assert found.verdict is Verdict.MEETS
    answer = found.as_json()
    thick = {(one["wall"], one["stud"]): one["thickness"] for one in answer["shims"]}
    assert {wall for wall, _ in thick} == {"left", "back", "right"}
    assert {stud for wall, stud in thick if wall == "back"} == {1, 2, 3, 4, 5}
    # Both sides together take what the pocket is wider.
    assert thick["left", 2] + thick["right", 2] == pytest.approx(0.5 * INCH, abs=2e-4)
    assert np.hypot(*answer["drain_off"]) < 0.15 * INCH
    assert max(map(abs, answer["line_off"])) <= 0.125 * INCH + 1e-6
    assert answer["pipe_cut"]["within"] > 0
    assert answer["change"] is None


def test_the_set_out_finds_wood_where_studs_were_measured_and_says_where_they_were_not() -> None:
    assert set_stage(job(survey()), "1").verdict is Verdict.MEETS
    blind = [one for one in survey() if not (one.what is What.STUD and one.wall == "right")]
    found = set_stage(job(blind), "1")
    assert found.verdict is Verdict.NOT_PROVEN
    for run in ("along", "up"):
        open_run = told(found)[f"setout/right-{run}"]
        assert (open_run.value, open_run.verdict) == (None, Verdict.NOT_PROVEN)
        assert "right wall" in open_run.advice
    assert {layout.run.wall for layout in found.layouts} == {Wall.LEFT, Wall.BACK}


def test_backing_of_a_wall_that_nobody_measured_is_open() -> None:
    ada = job(()).model_copy(update={"rules": job(()).rules.model_copy(update={"use": ("us-ada-2010",)})})
    bars = [finding for finding in set_stage(ada, "1").findings if finding.id.startswith("zone/grab-bar")]
    assert len(bars) == 3
    assert {bar.verdict for bar in bars} == {Verdict.NOT_PROVEN}


def test_the_jobs_fittings_and_wood_are_used_and_a_models_own_come_first() -> None:
    base = job(survey())
    rules = base.rules.model_copy(update={"use": ("us-ada-2010", "practice")})
    told = Fittings(seat="left", grab_bar_height=34 * INCH)
    framing = Framing(species="southern pine", screw_size="#12", screw_length=2.5 * INCH)
    made = base.model_copy(update={"rules": rules, "fittings": told, "framing": framing})
    out = set_stage(made, "1")
    assert {(zone.kind, zone.wall) for zone in out.zones} >= {("seat", Wall.LEFT), ("grab bar", Wall.RIGHT)}
    assert {line.screw.words for line in out.screws} == {'#12 × 2-1/2"'}
    assert out.screws[0].each > set_stage(base, "1").screws[0].each
    handed = made.units["wide"].model_copy(update={"fittings": Fittings(seat="right")})
    other = set_stage(made.model_copy(update={"units": {"wide": handed}}), "1")
    assert ("seat", Wall.RIGHT) in {(zone.kind, zone.wall) for zone in other.zones}
    assert {zone.low for zone in other.zones if zone.kind == "grab bar"} == {34 * INCH}


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"fittings": Fittings(seat="front")}, 'a seat at the "front"'),
        ({"framing": Framing(screw_length=INCH)}, "of wood: expected"),
    ],
)
def test_fittings_and_screws_that_cannot_be_are_refused(given: dict[str, Any], says: str) -> None:
    with pytest.raises(StageError, match=says):
        set_stage(job(survey()).model_copy(update=given), "1")


def test_a_flange_too_narrow_for_a_hole_is_refused() -> None:
    thin = job(survey())
    unit = thin.units["wide"]
    flange = unit.flange.model_copy(update={"width": 0.5 * INCH})
    thin = thin.model_copy(update={"units": {"wide": unit.model_copy(update={"flange": flange})}})
    with pytest.raises(StageError, match="narrower"):
        set_stage(thin, "1")


def test_a_room_or_unit_that_the_job_has_not_is_refused() -> None:
    for stage in (survey_stage, dry_set_stage, set_stage):
        with pytest.raises(StageError):
            stage(job(survey()), "2")


@pytest.mark.parametrize(
    "measures",
    [
        pytest.param(survey(), id="good"),
        pytest.param([], id="none"),
        pytest.param(survey()[:3], id="few"),
        pytest.param(CORE_OFF, id="core"),
        pytest.param(NO_PLACE, id="no place"),
        pytest.param([*survey(), measure(What.WIDTH, WIDE, y=300.0, z=2.0)], id="astray"),
    ],
)
def test_the_json_is_finite_and_keeps_its_head(measures: list[Measure]) -> None:
    for stage, name in ((survey_stage, "survey"), (dry_set_stage, "dry set"), (set_stage, "set")):
        answer = stage(job(measures, (), SMALL), "1").as_json()
        again = json.loads(json.dumps(answer, allow_nan=False))
        assert list(again)[:5] == ["schema", "room", "stage", "verdict", "findings"]
        assert (again["schema"], again["room"], again["stage"]) == (1, "1", name)


def test_a_measure_astray_is_refused_with_its_reason() -> None:
    found = surveyed([*survey(), measure(What.WIDTH, WIDE, y=300.0, z=2.0)])
    assert [one["why"] for one in found.as_json()["refused"]] == ["lies before the opening"]


def test_the_same_job_gets_the_same_answer() -> None:
    first, second = (json.dumps(surveyed(survey()).as_json()) for _ in range(2))
    assert first == second
