"""The picture of a floor as SVG for paper and page: `picture_svg`."""

from __future__ import annotations

from collections.abc import Iterator

from drainward.report.ink import ASK, FONT, GREY, INK, WARN, WATER, Sheet, area, circle, patterns
from drainward.report.labels import Labels, around
from drainward.report.marks import mark_svg, middle, next_svg, spot_svg
from drainward.report.picture import Bed, Picture
from drainward.report.picture_key import key_height, key_svg, reaches_out
from drainward.report.plan_svg import (
    BAR,
    DEEP_WATER,
    LEFT,
    RIGHT,
    TOP,
    along,
    contour_svg,
    drain_svg,
    frame_svg,
    label,
    pond_svg,
    put,
    reach,
)

__all__ = ["picture_svg"]

STRIP = 4.0
"""Room for readings on the threshold, mm on paper."""


def picture_svg(picture: Picture, width_mm: float, show: str = "floor") -> str:
    """The picture as one SVG document, `width_mm` wide (with its margins), opening side down.

    show : "floor" for heights, fall, water and readings; "mortar" for what comes out of and goes into the wet bed.
    Raises ValueError when the width leaves no room for the floor or `show` is neither.
    """
    if not width_mm > 3 * (LEFT + RIGHT):
        raise ValueError(f"a picture is wider than {3 * (LEFT + RIGHT):.0f} mm, got {width_mm!r}")
    if show not in ("floor", "mortar"):
        raise ValueError(f'show is "floor" or "mortar", got {show!r}')
    across = width_mm - LEFT - RIGHT
    strip = STRIP if show == "floor" and reaches_out(picture) else 0.0
    sheet = Sheet(LEFT, TOP, across / picture.width, picture.depth, strip)
    right, bottom = sheet.at(picture.width, picture.depth)
    bottom += strip
    height = bottom + BAR + key_height(picture, across, show)
    labels = Labels((LEFT, TOP, right, bottom))
    inside = _floor(sheet, picture, labels) if show == "floor" else _mortar(sheet, picture, labels)
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width_mm:.2f} {height:.2f}" {FONT} role="img" aria-label="{_title(picture, show)}">'
    )
    key = key_svg(picture, LEFT, bottom + BAR, across, show)
    parts = [opening, patterns(), *inside, *frame_svg(sheet, picture.width, picture.depth), *key, "</svg>"]
    return "\n".join(part for part in parts if part)


def _title(picture: Picture, show: str) -> str:
    if show == "mortar":
        return f"plan of the bed: {len(picture.mortar)} places to take mortar out or put it in"
    likely = sum(pond.chance >= 0.5 for pond in picture.ponds)
    return f"plan of the floor: {len(picture.contours)} height lines, {likely} likely ponds"


def _floor(sheet: Sheet, picture: Picture, labels: Labels) -> list[str]:
    drain = drain_svg(sheet, picture.drain, labels)
    ask = [] if picture.next is None else [next_svg(picture.next, sheet)]
    words = list(_words(sheet, picture, labels))
    return [
        *(area(sheet, band.paths, band.colour) for band in picture.bands),
        *(_arrow(sheet, arrow) for arrow in picture.arrows),
        *(contour_svg(sheet, level.paths, level.main) for level in picture.contours),
        *(pond_svg(sheet, pond) for pond in picture.ponds),
        *(spot_svg(spot, sheet) for spot in picture.high_spots),
        *(mark_svg(mark, sheet) for mark in picture.readings),
        *(_bullseye(*sheet.at(fall.x, fall.y)) for fall in picture.falls),
        *ask,
        *drain,
        *words,
    ]


def _words(sheet: Sheet, picture: Picture, labels: Labels) -> Iterator[str]:
    """All words of the floor, most important first: what comes later gives way."""
    if picture.next is not None:
        spots = around(*sheet.at(*middle(picture.next)), 2.2, 2.7)
        yield label(labels, picture.next.label, 2.7, ASK, spots[2:] + spots[:2], bold=True)
    for pond in picture.ponds:
        if pond.label:
            spots = around(*sheet.at(pond.x, pond.y), reach(sheet, pond), 2.6)
            yield label(labels, f"pond {pond.label}", 2.6, DEEP_WATER, spots[2:] + spots[:2], bold=True)
    for spot in picture.high_spots:
        yield label(labels, f"high {spot.label}", 2.4, WARN, around(*sheet.at(*middle(spot)), 2.2, 2.4))
    for fall in picture.falls:
        yield label(labels, f"{fall.kind} {fall.label}", 2.3, INK, around(*sheet.at(fall.x, fall.y), 1.4, 2.3))
    for mark in picture.readings:
        spots = around(*sheet.at(*middle(mark)), 1.5 if mark.rejected else 0.8, 1.9)
        yield label(labels, str(mark.number or ""), 1.9, INK, spots[2:] + spots[:2])
    for level in picture.contours:
        place = labels.place(level.label, 2.1, along(sheet, level.paths))
        if place is not None:
            yield put(level.label, 2.1, GREY, place)


def _mortar(sheet: Sheet, picture: Picture, labels: Labels) -> list[str]:
    drain = drain_svg(sheet, picture.drain, labels)
    return [*(_bed(sheet, bed, labels) for bed in picture.mortar), *drain]


def _arrow(sheet: Sheet, arrow: tuple[float, float, float, float], length: float = 3.2) -> str:
    x, y = sheet.at(arrow[0], arrow[1])
    dx, dy = arrow[2] * length / 2, arrow[3] * length / 2
    tip = f"{x + dx:.2f} {y + dy:.2f}"
    barbs = "".join(
        f"M{tip}l{-0.55 * dx + side * 0.35 * dy:.2f} {-0.55 * dy - side * 0.35 * dx:.2f}" for side in (1, -1)
    )
    drawn = f"M{x - dx:.2f} {y - dy:.2f}L{tip}{barbs}"
    return f'<path d="{drawn}" stroke="{GREY}" stroke-width="0.22" fill="none"/>'


def _bullseye(x: float, y: float) -> str:
    return circle(x, y, 0.8, "#fff", INK, 0.35) + circle(x, y, 0.3, INK)


def _bed(sheet: Sheet, bed: Bed, labels: Labels) -> str:
    out = bed.do.startswith("take")
    colour, fill = (WARN, "url(#take-out)") if out else (WATER, "url(#put-in)")
    outline = area(sheet, bed.paths, fill, f'stroke="{colour}" stroke-width="0.4"')
    x, y = sheet.at(bed.x, bed.y)
    spots = around(x, y, 1.2, 2.5)
    return outline + circle(x, y, 0.6, colour) + label(labels, bed.label, 2.5, colour, spots[2:] + spots[:2], True)
