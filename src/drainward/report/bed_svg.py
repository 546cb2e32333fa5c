"""The bed as a mason's map: `bed_svg`. Thickness by lightness and lines, zones numbered in the order they are laid."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from drainward.bed.result import BedPlan
from drainward.bed.ridges import BAND, Zone
from drainward.bed.void import Void
from drainward.quantity import INCH, format_length
from drainward.report.contour import areas, levels, lines
from drainward.report.ink import ASK, FONT, GREY, INK, WARN, WATER, Sheet, area, circle, line, patterns, text
from drainward.report.labels import Labels, around
from drainward.report.picture import Outlet
from drainward.report.plan_svg import BAR, LEFT, RIGHT, TOP, along, contour_svg, drain_svg, frame_svg, label, put

__all__ = ["bed_svg"]

_LIGHT, _DARK = 248, 176
_SHADES = 8
_SAME = 1e-6


def bed_svg(plan: BedPlan, width_mm: float) -> str:
    """One SVG document, `width_mm` wide with its margins, opening side down; "" where no void is known.

    Shaded by expected thickness, darker where thicker; the box-out outlined; zones under their numbers; hatched where
    slab is to be ground or filled; a ring where the next spot height tells most.
    """
    void = plan.void
    if void is None:
        return ""
    width, depth = float(void.x[-1]), float(void.y[-1])
    sheet = Sheet(LEFT, TOP, (width_mm - LEFT - RIGHT) / width)
    right, bottom = sheet.at(width, depth)
    labels = Labels((LEFT, TOP, right, bottom))
    drain = void.unit.drain
    x, _ = sheet.at(drain.x, 0.0)
    parts = [*_shades(sheet, void), *_contours(sheet, void), line(x, TOP, x, bottom, INK, 0.4), *_box(sheet, void)]
    parts += [*_off(sheet, plan, void, labels), *drain_svg(sheet, Outlet(drain.x, drain.y, drain.radius), labels)]
    for number, zone in enumerate(plan.zones, 1):
        x, y = sheet.at(zone.x, zone.y) if zone.box else _inside(sheet, void, zone)
        words = f"{number}: {format_length(zone.top)}"
        parts.append(label(labels, words, 2.9, INK, around(x, y, 1.0, 2.9), bold=True))
    if plan.asked is not None:
        x, y = sheet.at(plan.asked.x, plan.asked.y)
        parts += [circle(x, y, 1.6, "none", ASK, 0.5), label(labels, "read here", 2.5, ASK, around(x, y, 2.0, 2.5))]
    parts += _thicknesses(sheet, void, labels)
    height = bottom + BAR
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width_mm:.2f} {height:.2f}" {FONT} role="img" '
        f'aria-label="plan of the bed: {len(plan.zones)} zones, each with the height of its ridges over the slab">'
    )
    return "\n".join([opening, patterns(), *parts, *frame_svg(sheet, width, depth), "</svg>"])


def _shades(sheet: Sheet, void: Void) -> list[str]:
    low, high = float(void.mean.min()), float(void.mean.max())
    edges = np.linspace(low, max(high, low + INCH / 32), _SHADES + 1)
    edges[0], edges[-1] = low - 1, high + 1
    drawn = []
    for k, (a, b) in enumerate(pairwise(edges)):
        grey = round(_LIGHT + (_DARK - _LIGHT) * k / (_SHADES - 1))
        shade = f"#{grey:02x}{grey:02x}{grey:02x}"
        drawn += [area(sheet, paths, shade) for paths in areas(void.x, void.y, void.mean, float(a), float(b))]
    return drawn


def _contours(sheet: Sheet, void: Void) -> list[str]:
    """The heavier ones part the zones."""
    steps = levels(float(void.mean.min()), float(void.mean.max()))
    return [
        contour_svg(sheet, lines(void.x, void.y, void.mean, level), abs(level / BAND - round(level / BAND)) < _SAME)
        for level in steps
    ]


def _thicknesses(sheet: Sheet, void: Void, labels: Labels) -> list[str]:
    """What the lines stand for, where it covers nothing."""
    drawn = []
    for level in levels(float(void.mean.min()), float(void.mean.max())):
        words = format_length(level)
        place = labels.place(words, 2.1, along(sheet, lines(void.x, void.y, void.mean, level)))
        if place is not None:
            drawn.append(put(words, 2.1, GREY, place))
    return drawn


def _box(sheet: Sheet, void: Void) -> list[str]:
    box = void.box
    x0, y0 = sheet.at(box.x - box.wide / 2, box.y - box.long / 2)
    x1, y1 = sheet.at(box.x + box.wide / 2, box.y + box.long / 2)
    sides = [(x0, y0, x1, y0), (x1, y0, x1, y1), (x1, y1, x0, y1), (x0, y1, x0, y0)]
    drawn = [line(*side, INK, 0.4, 'stroke-dasharray="1.6 1"') for side in sides]
    return [*drawn, text(x0 + 0.8, y1 - 0.8, "box-out", 2.1, INK)]


def _off(sheet: Sheet, plan: BedPlan, void: Void, labels: Labels) -> list[str]:
    drawn = []
    for place in plan.off_limits:
        hatch, colour = ("url(#take-out)", WARN) if place.what == "grind" else ("url(#put-in)", WATER)
        inside = areas(void.x, void.y, place.mask.astype(float), 0.5, 2.0)
        drawn += [area(sheet, paths, hatch, f'stroke="{colour}" stroke-width="0.4"') for paths in inside]
        words = f"{place.what} {format_length(place.much)}"
        drawn.append(label(labels, words, 2.5, colour, around(*sheet.at(place.x, place.y), 1.0, 2.5), bold=True))
    return drawn


def _inside(sheet: Sheet, void: Void, zone: Zone) -> tuple[float, float]:
    """The place of a zone nearest to its middle, which may lie outside of it, mm."""
    gx, gy = np.meshgrid(void.x, void.y)
    away = np.where(zone.mask, np.hypot(gx - zone.x, gy - zone.y), np.inf)
    k = int(np.argmin(away))
    return sheet.at(float(gx.ravel()[k]), float(gy.ravel()[k]))
