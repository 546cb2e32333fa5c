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

from drainward.demo.crew import Place, Visit, around, grid, level_lines, read_floor, read_threshold, star
from drainward.demo.floors import true_floor
from drainward.floor.shape import INCH
from drainward.job.model import Reading, Room, UnitModel

__all__ = ["ROOMS", "Hidden", "readings"]


@dataclass(frozen=True, slots=True)
class Hidden:
    """A true floor of `kind`, made from its own `seed`, its defect scaled by `severity`.

    manner : one of thorough, usual, quick, laser, wedge
    rise : of the threshold over the finished floor, m
    closer : where something looked wrong and the crew read around it, inches from the left and from the back
    blunder : the reading whose sign is written the wrong way round, if any
    """

    kind: str
    seed: int
    severity: float = 1.0
    manner: str = "usual"
    rise: float = 3 / 8 * INCH
    closer: tuple[float, float] | None = None
    blunder: int | None = None


ROOMS: Mapping[str, Hidden] = {
    "101": Hidden("plain", 1, manner="thorough"),
    "102": Hidden("plain", 8, manner="thorough"),
    "103": Hidden("tilt", 4, 2.5),
    "104": Hidden("plain", 6, blunder=5),
    "105": Hidden("birdbath", 12, 1.8, closer=(24, 4)),
    "106": Hidden("plain", 2, manner="thorough", rise=11 / 16 * INCH),
    "107": Hidden("sag", 1),
    "108": Hidden("bulge", 11, 1.8, closer=(44, 20)),
    "201": Hidden("plain", 12, manner="thorough"),
    "202": Hidden("tilt", 1, 1.5),
    "203": Hidden("plain", 7, manner="thorough"),
    "204": Hidden("plain", 4, manner="quick"),
    "205": Hidden("bulge", 12, 1.8, closer=(24, 4)),
    "206": Hidden("step", 4, manner="wedge"),
    "207": Hidden("plain", 3, manner="laser"),
    "208": Hidden("ridge", 3, 1.3),
    "301": Hidden("plain", 8, manner="thorough"),
    "302": Hidden("plain", 1, manner="thorough"),
    "303": Hidden("birdbath", 11, 1.8, closer=(44, 20)),
    "304": Hidden("plain", 6, manner="laser"),
    "305": Hidden("tilt", 1, 2.5, manner="wedge"),
    "306": Hidden("sag", 4),
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
    for instrument, places in _footprints(unit, hidden):
        later = Visit(visit.room, visit.who, when + timedelta(minutes=len(found)))
        found += read_floor(floor, later, instrument, places, rng)
    if hidden.blunder is not None:
        found[hidden.blunder] = _turned_round(found[hidden.blunder])
    later = Visit(visit.room, visit.who, when + timedelta(minutes=len(found)))
    return (*found, *read_threshold(unit, later, hidden.rise, rng))


def _footprints(unit: UnitModel, hidden: Hidden) -> list[tuple[str, list[Place]]]:
    """Which tool goes where."""
    by_manner: dict[str, list[tuple[str, list[Place]]]] = {
        "thorough": [("L9", level_lines(unit, 40))],
        "usual": [("L9", level_lines(unit, 12))],
        "quick": [("L24", level_lines(unit, 8, "L24")), ("L9", around(unit, "L9", 3 * INCH))],
        "laser": [("RL", grid(unit, 10, 6))],
        "wedge": [("W24", level_lines(unit, 14, "W24")), ("L9", level_lines(unit, 8, turn=0.4))],
    }
    x, y = hidden.closer or (0.0, 0.0)
    around_it = [("L9", star(unit, x * INCH, y * INCH))] if hidden.closer else []
    return by_manner[hidden.manner] + around_it


def _turned_round(reading: Reading) -> Reading:
    """The level was read from the wrong end: the sign is the other way round."""
    written = reading.written[1:] if reading.written.startswith("-") else f"-{reading.written}"
    return reading.model_copy(update={"value": -reading.value, "written": written})
