"""Symbols for what was read and what was found: `mark_svg` for readings, `next_svg`, `spot_svg` for high spots."""

from __future__ import annotations

import math

from drainward.report.ink import ASK, INK, WARN, Sheet, circle, line
from drainward.report.picture import Mark, Spot

__all__ = ["mark_svg", "middle", "next_svg", "spot_svg"]


def middle(mark: Mark | Spot) -> tuple[float, float]:
    """The middle of a line, or the point itself; plan, m."""
    if mark.x2 is None or mark.y2 is None:
        return mark.x, mark.y
    return (mark.x + mark.x2) / 2, (mark.y + mark.y2) / 2


def mark_svg(mark: Mark, sheet: Sheet) -> str:
    """A reading: crossed out and dashed where it was not used."""
    x, y = sheet.at(mark.x, mark.y)
    if mark.x2 is None or mark.y2 is None:
        drawn = _point(mark.kind, x, y)
    else:
        x2, y2 = sheet.at(mark.x2, mark.y2)
        dashed = 'stroke-dasharray="0.8 0.6"' if mark.rejected else ""
        drawn = line(x, y, x2, y2, INK, 0.32, dashed) + _ends(mark.kind, x, y, x2, y2)
    if mark.rejected:
        mx, my = sheet.at(*middle(mark))
        drawn += line(mx - 1.3, my - 1.3, mx + 1.3, my + 1.3, WARN, 0.6)
        drawn += line(mx - 1.3, my + 1.3, mx + 1.3, my - 1.3, WARN, 0.6)
    return drawn


def next_svg(mark: Mark, sheet: Sheet) -> str:
    """The reading to take next: the heaviest line of the drawing."""
    x, y = sheet.at(mark.x, mark.y)
    if mark.x2 is None or mark.y2 is None:
        return circle(x, y, 1.8, "none", "#fff", 1.7) + circle(x, y, 1.8, "none", ASK, 0.9)
    x2, y2 = sheet.at(mark.x2, mark.y2)
    return (
        line(x, y, x2, y2, "#fff", 1.9)
        + line(x, y, x2, y2, ASK, 1.0)
        + circle(x, y, 1.1, ASK)
        + circle(x2, y2, 1.1, "#fff", ASK, 0.6)
    )


def spot_svg(spot: Spot, sheet: Sheet) -> str:
    """A high spot: a triangle on the dashed line of the straightedge that rocks on it."""
    x, y = sheet.at(spot.x, spot.y)
    x2, y2 = (x, y) if spot.x2 is None or spot.y2 is None else sheet.at(spot.x2, spot.y2)
    mx, my = sheet.at(*middle(spot))
    return (
        line(x, y, x2, y2, WARN, 0.35, 'stroke-dasharray="2 1"')
        + f'<path d="M{mx:.2f} {my - 1.6:.2f}l1.5 2.7h-3Z" fill="#fff" stroke="{WARN}" stroke-width="0.45"/>'
    )


def _point(kind: str, x: float, y: float) -> str:
    if kind == "tap":
        return circle(x, y, 1.0, "#fff", INK, 0.35)
    if kind == "press":
        return (
            f'<rect x="{x - 0.9:.2f}" y="{y - 0.9:.2f}" width="1.8" height="1.8" fill="#fff" stroke="{INK}" '
            f'stroke-width="0.35"/>'
        )
    return line(x - 1, y, x + 1, y, INK, 0.4) + line(x, y - 1, x, y + 1, INK, 0.4)


def _ends(kind: str, x: float, y: float, x2: float, y2: float) -> str:
    """A wedge stands at its far end (ring), a slope points where it was read to, a straightedge has two feet."""
    if kind == "wedge":
        return circle(x, y, 0.6, INK) + circle(x2, y2, 0.6, "#fff", INK, 0.3)
    length = math.hypot(x2 - x, y2 - y) or 1.0
    ux, uy = (x2 - x) / length, (y2 - y) / length
    if kind == "slope":
        head = (
            f"M{x2:.2f} {y2:.2f}l{-1.5 * ux - 0.6 * uy:.2f} {-1.5 * uy + 0.6 * ux:.2f}l{1.2 * uy:.2f} {-1.2 * ux:.2f}Z"
        )
        return f'<path d="{head}" fill="{INK}"/>'
    return "".join(line(px - uy, py + ux, px + uy, py - ux, INK, 0.4) for px, py in ((x, y), (x2, y2)))
