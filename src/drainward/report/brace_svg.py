"""A brace in elevation, seen from the opening: `brace_svg`. Lengths are written where they are cut."""

from __future__ import annotations

from itertools import pairwise

from drainward.hold.brace import SECTIONS, Brace
from drainward.quantity import format_length
from drainward.report.ink import FONT, GREY, INK, line, text

__all__ = ["brace_svg"]

_LEFT, _RIGHT, _TOP, _BOTTOM = 2.0, 2.0, 6.0, 10.5
_POST = 22.0
"""Posts are drawn no longer than this, mm: their length is written beside them."""
_WOOD = "#f0e6d2"


def brace_svg(brace: Brace, width_mm: float) -> str:
    """One SVG document, `width_mm` wide: to scale but for the length of the posts."""
    scale = (width_mm - _LEFT - _RIGHT) / brace.length
    thick, foot_wide = (size * scale for size in SECTIONS[brace.section])
    post_wide = SECTIONS[brace.post_section][0] * scale
    # From below: floor, feet, board, posts, wedges, head plate.
    high = max(foot.height for foot in brace.feet) * scale
    posts, wedges = min(brace.post_length * scale, _POST), 0.4 * thick
    base = _TOP + thick + wedges + posts + thick + high
    board, plate, bottom = base - high, _TOP, base + _BOTTOM

    def across(x: float) -> float:
        return _LEFT + (x - brace.left) * scale

    end, middle = width_mm - _RIGHT, 'text-anchor="middle"'
    drawn = [line(_LEFT, _TOP, end, _TOP, INK, 0.7)]
    for foot in brace.feet:
        left = min(max(across(foot.x) - foot_wide / 2, _LEFT), end - foot_wide)
        drawn.append(_box(left, board, foot_wide, foot.height * scale))
        drawn.append(text(left + foot_wide / 2, base + 3.5, format_length(foot.height), 1.8, INK, middle))
        drawn.append(text(left + foot_wide / 2, base + 6, format_length(foot.x), 1.8, GREY, middle))
    floor = [(across(foot.x), board + foot.height * scale) for foot in brace.feet]
    drawn += [line(xa, ya, xb, yb, INK, 0.5) for (xa, ya), (xb, yb) in pairwise(floor)]
    drawn += [_box(_LEFT, board - thick, end - _LEFT, thick), _box(_LEFT, plate, end - _LEFT, thick)]
    for x in map(across, brace.posts):
        drawn.append(_box(x - post_wide / 2, plate + thick + wedges, post_wide, posts))
        drawn.append(_box(x - post_wide, plate + thick, 2 * post_wide, wedges, GREY))
        cut = plate + thick + wedges + posts / 2
        drawn += [line(x - post_wide, cut + k, x + post_wide, cut + k - 0.8, INK, 0.25) for k in (0.0, 0.8)]
    at = width_mm / 2
    posts_say = f"{len(brace.posts)} posts {brace.post_section}, {format_length(brace.post_length)} (drawn short)"
    drawn += [
        text(at, _TOP - 2.5, f"Over the {brace.place}: head plate against the ceiling", 2.3, INK, middle),
        text(at, plate + thick + wedges + posts / 4, posts_say, 2.3, INK, middle),
        text(at, board - thick - 1.2, f"board {brace.section}, {format_length(brace.length)}", 2.3, INK, middle),
        text(_LEFT, base + 9.2, "feet: height; below, from the left wall", 1.8, GREY),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="{bottom:.1f}mm" '
        f'viewBox="0 0 {width_mm} {bottom:.1f}" {FONT}>' + "".join(drawn) + "</svg>"
    )


def _box(left: float, top: float, wide: float, high: float, fill: str = _WOOD) -> str:
    return (
        f'<rect x="{left:.2f}" y="{top:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="{fill}" stroke="{INK}" '
        f'stroke-width="0.25"/>'
    )
