"""The bound from below: a way through a plan, moved off the walls where it is tight, and proved clear along its length.

polish          a path and the clearance that it keeps everywhere
kept_between    what is left on the straight way between two poses
raise_pose      one pose moved across the path, by linear programming on the walls that it nearly touches
contacts        which these are
TOLD            the most that a path is asked to keep
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import kernel
from drainward.pocket.simplex import least
from drainward.wayin.clearance import CAP, Walls, clearance, gap, near_walls

__all__ = ["TOLD", "contacts", "kept_between", "polish", "raise_pose"]

Array = NDArray[np.float64]

_ROWS = 8
_STEP = 1e-7
_GAIN = 1e-8  # a move that promises less ends the climb, m
_STRETCH = 0.2  # what `sort_walls` leaves for a box to be longer, twice over, m
_SPARE = 0.01  # poses are moved so much clearer than is asked, so that few are needed between them, m

TOLD = CAP - _SPARE
"""The most that a path is asked to keep, m."""


@kernel
def contacts(
    walls: Walls,
    half_length: float,
    half_width: float,
    pose: Array,
    within: float,
    rows: Array,
    which: NDArray[np.int64],
) -> int:
    """The gaps below `within`, least first, into `rows` (n,), their segments into `which`; how many."""
    found = 0
    c, s = math.cos(pose[2]), math.sin(pose[2])
    reach = math.hypot(half_length, half_width) + max(within, 0.0)
    first, last = near_walls(walls, pose[0], pose[1])
    for m in range(first, last):
        k = walls.near[m]
        wall = walls.segments[k]
        if (
            min(wall[0], wall[2]) > pose[0] + reach
            or max(wall[0], wall[2]) < pose[0] - reach
            or min(wall[1], wall[3]) > pose[1] + reach
            or max(wall[1], wall[3]) < pose[1] - reach
        ):
            continue
        g = gap(half_length, half_width, pose[0], pose[1], c, s, wall)
        if g >= within or (found == len(rows) and g >= rows[found - 1]):
            continue
        at = found if found < len(rows) else found - 1
        while at > 0 and rows[at - 1] > g:
            rows[at], which[at] = rows[at - 1], which[at - 1]
            at -= 1
        rows[at], which[at] = g, k
        found = min(found + 1, len(rows))
    return found


@kernel
def _across(along: Array, reach: float) -> tuple[Array, Array]:
    """Two unit moves across `along`, as x, y, turn; where it is no direction, a turn on the spot and none."""
    size = math.sqrt(along[0] ** 2 + along[1] ** 2 + along[2] ** 2)
    if size == 0:
        return np.array([0.0, 0.0, 1 / reach]), np.zeros(3)
    t = along / size
    least = 0
    for axis in range(1, 3):
        if abs(t[axis]) < abs(t[least]):
            least = axis
    first = np.zeros(3)
    first[least] = 1.0
    first -= t[least] * t
    first /= math.sqrt((first**2).sum())
    second = np.array(
        [t[1] * first[2] - t[2] * first[1], t[2] * first[0] - t[0] * first[2], t[0] * first[1] - t[1] * first[0]]
    )
    first[2], second[2] = first[2] / reach, second[2] / reach
    return first, second


@kernel
def raise_pose(walls: Walls, half_length: float, half_width: float, pose: Array, along: Array, enough: float) -> float:
    """Move `pose` (3,) across `along` (3,) until its clearance, which is returned, is greatest or `enough`.

    along : shift x, shift y and turn times the half-diagonal, any length; of length 0 the box only turns on the spot
    """
    reach = math.hypot(half_length, half_width)
    first, second = _across(along, reach)
    g, which, rows = np.empty(_ROWS), np.empty(_ROWS, np.int64), np.ones((_ROWS, 3))
    trust = 0.03
    free = clearance(walls, half_length, half_width, pose[0], pose[1], pose[2])
    for _ in range(80):
        if free >= enough or trust < 1e-10:
            break
        n = contacts(walls, half_length, half_width, pose, free + 3 * trust + 1e-9, g, which)
        if n == 0:
            break
        for k in range(n):
            for axis in range(2):
                d = _STEP * (first if axis == 0 else second)
                wall = walls.segments[which[k]]
                ahead, behind = pose + d, pose - d
                rows[k, axis] = (
                    gap(half_length, half_width, behind[0], behind[1], math.cos(behind[2]), math.sin(behind[2]), wall)
                    - gap(half_length, half_width, ahead[0], ahead[1], math.cos(ahead[2]), math.sin(ahead[2]), wall)
                ) / (2 * _STEP)
        # the greatest s with s <= g + slope * step for every wall near
        _, step, _, _, _ = least(np.array([0.0, 0.0, -1.0]), rows[:n], g[:n], np.array([trust, trust, 10.0]))
        hoped = step[2] - free
        if hoped < _GAIN:
            break
        # no farther than `enough` takes: a pose that runs ahead of its neighbours makes the way longer
        part = min(1.0, (1.02 * (enough - free) + _GAIN) / hoped)
        hoped *= part
        tried = pose + part * step[0] * first + part * step[1] * second
        got = clearance(walls, half_length, half_width, tried[0], tried[1], tried[2]) - free
        if got > 0.1 * hoped and got > 0:
            pose[:] = tried
            free += got
            trust = min(2 * trust, 0.1)
        else:
            trust *= 0.25
    return free


@kernel
def kept_between(walls: Walls, half_length: float, half_width: float, first: Array, second: Array) -> float:
    """No less than this is left, m, on the straight way between two poses (3,); -inf where they are too far apart.

    The box made longer, or wider, by what it moves that way covers the way, but for the rest of the move.
    """
    x, y, turn = (first + second) / 2
    dx, dy = second[0] - first[0], second[1] - first[1]
    if math.hypot(dx, dy) > _STRETCH:
        return -math.inf
    c, s = math.cos(turn), math.sin(turn)
    ahead, across = abs(c * dx + s * dy) / 2, abs(c * dy - s * dx) / 2
    rest = math.hypot(half_length, half_width) * abs(second[2] - first[2]) / 2
    if ahead >= across:
        return float(clearance(walls, half_length + ahead, half_width, x, y, turn) - across - rest)
    return float(clearance(walls, half_length, half_width + across, x, y, turn) - ahead - rest)


@kernel
def polish(
    walls: Walls, half_length: float, half_width: float, path: Array, fixed: NDArray[np.bool_],
    worth: float, enough: float, tolerance: float, most: int,
) -> tuple[float, Array, int]:  # fmt: skip
    """(clearance kept along the whole path, the path moved (k, 3), index of its tightest pose).

    The ends stay, and turn on the spot unless `fixed` (2,). Every stretch is bisected until `kept_between` proves it
    within `tolerance` of the tightest pose; -inf where `most` poses do not do, or no more than `worth` can be kept.
    """
    reach = math.hypot(half_length, half_width)
    at = np.empty((most, 3))
    free = np.empty(most)
    after = np.empty(most, np.int64)
    n = len(path)
    if n > most:
        return -math.inf, path, 0
    enough = min(enough, TOLD)
    ample = enough + _SPARE
    for k in range(n):
        at[k], after[k] = path[k], k + 1
        along = path[min(k + 1, n - 1)] - path[max(k - 1, 0)]
        along[2] *= reach
        if k in (0, n - 1):
            along[:] = 0.0
        if (k == 0 and fixed[0]) or (k == n - 1 and fixed[1]):
            free[k] = clearance(walls, half_length, half_width, at[k, 0], at[k, 1], at[k, 2])
        else:
            free[k] = raise_pose(walls, half_length, half_width, at[k], along, ample)
        if free[k] - tolerance <= worth:
            return -math.inf, path, 0
    last = n - 1
    kept = min(enough, free[:n].min()) - tolerance
    k = 0
    while k != last:
        m = after[k]
        along = at[m] - at[k]
        along[2] *= reach
        way = math.hypot(along[0], along[1]) + abs(along[2])
        if (free[k] + free[m] - way) / 2 >= kept or kept_between(walls, half_length, half_width, at[k], at[m]) >= kept:
            k = m
            continue
        if n == most or kept <= worth:
            return -math.inf, path, 0
        at[n] = (at[k] + at[m]) / 2
        free[n] = clearance(walls, half_length, half_width, at[n, 0], at[n, 1], at[n, 2])
        if free[n] < kept + tolerance:
            # no clearer than its neighbours, or it would leave them as often as it is halved
            aim = min(ample, max(min(free[k], free[m]), kept + tolerance))
            free[n] = raise_pose(walls, half_length, half_width, at[n], along, aim)
            kept = min(kept, free[n] - tolerance)
        after[k], after[n] = n, m
        n += 1
    out, tight = _in_order(at[:n], free, after, last)
    return kept, out, tight


@kernel
def _in_order(at: Array, free: Array, after: NDArray[np.int64], last: int) -> tuple[Array, int]:
    """The poses from first to last, and the row of the tightest."""
    out = np.empty_like(at)
    k, row, tight = 0, 0, 0
    worst = math.inf
    while True:
        out[row] = at[k]
        if free[k] < worst:
            worst, tight = free[k], row
        row += 1
        if k == last:
            break
        k = after[k]
    return out[:row], tight
