"""Whether the bed carries the floor made ready for the page: plain words, numbers and drawings only.

support_answer   what the template shows of it
tapping          what the page's script draws: the floor, where to tap it, what was heard
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from drainward.job.model import Reading, ReadingKind, UnitModel
from drainward.job.support import Support
from drainward.report.cautions import setting_cautions
from drainward.web.answer import card

if TYPE_CHECKING:
    from drainward.hold.support import Supported

__all__ = ["support_answer", "tapping"]


def support_answer(found: Supported, unit: UnitModel) -> dict[str, Any]:
    """What the template needs of the support."""
    from drainward.report.hold_words import support_lines
    from drainward.report.support_svg import support_svg
    from drainward.report.words import of_findings

    return {
        "headline": of_findings(found.verdict, found.findings),
        "picture": support_svg(found, unit, 110.0),
        "lines": support_lines(found),
        "do": found.do,
        "steps": found.steps,
        "assumed": found.assumed,
        "cards": [card(finding) for finding in found.findings],
        "cautions": setting_cautions(unit, "support"),
    }


def tapping(
    unit: UnitModel, readings: Iterable[Reading], found: Supported | None, limits: Support, cured: bool
) -> dict[str, Any]:
    """The floor to tap, lengths in m.

    limits : of the job, which tell how close to tap;  cured : how the bed is taken to be
    `next` is where a tap tells most, None where nobody knows.
    """
    from drainward.hold.support import tap_places

    tap = None if found is None else found.tap
    return {
        "width": unit.inside_width,
        "depth": unit.inside_depth,
        "drain": [unit.drain.x, unit.drain.y, unit.drain.radius],
        "places": tap_places(unit, limits),
        "next": None if tap is None else (tap.x, tap.y),
        "cured": cured,
        "heard": [
            {
                "id": one.id,
                "x": one.x,
                "y": one.y,
                "heard": "press" if one.kind is ReadingKind.PRESS else "solid" if one.value >= 0.5 else "hollow",
                "stage": one.stage,
            }
            for one in readings
        ],
    }
