"""The command line: `main`, thin over the rooms below it. Commands stand in `app`, exit codes in `exits`."""

from __future__ import annotations

import os

# Small matrices: more threads only wait for each other, tenfold on a busy machine. Read when numpy loads.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from drainward.cli.app import main

__all__ = ["main"]
