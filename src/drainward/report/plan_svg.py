"""What every plan of a floor is drawn with, whatever it shows: walls, drain, rulers, places of water, words.

frame_svg, drain_svg     the unit as it stands in the room: walls, opening, rulers, a bar of one foot; its drain
pond_svg, reach          a place where water may stand, and how far its words keep off
contour_svg, along       level lines, and places for a word on the longest
label, put               words where they cover nothing, and words at a place
LEFT, RIGHT, TOP, BAR    margins round the floor
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

from drainward.report.contour import Path, Paths
from drainward.report.ink import GREY, INK, WATER, Sheet, area, circle, line, text
from drainward.report.labels import Labels, around
from drainward.report.labels import Spot as Place
from drainward.report.picture import Outlet, PondArea

__all__ = [
    "BAR",
    "DEEP_WATER",
    "LEFT",
    "RIGHT",
    "TOP",
    "along",
    "contour_svg",
    "drain_svg",
    "frame_svg",
    "label",
    "pond_svg",
    "put",
    "reach",
]

LEFT, RIGHT, TOP, BAR = 8.0, 3.0, 6.0, 10.0
"""Margins round the floor, mm on paper; BAR holds the opening's name and the bar of one foot."""

DEEP_WATER = "#004a75"
"""Of words about water."""

TICK, FOOT = 0.1524, 0.3048


def frame_svg(sheet: Sheet, width: float, depth: float) -> list[str]:
    """Walls heavy, the opening open, ticks each 6 in from the back left corner, a bar of one foot.

    width, depth : of the floor inside, m
    """
    x0, y0 = sheet.at(0, 0)
    x1, y1 = sheet.at(width, depth)
    walls = f'<path d="M{x0:.2f} {y1:.2f}V{y0:.2f}H{x1:.2f}V{y1:.2f}" fill="none" stroke="{INK}" stroke-width="0.9"/>'
    sill = line(x0, y1, x1, y1, INK, 0.3, 'stroke-dasharray="2 1.2"')
    name = text(x1, y1 + sheet.strip + 3.2, "opening side", 2.5, INK, 'text-anchor="end"')
    back = text((x0 + x1) / 2, 2.2, "back wall", 2.2, GREY, 'text-anchor="middle"')
    return [walls, sill, name, back, *_ticks(sheet, width, depth), _bar(sheet, y1 + sheet.strip + 2.2)]


def drain_svg(sheet: Sheet, drain: Outlet, labels: Labels) -> list[str]:
    """The drain at its size, with its name; other words keep off it."""
    x, y = sheet.at(drain.x, drain.y)
    r = drain.radius * sheet.scale
    labels.block((x - r, y - r, x + r, y + r))
    return [
        circle(x, y, r, "#fff", INK, 0.5),
        line(x - r, y, x + r, y, INK, 0.2) + line(x, y - r, x, y + r, INK, 0.2),
        label(labels, "drain", 2.5, INK, around(x, y, r + 0.8, 2.5)),
    ]


def pond_svg(sheet: Sheet, pond: PondArea) -> str:
    """Hatched firmly where water is more likely than not to stand, else faintly."""
    if pond.chance >= 0.5:
        return area(sheet, pond.paths, "url(#likely)", f'stroke="{WATER}" stroke-width="0.6"')
    return area(sheet, pond.paths, "url(#possible)", f'stroke="{WATER}" stroke-width="0.25" stroke-dasharray="1 0.7"')


def reach(sheet: Sheet, pond: PondArea) -> float:
    """From the pond's deepest place to clear of its outline upward, mm, but never far away."""
    top = min(y for ring in pond.paths for _, y in ring)
    return min(max((pond.y - top) * sheet.scale + 0.8, 2.0), 14.0)


def contour_svg(sheet: Sheet, paths: Paths, main: bool) -> str:
    """The lines of one level, heavier where it is a main one."""
    if not paths:
        return ""
    drawn = "".join(sheet.path(path) for path in paths)
    return f'<path d="{drawn}" fill="none" stroke="{GREY}" stroke-width="{0.45 if main else 0.2}"/>'


def along(sheet: Sheet, paths: Paths) -> Iterable[Place]:
    """Places on the longest line, its middle first; none on a short one."""
    longest = max(paths, key=_length, default=())
    if _length(longest) * sheet.scale < 12:
        return
    for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        x, y = sheet.at(*_at_share(longest, share))
        yield x, y + 0.75, "middle"


def label(labels: Labels, words: str, size: float, colour: str, spots: tuple[Place, ...], bold: bool = False) -> str:
    """Words at the first of the spots where they cover nothing; no words draw nothing. size : mm."""
    return put(words, size, colour, labels.insist(words, size, spots), bold) if words else ""


def put(words: str, size: float, colour: str, place: Place, bold: bool = False) -> str:
    """Words at a place."""
    x, y, anchor = place
    return text(x, y, words, size, colour, f'text-anchor="{anchor}"' + (' font-weight="bold"' if bold else ""))


def _ticks(sheet: Sheet, width: float, depth: float) -> Iterator[str]:
    for k in range(1, int(width / TICK + 1e-6) + 1):
        x, y = sheet.at(k * TICK, 0)
        yield line(x, y - 1, x, y, INK, 0.2) + text(x, y - 1.5, f'{6 * k}"', 1.9, GREY, 'text-anchor="middle"')
    for k in range(1, int(depth / TICK + 1e-6) + 1):
        x, y = sheet.at(0, k * TICK)
        yield line(x - 1, y, x, y, INK, 0.2) + text(x - 1.5, y + 0.7, f'{6 * k}"', 1.9, GREY, 'text-anchor="end"')


def _bar(sheet: Sheet, y: float) -> str:
    """Two halves, one filled, so that it survives a copier."""
    x, half = sheet.left, FOOT * sheet.scale / 2
    box = f'y="{y:.2f}" width="{half:.2f}" height="1.1"'
    return (
        f'<rect x="{x:.2f}" {box} fill="{INK}"/>'
        f'<rect x="{x + half:.2f}" {box} fill="#fff" stroke="{INK}" stroke-width="0.2"/>'
        + text(x, y + 3.4, "0", 2.0, GREY)
        + text(x + half, y + 3.4, '6"', 2.0, GREY, 'text-anchor="middle"')
        + text(x + 2 * half, y + 3.4, "1 ft", 2.0, GREY, 'text-anchor="middle"')
    )


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
