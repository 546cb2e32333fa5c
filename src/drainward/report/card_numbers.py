"""All of a room's numbers for the crew's card, from its stages and the plan: `room_card`.

What a stage cannot tell yet stays blank on the card.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo

import numpy as np

from drainward.bed.batches import pot_life
from drainward.bed.bead import bead
from drainward.bed.result import BedPlan
from drainward.bed.stage import bed_stage
from drainward.errors import InputError, StageError
from drainward.floor.shape import edge_run
from drainward.floor.stage import unit_of
from drainward.hold.clock import LEAST
from drainward.hold.stage import BracePlan, brace_stage
from drainward.job.model import Job, Room, UnitModel
from drainward.plan.clock import local
from drainward.plan.make import Made
from drainward.plan.model import Kind
from drainward.plan.stored import restored
from drainward.pocket.stage import dry_set_stage, set_stage
from drainward.quantity import INCH
from drainward.report.card import BatchRow, BraceRow, Card, ClockRow, Moment, ReadRow, card_of
from drainward.rules import load_rules
from drainward.rules.window import slope_window

__all__ = ["room_card"]

T = TypeVar("T")
_LINES = 8
"""Lines from the drain along which the draft check reads first: corners and middles of the sides."""
_SHORTEST = 9 * INCH
_EDGE = INCH
"""Of the floor's edge, that a level keeps clear of."""


def room_card(job: Job, room: Room, schedule: Path | None, now: datetime) -> Card:
    """The card of a room. schedule : the file of the plan, None where there is none;  now : aware of its zone.

    Raises StageError where the room has no unit model.
    """
    unit = unit_of(job, room.room)
    bedded = unit.style == "bedded"
    surveyed = any(measure.room == room.room for measure in job.survey)
    dry = _known(lambda: dry_set_stage(job, room.room)) if surveyed else None
    out = _known(lambda: set_stage(job, room.room)) if surveyed else None
    bed = _known(lambda: bed_stage(job, room.room)) if surveyed and bedded else None
    held = _known(lambda: brace_stage(job, room.room, bed)) if bedded else None
    plan = None if schedule is None or not schedule.exists() else _known(lambda: restored(schedule, job, now)[0])
    begins = _mixing(job, room, plan)
    return replace(
        card_of(job, room, unit, dry, out),
        bedded=bedded,
        cure=max(unit.minimum_cure, LEAST) if bedded else unit.minimum_cure,
        batches=_batches(bed, begins),
        tubes=bead(unit.inside_width, job.materials.adhesive).tubes if bedded else None,
        reads=_reads(job, unit),
        braces=() if held is None else _braces(held),
        clocks=() if plan is None else _clocks(job, room, plan, bed, begins if bedded else None),
    )


def _known(compute: Callable[[], T]) -> T | None:
    """What a stage answers; None where it cannot yet."""
    try:
        return compute()
    except (StageError, InputError):
        return None


def _mixing(job: Job, room: Room, plan: Made | None) -> datetime | None:
    """When the first batch is mixed by the plan, by the clock on the wall; None where nothing is planned."""
    if plan is None:
        return None
    block = next((t for t in plan.plan.tasks if t.room == room.room and t.kind is Kind.BLOCK), None)
    return None if block is None else _later(job, local(plan.case.building, block.start), job.calendar.dry_set)


def _later(job: Job, when: datetime, seconds: float) -> datetime:
    """So many true seconds later, by the clock on the wall."""
    return (when.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(ZoneInfo(job.site.time_zone))


def _batches(bed: BedPlan | None, begins: datetime | None) -> tuple[BatchRow, ...]:
    """Each batch with its times where mixing is planned; mortar is placed within an hour, so no clock changes there."""
    if bed is None or bed.batches is None:
        return ()
    return tuple(
        BatchRow(
            batch.bags,
            batch.water,
            None if begins is None else begins + timedelta(seconds=batch.begins),
            None if begins is None else begins + timedelta(seconds=batch.placed),
        )
        for batch in bed.batches.batches
    )


def _reads(job: Job, unit: UnitModel) -> tuple[ReadRow, ...]:
    """A level on the lines to the drain from corners and middles of the sides, as far out as it lies flat."""
    rules = load_rules(job.rules).select(("floor.fall.least", "floor.fall.greatest"), job.rules.shower)
    window = slope_window(rules)
    if window is None:
        return ()
    lengths = sorted((tool.length for tool in job.instruments.values() if tool.u_slope and tool.length), reverse=True)
    rows = []
    for angle in _angles(unit):
        run = float(edge_run(unit, np.array(angle))) - _EDGE
        length = next((one for one in lengths if one <= run - unit.drain.radius), None)
        if length is None:
            length = min(_SHORTEST, run - unit.drain.radius)
        if length > 2 * INCH:
            ends = [
                (unit.drain.x + r * math.cos(angle), unit.drain.y + r * math.sin(angle)) for r in (run, run - length)
            ]
            (x, y), (x2, y2) = ((_taped(a), _taped(b)) for a, b in ends)
            rows.append(ReadRow(x, y, x2, y2, window.low, window.high))
    return tuple(rows)


def _angles(unit: UnitModel) -> Sequence[float]:
    """Toward the corners and the middles of the sides, going round from the back left corner."""
    w, d = unit.inside_width, unit.inside_depth
    edge = ((0, 0), (w / 2, 0), (w, 0), (w, d / 2), (w, d), (w / 2, d), (0, d), (0, d / 2))
    return [math.atan2(y - unit.drain.y, x - unit.drain.x) for x, y in edge[:_LINES]]


def _taped(at: float) -> float:
    """A tape and wet gloves place a level to half an inch."""
    return round(at / (INCH / 2)) * (INCH / 2)


def _braces(held: BracePlan) -> tuple[BraceRow, ...]:
    return tuple(BraceRow(piece.count, piece.section, piece.length, piece.what) for piece in held.pieces)


def _clocks(job: Job, room: Room, plan: Made, bed: BedPlan | None, mixing: datetime | None) -> tuple[ClockRow, ...]:
    """Times of the plan; the draft check is to be done while the first batch still lets the unit move."""
    building = plan.case.building
    tasks = {task.kind: task for task in plan.plan.tasks if task.room == room.room}
    block, test = tasks.get(Kind.BLOCK), tasks.get(Kind.TEST)
    rows = []
    if block is not None:
        cure = next(one.cure for one in building.rooms if one.id == room.room)
        rows.append(ClockRow(Moment.BEGIN, local(building, block.start)))
        if mixing is not None:
            known = None if bed is None else bed.batches
            life = pot_life(job.materials.mortar, job.site.temperature) if known is None else known.pot_life
            rows.append(ClockRow(Moment.CHECKED, _later(job, mixing, life)))
        rows.append(ClockRow(Moment.BRACED, local(building, block.end)))
        rows.append(ClockRow(Moment.CURED, local(building, block.end + cure)))
    if test is not None:
        rows.append(ClockRow(Moment.TEST, local(building, test.start)))
    return tuple(rows)
