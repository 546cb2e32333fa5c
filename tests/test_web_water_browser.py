"""The water in a browser: played, paused, scrubbed; a test timed, its puddles tapped, its photograph made smaller."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import hand_made
import pytest
import web_job
from playwright.sync_api import Browser, BrowserContext, Page, expect
from web_browser import DESK, SMALL, no_faults, opened, tap

from drainward.record import Store
from drainward.web import create_app


@pytest.fixture
def address(tmp_path: Path, store: Store) -> Iterator[str]:
    folder = web_job.write(tmp_path / "job")
    app = create_app(folder, store, compute=web_job.compute, compute_water=web_job.compute_water)
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


def water(context: BrowserContext, address: str, name: str = "101") -> Page:
    page = opened(context, f"{address}/rooms/{name}/water")
    expect(page.locator("main.room")).to_have_attribute("data-played", "yes")
    return page


def paused(page: Page) -> Page:
    run = page.locator("#run")
    if run.get_attribute("aria-label") == "Pause":
        run.click()
    expect(run).to_have_attribute("aria-label", "Play")
    return page


def seconds(page: Page) -> float:
    return float(page.locator("#scrub").get_attribute("aria-valuenow") or "nan")


def blue(page: Page, x: float, y: float) -> float:
    """How much darker than white the film is at a point of the plan, m."""
    share: float = page.evaluate(
        """([x, y, width, depth]) => {
          const film = document.querySelector('#film'), wide = film.clientWidth, high = film.clientHeight;
          const scale = Math.min((wide - 47) / width, (high - 60) / depth);
          const left = (36 + wide - 11) / 2 + (x - width / 2) * scale;
          const top = (24 + high - 36) / 2 + (y - depth / 2) * scale, pen = film.getContext('2d');
          const at = [left, top].map((part) => Math.round(part * devicePixelRatio));
          return (255 - pen.getImageData(...at, 1, 1).data[0]) / 255;
        }""",
        [x, y, hand_made.WIDTH, hand_made.DEPTH],
    )
    return share


# ---- the play


def test_it_plays_in_honest_time_pauses_and_says_its_speed(context: BrowserContext, address: str) -> None:
    page = water(context, address)
    expect(page.locator("#pace")).to_have_text("10 times real time")
    expect(page.locator("#phase")).to_have_text("since first water, pouring")
    page.locator('[data-times="30"]').click()
    expect(page.locator("#pace")).to_have_text("30 times real time")
    expect(page.locator("#phase")).to_have_text("since first water, running off")
    paused(page)
    before = seconds(page)
    page.locator('[data-times="1"]').click()
    expect(page.locator("#pace")).to_have_text("real time", use_inner_text=True)
    page.locator("#run").click()
    page.wait_for_timeout(1500)
    paused(page)
    assert 1.0 <= seconds(page) - before <= 4.0, "one second of the page is one second of the water"
    no_faults(page)


def test_a_finger_scrubs_and_the_numbers_follow(context: BrowserContext, address: str) -> None:
    page = paused(water(context, address))
    bar = page.locator("#scrub")
    bar.scroll_into_view_if_needed()
    box = bar.bounding_box()
    assert box is not None
    end = float(bar.get_attribute("aria-valuemax") or "nan")
    page.mouse.move(box["x"] + 5, box["y"] + 30)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.25, box["y"] + 30, steps=5)
    assert seconds(page) == pytest.approx(end * 0.25, abs=end * 0.02)
    expect(page.locator("#now")).to_have_text(f"{seconds(page):.0f} s")
    expect(page.locator("#stream")).to_contain_text("L/min")
    expect(page.locator("#left")).to_contain_text(" gal · ")
    expect(page.locator("#spilled")).to_have_text("none")
    page.mouse.move(box["x"] + box["width"] + 50, box["y"] + 30, steps=3)
    page.mouse.up()
    assert seconds(page) == pytest.approx(end, abs=0.1)
    expect(page.locator("#stream")).to_have_text("only drops")
    expect(page.locator("#hang")).to_contain_text("Such a film is no pond.")
    no_faults(page)


def test_keys_play_and_step_and_leave_fields_alone(context: BrowserContext, address: str) -> None:
    page = paused(water(context, address))
    page.locator("#scrub").focus()
    page.keyboard.press("Home")
    assert seconds(page) == 0
    page.keyboard.press("ArrowRight")
    assert seconds(page) > 1
    page.keyboard.press("ArrowLeft")
    assert seconds(page) == 0
    page.keyboard.press(" ")
    expect(page.locator("#run")).to_have_attribute("aria-label", "Pause")
    page.keyboard.press(" ")
    expect(page.locator("#run")).to_have_attribute("aria-label", "Play")
    page.keyboard.press("End")
    expect(page.locator("#scrub")).to_have_attribute("aria-valuetext", "3 min since first water, only drops")
    no_faults(page)


def test_water_is_drawn_where_it_is(context: BrowserContext, address: str) -> None:
    page = paused(water(context, address))
    page.locator("#scrub").focus()
    page.keyboard.press("Home")
    assert blue(page, 1.15, 0.68) == 0, "the floor is dry before the first water"
    page.keyboard.press("End")
    assert blue(page, 1.15, 0.68) > 0.5, "the birdbath stays full"
    assert blue(page, 0.1, 0.1) < 0.2, "the far corner has run dry"
    page.locator('[data-zoom="in"]').click()
    page.locator('[data-zoom="in"]').click()
    assert blue(page, hand_made.WIDTH / 2, hand_made.DEPTH / 2) < 0.5
    no_faults(page)


def test_less_motion_starts_still_at_the_end(browser: Browser, address: str) -> None:
    context = browser.new_context(**SMALL, reduced_motion="reduce")
    page = water(context, address)
    expect(page.locator("#run")).to_have_attribute("aria-label", "Play")
    expect(page.locator("#phase")).to_have_text("since first water, only drops")
    expect(page.locator("#now")).to_have_text("3 min")
    no_faults(page)
    context.close()


def test_nothing_is_wider_than_the_screen_and_every_button_fits_a_glove(context: BrowserContext, address: str) -> None:
    page = paused(water(context, address))
    page.locator("#open-entry").click()
    for step in ("pour", "look", "save"):
        page.locator(f'[data-step-to="{step}"]').first.click()
        if step == "look":
            tap(page, 0.4, 0.5)
        wide, inner = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= inner, step
        for button in page.locator("#entry button:visible, #player button:visible, .tools button:visible").all():
            box = button.bounding_box()
            assert box is not None
            assert box["width"] >= 44, button.text_content()
            assert box["height"] >= 44, button.text_content()


def test_the_whole_plan_is_in_view_while_puddles_are_tapped(phone: BrowserContext, address: str) -> None:
    page = paused(water(phone, address))
    page.locator("#open-entry").click()
    page.locator('[data-step-to="look"]').first.click()
    tap(page, 0.4, 0.5)
    plan, sheet = page.locator("#map").bounding_box(), page.locator("#entry").bounding_box()
    assert plan is not None
    assert sheet is not None
    assert plan["y"] >= 0
    assert plan["y"] + plan["height"] <= sheet["y"] + 1


# ---- a test entered


def test_a_test_is_timed_its_puddles_tapped_and_saved(context: BrowserContext, address: str, store: Store) -> None:
    context.clock.install()
    page = paused(water(context, address))
    page.locator("#open-entry").click()
    press = page.locator("#press")
    press.click()
    page.clock.run_for(58_000)
    expect(page.locator("#watch")).to_have_text("0:58")
    press.click()
    page.clock.run_for(54_000)
    press.click()
    page.clock.run_for(9_000)
    expect(page.locator("#watch")).to_have_text(re.compile("1:5[23]"))  # it stands
    expect(press).to_be_hidden()
    page.locator(".acts [data-step-to=look]").click()
    assert blue(page, 1.15, 0.68) == 0, "what is computed is not shown to whoever looks"
    tap(page, 0.7, 0.6)
    page.locator('[data-across="4 in"]').click()
    page.locator('[data-deep="1/8 in"]').click()
    tap(page, 0.3, 0.3)
    page.locator(".acts [data-step-to=save]").click()
    expect(page.locator("#test-says")).to_have_text(
        # a slow machine lets the clock run on between two presses
        re.compile("1 gal, over the floor, in 58 s, drops after 1 min 5[23] s; 2 puddles.")
    )
    page.locator("label", has_text="Soap wiped").click()
    page.locator("#entry input[name=who]").evaluate("node => { node.value = 'Ana'; }")
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator("#toast")).to_have_text("Saved.")
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    expect(page.locator(".tests h2")).to_have_text("1 water test recorded")
    (test,) = store.water_tests("101")
    assert (test.over, test.drained, test.soap, test.who) == (58.0, 112.0, True, "Ana")
    first, second = test.puddles or ()
    assert (first.across, first.depth) == (pytest.approx(0.1016), pytest.approx(0.003175))
    assert (second.across, second.depth) == (None, None)
    assert first.x > second.x
    assert first.y > second.y
    no_faults(page)


def test_a_running_watch_outlives_the_page(phone: BrowserContext, address: str) -> None:
    phone.clock.install()
    page = paused(water(phone, address))
    page.locator("#open-entry").click()
    page.locator("#press").click()
    page.clock.run_for(20_000)
    page.reload()
    page.clock.run_for(5_000)
    expect(page.locator("#press")).to_have_text("Poured out")
    expect(page.locator("#watch")).to_have_text("0:25")
    page.locator("#again").click()
    expect(page.locator("#press")).to_have_text("Start")
    expect(page.locator("#watch")).to_have_text("0:00")
    no_faults(page)


def test_looked_and_none_is_one_press(phone: BrowserContext, address: str, store: Store) -> None:
    page = paused(water(phone, address))
    page.locator("#open-entry").click()
    page.locator(".acts [data-step-to=look]").click()
    page.locator("#none").click()
    expect(page.locator("#none")).to_have_attribute("aria-pressed", "true")
    page.locator(".acts [data-step-to=save]").click()
    expect(page.locator("#test-says")).to_contain_text("looked, none seen")
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator("#toast")).to_have_text("Saved.")
    assert [test.puddles for test in store.water_tests("101")] == [()]
    no_faults(page)


def test_a_bucket_has_its_place_and_a_puddle_can_be_taken_off(
    phone: BrowserContext, address: str, store: Store
) -> None:
    page = paused(water(phone, address))
    page.locator("#open-entry").click()
    page.locator("[data-step=pour] summary").click()
    page.get_by_role("button", name="2 gal", exact=True).click()
    page.locator("label", has_text="At a point").click()
    page.locator("[data-step=pour] summary").click()
    tap(page, 0.25, 0.4)
    page.locator("[data-step-to=look]").first.click()
    tap(page, 0.3, 0.3)
    tap(page, 0.7, 0.6)
    page.locator("[data-drop]").click()
    page.locator("[data-step-to=save]").first.click()
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator("#toast")).to_have_text("Saved.")
    (test,) = store.water_tests("101")
    assert test.poured == pytest.approx(2 * hand_made.GALLON)
    assert (str(test.how), len(test.puddles or ())) == ("at a point", 1)
    assert test.x is not None
    assert 0.1 < test.x < 0.5
    no_faults(page)


def test_a_photograph_is_made_smaller_and_shown(
    phone: BrowserContext, address: str, store: Store, tmp_path: Path
) -> None:
    large = tmp_path / "large.png"
    large.write_bytes(hand_made.png(2400, 1200))
    page = paused(water(phone, address))
    page.locator("#open-entry").click()
    page.locator("[data-step-to=save]").first.click()
    page.locator("input[name=photo]").set_input_files(large)
    expect(page.locator("#preview")).to_be_visible()
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator("#toast")).to_have_text("Saved.")
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    shown = page.locator(".tests .photo img")
    shown.scroll_into_view_if_needed()
    expect(shown).to_have_js_property("complete", True)
    assert shown.evaluate("node => [node.naturalWidth, node.naturalHeight]") == [1600, 800]
    (test,) = store.water_tests("101")
    assert store.photo(test.photo)[1] == "image/jpeg"
    no_faults(page)


def test_a_fault_stands_at_its_field_and_nothing_is_lost_or_stored_twice(
    phone: BrowserContext, address: str, store: Store
) -> None:
    page = paused(water(phone, address))
    page.locator("#open-entry").click()
    page.locator("[data-step=pour] summary").click()
    page.locator("input[name=poured]").fill("a bucket")
    page.locator("[data-step-to=look]").first.click()
    tap(page, 0.3, 0.3)
    page.locator("[data-step-to=save]").first.click()
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator('[data-fault="poured"]')).to_be_visible()
    expect(page.locator('[data-fault="poured"]')).to_contain_text("“a bucket” is not")
    page.locator("input[name=poured]").fill("4 L")
    expect(page.locator('[data-fault="poured"]')).to_be_hidden()
    page.locator("[data-step-to=save]").first.click()
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator("#toast")).to_have_text("Saved.")
    (test,) = store.water_tests("101")
    assert (test.poured, len(test.puddles or ())) == (pytest.approx(0.004), 1)
    no_faults(page)


def test_a_test_is_taken_back(phone: BrowserContext, address: str, store: Store) -> None:
    page = paused(water(phone, address))
    page.locator("#open-entry").click()
    page.locator("[data-step-to=save]").first.click()
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator("main.room")).to_have_attribute("data-refined", "yes")
    expect(page.locator(".tests h2")).to_have_text("1 water test recorded")
    page.locator(".tests .withdraw summary").click()
    page.locator(".tests input[name=why]").fill("hose still on")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # the answer is asked for and put anew
    page.wait_for_timeout(500)
    expect(page.locator(".tests input[name=why]")).to_be_focused()
    page.get_by_role("button", name="Take this test back").click()
    expect(page.locator(".tests h2")).to_have_text("No water tests recorded")
    assert store.water_tests("101") == ()
    no_faults(page)


def test_without_scripts_words_still_and_form_are_there(browser: Browser, address: str, store: Store) -> None:
    context = browser.new_context(**SMALL, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/rooms/101/water")
    for _ in range(20):
        page.reload()
        if "What the water will show" in page.content():
            break
        page.wait_for_timeout(200)
    expect(page.locator("img.paper")).to_be_visible()
    expect(page.locator(".expected")).to_contain_text("about 1 min 50 s")
    page.locator("input[name=over]").fill("55 s")
    page.locator("input[name=drained]").fill("1:50")
    page.locator("input[name=puddles]").fill('12" / 20", 3 in across')
    page.get_by_role("button", name="Save this test").click()
    expect(page.locator("h1")).to_have_text("Room 101")
    (test,) = store.water_tests("101")
    assert (test.over, test.drained, len(test.puddles or ())) == (55.0, 110.0, 1)
    context.close()
