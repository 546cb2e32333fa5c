"""The addresses of a room before its unit is set: what they answer and refuse; a measure is kept once."""

from __future__ import annotations

import contextlib
import hashlib
import json
import threading
import time
import uuid
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import hand_made
import httpx
import pytest
import web_job
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.applications import Starlette
from test_web_survey_entry import DAMAGE, FORM, PLUMB

from drainward.errors import StageError
from drainward.job.model import Measure, Received, Size, What
from drainward.job.write import write_job
from drainward.record import EventKind, Store
from drainward.web import create_app
from drainward.web.desk import Before

JSON = {"Accept": "application/json"}
ODD = quote(web_job.ROOMS[-1], safe="")
ENGINES = {
    "compute": web_job.compute, "compute_water": web_job.compute_water, "compute_before": web_job.compute_before,
}  # fmt: skip


def app(folder: Path, store: Store | None, **changes: object) -> Starlette:
    return create_app(folder, store, **(ENGINES | changes))  # type: ignore[arg-type]


@contextlib.contextmanager
def opened(site: Starlette) -> Iterator[httpx.Client]:
    """A client of the page behind a real server; it says of each request that it comes from the page itself."""
    with (
        web_job.running(site) as address,
        httpx.Client(base_url=address, headers={"Origin": address}, timeout=240) as client,
    ):
        yield client


@pytest.fixture
def page(folder: Path, store: Store) -> Iterator[httpx.Client]:
    with opened(app(folder, store)) as client:
        yield client


def form(**changes: str) -> dict[str, str]:
    return FORM | {"id": str(uuid.uuid4())} | changes


def answered(page: httpx.Client, room: str = "101") -> dict[str, object]:
    answer = page.get(f"/rooms/{room}/survey-answer.json")
    assert answer.status_code == 200, answer.text
    return answer.json()  # type: ignore[no-any-return]


# ---- what is shown


def test_a_room_has_three_parts_that_lead_to_each_other(page: httpx.Client) -> None:
    for part in ("", "/survey", "/water"):
        text = page.get(f"/rooms/{ODD}{part}").text
        assert all(f'href="/rooms/{ODD}{other}"' in text for other in ("", "/survey", "/water"))
        assert text.count('aria-current="page"') == 1
        assert "<b>&" not in text.replace("<b>&#", "")


def test_nothing_measured_asks_for_the_first_measure(page: httpx.Client) -> None:
    answer = answered(page)
    assert "Not known yet whether the pocket takes the unit." in str(answer["verdict"])
    assert "From 0 measures." in str(answer["verdict"])
    for words in ("Measure here next", "No measures", "Which unit models would do here", "No stud was measured yet"):
        assert words in str(answer["answer"]), words
    assert answer["picture"] == "", "a pocket that nobody has seen is not drawn"
    assert "Where the unit stands best" not in str(answer["answer"])
    steps = answer["steps"]
    assert isinstance(steps, list)
    assert steps[0]["why"]
    assert steps[0]["svg"].startswith("<svg")


def test_the_page_says_the_same_without_scripts(page: httpx.Client) -> None:
    assert "Placing the unit in its pocket" in page.get("/rooms/101/survey").text
    answer = answered(page)
    text = page.get("/rooms/101/survey").text
    assert 'data-refined="yes"' in text
    for part in ("verdict", "answer", "picture"):
        assert str(answer[part]).strip() in text, part
    assert "there is nothing to draw" in text
    assert "is compliant" not in text


def test_each_stage_s_json_is_the_engine_s_own(page: httpx.Client) -> None:
    before = web_job.compute_before(web_job.job(), "101", progress=None)
    for address, stage in (
        ("survey", before.survey),
        ("dry-set", before.dry_set),
        ("bed", before.bed),
        ("set", before.set_out),
    ):
        assert stage is not None
        assert page.get(f"/rooms/101/{address}.json").json() == json.loads(json.dumps(stage.as_json()))


def test_a_draft_does_not_wait_for_a_survey(folder: Path, store: Store) -> None:
    go = threading.Event()

    def slow(*_: object, **__: object) -> Before:
        assert go.wait(20)
        return web_job.compute_before(web_job.job(), "101", progress=None)

    try:
        with opened(app(folder, store, compute_before=slow)) as page:
            page.get("/rooms/101/survey")
            start = time.monotonic()
            assert page.get("/rooms/101/answer.json?first=1").status_code == 200
            assert page.get("/rooms/101/survey").status_code == 200
            assert time.monotonic() - start < 5
            go.set()
            answered(page)
    finally:
        go.set()


def test_everything_on_the_page_is_ours(page: httpx.Client) -> None:
    answered(page)
    text = page.get("/rooms/101/survey").text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    text = text.replace('xmlns=\\"http://www.w3.org/2000/svg\\"', "")
    assert "://" not in text
    for name in ("survey.js", "measure.js"):
        assert "://" not in page.get(f"/static/{name}").text


PLAN = """floor,kind,name,x,y,thickness,height,leaf,trim
1,wall,outside,0,0,8 in,,,
1,wall,outside,12 ft,0,,,,
1,wall,outside,12 ft,24 ft,,,,
1,wall,outside,0,24 ft,,,,
1,wall,outside,0,0,,,,
1,wall,across,0,12 ft,4-1/2 in,,,
1,wall,across,12 ft,12 ft,,,,
1,door,wide,4 ft,12 ft,,84 in,left,3/4 in
1,door,wide,8 ft,12 ft,,,,
1,start,street door,6 ft,5 ft,,,,
1,goal,101,3 ft,23 ft,,,,
1,goal,101,9 ft,23 ft,,,,
"""


def test_the_way_in_is_shown_where_a_plan_leads_to_the_room(folder: Path, store: Store) -> None:
    (folder / "plan.csv").write_text(PLAN)
    with opened(app(folder, store)) as page:
        assert "Looking for the clearest way" in page.get("/rooms/101/survey").text
        while (found := page.get("/rooms/101/way-in-answer.json")).status_code == 202:
            assert 0 <= found.json()["share"] <= 1
        answer = found.json()["answer"]
        stage = page.get("/rooms/101/way-in.json").json()
        assert stage["stage"] == "way in"
        assert answer.strip() in page.get("/rooms/101/survey").text
        for carry in stage["carries"]:
            assert f"<td>{carry['how']}</td>" in answer
        assert "<svg" in answer
        assert answer.count("data-turn=") == len(stage["steps"])
        assert "No plan leads to this room yet" in page.get("/rooms/102/survey").text
        assert page.get("/rooms/102/way-in-answer.json").json() == {"answer": ""}
        missing = page.get("/rooms/102/way-in.json")
        assert (missing.status_code, "plan.csv" in missing.text) == (404, True)


# ---- measures in


def test_a_saved_measure_changes_the_answer(page: httpx.Client, store: Store) -> None:
    before = answered(page)
    sent = form()
    saved = page.post("/rooms/101/survey", data=sent, headers=JSON)
    assert (saved.status_code, saved.json()) == (201, {"saved": sent["id"], "written": "62-13/16 in"})
    (measure,) = store.measures("101")
    assert (measure.what, measure.who) == (What.WIDTH, "Ana B.")
    after = answered(page)
    assert "1 measure</h2>" in str(after["answer"])
    assert "62\N{NON-BREAKING HYPHEN}13/16 in" in str(after["answer"])
    assert (before["picture"], str(after["picture"])[:4]) == ("", "<svg")
    assert str(after["picture"]) in page.get("/rooms/101/survey").text


def test_a_measure_sent_twice_is_stored_once_even_a_second_later(page: httpx.Client, store: Store) -> None:
    slab = form(what="slab", x='4"', z="", value="41 in", sense="below")
    first = page.post("/rooms/101/survey", data=slab, headers=JSON)
    time.sleep(1.1)
    again = page.post("/rooms/101/survey", data=slab, headers=JSON)
    assert (first.status_code, again.status_code) == (201, 201)
    assert len(store.events(kind=EventKind.MEASURE)) == 1
    other = page.post("/rooms/101/survey", data=slab | {"value": "42 in"}, headers=JSON)
    assert other.status_code == 422
    assert "stands already with another content" in other.text


def test_a_unit_as_it_arrived_with_its_photograph(page: httpx.Client, store: Store) -> None:
    size = page.post("/rooms/101/survey", data=form(what="inside width", value="60-1/2 in", y="", z=""), headers=JSON)
    assert size.status_code == 201
    photo = hand_made.png()
    files = {"photo": ("p.png", photo, "image/png")}
    sent = form(**DAMAGE)
    for _ in range(2):
        assert page.post("/rooms/101/survey", data=sent, files=files, headers=JSON).status_code == 201
    width, damage = store.received("101")
    assert (width.what, damage.what, damage.written) == (Size.INSIDE_WIDTH, Size.DAMAGE, "crack")
    assert damage.photo == hashlib.sha256(photo).hexdigest()
    assert page.get(f"/photos/{damage.photo}").content == photo
    answer = str(answered(page)["answer"])
    assert f"/photos/{damage.photo}" in answer
    assert "Damage seen on the unit as it arrived" in answer


def test_bad_input_is_said_at_its_field_and_nothing_is_stored(page: httpx.Client, store: Store) -> None:
    before = store.events()
    refused = page.post("/rooms/101/survey", data=form(value="wide", y="there"), headers=JSON)
    assert refused.status_code == 422
    assert {problem["field"] for problem in refused.json()["problems"]} == {"value", "y"}
    sent = {"photo": ("p.jpg", b"GIF89a nothing", "image/jpeg")}
    refused = page.post("/rooms/101/survey", data=form(**DAMAGE), files=sent, headers=JSON)
    assert (refused.status_code, refused.json()["problems"][0]["field"]) == (422, "photo")
    assert store.events() == before


def test_without_scripts_the_form_comes_back_as_it_was_typed(page: httpx.Client) -> None:
    sent = form(**PLUMB | {"value": "soon<"}, sense="out", note='"quoted" & more')
    refused = page.post("/rooms/101/survey", data=sent, files={"photo": ("", b"", "application/octet-stream")})
    assert refused.status_code == 422
    for part in (
        'value="soon&lt;"', 'value="&#34;quoted&#34; &amp; more"', f'value="{sent["id"]}"', "<option selected>plumb",
        '<option value="left" selected>', 'value="out" checked', "“soon&lt;” is not",
    ):  # fmt: skip
        assert part in refused.text, part
    assert 'http-equiv="refresh"' not in refused.text, "what was typed would be lost"
    kept = page.post("/rooms/101/survey", data=form(), follow_redirects=False)
    assert (kept.status_code, kept.headers["location"]) == (303, "/rooms/101/survey")


def test_measures_and_sizes_are_taken_back_and_kept(page: httpx.Client, store: Store) -> None:
    measure, damage = form(), form(**DAMAGE)
    for sent in (measure, damage):
        page.post("/rooms/101/survey", data=sent, headers=JSON)
    wrong = page.post("/rooms/101/withdrawals", data={"measure": damage["id"], "why": "x"}, headers=JSON)
    assert (wrong.status_code, "is no measure that stands in this room" in wrong.text) == (422, True)
    for field, sent in (("measure", measure), ("received", damage)):
        taken = page.post("/rooms/101/withdrawals", data={field: sent["id"], "why": "x"}, follow_redirects=False)
        assert (taken.status_code, taken.headers["location"]) == (303, "/rooms/101/survey")
    assert (store.measures("101"), store.received("101")) == ((), ())
    assert len(store.events(kind=EventKind.WITHDRAWAL)) == 2


def test_without_a_record_the_page_shows_the_folder_s_survey(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    width = Measure(id="a", room="101", what=What.WIDTH, y=0.05, z=1.0, value=1.6, u=0.001, written="63 in")
    seen = Received(id="b", room="101", what=Size.DAMAGE, value=1.0, written="crack", photo="crack.png")
    write_job(folder, web_job.job().model_copy(update={"survey": (width,), "received": (seen,)}))
    (folder / "photos").mkdir(exist_ok=True)
    (folder / "photos" / "crack.png").write_bytes(hand_made.png())
    with opened(app(folder, None)) as page:
        answered(page)
        text = page.get("/rooms/101/survey").text
        assert "takes no measures" in text
        assert "<form" not in text
        assert page.get("/photos/crack.png").content == hand_made.png()
        refused = page.post("/rooms/101/survey", data=form(), headers=JSON)
    assert (refused.status_code, "only shows" in refused.text) == (422, True)


# ---- what is refused


@pytest.mark.parametrize("address", ["survey", "survey.json", "dry-set.json", "set.json", "survey-answer.json"])
def test_what_is_not_there_is_said(page: httpx.Client, address: str) -> None:
    answer = page.get(f"/rooms/999/{address}")
    assert answer.status_code == 404
    assert "Traceback" not in answer.text


def test_a_stage_refused_is_said_and_the_measures_stay_in_reach(folder: Path, store: Store) -> None:
    def refuses(*_: object, **__: object) -> Before:
        raise StageError("room 101 has no unit")

    with opened(app(folder, store, compute_before=refuses)) as page:
        page.post("/rooms/101/survey", data=form(), headers=JSON)
        refused = page.get("/rooms/101/survey-answer.json")
        assert (refused.status_code, refused.json()["error"]) == (422, "room 101 has no unit")
        assert "Take this measure back" in page.get("/rooms/101/survey").text


def test_a_post_from_another_page_is_refused(page: httpx.Client, store: Store) -> None:
    headers = JSON | {"Origin": "http://elsewhere.example"}
    assert page.post("/rooms/101/survey", data=form(), headers=headers).status_code == 403
    assert store.measures() == ()


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.dictionaries(st.sampled_from([*FORM, "why", "measure", "received"]), st.text(max_size=30)),
    st.sampled_from(["survey", "withdrawals"]),
    st.one_of(st.none(), st.binary(max_size=40)),
)
def test_whatever_is_posted_there_is_no_traceback(
    page: httpx.Client, fields: dict[str, str], to: str, photo: bytes | None
) -> None:
    files = None if photo is None else {"photo": ("p.jpg", photo, "image/jpeg")}
    try:
        answer = page.post(f"/rooms/101/{to}", data=form(**fields), files=files, headers=JSON)
    except UnicodeEncodeError:  # a lone surrogate cannot be sent at all
        return
    assert answer.status_code in ({201, 422} if to == "survey" else {200, 400, 422})
    assert "Traceback" not in answer.text
