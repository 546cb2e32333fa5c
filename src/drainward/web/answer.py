"""A draft made ready for the page's templates: `answer`, plain words and numbers only.

Card, ReadingRow, NumberTable     a finding, a reading, and the floor's heights on a coarse grid
card, likelihood                  one finding; a probability in words
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding
from drainward.floor.result import Draft, Mend
from drainward.job.model import Instrument, Reading, ReadingKind
from drainward.quantity import format_length, format_slope, format_volume
from drainward.report.cautions import CERTAINTIES
from drainward.report.picture import inches
from drainward.report.words import Shown, band, chance, found, headline, place, reading_words, shown

__all__ = ["Card", "NumberTable", "ReadingRow", "answer", "card", "likelihood", "reading_rows"]

_STEP = 6 * 0.0254
"""Spacing of the table of heights, m: a hand's width, as the plan's rulers."""


@dataclass(frozen=True, slots=True)
class Card:
    """A finding as it is shown; `certainty` says what the word behind its source means."""

    finding: Finding
    shown: Shown
    band: str
    chance: str
    certainty: str


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading as it is listed; `why` says why it was not used."""

    number: int
    id: str
    kind: str
    value: str
    si: str
    where: str
    instrument: str
    who: str
    when: str
    note: str
    why: str


@dataclass(frozen=True, slots=True)
class NumberTable:
    """Heights over the drain on a grid of 6 in: column heads, then a head and its cells for each row."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


def answer(draft: Draft, readings: tuple[Reading, ...], instruments: dict[str, Instrument]) -> dict[str, Any]:
    """What the templates of a room need of its draft."""
    why = {rejected.id: rejected.why for rejected in draft.rejected}
    return {
        "headline": headline(draft),
        "cards": [card(finding) for finding in draft.findings],
        "next": None if draft.next_reading is None else _next(draft, instruments),
        "mend": None if draft.mend is None else _mend(draft.mend),
        "ponds": [
            (place(p.x, p.y), shown(p.depth, None, "m"), format_volume(p.volume), format_volume(p.volume, "L"),
             chance(p.probability))
            for p in draft.ponds
        ],
        "high_spots": [
            (place((s.x + s.x2) / 2, (s.y + s.y2) / 2), shown(s.height, s.u, "m"), chance(s.probability))
            for s in draft.high_spots
        ],
        "readings": reading_rows(readings, why, instruments),
        "used": draft.used,
        "numbers": number_table(draft),
        "samples": draft.samples,
    }  # fmt: skip


def card(finding: Finding) -> Card:
    """A finding's value in trade units and SI, its band, its chance in words."""
    return Card(
        finding,
        found(finding),
        band(finding.interval, finding.unit),
        likelihood(finding.probability),
        next((says for word, says in CERTAINTIES.items() if f"({word})" in finding.source), ""),
    )


def likelihood(probability: float | None) -> str:
    """The probability of conforming in words, with its number."""
    if probability is None or not math.isfinite(probability):
        return "not known"
    words = (
        (0.95, "very likely within the limit"),
        (0.75, "likely within the limit"),
        (0.25, "could go either way"),
        (0.05, "likely outside the limit"),
    )
    word = next((word for least, word in words if probability >= least), "very likely outside the limit")
    return f"{word}: {chance(probability)}"


def _next(draft: Draft, instruments: dict[str, Instrument]) -> dict[str, str]:
    ask = draft.next_reading
    assert ask is not None
    known = instruments.get(ask.instrument)
    return {"how": reading_words(ask), "with": known.name if known else ask.instrument, "why": ask.why}


def _mend(mend: Mend) -> dict[str, Any]:
    return {
        "says": mend.says,
        "moves": any(edge.move for edge in mend.edges) or any(shim.sixteenths for shim in mend.shims),
        "edges": [(e.edge, "raise" if e.move > 0 else "press down", shown(abs(e.move), None, "m")) for e in mend.edges],
        "shims": [
            (s.corner, "raise" if s.sixteenths > 0 else "press down", inches(abs(s.sixteenths) * 0.0254 / 16))
            for s in mend.shims
            if s.sixteenths
        ],
        "before": chance(mend.probability_before),
        "after": chance(mend.probability),
        "mortar": [
            (m.do, place(m.x, m.y), shown(abs(m.depth), None, "m"), shown(m.area, None, "m2"),
             format_volume(abs(m.volume)), format_volume(abs(m.volume), "L"))
            for m in mend.mortar
        ],
    }  # fmt: skip


def reading_rows(
    readings: tuple[Reading, ...], why: dict[str, str], instruments: dict[str, Instrument]
) -> list[ReadingRow]:
    """The readings in the order of the plan's numbers."""
    return [
        ReadingRow(
            number=number,
            id=reading.id,
            kind=str(reading.kind),
            value=reading.written or _written(reading),
            si=_si(reading),
            where=place(reading.x, reading.y)
            + ("" if reading.x2 is None or reading.y2 is None else f" → {place(reading.x2, reading.y2)}"),
            instrument=instruments[reading.instrument].name if reading.instrument in instruments else "",
            who=reading.who,
            when="" if reading.when is None else f"{reading.when:%Y-%m-%d %H:%M}",
            note=reading.note,
            why=why.get(reading.id, ""),
        )
        for number, reading in enumerate(readings, 1)
    ]


def _written(reading: Reading) -> str:
    if reading.kind is ReadingKind.SLOPE:
        return format_slope(reading.value)
    if reading.kind is ReadingKind.TAP:
        return "sound" if reading.value >= 0.5 else "hollow"
    return format_length(reading.value, "in", 32)


def _si(reading: Reading) -> str:
    if reading.kind is ReadingKind.TAP:
        return ""
    if reading.kind is ReadingKind.SLOPE:
        return f"{reading.value * 100:.2f} ± {reading.u * 100:.2f} %"
    return f"{reading.value * 1000:.1f} ± {reading.u * 1000:.1f} mm"


def number_table(draft: Draft) -> NumberTable:
    """The expected heights and their standard uncertainties near the nodes of a grid of 6 in."""
    floor = draft.map
    columns, rows = _nearest(floor.x), _nearest(floor.y)
    heads = tuple(format_length(float(floor.x[c]), "in", 4) for c in columns)
    cells = tuple(
        (
            format_length(float(floor.y[r]), "in", 4),
            tuple(f"{inches(float(floor.mean[r, c]))} ± {floor.sd[r, c] / 0.0254:.2f}" for c in columns),
        )
        for r in rows
    )
    return NumberTable(heads, cells)


def _nearest(axis: NDArray[np.float64]) -> list[int]:
    wanted = np.arange(0.0, float(axis[-1]) + _STEP / 2, _STEP)
    return [int(np.argmin(np.abs(axis - place))) for place in wanted]
