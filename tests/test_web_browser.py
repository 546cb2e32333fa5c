"""The page in a browser, against a real server: one hand on a phone, a mouse on a desk."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
import web_job
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Route, expect
from web_browser import DESK, PHONE, chromium, no_faults, opened, tap

from drainward.record import Store
from drainward.web import create_app


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as opened:
        yield opened


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "record.sqlite") as opened:
        yield opened


@pytest.fixture
def address(tmp_path: Path, store: Store) -> Iterator[str]:
    folder = web_job.write(tmp_path / "job")
    app = create_app(folder, store, compute=web_job.compute, compute_water=web_job.compute_water, names=("floor.test",))
    with web_job.running(app) as found:
        yield found


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def context(request: pytest.FixtureRequest, browser: Browser) -> Iterator[BrowserContext]:
    opened = browser.new_context(**request.param)
    yield opened
    opened.close()


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    opened = browser.new_context(**PHONE)
    yield opened
    opened.close()


def room(context: BrowserContext, address: str, name: str = "101") -> Page:
    page = opened(context, f"{address}/rooms/{name}")
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    return page


def enter(page: Page, keys: str) -> None:
    for key in keys.split():
        page.locator(f'[data-key="{key}"]').click()


def shot(target: Locator) -> bytes:
    return target.screenshot(animations="disabled")


def test_the_job_page_fills_itself_in(context: BrowserContext, address: str) -> None:
    page = opened(context, address)
    expect(page.locator("#count")).to_have_text("")
    for name, verdict in (("101", "fails"), ("102", "meets"), ("103", "not proven"), ("104", "not read yet")):
        expect(page.locator(f'[data-room="{name}"] .verdict')).to_have_text(verdict)
    expect(page.locator('[data-tally="fails"]')).to_have_text("2")
    page.locator('[data-room="101"]').click()
    expect(page.locator("h1")).to_have_text("Room 101")
    no_faults(page)


def test_a_room_of_any_name_opens(context: BrowserContext, address: str) -> None:
    page = opened(context, address)
    page.locator("[data-room]", has_text="202").click()
    expect(page.locator("h1")).to_have_text(f"Room {web_job.ROOMS[-1]}")
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    no_faults(page)


def test_nothing_is_wider_than_the_screen_and_every_button_fits_a_glove(context: BrowserContext, address: str) -> None:
    page = room(context, address)
    page.locator("#open-entry").click()
    for step in ("value", "where"):
        if step == "where":
            page.locator("[data-back]").click()
        wide, inner = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= inner
        for button in page.locator("#entry button:visible, .tools button:visible").all():
            box = button.bounding_box()
            assert box is not None
            assert min(box["width"], box["height"]) >= 44, button.text_content()


def test_the_plan_zooms_drags_and_comes_back(context: BrowserContext, address: str) -> None:
    page = room(context, address)
    plan = page.locator("#map")
    whole = shot(plan)
    page.locator('[data-zoom="in"]').click()
    page.locator('[data-zoom="in"]').click()
    near = shot(plan)
    assert near != whole
    plan.scroll_into_view_if_needed()
    box = plan.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 200, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 120, box["y"] + 80, steps=4)
    page.mouse.up()
    assert shot(plan) != near
    expect(page.locator("#entry")).to_be_hidden()  # a drag is no tap
    page.locator('[data-zoom="fit"]').click()
    page.mouse.move(0, 0)
    assert shot(plan) == whole
    no_faults(page)


def test_two_fingers_zoom_and_one_scrolls_the_page(phone: BrowserContext, address: str) -> None:
    page = room(phone, address)
    plan = page.locator("#map")
    plan.scroll_into_view_if_needed()
    box = plan.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    fingers = phone.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": px, "y": py, "id": k} for k, (px, py) in enumerate(points)]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})

    before = shot(plan)
    touch("touchStart", (x - 30, y), (x + 30, y))
    for spread in (45, 60, 90):
        touch("touchMove", (x - spread, y), (x + spread, y))
    touch("touchEnd")
    assert shot(plan) != before
    page.locator('[data-zoom="fit"]').click()
    start = page.evaluate("scrollY")
    touch("touchStart", (x, y))
    for step in range(1, 6):
        touch("touchMove", (x, y - 15 * step))
    touch("touchEnd")
    assert page.evaluate("scrollY") > start + 30
    expect(page.locator("#entry")).to_be_hidden()
    no_faults(page)


def test_two_taps_and_the_keys_make_a_reading(context: BrowserContext, address: str, store: Store) -> None:
    page = room(context, address)
    tap(page, 0.25, 0.3)
    expect(page.locator("#help")).to_have_text("Tap toward where it ends.")
    tap(page, 0.25, 0.6)
    page.locator("label", has_text="Falls from 1 to 2").click()
    enter(page, "1 . 5")
    expect(page.locator("#value")).to_have_value("1.5")
    page.locator("#entry input[name=who]").evaluate("node => { node.value = 'Ana'; }")
    page.get_by_role("button", name="Save reading").click()
    expect(page.locator("#toast")).to_have_text("Saved: -1.5 %")
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    expect(page.locator("#verdict .state")).to_have_text("From 7 readings.")
    saved = store.readings("101")[-1]
    assert (saved.value, saved.written, saved.instrument, saved.who) == (-0.015, "-1.5 %", "digital-12", "Ana")
    assert saved.x2 is not None
    assert saved.y2 is not None
    assert saved.x2 == pytest.approx(saved.x, abs=0.004)
    assert saved.y2 - saved.y == pytest.approx(0.3048, abs=0.004)  # as long as the level
    no_faults(page)


def test_the_suggested_reading_is_filled_in_and_the_estimate_comes_first(
    context: BrowserContext, address: str, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = room(context, address)
    page.locator("#open-entry").click()
    expect(page.locator("#title")).to_have_text("Gap under level")
    enter(page, "1 3/16")
    expect(page.locator("#value")).to_have_value("1-3/16")
    enter(page, "⌫ 1/4")
    expect(page.locator("#value")).to_have_value("1-1/4")
    monkeypatch.setattr(web_job, "PACE", 2.0)
    page.get_by_role("button", name="Save reading").click()
    expect(page.locator("main.room")).to_have_attribute("data-refined", "first")
    expect(page.locator("#verdict .state")).to_have_text("First estimate, refining…")
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    expect(page.locator("#verdict .state")).to_have_text("From 7 readings.")
    saved = store.readings("101")[-1]
    assert (saved.kind, saved.written, saved.instrument) == ("wedge", '1-1/4"', "level-24")
    assert (saved.x, saved.y) == (pytest.approx(1.35, abs=0.002), pytest.approx(0.3, abs=0.002))
    no_faults(page)


def test_a_fault_stands_at_its_field_and_nothing_typed_is_lost(
    context: BrowserContext, address: str, store: Store
) -> None:
    page = room(context, address)
    before = store.events()
    page.locator("#open-entry").click()
    page.locator("#value").fill("3-Apr")
    page.locator("[data-back]").click()
    page.locator(".places summary").click()
    page.locator("input[name=x]").fill("somewhere")
    page.locator("[data-next]").click()
    page.get_by_role("button", name="Save reading").click()
    expect(page.locator('[data-fault="x"]')).to_contain_text("“somewhere” is not a length")
    expect(page.locator('[data-fault="x"]')).to_be_visible()
    page.locator("input[name=x]").fill('12-1/2"')
    page.locator("[data-next]").click()
    expect(page.locator('[data-fault="value"]')).to_contain_text("“3-Apr”")
    expect(page.locator('[data-fault="value"]')).to_contain_text("spreadsheet")
    expect(page.locator("#value")).to_have_value("3-Apr")
    page.locator("[data-close]").click()
    page.locator("#open-entry").click()
    expect(page.locator("#value")).to_have_value("3-Apr")
    assert store.events() == before
    no_faults(page)


def test_without_an_answer_the_entry_waits_on_the_phone_and_is_stored_once(
    phone: BrowserContext, address: str, store: Store
) -> None:
    page = room(phone, address)
    count = len(store.readings("101"))
    page.locator("#open-entry").click()
    enter(page, "1/4")
    phone.set_offline(True)
    page.get_by_role("button", name="Save reading").click()
    expect(page.locator("#toast")).to_have_text("Kept on this phone: 1/4 in")
    expect(page.locator("#outbox p")).to_have_text("Not yet sent: 1. Kept on this phone.")

    def lose_the_answer(route: Route) -> None:
        route.fetch()
        route.abort()

    page.route("**/readings", lose_the_answer, times=1)
    phone.set_offline(False)
    page.wait_for_timeout(300)
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#outbox")).to_be_hidden()
    assert len(store.readings("101")) == count + 1
    no_faults(page)


def test_heights_share_a_set_up_until_the_instrument_is_moved(
    phone: BrowserContext, address: str, store: Store
) -> None:
    page = room(phone, address, "104")
    for k, (across, setup) in enumerate(((0.3, None), (0.5, None), (0.7, ""))):
        page.locator("#open-entry").click()
        if page.locator("[data-back]").is_visible():
            page.locator("[data-back]").click()
        page.locator("label", has_text="Spot height").click()
        tap(page, across, 0.4)
        enter(page, "1/2")
        if setup is not None:
            page.locator(".more summary").click()
            page.locator("select[name=setup]").select_option(setup)
        page.get_by_role("button", name="Save reading").click()
        expect(page.locator("#verdict .state")).to_have_text(f"From {k + 1} reading{'s' if k else ''}.")
        expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    setups = [reading.setup for reading in store.readings("104")]
    assert setups[0] == setups[1] != setups[2]
    no_faults(page)


def test_a_reading_is_taken_back(context: BrowserContext, address: str, store: Store) -> None:
    page = room(context, address)
    page.locator(".readings > details > summary").click()
    first = page.locator(".readings li").first
    first.locator(".withdraw summary").click()
    first.locator("input[name=why]").fill("level upside down")
    first.get_by_role("button", name="Take reading 1 back").click()
    expect(page.locator("#verdict .state")).to_have_text("From 5 readings.")
    assert len(store.readings("101")) == 5
    no_faults(page)


def test_a_phone_on_the_network_has_no_secure_context_and_can_still_save(
    phone: BrowserContext, address: str, store: Store
) -> None:
    page = room(phone, address.replace("127.0.0.1", "floor.test"))
    assert page.evaluate("[isSecureContext, typeof crypto.randomUUID]") == [False, "undefined"]
    for _ in range(2):  # the second id is made by the page itself
        page.locator("#open-entry").click()
        enter(page, "1/4")
        page.get_by_role("button", name="Save reading").click()
        expect(page.locator("#toast")).to_have_text('Saved: 1/4"')
        expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    ids = {reading.id for reading in store.readings("101")[-2:]}
    assert len(ids) == 2
    assert {uuid.UUID(found).version for found in ids} == {4}
    no_faults(page)


def test_without_scripts_everything_is_there(browser: Browser, address: str, store: Store) -> None:
    context = browser.new_context(**PHONE, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/rooms/101")
    page.reload()
    expect(page.locator("img.paper")).to_be_visible()
    page.locator("input[name=x]").fill("12 in")
    page.locator("input[name=y]").fill("12 in")
    page.locator("input[name=x2]").fill("24 in")
    page.locator("input[name=y2]").fill("12 in")
    page.locator("#value").fill("1.25 %")
    page.locator("label", has_text="Rises from 1 to 2").click()
    page.locator("select[name=instrument]").select_option("digital-12")
    page.get_by_role("button", name="Save reading").click()
    expect(page.locator("h1")).to_have_text("Room 101")
    assert store.readings("101")[-1].value == 0.0125
    context.close()
