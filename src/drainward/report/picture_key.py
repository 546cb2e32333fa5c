"""The key under a picture: only what the picture shows, in rows as wide as the sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from textwrap import wrap

from drainward.report.ink import GREY, INK, WARN, WATER, Sheet, text
from drainward.report.labels import text_width
from drainward.report.marks import mark_svg, spot_svg
from drainward.report.picture import Mark, Picture, Spot, inches

__all__ = ["key_height", "key_svg", "reaches_out"]

Swatch = Callable[[float, float], str]
"""Draws a sample whose middle left is at (x, y), SWATCH wide, mm."""

SWATCH, GAP, SIZE = 9.0, 1.2, 2.4
LINE, BETWEEN = 3.2, 1.2
"""Height of a line of words and the space between rows, mm."""

WORDS = {
    "height": "spot height",
    "wedge": "level and wedge, wedge at the ring",
    "slope": "slope, read along the arrow",
    "chord": "straightedge",
    "tap": "tap",
    "press": "press",
}


@dataclass(frozen=True, slots=True)
class _Entry:
    """A sample at (left, top) in the key, mm, and its words broken into lines."""

    swatch: Swatch
    lines: tuple[str, ...]
    left: float
    top: float


def key_height(picture: Picture, width: float, show: str) -> float:
    """Height that `key_svg` needs, mm."""
    return BETWEEN + max(
        (entry.top + LINE * len(entry.lines) + BETWEEN for entry in _entries(picture, width, show)), default=0.0
    )


def key_svg(picture: Picture, left: float, top: float, width: float, show: str) -> list[str]:
    """A sample and its meaning for each kind of mark in the picture, mm."""
    drawn = []
    for entry in _entries(picture, width, show):
        x, y = left + entry.left, top + entry.top + LINE / 2
        drawn.append(entry.swatch(x, y))
        drawn += [text(x + SWATCH + GAP, y + 0.85 + k * LINE, words, SIZE, INK) for k, words in enumerate(entry.lines)]
    return drawn


def _entries(picture: Picture, width: float, show: str) -> list[_Entry]:
    """Side by side while there is room, else in the next row; words too long for a row are broken."""
    fits = max(8, int((width - SWATCH - GAP) / text_width("x", SIZE)))
    entries: list[_Entry] = []
    left, top, high = 0.0, 0.0, 0
    for swatch, words in _items(picture, show):
        lines = tuple(wrap(words, fits))
        wide = SWATCH + GAP + max(text_width(line, SIZE) for line in lines) + 3
        if left and left + wide > width:
            left, top, high = 0.0, top + LINE * high + BETWEEN, 0
        entries.append(_Entry(swatch, lines, left, top))
        left, high = left + wide, max(high, len(lines))
    return entries


def _items(picture: Picture, show: str) -> list[tuple[Swatch, str]]:
    if show == "mortar":
        items = [(_hatched("take-out", WARN), "take mortar out"), (_hatched("put-in", WATER), "put mortar in")]
        return [item for item, do in zip(items, ("take", "put"), strict=True) if _any_bed(picture, do)]
    scale = picture.scale
    low, high = inches(scale.low), inches(scale.high)
    heights = f"height over the drain: {low} dark to {high} light, a line each {scale.step_label}"
    items = [(_ramp(picture), heights)]
    if any(pond.chance >= 0.5 for pond in picture.ponds):
        items.append((_hatched("likely", WATER), "water stands here, more likely than not"))
    if any(pond.chance < 0.5 for pond in picture.ponds):
        items.append((_hatched("possible", WATER, "1 0.7"), "may stand here: not excluded at 95 %"))
    if picture.high_spots:
        items.append((_high, "high spot under a straightedge"))
    kinds = dict.fromkeys(mark.kind for mark in picture.readings)
    items += [(_mark(Mark(kind, 0, 0, *_far(kind), "")), WORDS.get(kind, kind)) for kind in kinds]
    if reaches_out(picture):
        items.append((_nothing, "readings beyond the opening are drawn short"))
    if any(mark.rejected for mark in picture.readings):
        items.append((_mark(Mark("wedge", 0, 0, SWATCH, 0, "", rejected=True)), "reading not used"))
    return items


def _any_bed(picture: Picture, do: str) -> bool:
    return any(bed.do.startswith(do) for bed in picture.mortar)


def reaches_out(picture: Picture) -> bool:
    """Whether a reading, or the next one, lies on the threshold or outside."""
    marks = (*picture.readings, *(() if picture.next is None else (picture.next,)))
    return any(max(mark.y, mark.y2 or 0.0) > picture.depth + 1e-3 for mark in marks)


def _nothing(_x: float, _y: float) -> str:
    return ""


def _far(kind: str) -> tuple[float | None, float | None]:
    return (SWATCH, 0.0) if kind in ("wedge", "slope", "chord") else (None, None)


def _mark(mark: Mark) -> Swatch:
    def draw(x: float, y: float) -> str:
        shift = 0.0 if mark.x2 is not None else SWATCH / 2
        return mark_svg(mark, Sheet(x + shift, y, 1.0))

    return draw


def _high(x: float, y: float) -> str:
    return spot_svg(Spot("high spot", 0, 0, SWATCH, 0, ""), Sheet(x, y, 1.0))


def _hatched(pattern: str, colour: str, dashes: str = "") -> Swatch:
    def draw(x: float, y: float) -> str:
        return (
            f'<rect x="{x:.2f}" y="{y - 1.4:.2f}" width="{SWATCH}" height="2.8" fill="url(#{pattern})" '
            f'stroke="{colour}" stroke-width="0.35" stroke-dasharray="{dashes}"/>'
        )

    return draw


def _ramp(picture: Picture) -> Swatch:
    def draw(x: float, y: float) -> str:
        wide = SWATCH / len(picture.bands)
        return "".join(
            f'<rect x="{x + k * wide:.2f}" y="{y - 1.4:.2f}" width="{wide:.2f}" height="2.8" fill="{band.colour}" '
            f'stroke="{GREY}" stroke-width="0.1"/>'
            for k, band in enumerate(picture.bands)
        )

    return draw
