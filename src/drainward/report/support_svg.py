"""The bed as it sounds, from above: `support_svg`. How likely a void is by darkness, taps as dots and rings."""

from __future__ import annotations

from drainward.hold.support import Supported
from drainward.job.model import UnitModel
from drainward.quantity import format_length
from drainward.report.ink import ASK, FONT, GREY, INK, WARN, Sheet, circle, text
from drainward.report.labels import Labels, around
from drainward.report.picture import Outlet
from drainward.report.plan_svg import BAR, LEFT, RIGHT, TOP, drain_svg, frame_svg, label

__all__ = ["support_svg"]

_LIGHT, _DARK = 250, 110


def support_svg(found: Supported, unit: UnitModel, width_mm: float) -> str:
    """One SVG document, `width_mm` wide with its margins, opening side down.

    Darker where a void is likelier; a dot where a tap was solid, a ring where hollow, a square where it was pressed;
    hollow places with their width; a ring in another colour where to tap next.
    """
    width, depth = unit.inside_width, unit.inside_depth
    sheet = Sheet(LEFT, TOP, (width_mm - LEFT - RIGHT) / width)
    right, bottom = sheet.at(width, depth)
    labels = Labels((LEFT, TOP, right, bottom))
    parts = _cells(sheet, found, width, depth)
    parts += drain_svg(sheet, Outlet(unit.drain.x, unit.drain.y, unit.drain.radius), labels)
    told = found.heard
    for px, py, hollow in zip(told.tx, told.ty, told.hollow, strict=True):
        x, y = sheet.at(float(px), float(py))
        parts.append(circle(x, y, 1.3, "#fff", WARN, 0.5) if hollow else circle(x, y, 0.5, INK, INK, 0.1))
    for px, py in zip(told.px, told.py, strict=True):
        x, y = sheet.at(float(px), float(py))
        box = f'<rect x="{x - 1:.2f}" y="{y - 1:.2f}" width="2" height="2"'
        parts.append(f'{box} fill="none" stroke="{INK}" stroke-width="0.4"/>')
    for place in found.hollows:
        x, y = sheet.at(place.x, place.y)
        words = f"{format_length(place.across, denominator=1)}{'' if place.stays else ', mend'}"
        parts.append(label(labels, words, 2.9, INK if place.stays else WARN, around(x, y, 2.0, 2.9), bold=True))
    if found.tap is not None:
        x, y = sheet.at(found.tap.x, found.tap.y)
        parts += [circle(x, y, 1.9, "none", ASK, 0.6), label(labels, "tap here", 2.5, ASK, around(x, y, 2.2, 2.5))]
    height = bottom + BAR + 4
    parts.append(
        text(LEFT, height - 1, "dot: solid · ring: hollow · square: pressed · grey: how likely a void is", 2.3, GREY)
    )
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width_mm:.2f} {height:.2f}" {FONT} role="img" '
        f'aria-label="plan of the bed as it sounds: {len(told.tx)} taps, {int(told.hollow.sum())} hollow">'
    )
    return "\n".join([opening, *parts, *frame_svg(sheet, width, depth), "</svg>"])


def _cells(sheet: Sheet, found: Supported, width: float, depth: float) -> list[str]:
    """A square about each node, grey by the chance of a void; nothing where there is next to none."""
    x, y, chance = found.belief.x, found.belief.y, found.belief.hollow
    half_x, half_y = (x[1] - x[0]) / 2, (y[1] - y[0]) / 2
    parts = []
    for i, px in enumerate(x):
        for j, py in enumerate(y):
            if chance[i, j] < 0.02:
                continue
            left, top = sheet.at(max(float(px - half_x), 0.0), max(float(py - half_y), 0.0))
            right, bottom = sheet.at(min(float(px + half_x), width), min(float(py + half_y), depth))
            grey = round(_LIGHT - (_LIGHT - _DARK) * float(chance[i, j]))
            parts.append(
                f'<rect x="{left:.2f}" y="{top:.2f}" width="{right - left:.2f}" height="{bottom - top:.2f}" '
                f'fill="rgb({grey},{grey},{grey})"/>'
            )
    return parts
