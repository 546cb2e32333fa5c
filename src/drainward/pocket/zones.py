"""Where grab bars, seat and controls may go by the rules, what they need behind them, and what stands in their way.

Fittings           what hangs on the walls of one shower: the seat's wall, the controls' wall
Zone, zones        a part of one wall in which a thing may go, by the rows that say so
Backing, backings  the wood that a zone needs and that is not there: pieces to add, and the screws that carry the force
Conflict, conflicts   what stands in the way of a zone: a stud, a flange, another zone, rules that leave no height
Before, before     what must be in before what, because it would be closed off
with_backing       the walls once that wood is in
zone_findings      all of it in the common form

Places along a wall: x of the back wall, y of the side walls, of the unit's inside; heights from the finished floor,
those of controls from the shower floor, which is as high at the threshold; m.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from drainward.finding import Certainty, Finding, Requirement, Verdict
from drainward.job.model import UnitModel
from drainward.pocket.screws import STOCK, Factors, Mount, Screw, Wood, mount_screws
from drainward.pocket.setout import Blocking, FramedWall, Run
from drainward.pocket.shape import Wall
from drainward.quantity import INCH, format_length
from drainward.rules.book import RuleBook
from drainward.rules.written import limit_words

__all__ = [
    "Backing",
    "Before",
    "Conflict",
    "Fittings",
    "Zone",
    "backings",
    "before",
    "conflicts",
    "with_backing",
    "zone_findings",
    "zones",
]

Kind = Literal["grab bar", "seat", "controls"]

BOARD = 7.25 * INCH
"""Width of a nominal 2 × 8, the usual backing, m (PS 20-20, from memory)."""
SEAT_BOARD = 11.25 * INCH
"""Width of a nominal 2 × 12, behind a seat's brackets, m (PS 20-20, from memory)."""
MOUNT_BELOW = 2.0 * INCH
"""From the top of a bar to the lowest screw of its mount, m (common practice, no source)."""
BRACKET = 8.0 * INCH
"""From the top of a folding seat to the lowest screw of its bracket, m (common practice, no source)."""
ABOVE_BAR = 1.5 * INCH
"""Least gap between a bar and controls above it, m (2010 ADA 609.3, exception)."""
SEAT_FRONT = 3.0 * INCH
"""A transfer seat runs from the back wall to within this of the entry, m (2010 ADA 610.3, from memory)."""
VALVE = 6.0 * INCH
"""Clear width between wood that a valve's body with its pipes takes, m (common practice, no source)."""
EPSILON = 1e-6


@dataclass(frozen=True, slots=True)
class Fittings:
    """What hangs on the walls.

    seat     : wall that the seat hangs on; None where there is none, or where it stands beside the entry
    controls : wall of the controls where the rules leave the choice
    entry    : of an alternate roll-in, the end of the opening where the entry is
    """

    seat: Wall | None = None
    controls: Wall = Wall.BACK
    entry: Literal[Wall.LEFT, Wall.RIGHT] = Wall.LEFT


@dataclass(frozen=True, slots=True)
class Zone:
    """start, end : along the wall;  low, high : heights, of a bar or a seat those of its top;  rows : who says so.

    force : that it must carry, N, 0 for none
    """

    kind: Kind
    wall: Wall
    start: float
    end: float
    low: float
    high: float
    rows: tuple[Requirement, ...]
    force: float = 0.0

    @property
    def possible(self) -> bool:
        """Whether the rules leave any place at all."""
        return self.start <= self.end + EPSILON and self.low <= self.high + EPSILON

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
    Raises ValueError for a seat on the back wall, which no rule knows.
    """
    if fittings.seat is Wall.BACK:
        raise ValueError("expected the seat on the left or the right wall, got the back wall")
    limits = _Limits(book, shower)
    seat = _seats(unit, limits, fittings)
    bars = _bars(unit, limits, fittings, shower)
    return (*bars, *seat, *_controls(unit, limits, fittings, shower, bars))


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
    out = []
    for wall, start, end in _bar_walls(unit, limits, fittings, shower, gap):
        out.append(Zone("grab bar", wall, start, end, low, high, rows, force))
    return tuple(out)


def _bar_walls(
    unit: UnitModel, limits: _Limits, fittings: Fittings, shower: str, gap: float
) -> Iterable[tuple[Wall, float, float]]:
    """Each wall with a bar, and from where to where its bar runs at least."""
    width, depth, seat = unit.inside_width, unit.inside_depth, fittings.seat
    deep = min(_seat_depth(limits), depth)
    if shower == "transfer":
        control = _opposite(seat) if seat is not None else _side(fittings)
        reach = max(limits.between("grab_bar.reach")[0], 18 * INCH)
        yield control, 0.0, depth
        yield (Wall.BACK, 0.0, reach) if control is Wall.LEFT else (Wall.BACK, width - reach, width)
    elif shower == "alternate roll-in":
        yield Wall.BACK, gap, width - gap
        yield _opposite(fittings.entry), gap, depth - max(gap, deep)
    elif seat is None:
        yield Wall.LEFT, gap, depth - gap
        yield Wall.BACK, gap, width - gap
        yield Wall.RIGHT, gap, depth - gap
    else:
        yield Wall.BACK, *((max(deep, gap), width - gap) if seat is Wall.LEFT else (gap, width - max(deep, gap)))
        yield _opposite(seat), gap, depth - gap


def _side(fittings: Fittings) -> Wall:
    return fittings.controls if fittings.controls is not Wall.BACK else Wall.RIGHT


def _seat_depth(limits: _Limits) -> float:
    """How far a seat stands off its wall, m."""
    high = limits.between("seat.front")[1]
    return high if math.isfinite(high) else 16 * INCH


def _seats(unit: UnitModel, limits: _Limits, fittings: Fittings) -> tuple[Zone, ...]:
    rows = limits.rows("seat.height")
    if fittings.seat is None or not rows:
        return ()
    low, high = limits.between("seat.height")
    side = limits.between("seat.side")[1]
    start = side if math.isfinite(side) else 1.5 * INCH
    force = max((row.low or 0.0 for row in limits.rows("seat.force")), default=0.0)
    rows += limits.rows("seat.side", "seat.force")
    return (Zone("seat", fittings.seat, start, unit.inside_depth - SEAT_FRONT, low, high, rows, force),)


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
        if bar.wall is wall and bar.possible and shower != "transfer" and not math.isfinite(low):
            low = bar.high + ABOVE_BAR
    low = low if math.isfinite(low) else 0.0
    return (Zone("controls", wall, start, end, low, high, (*rows, *limits.rows(*used))),)


def _control_place(
    unit: UnitModel, limits: _Limits, fittings: Fittings, shower: str
) -> tuple[Wall, float, float, tuple[str, ...]]:
    width, depth, seat = unit.inside_width, unit.inside_depth, fittings.seat
    least, most = limits.between("controls.from_seat_wall")
    least, most = max(least, 0.0), min(most, width)
    if shower == "transfer":
        wall = _opposite(seat) if seat is not None else _side(fittings)
        centre = (1.5 * INCH + depth - SEAT_FRONT) / 2
        off = limits.between("controls.from_seat_centre")[1]
        return wall, centre, min(depth, centre + off), ("controls.from_seat_centre",)
    if shower == "alternate roll-in":
        return _opposite(fittings.entry), max(0.0, depth - most), depth - least, ("controls.from_seat_wall",)
    if seat is not None:
        place = (least, most) if seat is Wall.LEFT else (width - most, width - least)
        return Wall.BACK, *place, ("controls.from_seat_wall",)
    return fittings.controls, 0.0, _length(unit, fittings.controls), ()


@dataclass(frozen=True, slots=True)
class Backing:
    """The wood that one zone needs: pieces to add, bay by bay, and the screws of each mount.

    screw, count : the lightest screws at hand that carry the force within the mount's holes; None where none does
    """

    zone: Zone
    add: tuple[Blocking, ...]
    screw: Screw | None
    count: int | None


def backings(
    zones: Iterable[Zone],
    walls: Mapping[Wall, FramedWall],
    unit: UnitModel,
    wood: Wood,
    through: float,
    mount: Mount | None = None,
    factors: Factors | None = None,
) -> tuple[Backing, ...]:
    """What each zone that carries a force needs behind it.

    through : from the room's face to the wood: shim or gap, moulded wall, m. A bay between studs counts as backed where
    a piece that is there spans it and covers the mount's height, from the zone's top down.
    """
    found = []
    for zone in zones:
        if zone.force <= 0 or not zone.possible or zone.wall not in walls:
            continue
        off = _offset(unit, zone.wall)
        below = BRACKET if zone.kind == "seat" else MOUNT_BELOW
        board = SEAT_BOARD if zone.kind == "seat" else BOARD
        middle = (zone.low - below + zone.high) / 2
        piece = (middle - board / 2, middle + board / 2)
        bays = _bays(walls[zone.wall], zone.start + off, zone.end + off)
        needs = [bay for bay in bays if not _backed(walls[zone.wall], bay, zone.low - below, zone.high)]
        screw, count = _screws(zone.force, mount or Mount(), wood, through, factors)
        found.append(Backing(zone, tuple(Blocking(*bay, *piece) for bay in needs), screw, count))
    return tuple(found)


def _offset(unit: UnitModel, wall: Wall) -> float:
    """From the stud face where a wall's places begin to the unit's inside corner, m."""
    if wall is Wall.BACK:
        return (unit.outside_width - unit.inside_width) / 2
    return max(unit.outside_depth - unit.inside_depth - unit.threshold_width, 0.0)


def _bays(wall: FramedWall, start: float, end: float) -> list[tuple[float, float]]:
    """The bays that a stretch of wall touches: whole between studs, to the stretch's end where no stud closes one."""
    faces = sorted((stud.at - stud.width / 2, stud.at + stud.width / 2) for stud in wall.studs)
    bays: list[tuple[float, float]] = []
    here = min(start, faces[0][0]) if faces else start
    for left, right in [*faces, (end, end)]:
        if left - here > EPSILON and left > start + EPSILON and here < end - EPSILON:
            bays.append((here, left))
        here = max(here, right)
    return bays


def _backed(wall: FramedWall, bay: tuple[float, float], low: float, high: float) -> bool:
    slack = 0.25 * INCH
    return any(
        piece.start <= bay[0] + slack and piece.end >= bay[1] - slack and piece.bottom <= low and piece.top >= high
        for piece in wall.blocking
    )


def _screws(
    force: float, mount: Mount, wood: Wood, through: float, factors: Factors | None
) -> tuple[Screw | None, int | None]:
    for screw in STOCK:
        count = mount_screws(force, mount, wood, screw, through, factors)
        if count is not None and count <= mount.holes:
            return screw, count
    return None, None


@dataclass(frozen=True, slots=True)
class Conflict:
    """What stands in the way of a zone, and what to do."""

    zone: Zone
    why: str
    do: str


def conflicts(
    zones: Iterable[Zone], walls: Mapping[Wall, FramedWall], runs: Iterable[Run], unit: UnitModel
) -> tuple[Conflict, ...]:
    """What stands in the way: rules that leave no place, studs before the valve, and flanges behind a mount."""
    found: list[Conflict] = []
    flanges = tuple(runs)
    for zone in zones:
        if not zone.possible:
            found.append(Conflict(zone, "the picked rules leave no place for it", "ask which rule governs here"))
            continue
        if zone.kind == "controls" and zone.wall in walls:
            found.extend(_valve(zone, walls[zone.wall], _offset(unit, zone.wall)))
        found.extend(_flange(zone, run, _offset(unit, zone.wall)) for run in flanges if _touches(zone, run, unit))
    return tuple(found)


def _valve(zone: Zone, wall: FramedWall, off: float) -> Iterable[Conflict]:
    start, end = zone.start + off, zone.end + off
    inner = [(a, b) for a, b in _clear(wall, start, end) if b - a >= VALVE]
    if not inner:
        studs = ", ".join(format_length(stud.at) for stud in wall.studs if start <= stud.at <= end)
        why = f"no {format_length(VALVE)} between studs for the valve in its zone (studs at {studs or 'none'})"
        yield Conflict(zone, why, "move a stud or head it off before the unit is ordered")
    crossing = [
        b for b in wall.blocking if b.start < end and b.end > start and b.bottom < zone.high and b.top > zone.low
    ]
    if crossing and inner and all(any(b.start < c and b.end > a for b in crossing) for a, c in inner):
        why = "blocking crosses every bay in which the valve could stand"
        yield Conflict(zone, why, "cut one piece back, or set the valve above or below it")


def _clear(wall: FramedWall, start: float, end: float) -> list[tuple[float, float]]:
    """Free stretches between the studs' faces, within a stretch of wall."""
    free, here = [], start
    for stud in sorted(wall.studs, key=lambda s: s.at):
        left, right = stud.at - stud.width / 2, stud.at + stud.width / 2
        if left > here and here < end:
            free.append((here, min(left, end)))
        here = max(here, right)
    return [*free, (here, end)] if here < end else free


def _touches(zone: Zone, run: Run, unit: UnitModel) -> bool:
    if run.wall is not zone.wall:
        return False
    if run.way == "along":
        return zone.high > run.low - EPSILON
    return zone.end + _offset(unit, zone.wall) > run.low + EPSILON


def _flange(zone: Zone, run: Run, off: float) -> Conflict:
    if run.way == "along":
        return Conflict(zone, f"it reaches the {run.name}", f"keep it below {format_length(run.low)}")
    do = f"keep its mount behind {format_length(run.low - off)} from the back wall"
    return Conflict(zone, f"its end lies on the {run.name}", do)


@dataclass(frozen=True, slots=True)
class Before:
    """What must be in, before what, because that would close it off."""

    what: str
    before: str
    why: str


def before(backings: Iterable[Backing], zones: Iterable[Zone], behind: Iterable[Wall] = ()) -> tuple[Before, ...]:
    """What must be in before what.

    behind : walls that stay open from their far side, so that work in them may go on once the unit stands
    """
    open_walls = frozenset(behind)
    found = [Before("drain, trap and the pipe cut to height", "the unit is set", "the unit's floor closes the recess")]
    for wall in Wall:
        then = "the far side is closed" if wall in open_walls else "the unit is set"
        why = "the boards close the bays" if wall in open_walls else "the moulded wall closes the bays"
        pieces = sum(len(b.add) for b in backings if b.zone.wall is wall)
        name = f"{wall.name.lower()} wall"
        if pieces:
            found.append(
                Before(f"{pieces} {'piece' if pieces == 1 else 'pieces'} of blocking in the {name}", then, why)
            )
        if any(zone.kind == "controls" and zone.wall is wall for zone in zones):
            found.append(Before(f"valve, its pipes and the riser in the {name}, tested", then, why))
    return tuple(found)


def zone_findings(
    zones: Iterable[Zone], backings: Iterable[Backing], conflicts: Iterable[Conflict]
) -> tuple[Finding, ...]:
    """One finding for each zone: is there a place, and is there wood behind it.

    `fails` where something stands in the way or backing is missing, and says what to add; else `meets` as the wall was
    surveyed, or `not proven` where it was not, or where a row of the zone is only remembered or disputed.
    """
    wood = {(b.zone.kind, b.zone.wall): b for b in backings}
    hurdles = tuple(conflicts)
    return tuple(
        _finding(zone, wood.get((zone.kind, zone.wall)), [h for h in hurdles if h.zone == zone]) for zone in zones
    )


def _finding(zone: Zone, backing: Backing | None, hurdles: list[Conflict]) -> Finding:
    words = [f"{hurdle.why[0].upper()}{hurdle.why[1:]}: {hurdle.do}." for hurdle in hurdles]
    missing = 0
    if backing is not None:
        missing = len(backing.add)
        words.extend(_backing_words(backing))
    fails = bool(hurdles) or missing > 0 or (backing is not None and backing.screw is None)
    verdict = Verdict.FAILS if fails else Verdict.MEETS
    if zone.force > 0 and zone.possible and backing is None:
        verdict = Verdict.NOT_PROVEN if verdict is Verdict.MEETS else verdict
        words.append(f"Measure the studs and the blocking of the {zone.wall.name.lower()} wall.")
    doubtful = [row.id for row in zone.rows if row.disputed or row.source.certainty is Certainty.MEMORY]
    if doubtful:
        verdict = Verdict.NOT_PROVEN if verdict is Verdict.MEETS else verdict
        words.append(f"It rests on {', '.join(doubtful)}: confirm these rows against the printed text.")
    return Finding(
        id=f"zone/{zone.kind.replace(' ', '-')}-{zone.wall.name.lower()}",
        what=f"Place and backing: {zone.name}",
        value=float(missing + len(hurdles)),
        u=None,
        unit="1",
        limit=_zone_words(zone),
        probability=None,
        verdict=verdict,
        source="; ".join(dict.fromkeys(str(row.source) for row in zone.rows)),
        advice=" ".join(words),
    )


def _zone_words(zone: Zone) -> str:
    corner = "unit's left corner" if zone.wall is Wall.BACK else "unit's back corner"
    heights = " and ".join(dict.fromkeys(limit_words(row) for row in zone.rows if row.quantity.endswith(".height")))
    if not zone.possible:
        return f"at a height of {heights}"
    return (
        f"{format_length(zone.start)} to {format_length(zone.end)} from the {corner}, {format_length(zone.low)} to "
        f"{format_length(zone.high)} up ({heights})"
    )


def _backing_words(backing: Backing) -> Iterable[str]:
    corner = "left" if backing.zone.wall is Wall.BACK else "back"
    for piece in backing.add:
        yield (
            f"Add blocking {format_length(piece.length)} long, {format_length(piece.start)} to "
            f"{format_length(piece.end)} from the {corner} stud face, {format_length(piece.bottom)} to "
            f"{format_length(piece.top)} up."
        )
    if backing.screw is None:
        yield "No screw at hand carries the force in this wood with the mount's holes: ask for a bolted plate."
    else:
        yield f"Each mount: {backing.count} screws {backing.screw.words}, or more where it has the holes."


def with_backing(walls: Mapping[Wall, FramedWall], backings: Iterable[Backing]) -> dict[Wall, FramedWall]:
    """The walls once the pieces are in."""
    done = dict(walls)
    for backing in backings:
        wall = done[backing.zone.wall]
        done[wall.wall] = replace(wall, blocking=(*wall.blocking, *backing.add))
    return done
