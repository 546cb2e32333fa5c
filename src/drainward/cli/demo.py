"""`drainward demo`: a made-up job, computed live, then the page."""

from __future__ import annotations

import sys
import threading
from datetime import datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

from drainward.cli.check import whole_job
from drainward.cli.exits import ExitCode, Finished
from drainward.demo import TODAY, write_demo
from drainward.job import load
from drainward.job.model import Job
from drainward.job.open_table import replace_file
from drainward.plan.run import planned
from drainward.plan.stored import FILE, schedule_text

__all__ = ["run"]

SEED = 1
"""The made-up job is the same for everybody."""
SECONDS = 3.0
"""How long its plan is looked for."""


def run(folder: Path, port: int | None, as_json: bool) -> None:
    """Write the job, compute every room, print; then serve on `port`, or end where it is None.

    Ends with 0 whatever the verdicts: the made-up rooms fail on purpose.
    """
    write_demo(folder, SEED)
    loaded = load(folder)
    whole_job(loaded.job, loaded.problems, as_json)
    if port is not None:
        # the page need not wait for it
        threading.Thread(target=_plan, args=(loaded.job, folder), daemon=True).start()
        from drainward.web import serve

        serve(folder, port=port, say=_say)
    raise Finished(ExitCode.MEETS)


def _plan(job: Job, folder: Path) -> None:
    """The plan of the made-up job on a morning on which a part of it is done, for the page."""
    now = datetime.combine(TODAY, time(), ZoneInfo(job.site.time_zone))
    made, known, _ = planned(job, now, None, SECONDS)
    replace_file(folder / FILE, schedule_text(made, now, known.bags).encode())


def _say(words: str) -> None:
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()
