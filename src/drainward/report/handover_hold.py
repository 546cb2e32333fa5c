"""What holds one room's unit, as a page of its handover.

Hold, hold_of   the stages fasten, brace and cure of one room at a time, and what was done
hold_page       what the layout shows of them (handover_hold.typ)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from drainward.bed.result import BedPlan
from drainward.finding import Finding
from drainward.floor.result import Draft
from drainward.hold.room import RoomHold, room_hold
from drainward.hold.stage import BracePlan, FastenPlan
from drainward.hold.support import Supported, support_stage
from drainward.job.model import Job, ReadingKind, SettingEvent, UnitModel
from drainward.pocket.stage import SetOut
from drainward.report.brace_svg import brace_svg
from drainward.report.cautions import setting_cautions
from drainward.report.fasten_svg import fasten_svg
from drainward.report.hold_words import brace_lines, clock_words, piece_rows, support_lines, turn_rows
from drainward.report.setout_svg import Elevation, elevations
from drainward.report.support_svg import support_svg
from drainward.report.words import of_findings

__all__ = ["Hold", "hold_of", "hold_page"]

Rows = Callable[[Sequence[Finding]], list[dict[str, str]]]
"""Findings as the layout's tables show them."""
_PICTURE, _PLAN = 60.0, 110.0
"""Widths of a brace's drawing and of the bed's plan, mm."""


@dataclass(frozen=True, slots=True)
class Hold:
    """at : when the clock was read, aware of its zone;  setting : of this room alone;  walls : with their holes."""

    at: datetime
    setting: tuple[SettingEvent, ...]
    stages: RoomHold
    support: Supported | None
    walls: tuple[Elevation, ...] = ()


def hold_of(
    job: Job, room: str, draft: Draft | None, bed: BedPlan | None, at: datetime, set_out: SetOut | None = None
) -> Hold | None:
    """The stages of one room at `at`; None where nobody wrote down that anything was done when its unit was set.

    draft : None where nobody read the floor;  bed : as `brace_stage` takes it;  set_out : for the picture of the screws
    """
    setting = tuple(event for event in job.setting if event.room == room)
    if not setting:
        return None
    tapped = any(r.room == room and r.kind in (ReadingKind.TAP, ReadingKind.PRESS) for r in job.readings)
    stages = room_hold(job, room, None if draft is None else draft.verdict, bed, at)
    support = support_stage(job, room) if tapped and stages.brace is not None else None
    return Hold(at, setting, stages, support, () if set_out is None else elevations(set_out))


def hold_page(job: Job, unit: UnitModel, hold: Hold, rows: Rows) -> dict[str, Any]:
    """The data of the page, as JSON types."""
    stages = hold.stages
    told = (stages.fasten, stages.brace, stages.cure, hold.support)
    findings = [f for stage in told if stage for f in stage.findings]
    return {
        "at": f"{hold.at.astimezone(ZoneInfo(job.site.time_zone)):%Y-%m-%d %H:%M %Z}",
        "refused": stages.refused,
        "clock": None if stages.cure is None else asdict(clock_words(stages.cure, job.site)),
        "fasten": None if stages.fasten is None else _fasten(stages.fasten, hold.walls),
        "brace": None if stages.brace is None else _brace(stages.brace),
        "support": None if hold.support is None else _support(hold.support, unit),
        "done": [
            (f"{event.when:%Y-%m-%d %H:%M %Z}".strip(), str(event.what), event.written, event.who)
            for event in hold.setting
        ],
        "findings": rows(findings),
        "cautions": [
            words for stage in ("fasten", "brace", "cure", "support") for words in setting_cautions(unit, stage)
        ],
    }


def _support(found: Supported, unit: UnitModel) -> dict[str, Any]:
    said = of_findings(found.verdict, found.findings)
    return {
        "verdict": str(said.verdict),
        "says": said.says,
        "lines": [*support_lines(found), *found.steps],
        "assumed": list(found.assumed),
        "picture": support_svg(found, unit, _PLAN),
    }


def _fasten(plan: FastenPlan, walls: tuple[Elevation, ...]) -> dict[str, Any]:
    said = of_findings(plan.verdict, plan.findings)
    return {
        "verdict": str(said.verdict),
        "says": said.says,
        "picture": fasten_svg(walls, plan.turns) if walls else "",
        "turns": turn_rows(plan.turns),
        "screws": [f"{line.count} {line.screw.words}: {line.use}" for line in plan.screws],
    }


def _brace(plan: BracePlan) -> dict[str, Any]:
    said = of_findings(plan.verdict, plan.findings)
    return {
        "verdict": str(said.verdict),
        "says": said.says,
        "lines": brace_lines(plan),
        "pieces": piece_rows(plan),
        "pictures": [brace_svg(brace, _PICTURE) for brace in plan.braces],
        "assumed": plan.assumed,
    }
