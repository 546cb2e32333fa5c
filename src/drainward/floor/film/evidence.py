"""What a recorded water test says of the floor: puddles seen, and none seen where they would have been.

edge_of            how thick a puddle's edge may be
level_readings     a puddle as a level and a straightedge that the water itself laid
outline            where a puddle was marked
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

__all__ = ["Depths", "depths", "edge_of", "level_readings", "outline", "resample", "standing_odds"]

Array = NDArray[np.float64]

WIDTH = 6 * INCH
"""Across a puddle that nobody measured: a hand's width and more (no source)."""
_NARROWEST = 2 * INCH
_MARKED = 2 * INCH  # a puddle is marked on the map about so well
_DEPTH_U = 0.8e-3  # a rule stood in a puddle, m
_LEVEL = 2e-6  # two ponds differ by more than this in level, m
_SOAPED = 0.3e-3  # what soap leaves of the thickness at which water hangs by itself, m


def edge_of(test: WaterTest, fluid: Fluid, receding: float) -> float:
    """Greatest thickness of a puddle's edge, m: water that ran off draws its edge back, so at the receding angle."""
    return 2 * _SOAPED if test.soap else thickness(fluid, receding)


def level_readings(unit: UnitModel, test: WaterTest, fluid: Fluid, angles: tuple[float, float]) -> tuple[Reading, ...]:
    """Readings that the puddles of a test amount to: their surface is level, and so deep over their middle.

    angles : receding and advancing, degrees
    The film's thickness at a puddle's edge is not known, only that it is between nothing and `edge_of`; its spread is
    in u. A depth that nobody measured is taken for anything that one notices.
    """
    edge = edge_of(test, fluid, angles[0])
    edge_mean, edge_u = edge / 2, edge / math.sqrt(12)
    told = []
    for number, puddle in enumerate(test.puddles or ()):
        if puddle.depth is None:
            # From barely noticed to a puddle that anybody would have measured.
            low, high = 0.5e-3, 2 * thickness(fluid, angles[1])
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
    """inside : (p, c) deepest water within each puddle's outline; outside : (c,) in ponds that reach into none; m."""

    inside: Array
    outside: Array


def depths(floors: Surfaces, water: Standing, puddles: tuple[Puddle, ...]) -> Depths:
    """Deepest standing water on c floors, by p puddles as they were marked."""
    outlines = [outline(floors, puddle).ravel() for puddle in puddles]
    flat = floors.z.reshape(len(floors.z), -1, LANES), water.water.reshape(len(floors.z), -1, LANES)
    deepest = np.empty((len(outlines) + 1, len(floors.z), LANES))
    for block, (z, w) in enumerate(zip(*flat, strict=True)):
        depth = w - z
        elsewhere = depth
        for k, place in enumerate(outlines):
            within = depth[place]
            deepest[k, block] = within.max(axis=0, initial=0.0)
            # A pond is as wide as its level reaches, and marked by its middle alone.
            level = np.where(deepest[k, block] > _LEVEL, w[place][within.argmax(axis=0), np.arange(LANES)], np.inf)
            elsewhere = np.where(place[:, None] | (np.abs(w - level) < _LEVEL), 0.0, elsewhere)
        deepest[-1, block] = elsewhere.max(axis=0)
    each = deepest.reshape(len(deepest), -1)[:, : floors.count]
    return Depths(each[:-1], each[-1])


def outline(floors: Surfaces, puddle: Puddle) -> NDArray[np.bool_]:
    """(ny, nx) nodes that a puddle as it was marked may cover."""
    off = np.hypot(floors.x[None, :] - puddle.x, floors.y[:, None] - puddle.y)
    return off <= (puddle.across or WIDTH) / 2 + _MARKED


def standing_odds(found: Depths, puddles: tuple[Puddle, ...], film: Array, edge: float, most: float) -> Array:
    """For each floor, how likely it is to show every puddle that was seen, as deep as it was measured, and no other.

    film : (p,) how likely a film hangs by itself just there, or water came there otherwise
    edge : greatest thickness of a puddle's edge; most : of a film that hangs; m;  returns (c,), up to a factor
    """
    odds: Array = 1.0 - notice(found.outside)
    u = math.hypot(_DEPTH_U, edge / math.sqrt(12))
    for puddle, inside, hangs in zip(puddles, found.inside, film, strict=True):
        shows = notice(inside)
        pond, hung = np.ones_like(inside), 1.0
        if puddle.depth is not None:
            off = (puddle.depth - inside - edge / 2) / u
            pond, hung = np.exp(-0.5 * off**2) / (u * math.sqrt(2 * math.pi)), 1.0 / most
        odds = odds * (shows * pond + (1.0 - shows) * hangs * hung)
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
