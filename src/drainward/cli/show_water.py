"""The water test of one room for a person at a terminal: `one_room`."""

from __future__ import annotations

from rich.console import RenderableType
from rich.text import Text

from drainward.cli.compute import Answer
from drainward.cli.show import (
    advice,
    console,
    findings_table,
    item,
    next_reading,
    not_used,
    print_headline,
    refusal,
    room_title,
    table,
)
from drainward.floor.film.result import Water
from drainward.job.model import Job
from drainward.report.water_words import (
    Recorded,
    answered,
    expected,
    hang_rule,
    hang_says,
    recorded,
    remarks,
    water_headline,
)

__all__ = ["one_room"]


def one_room(job: Job, answer: Answer) -> None:
    """The whole answer: the verdict, what the pour shows, the findings, what may stay, what was recorded."""
    out = console()
    out.print(room_title(job, answer))
    if answer.water is None:
        out.print(refusal(answer))
        return
    water = answer.water
    print_headline(out, water_headline(water))
    out.print(Text(expected(water)))
    out.print()
    out.print(_answers(water))
    out.print()
    out.print(findings_table(water.findings))
    ask = next_reading(job, water.next_reading)
    for part in (*advice(water.findings), *ask, *_hang(water), *_tests(water), *not_used(water.rejected)):
        out.print(part)
    for remark in remarks(water):
        out.print(Text(remark, "dim"))
    used = f"{water.used} readings used, water run on {water.samples} floors drawn from what they leave open."
    out.print(Text(used, "dim"))


def _answers(water: Water) -> RenderableType:
    rows = table("what the water does", "likeliest", "95 %")
    for one in answered(water):
        told = one.spread
        what = Text(one.what).append(f" {one.aside}" if one.aside else "", "dim")
        rows.add_row(what, _both(told.trade, told.si), _both(told.band, told.band_si))
    return rows


def _both(trade: str, si: str) -> Text:
    return Text(trade).append(f"  {si}" if si else "", "dim")


def _hang(water: Water) -> list[RenderableType]:
    rule = [item(f"{number}. {step}") for number, step in enumerate(hang_rule(water.hang), 1)]
    return [Text("\nWhat may stay", "bold"), item(hang_says(water.hang)), *rule]


def _tests(water: Water) -> list[RenderableType]:
    if not water.seen:
        return [Text("\nNo water test is recorded: all of this is computed from the readings alone.", "bold")]
    parts: list[RenderableType] = []
    for number, told in enumerate(recorded(water), 1):
        when = f", {told.when}" if told.when else ""
        parts += [Text(f"\nRecorded test {number}{when}", "bold"), *(item(line) for line in _lines(told))]
    return parts


def _lines(told: Recorded) -> list[str]:
    """A recorded test line by line; what nobody wrote down has none."""
    photo = f"Photograph: {told.photo}" if told.photo else ""
    measured = f"Measured: {told.measured}." if told.measured else ""
    note = f"Note: {told.note}" if told.note else ""
    lines = (
        f"{told.poured}; {told.soap}.",
        f"Drained: {told.drained}; {told.computed}.",
        f"Puddles: {told.looked}.",
        *(f"  seen {number}: {where}" for number, where in told.puddles),
        f"{told.agrees.capitalize()}. {told.says}".rstrip(),
        f"Why: {'; '.join(told.causes)}." if told.causes else "",
        told.tell,
        measured,
        note,
        photo,
    )
    return [line for line in lines if line]
