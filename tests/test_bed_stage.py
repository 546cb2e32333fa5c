"""The bed stage over hand-made rooms: what it says, what it asks, what its JSON holds."""

from __future__ import annotations

import json
import math
from datetime import datetime

import pytest
from bed_cases import good_room, room
from shower_units import INCH
from surveys import UNIT, job, survey

from drainward.bed.mix import bag_yield
from drainward.bed.result import BedPlan
from drainward.bed.stage import bed_stage
from drainward.errors import NoBedError
from drainward.finding import Finding, Verdict
from drainward.job.materials import Mortar
from drainward.job.model import Job, SettingEvent, What, Work
from drainward.report.bed_words import mix_lines

PLAN = bed_stage(good_room(), "1")


def told(plan: BedPlan) -> dict[str, Finding]:
    return {finding.id: finding for finding in plan.findings}


def test_a_good_room_says_what_to_mix_and_where() -> None:
    found = told(PLAN)
    assert list(found) == ["bed/volume", "bed/thinnest", "bed/thickest", "bed/under-threshold", "bed/pot-life"]
    assert found["bed/volume"].verdict is Verdict.MEETS
    assert found["bed/thinnest"].verdict is Verdict.MEETS
    assert found["bed/thickest"].verdict is Verdict.MEETS
    assert PLAN.off_limits == ()
    assert PLAN.mix is not None and PLAN.batches is not None and PLAN.void is not None
    assert f"Weigh {PLAN.mix.weighed:g} bags" in found["bed/volume"].advice
    assert PLAN.void.volume == pytest.approx(sum(zone.volume for zone in PLAN.zones))


def test_a_hump_in_the_slab_is_named_to_grind_where_it_is() -> None:
    def spot(x: float, y: float) -> float:
        return -0.7 + 0.7 * math.exp(-((x - 54) ** 2 + (y - 31) ** 2) / 12**2)

    plan = bed_stage(job(room(spot=spot)), "1")
    thin = told(plan)["bed/thinnest"]
    assert thin.verdict is Verdict.FAILS
    worst = plan.off_limits[0]
    assert worst.what == "grind" and worst.chance > 0.8
    assert abs(worst.x / INCH - 54) < 8 and abs(worst.y / INCH - 31) < 8
    assert thin.advice.startswith("Grind ")


def test_a_spot_that_contradicts_the_others_holds_the_bed_open() -> None:
    plan = bed_stage(job(room(spot=lambda x, y: -1.25 + (2.0 if (x, y) == (54.0, 31.0) else 0.0))), "1")
    assert plan.verdict is Verdict.NOT_PROVEN
    assert told(plan)["bed/contradiction"].advice.startswith("Measure again: slab, ")


def test_a_deep_slab_is_to_be_filled_first() -> None:
    plan = bed_stage(job(room(slab=-4.0)), "1")
    thick = told(plan)["bed/thickest"]
    assert thick.verdict is Verdict.FAILS
    assert {place.what for place in plan.off_limits} == {"fill"}
    assert "first at" in thick.advice
    assert "look at slab and threshold first" in told(plan)["bed/volume"].advice


def test_an_open_room_asks_for_the_spot_that_settles_most() -> None:
    untied = [m for m in room() if not (m.what is What.SLAB and m.y is not None and m.y > 45 * INCH)]
    plan = bed_stage(job(untied), "1")
    assert plan.verdict is not Verdict.MEETS
    assert plan.asked is not None
    assert plan.asked.y > UNIT.inside_depth, "before the opening, where the finished floor is tied down"
    assert "from the last set-up" in told(plan)[plan.asked.finding].advice
    assert any("before the opening" in line for line in plan.assumed)


def test_a_bed_that_is_not_known_is_not_mixed_for() -> None:
    untied = [m for m in room() if not (m.what is What.SLAB and m.y is not None and m.y > 45 * INCH)]
    plan = bed_stage(job(untied), "1")
    assert plan.mix is None and plan.batches is None
    assert "bed/pot-life" not in told(plan)
    assert told(plan)["bed/volume"].advice.startswith("It is not known well enough to mix for.")


def test_a_room_without_a_spot_under_its_unit_says_what_to_read() -> None:
    bare = bed_stage(job([m for m in survey() if m.what is not What.SLAB]), "1")
    assert bare.verdict is Verdict.NOT_PROVEN and bare.void is None
    assert bare.findings[0].advice.startswith("Nobody read the slab under the unit")


def test_a_sheet_without_the_thresholds_lip_is_not_proven() -> None:
    own = UNIT.model_copy(update={"threshold_lip": None})
    given = good_room().model_copy(update={"units": {own.id: own}})
    plan = bed_stage(given, "1")
    assert plan.verdict is Verdict.NOT_PROVEN
    assert "threshold_lip" in plan.findings[0].advice
    assert json.loads(json.dumps(plan.as_json()))["void"] is None


def test_a_unit_on_its_own_base_has_no_bed() -> None:
    own = UNIT.model_copy(update={"style": "own base"})
    with pytest.raises(NoBedError, match="no bed of mortar"):
        bed_stage(good_room().model_copy(update={"units": {own.id: own}}), "1")


def _dry_set(*gaps: float, day: int = 2) -> Job:
    events = [
        SettingEvent(
            id=f"{day}-{k}", room="1", what=Work.GAP_UNDER_THRESHOLD, value=gap * INCH, u=INCH / 32,
            when=datetime.fromisoformat(f"2026-03-0{day}T08:0{k}"),
        )
        for k, gap in enumerate(gaps)
    ]  # fmt: skip
    return good_room().model_copy(update={"setting": tuple(events)})


@pytest.mark.parametrize(
    ("gaps", "verdict", "words"),
    [
        ((0.625, 0.75, 0.6875), Verdict.MEETS, "a bead of 1"),
        ((0.75, 1.0), Verdict.NOT_PROVEN, "may not reach it: lay 1-1/8"),
        ((1.25,), Verdict.FAILS, "lay 1-3/8"),
        ((1.75,), Verdict.FAILS, "No bead stands so high: build the slab along the threshold up"),
    ],
)
def test_a_gap_measured_at_the_dry_set_decides_the_bead(gaps: tuple[float, ...], verdict: Verdict, words: str) -> None:
    plan = bed_stage(_dry_set(*gaps), "1", samples=50)
    front = told(plan)["bed/under-threshold"]
    assert (front.verdict, front.decides) == (verdict, True)
    assert front.value == pytest.approx(max(gaps) * INCH)
    assert words in front.advice
    assert plan.verdict is verdict
    assert plan.bead.diameter / INCH == pytest.approx({0.75: 1.0, 1.0: 1.125, 1.25: 1.375, 1.75: 1.0}[max(gaps)])


def test_only_the_last_day_of_dry_setting_counts() -> None:
    first, later = _dry_set(1.75), _dry_set(0.75, day=3)
    both = first.model_copy(update={"setting": (*later.setting, *first.setting)})
    assert told(bed_stage(both, "1", samples=50))["bed/under-threshold"].verdict is Verdict.MEETS


def test_a_gap_that_nobody_measured_decides_nothing() -> None:
    front = told(bed_stage(job(room(slab=-2.5)), "1", samples=50))["bed/under-threshold"]
    assert (front.verdict, front.decides) == (Verdict.NOT_PROVEN, False)
    assert "measure the gap" in front.advice


def test_the_volume_is_told_for_one_height_and_by_how_much_it_changes() -> None:
    void = PLAN.void
    assert void is not None
    assert void.over_slab == pytest.approx(UNIT.threshold_height + void.spots.build_up)
    words = mix_lines(PLAN)[1]
    bags = void.by_height * INCH / 16 / 0.95 / bag_yield(Mortar()).volume
    assert words.startswith("It holds with the threshold ")
    assert words.endswith(f'over the bare slab along it; each 1/16" higher takes {bags:.2f} of a bag more.')


def test_in_the_heat_the_pot_life_does_not_reach() -> None:
    found = told(bed_stage(good_room(), "1", temperature=38.0))["bed/pot-life"]
    assert found.verdict is Verdict.FAILS
    assert "colder water" in found.advice


def test_json_is_plain_and_whole() -> None:
    read = json.loads(json.dumps(PLAN.as_json(), allow_nan=False))
    assert read["stage"] == "bed" and read["schema"] == 1
    assert read["verdict"] == str(PLAN.verdict)
    assert len(read["zones"]) == len(PLAN.zones)
    assert len(read["void"]["mean"]) == len(read["void"]["y"])


def test_the_same_room_says_the_same_again() -> None:
    assert bed_stage(good_room(), "1").as_json() == PLAN.as_json()


def test_a_mortar_of_its_own_limits_is_judged_by_them() -> None:
    plan = bed_stage(good_room(), "1", mortar=Mortar(thickest=0.5 * INCH))
    assert told(plan)["bed/thickest"].verdict is Verdict.FAILS
