"""From a job to its plan in one call, for every face: `planned`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from drainward.errors import Problem
from drainward.job.model import Job
from drainward.plan.from_job import case_of
from drainward.plan.make import Made, Progress, again, make
from drainward.plan.stored import read_schedule
from drainward.plan.surveyed import Surveyed, surveyed

__all__ = ["planned"]

MEND = 2.0
"""How long a plan is mended, s."""


def planned(
    job: Job, now: datetime, before: Path | None, seconds: float, progress: Progress | None = None
) -> tuple[Made, Surveyed, tuple[Problem, ...]]:
    """The plan, what the surveys say to it, and what of the plan before is not understood.

    before : schedule.csv of the plan to mend; None for a new one, looked for during `seconds`
    Raises StageError where nothing can be planned, OSError where the file cannot be read.
    """
    known = surveyed(job, now, progress)
    case = case_of(job, now, known.wrong)
    if before is None:
        return make(case, seconds, progress=progress), known, ()
    stored, problems = read_schedule(before, case)
    return again(case, stored.plan, stored.dues, MEND), known, problems
