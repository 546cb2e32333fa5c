"""`drainward check`: findings of one room, one stage, or all.

run              the command
whole_job        every room and the job's outlook: printed, and left with the verdict over all
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from drainward.cli import show, show_water
from drainward.cli.answer import complain, emit
from drainward.cli.compute import WATER, answers, find_room, outlook, room_answer, water_answer
from drainward.cli.exits import end
from drainward.errors import Problem
from drainward.finding import Verdict, overall
from drainward.job import load
from drainward.job.model import Job
from drainward.rules.outlook import JobOutlook

__all__ = ["run", "whole_job"]


def run(folder: Path, room: str | None, stage: str | None, as_json: bool) -> None:
    """Compute, print the verdict first, and leave with its exit code."""
    loaded = load(folder)
    if room is not None:
        _one_room(loaded.job, room, stage or "draft", loaded.problems, as_json)
    if stage == "job":
        _job_stage(loaded.job, loaded.problems, as_json)
    end(whole_job(loaded.job, loaded.problems, as_json, stage), loaded.problems)


def whole_job(job: Job, problems: Sequence[Problem], as_json: bool, stage: str | None = None) -> Verdict:
    """Every room at one stage, or at the draft stage with the outlook; prints, and returns the verdict over all."""
    found = answers(job, stage or "draft")
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


def _one_room(job: Job, name: str, stage: str, problems: Sequence[Problem], as_json: bool) -> None:
    room = find_room(job, name)
    answer = water_answer(job, room) if stage == WATER else room_answer(job, room, "draft" if stage == "job" else stage)
    if as_json:
        emit(answer.as_json(), problems)
    else:
        print_room = show_water.one_room if stage == WATER else show.one_room
        print_room(job, answer)
        complain(problems)
    end(answer.verdict, problems)


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
