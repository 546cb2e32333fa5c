"""The bound from above on a box's way through a plan: places and turns as cells that are split only where it matters.

Cells        the cells, and two floods, from the start and from the goal, that are to be kept apart
open_cells   the first, coarse cells
press        split cells on the way where the floods meet, until they meet nowhere above a level
path_to      the way through the cells

A cell's key bounds the clearance of every place in it (`cell_bound`). Both floods take in cells by falling key. Where
they meet, some way may be as clear as the least key on it; the largest cell of that way which may cut it is split, what
was reached only through it is opened again, and the floods go on. When they meet nowhere above a level, no way is
clearer than it.
"""

from __future__ import annotations

import heapq
import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import kernel
from drainward.wayin.cell_bound import most_clearance
from drainward.wayin.clearance import Walls, clearance

__all__ = ["Cells", "open_cells", "path_to", "press"]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


class Cells(NamedTuple):
    """place : (n, 4) level and whole-number x, y, turn at that level;  value : (n, 3) clearance, key, move.

    links : (n, 3) first child (-1 none), flood (0 none, 1 start, 2 goal), cell it came from
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
        np.empty((size, 3), np.int64),
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
    key = min(most, free + move)
    key = most_clearance(
        walls, half_length, half_width, x, y, turn, 0.5 * scale * cells.grid[2], 0.5 * scale * cells.grid[3], key
    )
    cells.value[n, 0], cells.value[n, 1], cells.value[n, 2] = free, key, move
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
def _coarse(cells: Cells, n: int, near: int, far: int, asked: float, fine: float) -> int:
    """The cell to split of the path through n, `near` and `far`; -1 where none moves more than `fine`.

    n : the cell between the two floods, -1 where they touch
    The largest: of those less clear than `asked` in their middle, which may cut the way, or else of all.
    """
    cut, large, clear, most = -1, fine, -1, fine
    for side in range(3):
        m = near if side == 0 else far if side == 1 else n
        while m >= 0:
            if cells.value[m, 2] > large and cells.value[m, 0] < asked:
                cut, large = m, cells.value[m, 2]
            if cells.value[m, 2] > most:
                clear, most = m, cells.value[m, 2]
            m = cells.links[m, 2] if side < 2 else -1
    return cut if cut >= 0 else clear


@kernel
def press(
    cells: Cells, walls: Walls, half_length: float, half_width: float, start: Array, goal: Array,
    level: float, guess: float, splits: int,
) -> tuple[float, int, int, int, int]:  # fmt: skip
    """Split until the floods meet nowhere above `level`, so many cells are split, or none there is coarse.

    start, goal : (3,) x, y, turn (nan: any);  guess : what a way may be as clear as
    splits : at most so many;  a cell that moves less than a quarter of the bound less the guess is not split
    Returns the bound on every way's clearance, m, the cell between the floods (-1: they touch), those of the start's
    and of the goal's flood beside it (-1: an end is that cell; all -1 where the bound is `level`), and the splits.
    """
    stack, out = np.empty(len(cells.links), np.int64), np.empty(len(cells.links), np.int64)
    loose = np.empty(len(cells.links), np.int64)
    queue = _begin(cells, start, goal)
    bound, done = math.inf, 0
    while len(queue) > 0:
        key, n, side = heapq.heappop(queue)
        key = -key
        if key <= level:
            break
        if cells.links[n, 0] >= 0 or cells.links[n, 1] == side:
            continue
        seeded = _holds(cells, n, start if side == 1 else goal)
        parent, met = _beside(cells, n, side, stack, out)
        if parent < 0 and not seeded:
            continue
        # nothing beyond the two floods is touched by a cell of a greater key, and so far they do not meet
        bound = min(bound, key)
        if met < 0:
            cells.links[n, 1], cells.links[n, 2] = side, -1 if seeded else parent
            _spread(cells, n, side, level, queue, stack, out)
            continue
        mine = -1 if seeded else parent
        between = -1 if met == n else n
        near, far = (mine, met) if side == 1 else (met, mine)
        asked = level if level > -math.inf else bound
        weakest = _coarse(cells, between, near, far, asked, max((bound - guess) / 4, 1e-6))
        if weakest < 0 or done >= splits or cells.used[0] + 8 > len(cells.links):
            return bound, between, near, far, done
        heapq.heappush(queue, (-key, n, side))
        _divide(cells, walls, half_length, half_width, weakest, bound, level, queue, stack, out, loose)
        done += 1
    return level, -1, -1, -1, done


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
def _divide(
    cells: Cells, walls: Walls, half_length: float, half_width: float, n: int,
    bound: float, level: float, queue: Any, stack: Any, out: Any, loose: Any,
) -> None:  # fmt: skip
    """Split a cell; what was reached through it stays where its flood still leads to it, and is opened where not."""
    side, parent = cells.links[n, 1], cells.links[n, 2]
    hanging = _hung(cells, n, side, loose, 0, stack, out) if side else 0
    cells.links[n, 1] = 0
    _split(cells, walls, half_length, half_width, n)
    first = cells.links[n, 0]
    for part in range(8):
        if cells.value[first + part, 1] > level:
            heapq.heappush(queue, (-cells.value[first + part, 1], first + part, 1))
            heapq.heappush(queue, (-cells.value[first + part, 1], first + part, 2))
    if side and parent >= 0:
        _take(cells, first, parent, side, bound, stack, out)
    while hanging > 0:
        hanging -= 1
        m = loose[hanging]
        held = _hold(cells, m, side, stack, out)
        if held >= 0:
            cells.links[m, 2] = held
            continue
        hanging = _hung(cells, m, side, loose, hanging, stack, out)
        cells.links[m, 1] = 0
        heapq.heappush(queue, (-cells.value[m, 1], m, 1))
        heapq.heappush(queue, (-cells.value[m, 1], m, 2))


@kernel
def _hung(cells: Cells, n: int, side: int, loose: Any, count: int, stack: Any, out: Any) -> int:
    """Add the cells reached straight from n to `loose`; how many there are now."""
    for axis in range(3):
        for sign in (-1, 1):
            for k in range(_leaves(cells, n, axis, sign, stack, out)):
                if cells.links[out[k], 1] == side and cells.links[out[k], 2] == n:
                    loose[count] = out[k]
                    count += 1
    return count


@kernel
def _take(cells: Cells, first: int, parent: int, side: int, bound: float, stack: Any, out: Any) -> None:
    """The parts of a split cell that its parent still reaches above the bound, without touching the other flood."""
    for _ in range(3):
        for part in range(8):
            n = first + part
            if cells.links[n, 1] != 0 or cells.value[n, 1] < bound:
                continue
            to, met = -1, False
            for axis in range(3):
                for sign in (-1, 1):
                    for k in range(_leaves(cells, n, axis, sign, stack, out)):
                        m = out[k]
                        met = met or cells.links[m, 1] == 3 - side
                        if cells.links[m, 1] == side and (m == parent or first <= m < first + 8):
                            to = m
            if to >= 0 and not met:
                cells.links[n, 1], cells.links[n, 2] = side, to


@kernel
def _hold(cells: Cells, n: int, side: int, stack: Any, out: Any) -> int:
    """A neighbour of n from which its flood leads back to where it began, not through n; -1 where there is none."""
    for axis in range(3):
        for sign in (-1, 1):
            for k in range(_leaves(cells, n, axis, sign, stack, out)):
                m = out[k]
                while m >= 0 and m != n and cells.links[m, 1] == side:
                    if cells.links[m, 2] < 0:
                        return int(out[k])
                    m = cells.links[m, 2]
    return -1


def path_to(cells: Cells, between: int, near: int, far: int) -> Array:
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
    path = np.array([_middle(cells, n) for n in (*reversed(before), *([between] if between >= 0 else []), *after)])
    path[:, 2] = np.unwrap(path[:, 2], period=math.pi)
    return path
