"""How a made-up crew pours water on a hidden floor, and what it sees: the water runs, the crew looks and writes.

Pouring         one pour: how, and what is the matter with drain, water and head in that room
pour_and_look   the water test that the crew writes down
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from drainward.demo.crew import Visit
from drainward.demo.floors import TrueFloor
from drainward.floor.abreast.flood import flood
from drainward.floor.film.fluid import Fluid, water
from drainward.floor.film.many import DROPS, Setting, basin_on, poured_on
from drainward.floor.film.outlet import Outlet, outlet_of
from drainward.floor.film.pour import pour_of
from drainward.floor.film.wetting import thickness
from drainward.floor.ponds import outlet
from drainward.floor.shape import INCH, fine_axes
from drainward.job.model import Job, Pattern, Puddle, UnitModel, WaterTest
from drainward.job.puddles import puddles_text
from drainward.job.written import duration_text, volume_text
from drainward.quantity import format_length, parse_flow, parse_length, parse_temperature
from drainward.rules.unit_check import lip_height

__all__ = ["Pouring", "pour_and_look"]

Array = NDArray[np.float64]

_GPM, _FAHRENHEIT = parse_flow("1 gpm").value, 5 / 9
_WATCH = 0.2
"""Standard deviation of the log of a stopped time: what one person takes for drops, another still calls a stream."""
_EYE, _EYES = 1.0e-3, 0.25
"""Water that half of the people notice, m, and the standard deviation of its log."""
_SKIN = 0.5e-3  # the edge of a puddle is seen where it is about so deep, m
_TAPE = INCH / 2  # a tape over wet floor is laid and read to this, m
_RULE, _RULE_U = INCH / 16, 0.3e-3  # the rule's least step, and how well it is read in water, m
_HEAT_U, _FLOW_U = 0.4, 3e-6  # of a thermometer, K, and of a bucket and a watch, m3/s


@dataclass(frozen=True, slots=True)
class Pouring:
    """A pour of the job's gallon.

    over : s;  at : where the bucket is emptied, inches from the left and from the back; None: over the floor
    takes : share of its flow that the drain takes; mortar in it keeps the rest
    film : where a film hangs by itself, inches; None: nowhere;  soap : wiped over the floor before
    hottest : of the water at the head, °F;  flow : of the head, gpm
    """

    over: float = 60.0
    at: tuple[float, float] | None = None
    takes: float = 1.0
    film: tuple[float, float] | None = None
    soap: bool = False
    hottest: float | None = None
    flow: float | None = None
    note: str = ""


def pour_and_look(job: Job, floor: TrueFloor, visit: Visit, pouring: Pouring, rng: np.random.Generator) -> WaterTest:
    """Let the water run over the true floor on a half-inch grid, and write down what a person would."""
    unit = floor.unit
    x, y = (None, None) if pouring.at is None else (v * INCH for v in pouring.at)
    test = WaterTest(
        id=str(uuid.UUID(bytes=rng.bytes(16), version=4)),
        room=visit.room,
        poured=job.water.poured,
        over=pouring.over,
        how=Pattern.OVER_THE_FLOOR if pouring.at is None else Pattern.AT_A_POINT,
        x=x,
        y=y,
        soap=pouring.soap,
        who=visit.who,
        when=visit.when,
        note=pouring.note,
    )
    fluid = water(job.water.temperature)
    axes, depth, stream_ends = _left(job, floor, test, fluid, pouring.takes)
    drained = max(float(round(stream_ends * math.exp(_WATCH * rng.standard_normal()))), pouring.over)
    puddles = tuple(_measured(unit, *puddle, rng) for puddle in _noticed(axes, depth, rng))
    if pouring.film is not None:
        least, most = (thickness(fluid, angle) for angle in job.water.contact_angle)
        across, deep = INCH * rng.uniform(2, 4), rng.uniform(least, most)
        puddles += (_measured(unit, pouring.film[0] * INCH, pouring.film[1] * INCH, across, deep, rng),)
    written = (volume_text(test.poured), duration_text(drained), puddles_text(puddles))
    return test.model_copy(
        update={
            "drained": drained,
            "puddles": puddles,
            "hottest": _hottest(pouring, rng),
            "flow": _flow(pouring, rng),
            "written": " | ".join(written),
        }
    )


def _left(
    job: Job, floor: TrueFloor, test: WaterTest, fluid: Fluid, takes: float
) -> tuple[tuple[Array, Array], Array, float]:
    """x, y of the grid, m; the depth that stays on it for good, (ny, nx), m; when the stream broke up into drops, s."""
    unit = floor.unit
    x, y = (axis[::2] for axis in fine_axes(unit))
    z = floor.height(*np.meshgrid(x, y))
    opening, clean = outlet(unit, x, y), outlet_of(unit.drain)
    drain = Outlet(*(takes * of for of in (clean.weir, clean.orifice, clean.capacity)))
    setting = Setting(x, y, opening, drain, lip_height(unit), fluid, pour_of(job, test), job.water.flow)
    ran = poured_on(setting, basin_on(setting, z))
    # A hollow holds what it can, if the water came there.
    full = flood(z.astype(np.float32), opening).astype(np.float64) - z
    return (x, y), np.minimum(full, ran.depth), ran.stream_below(DROPS)


def _noticed(
    axes: tuple[Array, Array], depth: Array, rng: np.random.Generator
) -> Iterator[tuple[float, float, float, float]]:
    """The puddles that somebody sees: x, y of the middle, across the narrow side and deep there, m."""
    x, y = axes
    label, found = ndimage.label(depth > _SKIN, structure=np.ones((3, 3)))
    for number in range(1, found + 1):
        wet = label == number
        if depth[wet].max() < _EYE * math.exp(_EYES * rng.standard_normal()):
            continue
        rows, columns = np.nonzero(wet)
        share = depth[wet] / depth[wet].sum()
        off = np.hypot(x[columns] - share @ x[columns], y[rows] - share @ y[rows])
        i, j = rows[off.argmin()], columns[off.argmin()]
        across = min(wet[i].sum() * (x[1] - x[0]), wet[:, j].sum() * (y[1] - y[0]))
        yield float(x[j]), float(y[i]), float(across), float(depth[i, j])


def _measured(unit: UnitModel, x: float, y: float, across: float, deep: float, rng: np.random.Generator) -> Puddle:
    """A puddle as tape and rule say; too shallow for the rule it has no depth."""
    off_x, off_y, off_deep = rng.standard_normal(3)
    return Puddle(
        x=min(max(_read(x + _TAPE * off_x, _TAPE), 0.0), unit.inside_width),
        y=min(max(_read(y + _TAPE * off_y, _TAPE), 0.0), unit.inside_depth),
        across=_read(max(across, _TAPE), _TAPE),
        depth=_read(deep + _RULE_U * off_deep, _RULE) or None,
    )


def _read(value: float, step: float) -> float:
    """A length as a tape or a rule of that step shows it."""
    return parse_length(format_length(round(value / step) * step, "in", round(INCH / step))).value


def _hottest(pouring: Pouring, rng: np.random.Generator) -> float | None:
    if pouring.hottest is None:
        return None
    return parse_temperature(f"{pouring.hottest + _HEAT_U / _FAHRENHEIT * rng.standard_normal():.0f} °F").value


def _flow(pouring: Pouring, rng: np.random.Generator) -> float | None:
    if pouring.flow is None:
        return None
    return parse_flow(f"{pouring.flow + _FLOW_U / _GPM * rng.standard_normal():.1f} gpm").value
