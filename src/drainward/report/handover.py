"""The handover of one room as PDF: `handover_pdf`. Layout stands in handover.typ; words and numbers come from here.

Identical inputs give identical bytes: no clock, one font shipped beside this file.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, cast

from drainward.finding import Finding
from drainward.floor.result import Draft, Mend
from drainward.job.model import Job, Reading, ReadingKind, Room, UnitModel
from drainward.quantity import format_length
from drainward.report.cautions import CERTAINTIES, cautions
from drainward.report.digest import inputs_digest
from drainward.report.picture import Picture, floor_picture
from drainward.report.picture_svg import picture_svg
from drainward.report.words import (
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
    import typst

__all__ = ["handover_pdf"]

HERE = Path(__file__).parent
TEXT_WIDTH, FLOOR_HEIGHT, MEND_HEIGHT = 181.0, 118.0, 72.0
"""Room for the drawings on letter paper, mm."""


def handover_pdf(job: Job, room: Room, draft: Draft, unit: UnitModel, readings: Sequence[Reading]) -> bytes:
    """The evidence of one room: verdict, map, findings with sources, readings, mend, cautions. Letter size.

    readings : those of the room that went into the draft, in the order of the record; the table numbers them so, and
    the map shows the same numbers.
    """
    picture = floor_picture(draft, unit, tuple(readings))
    digest = inputs_digest(job, room, unit, readings)
    data = {
        **_head(job, room, draft, unit),
        "digest": digest,
        "picture": picture_svg(picture, _width(picture, FLOOR_HEIGHT)),
        "findings": [_finding(finding) for finding in draft.findings],
        "files": ", ".join(dict.fromkeys(reading.file for reading in readings if reading.file)),
        "readings": [_reading(job, draft, number, reading) for number, reading in enumerate(readings, 1)],
        "next": _next(job, draft),
        "mend": None if draft.mend is None else _mend(draft.mend, picture),
        "cautions": cautions(job, unit),
        "certainties": list(CERTAINTIES.items()),
    }
    compiler, turn = _press()
    with turn:
        pdf = compiler.compile(sys_inputs={"data": json.dumps(data, ensure_ascii=False)})
    return cast("bytes", pdf)  # a PDF is one file; only pages as pictures come as a list


@cache
def _press() -> tuple[typst.Compiler, Lock]:
    """One compiler for the process, since it reads font and layout but once; it prints for one thread at a time."""
    import typst

    return typst.Compiler(HERE / "handover.typ", font_paths=[HERE / "fonts"], ignore_system_fonts=True), Lock()


def _head(job: Job, room: Room, draft: Draft, unit: UnitModel) -> dict[str, Any]:
    said = headline(draft)
    size = f"{format_length(unit.inside_width)} wide, {format_length(unit.inside_depth)} deep inside"
    drain = f"drain {place(unit.drain.x, unit.drain.y)}"
    rules = ", ".join(job.rules.use) or "none"
    return {
        "job": job.name,
        "room": room.room,
        "floor": room.floor,
        "unit": f"{unit.name} ({unit.id}): {size}; {unit.style}; {drain}",
        "verdict": str(draft.verdict),
        "says": said.says,
        "todo": said.todo,
        "basis": f"Rule sets: {rules}. Falls are judged over {format_length(draft.base)}. A verdict is given at "
        f"{1 - job.risk:.0%} probability, else it stays not proven. {draft.used} readings used, {len(draft.rejected)} "
        f"not used; {draft.samples} floors drawn from what the readings leave open.",
    }


def _width(picture: Picture, height: float) -> float:
    """Width of the drawing, mm, so that the floor itself is no higher than `height` mm."""
    return min(TEXT_WIDTH, height * picture.width / picture.depth + 11)


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
