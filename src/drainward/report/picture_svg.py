"""The picture of a floor as SVG for paper and page: `picture_svg`.

Readable in grey: height is lightness, water is hatching, what matters more has the heavier line. Colours are from the
set of Okabe and Ito (2008), which all common kinds of colour vision tell apart.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from html import escape
from itertools import pairwise

from drainward.report.contour import Path, Paths
from drainward.report.picture import Bed, Contour, Mark, Picture, PondArea, Spot

__all__ = ["picture_svg"]

LEFT, RIGHT, TOP, FOOT = 8.0, 3.0, 6.0, 25.0
"""Margins round the floor, mm on paper; the foot holds the opening's name, the bar and the key."""

INK, GREY, WATER, WARN, ASK = "#1a1a1a", "#5a5a5a", "#0072b2", "#a34700", "#c0006a"
FONT = 'font-family="DejaVu Sans, sans-serif"'
TICK = 0.1524


class _Sheet:
    """Where the plan lies on the paper: metres in, millimetres out."""

    def __init__(self, picture: Picture, width_mm: float) -> None:
        self.scale = (width_mm - LEFT - RIGHT) / picture.width
        self.width = width_mm
        self.bottom = TOP + picture.depth * self.scale
        self.height = self.bottom + FOOT

    def at(self, x: float, y: float) -> tuple[float, float]:
        return LEFT + x * self.scale, TOP + y * self.scale

    def path(self, points: Path, closed: bool = False) -> str:
        text = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in (self.at(*point) for point in points))
        return text + "Z" if closed else text

    def rings(self, paths: Paths) -> str:
        return "".join(self.path(ring, closed=True) for ring in paths)


def picture_svg(picture: Picture, width_mm: float, show: str = "floor") -> str:
    """The picture as one SVG document, `width_mm` wide (with its margins), opening side down.

    show : "floor" for heights, fall, water and readings; "mortar" for what comes out of and goes into the wet bed.
    Raises ValueError when the width leaves no room for the floor or `show` is neither.
    """
    if not width_mm > 3 * (LEFT + RIGHT):
        raise ValueError(f"a picture is wider than {3 * (LEFT + RIGHT):.0f} mm, got {width_mm!r}")
    if show not in ("floor", "mortar"):
        raise ValueError(f'show is "floor" or "mortar", got {show!r}')
    sheet = _Sheet(picture, width_mm)
    inside = _floor(sheet, picture) if show == "floor" else _mortar(sheet, picture)
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{sheet.width:.2f}mm" height="{sheet.height:.2f}mm" '
        f'viewBox="0 0 {sheet.width:.2f} {sheet.height:.2f}" {FONT} role="img" '
        f'aria-label="{_title(picture, show)}">'
    )
    parts = [
        opening,
        _patterns(),
        *inside,
        *_frame(sheet, picture),
        *(_floor_key(sheet, picture) if show == "floor" else _mortar_key(sheet)),
        "</svg>",
    ]
    return "\n".join(part for part in parts if part)


def _title(picture: Picture, show: str) -> str:
    if show == "mortar":
        return f"plan of the bed: {len(picture.mortar)} places to take mortar out or put it in"
    likely = sum(pond.chance >= 0.5 for pond in picture.ponds)
    return f"plan of the floor: {len(picture.contours)} height lines, {likely} likely ponds"


def _patterns() -> str:
    def hatch(name: str, gap: float, colour: str, weight: float, turn: int) -> str:
        return (
            f'<pattern id="{name}" width="{gap}" height="{gap}" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate({turn})"><path d="M0 {gap / 2}H{gap}" stroke="{colour}" '
            f'stroke-width="{weight}"/></pattern>'
        )

    return (
        "<defs>"
        + hatch("likely", 1.1, WATER, 0.45, 45)
        + hatch("possible", 2.4, WATER, 0.2, 45)
        + hatch("take-out", 1.2, WARN, 0.4, 45)
        + hatch("put-in", 1.8, WATER, 0.3, -45)
        + "</defs>"
    )


def _floor(sheet: _Sheet, picture: Picture) -> list[str]:
    return [
        *(_area(sheet, band.paths, band.colour) for band in picture.bands),
        *(_arrow(sheet, arrow) for arrow in picture.arrows),
        *(_contour(sheet, line) for line in picture.contours),
        *(_pond(sheet, pond) for pond in picture.ponds),
        *(_high_spot(sheet, spot) for spot in picture.high_spots),
        *(_reading(sheet, mark) for mark in picture.readings),
        *_drain(sheet, picture),
        *(_contour_label(sheet, line) for line in picture.contours),
        *(_fall(sheet, spot) for spot in picture.falls),
        *(_pond_label(sheet, pond) for pond in picture.ponds),
        _next(sheet, picture.next) if picture.next else "",
    ]


def _mortar(sheet: _Sheet, picture: Picture) -> list[str]:
    return [*(_bed(sheet, bed) for bed in picture.mortar), *_drain(sheet, picture)]


def _area(sheet: _Sheet, paths: Paths, fill: str, line: str = "") -> str:
    if not paths:
        return ""
    return f'<path d="{sheet.rings(paths)}" fill="{fill}" fill-rule="evenodd" {line}/>'


def _text(x: float, y: float, words: str, size: float = 2.3, colour: str = INK, more: str = "") -> str:
    """Words with a white edge, so that they read over lines and hatching."""
    place = f'x="{x:.2f}" y="{y:.2f}" font-size="{size}" {more}'
    words = escape(words)
    return (
        f'<text {place} fill="#fff" stroke="#fff" stroke-width="0.7" stroke-linejoin="round">{words}</text>'
        f'<text {place} fill="{colour}">{words}</text>'
    )


def _line(xa: float, ya: float, xb: float, yb: float, colour: str = INK, weight: float = 0.3, more: str = "") -> str:
    return (
        f'<path d="M{xa:.2f} {ya:.2f}L{xb:.2f} {yb:.2f}" stroke="{colour}" stroke-width="{weight}" fill="none" {more}/>'
    )


def _contour(sheet: _Sheet, line: Contour) -> str:
    if not line.paths:
        return ""
    drawn = "".join(sheet.path(path) for path in line.paths)
    return f'<path d="{drawn}" fill="none" stroke="{GREY}" stroke-width="{0.45 if line.main else 0.2}"/>'


def _contour_label(sheet: _Sheet, line: Contour) -> str:
    if not line.paths:
        return ""
    longest = max(line.paths, key=_length)
    if _length(longest) * sheet.scale < 12:
        return ""
    x, y = sheet.at(*_halfway(longest))
    return _text(x, y + 0.8, line.label, 2.2, GREY, 'text-anchor="middle"')


def _length(path: Path) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(path))


def _halfway(path: Path) -> tuple[float, float]:
    left = _length(path) / 2
    for a, b in pairwise(path):
        piece = math.dist(a, b)
        if piece and piece >= left:
            share = left / piece
            return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
        left -= piece
    return path[-1]


def _arrow(sheet: _Sheet, arrow: tuple[float, float, float, float], length: float = 3.2) -> str:
    x, y = sheet.at(arrow[0], arrow[1])
    dx, dy = arrow[2] * length / 2, arrow[3] * length / 2
    tip_x, tip_y = x + dx, y + dy
    barbs = "".join(
        f"M{tip_x:.2f} {tip_y:.2f}l{-0.55 * dx + side * 0.35 * dy:.2f} {-0.55 * dy - side * 0.35 * dx:.2f}"
        for side in (1, -1)
    )
    return (
        f'<path d="M{x - dx:.2f} {y - dy:.2f}L{tip_x:.2f} {tip_y:.2f}{barbs}" stroke="{GREY}" stroke-width="0.22" '
        f'fill="none"/>'
    )


def _pond(sheet: _Sheet, pond: PondArea) -> str:
    if pond.chance >= 0.5:
        return _area(sheet, pond.paths, "url(#likely)", f'stroke="{WATER}" stroke-width="0.6"')
    return _area(sheet, pond.paths, "url(#possible)", f'stroke="{WATER}" stroke-width="0.25" stroke-dasharray="1 0.7"')


def _pond_label(sheet: _Sheet, pond: PondArea) -> str:
    if not pond.label:
        return ""
    x, y = sheet.at(pond.x, pond.y)
    return _text(x, y + 0.9, pond.label, 2.5, "#004a75", 'text-anchor="middle" font-weight="bold"')


def _high_spot(sheet: _Sheet, spot: Spot) -> str:
    x, y = sheet.at(spot.x, spot.y)
    if spot.x2 is None or spot.y2 is None:
        x2, y2 = x, y
    else:
        x2, y2 = sheet.at(spot.x2, spot.y2)
    mx, my = (x + x2) / 2, (y + y2) / 2
    return (
        _line(x, y, x2, y2, WARN, 0.3, 'stroke-dasharray="2 1"')
        + f'<path d="M{mx:.2f} {my - 1.5:.2f}l1.5 2.6h-3Z" fill="#fff" stroke="{WARN}" stroke-width="0.45"/>'
        + _text(mx + 2, my + 0.9, spot.label, 2.3, WARN)
    )


def _fall(sheet: _Sheet, spot: Spot) -> str:
    x, y = sheet.at(spot.x, spot.y)
    word = "least" if spot.kind.startswith("least") else "greatest"
    anchor, shift = ("end", -1.4) if spot.x * sheet.scale > sheet.width / 2 else ("start", 1.4)
    return (
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.8" fill="#fff" stroke="{INK}" stroke-width="0.35"/>'
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.3" fill="{INK}"/>'
        + _text(x + shift, y + 0.8, f"{word} {spot.label}", 2.2, INK, f'text-anchor="{anchor}" font-style="italic"')
    )


def _reading(sheet: _Sheet, mark: Mark) -> str:
    dashed = 'stroke-dasharray="0.8 0.6"' if mark.rejected else ""
    x, y = sheet.at(mark.x, mark.y)
    if mark.x2 is None or mark.y2 is None:
        mx, my = x, y
        drawn = _line(x - 1, y, x + 1, y, INK, 0.35) + _line(x, y - 1, x, y + 1, INK, 0.35)
    else:
        x2, y2 = sheet.at(mark.x2, mark.y2)
        mx, my = (x + x2) / 2, (y + y2) / 2
        drawn = _line(x, y, x2, y2, INK, 0.4, dashed) + _ends(mark.kind, x, y, x2, y2)
    if mark.rejected:
        drawn += _line(mx - 1.3, my - 1.3, mx + 1.3, my + 1.3, WARN, 0.6)
        drawn += _line(mx - 1.3, my + 1.3, mx + 1.3, my - 1.3, WARN, 0.6)
    number = "" if mark.number is None else str(mark.number)
    return drawn + _text(mx + 0.6, my - 0.6, number, 1.7, INK)


def _ends(kind: str, x: float, y: float, x2: float, y2: float) -> str:
    """A wedge stands at its far end (open ring), a slope points where it was read to, a chord has two feet."""
    if kind == "wedge":
        return (
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.6" fill="{INK}"/>'
            f'<circle cx="{x2:.2f}" cy="{y2:.2f}" r="0.6" fill="#fff" stroke="{INK}" stroke-width="0.3"/>'
        )
    size = math.hypot(x2 - x, y2 - y) or 1.0
    ux, uy = (x2 - x) / size, (y2 - y) / size
    if kind == "slope":
        return (
            f'<path d="M{x2:.2f} {y2:.2f}l{-1.5 * ux - 0.6 * uy:.2f} {-1.5 * uy + 0.6 * ux:.2f}'
            f'l{1.2 * uy:.2f} {-1.2 * ux:.2f}Z" fill="{INK}"/>'
        )
    feet = ((x, y), (x2, y2))
    return "".join(_line(px - uy, py + ux, px + uy, py - ux, INK, 0.35) for px, py in feet)


def _next(sheet: _Sheet, mark: Mark) -> str:
    x, y = sheet.at(mark.x, mark.y)
    if mark.x2 is None or mark.y2 is None:
        drawn = f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.8" fill="none" stroke="{ASK}" stroke-width="0.9"/>'
        mx, my = x, y - 2.4
    else:
        x2, y2 = sheet.at(mark.x2, mark.y2)
        drawn = _line(x, y, x2, y2, "#fff", 1.8) + _line(x, y, x2, y2, ASK, 0.9)
        drawn += f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.1" fill="{ASK}"/>'
        drawn += f'<circle cx="{x2:.2f}" cy="{y2:.2f}" r="1.1" fill="#fff" stroke="{ASK}" stroke-width="0.6"/>'
        mx, my = (x + x2) / 2, (y + y2) / 2 - 1.6
    mx = min(max(mx, LEFT + 12), sheet.width - RIGHT - 12)
    return drawn + _text(mx, max(my, TOP + 3), mark.label, 2.6, ASK, 'text-anchor="middle" font-weight="bold"')


def _drain(sheet: _Sheet, picture: Picture) -> list[str]:
    x, y = sheet.at(picture.drain.x, picture.drain.y)
    r = picture.drain.radius * sheet.scale
    # The name stands on the roomier side, clear of the disc.
    side = 1 if picture.drain.x < picture.width / 2 else -1
    anchor = "start" if side > 0 else "end"
    return [
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}" fill="#fff" stroke="{INK}" stroke-width="0.5"/>',
        _line(x - r, y, x + r, y, INK, 0.2) + _line(x, y - r, x, y + r, INK, 0.2),
        _text(x + side * (r + 1), y + 0.9, "drain", 2.5, INK, f'text-anchor="{anchor}"'),
    ]


def _bed(sheet: _Sheet, bed: Bed) -> str:
    out = bed.do.startswith("take")
    colour, fill = (WARN, "url(#take-out)") if out else (WATER, "url(#put-in)")
    outline = _area(sheet, bed.paths, fill, f'stroke="{colour}" stroke-width="0.4"')
    x, y = sheet.at(bed.x, bed.y)
    spot = f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.6" fill="{colour}"/>'
    return outline + spot + _text(x, y - 1.4, bed.label, 2.4, colour, 'text-anchor="middle" font-weight="bold"')


def _frame(sheet: _Sheet, picture: Picture) -> list[str]:
    """Walls heavy, the opening open, ticks each 6 in from the back left corner."""
    x0, y0 = sheet.at(0, 0)
    x1, y1 = sheet.at(picture.width, picture.depth)
    walls = f'<path d="M{x0:.2f} {y1:.2f}V{y0:.2f}H{x1:.2f}V{y1:.2f}" fill="none" stroke="{INK}" stroke-width="0.9"/>'
    sill = _line(x0, y1, x1, y1, INK, 0.3, 'stroke-dasharray="2 1.2"')
    name = _text((x0 + x1) / 2, y1 + 3.2, "opening (you stand here)", 2.5, INK, 'text-anchor="middle"')
    back = _text((x0 + x1) / 2, 2.2, "back wall", 2.2, GREY, 'text-anchor="middle"')
    return [walls, sill, name, back, *_ticks(sheet, picture)]


def _ticks(sheet: _Sheet, picture: Picture) -> Iterable[str]:
    small = 'text-anchor="middle"'
    for k in range(1, int(picture.width / TICK) + 1):
        x, y = sheet.at(k * TICK, 0)
        yield _line(x, y - 1, x, y, INK, 0.2) + _text(x, y - 1.5, f'{6 * k}"', 1.9, GREY, small)
    for k in range(1, int(picture.depth / TICK) + 1):
        x, y = sheet.at(0, k * TICK)
        yield _line(x - 1, y, x, y, INK, 0.2) + _text(x - 1.5, y + 0.7, f'{6 * k}"', 1.9, GREY, 'text-anchor="end"')


def _bar(sheet: _Sheet, picture: Picture, y: float) -> str:
    """A bar of one foot: two halves, one filled, so that it survives a copier."""
    x, half = LEFT, picture.scale.bar * sheet.scale / 2
    return (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{half:.2f}" height="1.2" fill="{INK}"/>'
        f'<rect x="{x + half:.2f}" y="{y:.2f}" width="{half:.2f}" height="1.2" fill="#fff" stroke="{INK}" '
        f'stroke-width="0.2"/>'
        + _text(x, y + 3.8, "0", 2.0, GREY)
        + _text(x + half, y + 3.8, '6"', 2.0, GREY, 'text-anchor="middle"')
        + _text(x + 2 * half, y + 3.8, picture.scale.bar_label, 2.0, GREY, 'text-anchor="middle"')
    )


def _floor_key(sheet: _Sheet, picture: Picture) -> list[str]:
    return [_bar(sheet, picture, sheet.bottom + 6)]


def _mortar_key(sheet: _Sheet) -> list[str]:
    return []
