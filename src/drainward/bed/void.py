"""The void under a moulded floor: what the mortar has to fill, as a belief.

BoxOut         the recess in the slab round the drain's core, as surveyed
Underside      where the panel's underside is to lie
Void           thickness map, drawn thicknesses, volume
void           compute it
spots_of       spot heights of a survey in the unit's own frame
box_out_of     the recess of a survey, or the usual one where nobody measured it

Where the floor lies is the crew's to set: its threshold stands so far over the bare slab along it as the sheet's rise
and the floor still to come make together. That height is as sure as a level and a wedge set it, the slab as sure as its
spot heights; a figure for the floor to come that is off sets the unit off with it and changes no mortar. Mortar fills
the inside of the unit up to the panel, all round the drain's body; none lies under the threshold, and the core round
the pipe is plugged before.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.bed.slab import SlabBelief, SlabDraws, Spots, believe
from drainward.floor.shape import moulded
from drainward.job.model import Measure, UnitModel, What
from drainward.pocket.heights import in_unit
from drainward.pocket.limits import outline
from drainward.pocket.shape import Pocket
from drainward.quantity import INCH

__all__ = ["BoxOut", "Underside", "Void", "box_out_of", "spots_of", "void"]

Array = NDArray[np.float64]

U_SET = INCH / 32
"""How far the threshold is set off its height, standard uncertainty; common practice, no source."""
U_LEVEL = INCH / 32
"""How far either side is set off level with the middle, standard uncertainty; common practice, no source."""
U_PANEL = INCH / 64
"""How far the mean thickness of the panel is off its sheet, standard uncertainty; from memory."""
BOX_OUT = (10 * INCH, 10 * INCH, 1.5 * INCH)
U_BOX_OUT = INCH / 4
"""Recess where nobody measured it, width, depth and how deep, and how unsure each is: common practice, no source."""
_BUILD_UP, _U_BUILD_UP = 3 * INCH / 8, INCH / 2
"""Of the floor still to come outside where nobody measured it: common practice, no source."""
_FINE, _MAP = INCH / 2, INCH


@dataclass(frozen=True, slots=True)
class BoxOut:
    """x, y : its middle in the unit's frame;  wide, long, deep : along x, along y, under the slab; m.

    u : (wide, long, deep) standard uncertainties, m;  measured : False where the usual one stands for it
    """

    x: float
    y: float
    wide: float
    long: float
    deep: float
    u: tuple[float, float, float]
    measured: bool

    def area(self, unit: UnitModel) -> float:
        """Of it under the inside of the unit, m2."""
        left, right = np.clip([self.x - self.wide / 2, self.x + self.wide / 2], 0.0, unit.inside_width)
        back, front = np.clip([self.y - self.long / 2, self.y + self.long / 2], 0.0, unit.inside_depth)
        return float((right - left) * (front - back))

    def holds(self, x: Array, y: Array) -> NDArray[np.bool_]:
        """Whether it holds each place."""
        inside: NDArray[np.bool_] = (np.abs(x - self.x) <= self.wide / 2) & (np.abs(y - self.y) <= self.long / 2)
        return inside


@dataclass(frozen=True, slots=True)
class Underside:
    """The panel's underside: `drain` is the height of the floor's lowest place over the finished floor, m.

    rise : of the threshold over the finished floor, m
    u : of its height as set;  u_level : of either side against the middle, along x and along y, m
    """

    drain: float
    rise: float = 0.0
    u: float = float(np.hypot(U_SET, U_PANEL))
    u_level: float = U_LEVEL

    def over_datum(self, unit: UnitModel, x: Array, y: Array) -> Array:
        """Height over the finished floor at (x, y) as it is meant, m."""
        return self.drain + moulded(unit, x, y) - unit.floor.thickness


@dataclass(frozen=True, slots=True, eq=False)
class Void:
    """What the mortar has to fill.

    x, y : (nx,), (ny,) axes of the map, m
    mean, sd : (ny, nx) from the slab to the panel's underside, the box-out's depth not counted, m
    boxed : (ny, nx) where the box-out lies
    drawn : (s, ny, nx) the same drawn, m;  volumes : (s,) m3
    volume, u : m3, box-out and drain counted;  in_box : of it within the box-out's outline, expected
    over_slab : how far the threshold's top is to stand over the bare slab along it, m, for all of this to hold
    """

    unit: UnitModel
    box: BoxOut
    spots: Spots
    draws: SlabDraws
    x: Array
    y: Array
    mean: Array
    sd: Array
    boxed: NDArray[np.bool_]
    drawn: NDArray[np.float32]
    volume: float
    u: float
    in_box: float
    volumes: Array
    over_slab: float

    @property
    def by_height(self) -> float:
        """By how much the volume grows for each metre that the unit is set higher, m2."""
        unit = self.unit
        return unit.inside_width * unit.inside_depth - math.pi / 4 * unit.drain.body_diameter**2

    @property
    def thinnest(self) -> Array:
        """(s,) least thickness clear of the box-out, m."""
        return np.asarray(self.drawn[:, ~self.boxed].min(axis=1), dtype=np.float64)

    @property
    def thickest(self) -> Array:
        """(s,) greatest thickness clear of the box-out, m."""
        return np.asarray(self.drawn[:, ~self.boxed].max(axis=1), dtype=np.float64)


def void(unit: UnitModel, spots: Spots, box: BoxOut, under: Underside, samples: int = 400, seed: int = 0) -> Void:
    """The void between the panel as it is to be set and the slab as it was read.

    samples : drawn slabs, for pictures and for chances; volume and u are computed, not drawn
    """
    belief = believe(unit, spots, middle=under.drain - unit.floor.thickness - INCH)
    (fx, fy), area = _nodes(unit, _FINE)
    lies = np.asarray(area @ belief.grid.weights(fx, fy))[None]
    (slab,), (sd,) = belief.moments(lies)
    added, u_added = _box_volume(unit, box)
    meant = under.over_datum(unit, fx, fy)
    at_drain, at_box = (float(p) for p in _thickness(belief, under, [(unit.drain.x, unit.drain.y), (box.x, box.y)]))
    inside = added - _displaced(unit, at_drain + box.deep)
    floor = unit.inside_width * unit.inside_depth
    volume = float(area @ meant) - float(slab) + inside
    draws, rng = belief.draw(samples, seed), np.random.default_rng([seed, 1])
    (x, y), _ = _nodes(unit, _MAP)
    raised = under.u * rng.standard_normal(samples)
    turned = under.u_level * rng.standard_normal((samples, 2))
    across = np.stack([2 * x / unit.inside_width - 1, 2 * y / unit.inside_depth - 1])
    carried = np.asarray((belief.grid.weights(x, y) @ draws.nodes.T).T)
    drawn = under.over_datum(unit, x, y) + raised[:, None] + turned @ across - carried
    # A turn about the floor's middle moves no mortar in all.
    volumes = float(area @ meant) + floor * raised - draws.nodes @ lies[0] + inside
    shape = (len(np.unique(y)), len(np.unique(x)))
    return Void(
        unit=unit,
        box=box,
        spots=spots,
        draws=draws,
        x=x[: shape[1]],
        y=y[:: shape[1]],
        mean=drawn.mean(axis=0).reshape(shape),
        sd=drawn.std(axis=0).reshape(shape),
        boxed=box.holds(x, y).reshape(shape),
        drawn=drawn.reshape(samples, *shape).astype(np.float32),
        volume=volume,
        u=float(np.sqrt(sd**2 + (floor * under.u) ** 2 + u_added**2)),
        in_box=at_box * box.area(unit) + inside,
        volumes=volumes + u_added * rng.standard_normal(samples),
        over_slab=under.rise + spots.build_up,
    )


def spots_of(unit: UnitModel, measures: Iterable[Measure], place: Array, left_out: Iterable[str] = ()) -> Spots:
    """Spot heights of one room's survey; those in the box-out's usual outline and beyond the side walls tell nothing.

    place : (3,) shift x, y and turn of the unit in its pocket;  left_out : ids of measures that the others contradict
    """
    gone = frozenset(left_out)
    rows = [m for m in measures if m.what is What.SLAB and m.id not in gone and m.x is not None and m.y is not None]
    built = [(m.value, m.u) for m in measures if m.what is What.BUILD_UP and m.id not in gone]
    x, y = in_unit(np.array([m.x for m in rows], float), np.array([m.y for m in rows], float), place)
    shape = outline(unit)
    free = np.maximum(np.abs(x - unit.drain.x), np.abs(y - unit.drain.y)) > BOX_OUT[0] / 2
    under = (x > shape.left) & (x < shape.right) & (y > shape.back) & (y < unit.inside_depth) & free
    outside = y > shape.front
    names = {name: k for k, name in enumerate(sorted({m.setup for m in rows}))}
    keep = np.flatnonzero(under | outside)
    # The crew sets the threshold by this very figure: a tape's error in it changes no mortar. A guess may be replaced.
    build_up, u_build_up = (_weighed(built), 0.0) if built else (_BUILD_UP, _U_BUILD_UP)
    return Spots(
        x=x[keep],
        y=y[keep],
        value=np.array([rows[k].value for k in keep], dtype=np.float64),
        u=np.array([rows[k].u for k in keep], dtype=np.float64),
        setup=np.array([names[rows[k].setup] for k in keep], dtype=np.intp),
        outside=outside[keep],
        build_up=build_up,
        u_build_up=u_build_up,
    )


def box_out_of(unit: UnitModel, pocket: Pocket, sizes: Mapping[What, tuple[float, float]], place: Array) -> BoxOut:
    """The recess round the core, or round the drain where nobody measured the core."""
    x, y = unit.drain.x, unit.drain.y
    if np.isfinite(pocket.core).all():
        x, y = (float(part[0]) for part in in_unit(pocket.core[:1], pocket.core[1:], place))
    asked = (What.RECESS_WIDTH, What.RECESS_DEPTH, What.RECESS_DEEP)
    told = [sizes.get(what, (usual, U_BOX_OUT)) for what, usual in zip(asked, BOX_OUT, strict=True)]
    (wide, u_wide), (long, u_long), (deep, u_deep) = told
    return BoxOut(x, y, wide, long, deep, (u_wide, u_long, u_deep), all(what in sizes for what in asked))


def _weighed(values: list[tuple[float, float]]) -> float:
    """Mean of values weighed by their uncertainties."""
    value, u = np.array(values).T
    return float(value @ u**-2.0 / (u**-2.0).sum())


def _nodes(unit: UnitModel, step: float) -> tuple[tuple[Array, Array], Array]:
    """Nodes of a regular grid over the inside, row by row, and the area that each stands for (trapezoid rule)."""
    axes, weights = [], []
    for span in (unit.inside_width, unit.inside_depth):
        count = round(span / step)
        weight = np.full(count + 1, span / count)
        weight[[0, -1]] /= 2
        axes.append(np.linspace(0.0, span, count + 1))
        weights.append(weight)
    gx, gy = np.meshgrid(*axes)
    return (gx.ravel(), gy.ravel()), np.outer(weights[1], weights[0]).ravel()


def _thickness(belief: SlabBelief, under: Underside, places: list[tuple[float, float]]) -> Array:
    """Expected thickness at places, (m,), m."""
    x, y = np.array(places).T
    slab, _ = belief.moments(belief.grid.weights(x, y).toarray())
    return np.asarray(under.over_datum(belief.unit, x, y) - slab)


def _box_volume(unit: UnitModel, box: BoxOut) -> tuple[float, float]:
    """What the box-out holds below the slab, m3, and its standard uncertainty."""
    u_wide, u_long, u_deep = box.u
    u = np.hypot(np.hypot(u_wide * box.long, u_long * box.wide) * box.deep, u_deep * box.area(unit))
    return box.area(unit) * box.deep, float(u)


def _displaced(unit: UnitModel, high: float) -> float:
    """What the drain's body, and below it the pipe, take of a void that is so high there, m3."""
    body = min(max(unit.drain.body_depth - unit.floor.thickness, 0.0), high)
    return math.pi / 4 * (unit.drain.body_diameter**2 * body + unit.drain.pipe**2 * (high - body))
