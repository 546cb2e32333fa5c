"""What a placement keeps to, and the unit's outline that has to go in.

Limits      clearances, tolerances and depths; the trade's where the job's rules say nothing else
limits_of   the same out of a job's rule book
Outline     the unit's outside in its own frame, as a pocket meets it
outline     of a unit model
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from drainward.job.model import UnitModel
from drainward.quantity import INCH
from drainward.rules import RuleBook

__all__ = ["Limits", "Outline", "limits_of", "outline"]


@dataclass(frozen=True, slots=True)
class Limits:
    """All in m, all common practice, no source.

    drain_clearance : left all round between the drain's body and the core's edge
    line_off : how far each end of the threshold's outer edge may lie off its line, either way
    rise_off : how far the threshold's height over the finished floor may be off the cut sheet's, either way
    bed_least, bed_most : of the mortar between panel and slab; a unit on its own base stands within base_most of it
    recess : half the side of the recess round the core, which is left free for the drain and is no part of the bed
    pipe_least, pipe_most : how far the pipe's end may stand inside the drain's body, from the body's underside
    """

    drain_clearance: float = INCH / 8
    line_off: float = INCH / 8
    rise_off: float = INCH / 8
    bed_least: float = INCH / 16
    bed_most: float = 2 * INCH
    base_most: float = INCH / 8
    recess: float = 5 * INCH
    pipe_least: float = INCH / 2
    pipe_most: float = INCH


_FROM_ROWS = {
    "pocket.drain_clearance": ("drain_clearance", "low"),
    "pocket.line_off": ("line_off", "high"),
    "bed.least": ("bed_least", "low"),
    "bed.greatest": ("bed_most", "high"),
}


def limits_of(book: RuleBook, shower: str) -> Limits:
    """The trade's limits, with those that the job's rules set; the strictest where several do."""
    limits = Limits()
    for quantity, (field, side) in _FROM_ROWS.items():
        found = [end for row in book.requirements(quantity, shower) if (end := getattr(row, side)) is not None]
        if found:
            limits = replace(limits, **{field: max(found) if side == "low" else min(found)})
    return limits


@dataclass(frozen=True, slots=True)
class Outline:
    """The unit's outside in its own frame (job.model.UnitModel), m.

    left, right : x of the flanges' outside;  back : y of the back flange's outside;  front : y of the threshold's outer
    edge;  top : height over the finished floor up to which studs are met;  drain_x, drain_y, drain : its body's radius
    """

    left: float
    right: float
    back: float
    front: float
    top: float
    drain_x: float
    drain_y: float
    drain: float


def outline(unit: UnitModel) -> Outline:
    """The outside is wider by as much on either hand; what the threshold leaves of the depth is behind."""
    side = (unit.outside_width - unit.inside_width) / 2
    behind = max(unit.outside_depth - unit.inside_depth - unit.threshold_width, 0.0)
    drain = unit.drain
    return Outline(
        left=-side,
        right=unit.inside_width + side,
        back=-behind,
        front=unit.outside_depth - behind,
        top=unit.outside_height,
        drain_x=drain.x,
        drain_y=drain.y,
        drain=drain.body_diameter / 2,
    )
