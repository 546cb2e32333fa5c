"""What each crew wrote down as it set its units: dry set, slab, mortar, bed, screws, heads, braces.

Done          what became of one room's unit
SET           by room; a room that is not here has no unit in its bed yet
true_mortar   powder that the hidden void of a room takes
setting       of one room
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

import numpy as np

from drainward.bed.mix import WASTE, bag_yield
from drainward.demo.framing import TruePocket
from drainward.demo.hollows import BEDDED
from drainward.demo.rooms import ROOMS
from drainward.demo.surveys import POCKETS, Hidden, hidden_pocket
from drainward.floor.shape import moulded
from drainward.job.model import Job, Room, SettingEvent, UnitModel, Work
from drainward.job.setting_file import usual_u
from drainward.pocket.heights import drain_under_threshold
from drainward.quantity import INCH, format_length, parse_length, parse_mass, parse_temperature

__all__ = ["SET", "Done", "setting", "true_mortar"]

_CEILING = 96 * INCH
_MENDED = INCH / 2
"""A slab farther off its place than this was ground or filled before the bed was laid."""
_MARK = INCH / 16
_POUND = 0.45359237
_SET = 5  # its own stream of chance


@dataclass(frozen=True, slots=True)
class Done:
    """warm : of the slab, °F;  gap : whether the gap under the threshold was measured at the dry set
    fastened, braced : whether screws and braces went in, which stayed out where the draft check did not pass
    """

    warm: float = 66.0
    gap: bool = True
    fastened: bool = False
    braced: bool = True


SET: Mapping[str, Done] = {
    **{room: Done(fastened=True) for room in BEDDED},
    "103": Done(warm=54.0, fastened=True),
    "104": Done(gap=False),
    "107": Done(),
    "108": Done(warm=71.0),
    "202": Done(),
    "204": Done(warm=46.0),
    "205": Done(gap=False),
    "206": Done(),
    "207": Done(braced=False),
    "208": Done(warm=72.0),
}

_HANDS = {"1": "AK", "2": "BT", "3": "CM"}


def true_mortar(room: str, unit: UnitModel) -> float:
    """Volume that mortar fills under the unit as it was set, m3; by its midpoints every inch."""
    pocket, rise = _pocket(room, unit), _rise(room)
    x, y = (np.arange(round(span / INCH)) + 0.5 for span in (unit.inside_width, unit.inside_depth))
    gx, gy = (part.ravel() * INCH for part in np.meshgrid(x, y))
    left, back = _shift(pocket)
    slab = np.array([pocket.slab(px + left, py + back) for px, py in zip(gx, gy, strict=True)])
    high = rise - drain_under_threshold(unit) - unit.floor.thickness + moulded(unit, gx, gy) - slab
    wide, long, deep = pocket.recess
    drain = unit.drain
    at_drain = float(high[np.hypot(gx - drain.x, gy - drain.y).argmin()])
    body = np.pi / 4 * drain.body_diameter**2 * min(at_drain + deep, drain.body_depth)
    return float(np.maximum(high, 0.0).sum() * INCH**2 + wide * long * deep - body)


def setting(job: Job, room: Room, seed: int) -> tuple[SettingEvent, ...]:
    """What the crew wrote down in the room, from the day after it was ready; empty where it set nothing."""
    done = SET.get(room.room)
    if done is None or room.ready is None:
        return ()
    rng = np.random.default_rng([seed, int(room.room), _SET])
    began = datetime.combine(room.ready + timedelta(days=1), time(8 + int(room.room) % 2 * 4))
    events = _events(job, room.room, job.units[room.unit], done, began, rng)
    return tuple(
        SettingEvent(
            id=str(uuid.UUID(bytes=rng.bytes(16), version=4)),
            room=room.room,
            what=what,
            value=value,
            u=None if value is None else usual_u(what, value, job.instruments.get(tool)),
            written=written,
            instrument=tool,
            who=_HANDS[room.room[0]],
            when=when,
            note=note,
        )
        for when, what, value, written, tool, note in sorted(events, key=lambda event: event[0])
    )


_Row = tuple[datetime, Work, float | None, str, str, str]


def _events(
    job: Job, room: str, unit: UnitModel, done: Done, began: datetime, rng: np.random.Generator
) -> Iterator[_Row]:
    placed = began + timedelta(minutes=40)
    if done.gap:
        for number, gap in enumerate(_gaps(room, unit)):
            yield (began + timedelta(minutes=number), Work.GAP_UNDER_THRESHOLD, *_taped(gap, rng), "TAPE", "dry set")
    yield (placed - timedelta(minutes=5), Work.MORTAR_USED, *_weighed(job, room, unit, rng), "", "")
    yield (placed, Work.BED_PLACED, None, "", "", "")
    drain = _rise(room) - drain_under_threshold(unit)
    if done.fastened:
        yield (placed + timedelta(minutes=80), Work.FASTENED, None, "", "", "after the draft check")
    if done.braced:
        heads = ((Work.HEAD_OVER_DRAIN, _CEILING - drain), (Work.HEAD_OVER_THRESHOLD, _CEILING - _rise(room)))
        for number, (what, head) in enumerate(heads):
            yield (placed + timedelta(minutes=85 + number), what, *_taped(head, rng), "TAPE", "to the ceiling")
        yield (placed + timedelta(minutes=100), Work.BRACES_ON, None, "", "", "")
    for when in (placed - timedelta(minutes=30), *_rounds(placed)):
        told = round(done.warm + 2 * np.sin((when.hour - 9) * np.pi / 12) + rng.standard_normal())
        written = f"{told} °F"
        yield (when, Work.SLAB_TEMPERATURE, parse_temperature(written).value, written, "", "")
    if done.fastened:
        off = datetime.combine(began.date() + timedelta(days=6), time(7, 50))
        yield (off, Work.BRACES_OFF, None, "", "", "after it was tapped")


def _rounds(placed: datetime) -> Iterator[datetime]:
    """Morning and afternoon, as long as the braces stand."""
    for day in range(6):
        for at in (time(7, 10), time(15, 40)):
            when = datetime.combine(placed.date() + timedelta(days=day), at)
            if when > placed:
                yield when


def _pocket(room: str, unit: UnitModel) -> TruePocket:
    """What is hidden there, its slab ground or filled where no bed could lie on it; a good one where none is told."""
    hidden = POCKETS.get(room, Hidden(int(room)))
    return hidden_pocket(replace(hidden, high=0.0) if abs(hidden.high) > _MENDED else hidden, unit)


def _rise(room: str) -> float:
    """Of the threshold over the finished floor, as it was set."""
    return ROOMS[room].rise


def _shift(pocket: TruePocket) -> tuple[float, float]:
    """Of the unit in its pocket, its drain over the core."""
    drain = pocket.unit.drain
    return pocket.core[0] - drain.x, pocket.core[1] - drain.y


def _gaps(room: str, unit: UnitModel) -> Iterator[float]:
    """True gap under the threshold at its left, middle and right: flush with the lowest of the panel beside it."""
    pocket = _pocket(room, unit)
    left, back = _shift(pocket)
    front = np.full(61, unit.inside_depth)
    low = float(moulded(unit, np.linspace(0.0, unit.inside_width, 61), front).min())
    under = _rise(room) - drain_under_threshold(unit) + low - unit.floor.thickness
    for share in (0.05, 0.5, 0.95):
        yield under - pocket.slab(share * unit.inside_width + left, unit.inside_depth + back)


def _taped(true: float, rng: np.random.Generator) -> tuple[float, str]:
    """As a tape shows it."""
    shown = max(round((true + INCH / 32 * rng.standard_normal()) / _MARK) * _MARK, _MARK)
    written = format_length(shown)
    return parse_length(written).value, written


def _weighed(job: Job, room: str, unit: UnitModel, rng: np.random.Generator) -> tuple[float, str]:
    """Powder that went in, waste and all, on a scale of 1 lb."""
    mortar = job.materials.mortar
    bags = true_mortar(room, unit) / (1 - WASTE) / bag_yield(mortar).volume * (1 + 0.03 * rng.standard_normal())
    written = f"{round(bags * mortar.bag_mass / _POUND)} lb"
    return parse_mass(written).value, written
