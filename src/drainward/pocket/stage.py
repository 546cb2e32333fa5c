"""Before the unit is set: the stages survey, dry set and set of one room.

survey_stage    does the room take the unit: pocket, unit as it arrived, rules of the room, which models would do
dry_set_stage   where the unit stands, its shims, its drain and its threshold
set_stage       holes, screws and blocking; zones of bars, seat and controls; what must be in first
Survey, DrySet, SetOut   their answers
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from drainward.errors import StageError
from drainward.finding import Certainty, Finding, Source, Verdict, overall, stage_json
from drainward.floor.judge import judged_on
from drainward.floor.stage import unit_of
from drainward.job.model import Job, Received, Room, UnitModel
from drainward.pocket.adjust import Adjusted, Blunder, adjust
from drainward.pocket.ask import place_words
from drainward.pocket.backing import Backing, Conflict, backings, conflicts, with_backing, zone_findings
from drainward.pocket.framing import framing_findings
from drainward.pocket.limits import limits_of
from drainward.pocket.mend import change_words
from drainward.pocket.order import Before, before
from drainward.pocket.place import Placement, place
from drainward.pocket.receive import receive_findings, received_unit
from drainward.pocket.sampled import ROOM, Sampled, findings, sampled
from drainward.pocket.says import survey_says
from drainward.pocket.screws import DIAMETERS, SPECIES, Line, Screw, Wood, schedule
from drainward.pocket.setout import FramedWall, Layout, Run, framed_walls, practice, runs, set_out, setout_findings
from drainward.pocket.shape import Wall
from drainward.pocket.zones import Zone, zones
from drainward.quantity import INCH, format_length
from drainward.rules import RuleBook, load_rules
from drainward.rules.room_check import Choice, room_findings, room_sizes, which_units

__all__ = ["DrySet", "SetOut", "Survey", "dry_set_stage", "set_stage", "survey_stage"]

SHIM_AND_FLANGE = 0.25 * INCH
"""Between a screw's head and the wood behind the flange (common practice, no source)."""
_SAMPLES = 1000


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """Whether the room takes the unit.

    unit : as it arrived, where it was measured;  adjusted : the pocket and what became of each measure
    placed, drawn : the unit in it, and over all that the survey leaves open
    says : takes it, mend this first, wrong unit, or what to measure, in a sentence;  units : which models would do
    """

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    unit: UnitModel
    adjusted: Adjusted
    placed: Placement
    drawn: Sampled
    says: str
    units: tuple[Choice, ...]
    stage: str = "survey"

    @property
    def goes_in(self) -> Verdict:
        """Whether the unit goes into its pocket, whatever else stands against it."""
        return _goes_in(self.findings)

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the survey (docs/json.md); SI throughout."""
        asked = self.adjusted.asked
        return {
            **stage_json(self),
            "says": self.says,
            "goes_in": self.drawn.goes_in,
            "room_left": self.placed.room,
            "sizes": {str(what): {"value": v, "u": u} for what, (v, u) in self.adjusted.sizes.items()},
            "next_measure": None
            if asked is None
            else {
                "what": str(asked.what), "wall": asked.wall, "x": asked.x, "y": asked.y, "z": asked.z,
                "goes_in": asked.goes_in, "settles": asked.settles, "why": asked.why,
            },
            "blunders": [
                {"id": b.measure.id, "line": b.measure.line, "expected": b.expected, "u": b.u, "off": b.off,
                 "rivals": [rival.id for rival in b.rivals]}
                for b in self.adjusted.blunders
            ],
            "refused": [{"id": r.measure.id, "line": r.measure.line, "why": r.why} for r in self.adjusted.refused],
            "measures": len(self.adjusted.residuals),
            "units": [choice.as_json() for choice in self.units],
        }  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class DrySet:
    """Where the unit stands in its pocket."""

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    unit: UnitModel
    adjusted: Adjusted
    placed: Placement
    drawn: Sampled
    stage: str = "dry set"

    @property
    def goes_in(self) -> Verdict:
        """Whether the unit goes into its pocket, whatever else stands against it."""
        return _goes_in(self.findings)

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the dry set (docs/json.md); SI throughout."""
        placed, pocket = self.placed, self.adjusted.pocket
        faces = [
            {
                "wall": Wall(int(pocket.wall[s.index])).name.lower(), "stud": int(pocket.stud[s.index]) + 1,
                "at": float(pocket.at[s.index]), "z": float(pocket.z[s.index]), "thickness": s.thickness, "u": s.u,
            }
            for s in placed.shims
        ]  # fmt: skip
        heights = placed.heights
        return {
            **stage_json(self),
            "goes_in": self.drawn.goes_in,
            "room_left": placed.room,
            "shift": list(placed.shift),
            "turn": placed.turn,
            "shims": faces,
            "largest_shim": {"value": placed.largest, "u": placed.u_largest},
            "drain_off": _pair(placed.drain_off),
            "drain_clearance": {"value": _finite(placed.clearance), "u": _finite(placed.u_clearance)},
            "line_off": _pair(placed.line_off),
            "rise": {"value": _finite(heights.rise), "u": _finite(heights.u_rise)},
            "pipe_cut": {"value": _finite(heights.cut), "within": _finite(heights.cut_within)},
            "binding": [
                {"what": b.what, "index": b.index, "touches": b.touches, "gain": b.gain, "up_to": _finite(b.up_to)}
                for b in placed.binding
            ],
            "change": None if placed.change is None else change_words(pocket, placed.change),
        }


@dataclass(frozen=True, slots=True, eq=False)
class SetOut:
    """Holes, screws and what hangs on the walls."""

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    unit: UnitModel
    walls: Mapping[Wall, FramedWall]
    layouts: tuple[Layout, ...]
    screws: tuple[Line, ...]
    zones: tuple[Zone, ...]
    backings: tuple[Backing, ...]
    conflicts: tuple[Conflict, ...]
    before: tuple[Before, ...]
    stage: str = "set"

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the set-out (docs/json.md); SI throughout."""
        return {
            **stage_json(self),
            "holes": [
                {
                    "run": layout.run.name, "wall": layout.run.wall.name.lower(), "open": layout.open,
                    "holes": [{"at": hole.at, "z": hole.z, "wood": hole.wood} for hole in layout.holes],
                    "add": [{"from": b.start, "to": b.end, "bottom": b.bottom, "top": b.top} for b in layout.add],
                }
                for layout in self.layouts
            ],
            "screws": [
                {"use": line.use, "screw": line.screw.words, "count": line.count, "each": line.each}
                for line in self.screws
            ],
            "zones": [
                {"kind": zone.kind, "wall": zone.wall.name.lower(), "from": zone.start, "to": zone.end,
                 "low": zone.low, "high": zone.high, "force": zone.force}
                for zone in self.zones
            ],
            "conflicts": [{"kind": c.zone.kind, "why": c.why, "do": c.do} for c in self.conflicts],
            "before": [{"what": b.what, "before": b.before, "why": b.why} for b in self.before],
        }  # fmt: skip


def survey_stage(job: Job, room: str, *, samples: int = _SAMPLES, seed: int = 0) -> Survey:
    """Does the room take its unit, by what was measured of its pocket and of the unit as it arrived.

    Raises StageError when the job has no such room or the room no unit model; InputError where the sizes received make
    no unit.
    """
    sheet, here = unit_of(job, room), _room(job, room)
    book = load_rules(job.rules)
    arrived = tuple(row for row in job.received if row.room == room)
    unit, adjusted, placed, drawn = _placed(job, room, sheet, arrived, samples, seed)
    sizes = room_sizes(here, job.survey)
    stands = findings(unit, adjusted.pocket, placed, drawn, job, book)
    known = {finding.id for finding in stands}
    told = (
        *stands,
        *_withheld(adjusted),
        *framing_findings(unit, adjusted, placed.heights, _drain_clear(stands, book, job.rules.shower), job, book),
        *receive_findings(sheet, arrived, job.risk),
        # What the placement answers of this pocket, such as the threshold's rise, is not asked of the cut sheet again.
        *(finding for finding in room_findings(job, book, here, unit, sizes) if finding.id not in known),
    )

    def fits(model: UnitModel) -> Verdict:
        own = sampled(model, adjust(model, _measures(job, room), job.risk).pocket, limits, samples, seed)
        return judged_on(ROOM, own.room, "", job.risk).finding.verdict

    limits = limits_of(book, job.rules.shower)
    units = which_units(job, book, here, fits, sizes)
    verdict = overall(f.verdict for f in told if f.decides)
    says = survey_says(verdict, _goes_in(told), told, unit, adjusted, placed, units)
    return Survey(room, verdict, told, unit, adjusted, placed, drawn, says, units)


def dry_set_stage(job: Job, room: str, *, samples: int = _SAMPLES, seed: int = 0) -> DrySet:
    """Where the unit stands in its pocket, with what at each stud. Raises as `survey_stage`."""
    sheet = unit_of(job, room)
    arrived = tuple(row for row in job.received if row.room == room)
    unit, adjusted, placed, drawn = _placed(job, room, sheet, arrived, samples, seed)
    told = (*findings(unit, adjusted.pocket, placed, drawn, job, load_rules(job.rules)), *_withheld(adjusted))
    verdict = overall(f.verdict for f in told if f.decides)
    return DrySet(room, verdict, told, unit, adjusted, placed, drawn)


def set_stage(job: Job, room: str) -> SetOut:
    """Holes and screws of the flanges, the zones of what hangs on the walls and the wood behind them.

    Raises as `survey_stage`; StageError where the flange is too narrow for a hole, the job's screws find too little
    wood, or its fittings have no wall to hang on.
    """
    arrived = tuple(row for row in job.received if row.room == room)
    sheet = unit_of(job, room)
    unit, _ = received_unit(sheet, arrived)
    book, shower = load_rules(job.rules), job.rules.shower
    walls = framed_walls(_measures(job, room))
    rule, flanges = practice(book, shower), runs(unit)
    fittings = sheet.fittings.over(job.fittings)
    framing = job.framing
    wood = Wood(SPECIES[framing.species], framing.depth)
    screw = Screw(framing.screw_size, DIAMETERS[framing.screw_size], framing.screw_length)
    try:
        layouts = tuple(set_out(walls[run.wall], run, rule) for run in flanges if run.wall in walls)
        lines = schedule(layouts, screw, wood, SHIM_AND_FLANGE)
        hung = zones(unit, book, shower, fittings)
    except ValueError as error:
        raise StageError(str(error)) from error
    bare = [run for run in flanges if run.wall not in walls]
    backed = backings(hung, walls, unit, wood, SHIM_AND_FLANGE)
    hurdles = conflicts(hung, with_backing(walls, backed), flanges, unit)
    told = (
        *setout_findings(layouts, rule, job.risk),
        *map(_no_studs, bare),
        *zone_findings(hung, backed, hurdles),
    )
    verdict = overall(f.verdict for f in told if f.decides)
    behind = [Wall[name.upper()] for name in fittings.open_behind or ()]
    order = before(layouts, backed, hung, behind)
    return SetOut(room, verdict, told, unit, walls, layouts, lines, hung, backed, hurdles, order)


def _placed(
    job: Job, room: str, sheet: UnitModel, arrived: Iterable[Received], samples: int, seed: int
) -> tuple[UnitModel, Adjusted, Placement, Sampled]:
    unit, sizes = received_unit(sheet, arrived)
    limits = limits_of(load_rules(job.rules), job.rules.shower)
    adjusted = adjust(unit, _measures(job, room), job.risk, limits, sizes, samples, seed)
    return unit, adjusted, place(unit, adjusted.pocket, limits), sampled(unit, adjusted.pocket, limits, samples, seed)


def _goes_in(findings: Iterable[Finding]) -> Verdict:
    return next(finding.verdict for finding in findings if finding.id == ROOM.id)


def _drain_clear(findings: Iterable[Finding], book: RuleBook, shower: str) -> Verdict | None:
    """Whether the drain's body has its room in the core; None where no rule asks or the unit does not go in."""
    verdicts = {finding.id: finding.verdict for finding in findings}
    asked = [verdicts[row.id] for row in book.requirements("pocket.drain_clearance", shower) if row.id in verdicts]
    return overall(asked) if asked and verdicts[ROOM.id] is not Verdict.FAILS else None


def _measures(job: Job, room: str) -> tuple[Any, ...]:
    return tuple(measure for measure in job.survey if measure.room == room)


def _room(job: Job, room: str) -> Room:
    return next(r for r in job.rooms if r.room == room)


def _withheld(adjusted: Adjusted) -> tuple[Finding, ...]:
    """A finding that holds the verdict open until somebody measures again where a measure contradicts the rest."""
    if not adjusted.blunders:
        return ()
    told = [f"{place_words(b.measure)}: {_asked_again(b)}" for b in adjusted.blunders]
    return (
        Finding(
            id="survey/contradiction",
            what="Measures that contradict the others and were not taken again",
            value=float(len(told)),
            u=None,
            unit="1",
            limit="none",
            probability=None,
            verdict=Verdict.NOT_PROVEN,
            source=str(Source("", "", "", Certainty.PRACTICE)),
            advice=f"Measure again: {'; '.join(told)}.",
        ),
    )


def _asked_again(blunder: Blunder) -> str:
    """What the others say of a measure that they contradict, and which may be wrong in its place."""
    line = "" if blunder.measure.line is None else f" (line {blunder.measure.line})"
    says = (
        f"{format_length(blunder.measure.value)} was written{line}, the others let expect "
        f"{format_length(blunder.expected)}"
    )
    rivals = ", ".join(place_words(rival) for rival in blunder.rivals)
    stud = "" if blunder.stud is None else f"; or {blunder.stud} stands out of line"
    return says + (f"; it may as well be {rivals} that is wrong" if rivals else "") + stud


def _no_studs(run: Run) -> Finding:
    """A flange on a wall whose wood nobody measured: nothing is known of its holes."""
    wall = run.wall.name.lower()
    return Finding(
        id=f"setout/{wall}-{run.way}",
        what=f"Holes without wood behind them: {run.name}",
        value=None,
        u=None,
        unit="1",
        limit="no hole without wood",
        probability=None,
        verdict=Verdict.NOT_PROVEN,
        source=str(Source("", "", "", Certainty.PRACTICE)),
        advice=f"Measure the middle of every stud on the {wall} wall, and what blocking there is.",
    )


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _pair(values: tuple[float, float]) -> list[float | None]:
    return [_finite(value) for value in values]
