"""The page on the real engine: what it shows is what the engine found."""

from __future__ import annotations

import time
import uuid
from pathlib import Path

import httpx
import pytest
import web_job
from test_web_entry import FORM
from test_web_water_entry import FORM as WATER_FORM

from drainward.floor import draft_stage
from drainward.record import Store
from drainward.web import create_app

WAIT = 240
"""Kernels are compiled on the first floor of a fresh machine, s."""


def test_the_answer_is_the_engine_s_and_follows_a_new_reading(tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    with Store.open(tmp_path / "record.sqlite") as store, web_job.running(create_app(folder, store)) as address:
        headers = {"Accept": "application/json", "Origin": address}
        with httpx.Client(base_url=address, headers=headers, timeout=WAIT) as page:
            first = page.get("/rooms/101/answer.json?first=1").json()
            assert first["refined"] is False
            shown = page.get("/rooms/101/draft.json").json()
            job = web_job.job()
            read = tuple(reading for reading in store.readings("101"))
            expected = draft_stage(job, "101", read).as_json()
            assert shown["verdict"] == expected["verdict"]
            assert [f["id"] for f in shown["findings"]] == [f["id"] for f in expected["findings"]]
            assert shown["fall"]["min"]["value"] == pytest.approx(expected["fall"]["min"]["value"], abs=1e-9)
            used = shown["readings"]["used"] + len(shown["readings"]["rejected"])
            assert page.post("/rooms/101/readings", data=FORM | {"id": str(uuid.uuid4())}).status_code == 201
            after = page.get("/rooms/101/draft.json").json()["readings"]
            assert after["used"] + len(after["rejected"]) == used + 1
            unread = page.get("/rooms/104/answer.json").json()
            assert "From 0 readings." in unread["verdict"]
            assert _board_done(page)


def test_the_water_is_the_engine_s_and_is_compared_with_a_test(tmp_path: Path) -> None:
    folder = web_job.write(tmp_path / "job")
    with Store.open(tmp_path / "record.sqlite") as store, web_job.running(create_app(folder, store)) as address:
        headers = {"Accept": "application/json", "Origin": address}
        with httpx.Client(base_url=address, headers=headers, timeout=WAIT) as page:
            dry = _poured(page)
            assert "No water tests recorded" in dry
            sent = WATER_FORM | {"id": str(uuid.uuid4()), "poured": "4 L", "puddles": "none"}
            assert page.post("/rooms/102/water", data=sent).status_code == 201
            wet = _poured(page)
            assert "1 water test recorded" in wet
            assert "4 L" in wet
            assert "no puddle seen" in wet
            play = page.get("/rooms/102/water-play.json?first=1").json()
            assert play["pour"] == 58.0
            assert max(play["left"]) <= 0.004 * (1 + 1e-3)


def _poured(page: httpx.Client) -> str:
    """The words of the first estimate of a room's water."""
    until = time.monotonic() + WAIT
    while time.monotonic() < until:
        answer = page.get("/rooms/102/water-answer.json?first=1")
        if answer.status_code != 202:
            return str(answer.json()["answer"])
    raise AssertionError("the water was never computed")


def _board_done(page: httpx.Client) -> bool:
    until = time.monotonic() + WAIT
    while time.monotonic() < until:
        board = page.get("/board.json").json()
        if board["done"] == board["of"]:
            return all(row["state"] in ("done", "unread") for row in board["rooms"])
        time.sleep(0.3)
    return False
