"""A small square unit, floors known exactly and readings of them, shared by the tests of the water on a floor.

UNIT, WITHOUT_LIP   36 x 36 in, one fall of 3 % to a drain in the middle; the same with a flush threshold
job                 a job with one room of such a unit
sound, dished       heights: as moulded; with a hollow at DISH
read                spot heights of a floor in the middles of a regular grid of cells
poured              a water test in that room
stage               the water test of the room, computed once for each question
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from floor_cases import INCH, Field, reading
from shower_units import cone

from drainward.floor.film import Water, water_stage
from drainward.floor.shape import moulded
from drainward.job.model import Job, Puddle, Reading, ReadingKind, Room, UnitModel, WaterTest

SIDE = 36 * INCH
UNIT = cone(36, 36, (18, 18), 0.03)
WITHOUT_LIP = UNIT.model_copy(update={"threshold_height": 0.0})
GALLON = 3.785411784e-3
SAMPLES = 16
DISH = (9 * INCH, 9 * INCH)


def job(unit: UnitModel = UNIT, **more: Any) -> Job:
    return Job(name="One", units={"u": unit}, rooms=(Room(room="1", unit="u"), Room(room="2", unit="none")), **more)


def sound(x: Any, y: Any) -> np.ndarray:
    return moulded(UNIT, np.asarray(x, float), np.asarray(y, float))


def dished(x: Any, y: Any) -> np.ndarray:
    """A hollow 9 mm deep and 7 in wide at half its depth: some 4 mm of water stand in it."""
    off = (np.asarray(x, float) - DISH[0]) ** 2 + (np.asarray(y, float) - DISH[1]) ** 2
    return sound(x, y) - 0.009 * np.exp(-0.5 * off / (3 * INCH) ** 2)


@cache
def read(field: Field = sound, cells: int = 6, u: float = 0.0003) -> tuple[Reading, ...]:
    """Without noise."""
    middles = (np.arange(cells) + 0.5) * SIDE / cells
    gx, gy = (grid.ravel() for grid in np.meshgrid(middles, middles))
    heights = field(gx, gy)
    return tuple(
        reading(ReadingKind.HEIGHT, float(x), float(y), value=float(z), u=u, id=f"h{k}", line=k + 2)
        for k, (x, y, z) in enumerate(zip(gx, gy, heights, strict=True))
    )


def poured(*puddles: Puddle, **more: Any) -> WaterTest:
    """A gallon over the floor in a minute; somebody looked."""
    parts: dict[str, Any] = {"id": "t", "room": "1", "poured": GALLON, "over": 60.0, "puddles": puddles} | more
    return WaterTest(**parts)


@cache
def stage(
    readings: tuple[Reading, ...] = (), tests: tuple[WaterTest, ...] = (), unit: UnitModel = UNIT, **settings: Any
) -> Water:
    """settings : of the job."""
    return water_stage(job(unit, **settings), "1", readings, tests, samples=SAMPLES, threads=1)
