"""`drainward plan`: crews, kits and dates of the whole job; `run`, the command."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from drainward.cli.answer import complain, emit
from drainward.cli.exits import bad_use, end
from drainward.cli.handover import file_name
from drainward.cli.show import console, findings_table, item, table, verdict_text
from drainward.finding import Finding
from drainward.job import load
from drainward.job.model import Job
from drainward.job.open_table import replace_file
from drainward.plan.calendar_export import crew_calendar
from drainward.plan.clock import local
from drainward.plan.from_job import Case
from drainward.plan.make import Made
from drainward.plan.model import Task
from drainward.plan.run import planned
from drainward.plan.stored import FILE, STEPS, schedule_text
from drainward.plan.surveyed import Surveyed
from drainward.plan.told import day_of, finish_of, kits_by_day, lates, lists_of, next_day
from drainward.plan.what_if import Way, compare, otherwise, way_of
from drainward.report.plan_words import (
    clock_words,
    day_words,
    due_finding,
    head_lines,
    late_lines,
    list_rows,
    move_rows,
)

__all__ = ["run"]

Progress = Callable[[str, float], None]
_SHOWN = 30
"""Late rooms and moves that are printed; the file and the JSON have all of them."""


def run(
    folder: Path,
    again_: bool,
    seconds: float,
    ways: Sequence[str],
    calendar: Path | None,
    pdf: Path | None,
    on: date | None,
    as_json: bool,
) -> None:
    """Plan, keep the plan beside the job, print it, and leave with the code of its due dates."""
    loaded = load(folder)
    job, problems = loaded.job, loaded.problems
    for asked in ways:
        try:
            otherwise(job, asked)
        except ValueError as error:
            bad_use(str(error))
    path = folder / FILE
    if again_ and not path.exists():
        bad_use(f"there is no {FILE} in the job to replan; plan without --replan first")
    now = _now(job, on)
    with _bar() as progress:
        made, known, doubts = planned(job, now, path if again_ else None, seconds, progress)
        others = compare(job, now, dict(known.wrong), ways, seconds, progress)
    problems = (*problems, *doubts)
    replace_file(path, schedule_text(made, now, known.bags).encode())
    files = [str(path), *(_calendars(job, made, calendar, now) if calendar is not None else ())]
    if pdf is not None:
        from drainward.report.plan_sheet import plan_pdf

        pdf.write_bytes(plan_pdf(job.name, made, known.bags))
        files.append(str(pdf))
    told = (way_of("as planned", job, made), *others) if others else ()
    finding = due_finding(made)
    if as_json:
        emit(_json(made, finding, told, known, files), problems)
    else:
        _print(job, made, finding, told, files)
        complain(problems)
    end(finding.verdict, problems)


def _now(job: Job, on: date | None) -> datetime:
    """This minute, or that morning before anybody works."""
    zone = ZoneInfo(job.site.time_zone)
    if on is None:
        return datetime.now(UTC).astimezone(zone)
    return datetime.combine(on, time(), zone)


def _calendars(job: Job, made: Made, folder: Path, now: datetime) -> list[str]:
    """One file a crew; what the folder holds from the plan before is carried on."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for crew in made.case.building.crews:
        path = folder / f"crew-{file_name(crew.id)}.ics"
        before = path.read_bytes() if path.exists() else None
        case = made.case
        path.write_bytes(crew_calendar(job.name, case.building, made.plan, crew.id, now, before, floors=case.floors))
        written.append(str(path))
    return written


def _json(made: Made, finding: Finding, ways: Sequence[Way], known: Surveyed, files: Sequence[str]) -> dict[str, Any]:
    case = made.case
    building = case.building
    done = {(task.room, task.kind) for task in case.done}
    day = next_day(made)
    return {
        "schema": 1,
        "room": None,
        "stage": "plan",
        "verdict": str(finding.verdict),
        "findings": [finding.as_json()],
        "finish": finish_of(made).isoformat(),
        "bound": {"day": day_of(case, made.bound).isoformat(), "how": made.how},
        "gap_days": made.gap_days,
        "late": [
            {
                "room": one.room,
                "due": one.due.isoformat(),
                "ends": one.ends.isoformat(),
                "days": one.days,
                "why": one.why,
                "unavoidable": one.unavoidable,
            }
            for one in lates(made)
        ],
        "kits": {
            "at_hand": building.kits,
            "most": made.measures.kits,
            "by_day": {d.isoformat(): number for d, number in kits_by_day(made).items()},
        },
        "bags": dict(known.bags),
        "tomorrow": None if day is None else {"day": day.isoformat(), "crews": _lists(made, day)},
        "steps": [
            {**_step(case, task), "state": "begun" if (task.room, task.kind) in done else "planned"}
            for task in made.plan.tasks
        ],
        "moves": [
            {
                "room": move.room,
                "step": STEPS[move.kind],
                "was": None if move.was is None else local(building, move.was).isoformat(),
                "now": local(building, move.now).isoformat(),
                "why": move.why,
            }
            for move in made.moves
        ],
        "ways": [way.as_json() for way in ways],
        "assumed": list(case.notes),
        "files": list(files),
    }  # fmt: skip


def _lists(made: Made, day: date) -> dict[str, Any]:
    return {crew: [_step(made.case, task) for task in tasks] for crew, tasks in lists_of(made, day).items()}


def _step(case: Case, task: Task) -> dict[str, Any]:
    return {
        "room": task.room,
        "step": STEPS[task.kind],
        "crews": list(task.crews),
        "start": local(case.building, task.start).isoformat(),
        "end": local(case.building, task.end).isoformat(),
        "inspector": task.inspector,
    }


def _print(job: Job, made: Made, finding: Finding, ways: Sequence[Way], files: Sequence[str]) -> None:
    out = console()
    out.print(Text(job.name, "bold"))
    first, *rest = head_lines(made)
    out.print(Text.assemble(verdict_text(finding.verdict), ": ", (first, "bold")))
    for line in rest:
        out.print(Text(line))
    out.print()
    out.print(findings_table([finding]))
    late = lates(made)
    _section(out, "Late, and why", _cut(late_lines(late)))
    if finding.advice:
        out.print(item(finding.advice))
    if ways:
        _ways(out, ways)
    if made.moves:
        out.print(Text("\nWhat moved, and why", "bold"))
        rows = table("step", "was", "is now", "why")
        for row in move_rows(made)[:_SHOWN]:
            rows.add_row(*map(Text, row))
        out.print(rows)
        if len(made.moves) > _SHOWN:
            out.print(item(f"and {len(made.moves) - _SHOWN} more, in {FILE}"))
    _tomorrow(out, made)
    _section(out, "Taken for granted", made.case.notes)
    _section(out, "Written", files)


def _cut(lines: Sequence[str]) -> Sequence[str]:
    return lines if len(lines) <= _SHOWN else [*lines[:_SHOWN], f"and {len(lines) - _SHOWN} more"]


def _section(out: Console, title: str, lines: Sequence[str]) -> None:
    if lines:
        out.print(Text(f"\n{title}", "bold"))
        for line in lines:
            out.print(item(line))


def _ways(out: Console, ways: Sequence[Way]) -> None:
    """Side by side."""
    out.print(Text("\nWhat would change it", "bold"))
    rows = table("way to work", "done on", "rooms late", "sets in use", "cost from now on")
    for way in ways:
        done = f"{day_words(way.finish.date())}, {clock_words(way.finish)}"
        rows.add_row(*map(Text, (way.name, done, str(way.late_rooms), str(way.kits), f"{way.cost:,.0f}")))
    out.print(rows)


def _tomorrow(out: Console, made: Made) -> None:
    """What each crew does on the next day on which somebody works."""
    day = next_day(made)
    if day is None:
        out.print(Text("\nEvery step is done."))
        return
    names = {crew.id: crew for crew in made.case.building.crews}
    out.print(Text(f"\n{day_words(day)}", "bold"))
    for crew, tasks in lists_of(made, day).items():
        people = "1 person" if names[crew].people == 1 else f"{names[crew].people} people"
        out.print(item(f"Crew {crew}, {people}" + ("" if tasks else ": nothing to do for this job"), "bold"))
        if tasks:
            rows = table("", "", "")
            rows.show_header = False
            for row in list_rows(made, tasks):
                rows.add_row(*map(Text, row))
            out.print(Padding(rows, (0, 0, 0, 4)))


@contextmanager
def _bar() -> Iterator[Progress | None]:
    """A bar on a terminal's stderr."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.progress import Progress as Bar

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("planning", total=1.0)
        yield lambda what, share: bar.update(task, completed=share, description=what)
