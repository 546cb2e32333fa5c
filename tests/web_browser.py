"""A browser for the tests of the page: one hand on a phone, a mouse on a desk."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

ARGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
    "--host-resolver-rules=MAP floor.test 127.0.0.1",
]  # fmt: skip
expect.set_options(timeout=20_000)
PHONE: dict[str, Any] = {"viewport": {"width": 412, "height": 800}, "has_touch": True, "device_scale_factor": 2}
SMALL: dict[str, Any] = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "device_scale_factor": 2}
DESK: dict[str, Any] = {"viewport": {"width": 1366, "height": 850}}


@contextlib.contextmanager
def chromium() -> Iterator[Browser]:
    """A browser without a window."""
    path = shutil.which("chromium")
    assert path is not None, "chromium is installed from Debian's packages by make system"
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, headless=True, args=ARGS)
        yield opened
        opened.close()


def opened(context: BrowserContext, address: str) -> Page:
    """A page that fails the test on any fault that its script throws."""
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda message: faults.append(message.text) if "Security Policy" in message.text else None)
    page.goto(address)
    page.faults = faults  # type: ignore[attr-defined]
    return page


def no_faults(page: Page) -> None:
    assert not page.faults, page.faults  # type: ignore[attr-defined]


def tap(page: Page, across: float, down: float) -> None:
    """Touch the plan at a share of its width and height."""
    plan = page.locator("#map")
    box = plan.bounding_box()
    assert box is not None
    plan.click(position={"x": box["width"] * across, "y": box["height"] * down})
