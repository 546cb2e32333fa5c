"""The crew's card of one room: one page with its own numbers in the order of the work, black on white.

Card         the numbers, already computed; ShimRow, HoleRow, BatchRow, ReadRow, BraceRow, ClockRow: its tables
Moment       what a time on the card is of
card_pdf     the page in one of `language.LANGUAGES`; layout stands in card.typ
card_of      what the dry set and the set-out of a room give to its card

What is not known yet stands as a blank to fill in by hand, never left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import partial
from typing import Any, Literal

import numpy as np

from drainward.job.model import Job, Room, UnitModel
from drainward.pocket.setout import Layout
from drainward.pocket.shape import Wall
from drainward.pocket.stage import DrySet, SetOut
from drainward.quantity import INCH, format_length, format_mass, format_slope, format_volume
from drainward.report.language import clock_in, hour_in, say_in
from drainward.report.press import print_pdf

__all__ = [
    "BatchRow",
    "BraceRow",
    "Card",
    "ClockRow",
    "HoleRow",
    "Moment",
    "ReadRow",
    "ShimRow",
    "card_of",
    "card_pdf",
]

Side = Literal["left", "back", "right"]
Say = Callable[[str], str]
_SIXTEENTH = INCH / 16
_BLANK = "________"


@dataclass(frozen=True, slots=True)
class ShimRow:
    """At one stud: its number from the corner, where its middle is from there, m, and (height, thickness) up it, m.

    A thickness below nought is to be planed.
    """

    wall: Side
    stud: int
    at: float
    thickness: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class HoleRow:
    """Holes of one flange. way : "up" along one that stands, "along" the top;  at : m, running, as a tape is hooked."""

    wall: Side
    way: Literal["up", "along"]
    at: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class BatchRow:
    """bags : of powder;  water : m3;  mixed, placed : when mixing begins, and until when all of it is in its place."""

    bags: float
    water: float
    mixed: datetime | None = None
    placed: datetime | None = None


@dataclass(frozen=True, slots=True)
class ReadRow:
    """A reading of the draft check along (x, y) to (x2, y2), m, and the falls that it may show, ratio."""

    x: float
    y: float
    x2: float
    y2: float
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class BraceRow:
    """Pieces cut alike. section : such as 2x4;  length : m;  what : post, board, head plate, foot; "" not told."""

    count: int
    section: str
    length: float
    what: str = ""


class Moment(StrEnum):
    """What happens at a time of the card, in the order of the work."""

    BEGIN = "begin"
    CHECKED = "checked by"
    BRACED = "braced by"
    CURED = "cured"
    TEST = "test"


@dataclass(frozen=True, slots=True)
class ClockRow:
    """when : local time of the site."""

    moment: Moment
    when: datetime


@dataclass(frozen=True, slots=True)
class Card:
    """One room's numbers, SI. None or an empty tuple: not known yet.

    mass, cure : of the unit, kg and s;  drain_off : of the drain from the core's centre, right and to the opening, m
    rise : of the threshold over the finished floor, m;  tubes : of adhesive;  bedded : whether it stands in mortar
    """

    job: str
    room: str
    floor: str
    unit: str
    mass: float
    cure: float
    shims: tuple[ShimRow, ...] = ()
    drain_off: tuple[float, float] | None = None
    rise: float | None = None
    holes: tuple[HoleRow, ...] = ()
    batches: tuple[BatchRow, ...] = ()
    tubes: float | None = None
    reads: tuple[ReadRow, ...] = ()
    braces: tuple[BraceRow, ...] = ()
    clocks: tuple[ClockRow, ...] = ()
    bedded: bool = True


def card_of(job: Job, room: Room, unit: UnitModel, dry: DrySet | None, out: SetOut | None) -> Card:
    """The card as far as dry set and set-out know it; whoever has the bed, the braces and the plan adds theirs."""
    placed = None if dry is None else dry.placed
    off = None if placed is None or not np.isfinite(placed.drain_off).all() else placed.drain_off
    rise = None if placed is None or not np.isfinite(placed.heights.rise) else float(placed.heights.rise)
    return Card(
        job=job.name,
        room=room.room,
        floor=room.floor,
        unit=unit.name,
        mass=unit.mass,
        cure=unit.minimum_cure,
        shims=() if dry is None else _shim_rows(dry),
        drain_off=off,
        rise=rise,
        holes=() if out is None else tuple(_hole_row(layout) for layout in out.layouts),
    )


def _shim_rows(dry: DrySet) -> tuple[ShimRow, ...]:
    pocket, found = dry.adjusted.pocket, dict[tuple[int, int], list[tuple[float, float]]]()
    at: dict[tuple[int, int], float] = {}
    for shim in dry.placed.shims:
        key = int(pocket.wall[shim.index]), int(pocket.stud[shim.index])
        at.setdefault(key, float(pocket.at[shim.index]))
        found.setdefault(key, []).append((round(float(pocket.z[shim.index]), 3), float(shim.thickness)))
    return tuple(
        ShimRow(_side(wall), stud + 1, at[wall, stud], tuple(sorted(found[wall, stud]))) for wall, stud in sorted(found)
    )


def _side(wall: int) -> Side:
    sides: dict[Wall, Side] = {Wall.LEFT: "left", Wall.BACK: "back", Wall.RIGHT: "right"}
    return sides[Wall(wall)]


def card_pdf(card: Card, language: str = "en") -> bytes:
    """One letter page. Raises ValueError for a language without a catalogue."""
    say = say_in(language)
    clock = partial(clock_in, language)
    head = say("Room {room}").format(room=card.room)
    data = {
        "language": language,
        "room": head,
        "floor": say("Floor {floor}").format(floor=card.floor) if card.floor else "",
        "job": card.job,
        "unit": card.unit,
        "steps": [
            _dry_set(card, say),
            _marks(card, say),
            _mortar(card, say, partial(hour_in, language)),
            _draft(card, say),
            _brace(card, say),
            _clocks(card, say, clock),
        ],
        "caution": say("Take care"),
        "cautions": _cautions(card, say),
        "blank": say("Name, date"),
    }
    return print_pdf("card.typ", data)


def _step(
    title: str, lines: Sequence[str], head: Sequence[str] = (), rows: Sequence[Sequence[str]] = ()
) -> dict[str, Any]:
    return {
        "title": title,
        "lines": [line for line in lines if line],
        "head": list(head),
        "rows": [list(r) for r in rows],
    }


def _dry_set(card: Card, say: Say) -> dict[str, Any]:
    """Shims at each stud; where the drain and the threshold then lie."""
    title = say("Dry set: shims between flange and stud")
    lines = []
    if card.drain_off is not None:
        right, front = (format_length(abs(off)) for off in card.drain_off)
        across = say("{much} to the right") if card.drain_off[0] >= 0 else say("{much} to the left")
        along = say("{much} to the opening") if card.drain_off[1] >= 0 else say("{much} to the back")
        lines.append(
            say("Drain from the middle of the core: {across}, {along}.").format(
                across=across.format(much=right), along=along.format(much=front)
            )
        )
    if card.rise is not None:
        rise = format_length(card.rise)
        lines.append(say("Threshold over the finished floor: {rise}.").format(rise=rise))
    if not card.shims:
        return _step(title, [*lines, _unknown(say)])
    lines.append(say("Studs at the sides are taped from the back, those at the back from the left."))
    levels = sorted({z for row in card.shims for z, _ in row.thickness})
    head = [say("stud"), *(say("{height} up").format(height=format_length(z)) for z in levels)]
    return _step(title, lines, head, [_shim_cells(row, levels, say) for row in card.shims])


def _shim_cells(row: ShimRow, levels: Sequence[float], say: Say) -> list[str]:
    name = f"{_wall(row.wall, say)} {row.stud}, {format_length(row.at)}"
    by_level = dict(row.thickness)
    return [name, *(_thickness(by_level.get(z), say) for z in levels)]


def _thickness(metres: float | None, say: Say) -> str:
    """To 1/16 in; what is in the way to the next one up, since planing less does not do."""
    if metres is None:
        return ""
    if metres >= -_SIXTEENTH / 100:
        return format_length(max(metres, 0.0))
    much = format_length(float(np.ceil(-metres / _SIXTEENTH - 1e-3)) * _SIXTEENTH)
    return say("plane {much}").format(much=much)


def _wall(side: Side, say: Say) -> str:
    return {"left": say("left"), "back": say("back"), "right": say("right")}[side]


def _hole_row(layout: Layout) -> HoleRow:
    places = (hole.at if layout.run.way == "along" else hole.z for hole in layout.holes)
    return HoleRow(_side(int(layout.run.wall)), layout.run.way, tuple(sorted(map(float, places))))


def _marks(card: Card, say: Say) -> dict[str, Any]:
    title = say("Mark and drill the flange")
    if not card.holes:
        return _step(title, [_unknown(say)])
    ways = {"up": say("up from the floor"), "along": say("along the top, from the corner")}
    rows = [
        (f"{_wall(row.wall, say)}, {ways[row.way]}", "  ".join(format_length(at) for at in row.at))
        for row in card.holes
    ]
    return _step(title, [], [say("flange"), say("holes, running")], rows)


def _mortar(card: Card, say: Say, time_of_day: Callable[[datetime], str]) -> dict[str, Any]:
    title = say("Mix and bed")
    if not card.bedded:
        return _step(title, [say("No mortar: the unit stands on its own base. Slab swept and dry.")])
    tubes = (
        ""
        if card.tubes is None
        else say("Adhesive under the threshold: {tubes} tubes.").format(tubes=f"{np.ceil(card.tubes * 4 - 1e-9) / 4:g}")
    )
    if not card.batches:
        return _step(title, [say("Bags: {blank}   Water: {blank}").format(blank=_BLANK), _unknown(say), tubes])
    total = sum(batch.bags for batch in card.batches)
    rows = [
        (
            str(number),
            f"{batch.bags:.2f}",
            format_volume(batch.water),
            time_of_day(batch.mixed) if batch.mixed else _BLANK,
            time_of_day(batch.placed) if batch.placed else _BLANK,
        )
        for number, batch in enumerate(card.batches, 1)
    ]
    head = [say("batch"), say("bags"), say("water"), say("mix at"), say("in place by")]
    return _step(title, [say("{bags} bags in all.").format(bags=f"{total:.2f}"), tubes], head, rows)


def _draft(card: Card, say: Say) -> dict[str, Any]:
    """Where to lay the level before the bed sets: from the back left inside corner."""
    title = say("Draft check while the bed is wet") if card.bedded else say("Draft check")
    if not card.reads:
        return _step(title, [_unknown(say)])
    where = say("Inches to the right and to the opening, from the back left inside corner.")
    falls = {(read.least, read.most) for read in card.reads}
    if len(falls) == 1:
        ((least, most),) = falls
        between = say("Every fall from {least} to {most}.").format(least=format_slope(least), most=format_slope(most))
        spots = [(_spot(read.x, read.y), _spot(read.x2, read.y2), _BLANK) for read in card.reads]
        return _step(title, [where, between], [say("level from"), say("to"), say("read")], spots)
    head = [say("level from"), say("to"), say("fall, least"), say("most"), say("read")]
    rows = [
        (_spot(read.x, read.y), _spot(read.x2, read.y2), format_slope(read.least), format_slope(read.most), _BLANK)
        for read in card.reads
    ]
    return _step(title, [where], head, rows)


def _spot(x: float, y: float) -> str:
    return f"{format_length(x, 'in', 2)}, {format_length(y, 'in', 2)}"


def _brace(card: Card, say: Say) -> dict[str, Any]:
    title = say("Fasten and brace, directly after")
    if not card.bedded:
        return _step(title, [say("No braces: nothing sets under this unit. Fasten it to the studs.")])
    if not card.braces:
        return _step(title, [_unknown(say)])
    names = {
        "post": say("post"),
        "board": say("board"),
        "head plate": say("head plate"),
        "foot": say("padded foot"),
    }
    other = say("brace")
    rows = [
        (f"{row.count} × {names.get(row.what, other)}", row.section, format_length(row.length)) for row in card.braces
    ]
    return _step(title, [], [say("pieces"), say("lumber"), say("length")], rows)


def _clocks(card: Card, say: Say, clock: Callable[[datetime], str]) -> dict[str, Any]:
    """Times of the plan; without one, blanks for the times that count."""
    names = {
        Moment.BEGIN: say("Begin"),
        Moment.CHECKED: say("Draft check done by"),
        Moment.BRACED: say("Braced by"),
        Moment.CURED: say("Braces out, and nobody on the floor, not before"),
        Moment.TEST: say("Water test"),
    }
    if not card.bedded:
        names = {
            Moment.BEGIN: names[Moment.BEGIN],
            Moment.BRACED: say("Fastened by"),
            Moment.CURED: say("Nobody on the floor before"),
            Moment.TEST: names[Moment.TEST],
        }
    known = {row.moment: clock(row.when) for row in card.clocks}
    return _step(say("Clock"), [], [], [(name, known.get(moment, _BLANK)) for moment, name in names.items()])


def _unknown(say: Say) -> str:
    return say("Not known yet: ask before you begin.")


def _cautions(card: Card, say: Say) -> list[str]:
    lift = say("The unit weighs about {mass}: plan the lift, enough people, hands clear of drain and edges.")
    mortar = say("Wet mortar burns skin and eyes: gloves, sleeves, eye protection, clean water at hand.")
    cured = say("Nobody on the floor until the bed has cured: {cure} h at least, longer in the cold.")
    of_the_bed = [
        mortar,
        cured.format(cure=f"{card.cure / 3600:.0f}"),
        say("After that the bed cannot be mended by moving the unit."),
    ]
    return [
        lift.format(mass=format_mass(card.mass)),
        *(of_the_bed if card.bedded else ()),
        say("Dust of mortar, cutting and grinding holds silica: wet or extracted, with a mask. Never sweep it dry."),
        say("Codes in force, the unit maker's instructions and the inspector come before this card."),
    ]
