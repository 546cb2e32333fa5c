"""The plan of a storey drawn with a finger and with a mouse; what is saved is plan.csv as `read_plan` reads it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
import web_job
from playwright.sync_api import Browser, BrowserContext, Page, expect
from web_browser import DESK, SMALL, no_faults, opened

from drainward.quantity import INCH
from drainward.record import EventKind, Store
from drainward.wayin.plan import Plan, read_plan
from drainward.web import create_app

FOOT = 12 * INCH


@pytest.fixture
def address(folder: Path, store: Store) -> Iterator[str]:
    engines = {"compute": web_job.compute, "compute_water": web_job.compute_water}
    with web_job.running(create_app(folder, store, compute_before=web_job.compute_before, **engines)) as found:  # type: ignore[arg-type]
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


def drawing(context: BrowserContext, address: str) -> Page:
    page = opened(context, f"{address}/plan?floor=1")
    page.on("dialog", lambda dialog: dialog.accept())
    expect(page.locator("#about h2")).to_be_visible()
    return page


def use(page: Page, tool: str) -> None:
    page.locator(f'#tools [data-tool="{tool}"]').click()


def at(page: Page, x: float, y: float) -> tuple[float, float]:
    """The pixel of a place, m."""
    page.wait_for_timeout(60)  # a panel that grew moves the window a frame later
    sheet = page.locator("#sheet")
    box, view = sheet.bounding_box(), sheet.get_attribute("data-view")
    assert box is not None and view is not None
    middle, up, scale = map(float, view.split())
    return box["x"] + box["width"] / 2 + (x - middle) * scale, box["y"] + box["height"] / 2 - (y - up) * scale


def touch(page: Page, x: float, y: float) -> None:
    for zoom in ("fit", "out", "out", "out"):
        box, (across, down) = page.locator("#sheet").bounding_box(), at(page, x, y)
        assert box is not None
        # Beside the buttons for zooming, and under the head of the page.
        if 0 < across - box["x"] < box["width"] - 60 and 0 < down - box["y"] < box["height"]:
            break
        page.locator(f'[data-zoom="{zoom}"]').click()
    page.mouse.click(*at(page, x, y))


def typed(page: Page, label: str, keys: str) -> None:
    """Keys as 12f for twelve feet, 6 for inches, /6 for six sixteenths."""
    page.locator("#about label", has_text=label).locator("input").click()
    whole, slash, sixteenths = keys.partition("/")
    for key in whole:
        page.locator(f'#pad [data-key="{"feet" if key == "f" else key}"]').click()
    if slash:
        page.locator('#pad [data-key="sixteenths"]').click()
        page.locator(f'#pad [data-key="/{sixteenths}"]').click()
    page.locator('#pad [data-key="done"]').click()
    expect(page.locator("#pad")).to_be_hidden()


def save(page: Page) -> None:
    page.locator("#save").click()
    expect(page.locator("main.storey")).to_have_attribute("data-saved", "yes")


def plan(folder: Path) -> Plan:
    plans, problems = read_plan(folder / "plan.csv")
    assert problems == ()
    return plans["1"]


def test_a_storey_is_drawn_from_nothing(context: BrowserContext, address: str, folder: Path, store: Store) -> None:
    page = drawing(context, address)
    expect(page.locator('#tools [data-tool="wall"]')).to_have_attribute("aria-pressed", "true")
    for x, y in ((0.03, 0), (5.1, 0.2), (5.0, 6.1)):
        touch(page, x, y)
        if x == 5.1:
            typed(page, "Length", "16f6/6")
    typed(page, "Length", "20f")
    # The pen is at the last corner, wherever the typed length put it; the next taps level off with the first corner.
    touch(page, 0.0, 6.1)
    touch(page, 0.0, 0.0)
    use(page, "door")
    page.locator('[data-zoom="fit"]').click()
    touch(page, 2.0, 0.0)
    typed(page, "Clear width", "36")
    typed(page, "From the wall's first corner", "4f/0")
    typed(page, "Head", "80")
    page.get_by_role("button", name="One side").click()
    use(page, "start")
    touch(page, 2.0, -1.0)
    use(page, "goal")
    page.locator('[data-zoom="fit"]').click()
    touch(page, 1.5, 5.5)
    touch(page, 3.0, 5.5)
    typed(page, "Width of the opening", "60/8")
    save(page)
    found = plan(folder)
    (wall,) = found.walls
    assert wall.points[0] == wall.points[-1]
    assert abs(wall.points[1][0] - wall.points[0][0]) == pytest.approx(198.375 * INCH)
    assert abs(wall.points[2][1] - wall.points[1][1]) == pytest.approx(240 * INCH)
    assert all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 1e-9 for a, b in pairwise(wall.points)), "all right angles"
    (door,) = found.doors
    assert (door.width, door.head, door.leaf) == (pytest.approx(36 * INCH), pytest.approx(80 * INCH), "left")
    assert door.first[0] - wall.points[0][0] == pytest.approx(48 * INCH)
    goal = found.goal("101")
    assert goal is not None
    assert abs(goal.points[1][0] - goal.points[0][0]) == pytest.approx(60.5 * INCH)
    (event,) = store.events(kind=EventKind.PLAN)
    assert event.body["text"] == (folder / "plan.csv").read_text()
    page.locator("#about").get_by_role("link", name="Way in to 101").click()
    expect(page.locator("#way")).to_be_visible()
    no_faults(page)


OLD = """floor,kind,name,x,y,thickness,height,leaf,trim,mine
1,wall,outside,0,0,0.2 m,,,,as built
1,wall,outside,6 m,0,,,,,
1,wall,outside,6 m,5 m,,,,,
1,wall,across,0,0,,,,,
1,wall,across,0,3 m,,,,,
1,door,101,2 m,0,,80 in,left,3/4 in,
1,door,101,3 m,0,,,,,
1,wal,typo,0,0,,,,,
"""


def test_a_plan_that_is_there_is_changed_where_it_was_touched_and_stays_elsewhere(
    context: BrowserContext, address: str, folder: Path
) -> None:
    (folder / "plan.csv").write_text(OLD)
    page = drawing(context, address)
    touch(page, 4.5, 0.0)
    expect(page.locator("#about h2")).to_have_text("Wall outside, leg 1")
    typed(page, "Length", "20f")
    expect(page.locator("#about label", has_text="Length").locator("input")).to_have_value("20'-0\"")
    save(page)
    lines = (folder / "plan.csv").read_text().splitlines()
    changed = {4: """1,wall,outside,"20'-0\"\"",5 m,,,,,"""} | {3: """1,wall,outside,"20'-0\"\"",0,,,,,"""}
    assert lines == [changed.get(n, line) for n, line in enumerate(OLD.splitlines(), start=1)]
    page.locator("#about .narrow").click()
    expect(page.locator("#wrong")).to_contain_text("plan.csv, line 9")
    no_faults(page)


def test_ends_are_dragged_undone_deleted_and_a_reload_loses_nothing(
    context: BrowserContext, address: str, folder: Path
) -> None:
    (folder / "plan.csv").write_text(OLD)
    page = drawing(context, address)
    touch(page, 4.5, 0.0)
    drag(page, (0.0, 0.0), (-1.0, 0.05))
    expect(page.locator("#about label", has_text="Length").locator("input")).to_have_value(re.compile("^2[23]'-"))
    page.reload()
    expect(page.locator("#toast")).to_contain_text("not saved yet")
    touch(page, 4.5, 0.0)
    save(page)
    found = plan_with_problem(folder)
    across = next(wall for wall in found.walls if wall.name == "across")
    assert across.points[0] == found.walls[0].points[0] and across.points[0][0] < -0.8, "what ended there went along"
    assert found.doors[0].width == pytest.approx(1.0, abs=0.002)
    touch(page, 2.5, 0.0)
    expect(page.locator("#about h2")).to_have_text("Door 101")
    page.get_by_role("button", name="Delete").click()
    expect(page.locator("#about h2")).to_have_text("Nothing chosen")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#save")).to_be_enabled()
    save(page)
    assert len(plan_with_problem(folder).doors) == 1
    no_faults(page)


def test_what_cannot_be_is_said_at_its_thing(phone: BrowserContext, address: str, folder: Path) -> None:
    page = drawing(phone, address)
    for x, y in ((0, 0), (4, 0)):
        touch(page, x, y)
    use(page, "ceiling")
    page.locator('[data-zoom="fit"]').click()
    for x, y in ((1, 0.5), (3, 0.5), (3, 1.2), (1, 0.5)):
        touch(page, x, y)
    page.locator("#save").click()
    expect(page.locator("#hint")).to_contain_text("a ceiling has its height over the floor")
    expect(page.locator("#about h2")).to_have_text("Ceiling 1")
    assert not (folder / "plan.csv").exists()
    typed(page, "Height over the floor", "96")
    save(page)
    assert plan(folder).ceilings[0].height == pytest.approx(96 * INCH)
    no_faults(page)


def test_every_button_fits_a_thumb_and_nothing_is_wider_than_the_screen(phone: BrowserContext, address: str) -> None:
    page = drawing(phone, address)
    for x, y in ((0, 0), (4, 0)):
        touch(page, x, y)
    page.locator("#about label", has_text="Length").locator("input").click()
    for button in page.locator("button:visible").all():
        box = button.bounding_box()
        assert box is not None
        assert box["width"] >= 48 and box["height"] >= 48, button.text_content()
    wide, inner = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide <= inner


def drag(page: Page, begin: tuple[float, float], end: tuple[float, float]) -> None:
    first, last = at(page, *begin), at(page, *end)
    page.mouse.move(*first)
    page.mouse.down()
    page.mouse.move(*last, steps=5)
    page.mouse.up()


def plan_with_problem(folder: Path) -> Plan:
    plans, problems = read_plan(folder / "plan.csv")
    assert [problem.field for problem in problems] == ["mine", "kind"]
    return plans["1"]
