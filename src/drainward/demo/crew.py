"""How a made-up crew reads a hidden floor: where it puts its tools, and what it writes down.

INSTRUMENTS               the tools, each with the standard uncertainty that its accuracy and its display give
Place                     both ends of a footprint; a spot has none at its second end
level_lines, around       a level laid along lines from the drain, and along the edge
star                      a level from one spot outward, where something looks wrong
grid                      spots of a laser and staff
read_floor                readings of the floor, written as the tool shows them
read_threshold            a level from the threshold to the finished floor outside, and the wedge under it
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from drainward.demo.floors import TrueFloor
from drainward.floor.functionals import as_functionals
from drainward.floor.shape import INCH, edge_run
from drainward.job.model import Instrument, Reading, ReadingKind, UnitModel
from drainward.job.readings_file import setup_of
from drainward.quantity import format_length, parse_length, parse_slope

__all__ = ["INSTRUMENTS", "Place", "Visit", "around", "grid", "level_lines", "read_floor", "read_threshold", "star"]

Place = tuple[float, float, float | None, float | None]

_PERCENT = 0.01
# A level good for 0.05 degrees either way (rectangular) that shows 0.1 %: u = hypot(0.0505, 0.0289) = 0.058 %.
_U_LEVEL = 0.06 * _PERCENT
INSTRUMENTS = {
    tool.id: tool
    for tool in (
        Instrument(id="L9", name="digital level, 9 in", length=9 * INCH, u_slope=_U_LEVEL),
        Instrument(id="L24", name="digital level, 24 in", length=24 * INCH, u_slope=_U_LEVEL),
        Instrument(id="W24", name="24 in level and wedge", length=24 * INCH, u=INCH / 64),
        Instrument(id="RL", name="laser and staff", u=INCH / 32),
    )
}
_KINDS = {"L9": ReadingKind.SLOPE, "L24": ReadingKind.SLOPE, "W24": ReadingKind.WEDGE, "RL": ReadingKind.HEIGHT}
_SHOWN = {ReadingKind.SLOPE: 0.1 * _PERCENT, ReadingKind.WEDGE: INCH / 32, ReadingKind.HEIGHT: INCH / 16}
"""The least step that each tool shows."""
_TAPE = INCH / 4
"""Places are taped to the quarter inch."""


@dataclass(frozen=True, slots=True)
class Visit:
    """Who read in which room, and when the first reading was taken."""

    room: str
    who: str
    when: datetime


def level_lines(unit: UnitModel, lines: int, instrument: str = "L9", turn: float = 0.0) -> list[Place]:
    """A level end to end along lines from the drain, from the rim and the edge by turns; turn : of the first, rad."""
    length = INSTRUMENTS[instrument].length or 0.0
    places = []
    for k in range(lines):
        angle = turn + 2 * math.pi * k / lines
        start, run = unit.drain.radius, float(edge_run(unit, np.array(angle)))
        fit = int((run - start + 1e-9) // length)
        r = start if k % 2 == 0 else run - fit * length
        for i in range(fit):
            near, far = r + i * length, r + (i + 1) * length
            places.append(_taped(unit, angle, near, far))
    return places


def around(unit: UnitModel, instrument: str, off: float) -> list[Place]:
    """A level end to end along the four edges, `off` metres inside of them."""
    length = INSTRUMENTS[instrument].length or 0.0
    w, d = unit.inside_width, unit.inside_depth
    places: list[Place] = []
    across, deep = int((w - 2 * off) // length), int((d - 2 * off) // length)
    left, back = (w - across * length) / 2, (d - deep * length) / 2
    for y in (off, d - off):
        places += [(left + i * length, y, left + (i + 1) * length, y) for i in range(across)]
    for x in (off, w - off):
        places += [(x, back + i * length, x, back + (i + 1) * length) for i in range(deep)]
    return places


def star(unit: UnitModel, x: float, y: float, instrument: str = "L9") -> list[Place]:
    """A level from a spot outward in eight directions, wherever it lies on the floor and clear of the drain."""
    length = INSTRUMENTS[instrument].length or 0.0
    places: list[Place] = []
    for k in range(8):
        x2, y2 = (v + length * turn(k * math.pi / 4) for v, turn in ((x, math.cos), (y, math.sin)))
        clear = math.hypot((x + x2) / 2 - unit.drain.x, (y + y2) / 2 - unit.drain.y) > length / 2 + unit.drain.radius
        if clear and 0 <= x2 <= unit.inside_width and 0 <= y2 <= unit.inside_depth:
            places.append((x, y, _on_tape(x2, unit.inside_width), _on_tape(y2, unit.inside_depth)))
    return places


def grid(unit: UnitModel, columns: int, rows: int) -> list[Place]:
    """Spots in the middles of a regular grid of cells, clear of the drain."""
    xs = (np.arange(columns) + 0.5) * unit.inside_width / columns
    ys = (np.arange(rows) + 0.5) * unit.inside_depth / rows
    clear = unit.drain.radius + INCH
    spots = [(round(x / _TAPE) * _TAPE, round(y / _TAPE) * _TAPE) for y in ys for x in xs]
    return [(x, y, None, None) for x, y in spots if math.hypot(x - unit.drain.x, y - unit.drain.y) > clear]


def read_floor(
    floor: TrueFloor, visit: Visit, instrument: str, places: Sequence[Place], rng: np.random.Generator
) -> list[Reading]:
    """One reading a place, about a minute apart, with the tool's own noise and written to its least step."""
    kind = _KINDS[instrument]
    blank = tuple(_blank(visit, instrument, number, place, rng) for number, place in enumerate(places))
    f, used, refused = as_functionals(floor.unit, blank)
    assert not refused, refused
    # The declared uncertainty holds the rounding too, which is added below.
    noise = np.sqrt(f.u**2 - _SHOWN[kind] ** 2 / 12)
    return [_written(reading, value) for reading, value in zip(used, floor.read(replace(f, u=noise), rng), strict=True)]


def read_threshold(unit: UnitModel, visit: Visit, rise: float, rng: np.random.Generator) -> list[Reading]:
    """Three wedges from the threshold to the floor outside, left, middle and right. rise : the true one, m."""
    out = unit.inside_depth + unit.threshold_width / 2
    length = INSTRUMENTS["W24"].length or 0.0
    readings = []
    for number, share in enumerate((0.1, 0.5, 0.9)):
        x = share * unit.inside_width
        blank = _blank(visit, "W24", number, (x, out, x, out + length), rng)
        noise = math.sqrt(blank.u**2 - _SHOWN[ReadingKind.WEDGE] ** 2 / 12)
        note = "from the threshold to the finished floor"
        readings.append(_written(blank.model_copy(update={"note": note}), rise + noise * rng.standard_normal()))
    return readings


def _taped(unit: UnitModel, angle: float, near: float, far: float) -> Place:
    x, x2 = (_on_tape(unit.drain.x + r * math.cos(angle), unit.inside_width) for r in (near, far))
    y, y2 = (_on_tape(unit.drain.y + r * math.sin(angle), unit.inside_depth) for r in (near, far))
    return x, y, x2, y2


def _on_tape(at: float, size: float) -> float:
    return min(max(round(at / _TAPE) * _TAPE, 0.0), size)


def _blank(visit: Visit, instrument: str, number: int, place: Place, rng: np.random.Generator) -> Reading:
    """A reading without its value yet."""
    tool, kind = INSTRUMENTS[instrument], _KINDS[instrument]
    x, y, x2, y2 = place
    u = tool.u_slope if kind is ReadingKind.SLOPE else tool.u
    assert u is not None
    when = visit.when + timedelta(minutes=number)
    return Reading(
        id=str(uuid.UUID(bytes=rng.bytes(16), version=4)),
        room=visit.room,
        kind=kind,
        x=x,
        y=y,
        x2=x2,
        y2=y2,
        value=0.0,
        u=u,
        setup=setup_of(tool.id, visit.who, when),
        instrument=tool.id,
        who=visit.who,
        when=when,
    )


def _written(reading: Reading, value: float | NDArray[np.float64]) -> Reading:
    """The value as the tool shows it."""
    step = _SHOWN[reading.kind]
    shown = round(float(value) / step) * step
    if reading.kind is ReadingKind.SLOPE:
        written = f"{shown / _PERCENT:.1f} %"
        return reading.model_copy(update={"value": parse_slope(written).value, "written": written})
    written = format_length(shown, "in", round(INCH / step))
    return reading.model_copy(update={"value": parse_length(written).value, "written": written})
