"""The clearest way of a box through a plan, and how clear it is, between two bounds that are both proved.

find_route    the way from a start to a goal
Route         its bounds, its poses and its tightest place
Contact       what the box nearly touches there, and how much that wall counts
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from drainward.quantity import INCH
from drainward.wayin.cells import open_cells, path_to, press
from drainward.wayin.clearance import CAP, Walls, gap, sort_walls
from drainward.wayin.polish import TOLD, contacts, polish

__all__ = ["Contact", "Progress", "Route", "find_route"]

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

WITHIN = 0.01 * INCH
"""How far apart the two bounds may stay, m."""

_MOST_CELLS = 1_500_000
_MOST_POSES = 30_000
_MOST_ROUNDS = 24
_NO_ROUNDS = 9  # where no way is proved it matters less by how much
_SPLITS = 200


@dataclass(frozen=True, slots=True)
class Contact:
    """A wall face at the tightest place: `wall` is its row among the segments, `gap` in m, `weight` its share.

    Move that face away by 1 mm and the clearance of the way grows by `weight` mm; the weights sum to 1.
    """

    wall: int
    gap: float
    weight: float


@dataclass(frozen=True, slots=True, eq=False)
class Route:
    """low, high : no way is clearer than `high`, and `poses` (k, 3: x, y, turn) keep `low` all along, m.

    Beyond polish.TOLD nothing is told apart: `low` ends there, and `high` may be anything over it. Negative ones say
    how far the walls would have to give way. tightest : the row of `poses` with the least gap
    """

    low: float
    high: float
    poses: Array
    tightest: int
    contacts: tuple[Contact, ...]


def find_route(
    segments: Array,
    length: float,
    width: float,
    start: tuple[float, float, float | None],
    goal: tuple[float, float, float | None],
    *,
    within: float = WITHIN,
    sign: bool = False,
    progress: Progress | None = None,
) -> Route:
    """The way of a rectangle `length` by `width` from `start` to `goal`, whose clearance is greatest.

    segments : (n, 4) faces of what stands in the way, x, y, x2, y2, m;  start, goal : x, y, turn (None: any)
    within : how far apart the bounds may stay; where a plan is too large for that they stay wider, and are still bounds
    sign : stop as soon as it is proved whether a way is open: low > 0, or high <= 0, then perhaps without any pose
    The way stays within the rectangle round all segments.
    Raises ValueError where there is no segment, a size is not positive, or an end lies outside the plan.
    """
    if len(segments) == 0 or not min(length, width) > 0:
        raise ValueError("expected a box of positive sizes and one wall or more")
    corners = segments.reshape(-1, 2)
    for end in (start, goal):
        if (np.array(end[:2]) < corners.min(axis=0)).any() or (np.array(end[:2]) > corners.max(axis=0)).any():
            raise ValueError(f"({end[0]:.3f}, {end[1]:.3f}) lies outside the walls of the plan")
    tell = progress or (lambda what, share: None)
    long, short = length / 2, width / 2
    reach = math.hypot(long, short)
    walls = sort_walls(np.asarray(segments, dtype=np.float64), reach)
    ends = [np.array([x, y, math.nan if turn is None else turn]) for x, y, turn in (start, goal)]
    fixed = np.array([end[2] is not None for end in (start, goal)])
    tell("laying out the plan", 0.0)
    cells = open_cells(walls, long, short, max(0.1, 0.22 * reach), _MOST_CELLS)
    low, high, best, tightest = -math.inf, math.inf, np.empty((0, 3)), 0
    splits, opened, slack = _SPLITS, math.inf, CAP
    for turn in range(_MOST_ROUNDS):
        level = max(low + within, 0.0) if sign else low + within
        guess = max(low, high - slack)
        high, between, near, far, done = press(cells, walls, long, short, ends[0], ends[1], level, guess, splits)
        if max(between, near, far) < 0:
            break
        path = _joined(path_to(cells, between, near, far), ends)
        kept, moved, tight = polish(walls, long, short, path, fixed, low, high, within / 2, _MOST_POSES)
        if kept > low:
            low, best, tightest = kept, moved, tight
        if min(high, TOLD) - low <= within or (sign and low > 0) or (high <= 0 and turn >= _NO_ROUNDS):
            break
        if not done:
            # every cell of the way is fine for what is open: take it finer
            slack /= 4
        opened = opened if math.isfinite(opened) else high - low
        share = math.log(opened / (high - low)) / math.log(opened / within)
        tell("proving the tightest place", min(0.99, max(0.0, share)))
        splits = min(2 * splits, 16 * _SPLITS)
    tell("done", 1.0)
    touched = _contacts(walls.segments, walls, long, short, best, tightest)
    return Route(low, max(high, low), best, tightest, touched)


def _joined(path: Array, ends: list[Array]) -> Array:
    """The path from end to end: an end keeps its place, and its turn where it has one."""
    first, last = path[0].copy(), path[-1].copy()
    for pose, end in ((first, ends[0]), (last, ends[1])):
        pose[:2] = end[:2]
        if not math.isnan(end[2]):
            pose[2] = end[2] + math.pi * round((pose[2] - end[2]) / math.pi)
    return np.vstack([first, path, last])


def _contacts(segments: Array, walls: Walls, long: float, short: float, poses: Array, at: int) -> tuple[Contact, ...]:
    """The walls that hold the box at its tightest pose, weighed by the duals of the best move across the path."""
    if len(poses) == 0:
        return ()
    pose, reach = poses[at], math.hypot(long, short)
    rows, which = np.empty(24), np.empty(24, np.int64)
    count = contacts(walls, long, short, pose, CAP, rows, which)
    if count == 0:
        return ()
    rows, which = rows[:count], which[:count]
    step = 1e-6

    def gaps(move: Array) -> Array:
        x, y, turn = pose + move
        return np.array([gap(long, short, x, y, math.cos(turn), math.sin(turn), segments[k]) for k in which])

    moves = np.diag([step, step, step / reach])
    slopes = np.stack([(gaps(move) - gaps(-move)) / (2 * step) for move in moves], axis=1)
    along = poses[min(at + 1, len(poses) - 1)] - poses[max(at - 1, 0)]
    along = along * [1, 1, reach]
    # maximise s: s - slopes d <= gap, d across the path and small
    solved = linprog(
        [0, 0, 0, -1.0],
        A_ub=np.hstack([-slopes, np.ones((count, 1))]),
        b_ub=rows,
        A_eq=[[*(along / (np.linalg.norm(along) or 1.0)), 0.0]],
        b_eq=[0.0],
        bounds=[(-0.005, 0.005)] * 3 + [(None, None)],
    )
    weights = -solved.ineqlin.marginals
    total = weights.sum() or 1.0
    return tuple(
        Contact(int(k), float(g), float(w / total))
        for k, g, w in zip(which, rows, weights, strict=True)
        if w > 1e-6 * total
    )
