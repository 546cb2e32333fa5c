"""Ponds of shapes whose volume is known in closed form, and filling against a general-purpose image library."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Certainty
from drainward.validation.check import Check

__all__ = ["CHECKS"]

Grid = NDArray[np.float64]

STEP, WIDTH, DEPTH = 0.002, 0.60, 0.40
RADIUS, DIP = 0.12, 0.008
LITRE = 1000.0
RIDGE = 0.201
"""On a node: a crest between nodes would lie lower on the grid than it is."""

_SOLID = "solid geometry"


def _pond(z: Grid) -> tuple[float, float]:
    """Volume (m3) and greatest depth (m) of what stands on heights z over the grid; water leaves at the first node."""
    from drainward.floor.abreast.flood import flood_lanes, pack, pond_statistics

    outlet = np.zeros(z.shape, np.bool_)
    outlet[0, 0] = True
    floors = pack(z[None].astype(np.float32))
    found = pond_statistics(floors, flood_lanes(floors, outlet), 1e-6, STEP**2, n=1)
    return float(found.volume[0]), float(found.deepest[0])


def _plan() -> tuple[Grid, Grid]:
    """Nodes in the middle of cells, so that a sum over nodes is an integral."""
    x = np.arange(STEP / 2, WIDTH, STEP)
    y = np.arange(STEP / 2, DEPTH, STEP)
    gx, gy = np.meshgrid(x, y)
    return gx, gy


def _dish(form: str) -> Grid:
    """A level plate with a dish of radius RADIUS and depth DIP in its middle."""
    gx, gy = _plan()
    r = np.hypot(gx - WIDTH / 2, gy - DEPTH / 2) / RADIUS
    depth = {"cone": 1 - r, "paraboloid": 1 - r**2, "cap": _cap(r)}[form]
    return np.asarray(-DIP * np.clip(depth, 0, None))


def _cap(r: Grid) -> Grid:
    """Spherical cap of height DIP over the radius RADIUS, as a share of DIP; r in units of RADIUS."""
    sphere = (RADIUS**2 + DIP**2) / (2 * DIP)
    rise = np.sqrt(sphere**2 - (RADIUS * np.minimum(r, 1)) ** 2) - (sphere - DIP)
    return np.asarray(rise / DIP)


def _trough() -> Grid:
    """A floor that falls away from the drain behind a ridge: a wedge of water against the wall."""
    gx, _ = _plan()
    return np.where(gx < RIDGE, gx, RIDGE - 0.01 * (gx - RIDGE))


def _worst_difference() -> float:
    """Greatest difference to the image library's filling over eight rough floors, mm."""
    from skimage import morphology

    from drainward.floor.abreast.flood import flood

    rng = np.random.default_rng(106)
    gx, gy = np.meshgrid(np.arange(121.0), np.arange(73.0))
    floors = 0.02 * np.hypot(gx - 60, gy - 36) + rng.normal(0, 2.5, (8, 73, 121))
    floors = floors.astype(np.float32)
    outlet = np.zeros((73, 121), np.bool_)
    outlet[35:38, 59:62] = True
    ours = flood(floors, outlet)
    filled: Callable[..., Grid] = morphology.reconstruction
    theirs = [filled(np.where(outlet, z, z.max()), z, method="erosion") for z in floors]
    return float(np.abs(ours - np.stack(theirs)).max())


def _litres(form: str) -> float:
    return LITRE * _pond(_dish(form))[0]


CHECKS: tuple[Check, ...] = (
    Check("flood/cone", "water in a conical dish, 240 mm wide, 8 mm deep", _SOLID + ", V = πr²d/3", Certainty.COMPUTED,
          LITRE * math.pi * RADIUS**2 * DIP / 3, 0.0005, "L", partial(_litres, "cone")),
    Check("flood/paraboloid", "water in a paraboloid of the same size", _SOLID + ", V = πr²d/2", Certainty.COMPUTED,
          LITRE * math.pi * RADIUS**2 * DIP / 2, 0.0005, "L", partial(_litres, "paraboloid")),
    Check("flood/cap", "water in a spherical cap of the same size", _SOLID + ", V = πd(3r² + d²)/6", Certainty.COMPUTED,
          LITRE * math.pi * DIP * (3 * RADIUS**2 + DIP**2) / 6, 0.0005, "L", partial(_litres, "cap")),
    Check("flood/wedge", "water behind a ridge, floor falling 1 % to the wall", _SOLID + ", V = s L² W/2",
          Certainty.COMPUTED, LITRE * 0.01 * (WIDTH - RIDGE) ** 2 * DEPTH / 2, 0.001, "L",
          lambda: LITRE * _pond(_trough())[0]),
    Check("flood/depth", "greatest depth of the spherical cap", _SOLID, Certainty.COMPUTED,
          1000 * DIP, 0.005, "mm", lambda: 1000 * _pond(_dish("cap"))[1]),
    Check("flood/image-library", "greatest difference on eight rough floors with the drain inside the grid",
          "scikit-image, skimage.morphology.reconstruction by erosion", Certainty.SEEN,
          0.0, 1e-6, "mm", _worst_difference, needs="scikit-image"),
)  # fmt: skip
