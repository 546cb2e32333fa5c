"""The key under a picture: only what the picture shows, in rows as wide as the sheet."""

from __future__ import annotations

from collections.abc import Callable

from drainward.report.ink import GREY, INK, WARN, WATER, Sheet, text
from drainward.report.labels import text_width
from drainward.report.marks import mark_svg, spot_svg
from drainward.report.picture import Mark, Picture, Spot, inches

__all__ = ["key_height", "key_svg"]

Swatch = Callable[[float, float], str]
"""Draws a sample whose middle left is at (x, y), SWATCH wide, mm."""

SWATCH, ROW, SIZE = 9.0, 4.4, 2.4

WORDS = {
    "height": "spot height",
    "wedge": "level and wedge, wedge at the ring",
    "slope": "slope, read along the arrow",
    "chord": "straightedge",
    "tap": "tap",
    "press": "press",
}


def key_height(picture: Picture, width: float, show: str) -> float:
    """Height that `key_svg` needs, mm."""
    return ROW * (1 + _rows(_items(picture, show), width)[1])


def key_svg(picture: Picture, left: float, top: float, width: float, show: str) -> list[str]:
    """The bar of one foot, then a sample and its meaning for each kind of mark in the picture; mm."""
    items = _items(picture, show)
    places, _ = _rows(items, width)
    drawn = []
    for (swatch, words), (x, row) in zip(items, places, strict=True):
        y = top + ROW * (row + 0.5)
        drawn.append(swatch(left + x, y) + text(left + x + SWATCH + 1.2, y + 0.85, words, SIZE, INK))
    return drawn


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
    if any(mark.rejected for mark in picture.readings):
        items.append((_mark(Mark("wedge", 0, 0, SWATCH, 0, "", rejected=True)), "reading not used"))
    return items


def _any_bed(picture: Picture, do: str) -> bool:
    return any(bed.do.startswith(do) for bed in picture.mortar)


def _rows(items: list[tuple[Swatch, str]], width: float) -> tuple[list[tuple[float, int]], int]:
    """Left edge (mm) and row of each item, and the number of rows."""
    places: list[tuple[float, int]] = []
    x, row = 0.0, 0
    for _, words in items:
        wide = SWATCH + 1.2 + text_width(words, SIZE) + 3
        if x and x + wide > width:
            x, row = 0.0, row + 1
        places.append((x, row))
        x += wide
    return places, row + 1 if items else 0


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
