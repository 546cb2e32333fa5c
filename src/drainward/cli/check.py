"""`drainward check`: findings of one room, one stage, or all.

run              the command
whole_job        every room and the job's outlook: printed, and left with the verdict over all
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drainward.cli import show, show_water
from drainward.cli.answer import complain, emit
from drainward.cli.compute import (
    BEFORE,
    CURE,
    HOLD,
    WATER,
    WAY_IN,
    Answer,
    answers,
    find_room,
    outlook,
    room_answer,
    watched_answer,
)
from drainward.cli.exits import bad_use, end
from drainward.errors import Problem
from drainward.finding import Verdict, overall
from drainward.job import load
from drainward.job.model import Job
from drainward.rules.outlook import JobOutlook

if TYPE_CHECKING:
    from drainward.wayin.plan import Plan

__all__ = ["run", "whole_job"]


def run(folder: Path, room: str | None, stage: str | None, as_json: bool, at: str = "") -> None:
    """Compute, print the verdict first, and leave with its exit code.

    at : when a bed's clock is read, ISO 8601, by the clock on the wall of the job; "" for now
    """
    loaded = load(folder)
    now = _moment(loaded.job, at)
    plans, problems = _plans(folder, stage)
    problems = (*loaded.problems, *problems)
    if room is not None:
        _one_room(loaded.job, room, stage or "draft", problems, as_json, plans, now)
    if stage == "job":
        _job_stage(loaded.job, problems, as_json)
    found = answers(loaded.job, stage or "draft", plans, now)
    problems = (*problems, *(problem for answer in found for problem in answer.problems))
    end(_whole_job(loaded.job, found, problems, as_json, stage), problems)


def _moment(job: Job, at: str) -> datetime | None:
    if not at:
        return None
    try:
        return job.site.utc(datetime.fromisoformat(at))
    except ValueError:
        bad_use(f'--at "{at}" is no time; expected such as 2026-05-06T14:30')


def _plans(folder: Path, stage: str | None) -> tuple[Mapping[str, Plan], tuple[Problem, ...]]:
    """The plans of the storeys, where the way in is asked for."""
    path = folder / "plan.csv"
    if stage != WAY_IN or not path.exists():
        return {}, ()
    from drainward.wayin.plan import read_plan

    return read_plan(path)


def whole_job(job: Job, problems: Sequence[Problem], as_json: bool) -> Verdict:
    """Every room at the draft stage with the outlook; prints, and returns the verdict over all."""
    return _whole_job(job, answers(job), problems, as_json, None)


def _whole_job(
    job: Job, found: Sequence[Answer], problems: Sequence[Problem], as_json: bool, stage: str | None
) -> Verdict:
    ahead = outlook(job) if stage is None else None
    verdict = overall(answer.verdict for answer in found)
    if as_json:
        answer: dict[str, Any] = {"schema": 1, "room": None, "stage": stage or "draft", "verdict": str(verdict)}
        answer["findings"] = []
        if ahead is not None:
            answer["outlook"] = _outlook_json(ahead)
        emit({**answer, "rooms": [one.as_json() for one in found]}, problems)
    else:
        show.all_rooms(job, found, verdict, ahead)
        complain(problems)
    return verdict


def _one_room(
    job: Job,
    name: str,
    stage: str,
    problems: Sequence[Problem],
    as_json: bool,
    plans: Mapping[str, Plan],
    now: datetime | None,
) -> None:
    room = find_room(job, name)
    if stage in (WATER, CURE, *BEFORE, *HOLD):
        answer = watched_answer(job, room, stage, plans, now)
    else:
        answer = room_answer(job, room, "draft" if stage == "job" else stage)
    problems = (*problems, *answer.problems)
    if as_json:
        emit(answer.as_json(), problems)
    else:
        _print_room(stage)(job, answer)
        complain(problems)
    end(answer.verdict, problems)


def _print_room(stage: str) -> Callable[[Job, Answer], None]:
    if stage in BEFORE:
        from drainward.cli import show_before

        return show_before.one_room
    if stage in (CURE, *HOLD):
        from drainward.cli import show_hold

        return show_hold.one_room
    return show_water.one_room if stage == WATER else show.one_room


def _job_stage(job: Job, problems: Sequence[Problem], as_json: bool) -> None:
    ahead = outlook(job)
    verdict = overall(finding.verdict for finding in ahead.findings if finding.decides)
    if as_json:
        emit({"schema": 1, "room": None, "stage": "job", "verdict": str(verdict), **_outlook_json(ahead)}, problems)
    else:
        show.job_outlook(job, ahead)
        complain(problems)
    end(verdict, problems)


def _outlook_json(ahead: JobOutlook) -> dict[str, Any]:
    return {
        "findings": [finding.as_json() for finding in ahead.findings],
        "questions": [asdict(question) for question in ahead.questions],
    }
