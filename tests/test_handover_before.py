"""The pages of a handover on the room before its unit was set."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import hand_made
import pytest
import surveys
import ways_in
from pypdf import PdfReader
from shower_units import INCH

from drainward.cli import main
from drainward.errors import InputError, Problem, StageError
from drainward.finding import Verdict
from drainward.job import write_job
from drainward.job.model import Instrument, Job, Received, Size, What
from drainward.quantity import format_length
from drainward.record import Store, withdrawal_event
from drainward.report import NOT_YET, handover_pdf, inputs_digest
from drainward.report.cautions import before_cautions, cautions, storage_lines
from drainward.report.handover_before import Before, before_stages
from drainward.report.handover_water import Photos
from drainward.wayin.plan import Door, Place, Plan, Wall
from drainward.wayin.result import WayIn
from drainward.web.site import Site

DAMAGE = Received(id="d", room="1", what=Size.DAMAGE, value=1.0, written="crack, left flange", photo="crack.png")
SLIP = surveys.changed(surveys.survey(), What.WIDTH, 1.0, only=4)


def known(job: Job, plan: Plan | None = None) -> Before:
    before = before_stages(job, "1", plan)
    assert before is not None
    return before


def pdf_of(job: Job, before: Before | None, photos: Photos | None = None) -> bytes:
    room = job.rooms[0]
    return handover_pdf(job, room, hand_made.draft(), surveys.UNIT, hand_made.readings(), photos=photos, before=before)


def text_of(pdf: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def storey() -> Plan:
    """A lobby with its pocket; inches."""

    def at(x: float, y: float) -> tuple[float, float]:
        return x * INCH, y * INCH

    corners = (at(0, 0), at(144, 0), at(144, 144), at(0, 144), at(0, 0))
    door = Door("of the lobby", at(50, 0), at(90, 0))
    return Plan("1", (Wall("outside", corners),), (door,), (), (Place("street", (at(72, 40),)),), (
        Place("1", (at(40, 140), at(104, 140))),
    ))  # fmt: skip


@pytest.fixture(scope="module")
def taken() -> Before:
    """A pocket that takes the unit, which came with a size measured and a crack."""
    return known(surveys.job(surveys.survey(), (surveys.arrived(Size.OUTSIDE_WIDTH, 64.0), DAMAGE)))


@pytest.fixture(scope="module")
def told(taken: Before) -> str:
    job = surveys.job(taken.measures, taken.received)
    return text_of(pdf_of(job, taken, lambda name: (hand_made.png(), "image/png")))


def test_the_first_page_names_it_and_the_pages_stand_before_the_cautions(told: str, taken: Before) -> None:
    assert "Before it was set: ✗ The unit goes into the pocket. Mend this first: damage seen on the unit" in told
    places = [
        told.index(words)
        for words in ("What was read", "What was measured of the pocket", "The unit as it arrived", "Dry set Not"[:7],
                      "Set-out: holes", "Cautions of these steps", "Local codes as adopted")
    ]  # fmt: skip
    assert places == sorted(places)


def test_every_measure_stands_with_what_all_say_of_it(told: str, taken: Before) -> None:
    assert taken.survey is not None
    assert f"{len(taken.measures)} measures, 0 set aside" in told
    for number in range(1, len(taken.measures) + 1):
        assert f" {number} " in told
    assert "chance of over 99 in 100, over 1000 pockets" in told


def test_every_finding_of_every_stage_is_told(told: str, taken: Before) -> None:
    stages = (taken.survey, taken.dry_set, taken.bed, taken.set_out)
    for stage in stages:
        assert stage is not None
        for finding in stage.findings:
            assert finding.what in told


def test_shims_drain_screws_and_the_order_of_work_are_told(told: str, taken: Before) -> None:
    assert taken.set_out is not None
    assert 'stud 2, 16" from the back' in told
    assert "The drain is centred in the core." in told or "of the core's middle" in told
    for line in taken.set_out.screws:
        assert f"{line.use} {line.screw.words} {line.count}" in told
    assert f"{sum(line.count for line in taken.set_out.screws)} screws in all" in told
    for one in taken.set_out.before:
        assert f"{one.what[1:]}: before {one.before}" in told


def test_what_is_to_be_added_is_told_as_a_cut_list() -> None:
    found = [one for one in surveys.survey() if one.what is not What.STUD or one.value < 33 * INCH]
    job = surveys.job(found)
    before = known(job)
    assert before.set_out is not None
    tall = [
        piece.top - piece.bottom for layout in before.set_out.layouts if layout.run.way == "up" for piece in layout.add
    ]
    assert len(tall) == 2
    assert f"Blocking to add, cut list: 2 of {format_length(tall[0])}" in text_of(pdf_of(job, before))


def test_what_arrived_stands_beside_its_sheet_with_its_photograph(taken: Before, told: str) -> None:
    assert re.search(r'outside width 64" 1625\.6 ± 0\.8 mm 64"', told)
    assert "damage crack, left flange" in told
    job = surveys.job(taken.measures, taken.received)

    def gone(name: str) -> tuple[bytes, str]:
        raise InputError((Problem("record.sqlite", None, "photo", name, "is no photograph of this record"),))

    def pictures(photos: Photos) -> int:
        return sum(len(page.images) for page in PdfReader(io.BytesIO(pdf_of(job, taken, photos))).pages)

    assert pictures(lambda name: (hand_made.png(), "image/png")) == pictures(gone) + 1
    assert "Photograph crack.png could not be read" in text_of(pdf_of(job, taken, gone))


def test_a_slip_is_named_by_its_number_and_by_what_the_others_expect() -> None:
    job = surveys.job(SLIP)
    said = text_of(pdf_of(job, known(job)))
    assert f"{len(SLIP)} measures, 1 set aside" in said
    assert "Measures not used" in said
    assert re.search(r'No\. 5: Width, .*: 65-1/2" was read, the others let expect 64-1/2"', said)


def test_a_pocket_too_narrow_says_what_to_plane() -> None:
    job = surveys.job(surveys.survey(side=-0.1))
    before = known(job)
    said = text_of(pdf_of(job, before))
    assert before.survey is not None
    assert before.survey.says in said
    assert '✗ plane 1/8"' in said


def test_without_a_survey_there_are_no_pages_and_the_same_bytes() -> None:
    job = surveys.job(())
    assert before_stages(job, "1", None) is None
    assert before_stages(job, "1", replace(storey(), goals=())) is None
    assert "Before it was set" not in text_of(pdf_of(job, None))
    room, readings = job.rooms[0], hand_made.readings()
    assert inputs_digest(job, room, surveys.UNIT, readings) == inputs_digest(
        job, room, surveys.UNIT, readings, None, (), (), None
    )


def test_same_inputs_same_bytes_and_the_digest_follows_survey_arrival_and_plan(taken: Before) -> None:
    job = surveys.job(taken.measures, taken.received)
    photos: Photos = lambda name: (hand_made.png(), "image/png")  # noqa: E731
    assert pdf_of(job, taken, photos) == pdf_of(job, known(job), photos)
    parts = job, job.rooms[0], surveys.UNIT, hand_made.readings(), None
    moved = taken.measures[0].model_copy(update={"value": taken.measures[0].value + 1e-6})
    digests = {
        inputs_digest(*parts),
        inputs_digest(*parts, taken.measures),
        inputs_digest(*parts, (moved, *taken.measures[1:])),
        inputs_digest(*parts, taken.measures, taken.received),
        inputs_digest(*parts, taken.measures, taken.received[:1]),
        inputs_digest(*parts, taken.measures, taken.received, storey()),
    }
    assert len(digests) == 6


def test_a_unit_that_only_arrived_has_its_page_and_no_verdict_on_the_pocket() -> None:
    job = surveys.job((), (DAMAGE,))
    before = known(job)
    assert (before.survey, before.dry_set, before.set_out) == (None, None, None)
    said = text_of(pdf_of(job, before))
    assert "? The pocket was not surveyed." in said
    assert "damage crack, left flange" in said
    assert "What was measured of the pocket" not in said


def test_a_stage_that_refuses_says_why_and_the_others_stand() -> None:
    job = surveys.job(surveys.survey(), (surveys.arrived(Size.FLANGE_WIDTH, 0.5),))
    before = known(job)
    assert before.set_out is None and before.survey is not None
    assert [stage for stage, _ in before.refused] == ["set"]
    said = text_of(pdf_of(job, before))
    assert "Set: " in said and "is narrower than" in said
    assert "Dry set" in said


def test_the_way_in_is_told_with_its_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "drainward.report.handover_before.way_in_stage", lambda job, room, plan: ways_in.way_in(room, 0.02)
    )
    job = surveys.job(())
    before = known(job, storey())
    said = text_of(pdf_of(job, before))
    assert before.plan == storey()
    found = ways_in.way_in("1", 0.02)
    for step in found.steps:
        assert step.says in said
    for carry in found.carries:
        assert f"{carry.how} {format_length(carry.length)} × {format_length(carry.width)}" in said
    for finding in found.findings:
        assert finding.what in said
    assert "4 people carry it clear of the floor" in said


def test_a_way_that_refuses_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuses(job: Job, room: str, plan: Plan) -> WayIn:
        raise StageError("the plan has no start")

    monkeypatch.setattr("drainward.report.handover_before.way_in_stage", refuses)
    job = surveys.job(())
    assert "Way in: the plan has no start." in text_of(pdf_of(job, known(job, storey())))


def test_typed_words_print_as_they_stand() -> None:
    typed = DAMAGE.model_copy(update={"written": '#panic("x") *b* $1$', "photo": ""})
    job = surveys.job((), (typed,))
    assert 'damage #panic("x") *b* $1$' in text_of(pdf_of(job, known(job)))


def test_the_cautions_name_what_hurts_at_these_steps(told: str) -> None:
    lines = before_cautions(surveys.UNIT)
    words = " ".join(lines)
    for what in ("tendon", "permission in writing", "silica", "132 lb", "falls by itself", "crush", "structural"):
        assert what in words
    for line in lines:
        assert told.count(line) == 1
    assert not set(lines) & set(cautions(surveys.job(()), surveys.UNIT))


def test_how_to_keep_the_unit_stands_where_it_arrived_and_nowhere_else(told: str) -> None:
    for words in ("on blocks", "hangs free", "keeps its fall", "finish covered while people work"):
        assert words in " ".join(storage_lines(surveys.UNIT))
    for line in storage_lines(surveys.UNIT):
        assert told.count(line) == 1
    unseen = text_of(pdf_of(surveys.job(surveys.survey()), known(surveys.job(surveys.survey()))))
    assert "Until it is set" not in unseen


def test_a_room_that_was_only_surveyed_is_handed_over_with_what_there_is(taken: Before) -> None:
    job = surveys.job(taken.measures, taken.received)
    draft = replace(hand_made.draft(), verdict=Verdict.FAILS, used=0)
    pdf = handover_pdf(
        job, job.rooms[0], draft, surveys.UNIT, (), photos=lambda name: (hand_made.png(), "image/png"), before=taken
    )
    said = text_of(pdf)
    assert f"? {NOT_YET}" in said
    assert "What was measured of the pocket" in said and "Cautions" in said
    assert "What was read" not in said and "readings used" not in said
    assert not any(finding.what in said for finding in draft.findings)


def test_it_never_approves(told: str) -> None:
    assert "complian" not in told.lower()


def test_the_object_holds_the_stages_that_have_an_answer(taken: Before) -> None:
    assert list(taken.as_json()) == ["survey", "dry set", "bed", "set"]
    assert known(surveys.job((), (DAMAGE,))).as_json() == {}


def test_a_room_that_is_not_there_is_refused() -> None:
    with pytest.raises(StageError):
        before_stages(surveys.job(()), "9")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A surveyed room whose floor was read; its draft is made by hand."""
    monkeypatch.setattr("drainward.floor.draft_stage", lambda job, room, *_, **__: hand_made.draft(room=room))
    monkeypatch.chdir(tmp_path)
    readings = tuple(one.model_copy(update={"room": "1", "file": "", "line": None}) for one in hand_made.readings())
    made = surveys.job(surveys.survey(), (surveys.arrived(Size.OUTSIDE_WIDTH, 64.0),))
    level = Instrument(id="level-24", name="24 in level", length=0.61, u=0.0004, u_slope=0.0017)
    write_job(tmp_path / "job", made.model_copy(update={"readings": readings, "instruments": {"level-24": level}}))
    return tmp_path / "job"


def test_the_command_adds_the_pages_and_keeps_its_verdict(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handover", str(folder), "--room", "1", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["verdict"] == "fails"
    assert list(told["before"]) == ["survey", "dry set", "bed", "set"]
    assert told["before"]["survey"]["says"] == "The pocket takes the unit."
    assert "What was measured of the pocket" in text_of(Path("handover-1.pdf").read_bytes())
    assert main(["handover", str(folder), "--room", "1"]) == 1
    assert "Before it was set: The pocket takes the unit." in capsys.readouterr().out


def test_a_survey_alone_is_printed_and_proves_nothing_yet(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "readings.csv").unlink()
    assert main(["handover", str(folder), "--room", "1"]) == 2
    assert capsys.readouterr().out.splitlines()[0] == NOT_YET
    assert NOT_YET in text_of(Path("handover-1.pdf").read_bytes())


def test_the_page_s_paper_has_what_the_record_holds(folder: Path) -> None:
    with Store.open(folder / "record.sqlite") as store:
        site = Site(folder, store)
        before = site.before(site.rooms["1"])
        assert before is not None
        assert len(before.measures) == len(surveys.survey())
        for measure in site.measures("1"):
            store.append([withdrawal_event(measure, "another room", "Ana", datetime(2026, 3, 14, tzinfo=UTC))])
        emptied = site.before(site.rooms["1"])
        assert emptied is not None
        assert emptied.measures == () and len(emptied.received) == 1
