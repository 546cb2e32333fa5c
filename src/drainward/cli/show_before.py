"""A room before its unit is set, for a person at a terminal: `one_room`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from drainward.bed.result import BedPlan
from drainward.cli.compute import Answer
from drainward.cli.show import (
    advice,
    console,
    findings_table,
    item,
    print_headline,
    refusal,
    room_title,
    table,
    verdict_text,
)
from drainward.finding import Finding, Verdict
from drainward.job.model import Job
from drainward.pocket.adjust import Adjusted
from drainward.pocket.setout import Layout
from drainward.pocket.stage import DrySet, SetOut, Survey
from drainward.quantity import format_length, format_mass
from drainward.report.bed_words import BATCH_HEAD, batch_rows, bed_cautions, mix_lines, pour_lines
from drainward.report.cautions import storage_lines
from drainward.report.pocket_words import (
    before_headline,
    blunder_lines,
    board_place,
    measure_words,
    mend_sentence,
    place_lines,
    refused_lines,
    shims,
    zone_place,
)
from drainward.wayin.lift import lifting_words
from drainward.wayin.result import Carry, WayIn
from drainward.wayin.steps import at_least

__all__ = ["one_room"]

_LBF = 4.4482216152605


def one_room(job: Job, answer: Answer) -> None:
    """The whole answer: the verdict, what to do, the findings, and what the stage has beside them."""
    out = console()
    out.print(room_title(job, answer))
    found = answer.before
    if found is None:
        out.print(refusal(answer))
        return
    if isinstance(found, Survey):
        out.print(Text(found.says, "bold"))
    said = before_headline(found)
    # What to do has its own sections where the pocket was surveyed.
    print_headline(out, replace(said, todo="") if isinstance(found, Survey | DrySet) else said)
    _SECTIONS[type(found)](out, found)


def _survey(out: Console, survey: Survey) -> None:
    told = survey.findings[0].verdict is Verdict.FAILS
    _print(out, [] if told else _mend(survey), _next(survey.adjusted), _findings(survey.findings, _in_pocket))
    _print(out, _units(survey), _wrong(survey.adjusted), _kept(survey), [_used(survey)])


def _dry_set(out: Console, dry: DrySet) -> None:
    lines = [item(line) for line in place_lines(dry.placed)]
    _print(out, _mend(dry), _next(dry.adjusted), _findings(dry.findings, _in_pocket), _shims(dry))
    _print(out, [Text("\nWhere it stands", "bold"), *lines] if lines else [], _wrong(dry.adjusted), [_used(dry)])


def _bed(out: Console, plan: BedPlan) -> None:
    batches = table(*BATCH_HEAD)
    for row in batch_rows(plan):
        batches.add_row(*map(Text, row))
    pour = [item(f"{number}. {words}") for number, words in enumerate(pour_lines(plan), 1)]
    _print(
        out,
        _findings(plan.findings, lambda finding: False),
        [Text("\nMix", "bold"), *map(item, mix_lines(plan))],
        [batches] if plan.batches is not None else [],
        [Text("\nWhere it goes, in this order", "bold"), *pour] if pour else [],
        [Text("\nTaken for granted", "bold"), *map(item, plan.assumed)] if plan.assumed else [],
        [Text("\nTake care", "bold"), *(item(words, "dim") for words in bed_cautions())],
    )


def _set_out(out: Console, answer: SetOut) -> None:
    _print(out, _findings(answer.findings, _on_wall), _holes(answer), _blocking(answer), _zones(answer), _order(answer))


def _way_in(out: Console, way: WayIn) -> None:
    steps = [item(f"{number}. {step.says}") for number, step in enumerate(way.steps, 1)]
    changes = [item(f"{c.what}, carried {c.how}: at least {at_least(c.clearance)} is left") for c in way.changes]
    lift = [item(f"{format_mass(way.mass)}: {lifting_words(way.liftings)}."), *(item(w, "dim") for w in way.cautions)]
    _print(
        out,
        _findings(way.findings, lambda finding: False),
        [Text("\nWays to carry it", "bold"), _carries(way.carries), *(item(f"Not {why}.") for why in way.ruled_out)],
        [Text(f"\n{'The way' if way.carries[0].open else 'The way that lacks least'}", "bold"), *steps]
        if steps
        else [],
        [Text("\nWhat would open a way", "bold"), *changes] if changes else [],
        [Text("\nThe lift", "bold"), *lift],
    )


_SECTIONS: dict[type, Callable[[Console, Any], None]] = {
    Survey: _survey,
    DrySet: _dry_set,
    BedPlan: _bed,
    SetOut: _set_out,
    WayIn: _way_in,
}


def _print(out: Console, *sections: Iterable[RenderableType]) -> None:
    for section in sections:
        for part in section:
            out.print(part)


def _findings(findings: Sequence[Finding], told: Callable[[Finding], bool]) -> list[RenderableType]:
    """What was measured in the table with what to do about it; below it in a line each what is still to measure.

    told : whether another section says what to do about a finding
    """
    known = [finding for finding in findings if finding.value is not None]
    unknown = [item(f"{f.what}, {f.limit}. {f.advice}") for f in findings if f.value is None]
    todo = advice([finding for finding in known if not told(finding)])
    parts: list[RenderableType] = [findings_table(known), *todo] if known else []
    return [*parts, Text("\nNot measured yet", "bold"), *unknown] if unknown else parts


def _in_pocket(finding: Finding) -> bool:
    return finding.id in ("pocket/goes-in", "survey/contradiction")


def _on_wall(finding: Finding) -> bool:
    return finding.verdict is Verdict.FAILS and "Add " in finding.advice


def _kept(survey: Survey) -> list[RenderableType]:
    """How to keep the unit, once somebody took it in."""
    if not any(finding.id.startswith("receive/") for finding in survey.findings):
        return []
    return [Text("\nUntil the unit is set", "bold"), *map(item, storage_lines(survey.unit))]


def _used(answer: Survey | DrySet) -> Text:
    used, drawn = len(answer.adjusted.residuals), len(answer.drawn.room)
    return Text(f"{used} measures used, {drawn} pockets drawn from what they leave open.", "dim")


def _mend(answer: Survey | DrySet) -> list[RenderableType]:
    words = mend_sentence(answer)
    return [Text("Mend as the pocket is believed", "bold"), item(words), Text()] if words else []


def _next(adjusted: Adjusted) -> list[RenderableType]:
    asked = adjusted.asked
    if asked is None:
        return []
    return [Text("Measure next", "bold"), item(f"{measure_words(asked)} {asked.why}"), Text()]


def _units(survey: Survey) -> list[RenderableType]:
    rows = table("unit model", "goes in", "rules", "against it")
    for choice in survey.units:
        names = [finding.what for finding in choice.against[:2]]
        more = len(choice.against) - len(names)
        against = "; ".join(names) + (f"; and {more} more" if more else "")
        cells = verdict_text(choice.fits), verdict_text(choice.rules), Text(against or "nothing")
        rows.add_row(Text(choice.unit.name), *cells)
    return [Text("\nWhich unit models would do here", "bold"), rows]


def _wrong(adjusted: Adjusted) -> list[RenderableType]:
    lines = (*blunder_lines(adjusted.blunders), *refused_lines(adjusted))
    return [Text("\nMeasures not used", "bold"), *map(item, lines)] if lines else []


def _shims(dry: DrySet) -> list[RenderableType]:
    told = shims(dry.adjusted.pocket, dry.placed)
    rows = table("wall", "stud", *told.heights)
    for wall, stud, thick in told.rows:
        rows.add_row(Text(wall), Text(stud), *map(Text, thick))
    return [Text("\nShims between flange and stud, to 1/16 in", "bold"), rows] if told.rows else []


def _holes(answer: SetOut) -> list[RenderableType]:
    if not answer.layouts:
        return []
    rows = table("flange", "holes at", "screws", "each holds")
    for layout, line in zip(answer.layouts, answer.screws, strict=True):
        screws = f"{line.count} of {line.screw.words}"
        rows.add_row(
            Text(layout.run.name), Text(_hole_places(layout)), Text(screws), Text(f"{line.each / _LBF:.0f} lb")
        )
    return [Text("\nHoles and screws", "bold"), rows]


def _hole_places(layout: Layout) -> str:
    """Running measures: along the wall on a level flange, heights on a standing one."""
    level = layout.run.way == "along"
    places = ", ".join(format_length(hole.at if level else hole.z) for hole in layout.holes)
    if not layout.holes:
        return "none"
    across = layout.holes[0].z if level else layout.holes[0].at
    side = "up" if level else "from the back"
    return f"{places} {'along' if level else 'up'}, {format_length(across)} {side}"


def _blocking(answer: SetOut) -> list[RenderableType]:
    added = [(layout.run.wall, piece, layout.run.name) for layout in answer.layouts for piece in layout.add]
    added += [(backing.zone.wall, piece, backing.zone.name) for backing in answer.backings for piece in backing.add]
    if not added:
        return []
    rows = table("wall", "length", "where", "for")
    for wall, piece, use in added:
        cut = max(piece.length, piece.top - piece.bottom)
        rows.add_row(*map(Text, (wall.name.lower(), format_length(cut), board_place(wall, piece), use)))
    return [Text("\nBlocking to add", "bold"), rows]


def _zones(answer: SetOut) -> list[RenderableType]:
    if not answer.zones:
        return []
    mounts = {
        (b.zone.kind, b.zone.wall): f"{b.count} of {b.screw.words}" for b in answer.backings if b.screw is not None
    }
    rows = table("what hangs there", "where", "screws of a mount", "in its way")
    for zone in answer.zones:
        hurdles = "; ".join(f"{c.why}: {c.do}" for c in answer.conflicts if c.zone == zone)
        screws = mounts.get((zone.kind, zone.wall), "")
        rows.add_row(*map(Text, (zone.name, zone_place(zone), screws, hurdles)))
    return [Text("\nZones", "bold"), rows]


def _order(answer: SetOut) -> list[RenderableType]:
    lines = [item(f"{one.what}: before {one.before}, since {one.why}") for one in answer.before]
    return [Text("\nIn this order", "bold"), *lines] if lines else []


def _carries(carries: Sequence[Carry]) -> Table:
    rows = table("how", "length x width x height", "clearance, proved", "tightest at")
    for carry in carries:
        size = " x ".join(format_length(side) for side in (carry.length, carry.width, carry.height))
        least, most = (format_length(end, denominator=64) for end in (carry.low, carry.high))
        rows.add_row(Text(carry.how), Text(size), Text(f"{least} to {most}"), Text(" and ".join(carry.touches[:2])))
    return rows
