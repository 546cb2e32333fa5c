"""Drawn floors as fine surfaces in lanes, and their heights at points.

Surfaces    c floors on the regular grid of the pictures and the ponds
surfaces    lift drawn floors to it
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import LANES, blocks_of, kernel, over_blocks, pack
from drainward.floor.abreast.lift import Bumps, lift
from drainward.floor.belief import Floors
from drainward.floor.belief.defects import STEP
from drainward.floor.shape import fine_axes, moulded
from drainward.floor.taps import taps_at
from drainward.job.model import UnitModel

__all__ = ["Surfaces", "surfaces"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Surfaces:
    """c floors over one grid.

    unit : the unit model;  x : (nx,), y : (ny,) m;  base : (ny, nx) the moulded shape, m
    z : (blocks, ny, nx, LANES) float32 heights over the moulded drain, m; the last lanes repeat the last floor
    missed : (c,) whether the floor has a defect beyond those that the readings show
    """

    unit: UnitModel
    x: Array
    y: Array
    base: Array
    z: NDArray[np.float32]
    missed: NDArray[np.bool_]

    @property
    def count(self) -> int:
        """c."""
        return len(self.missed)

    @property
    def cell_area(self) -> float:
        """Area of one cell of the grid, m2."""
        return float((self.x[1] - self.x[0]) * (self.y[1] - self.y[0]))

    def at(self, px: Array, py: Array, threads: int = 1) -> NDArray[np.float32]:
        """Heights at points (m,): (m, c), m. The moulded shape is exact, the deviation bilinear between nodes."""
        column, across = _cell(self.x, px)
        row, along = _cell(self.y, py)
        heights = np.empty((len(px), len(self.z), LANES), np.float32)

        def work(first: int, last: int) -> None:
            _gather(self.z, first, last, row, column, along, across, heights)

        over_blocks(work, len(self.z), threads)
        lifted = np.empty((len(px), 1, LANES), np.float32)
        base = np.repeat(self.base[None, :, :, None], LANES, axis=3).astype(np.float32)
        _gather(base, 0, 1, row, column, along, across, lifted)
        exact = moulded(self.unit, px, py) - lifted[:, 0, 0]
        return heights.reshape(len(px), len(self.z) * LANES)[:, : self.count] + exact[:, None].astype(np.float32)

    def part(self, count: int) -> Surfaces:
        """The first `count` floors, or a few more to fill their last block; they stand for all."""
        blocks = min(blocks_of(count), len(self.z))
        return Surfaces(self.unit, self.x, self.y, self.base, self.z[:blocks], self.missed[: blocks * LANES])

    def turned(self, turn: Array) -> Surfaces:
        """The same floors after a turn about the drain with slopes turn = (along x, along y)."""
        plane = turn[0] * (self.x - self.unit.drain.x) + turn[1] * (self.y[:, None] - self.unit.drain.y)
        z = self.z + plane[None, :, :, None].astype(np.float32)
        return Surfaces(self.unit, self.x, self.y, self.base, z, self.missed)

    def moments(self, threads: int = 1) -> tuple[Array, Array]:
        """Mean height and standard deviation at each node, both (ny, nx), m."""
        valid = (np.arange(len(self.z) * LANES) < self.count).astype(np.float32).reshape(len(self.z), LANES)

        def work(first: int, last: int) -> tuple[Array, Array]:
            total, square = np.zeros(self.base.shape), np.zeros(self.base.shape)
            _add_up(self.z, first, last, valid, self.base.astype(np.float32), total, square)
            return total, square

        parts = over_blocks(work, len(self.z), threads)
        mean = np.sum([total for total, _ in parts], axis=0) / self.count
        variance = np.sum([square for _, square in parts], axis=0) / self.count - mean**2
        return self.base + mean, np.sqrt(np.maximum(variance, 0.0))


def surfaces(floors: Floors, unit: UnitModel, step: float, threads: int = 1) -> Surfaces:
    """Lift drawn floors to a grid with nodes about `step` apart (m)."""
    x, y = fine_axes(unit, step)
    base = moulded(unit, *np.meshgrid(x, y))
    nodes = floors.nodes
    count, blocks = len(floors), blocks_of(len(floors))
    coarse = pack(floors.coarse.reshape(count, len(nodes.y), len(nodes.x)))
    offset = -floors.plane @ np.array(floors.middle)
    plane = _in_lanes(np.column_stack([offset, floors.plane]), blocks)
    z = lift(
        coarse,
        taps_at(nodes.y, y),
        taps_at(nodes.x, x),
        base,
        plane,
        x,
        y,
        threads,
        bumps=_bumps(floors, blocks),
    )
    steps = _steps(floors, blocks)
    over_blocks(lambda first, last: _add_steps(z, first, last, x, y, steps), blocks, threads)
    return Surfaces(unit, x, y, base, z, floors.missed)


def _in_lanes(values: Array, blocks: int) -> Array:
    """(c, k) -> (blocks, k, LANES), the last block filled up with the last row."""
    index = np.minimum(np.arange(blocks * LANES), len(values) - 1)
    return np.ascontiguousarray(values[index].reshape(blocks, LANES, -1).transpose(0, 2, 1))


def _bumps(floors: Floors, blocks: int) -> Bumps:
    """The bells among the local defects; steps are added apart."""
    s = floors.shapes
    height = np.where(s.form == STEP, 0.0, floors.height)
    c, n = np.cos(s.angle), np.sin(s.angle)
    along, across = 1.0 / s.along**2, 1.0 / s.across**2
    fields = (
        height,
        s.x,
        s.y,
        c * c * along + n * n * across,
        c * n * (along - across),
        n * n * along + c * c * across,
    )
    return Bumps(*(_in_lanes(field, blocks) for field in fields))


def _steps(floors: Floors, blocks: int) -> Array:
    """The steps among the local defects, (blocks, 4 s, LANES): height, and a, b, c of the ramp a + b x + c y."""
    s = floors.shapes
    height = np.where(s.form == STEP, floors.height, 0.0)
    along_x, along_y = -np.sin(s.angle) / (2 * s.across), np.cos(s.angle) / (2 * s.across)
    return _in_lanes(np.concatenate([height, -along_x * s.x - along_y * s.y, along_x, along_y], axis=1), blocks)


def _cell(nodes: Array, p: Array) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Index of the node at or before each point, and how far on to the next one it lies, 0 to 1."""
    t = np.clip((p - nodes[0]) / (nodes[1] - nodes[0]), 0.0, len(nodes) - 1.0)
    index = np.minimum(t.astype(np.intp), len(nodes) - 2)
    return index, (t - index).astype(np.float32)


@kernel
def _add_steps(z: Any, first: int, last: int, x: Any, y: Any, steps: Any) -> None:
    slots = steps.shape[1] // 4
    for block in range(first, last):
        for i in range(len(y)):
            for slot in range(slots):
                for lane in range(z.shape[3]):
                    height = np.float32(steps[block, slot, lane])
                    if height == 0.0:
                        continue
                    ramp = np.float32(steps[block, slots + slot, lane] + steps[block, 3 * slots + slot, lane] * y[i])
                    along = np.float32(steps[block, 2 * slots + slot, lane])
                    for j in range(len(x)):
                        t = min(max(ramp + along * np.float32(x[j]), np.float32(-0.5)), np.float32(0.5))
                        z[block, i, j, lane] += height * t


@kernel
def _gather(z: Any, first: int, last: int, row: Any, column: Any, along: Any, across: Any, heights: Any) -> None:
    for block in range(first, last):
        for k in range(len(row)):
            i, j, s, t = row[k], column[k], along[k], across[k]
            for lane in range(z.shape[3]):
                above = z[block, i, j, lane] * (np.float32(1.0) - t) + z[block, i, j + 1, lane] * t
                below = z[block, i + 1, j, lane] * (np.float32(1.0) - t) + z[block, i + 1, j + 1, lane] * t
                heights[k, block, lane] = above * (np.float32(1.0) - s) + below * s


@kernel
def _add_up(z: Any, first: int, last: int, valid: Any, base: Any, total: Any, square: Any) -> None:
    for block in range(first, last):
        for i in range(z.shape[1]):
            for j in range(z.shape[2]):
                summed = np.float32(0.0)
                squared = np.float32(0.0)
                for lane in range(z.shape[3]):
                    d = (z[block, i, j, lane] - base[i, j]) * valid[block, lane]
                    summed += d
                    squared += d * d
                total[i, j] += summed
                square[i, j] += squared
