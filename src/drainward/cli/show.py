"""Answers for a person at a terminal: the verdict sentence first, then the findings, then what to do.

one_room                    one room's draft stage
all_rooms                   a line for each room
job_outlook                 what can be said before anything is set
console                     where it is printed
room_title, print_headline  who it is about; the verdict and what to do
refusal, verdict_text       why there is no answer; a verdict, coloured
findings_table, advice      findings, and what to do about them
next_reading, not_used      where to read next; readings left out
table, item                 a plain table; an indented line
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from drainward.cli.compute import BEFORE, HOLD, NO_BED, NOT_MEASURED, NOT_READ, Answer
from drainward.finding import Finding, Verdict
from drainward.floor.result import Ask, Draft, Rejected
from drainward.job.model import Job
from drainward.report.water_words import water_headline
from drainward.report.words import (
    Headline,
    band,
    chance,
    found,
    headline,
    mortar_words,
    of_findings,
    reading_words,
    sentence,
    shim_words,
    tool_name,
)
from drainward.rules.outlook import JobOutlook

__all__ = [
    "advice",
    "all_rooms",
    "console",
    "findings_table",
    "item",
    "job_outlook",
    "next_reading",
    "not_used",
    "one_room",
    "print_headline",
    "refusal",
    "room_title",
    "table",
    "verdict_text",
]

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


def room_title(job: Job, answer: Answer) -> Text:
    """The room, its unit and the stage."""
    unit = job.units.get(answer.room.unit)
    title = Text(f"Room {answer.room.room}", "bold")
    stage = _STAGES.get(answer.stage, answer.stage)
    return title.append(f"  {unit.name if unit else answer.room.unit}, {stage}", "dim")


def one_room(job: Job, answer: Answer) -> None:
    """The whole answer for one room."""
    out = console()
    out.print(room_title(job, answer))
    if answer.draft is None:
        out.print(refusal(answer))
        return
    draft = answer.draft
    print_headline(out, headline(draft))
    out.print(findings_table(draft.findings))
    asked = next_reading(job, draft.next_reading)
    for part in (*advice(draft.findings), *asked, *_mend(draft), *not_used(draft.rejected)):
        out.print(part)
    out.print(Text(f"{draft.used} readings used, {draft.samples} floors drawn from what they leave open.", "dim"))


def refusal(answer: Answer) -> Text:
    """Why a room has no answer, or needs none."""
    if answer.idle:
        return Text(f"Nothing to do: {answer.says}.", _STYLES[answer.verdict])
    return Text(f"Not proven: {answer.says}.", _STYLES[Verdict.NOT_PROVEN])


def print_headline(out: Console, said: Headline) -> None:
    """The verdict and what to do, then a blank line."""
    out.print(Text(said.says, _STYLES[said.verdict]))
    if said.todo:
        out.print(Text(said.todo))
    out.print()


def all_rooms(job: Job, found: Sequence[Answer], verdict: Verdict, ahead: JobOutlook | None) -> None:
    """The verdict over all rooms, what holds for the whole job, then a line for each room."""
    out = console()
    out.print(Text(job.name, "bold"))
    out.print(Text(_counts(found), _STYLES[verdict]))
    if ahead is not None:
        _print_outlook(out, _unmet(ahead))
    if not found:
        return
    rows = table("room", "floor", "unit", "verdict", "why")
    for answer in found:
        cells = [Text(answer.room.room), Text(answer.room.floor), Text(answer.room.unit)]
        rows.add_row(*cells, verdict_text(answer.verdict), Text(_why(answer)))
    out.print()
    out.print(rows)


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
        out.print(findings_table(ahead.findings))
        for part in advice(ahead.findings):
            out.print(part)
    if ahead.questions:
        out.print(Text("Ask before anything is set", "bold"))
        for question in ahead.questions:
            out.print(item(f"{question.to}: {question.text}"))
            if question.why:
                out.print(item(question.why, "dim"))


def table(*names: str) -> Table:
    """A table without lines; words too long for a column are broken."""
    plain = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for name in names:
        plain.add_column(name, overflow="fold")
    return plain


def findings_table(findings: Sequence[Finding]) -> Table:
    """What was asked, found and required, with the chance that it conforms and the verdict."""
    rows = table()
    rows.add_column("asked", ratio=3, overflow="fold")
    rows.add_column("found", ratio=2, overflow="fold")
    rows.add_column("limit", ratio=3, overflow="fold")
    rows.add_column("chance it conforms", ratio=1, min_width=9, overflow="fold")
    rows.add_column("verdict", no_wrap=True)
    for finding in findings:
        rows.add_row(
            Text(finding.what),
            _value(finding),
            Text(finding.limit).append(f"\n{finding.source}", "dim"),
            Text("–" if finding.probability is None else chance(finding.probability)),
            verdict_text(finding.verdict),
        )
    return rows


def _value(finding: Finding) -> Text:
    value = found(finding)
    text = Text(value.trade)
    if value.si:
        text.append(f"\n{value.si}", "dim")
    reach = band(finding.interval, finding.unit)
    if reach:
        text.append(f"\n95 %: {reach}", "dim")
    return text


def advice(findings: Sequence[Finding]) -> list[RenderableType]:
    """What to do about those that are not met, each said once."""
    told = dict.fromkeys(f.advice for f in findings if f.advice and f.verdict is not Verdict.MEETS)
    return [Text(), *(item(words) for words in told)] if told else []


def next_reading(job: Job, ask: Ask | None) -> list[RenderableType]:
    """Where to read next, with which tool and why; nothing where nothing is asked."""
    if ask is None:
        return []
    tool = f" ({tool_name(job, ask.instrument)})" if ask.instrument else ""
    return [Text("\nRead next", "bold"), item(f"{reading_words(ask)}{tool}. {sentence(ask.why)}")]


def _mend(draft: Draft) -> list[RenderableType]:
    mend = draft.mend
    if mend is None:
        return []
    parts: list[RenderableType] = [Text("\nMend while the bed is wet", "bold"), item(mend.says)]
    shims = shim_words(mend.shims)
    if shims:
        parts.append(item(f"Shims: {shims}"))
    parts += [item(mortar_words(mortar)) for mortar in mend.mortar]
    if shims:
        before, after = chance(mend.probability_before), chance(mend.probability)
        parts.append(item(f"Chance that the floor conforms after the turn: {after}; as it lies now: {before}."))
    return parts


def not_used(rejected: Sequence[Rejected]) -> list[RenderableType]:
    """The readings that were left out, and why."""
    if not rejected:
        return []
    lines = [item(f"{'line ' + str(r.line) if r.line else r.id}: {r.why}") for r in rejected]
    return [Text("\nReadings not used", "bold"), *lines]


def item(words: str, style: str = "") -> Padding:
    """A line, indented."""
    return Padding(Text(words, style), (0, 0, 0, 2))


def _why(answer: Answer) -> str:
    """What stands behind a room's verdict, without the verdict."""
    if answer.hold is not None:
        return of_findings(answer.verdict, answer.hold.findings).says.split(": ", 1)[-1]
    if answer.clock is not None and answer.draft is not None:
        both = (*answer.draft.findings, *answer.clock.findings)
        return of_findings(answer.verdict, both).says.split(": ", 1)[-1]
    if answer.draft is not None:
        return headline(answer.draft).says.split(": ", 1)[-1]
    if answer.water is not None:
        return water_headline(answer.water).says.split(": ", 1)[-1]
    if answer.before is not None:
        from drainward.report.pocket_words import why

        return why(answer.before)
    return answer.says


def _counts(found: Sequence[Answer]) -> str:
    if not found:
        return "No rooms to judge."
    counted = Counter(_counted(answer) for answer in found)
    order = (
        ("meets", "meets", "meet"),
        ("fails", "fails", "fail"),
        ("not proven", "not proven", "not proven"),
        (NO_BED, "has no bed", "have no bed"),
        (NOT_READ, NOT_READ, NOT_READ),
        (NOT_MEASURED, NOT_MEASURED, NOT_MEASURED),
    )
    parts = [f"{counted[key]} {one if counted[key] == 1 else many}" for key, one, many in order if counted[key]]
    return f"{len(found)} room{'' if len(found) == 1 else 's'}: {', '.join(parts)}."


def _counted(answer: Answer) -> str:
    """What a room is counted as."""
    if answer.idle:
        return NO_BED
    if answer.found is None and answer.says == NOT_MEASURED:
        return NOT_MEASURED
    if answer.found is None and (answer.says == NOT_READ or answer.stage not in (*BEFORE, *HOLD)):
        return NOT_READ
    return str(answer.verdict)
