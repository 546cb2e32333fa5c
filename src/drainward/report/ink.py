"""The few strokes that every drawing is made of: `Sheet`, `text`, `line`, `area` and the colours, in mm on paper.

Readable in grey: height is lightness, water is hatching, what matters more has the heavier line. Colours are taken or
darkened from the set of Okabe and Ito (2008), which all common kinds of colour vision tell apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

from drainward.report.contour import Path, Paths

__all__ = ["ASK", "FONT", "GREY", "INK", "WARN", "WATER", "Sheet", "area", "circle", "line", "patterns", "text"]

INK, GREY, WATER, WARN, ASK = "#1a1a1a", "#555555", "#0072b2", "#a34700", "#b0005f"
FONT = 'font-family="DejaVu Sans, sans-serif"'


@dataclass(frozen=True, slots=True)
class Sheet:
    """Where the plan lies on the paper: metres in, millimetres out.

    left, top : mm; scale : mm per m
    opening, strip : what lies beyond y = opening (m), on the threshold or outside, is drawn within `strip` mm of it
    """

    left: float
    top: float
    scale: float
    opening: float = math.inf
    strip: float = 0.0

    def at(self, x: float, y: float) -> tuple[float, float]:
        beyond = max(0.0, y - self.opening)
        return self.left + x * self.scale, self.top + (y - beyond) * self.scale + min(beyond * self.scale, self.strip)

    def path(self, points: Path, closed: bool = False) -> str:
        """The `d` of a path through plan points, m."""
        text = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in (self.at(*point) for point in points))
        return text + "Z" if closed else text


def text(x: float, y: float, words: str, size: float = 2.3, colour: str = INK, more: str = "") -> str:
    """Words with a white edge, so that they read over lines and hatching."""
    place = f'x="{x:.2f}" y="{y:.2f}" font-size="{size}" {more}'
    words = escape(words)
    return (
        f'<text {place} fill="#fff" stroke="#fff" stroke-width="0.7" stroke-linejoin="round">{words}</text>'
        f'<text {place} fill="{colour}">{words}</text>'
    )


def line(xa: float, ya: float, xb: float, yb: float, colour: str = INK, weight: float = 0.3, more: str = "") -> str:
    """A straight line; `more` takes further SVG attributes."""
    drawn = f"M{xa:.2f} {ya:.2f}L{xb:.2f} {yb:.2f}"
    return f'<path d="{drawn}" stroke="{colour}" stroke-width="{weight}" fill="none" {more}/>'


def circle(x: float, y: float, radius: float, fill: str, stroke: str = "none", weight: float = 0.3) -> str:
    """A disc or a ring."""
    return (
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" fill="{fill}" stroke="{stroke}" stroke-width="{weight}"/>'
    )


def area(sheet: Sheet, paths: Paths, fill: str, more: str = "") -> str:
    """Rings in the plan, m, filled by the even-odd rule."""
    if not paths:
        return ""
    rings = "".join(sheet.path(ring, closed=True) for ring in paths)
    return f'<path d="{rings}" fill="{fill}" fill-rule="evenodd" {more}/>'


def patterns() -> str:
    """Hatchings `likely` and `possible` (water), `take-out` and `put-in` (mortar)."""

    def hatch(name: str, gap: float, colour: str, weight: float, turn: int) -> str:
        return (
            f'<pattern id="{name}" width="{gap}" height="{gap}" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate({turn})"><path d="M0 {gap / 2}H{gap}" stroke="{colour}" '
            f'stroke-width="{weight}"/></pattern>'
        )

    return (
        "<defs>"
        + hatch("likely", 1.1, WATER, 0.4, 45)
        + hatch("possible", 2.4, WATER, 0.2, 45)
        + hatch("take-out", 1.2, WARN, 0.4, 45)
        + hatch("put-in", 1.8, WATER, 0.3, -45)
        + "</defs>"
    )
