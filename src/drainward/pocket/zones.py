"""Where grab bars, seat and controls may go by the rules.

Zone, zones   a part of one wall in which a thing may go, by the rows that say so

Places along a wall: x of the back wall, y of the side walls, of the unit's inside; heights from the finished floor,
those of controls from the shower floor, which is as high at the threshold; m.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from drainward.finding import Requirement
from drainward.job.fittings import Fittings
from drainward.job.model import UnitModel
from drainward.pocket.shape import Wall
from drainward.quantity import INCH, format_length
from drainward.rules.book import RuleBook

__all__ = ["EPSILON", "Zone", "zones"]

Kind = Literal["grab bar", "seat", "controls"]

ABOVE_BAR = 1.5 * INCH
"""Least gap between a bar and controls above it, m (2010 ADA 609.3, exception)."""
SEAT_FRONT = 3.0 * INCH
"""A transfer seat runs from the back wall to within this of the entry, m (2010 ADA 610.3, retold from A117.1 610.3)."""
ENTRY = 36 * INCH
"""Of an alternate roll-in, at one end of its opening, m (2010 ADA 608.2.3, from memory)."""
EPSILON = 1e-6
"""Lengths this close are one, m."""


@dataclass(frozen=True, slots=True)
class Zone:
    """start, end : along the wall;  low, high : heights, of a bar or a seat those of its top;  rows : who says so.

    force : that it must carry, N, 0 for none
    asked : heights that the rules leave, where the job chose one of its own
    hung : False where the rules ask for a bar and the job hangs none
    """

    kind: Kind
    wall: Wall
    start: float
    end: float
    low: float
    high: float
    rows: tuple[Requirement, ...]
    force: float = 0.0
    asked: tuple[float, float] | None = None
    hung: bool = True

    def at(self, height: float | None) -> Zone:
        """The same at the height that the job chose, if it chose one."""
        if height is None:
            return self
        return replace(self, low=height, high=height, asked=(self.low, self.high))

    @property
    def possible(self) -> bool:
        """Whether the rules leave any place at all."""
        return self.start <= self.end + EPSILON and self.low <= self.high + EPSILON

    @property
    def up(self) -> str:
        """Its heights as the tape has them: one where the job chose it, else from and to."""
        low, high = format_length(self.low), format_length(self.high)
        return low if low == high else f"{low} to {high}"

    @property
    def name(self) -> str:
        """As the crew calls it."""
        return f"{self.kind}, {self.wall.name.lower()} wall"


@dataclass(frozen=True, slots=True)
class _Limits:
    """The picked rows on one thing for one type of shower."""

    book: RuleBook
    shower: str

    def rows(self, *quantities: str) -> tuple[Requirement, ...]:
        return tuple(row for quantity in quantities for row in self.book.requirements(quantity, self.shower))

    def between(self, quantity: str) -> tuple[float, float]:
        """The range that all rows leave; an exact size is taken with its allowance."""
        rows = self.rows(quantity)
        exact = {id(row): row.allowance if row.low == row.high else 0.0 for row in rows}
        low = max((row.low - exact[id(row)] for row in rows if row.low is not None), default=-math.inf)
        high = min((row.high + exact[id(row)] for row in rows if row.high is not None), default=math.inf)
        return low, high


def zones(unit: UnitModel, book: RuleBook, shower: str, fittings: Fittings) -> tuple[Zone, ...]:
    """The zones of one shower; a thing on which the picked rules say nothing has none.

    Walls with bars by 2010 ADA 608.3: a transfer unit has them across the control wall and on the back wall to a point
    18 in from it; a standard roll-in on three walls, with a seat on the back wall and the wall opposite the seat, none
    above the seat; an alternate roll-in on the back wall and the wall farthest from the entry. Controls by 608.5.
    Heights that the job chose stand in the place of the rules' own range, which is kept in `asked`.
    Raises ValueError for a seat beside the entry where there is no wall beside it.
    """
    if fittings.seat == "front" and shower != "alternate roll-in":
        raise ValueError(f'a seat at the "front" is for an alternate roll-in, got it for the shower "{shower}"')
    limits = _Limits(book, shower)
    seat = _seats(unit, limits, fittings)
    bars = _bars(unit, limits, fittings, shower)
    return (*bars, *seat, *_controls(unit, limits, fittings, shower, bars))


def _seat_wall(fittings: Fittings) -> Wall | None:
    """The side wall that a seat hangs on, if one does."""
    return {"left": Wall.LEFT, "right": Wall.RIGHT}.get(fittings.seat or "")


def _control_wall(fittings: Fittings) -> Wall:
    return Wall[(fittings.controls or "back").upper()]


def _far_wall(fittings: Fittings) -> Wall:
    """The side wall farthest from the entry of an alternate roll-in, whose entry is at the left if nobody says."""
    return Wall.LEFT if fittings.entry == "right" else Wall.RIGHT


def _length(unit: UnitModel, wall: Wall) -> float:
    return unit.inside_width if wall is Wall.BACK else unit.inside_depth


def _opposite(wall: Wall) -> Wall:
    return Wall.LEFT if wall is Wall.RIGHT else Wall.RIGHT


def _bars(unit: UnitModel, limits: _Limits, fittings: Fittings, shower: str) -> tuple[Zone, ...]:
    rows = limits.rows("grab_bar.height")
    if not rows:
        return ()
    low, high = limits.between("grab_bar.height")
    gap = min(limits.between("grab_bar.from_wall")[1], 6 * INCH)
    force = max((row.low or 0.0 for row in limits.rows("grab_bar.force")), default=0.0)
    rows += limits.rows("grab_bar.from_wall", "grab_bar.reach", "grab_bar.force")
    asked = {wall: (start, end) for wall, start, end in _bar_walls(unit, limits, fittings, shower, gap)}
    chosen = asked if fittings.grab_bars is None else [Wall[name.upper()] for name in fittings.grab_bars]
    out = []
    for wall in Wall:
        if wall in asked or wall in chosen:
            start, end = asked.get(wall, (gap, _length(unit, wall) - gap))
            bar = Zone("grab bar", wall, start, end, low, high, rows, force, hung=wall in chosen)
            out.append(bar.at(fittings.grab_bar_height))
    return tuple(out)


def _bar_walls(
    unit: UnitModel, limits: _Limits, fittings: Fittings, shower: str, gap: float
) -> Iterable[tuple[Wall, float, float]]:
    """Each wall with a bar, and from where to where its bar runs at least."""
    width, depth, seat = unit.inside_width, unit.inside_depth, _seat_wall(fittings)
    deep = min(_seat_depth(limits), depth)
    if shower == "transfer":
        control = _opposite(seat) if seat is not None else _side(fittings)
        reach = max(limits.between("grab_bar.reach")[0], 18 * INCH)
        yield control, 0.0, depth
        yield (Wall.BACK, 0.0, reach) if control is Wall.LEFT else (Wall.BACK, width - reach, width)
    elif shower == "alternate roll-in":
        yield Wall.BACK, gap, width - gap
        beside = max(gap, deep) if fittings.seat == "front" else gap
        yield _far_wall(fittings), gap, depth - beside
    elif seat is None:
        yield Wall.LEFT, gap, depth - gap
        yield Wall.BACK, gap, width - gap
        yield Wall.RIGHT, gap, depth - gap
    else:
        yield Wall.BACK, *((max(deep, gap), width - gap) if seat is Wall.LEFT else (gap, width - max(deep, gap)))
        yield _opposite(seat), gap, depth - gap


def _side(fittings: Fittings) -> Wall:
    wall = _control_wall(fittings)
    return wall if wall is not Wall.BACK else Wall.RIGHT


def _seat_depth(limits: _Limits) -> float:
    """How far a seat stands off its wall, m."""
    high = limits.between("seat.front")[1]
    return high if math.isfinite(high) else 16 * INCH


def _seats(unit: UnitModel, limits: _Limits, fittings: Fittings) -> tuple[Zone, ...]:
    """Of a seat on a side wall: the wall beside the entry of an alternate roll-in is none of the pocket's."""
    rows, wall = limits.rows("seat.height"), _seat_wall(fittings)
    if wall is None or not rows:
        return ()
    low, high = limits.between("seat.height")
    side = limits.between("seat.side")[1]
    start = side if math.isfinite(side) else 1.5 * INCH
    force = max((row.low or 0.0 for row in limits.rows("seat.force")), default=0.0)
    rows += limits.rows("seat.side", "seat.force")
    seat = Zone("seat", wall, start, unit.inside_depth - SEAT_FRONT, low, high, rows, force)
    return (seat.at(fittings.seat_height),)


def _controls(
    unit: UnitModel, limits: _Limits, fittings: Fittings, shower: str, bars: tuple[Zone, ...]
) -> tuple[Zone, ...]:
    """Where the rules allow the controls, above the bar of the same wall."""
    rows = limits.rows("controls.height")
    if not rows:
        return ()
    low, high = limits.between("controls.height")
    wall, start, end, used = _control_place(unit, limits, fittings, shower)
    for bar in bars:
        if bar.wall is wall and bar.possible and bar.hung and shower != "transfer" and not math.isfinite(low):
            low = bar.high + ABOVE_BAR
    low = low if math.isfinite(low) else 0.0
    zone = Zone("controls", wall, start, end, low, high, (*rows, *limits.rows(*used)))
    return (zone.at(fittings.controls_height),)


def _control_place(
    unit: UnitModel, limits: _Limits, fittings: Fittings, shower: str
) -> tuple[Wall, float, float, tuple[str, ...]]:
    """The wall of the controls, from where to where they may be on it, and the quantities that say so."""
    width, depth, seat = unit.inside_width, unit.inside_depth, _seat_wall(fittings)
    least, most = limits.between("controls.from_seat_wall")
    least, most = max(least, 0.0), min(most, width)
    if shower == "transfer":
        wall = _opposite(seat) if seat is not None else _side(fittings)
        centre = (1.5 * INCH + depth - SEAT_FRONT) / 2
        off = limits.between("controls.from_seat_centre")[1]
        return wall, centre, min(depth, centre + off), ("controls.from_seat_centre",)
    if shower == "alternate roll-in":
        return _alternate_place(unit, limits, fittings)
    if seat is not None:
        place = (least, most) if seat is Wall.LEFT else (width - most, width - least)
        return Wall.BACK, *place, ("controls.from_seat_wall",)
    wall = _control_wall(fittings)
    return wall, 0.0, _length(unit, wall), ()


def _alternate_place(
    unit: UnitModel, limits: _Limits, fittings: Fittings
) -> tuple[Wall, float, float, tuple[str, ...]]:
    """2010 ADA 608.5.3: beside a seat at the entry or opposite its middle; without one on the wall farthest from it."""
    width, depth, far = unit.inside_width, unit.inside_depth, _far_wall(fittings)
    if fittings.seat != "front":
        return far, 0.0, depth, ()
    if fittings.controls == "back":
        side = limits.between("seat.side")[1]
        middle = ((side if math.isfinite(side) else 1.5 * INCH) + width - ENTRY - SEAT_FRONT) / 2
        off = limits.between("controls.from_seat_centre")[1]
        start, end = max(0.0, middle - off), min(width, middle + off)
        place = (start, end) if far is Wall.LEFT else (width - end, width - start)
        return Wall.BACK, *place, ("controls.from_seat_centre",)
    least, most = limits.between("controls.from_seat_wall")
    return far, max(0.0, depth - most), depth - max(least, 0.0), ("controls.from_seat_wall",)
