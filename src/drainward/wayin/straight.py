"""A way made straight: `straightened`, without the turns and bends that nothing asks for.

A search keeps as far off every wall as it can, and so turns and sways where there is room. Whoever carries wants the
fewest moves: a stretch is replaced by one straight move where that is as clear as it was, or clear by EASE.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import kernel
from drainward.wayin.clearance import Walls, clearance, sort_walls

__all__ = ["EASE", "straightened"]

Array = NDArray[np.float64]

EASE = 0.10
"""More room than this round the unit is not looked for, m; common practice, no source."""

_DEEPEST = 12
_SLACK = 1e-4  # a move is proved in steps, and never where it may be no less clear at all, m


def straightened(faces: Array, length: float, width: float, poses: Array, low: float, free: bool) -> Array:
    """A way (k, 3) of a box past faces (n, 4), in fewer moves, each at least as clear as the stretch that it replaces.

    low : what the whole way keeps, m: it still does

    free : whether the first pose may be turned;  lengths in m, turns in rad
    """
    walls = sort_walls(np.asarray(faces, dtype=np.float64), math.hypot(length, width) / 2)
    moved = poses.copy()
    return moved[_kept(walls, length / 2, width / 2, moved, low, free)]


@kernel
def _kept(
    walls: Walls, half_length: float, half_width: float, poses: Array, low: float, free: bool
) -> NDArray[np.int64]:
    """The rows that stay; with `free` the first is turned, in place, to where the first move ends."""
    n = len(poses)
    clear = np.empty(n)
    for k in range(n):
        clear[k] = clearance(walls, half_length, half_width, poses[k, 0], poses[k, 1], poses[k, 2])
    kept = np.empty(n, np.int64)
    kept[0], count, at = 0, 1, 0
    while at < n - 1:
        # the longest move that does, halving what is tried
        step, best = n - 1 - at, at + 1
        while step > 1:
            level = max(low, min(EASE, clear[at : at + step + 1].min() - _SLACK))
            if _clear_by(walls, half_length, half_width, poses[at], poses[at + step], level):
                best = at + step
                break
            step = step * 3 // 4 if step > 3 else step - 1
        if at == 0 and free:
            turned = poses[0].copy()
            turned[2] = poses[best, 2]
            level = max(low, min(EASE, clear[: best + 1].min() - _SLACK))
            if _clear_by(walls, half_length, half_width, turned, poses[best], level):
                poses[0, 2] = turned[2]
        kept[count] = best
        count += 1
        at = best
    return kept[:count]


@kernel
def _clear_by(walls: Walls, half_length: float, half_width: float, a: Array, b: Array, level: float) -> bool:
    """Whether the straight move from a to b (3,) keeps the clearance `level`: halved until that is proved."""
    reach = math.hypot(half_length, half_width)
    way = math.hypot(b[0] - a[0], b[1] - a[1]) + reach * abs(b[2] - a[2])
    pieces = 1
    for _ in range(_DEEPEST):
        proved, least = True, math.inf
        for k in range(pieces + 1):
            pose = a + (b - a) * (k / pieces)
            gap = clearance(walls, half_length, half_width, pose[0], pose[1], pose[2])
            least = min(least, gap)
            if gap < level:
                return False
            # no gap between changes by more than half of the way to the next pose
            proved = proved and gap - way / pieces / 2 >= level
        if proved:
            return True
        pieces *= 2
    return False
