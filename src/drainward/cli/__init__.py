"""The command line: `main`, thin over the rooms below it. Commands stand in `app`, exit codes in `exits`."""

from __future__ import annotations

from drainward.cli.app import main

__all__ = ["main"]
