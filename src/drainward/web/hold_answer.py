"""What holds a unit made ready for the page's templates: plain words, numbers and drawings only.

support_answer   whether the bed carries the floor
hold_answer   the order of fastening, the braces, the clock, with the cautions of each
done_rows     what was done, as it is listed
WORKS         what can be entered: its name, its words, how its value is written
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from drainward.job.model import Job, SettingEvent, UnitModel, Work
from drainward.job.setting_file import VALUED
from drainward.report.cautions import setting_cautions
from drainward.web.answer import card

if TYPE_CHECKING:
    from drainward.hold.room import RoomHold
    from drainward.hold.support import Supported
    from drainward.web.desk import Before

__all__ = ["WORKS", "done_rows", "hold_answer", "support_answer"]

_NAMES = {
    Work.GAP_UNDER_THRESHOLD: "Gap under the threshold",
    Work.BED_PLACED: "Bed placed",
    Work.FASTENED: "Fastened",
    Work.BRACES_ON: "Braces on",
    Work.BRACES_OFF: "Braces off",
    Work.SLAB_TEMPERATURE: "Slab temperature",
    Work.AIR_TEMPERATURE: "Air temperature",
    Work.MORTAR_USED: "Mortar used",
    Work.CORRECTED: "Pocket corrected",
    Work.SECOND_LOOK: "Second look passed",
    Work.HEAD_OVER_DRAIN: "Ceiling over the drain",
    Work.HEAD_OVER_THRESHOLD: "Ceiling over the threshold",
}
WORKS = tuple((str(work), name, VALUED[work].example if work in VALUED else "") for work, name in _NAMES.items())


def support_answer(found: Supported | None, unit: UnitModel) -> dict[str, Any] | None:
    """What the template needs of the support; None where there is none."""
    if found is None:
        return None
    from drainward.report.hold_words import support_lines
    from drainward.report.support_svg import support_svg
    from drainward.report.words import of_findings

    return {
        "headline": of_findings(found.verdict, found.findings),
        "picture": support_svg(found, unit, 180.0),
        "lines": support_lines(found),
        "do": found.do,
        "steps": found.steps,
        "assumed": found.assumed,
        "cards": [card(finding) for finding in found.findings],
        "cautions": setting_cautions(unit, "support"),
    }


def hold_answer(job: Job, unit: UnitModel, hold: RoomHold, before: Before | None) -> dict[str, Any]:
    """What the templates need of the three stages; before : for the picture of the walls."""
    from drainward.report.brace_svg import brace_svg
    from drainward.report.fasten_svg import fasten_svg
    from drainward.report.hold_words import brace_lines, clock_words, piece_rows, still_open, turn_rows
    from drainward.report.setout_svg import elevations
    from drainward.report.words import of_findings

    fasten, brace, cure = hold.fasten, hold.brace, hold.cure
    walls = () if before is None else elevations(before.set_out)
    shows: dict[str, Any] = {
        "refused": hold.refused,
        "cautions": {stage: setting_cautions(unit, stage) for stage in ("bed", "fasten", "brace", "cure")},
        "walls": fasten_svg(walls, fasten.turns) if walls and fasten is not None else "",
        "fasten": None,
        "brace": None,
        "clock": None,
    }
    if fasten is not None:
        shows["fasten"] = {
            "headline": of_findings(fasten.verdict, fasten.findings),
            "open": still_open(fasten),
            "turns": turn_rows(fasten.turns),
            "screws": [(line.use, line.count, line.screw.words) for line in fasten.screws],
            "steps": fasten.steps,
            "cards": [card(finding) for finding in fasten.findings],
        }
    if brace is not None:
        shows["brace"] = {
            "headline": of_findings(brace.verdict, brace.findings),
            "lines": brace_lines(brace),
            "pictures": [brace_svg(one, 90.0) for one in brace.braces],
            "pieces": piece_rows(brace),
            "assumed": brace.assumed,
            "steps": brace.steps,
            "cards": [card(finding) for finding in brace.findings],
        }
    if cure is not None:
        shows["clock"] = clock_words(cure, job.site)
        shows["cure_cards"] = [card(finding) for finding in cure.findings]
    return shows


def done_rows(events: Iterable[SettingEvent]) -> list[dict[str, str]]:
    """Newest first, as written down."""
    return [
        {
            "id": event.id,
            "what": _NAMES[event.what],
            "value": event.written,
            "by": " · ".join(
                text for text in (f"{event.when:%Y-%m-%d %H:%M %Z}".strip(), event.who, event.note) if text
            ),
        }
        for event in reversed(tuple(events))
    ]
