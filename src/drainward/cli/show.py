"""Answers for a person at a terminal: the verdict sentence first, then the findings, then what to do.

one_room      one room's draft stage
all_rooms     a line for each room
job_outlook   what can be said before anything is set
console       where it is printed
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from drainward.cli.compute import Answer
from drainward.finding import Finding, Verdict
from drainward.floor.result import Draft
from drainward.job.model import Job
from drainward.report.words import (
    band,
    chance,
    found,
    headline,
    mortar_words,
    reading_words,
    sentence,
    shim_words,
    tool_name,
)
from drainward.rules.outlook import JobOutlook

__all__ = ["all_rooms", "console", "job_outlook", "one_room", "verdict_text"]

PIPED_WIDTH = 120

_STYLES = {Verdict.MEETS: "green", Verdict.FAILS: "bold red", Verdict.NOT_PROVEN: "yellow"}


def console() -> Console:
    """Stdout; wide where it is a pipe, whose width nobody knows."""
    out = Console(highlight=False, soft_wrap=False)
    return out if out.is_terminal else Console(highlight=False, width=PIPED_WIDTH)


def verdict_text(verdict: Verdict) -> Text:
    """The verdict in words, coloured where the terminal can."""
    return Text(str(verdict), _STYLES[verdict])


_STAGES = {"draft": "draft check", "cure": "cured"}


def one_room(job: Job, answer: Answer) -> None:
    """The whole answer for one room."""
    out = console()
    unit = job.units.get(answer.room.unit)
    title = Text(f"Room {answer.room.room}", "bold")
    title.append(f"  {unit.name if unit else answer.room.unit}, {_STAGES[answer.stage]}", "dim")
    out.print(title)
    if answer.draft is None:
        out.print(Text(f"Not proven: {answer.says}.", _STYLES[Verdict.NOT_PROVEN]))
        return
    draft = answer.draft
    said = headline(draft)
    out.print(Text(said.says, _STYLES[said.verdict]))
    if said.todo:
        out.print(Text(said.todo))
    out.print()
    out.print(_findings(draft.findings))
    for part in (*_advice(draft.findings), *_next(job, draft), *_mend(draft), *_not_used(draft)):
        out.print(part)
    out.print(Text(f"{draft.used} readings used, {draft.samples} floors drawn from what they leave open.", "dim"))


def all_rooms(job: Job, found: Sequence[Answer], verdict: Verdict, ahead: JobOutlook | None) -> None:
    """The verdict over all rooms, what holds for the whole job, then a line for each room."""
    out = console()
    out.print(Text(job.name, "bold"))
    out.print(Text(_counts(found), _STYLES[verdict]))
    if ahead is not None:
        _print_outlook(out, _unmet(ahead))
    if not found:
        return
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for name in ("room", "floor", "unit", "verdict", "why"):
        table.add_column(name, overflow="fold")
    for answer in found:
        why = answer.says if answer.draft is None else headline(answer.draft).says.split(": ", 1)[-1]
        cells = [Text(answer.room.room), Text(answer.room.floor), Text(answer.room.unit)]
        table.add_row(*cells, verdict_text(answer.verdict), Text(why))
    out.print()
    out.print(table)


def job_outlook(job: Job, ahead: JobOutlook) -> None:
    """What the picked rules and unit models allow at all."""
    out = console()
    out.print(Text(job.name, "bold"))
    if not ahead.findings and not ahead.questions:
        out.print(Text("Nothing in the picked rules stands in the way of the picked units."))
    _print_outlook(out, ahead)


def _unmet(ahead: JobOutlook) -> JobOutlook:
    """Only what stands in the way; `--stage job` shows the rest."""
    return JobOutlook(tuple(f for f in ahead.findings if f.verdict is not Verdict.MEETS), ahead.questions)


def _print_outlook(out: Console, ahead: JobOutlook) -> None:
    if ahead.findings:
        out.print(Text("\nBefore anything is set", "bold"))
        out.print(_findings(ahead.findings))
        for part in _advice(ahead.findings):
            out.print(part)
    if ahead.questions:
        out.print(Text("Ask before anything is set", "bold"))
        for question in ahead.questions:
            out.print(_item(f"{question.to}: {question.text}"))
            if question.why:
                out.print(_item(question.why, "dim"))


def _findings(findings: Sequence[Finding]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("asked", ratio=3, overflow="fold")
    table.add_column("found", ratio=2, overflow="fold")
    table.add_column("limit", ratio=3, overflow="fold")
    table.add_column("chance it conforms", ratio=1, min_width=9, overflow="fold")
    table.add_column("verdict", no_wrap=True)
    for finding in findings:
        table.add_row(
            Text(finding.what),
            _value(finding),
            Text(finding.limit).append(f"\n{finding.source}", "dim"),
            Text("–" if finding.probability is None else chance(finding.probability)),
            verdict_text(finding.verdict),
        )
    return table


def _value(finding: Finding) -> Text:
    value = found(finding)
    text = Text(value.trade)
    if value.si:
        text.append(f"\n{value.si}", "dim")
    reach = band(finding.interval, finding.unit)
    if reach:
        text.append(f"\n95 %: {reach}", "dim")
    return text


def _advice(findings: Sequence[Finding]) -> list[RenderableType]:
    told = dict.fromkeys(f.advice for f in findings if f.advice and f.verdict is not Verdict.MEETS)
    return [Text(), *(_item(advice) for advice in told)] if told else []


def _next(job: Job, draft: Draft) -> list[RenderableType]:
    ask = draft.next_reading
    if ask is None:
        return []
    tool = f" ({tool_name(job, ask.instrument)})" if ask.instrument else ""
    return [Text("\nRead next", "bold"), _item(f"{reading_words(ask)}{tool}. {sentence(ask.why)}")]


def _mend(draft: Draft) -> list[RenderableType]:
    mend = draft.mend
    if mend is None:
        return []
    parts: list[RenderableType] = [Text("\nMend while the bed is wet", "bold"), _item(mend.says)]
    shims = shim_words(mend.shims)
    if shims:
        parts.append(_item(f"Shims: {shims}"))
    parts += [_item(mortar_words(mortar)) for mortar in mend.mortar]
    if shims:
        before, after = chance(mend.probability_before), chance(mend.probability)
        parts.append(_item(f"Chance that the floor conforms after the turn: {after}; as it lies now: {before}."))
    return parts


def _not_used(draft: Draft) -> list[RenderableType]:
    if not draft.rejected:
        return []
    lines = [_item(f"{'line ' + str(r.line) if r.line else r.id}: {r.why}") for r in draft.rejected]
    return [Text("\nReadings not used", "bold"), *lines]


def _item(words: str, style: str = "") -> Padding:
    return Padding(Text(words, style), (0, 0, 0, 2))


def _counts(found: Sequence[Answer]) -> str:
    if not found:
        return "No rooms to judge."
    counted = Counter("not read yet" if a.draft is None else str(a.verdict) for a in found)
    order = (
        ("meets", "meets", "meet"),
        ("fails", "fails", "fail"),
        ("not proven", "not proven", "not proven"),
        ("not read yet", "not read yet", "not read yet"),
    )
    parts = [f"{counted[key]} {one if counted[key] == 1 else many}" for key, one, many in order if counted[key]]
    return f"{len(found)} room{'' if len(found) == 1 else 's'}: {', '.join(parts)}."
