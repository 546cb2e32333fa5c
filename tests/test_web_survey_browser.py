"""A survey in a browser: one measure a screen, keys for wet gloves; nothing typed is lost, nothing stored twice."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import hand_made
import pytest
import web_job
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect
from web_browser import DESK, SMALL, no_faults, opened

from drainward.job.model import Size, What
from drainward.quantity import INCH
from drainward.record import Store
from drainward.web import create_app


@pytest.fixture
def address(tmp_path: Path, store: Store) -> Iterator[str]:
    app = create_app(
        web_job.write(tmp_path / "job"),
        store,
        compute=web_job.compute,
        compute_water=web_job.compute_water,
        compute_before=web_job.compute_before,
    )
    with web_job.running(app) as found:
        yield found


@pytest.fixture(params=[SMALL, DESK], ids=["phone", "desk"])
def context(request: pytest.FixtureRequest, browser: Browser) -> Iterator[BrowserContext]:
    found = browser.new_context(**request.param)
    yield found
    found.close()


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    found = browser.new_context(**SMALL)
    yield found
    found.close()


def survey(context: BrowserContext, address: str, name: str = "101") -> Page:
    page = opened(context, f"{address}/rooms/{name}/survey")
    page.on("dialog", lambda dialog: dialog.accept())
    settled(page)
    return page


def settled(page: Page) -> None:
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes", timeout=120_000)


def measuring(context: BrowserContext, address: str, title: str = "") -> Page:
    """The sheet, at the first step of that title."""
    page = survey(context, address)
    page.locator("#open-entry").click()
    if title:
        options = page.locator("#steps option").all_text_contents()
        page.locator("#steps").select_option(str(next(n for n, text in enumerate(options) if text.startswith(title))))
        expect(page.locator("#title")).to_contain_text(title)
    return page


def press(page: Page, keys: str) -> None:
    """Digits, and a fraction such as /13 in sixteenths."""
    whole, slash, sixteenths = keys.partition("/")
    for digit in whole:
        page.locator(f'.pad [data-key="{digit}"]').click()
    if slash:
        page.locator('.pad [data-key="sixteenths"]').click()
        page.locator(f'.pad [data-key="/{sixteenths}"]').click()


def save(page: Page) -> None:
    page.locator("#entry .acts .save").click()


def test_inches_and_sixteenths_are_pressed_and_read_back(context: BrowserContext, address: str) -> None:
    page = measuring(context, address)
    value = page.locator("#value")
    press(page, "59/13")
    expect(value).to_have_value("59-13/16 in")
    expect(page.locator("#echo")).to_have_text("1519 mm")
    press(page, "/8")
    expect(value).to_have_value("59-1/2 in")
    page.locator('.pad [data-key="back"]').click()
    expect(value).to_have_value("59 in")
    press(page, "/0")
    expect(value).to_have_value("59 in")
    for _ in range(3):
        page.locator('.pad [data-key="back"]').click()
    expect(value).to_have_value("")
    press(page, "/3")
    expect(value).to_have_value("3/16 in")
    page.locator('.pad [data-key="unit"]').click()
    expect(value).to_have_value("")
    press(page, "1519")
    expect(value).to_have_value("1519 mm")
    expect(page.locator("#echo")).to_have_text('59-13/16"')
    expect(page.locator('.pad [data-key="sixteenths"]')).to_be_disabled()
    no_faults(page)


def test_a_round_goes_on_by_itself_and_each_measure_is_one_event(
    context: BrowserContext, address: str, store: Store
) -> None:
    page = measuring(context, address)
    for _ in range(2):
        press(page, "62/1")
        save(page)
        expect(page.locator("#told")).to_contain_text("✓ Saved:")
        expect(page.locator("#value")).to_have_value("")
    assert [measure.written for measure in store.measures("101")] == ["62-1/16 in", "62-1/16 in"]
    page.locator("[data-close]").click()
    settled(page)
    expect(page.locator("#verdict .state")).to_contain_text("measure")
    expect(page.locator(".readings h2")).to_have_text("2 measures")
    no_faults(page)


def test_a_wall_out_of_plumb_needs_a_word_and_gets_its_sign(phone: BrowserContext, address: str, store: Store) -> None:
    page = measuring(phone, address, "Out of plumb, left wall")
    press(page, "/3")
    save(page)
    expect(page.locator('[data-fault="sense"]')).to_have_text("Choose which way.")
    expect(page.locator("#value")).to_have_value("3/16 in")
    page.locator("label", has_text="Stands out").click()
    save(page)
    expect(page.locator("#told")).to_contain_text("Out of plumb, left wall")
    (measure,) = store.measures("101")
    assert (measure.what, measure.wall) == (What.PLUMB, "left")
    assert (measure.value, measure.z) == pytest.approx((-3 / 16 * INCH, 72 * INCH))
    no_faults(page)


def test_a_place_can_be_typed_and_another_tool_chosen(phone: BrowserContext, address: str, store: Store) -> None:
    page = measuring(phone, address, "Width between studs")
    page.locator(".more summary").click()
    page.locator("input[name=z]").fill("44 in")
    page.locator("select[name=instrument]").select_option("edge-48")
    press(page, "62")
    save(page)
    expect(page.locator("#told")).to_contain_text("✓")
    (measure,) = store.measures("101")
    assert (measure.z, measure.u, measure.instrument) == (pytest.approx(44 * INCH), 0.0003, "edge-48")
    no_faults(page)


def test_a_fault_stands_at_its_field_and_nothing_is_lost(phone: BrowserContext, address: str, store: Store) -> None:
    page = measuring(phone, address, "Width between studs")
    press(page, "6")
    save(page)
    expect(page.locator('[data-fault="value"]')).to_contain_text("“6 in” is 0.1524 m; expected 0.3 to 5 m")
    expect(page.locator("#value")).to_have_value("6 in")
    press(page, "2/4")
    expect(page.locator('[data-fault="value"]')).to_be_hidden()
    save(page)
    expect(page.locator("#told")).to_contain_text("✓")
    assert [measure.written for measure in store.measures("101")] == ["62-1/4 in"]
    no_faults(page)


def test_what_cannot_be_sent_waits_on_the_phone_and_is_stored_once_in_its_order(
    phone: BrowserContext, address: str, store: Store
) -> None:
    page = measuring(phone, address)
    phone.set_offline(True)
    for sixteenths in (1, 2, 3):
        press(page, f"62/{sixteenths}")
        save(page)
        expect(page.locator("#told")).to_contain_text("Kept on this phone")
        expect(page.locator("#value")).to_have_value("")
    expect(page.locator("#entry [data-unsent]")).to_have_text("Not yet sent: 3")
    assert store.measures("101") == ()

    def lose_the_answer(route: Route) -> None:
        route.fetch()
        route.abort()

    page.route("**/rooms/101/survey", lose_the_answer, times=1)
    phone.set_offline(False)  # the page is told, and sends the first, whose answer is lost
    expect(page.locator("#outbox p")).to_have_text("Not yet sent: 3. Kept on this phone.")
    until(lambda: len(store.measures("101")) == 1)
    page.reload()
    expect(page.locator("#outbox")).to_be_hidden()
    assert [measure.written for measure in store.measures("101")] == ["62-1/16 in", "62-1/8 in", "62-3/16 in"]
    settled(page)
    expect(page.locator(".readings h2")).to_have_text("3 measures")
    no_faults(page)


def test_what_waited_and_is_refused_is_mended_or_thrown_away(phone: BrowserContext, address: str, store: Store) -> None:
    page = measuring(phone, address, "Width between studs")
    phone.set_offline(True)
    for value in ("6", "62"):
        press(page, value)
        save(page)
        expect(page.locator("#told")).to_contain_text("Kept on this phone")
    phone.set_offline(False)
    expect(page.locator("#entry [data-unsent]")).to_have_text("not taken: 1")
    assert [measure.written for measure in store.measures("101")] == ["62 in"]
    page.locator("[data-close]").click()
    expect(page.locator("#outbox .fault")).to_contain_text("expected 0.3 to 5 m")
    page.locator("#outbox li input").fill("61-1/2 in")
    page.get_by_role("button", name="Send again").click()
    expect(page.locator("#outbox")).to_be_hidden()
    assert {measure.written for measure in store.measures("101")} == {"62 in", "61-1/2 in"}
    no_faults(page)


def until(holds: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.05)


def test_skipped_measures_do_not_come_again_and_going_back_does(phone: BrowserContext, address: str) -> None:
    page = measuring(phone, address, "Core hole, across")
    page.locator('[data-go="1"]').click()
    expect(page.locator("#title")).to_have_text("Core hole, from the left")
    page.locator('[data-go="-1"]').click()
    expect(page.locator("#title")).to_have_text("Core hole, across")
    press(page, "6")
    page.locator('[data-go="1"]').click()  # the question whether to leave it is answered yes
    expect(page.locator("#value")).to_have_value("")
    no_faults(page)


def test_damage_is_seen_said_and_photographed(
    phone: BrowserContext, address: str, store: Store, tmp_path: Path
) -> None:
    picture = tmp_path / "large.png"
    picture.write_bytes(hand_made.png(2400, 1200))
    page = measuring(phone, address, "Unit, damage")
    expect(page.locator(".pad")).to_be_hidden()
    page.get_by_role("button", name="Looked: none").click()
    expect(page.locator("#value")).to_have_value("none")
    page.locator("#value").fill("crack in the left wall")
    page.locator("input[name=photo]").set_input_files(picture)
    expect(page.locator("#preview")).to_be_visible()
    save(page)
    expect(page.locator("#told")).to_contain_text("crack in the left wall")
    (seen,) = store.received("101")
    assert (seen.what, seen.value) == (Size.DAMAGE, 1.0)
    assert store.photo(seen.photo)[1] == "image/jpeg"
    page.locator("[data-close]").click()
    settled(page)
    page.locator(".readings summary").first.click()
    shown = page.locator(".readings .photo img")
    shown.scroll_into_view_if_needed()
    expect(shown).to_have_js_property("complete", True)
    assert shown.evaluate("node => [node.naturalWidth, node.naturalHeight]") == [1600, 800]
    no_faults(page)


def test_a_measure_is_taken_back(phone: BrowserContext, address: str, store: Store) -> None:
    page = measuring(phone, address, "Width between studs")
    press(page, "62")
    save(page)
    expect(page.locator("#told")).to_contain_text("✓")
    page.locator("[data-close]").click()
    settled(page)
    page.locator(".readings summary", has_text="Show them").click()
    page.locator(".withdraw summary").click()
    page.locator(".withdraw input[name=why]").fill("wrong room")
    page.get_by_role("button", name="Take this measure back").click()
    expect(page.locator(".readings h2")).to_have_text("No measures")
    assert store.measures("101") == ()
    no_faults(page)


def test_all_of_a_measure_is_on_one_screen_and_every_key_fits_a_wet_glove(
    context: BrowserContext, address: str
) -> None:
    page = measuring(context, address, "Out of plumb, left wall")
    wide, inner, high = page.evaluate("[document.documentElement.scrollWidth, innerWidth, innerHeight]")
    assert wide <= inner
    for part in ("#title", "#tape svg", "#value", "#entry .acts .save"):
        box = page.locator(part).bounding_box()
        assert box is not None
        assert box["y"] >= 0 and box["y"] + box["height"] <= high, part
    for keys in (16, 15):
        if keys == 16:
            page.locator('.pad [data-key="sixteenths"]').click()
        buttons = page.locator(".pad button").all()
        assert len(buttons) == keys
        for button in (*buttons, *page.locator("#entry .acts button").all()):
            box = button.bounding_box()
            assert box is not None
            assert box["width"] >= 56 and box["height"] >= 56, button.text_content()
        if keys == 16:
            page.locator('.pad [data-key="/1"]').click()
    no_faults(page)


def test_nothing_is_wider_than_the_screen(context: BrowserContext, address: str) -> None:
    page = survey(context, address)
    for group in page.locator("details.group > summary").all():
        group.click()
    wide, inner = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide <= inner
    no_faults(page)


def test_it_works_without_scripts(browser: Browser, address: str, store: Store) -> None:
    context = browser.new_context(**SMALL, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/rooms/101/survey")
    page.locator("select[name=what]").select_option("width")
    page.locator("input[name=y]").fill('2"')
    page.locator("input[name=z]").fill('40"')
    page.locator("input[name=value]").fill("wide")
    page.get_by_role("button", name="Save").last.click()
    expect(page.locator('[data-fault="value"]')).to_contain_text("“wide” is not")
    expect(page.locator("input[name=z]")).to_have_value('40"')
    page.locator("input[name=value]").fill("62-1/4 in")
    page.get_by_role("button", name="Save").last.click()
    expect(page.locator(".readings h2")).to_have_text("1 measure")
    assert [measure.written for measure in store.measures("101")] == ["62-1/4 in"]
    context.close()
