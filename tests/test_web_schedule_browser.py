"""The plan in a browser: on a phone its pictures begin where the plan was made, and rooms keep their names in sight."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import plan_jobs
import pytest
import web_job
from playwright.sync_api import Browser
from test_web_survey import app
from web_browser import SMALL, no_faults, opened

from drainward.cli import main
from drainward.job import write_job
from drainward.record import Store


@pytest.fixture
def address(tmp_path: Path, store: Store) -> Iterator[str]:
    write_job(tmp_path / "job", plan_jobs.job())
    assert main(["plan", str(tmp_path / "job"), "--on", "2026-03-09", "--seconds", "1"]) == 0
    with web_job.running(app(tmp_path / "job", store)) as found:
        yield found


def test_rooms_keep_their_names_while_days_are_scrolled(browser: Browser, address: str) -> None:
    context = browser.new_context(**SMALL)
    page = opened(context, f"{address}/schedule")
    frame, name = page.locator(".schedule details .wide").first, page.locator(".schedule details .labels text").nth(1)
    assert name.text_content() == "101"
    before = name.bounding_box()
    frame.evaluate("frame => { frame.scrollLeft = 180 }")
    page.wait_for_function("document.querySelector('.schedule details .labels').hasAttribute('transform')")
    after = name.bounding_box()
    assert before is not None and after is not None
    assert abs(after["x"] - before["x"]) < 2
    assert page.evaluate("document.documentElement.scrollWidth") == SMALL["viewport"]["width"]
    no_faults(page)
    context.close()
