"""Where words go on a drawing so that they do not cover each other: `Labels`, greedy, most important words first."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["Labels", "Spot", "around", "text_width"]

Spot = tuple[float, float, str]
"""x and baseline y of a text in mm, and its SVG text-anchor."""

Box = tuple[float, float, float, float]


def text_width(words: str, size: float) -> float:
    """Width of words in mm at a font size in mm; DejaVu Sans is 0.6 of its size wide on average."""
    return 0.6 * size * len(words)


def around(x: float, y: float, reach: float, size: float) -> tuple[Spot, ...]:
    """Places beside (x, y), `reach` away, best first: right, left, above, below, then the four corners. All in mm."""
    low = y + 0.35 * size
    over, under = y - reach, y + reach + 0.75 * size
    return (
        (x + reach, low, "start"),
        (x - reach, low, "end"),
        (x, over, "middle"),
        (x, under, "middle"),
        (x + reach, over, "start"),
        (x - reach, over, "end"),
        (x + reach, under, "start"),
        (x - reach, under, "end"),
    )


class Labels:
    """Words already placed, as boxes inside the frame (left, top, right, bottom), mm."""

    def __init__(self, frame: Box) -> None:
        self._frame = frame
        self._taken: list[Box] = []

    def block(self, box: Box) -> None:
        """Keep words off a box."""
        self._taken.append(box)

    def place(self, words: str, size: float, spots: Iterable[Spot]) -> Spot | None:
        """The first spot where the words touch nothing placed before, now taken; None where there is none."""
        for spot in spots:
            box = _box(words, size, spot)
            if self._inside(box) and not any(_overlap(box, other) for other in self._taken):
                self._taken.append(box)
                return spot
        return None

    def insist(self, words: str, size: float, spots: tuple[Spot, ...]) -> Spot:
        """As `place`, but the words must be shown: where no spot is free, the one that covers least."""
        free = self.place(words, size, spots)
        if free is not None:
            return free

        def cover(spot: Spot) -> float:
            box = _box(words, size, spot)
            return sum(_overlap(box, other) for other in self._taken) + (0.0 if self._inside(box) else 1e3)

        best = min(spots, key=cover)
        self._taken.append(_box(words, size, best))
        return best

    def _inside(self, box: Box) -> bool:
        left, top, right, bottom = self._frame
        return left <= box[0] and top <= box[1] and box[2] <= right and box[3] <= bottom


def _box(words: str, size: float, spot: Spot) -> Box:
    x, y, anchor = spot
    width = text_width(words, size)
    left = {"start": x, "middle": x - width / 2, "end": x - width}[anchor]
    return left, y - 0.8 * size, left + width, y + 0.2 * size


def _overlap(a: Box, b: Box) -> float:
    """Shared area, mm2."""
    width = min(a[2], b[2]) - max(a[0], b[0])
    height = min(a[3], b[3]) - max(a[1], b[1])
    return width * height if width > 0 and height > 0 else 0.0
