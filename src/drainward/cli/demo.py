"""`drainward demo`: a made-up job, computed live, then the page."""

from __future__ import annotations

import sys
from pathlib import Path

from drainward.cli.check import whole_job
from drainward.cli.exits import ExitCode, Finished
from drainward.demo import write_demo
from drainward.job import load

__all__ = ["run"]

SEED = 1
"""The made-up job is the same for everybody."""


def run(folder: Path, port: int | None, as_json: bool) -> None:
    """Write the job, compute every room, print; then serve on `port`, or end where it is None.

    Ends with 0 whatever the verdicts: the made-up rooms fail on purpose.
    """
    write_demo(folder, SEED)
    loaded = load(folder)
    whole_job(loaded.job, loaded.problems, as_json)
    if port is not None:
        from drainward.web import serve

        serve(folder, port=port, say=_say)
    raise Finished(ExitCode.MEETS)


def _say(words: str) -> None:
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()
