"""Hidden voids under made-up bedded units, and how a crew taps and presses over them after the cure.

Hollow       one round void under the panel
VOIDS        how many and how large, by room that was sounded; a room that is not here was not
hidden_voids of one room's unit
soundings    taps on a 6 in grid and a few presses in one room
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

import numpy as np

from drainward.demo.crew import grid
from drainward.floor.shape import INCH
from drainward.hold.carried import GRAVITY
from drainward.hold.pressed import panel_of
from drainward.job.model import Reading, ReadingKind, Room, UnitModel
from drainward.job.readings_file import setup_of
from drainward.quantity import format_length, parse_length

__all__ = ["VOIDS", "Hollow", "hidden_voids", "soundings"]

VOIDS: Mapping[str, tuple[float, ...]] = {"101": (), "105": (5.0,), "201": (4.0, 3.0), "203": ()}
"""Radii of the voids under each sounded unit, inches."""
_HANDS = {"1": "AK", "2": "BT"}
_HIDDEN, _SOUNDED = 5, 6  # streams of chance of their own, so that no other reading changes
_HEARD, _MISHEARD = 0.9, 0.02
"""A tap sounds hollow over a void 9 times of 10, and over a bed 1 of 50 (common practice, no source)."""
_PRESSER = 80.0
_U_PRESS = INCH / 64


@dataclass(frozen=True, slots=True)
class Hollow:
    """A round void, m in the unit's frame; `reach` is its radius."""

    x: float
    y: float
    reach: float

    def under(self, x: float, y: float) -> bool:
        """Whether it lies under a spot."""
        return math.hypot(x - self.x, y - self.y) < self.reach


def hidden_voids(room: str, unit: UnitModel) -> tuple[Hollow, ...]:
    """The voids under one room's unit, each clear of the drain; none under a room that was not sounded."""
    rng = np.random.default_rng([int(room), _HIDDEN])
    found: list[Hollow] = []
    for inches in VOIDS.get(room, ()):
        reach = inches * INCH
        while True:
            x, y = (float(rng.uniform(reach, size - reach)) for size in (unit.inside_width, unit.inside_depth))
            others = [(unit.drain.x, unit.drain.y, unit.drain.radius + 3 * INCH), *((h.x, h.y, h.reach) for h in found)]
            if all(math.hypot(x - ox, y - oy) > reach + o for ox, oy, o in others):
                break
        found.append(Hollow(x, y, reach))
    return tuple(found)


def soundings(room: Room, unit: UnitModel, seed: int) -> tuple[Reading, ...]:
    """What the crew heard and felt in the room a week after it was ready, before its water; three taps a minute."""
    if room.room not in VOIDS or room.ready is None or unit.style != "bedded":
        return ()
    rng = np.random.default_rng([seed, int(room.room), _SOUNDED])
    voids = hidden_voids(room.room, unit)
    when = datetime.combine(room.ready + timedelta(days=7), time(7, 10))
    spots = [(_on_tape(x), _on_tape(y)) for x, y, _, _ in grid(unit, 10, 6)]
    found: list[Reading] = []
    hollow: list[tuple[float, float]] = []
    for number, (x, y) in enumerate(spots):
        heard = rng.random() < (_HEARD if any(void.under(x, y) for void in voids) else _MISHEARD)
        if heard:
            hollow.append((x, y))
        told = {"kind": ReadingKind.TAP, "value": float(not heard), "written": "hollow" if heard else "sound", "u": 0.5}
        found.append(_row(room.room, x, y, when + timedelta(minutes=number // 3), rng, told))
    for number, (x, y) in enumerate([*hollow[:3], *(spots[k] for k in (0, len(spots) - 1))]):
        later = when + timedelta(minutes=len(spots) // 3 + 1 + number)
        found.append(_row(room.room, x, y, later, rng, _pressed(unit, voids, x, y, rng)))
    return tuple(found)


def _pressed(
    unit: UnitModel, voids: Sequence[Hollow], x: float, y: float, rng: np.random.Generator
) -> dict[str, object]:
    """How far the panel gives under a heel, as a feeler gauge at a straightedge shows it.

    Over a void of radius a, at r from its middle: w = P (a2 - r2)2 / (16 pi D a2), a clamped disc under a point load.
    Source: Timoshenko and Woinowsky-Krieger 1959, article 19 (from memory).
    """
    stiff = panel_of(unit).along
    gives = 0.0
    for void in voids:
        if void.under(x, y):
            r = math.hypot(x - void.x, y - void.y)
            gives = _PRESSER * GRAVITY * (void.reach**2 - r**2) ** 2 / (16 * math.pi * stiff * void.reach**2)
    noise = math.sqrt(_U_PRESS**2 - (INCH / 64) ** 2 / 12) * float(rng.standard_normal())
    written = format_length(max(gives + noise, 0.0), "in", 64)
    value = parse_length(written).value
    return {"kind": ReadingKind.PRESS, "value": value, "written": written, "u": _U_PRESS, "weight": _PRESSER}


def _on_tape(at: float) -> float:
    return parse_length(format_length(at, denominator=4)).value


def _row(room: str, x: float, y: float, when: datetime, rng: np.random.Generator, told: dict[str, object]) -> Reading:
    id = str(uuid.UUID(bytes=rng.bytes(16), version=4))
    who = _HANDS[room[0]]
    by = {"stage": "cure", "who": who, "when": when, "setup": setup_of("", who, when)}
    return Reading.model_validate({"id": id, "room": room, "x": x, "y": y, **by, **told})
