"""A brace in elevation, seen from the opening: `brace_svg`. To scale, lengths written where they are cut."""

from __future__ import annotations

from itertools import pairwise

from drainward.hold.brace import SECTIONS, Brace
from drainward.quantity import format_length
from drainward.report.ink import FONT, GREY, INK, line, text

__all__ = ["brace_svg"]

_LEFT, _RIGHT, _TOP, _BOTTOM = 3.0, 3.0, 8.0, 13.0
_WOOD = "#f0e6d2"


def brace_svg(brace: Brace, width_mm: float) -> str:
    """One SVG document, `width_mm` wide: floor, padded feet, board, posts, wedges, head plate, the ceiling."""
    scale = (width_mm - _LEFT - _RIGHT) / brace.length
    thick = SECTIONS[brace.section][0]
    under = max(foot.height for foot in brace.feet)
    plate = under + thick + brace.post_length
    # What is left between posts and head plate is taken up by wedges and pads.
    top = max(brace.head.length, plate + thick)
    height = _TOP + top * scale + _BOTTOM

    def at(x: float, z: float) -> tuple[float, float]:
        return _LEFT + (x - brace.left) * scale, _TOP + (top - z) * scale

    def box(x: float, z: float, wide: float, high: float, fill: str = _WOOD) -> str:
        left, upper = at(x, z + high)
        return (
            f'<rect x="{left:.2f}" y="{upper:.2f}" width="{wide * scale:.2f}" height="{high * scale:.2f}" '
            f'fill="{fill}" stroke="{INK}" stroke-width="0.25"/>'
        )

    foot_wide, post_wide = SECTIONS[brace.section][1], SECTIONS[brace.post_section][0]
    end = brace.left + brace.length
    drawn = [line(*at(brace.left, top), *at(end, top), INK, 0.7)]
    for foot in brace.feet:
        left = min(max(foot.x - foot_wide / 2, brace.left), end - foot_wide)
        drawn.append(box(left, under - foot.height, foot_wide, foot.height))
    floor = [at(foot.x, under - foot.height) for foot in brace.feet]
    for (xa, ya), (xb, yb) in pairwise(floor):
        drawn.append(line(xa, ya, xb, yb, INK, 0.5))
    drawn += [box(brace.left, under, brace.length, thick), box(brace.left, top - thick, brace.length, thick)]
    for x in brace.posts:
        drawn.append(box(x - post_wide / 2, under + thick, post_wide, brace.post_length))
        drawn.append(box(x - post_wide, plate, 2 * post_wide, max(top - thick - plate, 0.0), GREY))
    x, y = at(brace.posts[0], (under + thick + plate) / 2)
    turned = f'text-anchor="middle" transform="rotate(-90 {x + 4:.2f} {y:.2f})"'
    drawn.append(text(x + 4, y, f"post {brace.post_section}, {format_length(brace.post_length)}", 2.6, INK, turned))
    middle = 'text-anchor="middle"'
    drawn.append(text(width_mm / 2, _TOP - 3, f"over the {brace.place}: ceiling or framing", 2.6, INK, middle))
    x, y = at(brace.left + brace.length / 2, under + thick)
    drawn.append(text(x, y - 1.2, f"board {brace.section}, {format_length(brace.length)}", 2.6, INK, middle))
    base = height - _BOTTOM
    for foot in brace.feet:
        drawn.append(text(at(foot.x, 0)[0], base + 4, format_length(foot.height), 1.9, INK, middle))
        drawn.append(text(at(foot.x, 0)[0], base + 7, format_length(foot.x), 1.9, GREY, middle))
    drawn.append(text(_LEFT, base + 11, "feet: height; below it, from the left wall", 2.1, GREY))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="{height:.1f}mm" '
        f'viewBox="0 0 {width_mm} {height:.1f}" {FONT}>' + "".join(drawn) + "</svg>"
    )
