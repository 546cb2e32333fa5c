"""Settings of every test: hypothesis without a clock, and in CI without chance; linear algebra on one thread."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")

# Small matrices and a test runner that takes every core: more threads only wait for each other. Read when numpy loads.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
