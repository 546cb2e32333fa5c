"""Lift coarse fields to the fine grid, many samples abreast.

Bumps   local bumps and dips of each sample
lift    coarse samples in lanes to fine surfaces in lanes: field + base + plane + bumps in one pass

Interpolation is linear in the coarse values, so a field that was conditioned on the coarse nodes is conditioned exactly
as the fine surface shows it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import (
    LANES,
    add,
    empty_lanes,
    kernel,
    load,
    multiply,
    multiply_add,
    over_blocks,
    spread,
    store,
)
from drainward.floor.taps import Taps

__all__ = ["BUMP_REACH", "Bumps", "lift"]

BUMP_REACH = 5.5
"""Standard lengths out to which a bump is evaluated: beyond, less than 3e-7 of its height, the rounding of float32."""


@dataclass(frozen=True, slots=True)
class Bumps:
    """Up to K anisotropic Gaussian bumps a sample: height * exp(-q / 2), q = xx dx² + 2 xy dx dy + yy dy².

    Each field is (blocks, K, LANES): height in the unit of the surface, x and y of the centre, and the inverse
    covariance xx, xy, yy in one over the square of the unit of x and y. A bump of height 0 is none.
    """

    height: NDArray[np.float64]
    x: NDArray[np.float64]
    y: NDArray[np.float64]
    xx: NDArray[np.float64]
    xy: NDArray[np.float64]
    yy: NDArray[np.float64]

    def stacked(self, blocks: int) -> NDArray[np.float64]:
        """(blocks, K, 6, LANES), contiguous; ValueError where a shape differs or a bump is no ellipse."""
        fields = (self.height, self.x, self.y, self.xx, self.xy, self.yy)
        shape = self.height.shape
        if any(field.shape != shape for field in fields) or len(shape) != 3 or shape[::2] != (blocks, LANES):
            raise ValueError(f"bumps are ({blocks}, K, {LANES}) each, got {[field.shape for field in fields]}")
        stack = np.stack(fields, axis=2).astype(np.float64)
        if not np.isfinite(stack).all():
            raise ValueError("a bump is not finite")
        ellipse = (self.xx > 0) & (self.xx * self.yy > self.xy**2)
        if not (ellipse | (self.height == 0)).all():
            raise ValueError("a bump's inverse covariance is not positive definite")
        return stack


def lift(
    coarse: NDArray[np.float32],
    ay: Taps,
    ax: Taps,
    base: NDArray[np.floating[Any]],
    plane: NDArray[np.floating[Any]],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    threads: int = 1,
    *,
    bumps: Bumps | None = None,
    out: NDArray[np.float32] | None = None,
) -> NDArray[np.float32]:
    """Fine surfaces in lanes: ay coarse axᵀ + base + a + b x + c y + bumps, in float32.

    coarse : (blocks, cy, cx, LANES)
    ay, ax : taps of the ny rows over cy nodes and of the nx columns over cx nodes
    base   : (ny, nx)
    plane  : (blocks, 3, LANES), a, b, c of each sample
    x, y   : (nx,), (ny,) node coordinates, x evenly spaced
    out    : (blocks, ny, nx, LANES) float32 to write to
    returns (blocks, ny, nx, LANES) float32
    Raises ValueError where shapes do not fit, x is not evenly spaced or a bump is no ellipse.
    """
    blocks, ny, nx = len(coarse), len(ay.index), len(ax.index)
    _check(coarse, ay, ax, base, plane, x, y)
    fine = empty_lanes(blocks, ny, nx) if out is None else out
    if fine.shape != (blocks, ny, nx, LANES) or fine.dtype != np.float32 or not fine.flags.c_contiguous:
        raise ValueError(f"out is contiguous float32 of shape {(blocks, ny, nx, LANES)}, got {fine.dtype} {fine.shape}")
    stack = np.zeros((blocks, 0, 6, LANES)) if bumps is None else bumps.stacked(blocks)
    arguments = (
        np.ascontiguousarray(coarse, np.float32).reshape(blocks, coarse.shape[1], -1),
        ay.index,
        ay.weight.astype(np.float32),
        ax.index * LANES,
        ax.weight.astype(np.float32),
        np.ascontiguousarray(base, np.float32),
        np.ascontiguousarray(plane, np.float32).reshape(blocks, -1),
        x.astype(np.float64),
        y.astype(np.float64),
        stack,
        fine.reshape(blocks, ny, nx * LANES),
    )
    over_blocks(lambda first, last: _lift_blocks(first, last, *arguments), blocks, threads)
    return fine


def _check(coarse: Any, ay: Taps, ax: Taps, base: Any, plane: Any, x: Any, y: Any) -> None:
    ny, nx = len(ay.index), len(ax.index)
    if coarse.ndim != 4 or coarse.shape[3] != LANES:
        raise ValueError(f"coarse is (blocks, cy, cx, {LANES}), got {coarse.shape}")
    for name, taps, count in (("ay", ay, coarse.shape[1]), ("ax", ax, coarse.shape[2])):
        if taps.index.min() < 0 or taps.index.max() >= count:
            raise ValueError(f"{name} reaches coarse node {taps.index.max()}, coarse has {count} that way")
    expected = {"base": (base, (ny, nx)), "plane": (plane, (len(coarse), 3, LANES)), "x": (x, (nx,)), "y": (y, (ny,))}
    for name, (array, shape) in expected.items():
        if array.shape != shape:
            raise ValueError(f"{name} has shape {array.shape}, expected {shape}")
    if nx > 1 and not np.allclose(np.diff(x), (x[-1] - x[0]) / (nx - 1), rtol=1e-6, atol=0):
        raise ValueError("x is not evenly spaced")


@kernel
def _lift_blocks(
    first: int,
    last: int,
    coarse: Any,
    y_index: Any,
    y_weight: Any,
    x_index: Any,
    x_weight: Any,
    base: Any,
    plane: Any,
    x: Any,
    y: Any,
    bumps: Any,
    fine: Any,
) -> None:
    line = np.empty(coarse.shape[2], np.float32)
    for block in range(first, last):
        for row in range(len(y)):
            surface = fine[block, row]
            _blend_rows(coarse[block], y_index[row], y_weight[row], line)
            _lift_row(line, x_index, x_weight, base[row], plane[block], x, np.float32(y[row]), surface)
            for k in range(bumps.shape[1]):
                _add_bumps(bumps[block, k], x, y[row], surface)


@kernel
def _blend_rows(coarse: Any, index: Any, weight: Any, line: Any) -> None:
    """line = the weighted sum of four coarse rows."""
    first, second = spread(weight[0]), spread(weight[1])
    third, fourth = spread(weight[2]), spread(weight[3])
    for at in range(0, len(line), LANES):
        value = multiply_add(first, load(coarse[index[0]], at), multiply(second, load(coarse[index[1]], at)))
        value = multiply_add(third, load(coarse[index[2]], at), value)
        store(line, at, multiply_add(fourth, load(coarse[index[3]], at), value))


@kernel
def _lift_row(line: Any, index: Any, weight: Any, base: Any, plane: Any, x: Any, y: Any, surface: Any) -> None:
    """One fine row: the blended coarse row along x, base and plane."""
    slope = load(plane, LANES)
    start = multiply_add(spread(y), load(plane, 2 * LANES), load(plane, 0))
    for k in range(len(x)):
        value = add(multiply_add(spread(np.float32(x[k])), slope, start), spread(base[k]))
        for j in range(4):
            value = multiply_add(spread(weight[k, j]), load(line, index[k, j]), value)
        store(surface, k * LANES, value)


@kernel
def _add_bumps(bump: Any, x: Any, y: float, surface: Any) -> None:
    """Add one bump of each lane to a row: exp of a quadratic goes from node to node by two multiplications."""
    step = 1.0 if len(x) < 2 else (x[-1] - x[0]) / (len(x) - 1)
    for lane in range(LANES):
        height, xx, xy = bump[0, lane], bump[3, lane], bump[4, lane]
        dy = y - bump[2, lane]
        if height == 0.0:
            continue
        room = BUMP_REACH**2 - (bump[5, lane] - xy * xy / xx) * dy * dy
        if room < 0.0:
            continue
        middle, half = bump[1, lane] - xy * dy / xx - x[0], sqrt(room / xx)
        first = max(int(np.ceil((middle - half) / step)), 0)
        last = min(int(np.floor((middle + half) / step)), len(x) - 1)
        dx = x[0] + first * step - bump[1, lane]
        value = height * exp(-0.5 * (xx * dx * dx + 2.0 * xy * dx * dy + bump[5, lane] * dy * dy))
        ratio = exp(-step * (xx * (dx + 0.5 * step) + xy * dy))
        bend = exp(-xx * step * step)
        for k in range(first, last + 1):
            surface[k * LANES + lane] += np.float32(value)
            value *= ratio
            ratio *= bend
