"""What is hidden in each room, and how its crew reads it. Verdicts are nowhere: they are computed from the readings.

Hidden    one room: its true floor, its threshold, the crew's way of reading, and what went wrong while reading
ROOMS     by room; a room that is not here was not read yet
readings  of one room
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta

import numpy as np

from drainward.demo.crew import Place, Visit, around, grid, level_lines, read_floor, read_threshold
from drainward.demo.floors import true_floor
from drainward.floor.shape import INCH
from drainward.job.model import Reading, Room, UnitModel

__all__ = ["ROOMS", "Hidden", "readings"]


@dataclass(frozen=True, slots=True)
class Hidden:
    """A true floor of `kind`, made from its own `seed`, its defect scaled by `severity`.

    manner : one of thorough, usual, quick, laser, wedge
    rise : of the threshold over the finished floor, m
    blunder : the reading whose sign is written the wrong way round, if any
    """

    kind: str
    seed: int
    severity: float = 1.0
    manner: str = "usual"
    rise: float = 3 / 8 * INCH
    blunder: int | None = None


ROOMS: Mapping[str, Hidden] = {
    "101": Hidden("plain", 1, manner="thorough"),
    "102": Hidden("plain", 8, manner="thorough"),
    "103": Hidden("tilt", 4, 2.5),
    "104": Hidden("plain", 6, manner="usual"),
    "105": Hidden("birdbath", 5, 2.2, manner="thorough"),
    "106": Hidden("plain", 2, manner="thorough", rise=11 / 16 * INCH),
    "107": Hidden("sag", 1, manner="usual"),
    "108": Hidden("bulge", 2, 2.2, manner="thorough"),
    "201": Hidden("plain", 12, manner="thorough"),
    "202": Hidden("tilt", 1, 1.5),
    "203": Hidden("plain", 7, manner="thorough", blunder=17),
    "204": Hidden("plain", 4, manner="quick"),
    "205": Hidden("bulge", 8, 2.4, manner="thorough"),
    "206": Hidden("step", 4, manner="wedge"),
    "207": Hidden("plain", 3, manner="laser"),
    "208": Hidden("ridge", 3, manner="usual"),
    "301": Hidden("plain", 8, manner="thorough"),
    "302": Hidden("plain", 1, manner="thorough"),
    "303": Hidden("birdbath", 2, 2.2, manner="thorough"),
    "304": Hidden("plain", 6, manner="laser"),
    "305": Hidden("tilt", 1, 2.5, manner="wedge"),
    "306": Hidden("sag", 4, manner="usual"),
    "307": Hidden("plain", 2, manner="quick"),
}

_HANDS = {"1": "AK", "2": "BT", "3": "CM"}


def readings(room: Room, unit: UnitModel, seed: int) -> tuple[Reading, ...]:
    """What the crew wrote down in the room on the second day after it was ready; empty where it has not been there."""
    hidden = ROOMS.get(room.room)
    if hidden is None or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room)])
    floor = true_floor(unit, hidden.kind, np.random.default_rng([hidden.seed]), hidden.severity)
    when = datetime.combine(room.ready + timedelta(days=1), time(9 + int(room.room) % 2 * 4))
    visit = Visit(room.room, _HANDS[room.room[0]], when)
    found: list[Reading] = []
    for instrument, places in _footprints(unit, hidden.manner):
        later = Visit(visit.room, visit.who, when + timedelta(minutes=len(found)))
        found += read_floor(floor, later, instrument, places, rng)
    if hidden.blunder is not None:
        found[hidden.blunder] = _turned_round(found[hidden.blunder])
    later = Visit(visit.room, visit.who, when + timedelta(minutes=len(found)))
    return (*found, *read_threshold(unit, later, hidden.rise, rng))


def _footprints(unit: UnitModel, manner: str) -> list[tuple[str, list[Place]]]:
    """Which tool goes where."""
    if manner == "thorough":
        return [("L9", level_lines(unit, 30)), ("L24", level_lines(unit, 8, "L24"))]
    if manner == "usual":
        return [("L9", level_lines(unit, 12))]
    if manner == "quick":
        return [("L24", level_lines(unit, 8, "L24")), ("L9", around(unit, "L9", 3 * INCH))]
    if manner == "laser":
        return [("RL", grid(unit, 10, 6))]
    return [("W24", level_lines(unit, 14, "W24")), ("L9", level_lines(unit, 8, turn=0.4))]


def _turned_round(reading: Reading) -> Reading:
    """The level was read from the wrong end: the sign is the other way round."""
    written = reading.written[1:] if reading.written.startswith("-") else f"-{reading.written}"
    return reading.model_copy(update={"value": -reading.value, "written": written})
