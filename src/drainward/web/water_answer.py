"""A water test made ready for the page's templates: `water_answer`, plain words and numbers only."""

from __future__ import annotations

from typing import Any

from drainward.floor.film.result import Water
from drainward.quantity import format_volume
from drainward.report.water_words import answered, expected, hang_rule, hang_says, recorded, remarks, water_headline
from drainward.report.words import chance, place, shown
from drainward.web.answer import card

__all__ = ["water_answer"]


def water_answer(water: Water) -> dict[str, Any]:
    """What the templates of a room's water need."""
    return {
        "headline": water_headline(water),
        "expected": expected(water),
        "answered": answered(water),
        "cards": [card(finding) for finding in water.findings],
        "hang": hang_says(water.hang),
        "rule": hang_rule(water.hang),
        "remarks": remarks(water),
        "tests": [(seen.test.id, seen.agrees, told) for seen, told in zip(water.seen, recorded(water), strict=True)],
        "ponds": [
            (place(p.x, p.y), shown(p.depth, None, "m"), format_volume(p.volume), format_volume(p.volume, "L"),
             chance(p.probability))
            for p in water.ponds
        ],
        "used": water.used,
        "rejected": len(water.rejected),
        "samples": water.samples,
    }  # fmt: skip
