"""The wood behind what hangs on the walls, and what stands in the way of it.

Backing, backings     the wood that a zone needs and that is not there: pieces to add, and screws that carry the force
with_backing          the walls once that wood is in
Conflict, conflicts   what stands in the way of a zone: a stud, a flange, the job's own height, rules without a place
zone_findings         all of it in the common form

Places along a wall as in `setout`: x of the back wall from the left stud face, y of a side wall from the back one; m.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from drainward.finding import Certainty, Finding, Verdict
from drainward.job.model import UnitModel
from drainward.pocket.screws import STOCK, Factors, Mount, Screw, Wood, mount_screws
from drainward.pocket.setout import Blocking, FramedWall, Run
from drainward.pocket.shape import Wall
from drainward.pocket.zones import EPSILON, Zone
from drainward.quantity import INCH, format_length
from drainward.rules.written import limit_words

__all__ = ["Backing", "Conflict", "backings", "conflicts", "with_backing", "zone_findings"]

BOARD = 7.25 * INCH
"""Width of a nominal 2 × 8, the usual backing, m (PS 20-20, from memory)."""
SEAT_BOARD = 11.25 * INCH
"""Width of a nominal 2 × 12, behind a seat's brackets, m (PS 20-20, from memory)."""
MOUNT_BELOW = 2.0 * INCH
"""From the top of a bar to the lowest screw of its mount, m (common practice, no source)."""
BRACKET = 8.0 * INCH
"""From the top of a folding seat to the lowest screw of its bracket, m (common practice, no source)."""
VALVE = 6.0 * INCH
"""Clear width between wood that a valve's body with its pipes takes, m (common practice, no source)."""


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
        if zone.force <= 0 or not (zone.possible and zone.hung) or zone.wall not in walls:
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
    """Rules that leave no place or ask for another, studs before the valve, flanges behind a mount."""
    found: list[Conflict] = []
    flanges = tuple(runs)
    for zone in zones:
        if not zone.hung:
            why = f"the rules ask for a {zone.kind} on the {zone.wall.name.lower()} wall, and the job hangs none there"
            found.append(Conflict(zone, why, "hang one, or write down which rule lets it be left out"))
            continue
        found.extend(_chosen_height(zone))
        if not zone.possible:
            found.append(Conflict(zone, "the picked rules leave no place for it", "ask which rule governs here"))
            continue
        if zone.kind == "controls" and zone.wall in walls:
            found.extend(_valve(zone, walls[zone.wall], _offset(unit, zone.wall)))
        found.extend(_flange(zone, run, _offset(unit, zone.wall)) for run in flanges if _touches(zone, run, unit))
    return tuple(found)


def _chosen_height(zone: Zone) -> Iterable[Conflict]:
    """A height of the job's own that the rules, or the bar below, do not leave."""
    if zone.asked is None:
        return
    low, high = zone.asked
    if not low - EPSILON <= zone.low <= high + EPSILON:
        why = f"the job puts it {format_length(zone.low)} up, outside {format_length(low)} to {format_length(high)}"
        yield Conflict(zone, why, "choose a height within that")


def _valve(zone: Zone, wall: FramedWall, off: float) -> Iterable[Conflict]:
    start, end = zone.start + off, zone.end + off
    inner = [(a, b) for a, b in _clear(wall, start, end) if b - a >= VALVE]
    if not inner:
        studs = ", ".join(format_length(stud.at) for stud in wall.studs if start <= stud.at <= end)
        why = f"no {format_length(VALVE)} between studs for the valve in its zone (studs at {studs or 'none'})"
        yield Conflict(zone, why, "move a stud or head it off before the unit is ordered")
    # Where the job chose the height, the valve takes its own room round it.
    around = 0.0 if zone.asked is None else VALVE / 2
    low, high = zone.low - around, zone.high + around
    crossing = [b for b in wall.blocking if b.start < end and b.end > start and b.bottom < high and b.top > low]
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
    if zone.force > 0 and zone.possible and zone.hung and backing is None:
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
    return f"{format_length(zone.start)} to {format_length(zone.end)} from the {corner}, {zone.up} up ({heights})"


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
