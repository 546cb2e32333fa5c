"""What holds a unit, in a browser: what was done is written down, kept without a network, and starts the clock."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import bed_cases
import pytest
import surveys
import web_job
from playwright.sync_api import Browser, BrowserContext, Page, expect
from web_browser import DESK, SMALL, no_faults, opened

from drainward.job.model import What
from drainward.job.write import write_job
from drainward.record import EventKind, Store
from drainward.web import create_app


@pytest.fixture
def address(tmp_path: Path, store: Store) -> Iterator[str]:
    """A room whose pocket was surveyed and whose draft check meets."""
    surveyed = [*bed_cases.room(), surveys.measure(What.CEILING, 96.0, 1 / 8)]
    made = web_job.job()
    unit = made.units[made.rooms[0].unit]
    read = tuple(one.model_copy(update={"room": "102"}) for one in made.readings if one.room == "102")
    job = surveys.job([one.model_copy(update={"room": "102"}) for one in surveyed], (), unit, rooms="102")
    job = job.model_copy(update={"readings": read, "instruments": made.instruments})
    write_job(tmp_path / "job", job)
    app = create_app(
        tmp_path / "job", store, compute=web_job.compute, compute_water=web_job.compute_water,
        compute_before=web_job.compute_before,
    )  # fmt: skip
    with web_job.running(app) as found:
        yield found


@pytest.fixture(params=[SMALL, DESK], ids=["phone", "desk"])
def context(request: pytest.FixtureRequest, browser: Browser) -> Iterator[BrowserContext]:
    found = browser.new_context(**request.param)
    yield found
    found.close()


def hold(context: BrowserContext, address: str) -> Page:
    page = opened(context, f"{address}/rooms/102/hold")
    expect(page.locator("main.room")).to_have_attribute("data-known", "yes", timeout=120_000)
    return page


def write_down(page: Page, what: str, value: str = "") -> None:
    if page.locator("details.did-now").get_attribute("open") is None:
        page.locator("details.did-now summary").click()
    page.locator('#entry select[name="what"]').select_option(what)
    if value:
        page.locator('#entry input[name="value"]').fill(value)
    page.locator("#entry .save").click()


def test_a_bed_written_down_starts_the_clock_and_opens_the_screws(
    context: BrowserContext, address: str, store: Store
) -> None:
    page = hold(context, address)
    expect(page.locator("#answer")).to_contain_text("No clock yet")
    expect(page.locator("#answer")).to_contain_text("nobody wrote down that its bed was placed")
    write_down(page, "bed placed")
    expect(page.locator(".bedclock .to-go")).to_contain_text("h", timeout=60_000)
    expect(page.locator(".order tbody tr").first).to_contain_text("1–2")
    numbers = page.locator(".drawn svg text").all_text_contents()
    assert "1" in numbers, "the screws have their numbers on the walls"
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing wider than the screen"
    page.goto(address)
    expect(page.locator(".cure").first).to_contain_text("to go, until")
    assert len(store.events(kind=EventKind.SETTING)) == 1
    no_faults(page)


def test_what_cannot_be_read_is_said_beside_its_field(context: BrowserContext, address: str, store: Store) -> None:
    page = hold(context, address)
    write_down(page, "slab temperature", "warm")
    expect(page.locator('#entry [data-fault="value"]')).to_contain_text("warm")
    assert not store.events(kind=EventKind.SETTING)
    no_faults(page)


def test_without_a_network_it_is_kept_and_sent_once(context: BrowserContext, address: str, store: Store) -> None:
    page = hold(context, address)
    context.set_offline(True)
    write_down(page, "bed placed")
    expect(page.locator("#toast")).to_contain_text("Kept on this phone")
    assert not store.events(kind=EventKind.SETTING)
    context.set_offline(False)
    expect(page.locator(".bedclock .to-go")).to_contain_text("h", timeout=60_000)
    assert len(store.events(kind=EventKind.SETTING)) == 1
    no_faults(page)
