"""What a recorded water test says of the floor: puddles seen, and none seen where they would have been.

level_readings     a puddle as a level and a straightedge that the water itself laid
Depths, depths     the deepest water in each puddle's outline and outside of all, on drawn floors
standing_odds      how likely each floor is to show what was seen, up to a factor
resample           floors drawn again by their odds
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import LANES
from drainward.floor.film.fluid import Fluid
from drainward.floor.film.wetting import notice, thickness
from drainward.floor.ponds import Standing
from drainward.floor.shape import INCH
from drainward.floor.surface import Surfaces
from drainward.job.at_stage import WATER
from drainward.job.model import Puddle, Reading, ReadingKind, UnitModel, WaterTest

__all__ = ["Depths", "depths", "level_readings", "resample", "standing_odds"]

Array = NDArray[np.float64]

WIDTH = 6 * INCH
"""Across a puddle that nobody measured: a hand's width and more (no source)."""
_NARROWEST = 2 * INCH
_MARKED = 2 * INCH  # a puddle is marked on the map about so well
_DEPTH_U = 0.8e-3  # a rule stood in a puddle, m
_SOAPED = 0.3e-3  # what soap leaves of the thickness at which water hangs by itself, m


def level_readings(unit: UnitModel, test: WaterTest, fluid: Fluid, advancing: float) -> tuple[Reading, ...]:
    """Readings that the puddles of a test amount to: their surface is level, and so deep over their middle.

    The film's thickness at a puddle's edge is not known, only that it is between nothing and that of a level puddle
    whose edge is about to advance; its spread is in u. A depth that nobody measured is taken for anything that one
    notices.
    """
    edge = 2 * _SOAPED if test.soap else thickness(fluid, advancing)
    edge_mean, edge_u = edge / 2, edge / math.sqrt(12)
    told = []
    for number, puddle in enumerate(test.puddles or ()):
        if puddle.depth is None:
            # From barely noticed to a puddle that anybody would have measured.
            low, high = 0.5e-3, 2 * thickness(fluid, advancing)
            depth, depth_u = (low + high) / 2, (high - low) / math.sqrt(12)
        else:
            depth, depth_u = puddle.depth, _DEPTH_U
        dip_u = math.hypot(depth_u, edge_u)
        for along_x in (True, False):
            ends = _ends(unit, puddle, along_x)
            if ends is None:
                continue
            name = f"{test.id}/{number}/{'x' if along_x else 'y'}"
            told.append(_reading(test, f"{name}/dip", ReadingKind.CHORD, ends, depth - edge_mean, dip_u))
            told.append(_reading(test, f"{name}/level", ReadingKind.WEDGE, ends, 0.0, math.sqrt(2) * edge_u))
    return tuple(told)


def _ends(unit: UnitModel, puddle: Puddle, along_x: bool) -> tuple[float, float, float, float] | None:
    """Both ends of the puddle along an axis, no nearer to its middle than a wall lets them be."""
    size, middle = (unit.inside_width, puddle.x) if along_x else (unit.inside_depth, puddle.y)
    half = min((puddle.across or WIDTH) / 2, middle, size - middle)
    if half < _NARROWEST / 2:
        return None
    if along_x:
        return puddle.x - half, puddle.y, puddle.x + half, puddle.y
    return puddle.x, puddle.y - half, puddle.x, puddle.y + half


def _reading(
    test: WaterTest, name: str, kind: ReadingKind, ends: tuple[float, float, float, float], value: float, u: float
) -> Reading:
    x, y, x2, y2 = ends
    return Reading(
        id=name, room=test.room, kind=kind, x=x, y=y, x2=x2, y2=y2, value=value, u=u, stage=WATER, line=test.line
    )


@dataclass(frozen=True, slots=True, eq=False)
class Depths:
    """inside : (p, c) deepest water within each puddle's outline; outside : (c,) outside of all; m."""

    inside: Array
    outside: Array


def depths(floors: Surfaces, water: Standing, puddles: tuple[Puddle, ...]) -> Depths:
    """Deepest standing water on c floors, by p puddles as they were marked."""
    discs = [
        np.hypot(floors.x[None, :] - p.x, floors.y[:, None] - p.y) <= (p.across or WIDTH) / 2 + _MARKED for p in puddles
    ]
    places = [*discs, ~np.logical_or.reduce(discs) if discs else np.ones(floors.base.shape, dtype=bool)]
    flat = floors.z.reshape(len(floors.z), -1, LANES), water.water.reshape(len(floors.z), -1, LANES)
    deepest = np.empty((len(places), len(floors.z), LANES))
    for block, (z, w) in enumerate(zip(*flat, strict=True)):
        depth = w - z
        for k, place in enumerate(places):
            deepest[k, block] = depth[place.ravel()].max(axis=0, initial=0.0)
    each = deepest.reshape(len(places), -1)[:, : floors.count]
    return Depths(each[:-1], each[-1])


def standing_odds(found: Depths, hangs: Array) -> Array:
    """For each floor, how likely it is to show every puddle that was seen and no other, (c,).

    hangs : (p,) how likely a film hangs there by itself
    """
    shows = notice(found.inside)
    odds: Array = (1.0 - notice(found.outside)) * np.prod(shows + (1.0 - shows) * hangs[:, None], axis=0)
    return odds


def resample(odds: Array, rng: np.random.Generator) -> tuple[NDArray[np.intp], float]:
    """As many floors again, drawn by their odds with the least scatter, in random order; and the share that stands.

    That share is the effective number over all, (sum w)^2 / (c sum w^2): Kong, Liu and Wong, J. Amer. Stat. Assoc. 89
    (1994) 278. Systematic resampling: Douc, Cappé and Moulines, ISPA 2005, section 2.4 (both from memory).
    """
    count = len(odds)
    if not odds.sum() > 0:
        return np.arange(count), 0.0
    weight = odds / odds.sum()
    steps = (rng.random() + np.arange(count)) / count
    index = np.minimum(np.searchsorted(np.cumsum(weight), steps), count - 1)
    return rng.permutation(index), float(1.0 / (count * (weight**2).sum()))
