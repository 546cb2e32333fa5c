"""Standing water on many floor surfaces at once: depression filling with the drain as the only outlet.

flood             samples (n, ny, nx) or one surface (ny, nx): the water surface
flood_lanes       the same on samples that stand in lanes already (`lanes.pack`)
pond_statistics   depth, place, volume and probability of the ponds between two such surfaces

The water surface w of a cell is the least, over all 8-connected paths from it to the outlet, of the greatest height on
the path (the minimax path; L. Vincent, "Morphological grayscale reconstruction in image analysis", IEEE Trans. Image
Processing 2 (1993) 176-201: reconstruction by erosion). The edge of the grid, and cells outside the floor, are walls.

The kernel sweeps row by row outward from the drain, as water comes in; each band of rows is settled, backward and
forward, while it is still in the cache. It stops when no cell can fall any further, so the answer is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from drainward.floor.abreast.lanes import (
    LANES,
    add,
    all_finite,
    any_less,
    blocks_of,
    count_less,
    empty_lanes,
    high,
    kernel,
    load,
    low,
    lowest_bit,
    multiply,
    multiply_add,
    over_blocks,
    pack,
    pack_block,
    spread,
    store,
    subtract,
    total,
    unpack,
    unpack_block,
    zeros_above,
)

__all__ = ["LANES", "PondStatistics", "flood", "flood_lanes", "pack", "pond_statistics", "unpack"]

_OPEN, _OUTLET, _WALL = 0, 1, 2
_BAND = 30  # rows a side between two settlings: more go out of the cache, fewer settle the same pond too often
_WORD = 62  # columns a 64-bit word: even, as cells go in pairs, and room for a carry and a sign
_ALL = (1 << _WORD) - 1
_INFINITE = np.float32(np.inf)


@dataclass(frozen=True, slots=True)
class PondStatistics:
    """What stands on the floor.

    deepest : (n,) greatest depth of each sample, in the unit of the heights
    cell    : (n,) flat index of that cell in the (ny, nx) grid
    volume  : (n,) depth summed over cells times the area of a cell
    probability : (ny, nx) share of samples deeper than the counted depth
    depth_sum   : (ny, nx) depth summed over samples
    """

    deepest: NDArray[np.float32]
    cell: NDArray[np.int64]
    volume: NDArray[np.float64]
    probability: NDArray[np.float64]
    depth_sum: NDArray[np.float64]


def flood(
    z: NDArray[np.floating[Any]],
    outlet: NDArray[np.bool_],
    threads: int = 1,
    *,
    inside: NDArray[np.bool_] | None = None,
    out: NDArray[np.float32] | None = None,
) -> NDArray[np.float32]:
    """The water surface of each sample, computed in float32.

    z      : (n, ny, nx) or (ny, nx) heights, any unit
    outlet : (ny, nx) where water leaves
    inside : (ny, nx) the floor, if not the whole grid; outside it w is infinite
    out    : C-contiguous float32 array of the shape of z to write to
    returns w of the shape of z, w >= z
    Raises ValueError where shapes do not fit, no outlet is inside, a height is not finite, or a part of the floor is
    cut off from the outlet.
    """
    samples = np.ascontiguousarray(z if z.ndim == 3 else z[None], np.float32)
    if samples.ndim != 3:
        raise ValueError(f"heights are (n, ny, nx) or (ny, nx), got shape {z.shape}")
    kind = _kinds(samples.shape[1:], outlet, inside)
    surface = _output(out, z.shape, samples.shape)
    n, ny, nx = samples.shape
    bad = np.zeros(blocks_of(n), np.bool_)
    flat, flat_surface = samples.reshape(-1), surface.reshape(-1)

    def work(first: int, last: int) -> None:
        cells, water = empty_lanes(2, ny, nx)
        _flood_samples(flat, kind, first, last, cells.reshape(-1), water.reshape(-1), flat_surface, bad)

    over_blocks(work, blocks_of(n), threads)
    if bad.any():
        _refuse(samples, kind)
    return surface.reshape(z.shape)


def flood_lanes(
    z: NDArray[np.float32],
    outlet: NDArray[np.bool_],
    threads: int = 1,
    *,
    inside: NDArray[np.bool_] | None = None,
    out: NDArray[np.float32] | None = None,
) -> NDArray[np.float32]:
    """`flood` on samples in lanes: z and the result are (blocks, ny, nx, LANES) float32, C-contiguous."""
    _check_lanes(z)
    kind = _kinds(z.shape[1:3], outlet, inside)
    blocks, ny, nx, _ = z.shape
    water = _output(out, z.shape, z.shape) if out is not None else empty_lanes(blocks, ny, nx)
    bad = np.zeros(blocks, np.bool_)
    flat, flat_water = z.reshape(blocks, -1), water.reshape(blocks, -1)

    def work(first: int, last: int) -> None:
        _flood_blocks(flat, kind, first, last, flat_water, bad)

    over_blocks(work, blocks, threads)
    if bad.any():
        _refuse(np.moveaxis(z, 3, 1).reshape(-1, ny, nx), kind)
    return water


def pond_statistics(
    z: NDArray[np.float32],
    w: NDArray[np.float32],
    counted: float,
    cell_area: float,
    n: int | None = None,
    threads: int = 1,
) -> PondStatistics:
    """What stands between the floors z and their water surfaces w.

    z, w      : (blocks, ny, nx, LANES) float32, C-contiguous, as `flood_lanes` takes and gives them
    counted   : a cell counts as under water where it is deeper than this, unit of z
    cell_area : area of one cell
    n         : how many of the samples to count, from the first; all without it (`pack` fills its last block up)
    Cells outside the floor (w infinite) hold no water. Raises ValueError where shapes or n do not fit.
    """
    _check_lanes(z)
    _check_lanes(w)
    blocks, ny, nx, _ = z.shape
    n = blocks * LANES if n is None else n
    if w.shape != z.shape or not 0 < n <= blocks * LANES:
        raise ValueError(f"{n} samples of heights {z.shape} and water {w.shape} do not fit")
    deepest, cell = np.zeros((blocks, LANES), np.float32), np.zeros((blocks, LANES), np.int64)
    volume = np.zeros((blocks, LANES))
    valid = (np.arange(blocks * LANES) < n).astype(np.float32).reshape(blocks, LANES)
    flat, flat_water = z.reshape(blocks, -1), w.reshape(blocks, -1)

    def work(first: int, last: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        wet, depth = np.zeros((ny, nx), np.int64), np.zeros((ny, nx))
        for block in range(first, last):
            _measure_block(
                flat[block],
                flat_water[block],
                valid[block],
                np.float32(counted),
                (deepest[block], cell[block], volume[block]),
                (wet, depth),
            )
        return wet, depth

    parts = over_blocks(work, -(-n // LANES), threads)
    return PondStatistics(
        deepest=deepest.reshape(-1)[:n],
        cell=cell.reshape(-1)[:n],
        volume=volume.reshape(-1)[:n] * cell_area,
        probability=np.sum([wet for wet, _ in parts], axis=0) / n,
        depth_sum=np.sum([depth for _, depth in parts], axis=0),
    )


def _check_lanes(z: NDArray[np.float32]) -> None:
    """The kernels check no bounds, so nothing else may reach them."""
    if z.ndim != 4 or z.shape[3] != LANES or z.dtype != np.float32 or not z.flags.c_contiguous:
        raise ValueError(f"lanes are a contiguous (blocks, ny, nx, {LANES}) float32 array, got {z.dtype} {z.shape}")


def _kinds(shape: tuple[int, ...], outlet: NDArray[np.bool_], inside: NDArray[np.bool_] | None) -> NDArray[np.uint8]:
    """(ny, nx) of _OPEN, _OUTLET, _WALL; refuses a floor that cannot drain."""
    for name, mask in (("outlet", outlet), ("inside", inside)):
        if mask is not None and mask.shape != shape:
            raise ValueError(f"{name} has shape {mask.shape}, the grid has {shape}")
    floor = np.ones(shape, np.bool_) if inside is None else inside.astype(np.bool_)
    drains = outlet.astype(np.bool_) & floor
    if not drains.any():
        raise ValueError("the outlet has no cell on the floor")
    if inside is not None:
        parts, _ = ndimage.label(floor, np.ones((3, 3)))
        cut_off = floor & ~np.isin(parts, np.unique(parts[drains]))
        if cut_off.any():
            row, column = np.argwhere(cut_off)[0]
            raise ValueError(f"row {row}, column {column} is cut off from the outlet by cells outside the floor")
    return np.where(floor, np.where(drains, _OUTLET, _OPEN), _WALL).astype(np.uint8)


def _output(out: NDArray[np.float32] | None, written: tuple[int, ...], shape: tuple[int, ...]) -> NDArray[np.float32]:
    if out is None:
        return np.empty(shape, np.float32)
    if out.shape != written or out.dtype != np.float32 or not out.flags.c_contiguous:
        raise ValueError(f"out is a contiguous float32 array of shape {written}, got {out.dtype} {out.shape}")
    return out.reshape(shape)


def _refuse(samples: NDArray[np.float32], kind: NDArray[np.uint8]) -> None:
    """Name the first height that is not finite."""
    sample, row, column = np.argwhere(~np.isfinite(samples) & (kind != _WALL))[0]
    value = samples[sample, row, column]
    raise ValueError(f"sample {sample}, row {row}, column {column}: height {value} is not finite")


@kernel
def _flood_samples(z: Any, kind: Any, first: int, last: int, cells: Any, water: Any, out: Any, bad: Any) -> None:
    for block in range(first, last):
        bad[block] = _flood_block(z, block * LANES, cells, kind, water)
        unpack_block(water, block * LANES, out)


@kernel
def _flood_blocks(z: Any, kind: Any, first: int, last: int, water: Any, bad: Any) -> None:
    for block in range(first, last):
        bad[block] = _flood_block(z[block, :0], 0, z[block], kind, water[block])


@kernel
def _flood_block(samples: Any, first: int, z: Any, kind: Any, w: Any) -> bool:
    """Flood one block; says whether a height was not finite.

    samples : (n * ny * nx,), to be packed into z from sample `first` on; empty if z is packed
    z, w    : (ny * nx * LANES,) cells, row by row
    """
    ny, nx = kind.shape
    words = (nx + _WORD - 1) // _WORD
    # bits of wet[r]: columns of row r where water stood after the first filling: no other can fall
    wet = np.empty((ny, words), np.int64)
    # bits of fell[r, 0] / [r, 1]: columns of row r that fell since row r - 1 / r + 1 last looked there
    fell = np.zeros((ny, 2, words), np.int64)
    middle = _middle(kind)
    w[middle * nx * LANES : (middle + 1) * nx * LANES] = _INFINITE
    if len(samples):
        pack_block(samples, first, z, middle * nx, (middle + 1) * nx)
    finite = _fill_row(z, kind, w, middle, middle, wet[middle])
    top, bottom = middle, middle
    while top > 0 or bottom < ny - 1:
        if len(samples):
            pack_block(samples, first, z, max(top - _BAND, 0) * nx, top * nx)
            pack_block(samples, first, z, (bottom + 1) * nx, min(bottom + 1 + _BAND, ny) * nx)
        for _ in range(_BAND):
            if bottom < ny - 1:
                bottom += 1
                finite &= _fill_row(z, kind, w, bottom, bottom - 1, wet[bottom])
                fell[bottom, 0] = _ALL
        for _ in range(_BAND):
            if top > 0:
                top -= 1
                finite &= _fill_row(z, kind, w, top, top + 1, wet[top])
                fell[top, 1] = _ALL
        _settle(z, w, wet, fell, nx, top, bottom)
    return not finite


@kernel
def _middle(kind: Any) -> int:
    """The row in the middle of the outlet's rows."""
    ny, nx = kind.shape
    rows, count = 0, 0
    for row in range(ny):
        for column in range(nx):
            if kind[row, column] == _OUTLET:
                rows += row
                count += 1
    return rows // count


@kernel
def _fill_row(z: Any, kind: Any, w: Any, row: int, near: int, wet: Any) -> bool:
    """First water of `row` from the filled row `near`; says whether all heights are finite."""
    finite: bool = _fill_rightward(z, kind[row], w, row, near)
    _fill_leftward(z, kind[row], w, row, wet)
    return finite


@kernel
def _fill_rightward(z: Any, kind: Any, w: Any, row: int, near: int) -> bool:
    """Two cells a step: from cell to cell water is low(u, high(z, water)), and two such steps make one of that form."""
    nx = len(kind)
    here, there = row * nx * LANES, near * nx * LANES
    left, check = spread(_INFINITE), spread(np.float32(0.0))
    before = middle = load(w, there)
    for x in range(0, nx - 1, 2):
        after = load(w, there + (x + 1) * LANES)
        beyond = load(w, there + (x + 2) * LANES) if x + 2 < nx else after
        pair = low(middle, after)
        first, second = load(z, here + x * LANES), load(z, here + (x + 1) * LANES)
        first, over_first, check = _sill(first, low(before, pair), kind[x], check)
        second, over_second, check = _sill(second, low(pair, beyond), kind[x + 1], check)
        over_both = low(over_second, high(second, over_first))
        store(w, here + x * LANES, low(over_first, high(first, left)))
        left = low(over_both, high(high(first, second), left))
        store(w, here + (x + 1) * LANES, left)
        before, middle = after, beyond
    if nx % 2:
        at = here + (nx - 1) * LANES
        last, over_last, check = _sill(load(z, at), low(before, middle), kind[nx - 1], check)
        store(w, at, low(over_last, high(last, left)))
    finite: bool = all_finite(check)
    return finite


@kernel
def _sill(height: Any, water: Any, kind: int, check: Any) -> Any:
    """Height of a cell, its water if that came from the next row, and a sum that is not finite once a height is not."""
    if kind == _WALL:
        dry = spread(_INFINITE)
        return dry, dry, check
    check = multiply_add(height, spread(np.float32(0.0)), check)
    if kind == _OUTLET:
        return height, height, check
    return height, high(height, water), check


@kernel
def _fill_leftward(z: Any, kind: Any, w: Any, row: int, wet: Any) -> None:
    """The same from right to left; notes in the bits of `wet` where water stands in some lane."""
    nx = len(kind)
    here = row * nx * LANES
    right = spread(_INFINITE)
    for k in range(len(wet) - 1, -1, -1):
        bits = 0
        x = min((k + 1) * _WORD, nx)
        if x % 2:
            x -= 1
            height = _ground(z, here + x * LANES, kind[x])
            right = low(load(w, here + x * LANES), high(height, right))
            store(w, here + x * LANES, right)
            bits = int(any_less(height, right))
        while x > k * _WORD:
            x -= 2
            at = here + x * LANES
            first, second = _ground(z, at, kind[x]), _ground(z, at + LANES, kind[x + 1])
            over_first, over_second = load(w, at), load(w, at + LANES)
            over_both = low(over_first, high(first, over_second))
            water = low(over_second, high(second, right))
            right = low(over_both, high(high(first, second), right))
            store(w, at + LANES, water)
            store(w, at, right)
            bits = bits << 2 | int(any_less(second, water)) << 1 | int(any_less(first, right))
        wet[k] = bits


@kernel
def _ground(z: Any, at: int, kind: int) -> Any:
    """Height of a cell; a wall's is infinite."""
    if kind == _WALL:
        return spread(_INFINITE)
    return load(z, at)


@kernel
def _settle(z: Any, w: Any, wet: Any, fell: Any, nx: int, top: int, bottom: int) -> None:
    """Sweep rows top to bottom up and down until none has anything to pass on."""
    suspects = np.empty(wet.shape[1], np.int64)
    moved = True
    while moved:
        moved = False
        for row in range(bottom, top, -1):
            if _suspects(fell[row, 0], wet[row - 1], suspects):
                moved |= _relax_row(z, w, row - 1, row, nx, suspects, wet[row - 1], fell[row - 1])
        for row in range(top, bottom):
            if _suspects(fell[row, 1], wet[row + 1], suspects):
                moved |= _relax_row(z, w, row + 1, row, nx, suspects, wet[row + 1], fell[row + 1])


@kernel
def _suspects(fell: Any, wet: Any, suspects: Any) -> bool:
    """Wet columns beside those that fell in the next row, which are then forgotten; says whether there are any."""
    found = False
    before = 0
    for k in range(len(fell)):
        bits = fell[k]
        after = fell[k + 1] & 1 if k + 1 < len(fell) else 0
        near = bits | (bits << 1) | (bits >> 1) | (before >> (_WORD - 1)) | (after << (_WORD - 1))
        suspects[k] = near & wet[k]
        found |= suspects[k] != 0
        before = bits
        fell[k] = 0
    return found


@kernel
def _relax_row(z: Any, w: Any, row: int, source: int, nx: int, suspects: Any, wet: Any, fell: Any) -> bool:
    """Lower the suspects of `row` from row `source`, then `row` along itself; says whether some fell."""
    here, there = row * nx * LANES, source * nx * LANES
    words = len(wet)
    moved = False
    done, water = -2, spread(_INFINITE)
    for k in range(words):
        bits, fallen = suspects[k], 0
        while bits:
            place = lowest_bit(bits)
            bits &= bits - 1
            x = k * _WORD + place
            at = here + x * LANES
            middle = load(w, there + x * LANES)
            before = load(w, there + (x - 1) * LANES) if x > 0 else middle
            after = load(w, there + (x + 1) * LANES) if x + 1 < nx else middle
            height = load(z, at)
            level = high(height, low(low(before, after), middle))
            if done == x - 1:
                level = low(level, high(height, water))
            old = load(w, at)
            if any_less(level, old):
                water = low(level, old)
                store(w, at, water)
                done = x
                fallen |= 1 << place
                if place + 1 < _WORD:
                    bits |= (1 << (place + 1)) & wet[k]
                elif k + 1 < words:
                    suspects[k + 1] |= 1 & wet[k + 1]
        suspects[k] = fallen
        moved |= fallen != 0
    if not moved:
        return False
    after_bits = 0
    for k in range(words - 1, -1, -1):
        fallen = suspects[k]
        bits = ((fallen >> 1) | (after_bits & 1) << (_WORD - 1)) & wet[k]
        while bits:
            place = 63 - zeros_above(bits)
            bits ^= 1 << place
            at = here + (k * _WORD + place) * LANES
            level, old = high(load(z, at), load(w, at + LANES)), load(w, at)
            if any_less(level, old):
                store(w, at, low(level, old))
                fallen |= 1 << place
                if place > 0:
                    bits |= (1 << (place - 1)) & wet[k]
        fell[0, k] |= fallen
        fell[1, k] |= fallen
        after_bits = fallen
    return True


@kernel
def _measure_block(z: Any, w: Any, valid: Any, counted: Any, of_sample: Any, of_cell: Any) -> None:
    """Add one block to the statistics by sample (deepest, cell, volume) and by cell (wet, depth)."""
    deepest, cell, volume = of_sample
    wet, depth = of_cell
    ny, nx = wet.shape
    counts, use = spread(counted), load(valid, 0)
    dry = spread(np.float32(0.0))
    line = np.empty(LANES, np.float32)
    for row in range(ny):
        in_row = dry
        for x in range(nx):
            at = (row * nx + x) * LANES
            height, water = load(z, at), load(w, at)
            if not any_less(height, water) or not all_finite(water):
                continue
            standing = multiply(subtract(water, height), use)
            in_row = add(in_row, standing)
            wet[row, x] += count_less(counts, standing)
            depth[row, x] += total(standing)
            if any_less(load(deepest, 0), standing):
                store(line, 0, standing)
                for lane in range(LANES):
                    if line[lane] > deepest[lane]:
                        deepest[lane] = line[lane]
                        cell[lane] = row * nx + x
        store(line, 0, in_row)
        for lane in range(LANES):
            volume[lane] += line[lane]
