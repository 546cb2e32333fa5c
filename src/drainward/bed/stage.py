"""The bed stage of one room: from its survey to what is filled, mixed, combed and laid.

`bed_stage` does all of it for one room of a job.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from drainward.bed.batches import batches
from drainward.bed.bead import Bead, bead, bead_over
from drainward.bed.judge import bed_findings, known_enough, next_spot, off_limits
from drainward.bed.mix import Mix, mix
from drainward.bed.result import BedPlan, SpotAsked
from drainward.bed.ridges import USUAL, Squeeze, squeeze, zones
from drainward.bed.void import Underside, Void, box_out_of, spots_of, void
from drainward.errors import NoBedError
from drainward.finding import Certainty, Finding, Source, Verdict, overall
from drainward.floor.stage import algebra_threads, unit_of
from drainward.job.materials import Adhesive, Mortar
from drainward.job.model import Job, UnitModel, What, Work
from drainward.pocket.adjust import Adjusted, adjust
from drainward.pocket.ask import place_words
from drainward.pocket.limits import limits_of
from drainward.pocket.place import place
from drainward.pocket.receive import received_unit
from drainward.quantity import INCH, format_length
from drainward.rules import load_rules

__all__ = ["bed_stage"]

_NO_HEIGHT = (
    "The cut sheet does not tell how far the threshold's lip stands over the floor (threshold_lip): measure it on the "
    "unit and write it into the sheet."
)
_NO_SPOT = (
    "Nobody read the slab under the unit: read nine spots or more with the laser, near the corners, the middles of the "
    "sides and round the recess, and three before the opening from the same set-up."
)
_OF_THE_BED = (What.SLAB, What.BUILD_UP, What.RECESS_WIDTH, What.RECESS_DEPTH, What.RECESS_DEEP)

Progress = Callable[[str, float], None]


def bed_stage(
    job: Job,
    room: str,
    *,
    mortar: Mortar | None = None,
    adhesive: Adhesive | None = None,
    temperature: float | None = None,
    level: float = 0.95,
    samples: int = 400,
    seed: int = 0,
    progress: Progress | None = None,
) -> BedPlan:
    """The bed under one room's unit, as its pocket was surveyed and the unit is to stand in it.

    mortar, adhesive : None for those of the job's materials
    temperature : of the slab, degC; None as it was read nearest to the placing, else what the site says of slabs
    level : certainty that what is mixed is enough
    Raises StageError where the job has no such room, the room no unit model, the survey no pocket that a unit can be
    placed in; NoBedError where the unit stands on its own base; InputError where the sizes received make no unit.
    """
    tell = progress or (lambda what, share: None)
    unit = _bedded(job, room)
    tell("adjusting the survey", 0.1)
    measures = [measure for measure in job.survey if measure.room == room]
    adjusted = adjust(unit, measures, job.risk)
    placed = place(unit, adjusted.pocket, limits_of(load_rules(job.rules), job.rules.shower))
    mortar = mortar or job.materials.mortar
    read = _slab_read(job, room) if temperature is None else temperature
    warm = job.site.temperature if read is None else read
    laid = bead(unit.inside_width, adhesive or job.materials.adhesive)
    where = np.array([*placed.shift, placed.turn])
    spots = spots_of(unit, measures, where, _left_out(adjusted))
    missing = _NO_HEIGHT if not np.isfinite(placed.heights.drain) else _NO_SPOT if spots.outside.all() else ""
    if missing:
        return _without(room, missing, laid)
    tell("drawing slabs", 0.4)
    box = box_out_of(unit, adjusted.pocket, adjusted.sizes, where)
    with algebra_threads().limit(limits=1, user_api="blas"):
        under = void(unit, spots, box, Underside(placed.heights.drain, placed.heights.rise), samples, seed)
    tell("mixing", 0.8)
    off, combed = off_limits(under, mortar, job.risk), zones(under)
    mixed = _mixed(under, mortar, level, job.risk)
    mixes = None if mixed is None else batches(mixed, combed, mortar, warm)
    gap = _gap(job, room)
    findings = (*bed_findings(under, mixed, mixes, laid, mortar, off, job.risk, gap), *_withheld(adjusted))
    asked = next_spot(under, findings)
    return BedPlan(
        room=room,
        verdict=overall(finding.verdict for finding in findings if finding.decides),
        findings=tuple(_told(finding, asked) for finding in findings),
        void=under,
        off_limits=off,
        zones=combed,
        mix=mixed,
        batches=mixes,
        bead=laid if gap is None else bead_over(gap, laid, job.risk) or laid,
        squeeze=_squeezed(under),
        asked=asked,
        assumed=_assumed(under, adjusted, warm if read is None else None),
    )


def _slab_read(job: Job, room: str) -> float | None:
    """The slab's temperature as read nearest to when the bed was placed, or last while it was not, degC."""
    done = [event for event in job.setting if event.room == room]
    read = [event for event in done if event.what is Work.SLAB_TEMPERATURE]
    if not read:
        return None
    placed = [job.site.utc(event.when) for event in done if event.what is Work.BED_PLACED]
    last = max(placed or (job.site.utc(event.when) for event in read))
    return min(read, key=lambda event: abs(job.site.utc(event.when) - last)).value


def _gap(job: Job, room: str) -> tuple[float, float] | None:
    """The largest gap under the threshold that the last day of dry setting showed, and its uncertainty, m."""
    told = [event for event in job.setting if event.room == room and event.what is Work.GAP_UNDER_THRESHOLD]
    if not told:
        return None
    last = max(job.site.utc(event.when).date() for event in told)
    of_last = [e for e in told if job.site.utc(e.when).date() == last and e.value is not None and e.u is not None]
    return max(((e.value or 0.0, e.u or 0.0) for e in of_last), default=None)


def _mixed(under: Void, mortar: Mortar, level: float, risk: float) -> Mix | None:
    """Nothing is mixed for a volume that is not known."""
    if under.volume <= 0 or known_enough(under, mortar) < 1 - risk:
        return None
    return mix(under.volume, under.u, mortar, level)


def _without(room: str, missing: str, laid: Bead) -> BedPlan:
    """What is left where the void is not known."""
    told = (_not_known(missing),)
    return BedPlan(room, Verdict.NOT_PROVEN, told, None, (), (), None, None, laid, None, None, ())


def _squeezed(under: Void) -> Squeeze:
    """Of the usual comb pressed to the bed's mean."""
    floor = (under.unit.inside_width, under.unit.inside_depth)
    return squeeze(max(float(under.mean[~under.boxed].mean()), INCH / 16), USUAL, floor)


def _bedded(job: Job, room: str) -> UnitModel:
    """The unit as it arrived."""
    unit, _ = received_unit(unit_of(job, room), [row for row in job.received if row.room == room])
    if unit.style != "bedded":
        raise NoBedError(f"the unit of room {room} stands on its own base: it has no bed of mortar")
    return unit


def _left_out(adjusted: Adjusted) -> tuple[str, ...]:
    """Ids of measures that the others contradict, or that cannot belong to this pocket."""
    wrong = [m.id for blunder in adjusted.blunders for m in (blunder.measure, *blunder.rivals)]
    return (*wrong, *(refused.measure.id for refused in adjusted.refused))


def _withheld(adjusted: Adjusted) -> tuple[Finding, ...]:
    """Spots and sizes that the others contradict hold the bed open until somebody measures there again."""
    told = [place_words(b.measure) for b in adjusted.blunders if b.measure.what in _OF_THE_BED]
    if not told:
        return ()
    return (
        Finding(
            id="bed/contradiction",
            what="Heights of the slab that contradict the others and were not read again",
            value=float(len(told)),
            u=None,
            unit="1",
            limit="none",
            probability=None,
            verdict=Verdict.NOT_PROVEN,
            source=str(Source("", "", "", Certainty.PRACTICE)),
            advice=f"Measure again: {'; '.join(told)}. A bump may be real: then read beside it too.",
        ),
    )


def _told(finding: Finding, asked: SpotAsked | None) -> Finding:
    """An open finding says which spot height to read next."""
    if asked is None or finding.id != asked.finding:
        return finding
    at = f"{format_length(asked.x)} from the left and {format_length(asked.y)} from the back of the unit"
    ask = f"Too near to tell: read one more spot height of the slab at {at}, from the last set-up."
    return replace(finding, advice=f"{finding.advice} {ask}".strip())


def _not_known(ask: str) -> Finding:
    return Finding(
        id="bed/volume",
        what="Mortar that the void takes",
        value=None,
        u=None,
        unit="m3",
        limit="known to within a bag",
        probability=None,
        verdict=Verdict.NOT_PROVEN,
        source=str(Source("", "", "", Certainty.PRACTICE)),
        advice=ask,
    )


def _assumed(under: Void, adjusted: Adjusted, warm: float | None) -> tuple[str, ...]:
    """What stands for something that nobody measured or wrote down; warm : of the slab where it is assumed, degC."""
    told = []
    if not under.box.measured:
        told.append('The recess is taken as 10" by 10", 1-1/2" deep: tape it.')
    if What.BUILD_UP not in adjusted.sizes:
        told.append('The floor still to come outside is taken as 3/8" thick: measure it or ask.')
    if not under.spots.outside.any():
        told.append("No spot before the opening ties the slab to the finished floor: read three from the same set-up.")
    if warm is not None:
        told.append(f"The slab is taken to be at {warm * 1.8 + 32:.0f} °F: measure it.")
    return tuple(told)
