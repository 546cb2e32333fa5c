"""Knocking on a floor, in a browser: one touch a place, the next place shown, kept without a network, taken back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from test_hold_support import job as tapped_job
from test_hold_support import taps
from test_web_survey import app
from web_browser import DESK, SMALL, no_faults, opened
from web_job import running

from drainward.hold.support import Supported, support_stage
from drainward.job.model import ReadingKind
from drainward.job.write import write_job
from drainward.record import Store
from drainward.web import desk


@pytest.fixture(scope="module")
def solid() -> Supported:
    return support_stage(tapped_job(taps(), thickness=0.5), "1")


@pytest.fixture
def address(tmp_path: Path, store: Store, solid: Supported, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A floor that nobody tapped, behind an engine that answers at once."""
    write_job(tmp_path / "job", tapped_job((), thickness=0.5))
    monkeypatch.setattr(desk, "support_engine", lambda job, room, progress: solid)
    with running(app(tmp_path / "job", store)) as address:
        yield address


@pytest.fixture(params=[SMALL, DESK], ids=["phone", "desk"])
def context(request: pytest.FixtureRequest, browser: Browser) -> Iterator[BrowserContext]:
    found = browser.new_context(**request.param)
    yield found
    found.close()


def knocking(context: BrowserContext, address: str) -> Page:
    page = opened(context, f"{address}/rooms/1/support")
    expect(page.locator("#place")).to_contain_text("0 of 60 places. Knock 3")
    expect(page.locator("main.room")).to_have_attribute("data-known", "yes")
    return page


def test_each_place_is_one_touch_and_the_next_one_is_shown(context: BrowserContext, address: str, store: Store) -> None:
    page = knocking(context, address)
    for heard in ("Solid", "Solid", "Hollow"):
        page.get_by_role("button", name=heard).click()
    expect(page.locator("#place")).to_contain_text('3 of 60 places. Knock 21" from the left, 3" from the back')
    assert page.locator("#floor .solid").count() == 2
    assert page.locator("#floor .hollow").count() == 1
    page.get_by_role("button", name="Skip").click()
    expect(page.locator("#place")).to_contain_text('Knock 27"')
    expect(page.locator("#answer")).to_contain_text("3 readings", timeout=60_000)
    kept = store.readings("1")
    assert [one.value for one in kept] == [1.0, 1.0, 0.0]
    assert [round(one.x / 0.0254) for one in kept] == [3, 9, 15]
    assert {one.stage for one in kept} == {"cure"}
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing wider than the screen"
    page.evaluate("document.querySelector('#knock').scrollIntoView()")
    buttons, drawing = page.locator(".heard").bounding_box(), page.locator("#floor svg").bounding_box()
    assert buttons is not None
    assert drawing is not None
    assert drawing["y"] + drawing["height"] <= buttons["y"], "the buttons hide nothing of the floor"
    no_faults(page)


def test_a_touched_place_is_where_the_next_knock_is(context: BrowserContext, address: str, store: Store) -> None:
    page = knocking(context, address)
    # between four places of the grid: a touch nearer to one means that one
    at = page.evaluate(
        """() => { const svg = document.querySelector("#floor svg"), p = new DOMPoint(42 * 25.4, 18 * 25.4);
        const { x, y } = p.matrixTransform(svg.getScreenCTM()); return [x, y]; }"""
    )
    page.mouse.click(*at)
    expect(page.locator("#place")).to_contain_text('Knock 42" from the left, 18" from the back')
    page.locator("#bed").select_option("draft")
    page.mouse.click(*at)
    page.get_by_role("button", name="Hollow").click()
    expect(page.locator("#answer")).to_contain_text("1 reading", timeout=60_000)
    (kept,) = store.readings("1")
    assert (kept.value, kept.stage) == (0.0, "draft")
    assert (kept.x / 0.0254, kept.y / 0.0254) == (pytest.approx(42, abs=0.5), pytest.approx(18, abs=0.5))
    page.locator("#bed").select_option("cure")
    assert page.locator("#floor .hollow").count() == 0, "a cured bed is tapped anew"
    no_faults(page)


def test_a_press_is_written_down_at_the_place_that_is_shown(
    context: BrowserContext, address: str, store: Store
) -> None:
    page = knocking(context, address)
    page.get_by_role("button", name="Press").click()
    expect(page.locator('#entry input[name="x"]')).to_have_value('3"')
    page.locator('#entry input[name="value"]').fill("1/32 in")
    page.locator('#entry input[name="weight"]').fill("175 lb")
    page.locator("#entry .save").click()
    expect(page.locator('#entry [data-fault="u"]')).to_contain_text("no instrument is named")
    page.locator('#entry input[name="u"]').fill("1/64 in")
    page.locator("#entry .save").click()
    expect(page.locator("#floor .press")).to_have_count(1, timeout=60_000)
    (kept,) = store.readings("1")
    assert (kept.kind, kept.weight) == (ReadingKind.PRESS, pytest.approx(79.4, abs=0.1))
    no_faults(page)


def test_a_slip_of_the_hand_is_taken_back(context: BrowserContext, address: str, store: Store) -> None:
    page = knocking(context, address)
    page.get_by_role("button", name="Hollow").click()
    expect(page.locator("#answer")).to_contain_text("1 reading", timeout=60_000)
    page.get_by_role("button", name="Take back").click()
    expect(page.locator("#place")).to_contain_text('0 of 60 places. Knock 3" from the left, 3" from the back')
    assert store.readings("1") == ()
    expect(page.locator("#answer")).to_contain_text("0 readings", timeout=60_000)
    no_faults(page)


def test_without_a_network_taps_are_kept_and_sent_once(context: BrowserContext, address: str, store: Store) -> None:
    page = knocking(context, address)
    context.set_offline(True)
    for heard in ("Solid", "Hollow"):
        page.get_by_role("button", name=heard).click()
    expect(page.locator("#place")).to_contain_text("2 of 60 places")
    expect(page.locator("#outbox p")).to_contain_text("Not yet sent: 2", timeout=30_000)
    assert store.readings("1") == ()
    context.set_offline(False)
    expect(page.locator("#answer")).to_contain_text("2 readings", timeout=60_000)
    assert [one.value for one in store.readings("1")] == [1.0, 0.0]
    expect(page.locator("#place")).to_contain_text("2 of 60 places")
    no_faults(page)
