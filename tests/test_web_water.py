"""The addresses of a room's water: what they answer and refuse; a test is kept once, with its photograph."""

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
from test_web_water_entry import FORM

from drainward.errors import StageError
from drainward.floor.film.result import Water
from drainward.job.write import write_job
from drainward.record import EventKind, Store
from drainward.report.water_play import play_json
from drainward.web import create_app
from drainward.web.guard import BODY_LIMIT, PHOTO_LIMIT

JSON = {"Accept": "application/json"}
ODD = quote(web_job.ROOMS[-1], safe="")


def app(folder: Path, store: Store | None, **changes: object) -> Starlette:
    engines = {"compute": web_job.compute, "compute_water": web_job.compute_water} | changes
    return create_app(folder, store, **engines)  # type: ignore[arg-type]


@contextlib.contextmanager
def opened(site: Starlette) -> Iterator[httpx.Client]:
    """A client of the page behind a real server; it says of each request that it comes from the page itself."""
    with web_job.running(site) as address, httpx.Client(base_url=address, headers={"Origin": address}) as client:
        yield client


@pytest.fixture
def page(folder: Path, store: Store) -> Iterator[httpx.Client]:
    with opened(app(folder, store)) as client:
        yield client


def form(**changes: str) -> dict[str, str]:
    return FORM | {"id": str(uuid.uuid4())} | changes


def answered(page: httpx.Client, room: str = "101", first: bool = False) -> dict[str, object]:
    """The water's words, asked for until they are there."""
    for _ in range(50):
        answer = page.get(f"/rooms/{room}/water-answer.json" + ("?first=1" if first else ""))
        if answer.status_code != 202:
            assert answer.status_code == 200
            return answer.json()  # type: ignore[no-any-return]
    raise AssertionError("the water was never computed")


# ---- what is shown


def test_a_room_has_two_parts_that_lead_to_each_other(page: httpx.Client) -> None:
    for address in (f"/rooms/{ODD}", f"/rooms/{ODD}/water"):
        text = page.get(address).text
        assert f'href="/rooms/{ODD}"' in text
        assert f'href="/rooms/{ODD}/water"' in text
        assert text.count('aria-current="page"') == 1
        assert "<b>&" not in text.replace("<b>&#", "")


def test_first_the_estimate_then_the_refined_answer(page: httpx.Client) -> None:
    first = answered(page, first=True)
    assert first["refined"] is False
    assert "First estimate, refining" in str(first["verdict"])
    refined = answered(page)
    assert refined["refined"] is True
    assert "From 6 readings and no water tests." in str(refined["verdict"])
    assert answered(page, first=True)["refined"] is True, "the better answer is known by now"
    assert 'data-refined="yes"' in page.get("/rooms/101/water").text


def test_while_it_is_computed_the_share_is_told_and_the_page_answers(folder: Path, store: Store) -> None:
    go = threading.Event()

    def slow(*given: object, samples: int, progress: object) -> Water:
        progress("running", 0.25)  # type: ignore[operator]
        assert go.wait(20)
        return hand_made.water(samples=samples)

    try:
        with opened(app(folder, store, compute_water=slow)) as page:
            waits = page.get("/rooms/101/water-answer.json?first=1")
            assert (waits.status_code, waits.json()) == (202, {"share": 0.25, "samples": 24})
            start = time.monotonic()
            assert "Pouring the water" in page.get("/rooms/101/water").text
            assert page.get("/rooms/101/answer.json?first=1").status_code == 200, "a draft does not wait for water"
            assert time.monotonic() - start < 5
            go.set()
            assert answered(page, first=True)["refined"] is False
    finally:
        go.set()


def test_words_numbers_findings_and_what_may_hang_are_on_the_page(page: httpx.Client) -> None:
    answered(page)
    text = page.get("/rooms/101/water").text
    for words in (
        "What the water will show", "about 1 min 50 s", "95 %: 1 min 20 s to 2 min 40 s", "never within an hour",
        "Water lost over the threshold in the test", "Where puddles may stay", "97 in 100",
        "A film that stays is no pond", "drop of dish soap", "Common practice, no source", "Before you pour", "cured",
    ):  # fmt: skip
        assert words in text, words
    assert "is compliant" not in text


def test_water_json_and_play_are_the_stage_s_own(page: httpx.Client) -> None:
    readings = tuple(r for r in web_job.job().readings if r.room == "101")
    water = web_job.compute_water(web_job.job(), "101", readings, (), samples=200, progress=None)
    assert page.get("/rooms/101/water.json").json() == json.loads(json.dumps(water.as_json()))
    play = page.get("/rooms/101/water-play.json")
    assert play.headers["content-encoding"] == "gzip"
    assert play.num_bytes_downloaded < 300_000
    expected = play_json(water, hand_made.unit())
    assert play.json() == json.loads(json.dumps(expected))
    still = page.get("/rooms/101/water.svg")
    assert (still.headers["content-type"], still.text[:4]) == ("image/svg+xml", "<svg")


def test_everything_on_the_page_is_ours(page: httpx.Client) -> None:
    assert "://" not in page.get("/rooms/101/water").text
    for name in ("water.js", "film.js", "player.js", "pour.js", "sheet.js", "legend.js"):
        found = page.get(f"/static/{name}")
        assert found.status_code == 200
        assert "://" not in found.text


# ---- tests in


def test_a_saved_test_changes_the_answer_and_comes_with_its_photograph(page: httpx.Client, store: Store) -> None:
    answered(page)
    photo = hand_made.png()
    sent = form()
    files = {"photo": ("puddle.png", photo, "image/png")}
    saved = page.post("/rooms/101/water", data=sent, files=files, headers=JSON)
    assert (saved.status_code, saved.json()) == (201, {"saved": sent["id"]})
    (test,) = store.water_tests("101")
    assert (test.drained, len(test.puddles or ())) == (112.0, 2)
    assert test.photo == hashlib.sha256(photo).hexdigest()
    shown = page.get(f"/photos/{test.photo}")
    assert (shown.content, shown.headers["content-type"]) == (photo, "image/png")
    assert "max-age" in shown.headers["cache-control"]
    words = answered(page)
    assert "and 1 water test." in str(words["verdict"])
    for part in ("Not as computed", "1 min 52 s until drops", f"/photos/{test.photo}", "dip that no reading crosses"):
        assert part in str(words["answer"]), part
    assert b"%PDF-" in page.get("/rooms/101/handover.pdf").content[:8]


def test_a_test_sent_twice_is_stored_once(page: httpx.Client, store: Store) -> None:
    sent, files = form(), {"photo": ("p.png", hand_made.png(), "image/png")}
    first = page.post("/rooms/101/water", data=sent, files=files, headers=JSON)
    time.sleep(1.1)  # the second comes in another second: when it was first written stands
    again = page.post("/rooms/101/water", data=sent, files=files, headers=JSON)
    assert (first.status_code, again.status_code) == (201, 201)
    assert len(store.events(kind=EventKind.WATER_TEST)) == 1
    other = page.post("/rooms/101/water", data=sent | {"poured": "2 gal"}, files=files, headers=JSON)
    assert other.status_code == 422
    assert "stands already with another content" in other.text


def test_looked_and_none_is_kept_apart_from_nobody_looked(page: httpx.Client, store: Store) -> None:
    for typed in ("none", ""):
        assert page.post("/rooms/101/water", data=form(puddles=typed), headers=JSON).status_code == 201
    assert [test.puddles for test in store.water_tests("101")] == [(), None]


def test_bad_input_is_said_at_its_field_and_nothing_is_stored(page: httpx.Client, store: Store) -> None:
    before = store.events()
    refused = page.post("/rooms/101/water", data=form(poured="a bucket", puddles="there"), headers=JSON)
    assert refused.status_code == 422
    assert {problem["field"] for problem in refused.json()["problems"]} == {"poured", "puddles"}
    for data, media_type in ((b"GIF89a nothing", "image/jpeg"), (hand_made.png(), "image/gif")):
        sent = {"photo": ("p.jpg", data, media_type)}
        refused = page.post("/rooms/101/water", data=form(), files=sent, headers=JSON)
        assert (refused.status_code, refused.json()["problems"][0]["field"]) == (422, "photo")
    assert store.events() == before


def test_without_scripts_the_form_comes_back_as_it_was_typed(page: httpx.Client) -> None:
    sent = form(drained="soon<", note='"quoted" & more', soap="yes")
    refused = page.post("/rooms/101/water", data=sent, files={"photo": ("", b"", "application/octet-stream")})
    assert refused.status_code == 422
    for part in (
        'value="soon&lt;"',
        'value="&#34;quoted&#34; &amp; more"',
        f'value="{sent["id"]}"',
        "“soon&lt;” is not",
    ):
        assert part in refused.text, part
    kept = page.post("/rooms/101/water", data=form(), follow_redirects=False)
    assert (kept.status_code, kept.headers["location"]) == (303, "/rooms/101/water")


def test_a_test_is_taken_back_and_kept(page: httpx.Client, store: Store) -> None:
    sent = form()
    page.post("/rooms/101/water", data=sent, headers=JSON)
    taken = {"test": sent["id"], "why": "wrong room", "who": "Ana"}
    refused = page.post("/rooms/102/withdrawals", data=taken, headers=JSON)
    assert (refused.status_code, "is no test that stands in this room" in refused.text) == (422, True)
    refused = page.post("/rooms/101/withdrawals", data=taken | {"why": " "}, headers=JSON)
    assert (refused.status_code, "say why the test is taken back" in refused.text) == (422, True)
    assert page.post("/rooms/101/withdrawals", data=taken, headers=JSON).status_code == 200
    assert store.water_tests("101") == ()
    (event,) = store.events(kind=EventKind.WITHDRAWAL)
    assert (event.who, event.body["why"]) == ("Ana", "wrong room")
    page.post("/rooms/101/water", data=(again := form()), headers=JSON)
    back = page.post("/rooms/101/withdrawals", data={"test": again["id"], "why": "x"}, follow_redirects=False)
    assert (back.status_code, back.headers["location"]) == (303, "/rooms/101/water")


def test_without_a_record_the_page_shows_the_folder_s_tests_and_their_photographs(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    job = web_job.job().model_copy(update={"water_tests": (hand_made.water_test(photo="wet floor.png"),)})
    write_job(folder, job)
    (folder / "photos").mkdir(exist_ok=True)
    (folder / "photos" / "wet floor.png").write_bytes(hand_made.png())
    (folder / "photos" / "private.png").write_bytes(hand_made.png())
    with opened(app(folder, None)) as page:
        answered(page)
        text = page.get("/rooms/101/water").text
        assert "takes no tests" in text
        assert "<form" not in text
        assert "/photos/wet%20floor.png" in text
        shown = page.get("/photos/wet%20floor.png")
        assert (shown.content, shown.headers["cache-control"]) == (hand_made.png(), "no-store")
        assert page.get("/photos/private.png").status_code == 404, "only what a test names is shown"
        refused = page.post("/rooms/101/water", data=form(), headers=JSON)
    assert (refused.status_code, "only shows" in refused.text) == (422, True)


# ---- what is refused


def test_a_photograph_may_be_large_there_and_only_there(page: httpx.Client, store: Store) -> None:
    large = hand_made.png() + bytes(
        PHOTO_LIMIT - BODY_LIMIT - len(hand_made.png())
    )  # what follows the picture's end is not looked at
    sent = {"photo": ("p.png", large, "image/png")}
    assert page.post("/rooms/101/water", data=form(), files=sent, headers=JSON).status_code == 201
    larger = {"photo": ("p.png", large + b"x", "image/png")}
    refused = page.post("/rooms/101/water", data=form(), files=larger, headers=JSON)
    assert (refused.status_code, refused.json()["problems"][0]["field"]) == (422, "photo")
    huge = {"photo": ("p.png", bytes(PHOTO_LIMIT), "image/png")}
    assert page.post("/rooms/101/water", data=form(), files=huge, headers=JSON).status_code == 413
    for address in ("/rooms/101/readings", "/rooms/101/withdrawals"):
        assert page.post(address, data=form(), files=sent, headers=JSON).status_code == 413
    small = {"photo": ("p.png", hand_made.png(), "image/png")}
    assert page.post("/rooms/101/readings", data=form(), files=small, headers=JSON).status_code == 400
    assert len(store.water_tests("101")) == 1


def test_a_post_from_another_page_is_refused(page: httpx.Client, store: Store) -> None:
    before = store.events()
    headers = JSON | {"Origin": "http://elsewhere.example"}
    assert page.post("/rooms/101/water", data=form(), headers=headers).status_code == 403
    assert store.events() == before


@pytest.mark.parametrize(
    "address",
    ["/rooms/999/water", "/rooms/999/water.json", "/photos/nothing", "/photos/../record.sqlite", "/photos/%2e%2e%2fx"],
)
def test_what_is_not_there_is_said(page: httpx.Client, address: str) -> None:
    for accept in ("text/html", "application/json"):
        answer = page.get(address, headers={"Accept": accept})
        assert answer.status_code == 404
        assert "Traceback" not in answer.text


def test_a_stage_refused_is_said(folder: Path) -> None:
    def refuses(*_: object, **__: object) -> Water:
        raise StageError("the bed has not cured")

    with opened(app(folder, None, compute_water=refuses)) as page:
        for address in ("water-answer.json", "water-play.json", "water.json", "water.svg"):
            refused = page.get(f"/rooms/101/{address}", headers=JSON)
            assert (refused.status_code, refused.json()["error"]) == (422, "the bed has not cured")
        assert page.get("/rooms/101/water").status_code == 200


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.dictionaries(st.sampled_from([*FORM, "why", "test"]), st.text(max_size=30)),
    st.sampled_from(["water", "withdrawals"]),
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
    assert answer.status_code in ({201, 422} if to == "water" else {200, 400, 422})
    assert "Traceback" not in answer.text
