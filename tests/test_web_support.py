"""Taps and presses on the page: read as readings.csv is, kept once, answered for the newest of them."""

from __future__ import annotations

import json
import re
import threading
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import httpx
import pytest
import surveys
import web_job
from test_hold_support import job as tapped_job
from test_hold_support import taps
from test_web_survey import JSON, app, opened

from drainward.errors import InputError
from drainward.hold.support import Supported, support_stage, tap_places
from drainward.job.model import Instrument, Job, Reading, ReadingKind
from drainward.job.support import Support
from drainward.job.write import write_job
from drainward.record import Store
from drainward.web import desk
from drainward.web.desk import Desk, OvertakenError
from drainward.web.sounding_entry import read_sounding_entry

NOW = datetime(2026, 3, 4, 9, 30, tzinfo=UTC)
INCH = 0.0254
GAUGE = Instrument(id="gauge", name="Dial gauge", u=2e-5)


def form(**changes: str) -> dict[str, str]:
    tap = {"kind": "tap", "stage": "cure", "x": "12 in", "y": "24 in", "value": "hollow", "who": " M.  B. "}
    return {"id": str(uuid.uuid4()), **tap, **changes}


def pressed(**changes: str) -> dict[str, str]:
    press = {"kind": "press", "value": "1/16 in", "weight": "175 lb", "instrument": "gauge"}
    return form(**(press | changes))


def job() -> Job:
    return surveys.job([]).model_copy(update={"instruments": {"gauge": GAUGE}})


def read(typed: dict[str, str]) -> Reading:
    return read_sounding_entry(typed, job(), job().rooms[0], NOW)


def refused(typed: dict[str, str]) -> dict[str, str]:
    with pytest.raises(InputError) as error:
        read(typed)
    assert all(problem.line is None for problem in error.value.problems)
    return {problem.field: problem.expected for problem in error.value.problems}


# ---- an entry


def test_a_tap_is_read_as_the_file_reads_it() -> None:
    found = read(form())
    assert (found.kind, found.stage, found.value, found.written) == (ReadingKind.TAP, "cure", 0.0, "hollow")
    assert (found.x, found.y) == pytest.approx((12 * INCH, 24 * INCH))
    assert (found.who, found.when, found.file, found.setup) == ("M. B.", NOW, "page", "")
    assert read(form(value="solid")).value == read(form(value="sound")).value == 1.0


def test_a_tap_does_not_mind_what_the_form_asks_of_a_press() -> None:
    assert read(form(weight="80 kg", u="1/64 in", instrument="gauge")).weight is None


def test_a_press_tells_its_weight_and_how_well_it_was_read() -> None:
    found = read(pressed(stage="draft"))
    assert (found.kind, found.stage, found.instrument) == (ReadingKind.PRESS, "draft", "gauge")
    assert found.value == pytest.approx(INCH / 16)
    assert found.weight == pytest.approx(79.4, abs=0.1)
    assert found.u == GAUGE.u
    assert read(pressed(u="1/64 in")).u == pytest.approx(INCH / 64), "what was typed goes before the instrument's"
    assert read(pressed(weight="")).weight is None


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        (form(kind="slope"), "kind", "tap or press"),
        (form(stage="bed"), "stage", "cured or still wet"),
        (form(id="7"), "id", "load the page again"),
        (form(value="thud"), "value", "sound or hollow"),
        (form(value=""), "value", "missing"),
        (form(x=""), "x", "missing"),
        (form(y="9 ft"), "y", ""),
        (form(note="n" * 501), "note", "too long"),
        (pressed(value="3 in"), "value", ""),
        (pressed(value="-1/16 in"), "value", ""),
        (pressed(instrument=""), "u", "blank"),
        (pressed(weight="0 kg"), "weight", "presses nothing"),
    ],
)
def test_a_field_that_cannot_be_used_is_named(typed: dict[str, str], field: str, says: str) -> None:
    found = refused(typed)
    assert field in found
    assert says in found[field]


# ---- where to tap


def test_places_to_tap_lie_within_six_inches_row_by_row_and_off_the_drain() -> None:
    unit = surveys.UNIT
    stiff = unit.model_copy(update={"floor": unit.floor.model_copy(update={"thickness": 0.5 * INCH})})
    places = tap_places(stiff, Support())
    steps = [((a - x) ** 2 + (b - y) ** 2) ** 0.5 for (x, y), (a, b) in pairwise(places)]
    assert max(steps) <= 2 * 6.01 * INCH, "nobody walks across the floor for the next knock"
    assert all((x - unit.drain.x) ** 2 + (y - unit.drain.y) ** 2 > unit.drain.radius**2 for x, y in places)
    assert all(0 < x < unit.inside_width and 0 < y < unit.inside_depth for x, y in places)
    assert len(places) == 60
    assert len(tap_places(unit, Support())) > 200, "a thin floor bears no void that a wider grid would miss"


# ---- the page


@pytest.fixture
def page(folder: Path, store: Store) -> Iterator[httpx.Client]:
    with opened(app(folder, store)) as client:
        yield client


@pytest.fixture(scope="module")
def solid() -> Supported:
    return support_stage(tapped_job(taps(), thickness=0.5), "1")


@pytest.fixture
def quick(solid: Supported, monkeypatch: pytest.MonkeyPatch) -> None:
    """The engine answers at once, with a whole bed."""
    monkeypatch.setattr(desk, "support_engine", lambda job, room, progress: solid)


def kept(store: Store) -> tuple[Reading, ...]:
    return tuple(one for one in store.readings("102") if one.file == "page")


def answered(page: httpx.Client, room: str = "102") -> dict[str, Any]:
    for _ in range(200):
        answer = page.get(f"/rooms/{room}/support-answer.json")
        assert answer.status_code in (200, 202), answer.text
        if answer.status_code == 200:
            return answer.json()  # type: ignore[no-any-return]
    raise AssertionError("no answer")


@pytest.mark.usefixtures("quick")
def test_a_tap_is_kept_once_and_shown(page: httpx.Client, store: Store) -> None:
    sent = form()
    first = page.post("/rooms/102/support", data=sent, headers=JSON)
    assert (first.status_code, first.json()["written"]) == (201, "hollow")
    assert page.post("/rooms/102/support", data=sent | {"age": "3600"}, headers=JSON).status_code == 201
    assert len(kept(store)) == 1
    heard = answered(page)["board"]["heard"][-1]
    assert (heard["id"], heard["heard"], heard["stage"]) == (sent["id"], "hollow", "cure")
    assert page.post("/rooms/102/support", data=sent | {"value": "solid"}, headers=JSON).status_code == 422


@pytest.mark.usefixtures("quick")
def test_a_tap_kept_on_a_phone_is_written_down_when_it_was_made(page: httpx.Client, store: Store) -> None:
    page.post("/rooms/102/support", data=form(age="7200"), headers=JSON)
    (tap,) = kept(store)
    assert tap.when is not None
    assert timedelta(hours=1.9) < datetime.now(UTC) - tap.when < timedelta(hours=2.1)


@pytest.mark.usefixtures("quick")
def test_a_tap_is_taken_back_with_a_reason(page: httpx.Client, store: Store) -> None:
    sent = form()
    page.post("/rooms/102/support", data=sent, headers=JSON)
    back = {"tap": sent["id"], "why": ""}
    assert "why the tap is taken back" in page.post("/rooms/102/withdrawals", data=back, headers=JSON).text
    moved = page.post("/rooms/102/withdrawals", data=back | {"why": "wrong place"}, follow_redirects=False)
    assert (moved.status_code, moved.headers["location"]) == (303, "/rooms/102/support")
    assert kept(store) == ()
    assert sent["id"] not in {heard["id"] for heard in answered(page)["board"]["heard"]}


@pytest.mark.usefixtures("quick")
def test_the_form_works_without_a_script(page: httpx.Client, store: Store) -> None:
    wrong = page.post("/rooms/102/support", data=form(value="thud", note="by <the> drain"))
    assert wrong.status_code == 422
    assert "is not what a tap tells" in wrong.text
    assert "by &lt;the&gt; drain" in wrong.text, "what was typed is still there"
    assert not kept(store)
    right = page.post("/rooms/102/support", data=form(), follow_redirects=False)
    assert (right.status_code, right.headers["location"]) == (303, "/rooms/102/support")
    assert "60 taps" in page.get("/rooms/102/support").text


def test_a_page_without_a_record_takes_nothing(folder: Path) -> None:
    with opened(app(folder, None)) as page:
        assert "takes no entries" in page.get("/rooms/102/support").text
        assert page.post("/rooms/102/support", data=form(), headers=JSON).status_code == 422


@pytest.mark.usefixtures("quick")
def test_taps_of_the_bed_leave_the_draft_check_as_it_is(page: httpx.Client) -> None:
    before = page.get("/rooms/102/draft.json").json()
    page.post("/rooms/102/support", data=form(), headers=JSON)
    assert page.get("/rooms/102/draft.json").json() == before


@pytest.mark.usefixtures("quick")
def test_a_bed_is_wet_until_its_least_cure_is_over(folder: Path, store: Store) -> None:
    placed = {"what": "bed placed", "id": str(uuid.uuid4())}
    with opened(app(folder, store)) as page:
        assert answered(page)["board"]["cured"]
        page.post("/rooms/102/hold", data=placed, headers=JSON)
        assert not answered(page)["board"]["cured"]


def test_a_unit_on_its_own_base_has_no_bed_to_tap(tmp_path: Path, store: Store) -> None:
    made = surveys.job([])
    (unit,) = (made.units[room.unit] for room in made.rooms)
    own = made.model_copy(update={"units": {unit.id: unit.model_copy(update={"style": "own base"})}})
    write_job(tmp_path / "own", own)
    with opened(app(tmp_path / "own", store)) as page:
        assert "stands on its own base" in answered(page, "1")["answer"]
        text = page.get("/rooms/1/support").text
        assert "stands on its own base" in text
        assert 'id="knock"' not in text
        told = page.get("/rooms/1/support.json").json()
        assert (told["verdict"], told["findings"]) == ("not proven", [])


def test_a_real_floor_is_answered_while_somebody_looks_how_far_it_is(tmp_path: Path, store: Store) -> None:
    write_job(tmp_path / "job", tapped_job(taps((20, 15, 7)), thickness=0.5))
    with opened(app(tmp_path / "job", store)) as page:
        looks = []
        while (answer := page.get("/rooms/1/support-answer.json")).status_code == 202:
            looks.append(answer.json()["share"])
        assert looks == sorted(looks)
        words = re.sub(r"\s+", " ", answer.json()["answer"])
        assert "60 taps" in words
        assert "Hollow near" in words
        told = page.get("/rooms/1/support.json").json()
        assert told["taps"] == {"count": 60, "hollow": told["taps"]["hollow"], "presses": 0}
        assert json.loads(json.dumps(told)) == told


# ---- the desk


def test_an_answer_about_fewer_taps_is_given_up(solid: Supported, monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go = threading.Event(), threading.Event()

    def slow(job: Job, room: str, progress: Callable[[str, float], None]) -> Supported:
        begun.set()
        assert go.wait(60)
        progress("half", 0.5)
        return solid

    monkeypatch.setattr(desk, "support_engine", slow)
    made = web_job.job()
    some = taps()
    work = Desk(made)
    try:
        first = work.ask_support("102", some[:3], ())
        assert begun.wait(60)
        second = work.ask_support("102", some[:4], ())
        third = work.ask_support("102", some[:5], ())
        go.set()
        assert isinstance(first.exception(60), OvertakenError)
        assert isinstance(second.exception(60), OvertakenError)
        assert third.result(60) is solid
        begun.clear()
        assert work.ask_support("102", some[:5], ()).result(60) is solid
        assert not begun.is_set(), "what is known is not computed again"
    finally:
        work.close()
