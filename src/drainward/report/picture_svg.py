"""The picture of a floor as SVG for paper and page: `picture_svg`."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

from drainward.report.contour import Path
from drainward.report.ink import ASK, FONT, GREY, INK, WARN, WATER, Sheet, area, circle, line, patterns, text
from drainward.report.labels import Labels, around
from drainward.report.labels import Spot as Place
from drainward.report.marks import mark_svg, middle, next_svg, spot_svg
from drainward.report.picture import Bed, Contour, Picture, PondArea
from drainward.report.picture_key import key_height, key_svg, reaches_out

__all__ = ["picture_svg"]

LEFT, RIGHT, TOP, BAR, STRIP = 8.0, 3.0, 6.0, 10.0, 4.0
"""Margins round the floor, mm on paper; BAR holds the opening's name and the bar of one foot, STRIP the threshold."""

TICK = 0.1524
DEEP_WATER = "#004a75"


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
    parts = [opening, patterns(), *inside, *_frame(sheet, picture), *key, "</svg>"]
    return "\n".join(part for part in parts if part)


def _title(picture: Picture, show: str) -> str:
    if show == "mortar":
        return f"plan of the bed: {len(picture.mortar)} places to take mortar out or put it in"
    likely = sum(pond.chance >= 0.5 for pond in picture.ponds)
    return f"plan of the floor: {len(picture.contours)} height lines, {likely} likely ponds"


def _floor(sheet: Sheet, picture: Picture, labels: Labels) -> list[str]:
    drain = _drain(sheet, picture, labels)
    ask = [] if picture.next is None else [next_svg(picture.next, sheet)]
    words = list(_words(sheet, picture, labels))
    return [
        *(area(sheet, band.paths, band.colour) for band in picture.bands),
        *(_arrow(sheet, arrow) for arrow in picture.arrows),
        *(_contour(sheet, level) for level in picture.contours),
        *(_pond(sheet, pond) for pond in picture.ponds),
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
        yield _label(labels, picture.next.label, 2.7, ASK, spots[2:] + spots[:2], bold=True)
    for pond in picture.ponds:
        if pond.label:
            spots = around(*sheet.at(pond.x, pond.y), _reach(sheet, pond), 2.6)
            yield _label(labels, f"pond {pond.label}", 2.6, DEEP_WATER, spots[2:] + spots[:2], bold=True)
    for spot in picture.high_spots:
        yield _label(labels, f"high {spot.label}", 2.4, WARN, around(*sheet.at(*middle(spot)), 2.2, 2.4))
    for fall in picture.falls:
        yield _label(labels, f"{fall.kind} {fall.label}", 2.3, INK, around(*sheet.at(fall.x, fall.y), 1.4, 2.3))
    for mark in picture.readings:
        spots = around(*sheet.at(*middle(mark)), 1.5 if mark.rejected else 0.8, 1.9)
        yield _label(labels, str(mark.number or ""), 1.9, INK, spots[2:] + spots[:2])
    for level in picture.contours:
        place = labels.place(level.label, 2.1, _along(sheet, level))
        if place is not None:
            yield _put(level.label, 2.1, GREY, place)


def _label(labels: Labels, words: str, size: float, colour: str, spots: tuple[Place, ...], bold: bool = False) -> str:
    return _put(words, size, colour, labels.insist(words, size, spots), bold) if words else ""


def _put(words: str, size: float, colour: str, place: Place, bold: bool = False) -> str:
    x, y, anchor = place
    return text(x, y, words, size, colour, f'text-anchor="{anchor}"' + (' font-weight="bold"' if bold else ""))


def _reach(sheet: Sheet, pond: PondArea) -> float:
    """From the pond's deepest place to clear of its outline upward, mm, but never far away."""
    top = min(y for ring in pond.paths for _, y in ring)
    return min(max((pond.y - top) * sheet.scale + 0.8, 2.0), 14.0)


def _mortar(sheet: Sheet, picture: Picture, labels: Labels) -> list[str]:
    drain = _drain(sheet, picture, labels)
    return [*(_bed(sheet, bed, labels) for bed in picture.mortar), *drain]


def _contour(sheet: Sheet, level: Contour) -> str:
    if not level.paths:
        return ""
    drawn = "".join(sheet.path(path) for path in level.paths)
    return f'<path d="{drawn}" fill="none" stroke="{GREY}" stroke-width="{0.45 if level.main else 0.2}"/>'


def _along(sheet: Sheet, level: Contour) -> Iterable[Place]:
    """Places on the level's longest line, its middle first; none on a short one."""
    longest = max(level.paths, key=_length, default=())
    if _length(longest) * sheet.scale < 12:
        return
    for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        x, y = sheet.at(*_at_share(longest, share))
        yield x, y + 0.75, "middle"


def _length(path: Path) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(path))


def _at_share(path: Path, share: float) -> tuple[float, float]:
    left = _length(path) * share
    for a, b in pairwise(path):
        piece = math.dist(a, b)
        if piece and piece >= left:
            part = left / piece
            return a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part
        left -= piece
    return path[-1]


def _arrow(sheet: Sheet, arrow: tuple[float, float, float, float], length: float = 3.2) -> str:
    x, y = sheet.at(arrow[0], arrow[1])
    dx, dy = arrow[2] * length / 2, arrow[3] * length / 2
    tip = f"{x + dx:.2f} {y + dy:.2f}"
    barbs = "".join(
        f"M{tip}l{-0.55 * dx + side * 0.35 * dy:.2f} {-0.55 * dy - side * 0.35 * dx:.2f}" for side in (1, -1)
    )
    drawn = f"M{x - dx:.2f} {y - dy:.2f}L{tip}{barbs}"
    return f'<path d="{drawn}" stroke="{GREY}" stroke-width="0.22" fill="none"/>'


def _pond(sheet: Sheet, pond: PondArea) -> str:
    if pond.chance >= 0.5:
        return area(sheet, pond.paths, "url(#likely)", f'stroke="{WATER}" stroke-width="0.6"')
    return area(sheet, pond.paths, "url(#possible)", f'stroke="{WATER}" stroke-width="0.25" stroke-dasharray="1 0.7"')


def _bullseye(x: float, y: float) -> str:
    return circle(x, y, 0.8, "#fff", INK, 0.35) + circle(x, y, 0.3, INK)


def _drain(sheet: Sheet, picture: Picture, labels: Labels) -> list[str]:
    x, y = sheet.at(picture.drain.x, picture.drain.y)
    r = picture.drain.radius * sheet.scale
    labels.block((x - r, y - r, x + r, y + r))
    return [
        circle(x, y, r, "#fff", INK, 0.5),
        line(x - r, y, x + r, y, INK, 0.2) + line(x, y - r, x, y + r, INK, 0.2),
        _label(labels, "drain", 2.5, INK, around(x, y, r + 0.8, 2.5)),
    ]


def _bed(sheet: Sheet, bed: Bed, labels: Labels) -> str:
    out = bed.do.startswith("take")
    colour, fill = (WARN, "url(#take-out)") if out else (WATER, "url(#put-in)")
    outline = area(sheet, bed.paths, fill, f'stroke="{colour}" stroke-width="0.4"')
    x, y = sheet.at(bed.x, bed.y)
    spots = around(x, y, 1.2, 2.5)
    return outline + circle(x, y, 0.6, colour) + _label(labels, bed.label, 2.5, colour, spots[2:] + spots[:2], True)


def _frame(sheet: Sheet, picture: Picture) -> list[str]:
    """Walls heavy, the opening open, ticks each 6 in from the back left corner, a bar of one foot."""
    x0, y0 = sheet.at(0, 0)
    x1, y1 = sheet.at(picture.width, picture.depth)
    walls = f'<path d="M{x0:.2f} {y1:.2f}V{y0:.2f}H{x1:.2f}V{y1:.2f}" fill="none" stroke="{INK}" stroke-width="0.9"/>'
    sill = line(x0, y1, x1, y1, INK, 0.3, 'stroke-dasharray="2 1.2"')
    name = text(x1, y1 + sheet.strip + 3.2, "opening side", 2.5, INK, 'text-anchor="end"')
    back = text((x0 + x1) / 2, 2.2, "back wall", 2.2, GREY, 'text-anchor="middle"')
    return [walls, sill, name, back, *_ticks(sheet, picture), _bar(sheet, picture, y1 + sheet.strip + 2.2)]


def _ticks(sheet: Sheet, picture: Picture) -> Iterator[str]:
    for k in range(1, int(picture.width / TICK + 1e-6) + 1):
        x, y = sheet.at(k * TICK, 0)
        yield line(x, y - 1, x, y, INK, 0.2) + text(x, y - 1.5, f'{6 * k}"', 1.9, GREY, 'text-anchor="middle"')
    for k in range(1, int(picture.depth / TICK + 1e-6) + 1):
        x, y = sheet.at(0, k * TICK)
        yield line(x - 1, y, x, y, INK, 0.2) + text(x - 1.5, y + 0.7, f'{6 * k}"', 1.9, GREY, 'text-anchor="end"')


def _bar(sheet: Sheet, picture: Picture, y: float) -> str:
    """Two halves, one filled, so that it survives a copier."""
    x, half = sheet.left, picture.scale.bar * sheet.scale / 2
    box = f'y="{y:.2f}" width="{half:.2f}" height="1.1"'
    return (
        f'<rect x="{x:.2f}" {box} fill="{INK}"/>'
        f'<rect x="{x + half:.2f}" {box} fill="#fff" stroke="{INK}" stroke-width="0.2"/>'
        + text(x, y + 3.4, "0", 2.0, GREY)
        + text(x + half, y + 3.4, '6"', 2.0, GREY, 'text-anchor="middle"')
        + text(x + 2 * half, y + 3.4, picture.scale.bar_label, 2.0, GREY, 'text-anchor="middle"')
    )
