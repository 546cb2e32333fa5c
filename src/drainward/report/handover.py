"""The handover of one room as PDF: `handover_pdf`. Layout stands in handover.typ; words and numbers come from here,
those of the water test from `handover_water`. Of a floor that nobody read yet it says `NOT_YET`.

Identical inputs give identical bytes: no clock, one font shipped beside this file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drainward.finding import Finding, Verdict
from drainward.floor.film.result import Water
from drainward.floor.result import Draft, Mend
from drainward.job.model import Job, Reading, ReadingKind, Room, UnitModel
from drainward.quantity import format_length
from drainward.report.cautions import CERTAINTIES, cautions, water_cautions
from drainward.report.digest import inputs_digest
from drainward.report.handover_water import Photo, Photos, fetch_photo, fetch_photos, water_page
from drainward.report.picture import Picture, floor_picture
from drainward.report.picture_svg import picture_svg
from drainward.report.press import print_pdf, printable
from drainward.report.words import (
    Headline,
    band,
    chance,
    found,
    headline,
    mortar_words,
    place,
    reading_words,
    sentence,
    shim_words,
    shown,
    tool_name,
)

if TYPE_CHECKING:
    from drainward.report.handover_before import Before
    from drainward.report.handover_hold import Hold

__all__ = ["NOT_YET", "handover_pdf"]

HERE = Path(__file__).parent
TEXT_WIDTH, FLOOR_HEIGHT, MEND_HEIGHT, WATER_HEIGHT = 181.0, 118.0, 72.0, 68.0
"""Room for the drawings on letter paper, mm."""
NOT_YET = "Not yet: nobody read this floor."
"""The headline of a room whose unit is not set, or not read."""


def handover_pdf(
    job: Job,
    room: Room,
    draft: Draft,
    unit: UnitModel,
    readings: Sequence[Reading],
    water: Water | None = None,
    photos: Photos | None = None,
    before: Before | None = None,
    hold: Hold | None = None,
) -> bytes:
    """The evidence of one room: verdict, map, findings with sources, readings, mend, water test, cautions. Letter size.

    readings : those of the room that went into the draft, in the order of the record; the table numbers them so, and
    the map shows the same numbers
    water : the room's water test, a page of its own;  photos : where the photographs of tests and damage are had
    before : the room before its unit was set, pages of their own
    hold : what holds the unit and the clock of its bed as it stood then, a page of its own
    Where nobody read the floor yet, it says so and shows no map of it.
    """
    picture = floor_picture(draft, unit, tuple(readings))
    if not readings:
        # What a draft makes of no reading at all is what was thought beforehand: no finding of this floor.
        draft = replace(draft, verdict=Verdict.NOT_PROVEN, findings=(), mend=None, next_reading=None)
    tests = None if water is None else [seen.test for seen in water.seen]
    shots = () if water is None else fetch_photos(water, photos, printable)
    measures, received, plan = ((), (), None) if before is None else (before.measures, before.received, before.plan)
    done = ((), None) if hold is None else (hold.setting, hold.at)
    damage = tuple(
        fetch_photo(row.photo, f"received-{k}", photos, printable) if row.photo else None
        for k, row in enumerate(received, 1)
    )
    data = {
        **_head(job, room, draft, unit, bool(readings)),
        "digest": inputs_digest(job, room, unit, readings, tests, measures, received, plan, *done),
        "picture": picture_svg(picture, _width(picture, FLOOR_HEIGHT)) if readings else "",
        "findings": _findings(draft.findings),
        "files": ", ".join(dict.fromkeys(reading.file for reading in readings if reading.file)),
        "readings": [_reading(job, draft, number, reading) for number, reading in enumerate(readings, 1)],
        "next": _next(job, draft),
        "mend": None if draft.mend is None else _mend(draft.mend, picture),
        "water": None
        if water is None
        else water_page(water, unit, _width(picture, WATER_HEIGHT), shots, _findings(water.findings)),
        "before": None if before is None else _before(job, unit, before, damage),
        "hold": None if hold is None else _hold(job, unit, hold),
        "cautions": [words for words in cautions(job, unit) if water is None or words not in water_cautions(unit)],
        "certainties": list(CERTAINTIES.items()),
    }
    files = {shot.file: shot.data for shot in (*shots, *damage) if shot is not None and shot.file}
    return print_pdf("handover.typ", data, files)


def _head(job: Job, room: Room, draft: Draft, unit: UnitModel, read: bool) -> dict[str, Any]:
    said = headline(draft) if read else Headline(draft.verdict, NOT_YET, "")
    size = f"{format_length(unit.inside_width)} wide, {format_length(unit.inside_depth)} deep inside"
    drain = f"drain {place(unit.drain.x, unit.drain.y)}"
    rules = ", ".join(job.rules.use) or "none"
    return {
        "job": job.name,
        "room": room.room,
        "floor": room.floor,
        "unit": f"{unit.name} ({unit.id}): {size}; {unit.style}; {drain}",
        "verdict": str(said.verdict),
        "says": said.says,
        "todo": said.todo,
        "basis": f"Rule sets: {rules}. Falls are judged over {format_length(draft.base)}. A verdict is given at "
        f"{1 - job.risk:.0%} probability, else it stays not proven."
        + (
            f" {draft.used} readings used, {len(draft.rejected)} not used; {draft.samples} floors drawn from what the "
            "readings leave open."
            if read
            else ""
        ),
    }


def _before(job: Job, unit: UnitModel, before: Before, damage: Sequence[Photo | None]) -> dict[str, Any]:
    from drainward.report.handover_before import before_pages  # with the compiled solvers, for these pages alone

    return before_pages(job, unit, before, TEXT_WIDTH, damage, _findings)


def _hold(job: Job, unit: UnitModel, hold: Hold) -> dict[str, Any]:
    from drainward.report.handover_hold import hold_page  # as for those before

    return hold_page(job, unit, hold, _findings)


def _width(picture: Picture, height: float) -> float:
    """Width of the drawing, mm, so that the floor itself is no higher than `height` mm."""
    return min(TEXT_WIDTH, height * picture.width / picture.depth + 11)


def _findings(findings: Sequence[Finding]) -> list[dict[str, str]]:
    return [_finding(finding) for finding in findings]


def _finding(finding: Finding) -> dict[str, str]:
    value = found(finding)
    reach = band(finding.interval, finding.unit)
    return {
        "what": finding.what,
        "trade": value.trade,
        "si": value.si,
        "band": f"95 %: {reach}" if reach else "",
        "limit": finding.limit,
        "chance": "–" if finding.probability is None else chance(finding.probability),
        "verdict": str(finding.verdict),
        "source": finding.source,
        "advice": finding.advice,
    }


def _reading(job: Job, draft: Draft, number: int, reading: Reading) -> dict[str, str]:
    refused = {rejected.id: rejected.why for rejected in draft.rejected}
    unit = {ReadingKind.SLOPE: "ratio", ReadingKind.TAP: "", ReadingKind.PRESS: "m"}.get(reading.kind, "m")
    value = shown(reading.value, reading.u, unit)
    return {
        "number": str(number),
        "kind": str(reading.kind),
        "from": _point(reading.x, reading.y),
        "to": _point(reading.x2, reading.y2),
        "written": reading.written or value.trade,
        "si": value.si,
        "tool": tool_name(job, reading.instrument),
        "line": "" if reading.line is None else str(reading.line),
        "when": "" if reading.when is None else reading.when.strftime("%Y-%m-%d %H:%M"),
        "who": reading.who,
        "refused": refused.get(reading.id, ""),
    }


def _point(x: float | None, y: float | None) -> str:
    return "" if x is None or y is None else f"{format_length(x, 'in', 4)}, {format_length(y, 'in', 4)}"


def _next(job: Job, draft: Draft) -> dict[str, str] | None:
    ask = draft.next_reading
    if ask is None:
        return None
    how = reading_words(ask)
    return {
        "how": "" if how in headline(draft).todo else how,
        "tool": tool_name(job, ask.instrument),
        "why": sentence(ask.why),
    }


def _mend(mend: Mend, picture: Picture) -> dict[str, Any]:
    return {
        "says": mend.says,
        "shims": shim_words(mend.shims),
        "edges": [f"{edge.edge} edge {_direction(edge.move)}" for edge in mend.edges if round(edge.move / 0.0254 * 32)],
        "mortar": [mortar_words(mortar) for mortar in mend.mortar],
        "before": chance(mend.probability_before),
        "after": chance(mend.probability),
        "picture": picture_svg(picture, _width(picture, MEND_HEIGHT), "mortar") if picture.mortar else "",
    }


def _direction(move: float) -> str:
    return f"{'up' if move > 0 else 'down'} {format_length(abs(move), 'in', 32)}"
