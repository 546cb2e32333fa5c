"""What is hidden in each room, and how its crew reads it and pours. Verdicts are nowhere: they are computed from that.

Hidden        one room: its true floor, its threshold, the crew's way of reading, and what went wrong while reading
ROOMS         by room; a room that is not here was not read yet
POURS         by room, one after the other; a room that is not here was not wetted yet
hidden_floor  the true floor of one room
readings      of one room
water_tests   of one room
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta

import numpy as np

from drainward.demo.crew import Place, Visit, around, grid, level_lines, read_floor, read_threshold, star
from drainward.demo.floors import TrueFloor, hollowed, true_floor
from drainward.demo.pour import Pouring, pour_and_look
from drainward.floor.shape import INCH
from drainward.job.model import Job, Reading, Room, UnitModel, WaterTest

__all__ = ["POURS", "ROOMS", "Hidden", "hidden_floor", "readings", "water_tests"]

_HOLLOW = (6 * INCH, 7 / 16 * INCH)
"""Reach and depth of a hollow that no tool touched."""


@dataclass(frozen=True, slots=True)
class Hidden:
    """A true floor of `kind`, made from its own `seed`, its defect scaled by `severity`.

    manner : one of thorough, usual, quick, laser, wedge
    rise : of the threshold over the finished floor, m
    closer : where something looked wrong and the crew read around it, inches from the left and from the back
    blunder : the reading whose sign is written the wrong way round, if any
    hollow : where the panel is hollow besides, between the readings, inches from the left and from the back
    """

    kind: str
    seed: int
    severity: float = 1.0
    manner: str = "usual"
    rise: float = 3 / 8 * INCH
    closer: tuple[float, float] | None = None
    blunder: int | None = None
    hollow: tuple[float, float] | None = None


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
    "307": Hidden("plain", 2, manner="quick", hollow=(14.5, 20.5)),
}

POURS: Mapping[str, tuple[Pouring, ...]] = {
    "101": (Pouring(hottest=116, flow=2.2),),
    "103": (Pouring(over=5, at=(30, 30), note="bucket emptied by the opening, water ran out over the threshold"),),
    "105": (Pouring(soap=True),),
    "106": (Pouring(hottest=127, flow=2.1),),
    "201": (Pouring(film=(47, 9), hottest=115, flow=2.3),),
    "203": (
        Pouring(takes=0.006, note="water stood over the grate for half an hour"),
        Pouring(note="grate lifted, mortar chipped out of the trap, poured again"),
    ),
    "301": (Pouring(hottest=117, flow=3.1),),
    "307": (Pouring(soap=True, hottest=114, flow=2.3),),
}

_HANDS = {"1": "AK", "2": "BT", "3": "CM"}


def hidden_floor(hidden: Hidden, unit: UnitModel) -> TrueFloor:
    """The true floor under one room's readings and water."""
    floor = true_floor(unit, hidden.kind, np.random.default_rng([hidden.seed]), hidden.severity)
    if hidden.hollow is None:
        return floor
    x, y = hidden.hollow
    return hollowed(floor, x * INCH, y * INCH, *_HOLLOW)


def readings(room: Room, unit: UnitModel, seed: int) -> tuple[Reading, ...]:
    """What the crew wrote down in the room on the second day after it was ready; empty where it has not been there."""
    hidden = ROOMS.get(room.room)
    if hidden is None or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room)])
    floor = hidden_floor(hidden, unit)
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


def water_tests(job: Job, room: Room, seed: int) -> tuple[WaterTest, ...]:
    """What the crew poured and saw in the room a week after it was ready, two hours between pours."""
    hidden, pours = ROOMS.get(room.room), POURS.get(room.room, ())
    if hidden is None or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room), _WETTED])
    floor = hidden_floor(hidden, job.units[room.unit])
    tests = []
    for number, pouring in enumerate(pours):
        when = datetime.combine(room.ready + timedelta(days=7), time(8 + 2 * number))
        tests.append(pour_and_look(job, floor, Visit(room.room, _HANDS[room.room[0]], when), pouring, rng))
    return tuple(tests)


_WETTED = 1  # water has its own stream of chance, so that what is poured changes no reading


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
