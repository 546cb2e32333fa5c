"""From the screws to the cured bed: the stages fasten, brace and cure of one room.

fasten_stage   which screw after which; refused before the draft check
brace_stage    boards, posts and feet that hold the floor down while the bed sets, and their cut list
cure_stage     how old the bed is, and when its braces may come off and water may be poured
FastenPlan, BracePlan, Cure   their answers
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drainward.bed.result import BedPlan
from drainward.errors import NoBedError
from drainward.finding import Finding, Verdict, overall, stage_json
from drainward.floor.stage import unit_of
from drainward.hold.brace import Brace, Piece, brace_findings, braces, cut_list
from drainward.hold.clock import Clock, clock, clock_findings, last_of
from drainward.hold.fasten import STEPS, Turn, fasten_findings, order, passed
from drainward.hold.head import heads
from drainward.hold.uplift import Uplift, uplift
from drainward.job.model import Job, SettingEvent, UnitModel, Work
from drainward.pocket.receive import received_unit
from drainward.pocket.screws import Line
from drainward.pocket.stage import SHIM_AND_FLANGE, set_stage

__all__ = ["BracePlan", "Cure", "FastenPlan", "brace_stage", "cure_stage", "fasten_stage"]

BRACE_STEPS = tuple(
    """\
A clean soft pad under every foot, no grit below it; nothing hard touches the gelcoat, nothing stands on the drain.
Cut the posts by what is measured over the unit; stand them plumb, under joists or framing, not plasterboard alone.
Wedge in pairs from both sides, by hand until they hold, then one tap: the bubble on the floor does not move.
Both boards in turn, a little each; then read the floor again. Braces hold it where it lies, they never push it down.
Leave them until the clock says that they may come off, and write down when they did.
""".splitlines()
)
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class FastenPlan:
    """turns : one screw after the other;  screws : by run;  steps : what to do, in sentences."""

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    turns: tuple[Turn, ...]
    screws: tuple[Line, ...]
    steps: tuple[str, ...] = STEPS
    stage: str = "fasten"

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the fastening (docs/json.md); SI throughout."""
        return {
            **stage_json(self),
            "turns": [{"number": t.number, "run": t.run, "at": t.at, "z": t.z, "wood": t.wood} for t in self.turns],
            "screws": [
                {"use": line.use, "screw": line.screw.words, "count": line.count, "each": line.each}
                for line in self.screws
            ],
            "steps": list(self.steps),
        }


@dataclass(frozen=True, slots=True)
class BracePlan:
    """uplift : of the wet bed;  braces : over the drain and the threshold;  pieces : to cut
    assumed : what nobody measured, in sentences
    """

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    uplift: Uplift
    braces: tuple[Brace, ...]
    pieces: tuple[Piece, ...]
    assumed: tuple[str, ...]
    steps: tuple[str, ...] = BRACE_STEPS
    stage: str = "brace"

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the braces (docs/json.md); SI throughout."""
        return {
            **stage_json(self),
            "uplift": self.uplift.as_json(),
            "braces": [brace.as_json() for brace in self.braces],
            "pieces": [
                {"what": p.what, "section": p.section, "length": p.length, "count": p.count} for p in self.pieces
            ],
            "assumed": list(self.assumed),
            "steps": list(self.steps),
        }


@dataclass(frozen=True, slots=True)
class Cure:
    """The bed's clock and what follows from it."""

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    clock: Clock
    stage: str = "cure"

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the clock (docs/json.md); SI throughout."""
        return {**stage_json(self), "clock": self.clock.as_json()}


def fasten_stage(job: Job, room: str, draft: Verdict | None) -> FastenPlan:
    """In which order the screws of one room's flanges go in.

    draft : verdict of the draft check on the wet bed, None where there was none
    Raises StageError where the bed was not placed, there was no draft check or it fails; and as `set_stage`.
    """
    bedded = unit_of(job, room).style == "bedded"
    done = _done(job, room)
    placed = last_of(done, Work.BED_PLACED, job.site)
    checked = passed(room, draft, placed, bedded)
    out = set_stage(job, room)
    since = [last_of(done, work, job.site) for work in (Work.FASTENED, Work.BRACES_ON)]
    times = [None if time is None or (placed is not None and time < placed) else time for time in since]
    told = fasten_findings(checked, job.framing, SHIM_AND_FLANGE, times if bedded else (None, None), job.risk)
    verdict = overall(finding.verdict for finding in told if finding.decides)
    return FastenPlan(room, verdict, told, order(out.layouts), out.screws)


def brace_stage(job: Job, room: str, bed: BedPlan | None = None) -> BracePlan:
    """The braces of one room's unit on its wet bed.

    bed : as `bed_stage` answers; None, or without a void, for an ordinary one
    Raises StageError where the job has no such room or the room no unit model, NoBedError where it has its own base.
    """
    unit = _bedded(job, room)
    under = None if bed is None else bed.void
    lifted = uplift(unit, job.materials.mortar, under)
    survey = [measure for measure in job.survey if measure.room == room]
    over = heads(unit, survey, _done(job, room), job.site)
    found = braces(unit, lifted, over, job.materials, job.risk)
    told = brace_findings(found, job.materials, job.risk)
    verdict = overall(finding.verdict for finding in told if finding.decides)
    return BracePlan(room, verdict, told, lifted, found, cut_list(found), _assumed(lifted, found))


def cure_stage(job: Job, room: str, now: datetime) -> Cure:
    """The clock of one room's bed at `now`, which is aware of its zone.

    Raises StageError where nobody wrote down when the bed was placed, NoBedError where the unit has its own base.
    """
    unit = _bedded(job, room)
    found = clock(room, unit, job.setting, job.site, now, job.risk)
    told = clock_findings(found, job.risk)
    return Cure(room, overall(finding.verdict for finding in told if finding.decides), told, found)


def _done(job: Job, room: str) -> tuple[SettingEvent, ...]:
    return tuple(event for event in job.setting if event.room == room)


def _bedded(job: Job, room: str) -> UnitModel:
    """The unit as it arrived."""
    unit, _ = received_unit(unit_of(job, room), [row for row in job.received if row.room == room])
    if unit.style != "bedded":
        raise NoBedError(f"the unit of room {room} stands on its own base: it has no bed of mortar that sets under it")
    return unit


def _assumed(lifted: Uplift, found: tuple[Brace, ...]) -> tuple[str, ...]:
    told = []
    if lifted.assumed:
        told.append("The bed is taken to be an ordinary one: survey the slab to know how thick it is.")
    for brace in found:
        if not brace.head.known:
            told.append(f"Over the {brace.place} an 8 ft ceiling is taken: measure up from the unit first.")
        elif not brace.head.measured:
            told.append(f"Over the {brace.place} the survey's ceiling is taken: cut by a measure on the unit.")
    return tuple(told)
