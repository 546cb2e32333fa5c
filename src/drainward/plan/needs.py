"""What one room takes of everything, from the stages that compute it.

RoomNeeds    one room: mortar, adhesive, screws, shims, blocking, braces; None where a survey has yet to tell
room_needs   of one room
all_needs    of all rooms of a job

Braces need no survey: without one they are cut for an ordinary bed under an ordinary ceiling, which is said.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from drainward.bed.bead import bead
from drainward.bed.mix import bag_yield
from drainward.bed.result import BedPlan
from drainward.bed.stage import bed_stage
from drainward.errors import InputError, StageError
from drainward.floor.stage import unit_of
from drainward.hold.stage import brace_stage
from drainward.job.model import Job, Room, UnitModel, Work
from drainward.plan.cutting import FOOT, Piece
from drainward.pocket.adjust import adjust
from drainward.pocket.limits import limits_of
from drainward.pocket.place import place
from drainward.pocket.receive import received_unit
from drainward.pocket.setout import Blocking
from drainward.pocket.stage import SetOut, set_stage
from drainward.quantity import INCH
from drainward.rules import load_rules

__all__ = ["MOUNTS", "RoomNeeds", "all_needs", "room_needs"]

MOUNTS = 2
"""Of a grab bar or a seat, one at each end: common practice, no source."""
THINNEST = INCH / 32
"""A gap below this takes no shim; common practice, no source."""
POST_STEP = INCH / 2
"""Posts are sawn to this, and their wedges take up the rest: half of what those reach by the job's default."""
BOARDS: Mapping[str, float] = {
    "2x4": 3.5 * INCH, "2x6": 5.5 * INCH, "2x8": 7.25 * INCH, "2x10": 9.25 * INCH, "2x12": 11.25 * INCH,
}  # fmt: skip
"""Width of dry lumber, m (PS 20-20, from memory)."""

Progress = Callable[[str, float], None]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class RoomNeeds:
    """What one room takes.

    bedded : whether its unit stands in mortar;  area : of its floor, m2
    mortar : bags, mean and the standard deviation that is the room's own;  used : bags that went into it, and their u
    relaid : whether they went there in more than one go, so that they tell nothing of what one bed takes
    tubes : of adhesive;  screws : by kind;  shims : by thickness, m;  blocking : pieces between studs
    braces : one set, feet included;  pads, wedges : under the feet, and pairs at the posts
    stands : from the bed's setting until its braces may come off, s;  ceiling : whether the posts' length is known
    A dict or a tuple is None where nothing is known of it.
    """

    room: Room
    bedded: bool = False
    area: float = 0.0
    mortar: tuple[float, float] | None = None
    used: tuple[float, float] | None = None
    relaid: bool = False
    tubes: float = 0.0
    screws: Mapping[str, int] | None = None
    shims: Mapping[float, int] | None = None
    blocking: tuple[Piece, ...] | None = None
    braces: tuple[Piece, ...] = ()
    pads: int = 0
    wedges: int = 0
    stands: float = 0.0
    ceiling: bool = True


def all_needs(job: Job, progress: Progress | None = None) -> tuple[RoomNeeds, ...]:
    """Every room of the job in its order; `progress` gets the room and the share done."""
    found = []
    for number, room in enumerate(job.rooms):
        if progress is not None:
            progress(room.room, number / len(job.rooms))
        found.append(room_needs(job, room))
    return tuple(found)


def room_needs(job: Job, room: Room) -> RoomNeeds:
    """What one room takes, as far as its survey tells."""
    try:
        sheet = unit_of(job, room.room)
        unit, _ = received_unit(sheet, [row for row in job.received if row.room == room.room])
    except (StageError, InputError):
        return RoomNeeds(room)
    surveyed = any(measure.room == room.room for measure in job.survey)
    bedded = unit.style == "bedded"
    bed = _known(lambda: bed_stage(job, room.room)) if surveyed and bedded else None
    out = _known(lambda: set_stage(job, room.room)) if surveyed else None
    used, relaid = _used(job, room.room)
    braces, pads, wedges, ceiling = _braces(job, room.room, bed) if bedded else ((), 0, 0, True)
    return RoomNeeds(
        room=room,
        bedded=bedded,
        area=unit.inside_width * unit.inside_depth,
        mortar=_mortar(job, bed),
        used=used,
        relaid=relaid,
        tubes=bead(unit.inside_width, job.materials.adhesive).tubes if bedded else 0.0,
        screws=None if out is None else _screws(out),
        shims=_known(lambda: _shims(job, room.room, unit)) if surveyed else None,
        blocking=None if out is None else _blocking(out),
        braces=braces,
        pads=pads,
        wedges=wedges,
        stands=unit.minimum_cure,
        ceiling=ceiling,
    )


def _known(compute: Callable[[], T]) -> T | None:
    """What is computed; None where it cannot be yet."""
    try:
        return compute()
    except (StageError, InputError):
        return None


def _mortar(job: Job, bed: BedPlan | None) -> tuple[float, float] | None:
    """Bags, and what of their uncertainty other rooms do not share."""
    if bed is None or bed.mix is None:
        return None
    shared = bag_yield(job.materials.mortar).shared * bed.mix.bags
    return bed.mix.bags, math.sqrt(max(bed.mix.u_bags**2 - shared**2, 1e-9))


def _used(job: Job, room: str) -> tuple[tuple[float, float] | None, bool]:
    """Bags that went into a room, and whether in more than one go."""
    own = [done for done in job.setting if done.room == room and done.what is Work.MORTAR_USED]
    powder = [(done.value, done.u or 0.0) for done in own if done.value is not None]
    if not powder:
        return None, False
    bag = job.materials.mortar.bag_mass
    return (sum(kg for kg, _ in powder) / bag, math.hypot(*(u for _, u in powder)) / bag), len(powder) > 1


def _screws(out: SetOut) -> dict[str, int]:
    """Of the flanges, and of the mounts of what hangs on the walls."""
    found: Counter[str] = Counter()
    for line in out.screws:
        found[line.screw.words] += line.count
    for backing in out.backings:
        if backing.screw is not None and backing.count is not None:
            found[backing.screw.words] += MOUNTS * backing.count
    return dict(found)


def _shims(job: Job, room: str, unit: UnitModel) -> dict[float, int]:
    """By thickness to 1/16 in, thicker where it lies between two."""
    limits = limits_of(load_rules(job.rules), job.rules.shower)
    measures = [measure for measure in job.survey if measure.room == room]
    placed = place(unit, adjust(unit, measures, job.risk).pocket, limits)
    step = INCH / 16
    thick = (math.ceil(shim.thickness / step - 1e-6) for shim in placed.shims if shim.thickness > THINNEST)
    return {sixteenths * step: count for sixteenths, count in sorted(Counter(thick).items())}


def _blocking(out: SetOut) -> tuple[Piece, ...]:
    """Pieces to add for the flanges and behind what hangs on the walls."""
    flanges = [_board(piece) for layout in out.layouts for piece in layout.add]
    return tuple(flanges + [_board(piece) for backing in out.backings for piece in backing.add])


def _board(piece: Blocking) -> Piece:
    """A piece between studs lies along the wall; one beside a stud stands up."""
    along, up = piece.end - piece.start, piece.top - piece.bottom
    long, wide = max(along, up), min(along, up)
    section = next((name for name, width in BOARDS.items() if width >= wide - 1e-6), "2x12")
    return Piece(section, long, 1, "blocking")


def _braces(job: Job, room: str, bed: BedPlan | None) -> tuple[tuple[Piece, ...], int, int, bool]:
    """One set's pieces, its pads, its pairs of wedges, and whether somebody told how high the ceiling is."""
    found = _known(lambda: brace_stage(job, room, bed))
    if found is None:
        return (), 0, 0, True
    longest = max(job.materials.lumber.stock_feet) * FOOT
    pieces, count = [], Counter[str]()
    for piece in found.pieces:
        length = round(piece.length / POST_STEP) * POST_STEP if piece.what == "post" else piece.length
        count[piece.what] += piece.count
        if 0 < length <= longest:
            pieces.append(Piece(piece.section, length, piece.count, piece.what))
    known = all(brace.head.known for brace in found.braces)
    return tuple(pieces), count["foot"], count["post"], known
