"""What holds a unit on its page: refused calmly, followed by its clock, written down once, also over a restart."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import bed_cases
import hand_made
import httpx
import pytest
import surveys
from test_handover_before import text_of
from test_web_survey import JSON, app, opened

from drainward.errors import InputError
from drainward.finding import Verdict
from drainward.hold.brace import SECTIONS
from drainward.hold.room import room_hold
from drainward.hold.stage import brace_stage
from drainward.job.model import Job, Room, SettingEvent, What, Work
from drainward.job.write import write_job
from drainward.record import EventKind, Store
from drainward.report import handover_pdf
from drainward.report.brace_svg import brace_svg
from drainward.report.handover_hold import hold_of
from drainward.report.hold_words import clock_line, clock_words, turn_rows
from drainward.web.setting_entry import read_setting_entry

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
SURVEYED = [*bed_cases.room(), surveys.measure(What.CEILING, 96.0, 1 / 8)]


def job(*done: tuple[Work, float]) -> Job:
    """A surveyed room; done : what, and hours before NOW."""
    events = tuple(
        SettingEvent(id=str(k), room="1", what=what, when=NOW - timedelta(hours=hours))
        for k, (what, hours) in enumerate(done)
    )
    return surveys.job(SURVEYED).model_copy(update={"setting": events})


def form(what: str, **more: str) -> dict[str, str]:
    return {"id": str(uuid.uuid4()), "what": what, **more}


@pytest.fixture
def page(folder: Path, store: Store) -> Iterator[httpx.Client]:
    with opened(app(folder, store)) as client:
        yield client


def shown(page: httpx.Client, room: str = "102") -> str:
    answer = page.get(f"/rooms/{room}/hold-answer.json")
    assert answer.status_code == 200, answer.text
    return re.sub(r"\s+", " ", answer.json()["answer"])


# ---- the page


def test_what_cannot_be_said_yet_is_said_calmly(page: httpx.Client) -> None:
    words = shown(page)
    assert "No clock yet:</b> nobody wrote down when the bed of room 102 was placed" in words
    assert "Not yet:</b> room 102 is not fastened yet" in words
    assert "Cut list" in words
    assert "Wet mortar burns" in words
    assert "A post that slips falls" in words
    whole = page.get("/rooms/102/hold")
    assert whole.status_code == 200
    assert "No clock yet" in whole.text, "known by now"
    assert page.get("/rooms/999/hold").status_code == 404


def test_a_page_that_is_not_computed_yet_says_so(page: httpx.Client) -> None:
    first = page.get("/rooms/102/hold").text
    assert 'data-known="no"' in first
    assert 'http-equiv="refresh"' in first


def test_a_bed_starts_the_clock_and_lets_the_screws_in(page: httpx.Client) -> None:
    assert page.post("/rooms/102/hold", data=form("bed placed"), headers=JSON).status_code == 201
    words = shown(page)
    assert re.search(r'class="to-go">\d+ h<', words)
    assert "Until then braces stay on" in words
    assert "In this order" in words or "No stud was measured yet" in words
    body = page.get("/rooms/102/hold.json").json()
    assert body["refused"] == {}
    assert [body[name]["stage"] for name in ("fasten", "brace", "cure")] == ["fasten", "brace", "cure"]
    assert "Bed: " in page.get("/").text
    # The draft check of 101 fails: its bed cures, its screws wait.
    page.post("/rooms/101/hold", data=form("bed placed"), headers=JSON)
    refused = page.get("/rooms/101/hold.json").json()
    assert refused["fasten"] is None
    assert "draft check fails" in refused["refused"]["fasten"]


def test_braces_off_end_the_line_of_the_job_page(page: httpx.Client) -> None:
    early = (datetime.now(UTC) - timedelta(days=20)).strftime("%Y-%m-%d %H:%M")
    page.post("/rooms/102/hold", data=form("bed placed", when=early), headers=JSON)
    assert "braces may come off since" in page.get("/").text
    page.post("/rooms/102/hold", data=form("braces off"), headers=JSON)
    assert 'class="cure"' not in page.get("/").text


# ---- what is written down


def test_an_entry_is_kept_once_and_over_a_restart(folder: Path, store: Store) -> None:
    sent = form("slab temperature", value="62 F", who="Ann", age="7200")
    with opened(app(folder, store)) as page:
        for age in ("7200", "9000"):
            assert page.post("/rooms/102/hold", data=sent | {"age": age}, headers=JSON).status_code == 201
        assert page.post("/rooms/102/hold", data=form("bed placed")).status_code == 303
        other = page.post("/rooms/102/hold", data=sent | {"value": "50 F"}, headers=JSON)
        assert other.status_code == 422
    assert len(store.events(kind=EventKind.SETTING)) == 2
    with opened(app(folder, store)) as page:
        words = shown(page)
        assert "Slab temperature: 62 F" in words
        assert "to go, until" in words


def test_an_entry_is_taken_back(page: httpx.Client) -> None:
    sent = form("bed placed")
    page.post("/rooms/102/hold", data=sent, headers=JSON)
    answer = page.post("/rooms/102/withdrawals", data={"setting": sent["id"], "why": "another room"}, headers=JSON)
    assert answer.status_code == 200
    assert "No clock yet" in shown(page)


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"what": "bed mixed"}, "what"),
        ({"what": "slab temperature"}, "value"),
        ({"what": "slab temperature", "value": "62"}, "value"),
        ({"what": "bed placed", "value": "3 in"}, "value"),
        ({"what": "bed placed", "when": "2026-03-01"}, "when"),
        ({"what": "bed placed", "when": "2026-03-02 09:00"}, "when"),
        ({"what": "bed placed", "note": "x" * 2000}, "note"),
        ({"what": "bed placed", "id": "7"}, "id"),
    ],
)
def test_each_field_that_cannot_be_used_is_named(sent: dict[str, str], field: str) -> None:
    with pytest.raises(InputError) as refused:
        read_setting_entry({"id": str(uuid.uuid4())} | sent, job(), Room(room="1", unit="u"), NOW, NOW)
    assert [problem.field for problem in refused.value.problems] == [field]


def test_a_time_is_by_the_clock_on_the_wall_and_blank_is_now() -> None:
    midnight = NOW.replace(hour=0)
    for when in (NOW, midnight):
        made = read_setting_entry(form("bed placed"), job(), Room(room="1", unit="u"), when, NOW)
        assert timedelta(0) <= made.when - when <= timedelta(seconds=1)
    typed = read_setting_entry(form("bed placed", when="2026-03-02 07:30"), job(), Room(room="1", unit="u"), NOW, NOW)
    assert typed.when == (NOW - timedelta(minutes=30)).replace(tzinfo=None)


def test_without_a_record_it_only_shows(folder: Path) -> None:
    with opened(app(folder, None)) as page:
        assert "takes no entries" in page.get("/rooms/102/hold").text
        assert page.post("/rooms/102/hold", data=form("bed placed"), headers=JSON).status_code == 422


# ---- words and drawings


def test_the_words_of_a_clock() -> None:
    def told(*done: tuple[Work, float]) -> tuple[str, str]:
        cure = room_hold(job(*done), "1", Verdict.MEETS, None, NOW).cure
        assert cure is not None
        return clock_words(cure, job().site).left, clock_line(cure.clock, NOW, job().site)

    left, line = told((Work.BED_PLACED, 20.0), (Work.BRACES_ON, 19.0))
    assert left == "64 h"
    assert line == "Bed: 64 h to go, until 2026-03-04 23:52 UTC"
    assert told((Work.BED_PLACED, 200.0))[0] == "Cured"
    assert told((Work.BED_PLACED, 200.0), (Work.BRACES_OFF, 2.0))[1] == ""


def test_every_screw_stands_in_one_row() -> None:
    plan = room_hold(job((Work.BED_PLACED, 2.0)), "1", Verdict.MEETS, None, NOW).fasten
    assert plan is not None
    ends = [numbers.split("–") for numbers, *_ in turn_rows(plan.turns)]
    counted = [n for end in ends for n in range(int(end[0]), int(end[-1]) + 1)]
    assert counted == [turn.number for turn in plan.turns]


def test_a_brace_is_drawn_with_all_its_parts() -> None:
    for brace in brace_stage(job(), "1").braces:
        drawn = brace_svg(brace, 90.0)
        assert drawn.count("<rect") == len(brace.feet) + 2 + 2 * len(brace.posts)
        assert "NaN" not in drawn
        assert brace.section in SECTIONS


def test_the_handover_has_a_page_of_it() -> None:
    made = job((Work.BED_PLACED, 20.0), (Work.BRACES_ON, 19.0))
    hold = hold_of(made, "1", hand_made.draft(verdict=Verdict.MEETS), None, NOW)
    assert hold is not None
    pdf = handover_pdf(made, made.rooms[0], hand_made.draft(), surveys.UNIT, hand_made.readings(), hold=hold)
    words = text_of(pdf)
    for expected in (
        "What holds it",
        "as it stood when this was printed, 2026-03-02 08:00 UTC",
        "64 h",
        "Screws, in the order they go in",
        "head plate",
        "A post that slips falls",
    ):
        assert expected in words
    assert hold_of(job(), "1", None, None, NOW) is None
    refused = hold_of(made, "1", None, None, NOW)
    assert refused is not None
    told = text_of(handover_pdf(made, made.rooms[0], hand_made.draft(), surveys.UNIT, (), hold=refused))
    assert "Not fastened yet: room 1 is not fastened yet" in told


def test_the_folder_of_a_job_with_setting_is_read_back(tmp_path: Path) -> None:
    write_job(tmp_path / "job", job((Work.BED_PLACED, 20.0)))
    with Store.open(tmp_path / "r.sqlite") as kept, opened(app(tmp_path / "job", kept)) as page:
        assert page.get("/rooms/1/hold.json").json()["cure"]["stage"] == "cure"
