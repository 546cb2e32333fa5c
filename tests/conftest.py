"""Settings of every test: hypothesis without a clock, and in CI without chance; linear algebra on one thread.

folder, store   a made-up job on disk, and the record of a page that serves it
browser         one for the tests of a file
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from drainward.record import Store

settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")

# Small matrices and a test runner that takes every core: more threads only wait for each other. Read when numpy loads.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    import web_job

    return web_job.write(tmp_path / "job")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    from drainward.record import Store

    with Store.open(tmp_path / "record.sqlite") as kept:
        yield kept


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    from web_browser import chromium

    with chromium() as found:
        yield found
