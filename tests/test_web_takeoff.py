"""The page of what to buy and cut: computed behind it, shown, taken along; counted anew when something was done."""

from __future__ import annotations

import io
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx
import openpyxl
import pypdf
import pytest
from surveys import job
from test_web_survey import app, opened

from drainward.job import write_job
from drainward.job.model import SettingEvent, Work
from drainward.record import Store
from drainward.record.event import setting_event


@pytest.fixture
def page(tmp_path: Path, store: Store) -> Iterator[httpx.Client]:
    write_job(tmp_path / "job", job((), (), rooms="1 2"))
    with opened(app(tmp_path / "job", store)) as client:
        yield client


def counted(page: httpx.Client) -> dict[str, Any]:
    for _ in range(100):
        answer = page.get("/takeoff.json")
        if answer.status_code == 200:
            return dict(answer.json())
        assert answer.status_code == 202 and 0 <= answer.json()["share"] <= 1
        time.sleep(0.1)
    raise AssertionError("no takeoff")


def test_the_page_shows_what_the_numbers_say(page: httpx.Client) -> None:
    assert "Adding up what every room takes" in page.get("/takeoff").text
    told = counted(page)
    assert (told["stage"], told["guessed"]) == ("takeoff", ["1", "2"])
    shown = page.get("/takeoff").text
    assert f"{told['things'][0]['packs']} bags of mortar" in shown
    assert shown.count("<svg xmlns") > 2 and "Saw list no date known" in shown
    assert 'href="/takeoff"' in page.get("/").text


def test_its_lists_are_taken_along(page: httpx.Client) -> None:
    told = counted(page)
    assert "Saw list" in pypdf.PdfReader(io.BytesIO(page.get("/takeoff.pdf").content)).pages[-1].extract_text()
    book = openpyxl.load_workbook(io.BytesIO(page.get("/takeoff.xlsx").content))
    assert book["buy"]["F2"].value == told["things"][0]["packs"]
    assert page.get("/takeoff.csv").text.startswith("what,pack,week,packs,rooms\nmortar,")
    labels = pypdf.PdfReader(io.BytesIO(page.get("/labels.pdf").content)).pages[0].extract_text()
    assert f"{page.base_url}/rooms/2" in labels.replace("\n", "")


def test_what_a_bed_took_is_counted(page: httpx.Client, store: Store) -> None:
    before = counted(page)["things"][0]["needed"]["u"]
    now = datetime(2026, 3, 2, 9, tzinfo=UTC)
    done = SettingEvent(id="a", room="1", what=Work.MORTAR_USED, value=45.0, u=0.9, when=now)
    store.append([setting_event(done, now)])
    after = counted(page)
    assert after["guessed"] == ["2"] and after["things"][0]["needed"]["u"] < before
