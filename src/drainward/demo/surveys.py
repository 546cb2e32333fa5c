"""What pocket is hidden in each room, and how its crew surveys it. Answers are nowhere: they are computed from that.

Hidden         one room: its true pocket, the crew's way of measuring, what went wrong, how the unit arrived
POCKETS        by room; a room that is not here was not surveyed yet
hidden_pocket  the true pocket of one room
measures       the survey of one room
received       what was measured and seen of one room's unit as it arrived
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

import numpy as np

from drainward.demo.crew import Visit
from drainward.demo.framing import Framing, TruePocket, TrueWall, true_pocket
from drainward.demo.storey import door_of
from drainward.demo.tape import MANNERS, look_over, read_pocket
from drainward.job.model import Measure, Received, Room, Size, UnitModel, What
from drainward.pocket.shape import Wall
from drainward.quantity import INCH, format_length, parse_length

__all__ = ["CEILING", "POCKETS", "Hidden", "hidden_pocket", "measures", "received"]

_GOOD = Framing()
_OF_THE_CORE = (What.CORE, What.CORE_FROM_LEFT, What.CORE_FROM_BACK, What.RECESS_WIDTH, What.RECESS_DEPTH)
CEILING = 96 * INCH


@dataclass(frozen=True, slots=True)
class Hidden:
    """A true pocket framed as told from its own `seed`, and what is the matter with it.

    bowed : a stud crooked into the pocket: its wall, its number from the left or the back, half way up by how much, in
    core : diameter, and how far off its place to the right and to the front, inches
    cored : whether the core is drilled yet;  high : how far the recessed slab stands over its place, inches
    board : lower edge and width of the blocking, inches
    slip : the width whose tape was read an inch wrong, counted from the first, if any
    arrived : by how much sizes of the unit are off its sheet, inches; None where nobody looked;  damage : seen on it
    """

    seed: int
    manner: str = "thorough"
    framing: Framing = _GOOD
    bowed: tuple[Wall, int, float] | None = None
    core: tuple[float, float, float] = (6.0, 0.0, 0.0)
    cored: bool = True
    high: float = 0.0
    board: tuple[float, float] = (29.75, 7.25)
    slip: int | None = None
    arrived: Mapping[Size, float] | None = None
    damage: str = ""


def _narrow(wider: float) -> Framing:
    return replace(_GOOD, wider=wider * INCH)


_AS_SENT: Mapping[Size, float] = {Size.OUTSIDE_WIDTH: 0.0, Size.OUTSIDE_DEPTH: 0.0, Size.DRAIN_X: 0.0}

POCKETS: Mapping[str, Hidden] = {
    "101": Hidden(2, arrived=_AS_SENT),
    "102": Hidden(4, framing=_narrow(1 / 4), bowed=(Wall.RIGHT, 1, 7 / 16)),
    "103": Hidden(3, framing=_narrow(-1.0)),
    "104": Hidden(14, slip=4),
    "105": Hidden(5, manner="quick"),
    "106": Hidden(6, core=(4.5, 5 / 8, 0.0), high=1 / 4),
    "107": Hidden(7, high=3 / 4),
    "108": Hidden(8, framing=_narrow(3 / 8), arrived={**_AS_SENT, Size.OUTSIDE_WIDTH: 3 / 8}),
    "201": Hidden(9, arrived=_AS_SENT, damage="corner of the back flange cracked, 3 in long"),
    "203": Hidden(10, board=(31, 9.25), high=-5 / 4),
    "301": Hidden(11, framing=_narrow(-1 / 8), cored=False),
    "302": Hidden(12, arrived=_AS_SENT),
    "303": Hidden(13, manner="usual"),
}

_HANDS = {"1": "DN", "2": "EP", "3": "FR"}
_SURVEYED, _ARRIVED = 2, 3  # each has its own stream of chance, so that neither changes a reading


def hidden_pocket(hidden: Hidden, unit: UnitModel) -> TruePocket:
    """The true pocket under one room's survey."""
    pocket = true_pocket(unit, np.random.default_rng([hidden.seed]), hidden.framing)
    across, right, front = hidden.core
    x, y, _ = pocket.core
    walls = list(pocket.walls)
    if hidden.bowed is not None:
        wall, stud, inches = hidden.bowed
        walls[wall] = _bowed(walls[wall], stud, -inches * INCH if wall is Wall.RIGHT else inches * INCH)
    return replace(
        pocket,
        walls=(walls[0], walls[1], walls[2]),
        core=(x + right * INCH, y + front * INCH, across * INCH),
        sunk=pocket.sunk - hidden.high * INCH,
        board=(hidden.board[0] * INCH, hidden.board[1] * INCH),
    )


def measures(room: Room, unit: UnitModel, seed: int) -> tuple[Measure, ...]:
    """What the crew measured in the room three days before it was ready; empty where it has not been there."""
    hidden = POCKETS.get(room.room)
    if hidden is None or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room), _SURVEYED])
    visit = Visit(room.room, _HANDS[room.room[0]], datetime.combine(room.ready - timedelta(days=3), time(8)))
    sizes = {What.DOOR_WIDTH: door_of(room.room), What.CEILING: CEILING}
    found = read_pocket(hidden_pocket(hidden, unit), visit, MANNERS[hidden.manner], sizes, rng)
    if not hidden.cored:
        found = [measure for measure in found if measure.what not in _OF_THE_CORE]
    if hidden.slip is not None:
        widths = [k for k, measure in enumerate(found) if measure.what is What.WIDTH]
        found[widths[hidden.slip]] = _an_inch_off(found[widths[hidden.slip]])
    return tuple(found)


def received(room: Room, unit: UnitModel, seed: int) -> tuple[Received, ...]:
    """What the crew measured and saw of the room's unit the day before it was ready; empty where nobody looked."""
    hidden = POCKETS.get(room.room)
    if hidden is None or hidden.arrived is None or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room), _ARRIVED])
    visit = Visit(room.room, _HANDS[room.room[0]], datetime.combine(room.ready - timedelta(days=1), time(7, 30)))
    sizes = {what: off * INCH for what, off in hidden.arrived.items()}
    return tuple(look_over(unit, visit, sizes, hidden.damage, rng))


def _bowed(wall: TrueWall, stud: int, much: float) -> TrueWall:
    """One stud of it more crooked by so much half way up."""
    crook = tuple(off + much if number == stud else off for number, off in enumerate(wall.crook))
    return replace(wall, crook=crook)


def _an_inch_off(measure: Measure) -> Measure:
    """The tape was read at the next inch."""
    written = format_length(measure.value + INCH)
    return measure.model_copy(update={"value": parse_length(written).value, "written": written})
