"""The page of who does what when: shows the plan that stands, makes one in a process of its own, hands it out."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import plan_jobs
import pytest
from test_plan_calendar import read
from test_web_survey import app, opened

from drainward.cli import main
from drainward.job import write_job
from drainward.record import Store
from drainward.web import schedule_pages


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_job(tmp_path / "job", plan_jobs.job())
    return tmp_path / "job"


@pytest.fixture
def page(folder: Path, store: Store) -> Iterator[httpx.Client]:
    with opened(app(folder, store)) as client:
        yield client


def made(page: httpx.Client, do: str) -> str:
    """The page once the plan that was asked for is made."""
    assert page.post("/schedule", data={"do": do}).status_code == 303
    for _ in range(240):
        text = page.get("/schedule").text
        if "A plan is being made" not in text:
            return text
        time.sleep(0.25)
    raise AssertionError("no plan was made within a minute")


def test_a_job_without_a_plan_says_so_and_hands_nothing_out(page: httpx.Client) -> None:
    assert "This job has no plan yet." in page.get("/schedule").text
    assert page.get("/schedule.pdf").status_code == 404
    assert page.post("/schedule", data={"do": "mend"}).status_code == 422
    assert '<a href="/schedule">' in page.get("/").text


def test_a_plan_is_made_shown_mended_and_handed_out(
    page: httpx.Client, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(schedule_pages, "SECONDS", 1.0)
    text = made(page, "plan")
    assert (folder / "schedule.csv").exists()
    for words in ("Done on ", "At most ", "Floor 1: 3 rooms", "Floor 2: 3 rooms", "Calendar of crew A", "<svg"):
        assert words in text, words
    assert page.get("/schedule.pdf").content.startswith(b"%PDF")
    assert page.get("/schedule.csv").content == (folder / "schedule.csv").read_bytes()
    first = page.get("/schedule/A.ics").content
    assert read(first) and read((folder / "calendars" / "crew-A.ics").read_bytes()) == read(first)
    assert page.get("/schedule/Z.ics").status_code == 404
    assert "could not be made" not in made(page, "mend")


def test_the_page_shows_what_the_command_planned(page: httpx.Client, folder: Path) -> None:
    assert main(["plan", str(folder), "--on", "2026-03-09", "--seconds", "1"]) == 0
    text = page.get("/schedule").text
    assert "Plan of Mon 9 Mar 2026; due dates: meets." in text
    assert "No room is late." in text


def test_a_bad_line_of_the_file_is_named_on_the_page(page: httpx.Client, folder: Path) -> None:
    assert main(["plan", str(folder), "--on", "2026-03-09", "--seconds", "1"]) == 0
    with (folder / "schedule.csv").open("a") as file:
        file.write("999,1,survey,planned,A,2026-03-09 07:00,2026-03-09 07:30,,,\n")
    assert "is no room of this job" in page.get("/schedule").text


def test_without_a_record_it_shows_and_plans_nothing(folder: Path) -> None:
    with opened(app(folder, None)) as page:
        assert '<button name="do"' not in page.get("/schedule").text
        assert page.post("/schedule", data={"do": "plan"}).status_code == 422


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_crews_card_is_handed_out(page: httpx.Client, language: str) -> None:
    card = page.get("/rooms/101/card.pdf", params={"language": language})
    assert (card.status_code, card.headers["content-type"]) == (200, "application/pdf")
    assert page.get("/rooms/101/card.pdf", params={"language": "xx"}).status_code == 422
