"""The key under a picture: only what the picture shows."""

from __future__ import annotations

from drainward.report.ink import WARN, WATER, Sheet
from drainward.report.key import SWATCH, Item, Swatch, hatched, ramped, rows_height, rows_svg
from drainward.report.marks import mark_svg, spot_svg
from drainward.report.picture import Mark, Picture, Spot, inches

__all__ = ["key_height", "key_svg", "reaches_out"]

WORDS = {
    "height": "spot height",
    "wedge": "level and wedge, wedge at the ring",
    "slope": "slope, read along the arrow",
    "chord": "straightedge",
    "tap": "tap",
    "press": "press",
}


def key_height(picture: Picture, width: float, show: str) -> float:
    """Height that `key_svg` needs, mm."""
    return rows_height(_items(picture, show), width)


def key_svg(picture: Picture, left: float, top: float, width: float, show: str) -> list[str]:
    """A sample and its meaning for each kind of mark in the picture, mm."""
    return rows_svg(_items(picture, show), left, top, width)


def _items(picture: Picture, show: str) -> list[Item]:
    if show == "mortar":
        items = [(hatched("take-out", WARN), "take mortar out"), (hatched("put-in", WATER), "put mortar in")]
        return [item for item, do in zip(items, ("take", "put"), strict=True) if _any_bed(picture, do)]
    scale = picture.scale
    low, high = inches(scale.low), inches(scale.high)
    heights = f"height over the drain: {low} dark to {high} light, a line each {scale.step_label}"
    items = [(ramped([band.colour for band in picture.bands]), heights)]
    if any(pond.chance >= 0.5 for pond in picture.ponds):
        items.append((hatched("likely", WATER), "water stands here, more likely than not"))
    if any(pond.chance < 0.5 for pond in picture.ponds):
        items.append((hatched("possible", WATER, "1 0.7"), "may stand here: not excluded at 95 %"))
    if picture.high_spots:
        items.append((_high, "high spot under a straightedge"))
    kinds = dict.fromkeys(mark.kind for mark in picture.readings)
    items += [(_mark(Mark(kind, 0, 0, *_far(kind), "")), WORDS.get(kind, kind)) for kind in kinds]
    if reaches_out(picture):
        items.append((_nothing, "readings beyond the opening are drawn short"))
    if any(mark.rejected for mark in picture.readings):
        items.append((_mark(Mark("wedge", 0, 0, SWATCH, 0, "", rejected=True)), "reading not used"))
    return items


def _any_bed(picture: Picture, do: str) -> bool:
    return any(bed.do.startswith(do) for bed in picture.mortar)


def reaches_out(picture: Picture) -> bool:
    """Whether a reading, or the next one, lies on the threshold or outside."""
    marks = (*picture.readings, *(() if picture.next is None else (picture.next,)))
    return any(max(mark.y, mark.y2 or 0.0) > picture.depth + 1e-3 for mark in marks)


def _nothing(_x: float, _y: float) -> str:
    return ""


def _far(kind: str) -> tuple[float | None, float | None]:
    return (SWATCH, 0.0) if kind in ("wedge", "slope", "chord") else (None, None)


def _mark(mark: Mark) -> Swatch:
    def draw(x: float, y: float) -> str:
        shift = 0.0 if mark.x2 is not None else SWATCH / 2
        return mark_svg(mark, Sheet(x + shift, y, 1.0))

    return draw


def _high(x: float, y: float) -> str:
    return spot_svg(Spot("high spot", 0, 0, SWATCH, 0, ""), Sheet(x, y, 1.0))
