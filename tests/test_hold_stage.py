"""The stages fasten, brace and cure: refused with a reason, answered from what was written down, in stable JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import bed_cases
import pytest
from surveys import UNIT, job, measure

from drainward.bed.stage import bed_stage
from drainward.errors import StageError
from drainward.finding import Verdict
from drainward.hold.fasten import order
from drainward.hold.stage import FastenPlan, brace_stage, cure_stage, fasten_stage
from drainward.job import Job, SettingEvent, What, Work
from drainward.pocket.stage import set_stage
from drainward.report.cautions import setting_cautions

PLACED = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
SURVEYED = [*bed_cases.room(), measure(What.CEILING, 96.0, 1 / 8)]


def room(*done: tuple[Work, float], survey: list[object] | None = None) -> Job:
    made = job(survey or SURVEYED)  # type: ignore[arg-type]
    events = tuple(
        SettingEvent(id=str(k), room="1", what=what, when=PLACED + timedelta(hours=hours))
        for k, (what, hours) in enumerate(done)
    )
    return made.model_copy(update={"setting": events})


BED = (Work.BED_PLACED, 0.0)


@pytest.mark.parametrize(
    ("found", "draft", "why"),
    [
        (room(), Verdict.MEETS, "nobody wrote down that its bed was placed"),
        (room(BED), None, "read its floor first"),
        (room(BED), Verdict.FAILS, "its draft check fails, and screws would hold the floor as it lies"),
    ],
)
def test_fastening_is_refused_before_the_draft_check(found: Job, draft: Verdict | None, why: str) -> None:
    with pytest.raises(StageError, match=f"room 1 is not fastened yet: .*{why}"):
        fasten_stage(found, "1", draft)


def fastened(draft: Verdict = Verdict.MEETS, *done: tuple[Work, float]) -> FastenPlan:
    return fasten_stage(room(BED, *done), "1", draft)


def test_a_draft_that_passed() -> None:
    found = fastened()
    assert found.verdict is Verdict.MEETS
    assert [f.id for f in found.findings] == ["fasten/draft", "fasten/thread"]
    assert fastened(Verdict.NOT_PROVEN).verdict is Verdict.NOT_PROVEN


def test_braces_directly_after() -> None:
    def last(*done: tuple[Work, float]) -> Verdict:
        found = fastened(Verdict.MEETS, *done)
        return next(f.verdict for f in found.findings if f.id == "fasten/braced")

    assert last((Work.FASTENED, 1.0)) is Verdict.NOT_PROVEN
    assert last((Work.FASTENED, 1.0), (Work.BRACES_ON, 1.2)) is Verdict.MEETS
    assert last((Work.FASTENED, 1.0), (Work.BRACES_ON, 3.0)) is Verdict.FAILS
    assert all(f.id != "fasten/braced" for f in fastened(Verdict.MEETS, (Work.FASTENED, -5.0)).findings), "an old bed's"


def test_every_hole_once_from_the_floor_up_left_and_right_in_turn() -> None:
    layouts = set_stage(room(BED), "1").layouts
    turns = order(layouts)
    holes = sum(len(layout.holes) for layout in layouts)
    assert len({(t.run, t.at, t.z) for t in turns}) == holes == len(turns)
    assert [t.number for t in turns] == list(range(1, holes + 1))
    rows = [round(t.z / 0.1016) for t in turns]
    assert rows == sorted(rows)
    up = [t.run.split()[0] for t in turns if "front" in t.run]
    assert up[:4] == ["left", "right", "left", "right"]


def test_braces_of_a_surveyed_room() -> None:
    found = room(BED)
    bed = bed_stage(found, "1", samples=100)
    plan = brace_stage(found, "1", bed)
    assert not plan.uplift.assumed
    assert plan.verdict is Verdict.MEETS
    assert any("survey's ceiling" in line for line in plan.assumed)
    usual = brace_stage(room(BED, survey=bed_cases.room()), "1")
    assert usual.uplift.assumed
    assert usual.verdict is Verdict.NOT_PROVEN
    body = json.loads(json.dumps(plan.as_json()))
    assert (body["stage"], len(body["braces"]), body["schema"]) == ("brace", 2, 1)


def test_the_clock_of_a_room() -> None:
    found = cure_stage(room(BED, (Work.BRACES_ON, 1.0)), "1", PLACED + timedelta(hours=30))
    assert (found.stage, found.verdict) == ("cure", Verdict.NOT_PROVEN)
    assert [f.id for f in found.findings] == ["cure/age", "cure/braces", "cure/temperature"]
    assert json.loads(json.dumps(found.as_json()))["clock"]["placed"] == "2026-03-01T12:00:00+00:00"
    with pytest.raises(StageError, match="nobody wrote down when the bed"):
        cure_stage(room(), "1", PLACED)


def test_a_unit_on_its_own_base_has_no_bed_to_hold() -> None:
    own = UNIT.model_copy(update={"style": "own base"})
    made = room(BED)
    based = made.model_copy(update={"units": {own.id: own}})
    for stage in (lambda: brace_stage(based, "1"), lambda: cure_stage(based, "1", PLACED + timedelta(hours=1))):
        with pytest.raises(StageError, match="stands on its own base"):
            stage()
    assert fasten_stage(based.model_copy(update={"setting": ()}), "1", Verdict.MEETS).findings[0].id == "fasten/draft"


def test_fasten_json() -> None:
    body = json.loads(json.dumps(fastened().as_json()))
    assert (body["stage"], body["turns"][0]["number"]) == ("fasten", 1)


def _keys(answer: object) -> Iterator[str]:
    if isinstance(answer, dict):
        yield from answer
        for value in answer.values():
            yield from _keys(value)
    elif isinstance(answer, list):
        for item in answer:
            yield from _keys(item)


def test_every_key_is_explained() -> None:
    page = (Path(__file__).parents[1] / "docs/json.md").read_text(encoding="utf-8")
    told = set(re.findall(r"`([a-z_]+)`", page))
    slab = SettingEvent(id="s", room="1", what=Work.SLAB_TEMPERATURE, when=PLACED, value=15.0, u=1.0)
    made = room(BED)
    read = made.model_copy(update={"setting": (*made.setting, slab)})
    answers = (fastened(), brace_stage(read, "1"), cure_stage(read, "1", PLACED + timedelta(hours=30)))
    assert {key for answer in answers for key in _keys(answer.as_json())} - told == set()


@pytest.mark.parametrize("stage", ["bed", "fasten", "brace", "cure"])
def test_each_stage_has_its_cautions(stage: str) -> None:
    lines = setting_cautions(UNIT, stage)
    assert len(lines) >= 2
    assert all(line.endswith(".") and "{" not in line for line in lines)
