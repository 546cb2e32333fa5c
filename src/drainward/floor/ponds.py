"""Standing water on drawn floors: how deep, where, how sure.

Standing      what the floors hold
standing      flood the floors with the drain as the only outlet
list_ponds    the places where a pond may stand, likeliest first
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from drainward.floor.abreast.flood import flood_lanes, pond_statistics
from drainward.floor.abreast.lanes import LANES
from drainward.floor.result import Pond
from drainward.floor.surface import Surfaces
from drainward.job.model import UnitModel

__all__ = ["Standing", "list_ponds", "outlet", "standing"]

Array = NDArray[np.float64]

# A place is worth naming where at least this share of the floors stands deeper than the counted depth.
_WORTH_NAMING = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Water on c floors.

    water : like Surfaces.z, the water's surface, m; deepest : (c,) m; probability : (ny, nx) of standing deeper than
    the counted depth
    """

    water: NDArray[np.float32]
    deepest: Array
    volume: Array
    probability: Array


def outlet(unit: UnitModel, x: Array, y: Array) -> NDArray[np.bool_]:
    """(ny, nx) nodes within the drain's opening, at least the one nearest to its centre."""
    distance = np.hypot(x[None, :] - unit.drain.x, y[:, None] - unit.drain.y)
    return distance <= max(unit.drain.radius, float(distance.min())) + 1e-9


def standing(floors: Surfaces, unit: UnitModel, counted: float, threads: int = 1) -> Standing:
    """Water left on every floor; a pond counts from the depth `counted` (m)."""
    water = flood_lanes(floors.z, outlet(unit, floors.x, floors.y), threads)
    s = pond_statistics(floors.z, water, counted, floors.cell_area, n=floors.count, threads=threads)
    return Standing(water, s.deepest.astype(np.float64), s.volume, s.probability)


def list_ponds(floors: Surfaces, water: Standing, counted: float, most: int = 8) -> tuple[Pond, ...]:
    """The places where a counted pond may stand: regions of the probability map, likeliest first."""
    label, regions = ndimage.label(water.probability >= _WORTH_NAMING, structure=np.ones((3, 3)))
    if not regions:
        return ()
    cells = np.flatnonzero(label.ravel())
    order = np.argsort(label.ravel()[cells], kind="stable")
    cells = cells[order]
    starts = np.searchsorted(label.ravel()[cells], np.arange(1, regions + 1))
    blocks = len(floors.z)
    pick = (floors.z.reshape(blocks, -1, LANES), water.water.reshape(blocks, -1, LANES))
    depth = pick[1][:, cells] - pick[0][:, cells]
    depth = np.moveaxis(depth, 1, 2).reshape(blocks * LANES, -1)[: floors.count]
    deepest = np.maximum.reduceat(depth, starts, axis=1)
    area = np.add.reduceat(depth > counted, starts, axis=1) * floors.cell_area
    volume = np.add.reduceat(depth, starts, axis=1) * floors.cell_area
    ponds = []
    for r in range(regions):
        there = deepest[:, r] > counted
        if not there.any():
            continue
        mine = cells[label.ravel()[cells] == r + 1]
        mean_depth = depth[:, label.ravel()[cells] == r + 1][there].mean(axis=0)
        row, column = divmod(int(mine[mean_depth.argmax()]), len(floors.x))
        ponds.append(
            Pond(
                x=float(floors.x[column]),
                y=float(floors.y[row]),
                depth=float(deepest[there, r].mean()),
                depth_p95=float(np.quantile(deepest[:, r], 0.95)),
                area=float(area[there, r].mean()),
                volume=float(volume[there, r].mean()),
                probability=float(there.mean()),
            )
        )
    return tuple(sorted(ponds, key=lambda pond: -pond.probability)[:most])
