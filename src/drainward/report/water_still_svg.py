"""The still of a water test as SVG for paper: `still_svg`.

Readable in grey: the longer water runs over a place the darker it is; where it may stand is hatched; what was seen is
ringed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from drainward.report.ink import ASK, FONT, INK, WATER, Sheet, area, circle, patterns, text
from drainward.report.key import SWATCH, Item, Swatch, hatched, ramped, rows_height, rows_svg
from drainward.report.labels import Labels, around
from drainward.report.picture import inches
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
from drainward.report.stream_svg import STREAM_HEIGHT, stream_svg
from drainward.report.water_still import Stain, Still

__all__ = ["still_svg"]

SILL = 3.6
"""Height of the threshold as drawn, mm: it is not to scale."""
_SMALLEST = 1.4  # radius of a ring, mm


def still_svg(still: Still, width_mm: float) -> str:
    """The plan with its key and the stream below it, as one SVG document `width_mm` wide, opening side down.

    Raises ValueError when the width leaves no room for the floor.
    """
    if not width_mm > 3 * (LEFT + RIGHT):
        raise ValueError(f"a still is wider than {3 * (LEFT + RIGHT):.0f} mm, got {width_mm!r}")
    across = width_mm - LEFT - RIGHT
    sheet = Sheet(LEFT, TOP, across / still.width, still.depth, SILL)
    right, bottom = sheet.at(still.width, still.depth)
    labels = Labels((LEFT, TOP, right, bottom))
    under = bottom + SILL + BAR
    items = _items(still)
    graph = under + rows_height(items, across)
    height = graph + STREAM_HEIGHT
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width_mm:.2f} {height:.2f}" {FONT} role="img" aria-label="{_title(still)}">'
    )
    parts = [
        opening,
        patterns(),
        *_floor(sheet, still, labels),
        *_sill(sheet, still),
        *frame_svg(sheet, still.width, still.depth),
        *rows_svg(items, LEFT, under, across),
        *stream_svg(still.stream, LEFT, graph, across),
        "</svg>",
    ]
    return "\n".join(part for part in parts if part)


def _title(still: Still) -> str:
    likely = sum(pond.chance >= 0.5 for pond in still.ponds)
    return f"plan of the water: {len(still.until)} lines of time, {likely} likely puddles, {len(still.seen)} seen"


def _floor(sheet: Sheet, still: Still, labels: Labels) -> list[str]:
    drain = drain_svg(sheet, still.drain, labels)
    words = list(_words(sheet, still, labels))
    return [
        *(area(sheet, wet.paths, wet.colour) for wet in still.wet),
        *(contour_svg(sheet, until.paths, until.main) for until in still.until),
        area(sheet, still.bare, "#fff"),
        *(pond_svg(sheet, pond) for pond in still.ponds),
        *(_ring(sheet, stain) for stain in still.seen),
        *_poured(sheet, still),
        *drain,
        *words,
    ]


def _words(sheet: Sheet, still: Still, labels: Labels) -> Iterator[str]:
    """All words of the floor, most important first: what comes later gives way."""
    for stain in still.seen:
        spots = around(*sheet.at(stain.x, stain.y), _radius(sheet, stain) + 0.8, 2.7)
        yield label(labels, stain.label, 2.7, ASK, spots, bold=True)
    for pond in still.ponds:
        if pond.label:
            spots = around(*sheet.at(pond.x, pond.y), reach(sheet, pond), 2.6)
            words = f"{'stands' if pond.chance >= 0.5 else 'may stand'} {pond.label}"
            yield label(labels, words, 2.6, DEEP_WATER, spots[2:] + spots[:2], bold=True)
    if still.pour is not None:
        x, y, name = still.pour
        yield label(labels, name, 2.4, INK, around(*sheet.at(x, y), 2.6, 2.4))
    for until in still.until:
        place = labels.place(until.label, 2.3, along(sheet, until.paths))
        if place is not None:
            yield put(until.label, 2.3, INK, place)


def _radius(sheet: Sheet, stain: Stain) -> float:
    return max((stain.across or 0.0) / 2 * sheet.scale, _SMALLEST)


def _ring(sheet: Sheet, stain: Stain) -> str:
    """A heavy ring as wide as the puddle was; dashed where nobody measured how wide."""
    x, y = sheet.at(stain.x, stain.y)
    r = _radius(sheet, stain)
    dashes = ' stroke-dasharray="1.2 0.8"' if stain.across is None else ""
    return circle(x, y, r, "none", "#fff", 1.6) + (
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}" fill="none" stroke="{ASK}" stroke-width="0.8"{dashes}/>'
    )


def _poured(sheet: Sheet, still: Still) -> list[str]:
    """A drop where the bucket or the head is."""
    if still.pour is None:
        return []
    x, y = sheet.at(*still.pour[:2])
    drop = "c.6 1.4 1.6 2.2 1.6 3.2a1.6 1.6 0 0 1 -3.2 0c0 -1 1 -1.8 1.6 -3.2Z"
    return [f'<path d="M{x:.2f} {y - 2.4:.2f}{drop}" fill="{INK}" stroke="#fff" stroke-width="0.5"/>']


def _sill(sheet: Sheet, still: Still) -> list[str]:
    x0, y0 = sheet.at(0, still.depth)
    x1, _ = sheet.at(still.width, still.depth)
    words = "threshold"
    if math.isfinite(still.lip):
        words += f", {inches(still.lip)} over the floor beside it" if still.lip > 0 else " without a lip"
    at = f'x="{x0:.2f}" y="{y0:.2f}" width="{x1 - x0:.2f}" height="{SILL}"'
    return [
        f'<rect {at} fill="#e4e4e4" stroke="{INK}" stroke-width="0.25"/>',
        text((x0 + x1) / 2, y0 + SILL - 1.1, words, 2.3, INK, 'text-anchor="middle"'),
    ]


def _items(still: Still) -> list[Item]:
    film = f"{still.film * 1000:.1f} mm"
    shades = [wet.colour for wet in still.wet]
    lasting = f"under more than {film} of water until the time on the line"
    items: list[Item] = [(ramped(shades), lasting)]
    if still.bare:
        items.append((ramped(["#ffffff"]), f"never under more than {film}"))
    if any(pond.chance >= 0.5 for pond in still.ponds):
        items.append((hatched("likely", WATER), "stands for good, more likely than not"))
    if any(pond.chance < 0.5 for pond in still.ponds):
        items.append((hatched("possible", WATER, "1 0.7"), "may stand: not excluded at 95 %"))
    if any(stain.across is not None for stain in still.seen):
        items.append((_sample(across=1.0), "puddle seen, as wide as it was"))
    if any(stain.across is None for stain in still.seen):
        items.append((_sample(across=None), "puddle seen, width not measured"))
    return items


def _sample(across: float | None) -> Swatch:
    def draw(x: float, y: float) -> str:
        return _ring(Sheet(0, 0, 1.0), Stain(0, x + SWATCH / 2, y, across, ""))

    return draw
