"""What holds a unit and its bed, for a person at a terminal: `one_room`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console, RenderableType
from rich.text import Text

from drainward.cli import show
from drainward.cli.compute import Answer
from drainward.cli.show import advice, console, findings_table, item, print_headline, refusal, room_title, table
from drainward.hold.stage import BracePlan, FastenPlan
from drainward.job.model import Job
from drainward.report.cautions import setting_cautions
from drainward.report.hold_words import brace_lines, clock_words, piece_rows, support_lines, turn_rows
from drainward.report.words import of_findings

__all__ = ["one_room"]


def one_room(job: Job, answer: Answer) -> None:
    """The verdict, what to do, the findings, and what the stage has beside them."""
    out = console()
    found = answer.hold
    if found is None:
        if answer.draft is not None:
            show.one_room(job, answer)
            both = (*answer.draft.findings, *(answer.clock.findings if answer.clock else ()))
            out.print()
            print_headline(out, of_findings(answer.verdict, both))
            _clock(out, job, answer)
        else:
            out.print(room_title(job, answer))
            out.print(refusal(answer))
        _cautions(out, job, answer)
        return
    out.print(room_title(job, answer))
    print_headline(out, of_findings(found.verdict, found.findings))
    out.print(findings_table(found.findings))
    for part in advice(found.findings):
        out.print(part)
    if isinstance(found, FastenPlan):
        _rows(out, "One screw after the other", ("screws", "up", "holes", "into"), turn_rows(found.turns))
        _lines(out, "How", found.steps)
    elif isinstance(found, BracePlan):
        _lines(out, "Braces", brace_lines(found))
        _rows(out, "To cut", ("count", "piece", "section", "length"), piece_rows(found))
        _lines(out, "How", found.steps)
    else:
        _lines(out, "The bed as it sounds", support_lines(found))
        _lines(out, f"What to do: {found.do}", found.steps)
    if not isinstance(found, FastenPlan):
        _lines(out, "Taken for granted", found.assumed)
    _cautions(out, job, answer)


def _clock(out: Console, job: Job, answer: Answer) -> None:
    if answer.clock is None:
        _lines(out, "The clock of its bed", (f"{answer.clock_says[:1].upper()}{answer.clock_says[1:]}.",))
        return
    out.print(Text("\nThe clock of its bed", "bold"))
    out.print(findings_table(answer.clock.findings))
    for part in advice(answer.clock.findings):
        out.print(part)
    said = clock_words(answer.clock, job.site)
    for line in (f"{said.left} {said.under}. {said.says}", *said.warnings):
        out.print(item(line))
    _rows(out, "", ("", ""), said.rows)
    _rows(out, "By each law", ("law", "age at 70 °F", "old enough"), said.laws)


def _cautions(out: Console, job: Job, answer: Answer) -> None:
    unit = job.units.get(answer.room.unit)
    if unit is not None and (unit.style == "bedded" or answer.stage == "fasten"):
        _lines(out, "Take care", setting_cautions(unit, answer.stage), "dim")


def _rows(out: Console, title: str, head: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    told = table(*head)
    for row in rows:
        told.add_row(*map(Text, row))
    parts: list[RenderableType] = [Text(f"\n{title}", "bold"), told] if told.row_count else []
    for part in parts:
        out.print(part)


def _lines(out: Console, title: str, lines: Sequence[str], style: str = "") -> None:
    if lines:
        out.print(Text(f"\n{title}", "bold"))
    for line in lines:
        out.print(item(line, style))
