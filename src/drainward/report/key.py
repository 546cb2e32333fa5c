"""The layout of a key under a drawing: samples beside their meaning, in rows as wide as the sheet.

Swatch, Item                 what draws a sample; a sample with its meaning
rows_height, rows_svg        the key's height, and the key
hatched, ramped              samples of a hatching and of a row of colours
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from textwrap import wrap

from drainward.report.ink import GREY, INK, text
from drainward.report.labels import text_width

__all__ = ["SWATCH", "Item", "Swatch", "hatched", "ramped", "rows_height", "rows_svg"]

Swatch = Callable[[float, float], str]
"""Draws a sample whose middle left is at (x, y), SWATCH wide, mm."""

Item = tuple[Swatch, str]

SWATCH, GAP, SIZE = 9.0, 1.2, 2.4
LINE, BETWEEN = 3.2, 1.2
"""Height of a line of words and the space between rows, mm."""


@dataclass(frozen=True, slots=True)
class _Entry:
    """A sample at (left, top) in the key, mm, and its words broken into lines."""

    swatch: Swatch
    lines: tuple[str, ...]
    left: float
    top: float


def rows_height(items: Sequence[Item], width: float) -> float:
    """Height that `rows_svg` needs, mm."""
    return BETWEEN + max(
        (entry.top + LINE * len(entry.lines) + BETWEEN for entry in _entries(items, width)), default=0.0
    )


def rows_svg(items: Sequence[Item], left: float, top: float, width: float) -> list[str]:
    """A sample and its meaning for each item, mm."""
    drawn = []
    for entry in _entries(items, width):
        x, y = left + entry.left, top + entry.top + LINE / 2
        drawn.append(entry.swatch(x, y))
        drawn += [text(x + SWATCH + GAP, y + 0.85 + k * LINE, words, SIZE, INK) for k, words in enumerate(entry.lines)]
    return drawn


def hatched(pattern: str, colour: str, dashes: str = "") -> Swatch:
    """A box filled with one of `ink.patterns`."""

    def draw(x: float, y: float) -> str:
        return (
            f'<rect x="{x:.2f}" y="{y - 1.4:.2f}" width="{SWATCH}" height="2.8" fill="url(#{pattern})" '
            f'stroke="{colour}" stroke-width="0.35" stroke-dasharray="{dashes}"/>'
        )

    return draw


def ramped(colours: Sequence[str]) -> Swatch:
    """The colours side by side."""

    def draw(x: float, y: float) -> str:
        wide = SWATCH / len(colours)
        return "".join(
            f'<rect x="{x + k * wide:.2f}" y="{y - 1.4:.2f}" width="{wide:.2f}" height="2.8" fill="{colour}" '
            f'stroke="{GREY}" stroke-width="0.1"/>'
            for k, colour in enumerate(colours)
        )

    return draw


def _entries(items: Sequence[Item], width: float) -> list[_Entry]:
    """Side by side while there is room, else in the next row; words too long for a row are broken."""
    fits = max(8, int((width - SWATCH - GAP) / text_width("x", SIZE)))
    entries: list[_Entry] = []
    left, top, high = 0.0, 0.0, 0
    for swatch, words in items:
        lines = tuple(wrap(words, fits))
        wide = SWATCH + GAP + max(text_width(line, SIZE) for line in lines) + 3
        if left and left + wide > width:
            left, top, high = 0.0, top + LINE * high + BETWEEN, 0
        entries.append(_Entry(swatch, lines, left, top))
        left, high = left + wide, max(high, len(lines))
    return entries
