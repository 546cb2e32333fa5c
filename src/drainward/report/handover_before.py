"""What was known of a room before its unit was set, as pages of its handover.

Before, before_stages   the stages survey, dry set, set and way in of one room, and what was measured
before_pages            what the layout shows of them (handover_before.typ)
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np

from drainward.bed.result import BedPlan
from drainward.bed.stage import bed_stage
from drainward.errors import InputError, StageError
from drainward.finding import Finding, Verdict
from drainward.floor.stage import unit_of
from drainward.job.model import Job, Measure, Received, Size, UnitModel, What
from drainward.job.received_file import sheet_size
from drainward.pocket.adjust import Adjusted
from drainward.pocket.ask import place_words
from drainward.pocket.place import Bind, Placement, at_words
from drainward.pocket.receive import receive_findings
from drainward.pocket.setout import Blocking
from drainward.pocket.shape import Pocket
from drainward.pocket.stage import DrySet, SetOut, Survey, dry_set_stage, set_stage, survey_stage
from drainward.quantity import INCH, format_length, format_mass
from drainward.report.bed_svg import bed_svg
from drainward.report.bed_words import BATCH_HEAD, batch_rows, bed_cautions, mix_lines, pour_lines
from drainward.report.cautions import before_cautions, storage_lines
from drainward.report.handover_water import Photo
from drainward.report.pocket_picture import placement_picture
from drainward.report.pocket_svg import placement_svg
from drainward.report.pocket_words import (
    before_headline,
    blunder_lines,
    measure_words,
    mend_sentence,
    place_lines,
    refused_lines,
    shims,
)
from drainward.report.setout_svg import elevations, setout_svg
from drainward.report.wayin_svg import wayin_svg
from drainward.report.words import Headline, chance, place, sentence, shown, tool_name
from drainward.wayin.lift import lifting_words
from drainward.wayin.plan import Plan
from drainward.wayin.result import WayIn
from drainward.wayin.stage import way_in_stage

__all__ = ["Before", "before_pages", "before_stages"]

Stage = TypeVar("Stage")
Rows = Callable[[Sequence[Finding]], list[dict[str, str]]]
"""Findings as the layout's tables show them."""

_LBF = 4.4482216152605
_SIXTEENTH = INCH / 16
_NONE = 1e-6
_ON_WALL = (What.STUD, What.BLOCKING)


@dataclass(frozen=True, slots=True, eq=False)
class Before:
    """One room before its unit was set; a stage that was not asked for or has no answer is None.

    measures, received : of this room alone;  plan : of its storey, where the job has one that leads to the room
    refused : stage and why it has no answer
    """

    measures: tuple[Measure, ...]
    received: tuple[Received, ...]
    plan: Plan | None
    survey: Survey | None
    dry_set: DrySet | None
    bed: BedPlan | None
    set_out: SetOut | None
    way_in: WayIn | None
    refused: tuple[tuple[str, str], ...]

    @property
    def headline(self) -> Headline:
        """Of the survey, or else of what there is."""
        if self.survey is not None:
            said = before_headline(self.survey)
            return replace(said, says=self.survey.says, todo=said.says)
        if self.way_in is not None:
            said = before_headline(self.way_in)
            return replace(said, says=f"The way in. {said.says}")
        return Headline(Verdict.NOT_PROVEN, "The pocket was not surveyed.", "")

    def as_json(self) -> dict[str, Any]:
        """The objects of the stages that have an answer, by stage."""
        stages = (self.survey, self.way_in, self.dry_set, self.bed, self.set_out)
        return {stage.stage: stage.as_json() for stage in stages if stage is not None}


def before_stages(job: Job, room: str, plan: Plan | None = None) -> Before | None:
    """The stages of one room out of what the job holds of it; None where nobody measured its pocket or its unit and no
    plan leads to it.

    plan : of the room's storey. A stage that refuses says why in its place and keeps nothing of the rest away.
    Raises StageError where the job has no such room or the room no unit model.
    """
    unit_of(job, room)
    measures = tuple(measure for measure in job.survey if measure.room == room)
    received = tuple(row for row in job.received if row.room == room)
    led = plan if plan is not None and plan.goal(room) is not None else None
    if not (measures or received or led):
        return None
    refused: list[tuple[str, str]] = []

    def asked(stage: str, compute: Callable[[], Stage], asks: object) -> Stage | None:
        if not asks:
            return None
        try:
            return compute()
        except (StageError, InputError, ValueError) as error:
            refused.append((stage, str(error)))
            return None

    return Before(
        measures,
        received,
        led,
        survey=asked("survey", lambda: survey_stage(job, room), measures),
        dry_set=asked("dry set", lambda: dry_set_stage(job, room), measures),
        bed=asked("bed", lambda: bed_stage(job, room), measures and unit_of(job, room).style == "bedded"),
        set_out=asked("set", lambda: set_stage(job, room), measures),
        way_in=asked("way in", lambda: way_in_stage(job, room, led), led) if led is not None else None,
        refused=tuple(refused),
    )


def before_pages(
    job: Job, unit: UnitModel, before: Before, width: float, photos: Sequence[Photo | None], rows: Rows
) -> dict[str, Any]:
    """Words, pictures and tables of every stage; a stage without an answer is None.

    unit : as its sheet has it;  width : of the pictures, mm
    photos : one for each row of `before.received` in their order, None for a row without
    """
    survey, dry, way, out = before.survey, before.dry_set, before.way_in, before.set_out
    return {
        **_said(before.headline),
        "refused": [sentence(f"{stage}: {why}") for stage, why in before.refused],
        "survey": None if survey is None else _survey(job, before, survey, width, rows),
        "received": _received(job, unit, before.received, photos, rows) if before.received else None,
        "way": None if way is None or before.plan is None else _way_in(way, before.plan, rows),
        "dry": None if dry is None else _dry_set(dry, rows),
        "bed": None if before.bed is None else _bed(before.bed, width, rows),
        "set": None if out is None else _set_out(out, rows),
        "cautions": before_cautions(unit),
    }


def _said(headline: Headline) -> dict[str, str]:
    return {"verdict": str(headline.verdict), "says": headline.says, "todo": headline.todo}


def _survey(job: Job, before: Before, survey: Survey, width: float, rows: Rows) -> dict[str, Any]:
    """The dry set has the findings of the pocket itself; here stand those of the room."""
    adjusted = survey.adjusted
    elsewhere = {finding.id for finding in before.dry_set.findings} if before.dry_set is not None else set()
    told = [f for f in survey.findings if f.id not in elsewhere and not f.id.startswith("receive/")]
    aside = len(adjusted.blunders) + sum(len(blunder.rivals) for blunder in adjusted.blunders)
    return {
        "picture": placement_svg(placement_picture(survey.unit, adjusted.pocket, survey.placed, survey.goes_in), width),
        "basis": f"{len(before.measures)} measures, {aside} set aside because the others contradict them, "
        f"{len(adjusted.refused)} outside the pocket; adjusted together by least squares. The unit goes in with a "
        f"chance of {chance(survey.drawn.goes_in)}, over {len(survey.drawn.room)} pockets that the survey allows.",
        "next": "" if adjusted.asked is None else f"{measure_words(adjusted.asked)} {adjusted.asked.why}",
        "findings": rows([f for f in told if f.value is not None]),
        "open": [f.what for f in told if f.value is None],
        "units": [
            {
                "name": choice.unit.name,
                "fits": str(choice.fits),
                "rules": str(choice.rules),
                "against": "; ".join(dict.fromkeys(f.what for f in choice.against if f.verdict is Verdict.FAILS)),
            }
            for choice in survey.units
        ],
        "measures": _measures(job, adjusted, before.measures),
        "files": ", ".join(dict.fromkeys(m.file for m in before.measures if m.file)),
        "wrong": _wrong(adjusted, before.measures),
    }


def _measures(job: Job, adjusted: Adjusted, measures: Sequence[Measure]) -> list[dict[str, str]]:
    """What each measure says beside what all together say; one that is a place of wood has nothing beside it."""
    residual = {one.measure.id: one for one in adjusted.residuals}
    wrong = {blunder.measure.id: blunder for blunder in adjusted.blunders}
    aside = {rival.id for blunder in adjusted.blunders for rival in blunder.rivals}
    aside |= {refused.measure.id for refused in adjusted.refused}
    table = []
    for number, measure in enumerate(measures, 1):
        off, times, checked = "", "", ""
        if measure.id in wrong:
            off, times = _signed(wrong[measure.id].off), f"{abs(wrong[measure.id].normalised):.1f}"
        elif measure.id in residual:
            one = residual[measure.id]
            off, times, checked = _signed(one.off), f"{abs(one.normalised):.1f}", f"{100 * one.redundancy:.0f} %"
        value = shown(measure.value, measure.u, "m")
        table.append(
            {
                "number": str(number),
                "what": place_words(measure) + (f", {measure.wall} wall" if measure.what in _ON_WALL else ""),
                "written": measure.written or value.trade,
                "si": value.si,
                "off": off,
                "times": times,
                "checked": checked,
                "tool": tool_name(job, measure.instrument),
                "line": "" if measure.line is None else str(measure.line),
                "when": "" if measure.when is None else measure.when.strftime("%Y-%m-%d %H:%M"),
                "who": measure.who,
                "aside": "yes" if measure.id in wrong or measure.id in aside else "",
            }
        )
    return table


def _wrong(adjusted: Adjusted, measures: Sequence[Measure]) -> list[str]:
    """Every measure that was not used, and why, by its number in the table."""
    number = {measure.id: k for k, measure in enumerate(measures, 1)}
    words = [
        f"No. {number[blunder.measure.id]}: {told}"
        for blunder, told in zip(adjusted.blunders, blunder_lines(adjusted.blunders), strict=True)
    ]
    return words + [
        f"No. {number[one.measure.id]}: {told}"
        for one, told in zip(adjusted.refused, refused_lines(adjusted), strict=True)
    ]


def _received(
    job: Job, unit: UnitModel, received: Sequence[Received], photos: Sequence[Photo | None], rows: Rows
) -> dict[str, Any]:
    table = []
    for row, photo in zip(received, photos, strict=True):
        damage = row.what is Size.DAMAGE
        words = (row.written or "not described") if row.value else "none seen"
        table.append(
            {
                "what": str(row.what),
                "written": words if damage else row.written or format_length(row.value),
                "si": "" if damage else shown(row.value, row.u, "m").si,
                "sheet": "" if damage else format_length(sheet_size(unit, row.what)),
                "tool": tool_name(job, row.instrument),
                "line": "" if row.line is None else str(row.line),
                "when": "" if row.when is None else row.when.strftime("%Y-%m-%d %H:%M"),
                "who": row.who,
                "note": row.note,
                "photo": photo.file if photo is not None else "",
                "photo_says": photo.says if photo is not None else "",
            }
        )
    return {
        "rows": table,
        "files": ", ".join(dict.fromkeys(row.file for row in received if row.file)),
        "findings": rows(receive_findings(unit, received, job.risk)),
        "storage": storage_lines(unit),
    }


def _dry_set(dry: DrySet, rows: Rows) -> dict[str, Any]:
    pocket, placed = dry.adjusted.pocket, dry.placed
    said, mend = before_headline(dry), mend_sentence(dry)
    behind = shims(pocket, placed)
    widest = max((shim.u for shim in placed.shims), default=0.0)
    return {
        **_said(said),
        "findings": rows(dry.findings),
        "heights": list(behind.heights),
        "shims": [
            {"stud": f"{wall} wall", "at": stud, "cells": list(thickness)} for wall, stud, thickness in behind.rows
        ],
        "doubt": f"Standard uncertainty of a shim up to {format_length(widest, denominator=64)}.",
        "told": [*([mend] if mend not in said.todo else []), *place_lines(placed)],
        "binding": [_bind_words(pocket, bind) for bind in placed.binding],
        "slab": _slab_words(pocket, placed),
    }


def _bind_words(pocket: Pocket, bind: Bind) -> str:
    """What a change of whatever holds the unit gains."""
    name = {"core": "the core", "line": "the threshold's line"}.get(bind.what) or at_words(pocket, bind.index)
    verb = {"core": "widened all round", "line": "let off"}.get(bind.what, "planed" if bind.touches else "furred out")
    if not np.isfinite(bind.up_to):
        share = f'each 1/16" {verb} gives {bind.gain:.2f} of it in room'
        return f"{name}: {share}"
    gain = f'each 1/16" {verb} takes {bind.gain:.2f} of it off the largest shim'
    return f"{name}: {gain}, up to {format_length(bind.up_to, denominator=32)}"


def _slab_words(pocket: Pocket, placed: Placement) -> list[str]:
    """Every spot of the slab to grind or to build up, the most first."""
    told = placed.heights
    found = [
        (float(much), verb, int(spot))
        for j, spot in enumerate(told.spot)
        for much, verb in ((told.grind[j], "grind"), (told.fill[j], "build up"))
        if much > _NONE
    ]
    return [
        f"{verb} {format_length(much, denominator=32)} at {place(float(pocket.slab_x[k]), float(pocket.slab_y[k]))}"
        for much, verb, k in sorted(found, reverse=True)
    ]


def _way_in(way: WayIn, plan: Plan, rows: Rows) -> dict[str, Any]:
    return {
        **_said(before_headline(way)),
        "findings": rows(way.findings),
        "carries": [
            {
                "how": carry.how,
                "box": " × ".join(format_length(side) for side in (carry.length, carry.width, carry.height)),
                "low": format_length(carry.low, denominator=32),
                "high": format_length(carry.high, denominator=32),
                "where": " and ".join(carry.touches[:2]),
            }
            for carry in way.carries
        ],
        "picture": wayin_svg(way, plan),
        "steps": [step.says for step in way.steps],
        "changes": [
            f"{change.what}, {change.how}: {format_length(change.clearance)} is left" for change in way.changes
        ],
        "lift": f"The unit weighs {format_mass(way.mass)}: {lifting_words(way.liftings)}.",
        "ruled_out": [f"Not {why}." for why in way.ruled_out],
        "cautions": list(way.cautions),
    }


def _bed(plan: BedPlan, width: float, rows: Rows) -> dict[str, Any]:
    return {
        **_said(before_headline(plan)),
        "picture": bed_svg(plan, width),
        "mix": mix_lines(plan),
        "head": BATCH_HEAD,
        "batches": batch_rows(plan),
        "pour": pour_lines(plan),
        "assumed": plan.assumed,
        "cautions": bed_cautions(),
        "findings": rows(plan.findings),
    }


def _set_out(out: SetOut, rows: Rows) -> dict[str, Any]:
    walls = elevations(out)
    pieces = [piece for layout in out.layouts for piece in layout.add]
    pieces += [piece for backing in out.backings for piece in backing.add]
    return {
        **_said(before_headline(out)),
        "picture": setout_svg(walls) if walls else "",
        "findings": rows(out.findings),
        "cut": _cut_list(pieces),
        "screws": [
            {
                "use": line.use,
                "screw": line.screw.words,
                "count": str(line.count),
                "widest": format_length(layout.widest),
                "each": f"{line.each / _LBF:.0f} lbf ({line.each:.0f} N)",
            }
            for line, layout in zip(out.screws, out.layouts, strict=True)
        ],
        "total": f"{sum(line.count for line in out.screws)} screws",
        "before": [f"{sentence(one.what)[:-1]}: before {one.before}, since {one.why}." for one in out.before],
    }


def _cut_list(pieces: Sequence[Blocking]) -> str:
    """How many of each length, the longest first; a piece that stands is as long as it is high."""
    sixteenths = Counter(round(_long(piece) / _SIXTEENTH) for piece in pieces)
    return ", ".join(f"{sixteenths[k]} of {format_length(k * _SIXTEENTH)}" for k in sorted(sixteenths, reverse=True))


def _long(piece: Blocking) -> float:
    return max(piece.length, piece.top - piece.bottom)


def _signed(metres: float) -> str:
    """A difference of tape readings, to 1/32 in."""
    words = format_length(abs(metres), denominator=32)
    return words if words.startswith("0") else f"{'+' if metres > 0 else '-'}{words}"
