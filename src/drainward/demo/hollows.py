"""What is hidden under each set floor, and how its crew taps and presses it once the bed has cured.

Hollow   a place where the panel lies on no mortar
Bedded   the hollows under one room's floor: how many, and from which seed
BEDDED   by room; a room that is not here was not tapped yet
hollows  of one room
taps     what the crew heard and pressed in one room
moved    how far a panel gives over a hollow

Heard is not true: a hollow's rim sounds half sound, and now and then a sound place is called hollow.
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta

import numpy as np

from drainward.floor.shape import INCH
from drainward.job.model import Reading, ReadingKind, Room, UnitModel
from drainward.job.readings_file import TAP_U, setup_of
from drainward.quantity import format_length, parse_length

__all__ = ["BEDDED", "Bedded", "Hollow", "hollows", "moved", "taps"]

_GRID = 6 * INCH
_RIM = INCH / 2
_HEARD, _AT_RIM, _FALSE = 0.95, 0.5, 0.01
"""Share of taps called hollow inside a hollow, within half an inch of its rim, and over sound mortar."""
_PRESSER = 180 * 0.45359237
_GRAVITY = 9.80665
_U_PRESS = 1e-4
_SHOWN = 1e-4


@dataclass(frozen=True, slots=True)
class Hollow:
    """x, y : its middle in the unit's frame;  reach : its radius;  deep : of the air in it; m."""

    x: float
    y: float
    reach: float
    deep: float


@dataclass(frozen=True, slots=True)
class Bedded:
    """seed : of its hollows;  count : how many;  least, most : of their radius, inches."""

    seed: int
    count: int
    least: float = 1.5
    most: float = 3.5


BEDDED: Mapping[str, Bedded] = {
    "101": Bedded(1, 1, 1.5, 2.0),
    "102": Bedded(2, 0),
    "103": Bedded(3, 3),
    "105": Bedded(5, 2, 3.0, 4.0),
    "106": Bedded(6, 2, 5.0, 7.0),
    "201": Bedded(9, 0),
    "203": Bedded(10, 1, 2.5, 3.5),
}

_HANDS = {"1": "AK", "2": "BT", "3": "CM"}
_TAPPED = 6  # its own stream of chance, so that it changes nothing else


def hollows(room: str, unit: UnitModel) -> tuple[Hollow, ...]:
    """The true ones under a room's floor, clear of its drain; none where nobody set or tapped it."""
    hidden = BEDDED.get(room, Bedded(0, 0))
    rng = np.random.default_rng([hidden.seed, _TAPPED])
    found: list[Hollow] = []
    while len(found) < hidden.count:
        reach = rng.uniform(hidden.least, hidden.most) * INCH
        x, y = rng.uniform(0, unit.inside_width), rng.uniform(0, unit.inside_depth)
        deep = rng.uniform(1 / 16, 1 / 4) * INCH
        if math.hypot(x - unit.drain.x, y - unit.drain.y) > reach + unit.drain.body_diameter:
            found.append(Hollow(float(x), float(y), float(reach), float(deep)))
    return tuple(found)


def taps(room: Room, unit: UnitModel, seed: int) -> tuple[Reading, ...]:
    """Taps on a grid of 6 in a week after the room was ready, and a foot set wherever one was heard hollow."""
    if room.room not in BEDDED or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room), _TAPPED])
    hidden = hollows(room.room, unit)
    begins = datetime.combine(room.ready + timedelta(days=7), time(7))
    heard: list[Reading] = []
    for x, y in _places(unit):
        sound = bool(rng.random() > _chance(hidden, x, y))
        when = begins + timedelta(minutes=len(heard) // 3)
        told = {"kind": ReadingKind.TAP, "value": float(sound), "u": TAP_U, "written": "sound" if sound else "hollow"}
        heard.append(_row(room.room, rng, x, y, when, told))
    pressed: list[Reading] = []
    for tap in heard:
        if not tap.value:
            gives = max(moved(unit, hidden, tap.x, tap.y) + _U_PRESS * rng.standard_normal(), 0.0)
            written = f"{round(gives / _SHOWN) * _SHOWN * 1e3:.1f} mm"
            value = parse_length(written).value
            told = {"kind": ReadingKind.PRESS, "value": value, "u": _U_PRESS, "written": written, "weight": _PRESSER}
            when = begins + timedelta(minutes=22 + len(pressed))
            pressed.append(_row(room.room, rng, tap.x, tap.y, when, told))
    return (*heard, *pressed)


def moved(unit: UnitModel, hidden: tuple[Hollow, ...], x: float, y: float) -> float:
    """How far the panel gives under a man of 180 lb at (x, y), m: not at all over mortar, over a hollow till it rests.

    P (a² - r²)² / (16 pi D a²) under a load at r on a clamped disc of radius a. Source: Timoshenko and
    Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. 1959, art. 19 (from memory).
    """
    panel, thickness = unit.panel, unit.floor.thickness
    stiffness = panel.modulus * thickness**3 / (12 * (1 - panel.poisson**2))
    gives = 0.0
    for one in hidden:
        inside = one.reach**2 - (x - one.x) ** 2 - (y - one.y) ** 2
        if inside > 0:
            free = _PRESSER * _GRAVITY * inside**2 / (16 * math.pi * stiffness * one.reach**2)
            gives = max(gives, min(free, one.deep))
    return gives


def _places(unit: UnitModel) -> list[tuple[float, float]]:
    """Middles of squares of the grid, clear of the drain's opening."""
    across, deep = round(unit.inside_width / _GRID), round(unit.inside_depth / _GRID)
    xs, ys = ([parse_length(format_length((k + 0.5) * _GRID)).value for k in range(count)] for count in (across, deep))
    all_of_it = [(x, y) for y in ys for x in xs]
    drain = unit.drain
    return [(x, y) for x, y in all_of_it if math.hypot(x - drain.x, y - drain.y) > drain.radius + INCH]


def _chance(hidden: tuple[Hollow, ...], x: float, y: float) -> float:
    """That a tap is called hollow."""
    within = max((one.reach - math.hypot(x - one.x, y - one.y) for one in hidden), default=-1.0)
    if within > _RIM:
        return _HEARD
    return _AT_RIM if within > -_RIM else _FALSE


def _row(
    room: str, rng: np.random.Generator, x: float, y: float, when: datetime, told: Mapping[str, object]
) -> Reading:
    return Reading.model_validate(
        {"id": str(uuid.UUID(bytes=rng.bytes(16), version=4)), "room": room, "stage": "cure", "x": x, "y": y,
         "who": _HANDS[room[0]], "when": when, "setup": setup_of("", _HANDS[room[0]], when), **told}
    )  # fmt: skip
