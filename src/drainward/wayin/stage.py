"""How one room's unit gets in: ways to carry it, the clearest route, the tilt-up, the lift, what would open a way.

way_in_stage    all of it for one room of a job
TAPE            how well a plan taken with a tape is known
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from drainward.errors import StageError
from drainward.finding import overall
from drainward.floor.stage import unit_of
from drainward.job.model import Job
from drainward.quantity import INCH
from drainward.wayin.carry import UPRIGHT, Box, Errand, boxes, carried, most_clear
from drainward.wayin.changes import all_mended, altered, mend_words, smallest_change
from drainward.wayin.findings import HANDS, findings_of, lack_words
from drainward.wayin.lift import CAUTIONS, liftings
from drainward.wayin.lines import parted
from drainward.wayin.plan import Door, Place, Plan, barriers
from drainward.wayin.result import Carry, Change, WayIn
from drainward.wayin.route import Progress
from drainward.wayin.steps import steps_of

__all__ = ["TAPE", "way_in_stage"]

STAGE = "way in"
TAPE = 0.125 * INCH
"""Standard uncertainty of where a wall face stands in a plan taken with a tape, m; common practice, no source."""

_DOORS = 4


def way_in_stage(
    job: Job,
    room: str,
    plan: Plan,
    *,
    start: str = "",
    u: float = TAPE,
    people: int | None = None,
    progress: Progress | None = None,
) -> WayIn:
    """How the unit of `room` gets from the plan's start (by name; the first where blank) before its pocket.

    u : standard uncertainty of where each wall face stands, m;  people : who lift; None: the largest crew
    Raises StageError where the job has no such room or unit, or the plan no such start, goal or wall.
    """
    unit, tell = unit_of(job, room), progress or (lambda what, share: None)
    begin, goal = _ends(plan, room, start)
    if not plan.walls:
        raise StageError(f'the plan of floor "{plan.floor}" has no wall')
    errand = Errand(unit, plan, begin, goal, u)
    carries, ruled_out = _carries(errand, tell)
    best = carries[0]
    most, lacks = None, ""
    changes: tuple[Change, ...] = ()
    if not best.open:
        tell("proving what no way exceeds", 0.6)
        most = _most(errand, carries)
        # where only a ceiling is too low no door helps
        if best.low <= 0:
            changes, lacks = _changes(errand, best, most, tell)
    crew = people or max((c.people for c in job.crews), default=2)
    lifts = liftings(unit.mass, lying=best.tilt is not None)
    findings = findings_of(best, most, changes, lacks, lifts, crew, u, job.risk)
    tell("done", 1.0)
    return WayIn(
        room=room,
        stage=STAGE,
        verdict=overall(f.verdict for f in findings if f.decides),
        findings=findings,
        carries=carries,
        steps=steps_of(best, plan, begin, errand.stand),
        changes=changes,
        mass=unit.mass,
        people=lifts[-1].people,
        cautions=CAUTIONS,
        liftings=lifts,
        most=most,
        ruled_out=ruled_out,
    )


def _most(errand: Errand, carries: Sequence[Carry]) -> float:
    """What no way exceeds: of a unit higher than wide that gets under nothing lying down, what it keeps upright."""
    every = boxes(errand.unit)
    tall = errand.unit.outside_height >= max(errand.unit.outside_width, errand.unit.outside_depth)
    if tall and not _lower(errand.plan, every):
        return next(carry.high for carry in carries if carry.how == UPRIGHT)
    return most_clear(errand, _quiet).high


def _quiet(what: str, share: float) -> None:
    """Part of something that tells how far it is."""


def _ends(plan: Plan, room: str, start: str) -> tuple[Place, Place]:
    goal = plan.goal(room)
    if goal is None:
        raise StageError(f'the plan of floor "{plan.floor}" has no goal named "{room}": the opening of its pocket')
    begin = next((place for place in plan.starts if not start or place.name == start), None)
    if begin is None:
        raise StageError(f'the plan of floor "{plan.floor}" has no start{f" named {start}" if start else ""}')
    return begin, goal


def _carries(errand: Errand, tell: Progress) -> tuple[tuple[Carry, ...], tuple[str, ...]]:
    """Each way to carry it, the one to take first, and those that cannot end upright.

    Where hands have room beside it, it is carried upright rather than lying.
    """
    found: list[Carry] = []
    ruled_out = []
    every = boxes(errand.unit)
    for k, box in enumerate(every):

        def part(what: str, share: float, k: int = k, how: str = box.how) -> None:
            tell(f"{how}: {what}", 0.6 * (k + share) / len(every))

        carry = carried(errand, box, part)
        if isinstance(carry, str):
            ruled_out.append(carry)
        else:
            found.append(carry)
    return tuple(sorted(found, key=_rank)), tuple(ruled_out)


def _rank(carry: Carry) -> tuple[bool, float]:
    """The one to take first; of those that are not open the one that may lack least, to a millimetre."""
    return (False, -round(min(carry.low, HANDS), 4)) if carry.open else (True, -round(carry.high, 3))


def _changes(errand: Errand, best: Carry, most: float, tell: Progress) -> tuple[tuple[Change, ...], str]:
    """The smallest change of doors that opens a way, proved; else in words what lacks where no door helps."""
    plan, every = errand.plan, boxes(errand.unit)
    tell("looking for what would open a way", 0.7)
    widest = replace(errand, plan=all_mended(plan, every[0].height))
    beyond = carried(widest, every[0], _quiet)
    assert not isinstance(beyond, str)
    if beyond.high <= 0 and not _lower(widest.plan, every):
        return (), lack_words(beyond)
    doors = _doors(plan, best, beyond)
    done = 0

    def opened(changed: Plan, *, sign: bool = True) -> Carry | None:
        # lying down it covers more floor than upright, so it is only tried where that gets it under something
        tried = every if _lower(changed, every) else every[:1]
        for box in tried:
            carry = carried(replace(errand, plan=changed), box, _quiet, sign=sign)
            if isinstance(carry, Carry) and carry.open:
                return carry
        return None

    def opens(changed: Plan) -> bool:
        nonlocal done
        done += 1
        tell("looking for what would open a way", 0.7 + 0.3 * done / (done + 10))
        return opened(changed) is not None

    mends = smallest_change(plan, doors, every[0].height, min(most, 0.0), opens)
    carry = None if mends is None else opened(altered(plan, mends), sign=False)
    if mends is None or carry is None:
        return (), ""
    return (Change(mend_words(mends), carry.how, carry.low),), ""


def _lower(plan: Plan, every: Sequence[Box]) -> bool:
    """Whether something stands in the way of the unit upright that it gets under lying down."""
    faces = [len(barriers(plan, box.height)[0]) for box in every]
    return min(faces) < faces[0]


def _doors(plan: Plan, best: Carry, beyond: Carry) -> tuple[Door, ...]:
    """The doors to change: those that hold the unit, then those on its way, then those that would be with all wide."""
    lines = np.array([[*door.first, *door.second] for door in plan.doors]).reshape(-1, 4)

    def passed(poses: np.ndarray) -> set[int]:
        return (
            set(np.nonzero(parted(lines, poses[:-1, :2], poses[1:, :2]).any(axis=0))[0].tolist())
            if len(lines)
            else set()
        )

    first, wide = passed(np.vstack([best.poses, best.stood])), passed(beyond.poses)
    held = {k for k, door in enumerate(plan.doors) if any(name.endswith(door.label) for name in best.touches)}
    order = sorted(held | first | wide, key=lambda k: (k not in held, k not in wide, k))
    return tuple(plan.doors[k] for k in order[:_DOORS])
