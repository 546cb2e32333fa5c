"""What a made-up crew did when it set a bedded unit: the bed, its mortar and temperature, screws and braces.

SET            the rooms whose bedded units are set: each that was surveyed and wetted
setting        what was done in one room, and measured there
bed_volume     of the void under a unit that stands where its cut sheet asks
"""

from __future__ import annotations

import math
import uuid
from dataclasses import replace
from datetime import datetime, time, timedelta

import numpy as np

from drainward.bed.mix import bag_yield
from drainward.demo.framing import TruePocket
from drainward.demo.rooms import ROOMS
from drainward.demo.surveys import CEILING, POCKETS, hidden_pocket
from drainward.floor.shape import INCH, moulded
from drainward.job.model import Job, Room, SettingEvent, UnitModel, Work
from drainward.job.setting_file import parser_of, usual_u
from drainward.pocket.heights import drain_under_threshold
from drainward.quantity import format_length

__all__ = ["SET", "bed_volume", "setting"]

SET = ("101", "103", "105", "106", "201", "203")
_HANDS = {"1": "AK", "2": "BT"}
_MENDED = INCH / 2
"""A slab farther off its place than this is ground or filled before a bed is laid."""
_DONE = 4  # a stream of chance of its own, so that no reading changes


def setting(job: Job, room: Room, seed: int) -> tuple[SettingEvent, ...]:
    """One room's events: the bed on the day of its draft readings, the braces off on the day of its water.

    Empty where the unit is not set, or stands on a base of its own.
    """
    if room.room not in SET or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room), _DONE])
    unit, mortar = job.units[room.unit], job.materials.mortar
    # What sticks to buckets and tools, and what one bag yields more or less than another.
    true = _pocket(room.room, unit)
    took = bed_volume(unit, true) * float(rng.uniform(1.0, 1.1))
    halves = max(math.ceil(2 * took / bag_yield(mortar).volume), 1)
    read = datetime.combine(room.ready + timedelta(days=1), time(9 + int(room.room) % 2 * 4))
    over_drain = CEILING - unit.threshold_height + drain_under_threshold(unit)
    rows = (
        (-60, Work.GAP_UNDER_THRESHOLD, _taped(_gap(unit, true, ROOMS[room.room].rise), rng)),
        (-45, Work.SLAB_TEMPERATURE, f"{rng.integers(56, 68)} °F"),
        (-30, Work.BED_PLACED, ""),
        (-10, Work.MORTAR_USED, f"{halves // 2}{'-1/2' if halves % 2 else ''} bags"),
        (100, Work.FASTENED, ""),
        (110, Work.HEAD_OVER_DRAIN, _taped(over_drain, rng)),
        (112, Work.HEAD_OVER_THRESHOLD, _taped(CEILING - unit.threshold_height, rng)),
        (120, Work.BRACES_ON, ""),
    )
    off = datetime.combine(room.ready + timedelta(days=7), time(7, 5))
    done = [(read + timedelta(minutes=after), what, text) for after, what, text in rows]
    return tuple(
        _event(room.room, when, what, text, mortar.bag_mass, rng)
        for when, what, text in (*done, (off, Work.BRACES_OFF, ""))
    )


def _pocket(room: str, unit: UnitModel) -> TruePocket:
    """What is hidden there, its slab ground or filled where no bed could lie on it."""
    hidden = POCKETS[room]
    return hidden_pocket(replace(hidden, high=0.0) if abs(hidden.high) > _MENDED else hidden, unit)


def _gap(unit: UnitModel, true: TruePocket, rise: float) -> float:
    """Under a threshold that ends flush with the lowest of the panel beside it, as the unit was set; m."""
    front = moulded(unit, np.linspace(0.0, unit.inside_width, 61), np.full(61, unit.inside_depth))
    under = rise - drain_under_threshold(unit) + float(front.min()) - unit.floor.thickness
    return under - true.slab(true.core[0], true.core[1] + unit.inside_depth - unit.drain.y)


def bed_volume(unit: UnitModel, true: TruePocket) -> float:
    """Between the panel's underside and the slab, with the recess and less the drain's body, m3; by inch cells."""
    x, y = np.meshgrid(
        np.arange(INCH / 2, unit.inside_width, INCH), np.arange(INCH / 2, unit.inside_depth, INCH), indexing="ij"
    )
    under = unit.threshold_height - drain_under_threshold(unit) - unit.floor.thickness
    side, back = (unit.outside_width - unit.inside_width) / 2, unit.outside_depth - unit.inside_depth
    slab = np.vectorize(true.slab)(x + side, y + back - unit.threshold_width / 2)
    gap = np.maximum(under + moulded(unit, x, y) - slab, 0.0)
    wide, deep, down = true.recess
    near = under - true.slab(*true.core[:2])
    body = math.pi / 4 * (unit.drain.body_diameter or 0.0) ** 2
    return float(gap.sum()) * INCH**2 + wide * deep * down - body * (max(near, 0.0) + down)


def _taped(true: float, rng: np.random.Generator) -> str:
    return format_length(true + INCH / 32 * float(rng.standard_normal()), denominator=16)


def _event(room: str, when: datetime, what: Work, text: str, bag: float, rng: np.random.Generator) -> SettingEvent:
    value = parser_of(what, bag)(text).value if text else None
    return SettingEvent(
        id=str(uuid.UUID(bytes=rng.bytes(16), version=4)),
        room=room,
        what=what,
        value=value,
        u=None if value is None else usual_u(what, value, None),
        written=text,
        who=_HANDS[room[0]],
        when=when,
    )
