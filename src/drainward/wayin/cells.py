"""The bound from above on a box's way through a plan: places and turns as cells that are split only where it matters.

Cells        the cells, and two floods, from the start and from the goal, that are to be kept apart
open_cells   the first, coarse cells
press        split the cell through which the floods meet, until they meet nowhere above a level

A cell's key bounds the clearance of every place in it: that of its middle plus the farthest move within it. Both floods
take in cells by falling key. Where they meet, some way may be as clear as the least key on it; that cell is split, the
flood behind it taken back, and the floods go on. When they no longer meet above a level, no way is clearer than it.
"""

from __future__ import annotations

import heapq
import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import kernel
from drainward.wayin.clearance import Walls, clearance

__all__ = ["Cells", "open_cells", "path_to", "press"]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


_MOST_WORK = 400_000
"""Cells looked at in one go; a plan that needs more is answered with wider bounds, which are still bounds."""


class Cells(NamedTuple):
    """place : (n, 4) level and whole-number x, y, turn at that level;  value : (n, 3) clearance, key, move.

    links : (n, 4) first child (-1 none), flood (0 none, 1 start, 2 goal), cell it came from, place in `order`
    shape : cells along x, y, turn at level 0;  grid : left, bottom, side, turn of a cell at level 0, half-diagonal
    used : (1,) cells in use
    """

    place: Ints
    value: Array
    links: Ints
    shape: Ints
    grid: Array
    used: Ints


def open_cells(walls: Walls, half_length: float, half_width: float, side: float, most: int) -> Cells:
    """Level 0: squares of `side` m over the whole plan, and turns that move the corners no farther than that.

    A turn by half a circle gives the same box, so turns are counted from 0 to pi and around.
    """
    reach = math.hypot(half_length, half_width)
    low = np.minimum(walls.segments[:, :2], walls.segments[:, 2:]).min(axis=0)
    high = np.maximum(walls.segments[:, :2], walls.segments[:, 2:]).max(axis=0)
    nx, ny = (max(1, math.ceil(span / side)) for span in high - low)
    turns = max(4, math.ceil(math.pi * reach / (1.4 * side)))
    size = max(most, 2 * nx * ny * turns)
    cells = Cells(
        np.empty((size, 4), np.int64),
        np.empty((size, 3)),
        np.empty((size, 4), np.int64),
        np.array([nx, ny, turns], np.int64),
        np.array([low[0], low[1], side, math.pi / turns, reach]),
        np.zeros(1, np.int64),
    )
    _fill(cells, walls, half_length, half_width)
    return cells


@kernel
def _fill(cells: Cells, walls: Walls, half_length: float, half_width: float) -> None:
    for i in range(cells.shape[0]):
        for j in range(cells.shape[1]):
            for k in range(cells.shape[2]):
                _add(cells, walls, half_length, half_width, 0, i, j, k, math.inf)


@kernel
def _middle(cells: Cells, n: int) -> tuple[float, float, float]:
    scale = 0.5 ** cells.place[n, 0]
    return (
        cells.grid[0] + cells.grid[2] * scale * (cells.place[n, 1] + 0.5),
        cells.grid[1] + cells.grid[2] * scale * (cells.place[n, 2] + 0.5),
        cells.grid[3] * scale * (cells.place[n, 3] + 0.5),
    )


@kernel
def _add(
    cells: Cells, walls: Walls, half_length: float, half_width: float, level: int, i: int, j: int, k: int, most: float
) -> None:
    n = cells.used[0]
    cells.used[0] = n + 1
    cells.place[n, 0], cells.place[n, 1], cells.place[n, 2], cells.place[n, 3] = level, i, j, k
    x, y, turn = _middle(cells, n)
    free = clearance(walls, half_length, half_width, x, y, turn)
    scale = 0.5**level
    move = scale * (math.sqrt(0.5) * cells.grid[2] + 0.5 * cells.grid[4] * cells.grid[3])
    cells.value[n, 0], cells.value[n, 1], cells.value[n, 2] = free, min(most, free + move), move
    cells.links[n, 0], cells.links[n, 1], cells.links[n, 2] = -1, 0, -1


@kernel
def _split(cells: Cells, walls: Walls, half_length: float, half_width: float, n: int) -> None:
    cells.links[n, 0] = cells.used[0]
    level, most = cells.place[n, 0] + 1, cells.value[n, 1]
    for part in range(8):
        i, j, k = part & 1, part >> 1 & 1, part >> 2 & 1
        _add(
            cells, walls, half_length, half_width, level,
            2 * cells.place[n, 1] + i, 2 * cells.place[n, 2] + j, 2 * cells.place[n, 3] + k, most,
        )  # fmt: skip


@kernel
def _leaves(cells: Cells, n: int, axis: int, sign: int, stack: Ints, out: Ints) -> int:
    """How many unsplit cells touch the side of cell n, and which; `stack`, `out` hold as many as there are cells."""
    level = cells.place[n, 0]
    at = cells.place[n, 1 + axis] + sign
    span = cells.shape[axis] << level
    if axis == 2:
        at = at % span
    elif at < 0 or at >= span:
        return 0
    i = at if axis == 0 else cells.place[n, 1]
    j = at if axis == 1 else cells.place[n, 2]
    k = at if axis == 2 else cells.place[n, 3]
    m = ((i >> level) * cells.shape[1] + (j >> level)) * cells.shape[2] + (k >> level)
    for down in range(level - 1, -1, -1):
        if cells.links[m, 0] < 0:
            break
        m = cells.links[m, 0] + ((i >> down & 1) | (j >> down & 1) << 1 | (k >> down & 1) << 2)
    found, depth = 0, 1
    stack[0] = m
    facing = 0 if sign > 0 else 1
    while depth > 0:
        depth -= 1
        m = stack[depth]
        if cells.links[m, 0] < 0:
            out[found] = m
            found += 1
            continue
        for part in range(8):
            if (part >> axis & 1) == facing:
                stack[depth] = cells.links[m, 0] + part
                depth += 1
    return found


@kernel
def _holds(cells: Cells, n: int, point: Array) -> bool:
    """Whether the cell holds the place (x, y, turn); a turn of nan is any turn."""
    scale = 0.5 ** cells.place[n, 0]
    x = (point[0] - cells.grid[0]) / (cells.grid[2] * scale)
    y = (point[1] - cells.grid[1]) / (cells.grid[2] * scale)
    if abs(x - cells.place[n, 1] - 0.5) > 0.5 + 1e-9 or abs(y - cells.place[n, 2] - 0.5) > 0.5 + 1e-9:
        return False
    if math.isnan(point[2]):
        return True
    turn = (point[2] % math.pi) / (cells.grid[3] * scale)
    span = cells.shape[2] << cells.place[n, 0]
    away = abs(turn - cells.place[n, 3] - 0.5)
    return bool(min(away, span - away) <= 0.5 + 1e-9)


@kernel
def _away(cells: Cells, n: int, tight: Array) -> float:
    """How far the middle of cell n is from the nearest of the poses `tight` (k, 3)."""
    x, y, turn = _middle(cells, n)
    best = math.inf
    for k in range(len(tight)):
        off = abs(turn - tight[k, 2]) % math.pi
        best = min(best, math.hypot(x - tight[k, 0], y - tight[k, 1]) + cells.grid[4] * min(off, math.pi - off))
    return best


@kernel
def _coarse(cells: Cells, near: int, far: int, bound: float, guess: float, tight: Array) -> int:
    """The cell of the path to split; -1 where none moves more than a quarter of what is open."""
    fine = max((bound - guess) / 4, 1e-6)
    least, tightest, closest = -1, -1, math.inf
    for side in range(2):
        n = near if side == 0 else far
        while n >= 0:
            if least < 0 or cells.value[n, 1] < cells.value[least, 1]:
                least = n
            if cells.value[n, 2] > fine:
                away = cells.value[n, 0] if len(tight) == 0 else _away(cells, n, tight)
                if away < closest:
                    tightest, closest = n, away
            n = cells.links[n, 2]
    return least if cells.value[least, 2] > fine else tightest


@kernel
def press(
    cells: Cells, walls: Walls, half_length: float, half_width: float, start: Array, goal: Array,
    level: float, guess: float, splits: int, tight: Array,
) -> tuple[float, int, int, int]:  # fmt: skip
    """Split until the floods meet nowhere above `level`, so many cells are split, or none there is coarse.

    start, goal : (3,) x, y, turn (nan: any);  guess : what a way may be as clear as
    tight : (k, 3) tightest poses known;  splits : at most so many
    The cell with the least key is split while it is coarse beside the bound less the guess, after that the coarse cell
    of the path nearest to one of `tight`.
    Returns the bound on every way's clearance, m, the cells of the start's and of the goal's flood that touch there
    (-1 where the bound is `level`), and how many cells were split.
    """
    stack, out = np.empty(len(cells.links), np.int64), np.empty(len(cells.links), np.int64)
    order = np.empty(len(cells.links), np.int64)
    queue = _begin(cells, start, goal)
    taken, bound, done, work = 0, math.inf, 0, 0
    while len(queue) > 0:
        key, n, side = heapq.heappop(queue)
        work += 1
        key = -key
        if key <= level:
            return level, -1, -1, done
        if cells.links[n, 0] >= 0 or cells.links[n, 1] == side:
            continue
        seeded = _holds(cells, n, start if side == 1 else goal)
        parent, met = _beside(cells, n, side, stack, out)
        if parent < 0 and not seeded:
            continue
        # nothing beyond the two floods is touched by a cell of a greater key, and so far they do not meet
        bound = min(bound, key)
        if met != n:
            cells.links[n, 1], cells.links[n, 2], cells.links[n, 3] = side, -1 if seeded else parent, taken
            order[taken] = n
            taken += 1
        if met < 0:
            _spread(cells, n, side, level, queue, stack, out)
            continue
        near, far = (parent if met == n else n, met) if side == 1 else (met, parent if met == n else n)
        weakest = _coarse(cells, near, far, bound, guess, tight)
        if weakest < 0 or done >= splits or work > _MOST_WORK or cells.used[0] + 8 > len(cells.links):
            return bound, near, far, done
        if met == n:
            heapq.heappush(queue, (-key, n, side))
        taken = _reopen(cells, weakest, order, taken, queue)
        if cells.links[n, 1] == side:
            # it still touches the other flood: let it be found again
            taken -= 1
            cells.links[n, 1] = 0
            heapq.heappush(queue, (-key, n, side))
        _split(cells, walls, half_length, half_width, weakest)
        done += 1
        _offer(cells, weakest, start, goal, queue, stack, out)
    return level, -1, -1, done


@kernel
def _begin(cells: Cells, start: Array, goal: Array) -> Any:
    """Forget the floods; the queue of the cells that hold the start (side 1) and the goal (side 2)."""
    queue = [(0.0, 0, 0)]
    queue.clear()
    for n in range(cells.used[0]):
        cells.links[n, 1], cells.links[n, 2] = 0, -1
        if cells.links[n, 0] < 0:
            if _holds(cells, n, start):
                heapq.heappush(queue, (-cells.value[n, 1], n, 1))
            if _holds(cells, n, goal):
                heapq.heappush(queue, (-cells.value[n, 1], n, 2))
    return queue


@kernel
def _beside(cells: Cells, n: int, side: int, stack: Any, out: Any) -> tuple[int, int]:
    """A neighbour of the side's own flood, and the cell in which it meets the other: n itself, a neighbour, or -1."""
    parent, met = -1, n if cells.links[n, 1] != 0 else -1
    for axis in range(3):
        for sign in (-1, 1):
            for k in range(_leaves(cells, n, axis, sign, stack, out)):
                flood = cells.links[out[k], 1]
                if flood == side and parent < 0:
                    parent = out[k]
                elif flood == 3 - side and met < 0:
                    met = out[k]
    return parent, met


@kernel
def _spread(cells: Cells, n: int, side: int, level: float, queue: Any, stack: Any, out: Any) -> None:
    """Queue the open neighbours of a cell for its side."""
    for axis in range(3):
        for sign in (-1, 1):
            for k in range(_leaves(cells, n, axis, sign, stack, out)):
                if cells.links[out[k], 1] == 0 and cells.value[out[k], 1] > level:
                    heapq.heappush(queue, (-cells.value[out[k], 1], out[k], side))


@kernel
def _reopen(cells: Cells, split: int, order: Any, taken: int, queue: Any) -> int:
    """Open what was reached through a cell that is to be split, and only that; how many cells are still taken."""
    mark = kept = cells.links[split, 3]
    cells.links[split, 1] = 0
    for k in range(mark + 1, taken):
        m = order[k]
        if cells.links[m, 2] >= 0 and cells.links[cells.links[m, 2], 1] == 0:
            cells.links[m, 1] = 0
            heapq.heappush(queue, (-cells.value[m, 1], m, 1))
            heapq.heappush(queue, (-cells.value[m, 1], m, 2))
        else:
            order[kept], cells.links[m, 3] = m, kept
            kept += 1
    return int(kept)


@kernel
def _offer(cells: Cells, split: int, start: Array, goal: Array, queue: Any, stack: Any, out: Any) -> None:
    """Queue the parts of a split cell that touch a flood, or hold its beginning."""
    for part in range(8):
        child = cells.links[split, 0] + part
        for flood in (1, 2):
            touching = _holds(cells, child, start if flood == 1 else goal)
            for axis in range(3):
                for sign in (-1, 1):
                    for k in range(_leaves(cells, child, axis, sign, stack, out)):
                        touching = touching or cells.links[out[k], 1] == flood
            if touching:
                heapq.heappush(queue, (-cells.value[child, 1], child, flood))


def path_to(cells: Cells, near: int, far: int) -> Array:
    """(k, 3) the middles of the cells from the start to the goal; turns run on without a jump."""
    before, after = [], []
    n = near
    while n >= 0:
        before.append(n)
        n = int(cells.links[n, 2])
    n = far
    while n >= 0:
        after.append(n)
        n = int(cells.links[n, 2])
    path = np.array([_middle(cells, n) for n in (*reversed(before), *after)])
    path[:, 2] = np.unwrap(path[:, 2], period=math.pi)
    return path
