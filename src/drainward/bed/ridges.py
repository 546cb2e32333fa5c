"""Where to pour and how high to comb: ridges that collapse to the wanted thickness.

Notch              a square-notched comb; NOTCHES, USUAL
BAND               the step of thickness between zones
Zone               an area combed in one way
zones              a void cut into zones; their volumes add up to it
pour_words         the zones as a mason follows them
Squeeze, squeeze   what it takes to press ridges flat, against pressing a full flat bed
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.bed.void import Void
from drainward.quantity import INCH, format_length

__all__ = ["BAND", "NOTCHES", "USUAL", "Notch", "Squeeze", "Zone", "pour_words", "squeeze", "zones"]

Array = NDArray[np.float64]

BAND = INCH / 4
"""Zones differ by so much in thickness or more: a mason combs no finer."""
_LEAST = 48 * INCH**2
"""No zone is smaller than this: two hands by one."""
_SURE = 2.0
"""Ridges stand over the thickest of their zone by so many standard deviations of what is not known of it."""


@dataclass(frozen=True, slots=True)
class Notch:
    """A comb with square notches as wide as high, as far apart as wide; m."""

    size: float

    @property
    def collapsed(self) -> float:
        """Thickness to which its ridges spread, m: half of their height, as a ridge and a gap are equally wide."""
        return self.size / 2


NOTCHES = tuple(Notch(n * INCH / 4) for n in (1, 2, 3, 4, 6))
USUAL = NOTCHES[2]
"""3/4 in: the usual comb under a bedded floor (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Zone:
    """An area combed in one way.

    mask : (ny, nx) of the void's map;  x, y : its middle;  area, m2;  thickness : its mean when pressed, m
    low, high : of the expected thickness in it, m;  volume : m3
    notch : of the comb;  base : flat layer under the ridges, m;  top : from the slab to the ridges' top, m
    touches : chance that the ridges reach the panel everywhere in it
    box : True for the box-out, which is filled to `top` and not combed
    """

    mask: NDArray[np.bool_]
    name: str
    x: float
    y: float
    area: float
    thickness: float
    low: float
    high: float
    volume: float
    notch: Notch
    base: float
    top: float
    touches: float
    box: bool = False


@dataclass(frozen=True, slots=True)
class Squeeze:
    """What presses mortar flat whose yield stress lies within a range, smallest and largest, as (low, high).

    pressure : over pressed ridges, Pa;  area : that one man presses flat where he stands, m2
    flat : force over the whole floor that it would take to sink a full flat bed instead, N
    """

    pressure: tuple[float, float]
    area: tuple[float, float]
    flat: tuple[float, float]


def zones(void: Void) -> tuple[Zone, ...]:
    """The box-out first, then what lies round it, from the drain outward; the volumes add up to the void's.

    Thickness is banded by quarters of an inch and, in each band, by the side of the drain on which it lies.
    """
    unit = void.unit
    gx, gy = np.meshgrid(void.x, void.y)
    area = np.outer(_widths(void.y), _widths(void.x))
    # A map node at the edge stands for half a cell; what the map's cells miss is spread over all of them.
    free = ~void.boxed
    share = np.where(free, np.maximum(void.mean, 0.0) * area, 0.0)
    scale = (void.volume - void.in_box) / max(share.sum(), 1e-12)
    level = np.floor(np.maximum(void.mean, 0.0) / BAND + 1e-9).astype(int)
    side = np.where(gx < unit.drain.x, 0, 1)
    for one in (0, 1):
        _join(level, area, free & (side == one))
    found = []
    for band in np.unique(level[free]):
        for left, name in ((0, "left of the drain"), (1, "right of the drain")):
            mask = free & (level == band) & (side == left)
            if mask.any():
                found.append(_zone(void, mask, name, gx, gy, area, share * scale))
    found.sort(key=lambda zone: float(np.hypot(zone.x - unit.drain.x, zone.y - unit.drain.y)))
    return (_box(void), *found)


def pour_words(zones: Sequence[Zone]) -> tuple[str, ...]:
    """What to do zone after zone, in the order of `zones`, in sentences."""
    told = []
    for zone in zones:
        if zone.box:
            told.append(f"Plug the core round the pipe; fill the box-out {format_length(zone.top)} deep.")
            continue
        x, y = (format_length(place, denominator=1) for place in (zone.x, zone.y))
        flat = f"lay {format_length(zone.base)} flat and " if zone.base >= INCH / 32 else ""
        told.append(
            f"{zone.name.capitalize()}, round {x} from the left, {y} from the back: {flat}comb with "
            f"{format_length(zone.notch.size)} notches; ridges stand {format_length(zone.top)} over the slab and press "
            f"to {format_length(zone.thickness)}."
        )
    return tuple(told)


def squeeze(
    thickness: float,
    notch: Notch,
    floor: tuple[float, float],
    stress: tuple[float, float] = (100.0, 1000.0),
    weight: float = 800.0,
) -> Squeeze:
    """Forces that press ridges to `thickness`, m; `floor` is the bed's width and depth, m.

    stress : range of the mortar's yield stress, Pa, which nobody measures on site;  weight : of a man, N
    A strip of half width R pressed to h with no slip takes 2 tau R² / h for each length, a disc 2 pi tau R³ / (3 h):
    the plug's pressure 2 tau (R - r) / h, integrated. The floor is taken as a disc of the same area.
    """
    half = notch.size
    pressure = tuple(tau * half / thickness for tau in stress)
    radius = math.sqrt(floor[0] * floor[1] / math.pi)
    flat = tuple(2 * math.pi * tau * radius**3 / (3 * thickness) for tau in stress)
    area = tuple(weight / p for p in reversed(pressure))
    return Squeeze((pressure[0], pressure[1]), (area[0], area[1]), (flat[0], flat[1]))


def _join(level: NDArray[np.int_], area: Array, where: NDArray[np.bool_]) -> None:
    """Bands that are too small to comb on their own join the next one, in place."""
    while True:
        bands = np.unique(level[where])
        sizes = np.array([area[where & (level == band)].sum() for band in bands])
        if len(bands) < 2 or sizes.min() >= _LEAST:
            return
        k = int(sizes.argmin())
        beside = [j for j in (k - 1, k + 1) if 0 <= j < len(bands)]
        level[where & (level == bands[k])] = bands[min(beside, key=lambda j: float(sizes[j]))]


def _widths(axis: Array) -> Array:
    """Width of the cell of each node of an axis, half at its ends."""
    edges = np.concatenate([axis[:1], (axis[1:] + axis[:-1]) / 2, axis[-1:]])
    return np.diff(edges)


def _zone(void: Void, mask: NDArray[np.bool_], name: str, gx: Array, gy: Array, area: Array, volume: Array) -> Zone:
    own = area[mask]
    total = float(volume[mask].sum())
    thick = total / float(own.sum())
    high = float(void.mean[mask].max())
    reach = high + _SURE * float(void.sd[mask].max())
    # With t = base + n/2 the top stands n/2 over t: the smallest comb that reaches and leaves a base of nought or more.
    fits = [n for n in NOTCHES if n.collapsed <= thick]
    notch = next((n for n in fits if thick + n.collapsed >= reach), fits[-1] if fits else NOTCHES[0])
    base = max(thick - notch.collapsed, 0.0)
    top = base + notch.size
    touches = float((void.drawn[:, mask].max(axis=1) <= top).mean())
    return Zone(
        mask=mask,
        name=name,
        x=float(np.average(gx[mask], weights=own)),
        y=float(np.average(gy[mask], weights=own)),
        area=float(own.sum()),
        thickness=thick,
        low=float(void.mean[mask].min()),
        high=high,
        volume=total,
        notch=notch,
        base=base,
        top=top,
        touches=touches,
    )


def _box(void: Void) -> Zone:
    """Filled to within 1/8 in of its top; what is missing up to the panel is pressed in from the ridges round it."""
    box = void.box
    area = box.area(void.unit)
    thick = void.in_box / max(area, 1e-12)
    filled = max(box.deep - INCH / 8, 0.0)
    none = Notch(0.0)
    return Zone(
        void.boxed, "box-out", box.x, box.y, area, thick, thick, thick, void.in_box, none, filled, filled, 1.0, True
    )
