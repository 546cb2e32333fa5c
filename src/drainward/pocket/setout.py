"""Where the holes of the flanges go, so that every screw hits wood.

Stud, Blocking, FramedWall   the wood of one wall, as surveyed
framed_walls                 the same from a room's survey
Practice, practice           the spacings and edge distances: the trade's, or the job's own rules
Run, runs                    one straight piece of flange; those of a unit in its pocket
Hole, Layout                 one hole, the wood that it hits; the holes of one run, and the blocking to add
set_out                      the holes of one run: fewest pieces of blocking to add, then fewest holes
setout_findings              one finding for each run: does every screw hit wood

Along a wall: x of the back wall from the left stud face, y of the side walls from the back stud face; heights from the
finished floor outside; m. Farthest reach is best: whoever got farther with as many pieces and holes can do all that the
others can, so a search of every choice finds no layout with fewer pieces (tested against one).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from drainward.finding import Certainty, Finding, Requirement, Source, Verdict, conformance, decide
from drainward.job.model import Measure, UnitModel, What
from drainward.pocket.shape import Wall
from drainward.quantity import INCH, format_length
from drainward.rules.book import RuleBook

__all__ = [
    "Blocking",
    "FramedWall",
    "Hole",
    "Layout",
    "Practice",
    "Run",
    "Stud",
    "framed_walls",
    "practice",
    "runs",
    "set_out",
    "setout_findings",
]

STUD_WIDTH = 1.5 * INCH
"""A nominal 2 in stud, m (PS 20-20, from memory)."""
TIE = 1e-9
"""Lengths this close are one, m."""
TAPE_U = 0.0015875
"""Standard uncertainty of a stud's place along the wall, m: 1/16 in (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Stud:
    """A stud that stands the whole height: its centre along the wall and its width, m."""

    at: float
    width: float = STUD_WIDTH


@dataclass(frozen=True, slots=True)
class Blocking:
    """A piece of wood between studs: from, to along the wall, and its bottom and top, m."""

    start: float
    end: float
    bottom: float
    top: float

    @property
    def length(self) -> float:
        """Along the wall, m."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class FramedWall:
    """The wood of one wall. Raises ValueError for wood without width."""

    wall: Wall
    studs: tuple[Stud, ...]
    blocking: tuple[Blocking, ...] = ()

    def __post_init__(self) -> None:
        for stud in self.studs:
            if not stud.width > 0:
                raise ValueError(f"{self.wall.name.lower()} wall: a stud's width is positive, got {stud.width!r} m")
        for piece in self.blocking:
            if not (piece.end > piece.start and piece.top > piece.bottom):
                raise ValueError(f"{self.wall.name.lower()} wall: blocking ends after it starts, got {piece!r}")


def framed_walls(measures: Iterable[Measure]) -> dict[Wall, FramedWall]:
    """The walls of one room's survey: measures of `stud` and `blocking`; a wall without either is left out.

    Measures of one wall within a stud's width of each other are of the same stud, which stands at their mean.
    """
    kept = [m for m in measures if m.what in (What.STUD, What.BLOCKING) and m.wall]
    walls = {}
    for wall in Wall:
        here = [m for m in kept if m.wall == wall.name.lower()]
        groups: list[list[float]] = []
        for place in sorted(m.value for m in here if m.what is What.STUD):
            if groups and place - groups[-1][0] <= STUD_WIDTH:
                groups[-1].append(place)
            else:
                groups.append([place])
        pieces = tuple(piece for m in here if m.what is What.BLOCKING and (piece := _board(m, wall)))
        if here:
            walls[wall] = FramedWall(wall, tuple(Stud(sum(g) / len(g)) for g in groups), pieces)
    return walls


def _board(measure: Measure, wall: Wall) -> Blocking | None:
    """A measured board; None where its ends or its lower edge were not written down."""
    start, end = (measure.x, measure.x2) if wall is Wall.BACK else (measure.y, measure.y2)
    if start is None or end is None or measure.z is None:
        return None
    return Blocking(min(start, end), max(start, end), measure.z, measure.z + measure.value)


@dataclass(frozen=True, slots=True)
class Practice:
    """Spacings and edge distances of holes, m; all common practice, no source, unless the job's rules say otherwise.

    along, up : spacing on centre on the level and the standing flanges;  slack : by which one along may be more, to
    reach a stud;  end : from a flange's end to the first hole, at most;  wood, flange : from a hole's centre to the
    edge of the wood and of the flange, at least;  pilot : diameter of the hole
    """

    along: float = 16 * INCH
    up: float = 8 * INCH
    slack: float = INCH
    end: float = 3 * INCH
    wood: float = 0.375 * INCH
    flange: float = 0.375 * INCH
    pilot: float = 0.125 * INCH


def practice(book: RuleBook, shower: str) -> Practice:
    """The trade's spacings, or those of the job's rules where they are closer."""
    limits = {}
    for field, quantity in (("along", "flange.spacing.along"), ("up", "flange.spacing.up")):
        highs = [row.high for row in book.requirements(quantity, shower) if row.high is not None]
        if highs:
            limits[field] = min(highs)
    return replace(Practice(), **limits)


@dataclass(frozen=True, slots=True)
class Run:
    """A straight piece of flange on one wall, m.

    way        : "along" lies level, and start, end are along the wall; "up" stands, and they are heights
    low, high  : its two edges, heights of a level one, places along the wall of a standing one
    """

    wall: Wall
    way: Literal["along", "up"]
    start: float
    end: float
    low: float
    high: float

    @property
    def name(self) -> str:
        """As the crew calls it."""
        return f"{self.wall.name.lower()} wall, {'top flange' if self.way == 'along' else 'front flange'}"


def runs(unit: UnitModel, floor: float = 0.0) -> tuple[Run, ...]:
    """The flanges of a unit: level along the top of three walls, standing at the front of the side walls.

    floor : height of the unit's underside over the finished floor outside, m, negative in a recess
    """
    top, width = floor + unit.outside_height, unit.flange.width
    depth = unit.outside_depth
    level = [
        Run(wall, "along", 0.0, unit.outside_width if wall is Wall.BACK else depth, top - width, top)
        for wall in (Wall.LEFT, Wall.BACK, Wall.RIGHT)
    ]
    standing = [
        Run(wall, "up", floor + unit.threshold_height, top - width, depth - width, depth)
        for wall in (Wall.LEFT, Wall.RIGHT)
    ]
    return (*level, *standing)


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole's centre: along the wall and its height, m; what it hits, and how far that is from being missed.

    wood : "stud 3", "blocking" or "blocking to add";  spare : least distance from the centre to the wood's edge, m
    """

    at: float
    z: float
    wood: str
    spare: float


@dataclass(frozen=True, slots=True)
class Layout:
    """The holes of one run, in order, and what must be added first so that all hit wood.

    open : why the run cannot be laid out even so; "" where it can
    """

    run: Run
    holes: tuple[Hole, ...]
    add: tuple[Blocking, ...] = ()
    open: str = ""

    @property
    def widest(self) -> float:
        """Widest spacing of neighbouring holes, m; 0 for fewer than two."""
        places = [hole.at if self.run.way == "along" else hole.z for hole in self.holes]
        return max((b - a for a, b in pairwise(places)), default=0.0)


@dataclass(frozen=True, slots=True)
class _Wood:
    """Where along a run a screw may go: from, to; the place across the run; the distance to the edge across it."""

    start: float
    end: float
    across: float
    spare: float
    name: str
    stud: bool


def set_out(wall: FramedWall, run: Run, rule: Practice) -> Layout:
    """The holes of one run.

    The first and last lie within `end` of the flange's ends, each next one at most a spacing (and its slack) on. Among
    all such layouts it has the fewest pieces of blocking to add and, with those in place, the fewest holes; the holes
    are then drawn to the middle of their studs, or in blocking to the plain spacing. Raises ValueError for a flange too
    narrow for its edge distances, or a wall that is not the run's.
    """
    if wall.wall is not run.wall:
        raise ValueError(f"the run is on the {run.wall.name.lower()} wall, the studs on the {wall.wall.name.lower()}")
    if run.high - run.low < 2 * rule.flange - TIE:
        asked = format_length(2 * rule.flange, denominator=32)
        raise ValueError(f"{run.name}: a flange of {format_length(run.high - run.low)} is narrower than {asked}")
    wood = list(_woods(wall, run, rule))
    solid = [(piece.start - rule.wood, piece.end + rule.wood) for piece in wood]
    added: list[Blocking] = []
    while True:
        places, stuck = _farthest(wood, run, rule)
        if stuck is None:
            break
        gap = _gap(solid, run, rule, stuck)
        if gap is None:
            near = format_length(stuck)
            why = f"no bay within reach of {near} takes a screw clear of the wood's edges: sister a stud there"
            return Layout(run, _holes(places, wood, run, rule), tuple(added), why)
        added.append(_piece(run, gap))
        solid.append(gap)
        middle = (run.low + run.high) / 2
        wood.append(_Wood(gap[0] + rule.wood, gap[1] - rule.wood, middle, STUD_WIDTH / 2, "blocking to add", False))
    return Layout(run, _holes(_centred(places, wood, run, rule), wood, run, rule), tuple(added))


def _woods(wall: FramedWall, run: Run, rule: Practice) -> Iterable[_Wood]:
    """The wood behind a run, less its edge distances, along and across."""
    across = run.low + rule.flange, run.high - rule.flange
    tall = (-1e3, 1e3)
    pieces = [
        (stud.at - stud.width / 2, stud.at + stud.width / 2, tall, f"stud {k + 1}", True)
        for k, stud in enumerate(wall.studs)
    ]
    pieces += [(piece.start, piece.end, (piece.bottom, piece.top), "blocking", False) for piece in wall.blocking]
    for left, right, heights, name, stud in pieces:
        here, there = ((left, right), heights) if run.way == "along" else (heights, (left, right))
        low, high = max(across[0], there[0] + rule.wood), min(across[1], there[1] - rule.wood)
        if low > high + TIE or here[1] - here[0] < 2 * rule.wood - TIE:
            continue
        inset = min(rule.flange, (run.end - run.start) / 2)
        start, end = max(here[0] + rule.wood, run.start + inset), min(here[1] - rule.wood, run.end - inset)
        if start > end + TIE:
            continue
        middle = min(max((across[0] + across[1]) / 2, low), high)
        spare = min(middle - there[0], there[1] - middle)
        yield _Wood(start, end, middle, spare, name, stud and run.way == "along")


def _farthest(wood: Sequence[_Wood], run: Run, rule: Practice) -> tuple[list[float], float | None]:
    """Places of holes by farthest reach, and the place from which no wood is within reach (None where all is well)."""
    reach = _reach(run, rule)
    places: list[float] = []
    limit, here = run.start + rule.end, run.start
    while True:
        place = _at_most(wood, limit)
        if place is None or place <= here + TIE:
            return places, (places[-1] if places else run.start)
        places.append(place)
        if place >= run.end - rule.end - TIE:
            return places, None
        here, limit = place, place + reach


def _reach(run: Run, rule: Practice) -> float:
    return rule.along + rule.slack if run.way == "along" else rule.up


def _at_most(wood: Sequence[_Wood], limit: float) -> float | None:
    """The farthest place in wood that is no farther than limit."""
    return max((min(piece.end, limit) for piece in wood if piece.start <= limit + TIE), default=None)


def _at_least(wood: Sequence[_Wood], limit: float) -> float:
    return min(max(piece.start, limit) for piece in wood if piece.end >= limit - TIE)


def _gap(solid: list[tuple[float, float]], run: Run, rule: Practice, stuck: float) -> tuple[float, float] | None:
    """The bay that takes a screw farthest on from where the run is stuck, of those within reach."""
    at_start = stuck <= run.start + TIE
    limit = run.start + rule.end if at_start else stuck + _reach(run, rule)
    ends = sorted((max(a, run.start), min(b, run.end)) for a, b in solid if b > run.start and a < run.end)
    bays, here = [], run.start
    for a, b in [*ends, (run.end, run.end)]:
        if a - here >= 2 * rule.wood - TIE:
            bays.append((here, a))
        here = max(here, b)
    within = [bay for bay in bays if bay[0] + rule.wood <= limit and bay[1] - rule.wood > stuck + TIE]
    return max(within, default=None)


def _piece(run: Run, gap: tuple[float, float]) -> Blocking:
    """A piece of 2 in stock that fills the gap, its wide face to the flange where it lies level."""
    middle = (run.low + run.high) / 2
    if run.way == "along":
        half = 2.75 * INCH
        return Blocking(gap[0], gap[1], middle - half, middle + half)
    return Blocking(middle - STUD_WIDTH / 2, middle + STUD_WIDTH / 2, gap[0], gap[1])


def _centred(places: list[float], wood: Sequence[_Wood], run: Run, rule: Practice) -> list[float]:
    """As many holes, each as near as the rest allow to the middle of its stud, in blocking to the plain spacing, up a
    stud to even spacing.
    """
    reach = _reach(run, rule)
    earliest = [_at_least(wood, run.end - rule.end)]
    for _ in places[1:]:
        earliest.append(_at_least(wood, earliest[-1] - reach))
    earliest.reverse()
    found: list[float] = []
    for latest, early in zip(places, earliest, strict=True):
        top = latest if not found else min(latest, found[-1] + reach)
        top = _at_most(wood, top) or top
        piece = _under(wood, top)
        if piece.stud:
            aim = (piece.start + piece.end) / 2
        elif not found:
            aim = latest
        elif run.way == "along":
            aim = found[-1] + rule.along
        else:
            aim = found[-1] + (earliest[-1] - found[-1]) / (len(places) - len(found))
        found.append(min(max(aim, piece.start, early), top))
    return found


def _under(wood: Sequence[_Wood], place: float) -> _Wood:
    """The wood at a place; a stud before blocking, what stands before what must be added."""
    here = [piece for piece in wood if piece.start - TIE <= place <= piece.end + TIE]
    return min(here, key=lambda piece: (piece.name == "blocking to add", not piece.stud))


def _holes(places: list[float], wood: Sequence[_Wood], run: Run, rule: Practice) -> tuple[Hole, ...]:
    holes = []
    for place in places:
        piece = _under(wood, place)
        spare = min(piece.spare, place - piece.start + rule.wood, piece.end - place + rule.wood)
        at, z = (place, piece.across) if run.way == "along" else (piece.across, place)
        holes.append(Hole(at, z, piece.name, spare))
    return tuple(holes)


def setout_findings(
    layouts: Iterable[Layout], rule: Practice, risk: float = 0.05, u: float = TAPE_U
) -> tuple[Finding, ...]:
    """For each run: does every hole hit wood as the wall stands, and if not, what to add, where, how long.

    u : standard uncertainty of a stud's place, m. The chance is that of every hole at once, by the sum of the single
    chances of missing, which is never too hopeful.
    """
    return tuple(_finding(layout, rule, risk, u) for layout in layouts)


def _finding(layout: Layout, rule: Practice, risk: float, u: float) -> Finding:
    run = layout.run
    missing = sum(hole.wood == "blocking to add" for hole in layout.holes)
    spacing = rule.along if run.way == "along" else rule.up
    source = Source("", "", "", Certainty.PRACTICE)
    more = f", {format_length(rule.slack)} more to reach a stud" if run.way == "along" else ""
    written = f"no hole without wood; {format_length(spacing)} on centre{more}; pilot {format_length(rule.pilot)}"
    requirement = Requirement(f"setout/{run.wall.name.lower()}-{run.way}", run.name, "", None, 0.0, "1", source)
    if layout.open:
        verdict, chance, advice = Verdict.FAILS, 0.0, f"{layout.open[0].upper()}{layout.open[1:]}."
    elif layout.add:
        verdict, chance = Verdict.FAILS, 0.0
        advice = " ".join(_add_words(run, piece) for piece in layout.add)
    else:
        misses = (1 - conformance(0.0, u, -hole.spare, hole.spare) for hole in layout.holes)
        chance = max(0.0, 1.0 - sum(misses))
        verdict = decide(chance, risk=risk)
        advice = "" if verdict is Verdict.MEETS else "Find the studs again with a fine nail before you drill."
    return Finding(
        id=requirement.id,
        what=f"Holes without wood behind them: {run.name}",
        value=float(missing),
        u=None,
        unit="1",
        limit=written,
        probability=chance,
        verdict=verdict,
        source=str(source),
        advice=advice,
    )


def _add_words(run: Run, piece: Blocking) -> str:
    corner = "left corner" if run.wall is Wall.BACK else "back corner"
    if run.way == "along":
        return (
            f"Add blocking {format_length(piece.length)} long, from {format_length(piece.start)} to "
            f"{format_length(piece.end)} off the {corner}, its middle "
            f"{format_length((piece.bottom + piece.top) / 2)} up."
        )
    return (
        f"Add a stud, its middle {format_length((piece.start + piece.end) / 2)} off the {corner}, from "
        f"{format_length(piece.bottom)} to {format_length(piece.top)} up."
    )
