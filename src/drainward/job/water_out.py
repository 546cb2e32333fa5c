"""Water tests as rows of water.csv.

WATER_COLUMNS   its columns in order
water_cells     the row of one water test, by column
"""

from __future__ import annotations

from drainward.job.model import WaterTest
from drainward.job.puddles import parse_puddles, puddles_text
from drainward.job.written import (
    duration_text,
    flow_text,
    length_text,
    still_says,
    temperature_text,
    volume_text,
    when_text,
)
from drainward.quantity import parse_duration, parse_volume

__all__ = ["WATER_COLUMNS", "water_cells"]

WATER_COLUMNS = (
    *("room", "when", "who", "poured", "over", "how", "x", "y", "drained", "puddles"),
    *("soap", "hottest", "flow", "photo", "note", "id"),
)


def water_cells(test: WaterTest) -> dict[str, str]:
    """The row of a water test by column; what was written stands where it still says the same."""
    poured, drained, puddles = _written(test)
    return {
        "room": test.room,
        "when": when_text(test.when),
        "who": test.who,
        "poured": poured,
        "over": duration_text(test.over),
        "how": str(test.how),
        "x": "" if test.x is None else length_text(test.x),
        "y": "" if test.y is None else length_text(test.y),
        "drained": drained,
        "puddles": puddles,
        "soap": "yes" if test.soap else "",
        "hottest": "" if test.hottest is None else temperature_text(test.hottest),
        "flow": "" if test.flow is None else flow_text(test.flow),
        "photo": test.photo,
        "note": " ".join(test.note.split()),
        "id": test.id,
    }


def _written(test: WaterTest) -> tuple[str, str, str]:
    """The cells poured, drained and puddles: as they were written, or anew where that would not read back."""
    parts = test.written.split(" | ")
    poured, drained, puddles = parts if len(parts) == 3 else ("", "", "")
    if not still_says(poured, test.poured, lambda text: parse_volume(text).value):
        poured = volume_text(test.poured)
    if test.drained is None:
        drained = ""
    elif not still_says(drained, test.drained, lambda text: parse_duration(text, stopwatch=True).value):
        drained = duration_text(test.drained)
    if test.puddles is None:
        puddles = ""
    elif not still_says(puddles, test.puddles, lambda text: parse_puddles(text, _ANY, _ANY)):
        puddles = puddles_text(test.puddles)
    return poured, drained, puddles


_ANY = 1_000.0
"""Where a puddle may lie is not asked when it is written, m."""
