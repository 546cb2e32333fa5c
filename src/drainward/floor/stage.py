"""The draft stage: from one room's readings to its findings, its picture, the next reading and the mend.

draft_stage       all of it for one room of a job
unit_of           the unit model of a room
algebra_threads   the algebra library's threads, to be held to one
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import ThreadpoolController

from drainward.errors import StageError
from drainward.finding import Finding, Verdict, overall
from drainward.floor.ask import next_reading, tools
from drainward.floor.contradict import ask_again, contradictions, unsettled, withheld
from drainward.floor.doubt import prudent
from drainward.floor.drawn import Progress, drawn
from drainward.floor.fall import extreme
from drainward.floor.judge import Judged, Look, judge, look
from drainward.floor.mend import CURED, THRESHOLD, best_move, mend, mortar_map, mortar_places
from drainward.floor.ponds import list_ponds
from drainward.floor.result import Ask, Draft, FloorMap, Mend
from drainward.floor.shape import INCH
from drainward.floor.straightedge import high_spots
from drainward.floor.threshold import threshold_rise
from drainward.job.model import Job, Reading, ReadingKind, UnitModel
from drainward.rules import RuleBook, evaluate_normal, load_rules

__all__ = ["algebra_threads", "draft_stage", "unit_of"]

Array = NDArray[np.float64]

WET = frozenset({"set", "draft"})
"""Stages at which the bed is still wet, so that the unit can be moved."""

ASK_FLOORS, MEND_FLOORS = 448, 256
"""So many drawn floors tell which reading to take next, and what a turn of the unit does, as well as all do."""


def draft_stage(
    job: Job,
    room: str,
    readings: tuple[Reading, ...],
    *,
    stage: str = "draft",
    samples: int = 1000,
    seed: int = 0,
    threads: int = 2,
    progress: Progress | None = None,
) -> Draft:
    """Findings of one room's floor from its readings.

    samples : drawn floors; up to 256 are taken on a half-inch grid, as a first estimate
    seed, threads : of the draws; the answer depends on the seed and samples alone
    progress : called with what is being done and the share done
    Raises StageError when the job has no such room or the room no unit model.
    """
    # Thousands of small products: the algebra library's own threads would wait for each other on a busy machine.
    with algebra_threads().limit(limits=1, user_api="blas"):
        return _draft(job, room, readings, stage, samples, seed, threads, progress)


@cache
def algebra_threads() -> ThreadpoolController:
    """To be limited to one where many small products are taken."""
    return ThreadpoolController()


def _draft(
    job: Job,
    room: str,
    readings: tuple[Reading, ...],
    stage: str,
    samples: int,
    seed: int,
    threads: int,
    progress: Progress | None,
) -> Draft:
    tell = progress or (lambda what, share: None)
    unit = unit_of(job, room)
    d = drawn(unit, readings, samples, seed, threads, tell)
    belief, used, rejected = d.belief, d.used, d.rejected
    seen = look(d.surfaces, job, threads, tell)
    book = load_rules(job.rules)
    judged = judge(seen, job, book)
    contradicted, again = contradictions(belief, used, seen.floors), unsettled(belief, used)
    findings = tuple(j.finding for j in judged) + _threshold(unit, readings, job, book) + withheld(again)
    tell("choosing the next reading", 0.9)
    ask = ask_again(again[0]) if again else _ask(unit, job, seen, judged, used, seed)
    cured = stage not in WET
    verdict = overall(finding.verdict for finding in findings if finding.decides)
    repair = _repair(unit, seen, judged, cured, book, job) if verdict is Verdict.FAILS else None
    tell("done", 1.0)
    return Draft(
        room=room,
        stage=stage,
        verdict=verdict,
        findings=findings,
        fall_min=extreme(seen.falls, least=True),
        fall_max=extreme(seen.falls, least=False),
        base=job.fall_base,
        ponds=list_ponds(seen.floors, seen.water, job.pond_counts),
        high_spots=high_spots(seen.straightedge, seen.rocked, INCH / 32),
        next_reading=ask,
        mend=repair,
        used=len(used) - len(contradicted),
        rejected=rejected + contradicted,
        map=_map(seen),
        samples=seen.floors.count,
    )


def unit_of(job: Job, room: str) -> UnitModel:
    """Raises StageError when the job has no such room or the room no unit model."""
    for r in job.rooms:
        if r.room == room:
            if r.unit not in job.units:
                raise StageError(f"room {room} names the unit model {r.unit!r}, which the job does not have")
            return job.units[r.unit]
    raise StageError(f"the job has no room {room!r}")


def _threshold(unit: UnitModel, readings: tuple[Reading, ...], job: Job, book: RuleBook) -> tuple[Finding, ...]:
    rise = threshold_rise(unit, readings)
    if rise is None:
        return ()
    advice = "" if rise[0] >= 0 else "The threshold lies below the finished floor: water runs out over it."
    return tuple(
        evaluate_normal(requirement, rise[0], rise[1], job.risk, advice)
        for requirement in book.requirements("threshold.rise", job.rules.shower)
    )


def _open(judged: list[Judged], risk: float) -> list[Judged]:
    """Those that more readings can settle: neither proven nor refuted on the drawn floors."""
    return [j for j in judged if risk < prudent(j.conforms) < 1 - risk]


def _ask(
    unit: UnitModel, job: Job, seen: Look, judged: list[Judged], used: tuple[Reading, ...], seed: int
) -> Ask | None:
    """The reading that settles most of what is open; None when nothing is, or when the floor fails already."""
    if any(j.finding.verdict is Verdict.FAILS for j in judged):
        return None
    still = _open(judged, job.risk)
    if not still:
        return None
    conforms = np.logical_and.reduce([j.conforms for j in still])
    if conforms.all() or not conforms.any():
        conforms = still[0].conforms
    datum_known = any(r.kind is ReadingKind.HEIGHT for r in used)
    rng = np.random.default_rng(seed + 2)
    some = seen.floors.part(ASK_FLOORS)
    found = next_reading(
        unit,
        lambda x, y: some.at(x, y, seen.threads),
        conforms[: some.count],
        tools(job.instruments.values()),
        rng,
        spacing=(3 if seen.floors.count > 256 else 4) * INCH,
        datum_known=datum_known,
    )
    if found is None:
        return None
    asked = " and ".join(sorted({j.finding.what[:1].lower() + j.finding.what[1:] for j in still}))
    return replace(found[0], why=f"still open: {asked}; {found[0].why}")


def _repair(
    unit: UnitModel,
    seen: Look,
    judged: list[Judged],
    cured: bool,
    book: RuleBook,
    job: Job,
) -> Mend:
    """What to do about a room that fails."""
    if cured:
        return Mend((), (), None, None, (), CURED)
    if not any(j.finding.verdict is Verdict.FAILS for j in judged):
        return Mend((), (), None, None, (), THRESHOLD)
    return _mend(unit, seen, book, job)


def _mend(unit: UnitModel, seen: Look, book: RuleBook, job: Job) -> Mend:
    lows = [r.low for r in book.requirements("floor.fall.least", job.rules.shower) if r.low is not None]
    highs = [r.high for r in book.requirements("floor.fall.greatest", job.rules.shower) if r.high is not None]
    low, high = (max(lows) if lows else None), (min(highs) if highs else None)
    size = float(np.hypot(unit.inside_width, unit.inside_depth))

    some = seen.floors.part(MEND_FLOORS)

    def chance(turn: Array) -> float:
        """Of meeting every row that decides, all judged anew on some of the floors after the turn."""
        again = judge(look(some.turned(turn), job, seen.threads, lambda what, share: None), job, book)
        return prudent(np.logical_and.reduce([j.conforms for j in again if j.finding.decides]))

    turn = best_move(seen.falls, low, high, size) if low is not None or high is not None else np.zeros(2)
    x, y = seen.floors.x, seen.floors.y
    return mend(unit, turn, chance, mortar_places(mortar_map(seen.mean, seen.floors.base, x, y), seen.sd, x, y))


def _map(seen: Look) -> FloorMap:
    s = seen.floors
    every = max(round(4 * INCH / (s.x[1] - s.x[0])), 1)
    gy, gx = (np.asarray(g) for g in np.gradient(seen.mean, s.y, s.x))
    rows, columns = np.arange(every // 2, len(s.y), every), np.arange(every // 2, len(s.x), every)
    i, j = (g.ravel() for g in np.meshgrid(rows, columns, indexing="ij"))
    steep = np.hypot(gx[i, j], gy[i, j])
    off_drain = np.hypot(s.x[j] - seen.unit.drain.x, s.y[i] - seen.unit.drain.y) > 1.5 * seen.unit.drain.radius
    keep = (steep > 1e-4) & off_drain
    i, j, steep = i[keep], j[keep], steep[keep]
    arrows = np.stack([s.x[j], s.y[i], -gx[i, j] / steep, -gy[i, j] / steep], axis=1)
    drain = np.unravel_index(
        np.hypot(s.x[None, :] - seen.unit.drain.x, s.y[:, None] - seen.unit.drain.y).argmin(), seen.mean.shape
    )
    return FloorMap(
        s.x, s.y, seen.mean - seen.mean[drain], seen.sd, seen.water.probability,
        mortar_map(seen.mean, s.base, s.x, s.y), arrows,
    )  # fmt: skip
