"""The gap between a box seen from above and the faces of walls.

gap             of a rectangle and one segment
clearance       of a rectangle and all segments near it
near_walls      which these are
Walls           segments sorted into squares of the plan, so that only near ones are asked
sort_walls      segments to Walls

The gap is the Euclidean distance, or, where they overlap, minus the shortest shift that parts them. It changes by no
more than a shift does, and by no more than the half-diagonal times a turn: both bounds of `wayin.route` rest on that.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import kernel

__all__ = ["CAP", "Walls", "clearance", "gap", "near_walls", "sort_walls"]

Array = NDArray[np.float64]

CAP = 0.3
"""Clearances beyond this are not told apart, m."""

_SQUARE = 0.4


class Walls(NamedTuple):
    """segments : (n, 4) x, y, x2, y2, m;  left, bottom : of the squares, m;  first, near : which are near each.

    first : (squares along y, squares along x, 2) start and end in `near`
    """

    segments: Array
    left: float
    bottom: float
    first: NDArray[np.int64]
    near: NDArray[np.int64]


@kernel
def gap(half_length: float, half_width: float, x: float, y: float, c: float, s: float, wall: Array) -> float:
    """Signed gap of a rectangle in the middle (x, y), its length along (c, s), and the segment `wall` (4,), m."""
    ax, ay = c * (wall[0] - x) + s * (wall[1] - y), c * (wall[1] - y) - s * (wall[0] - x)
    bx, by = c * (wall[2] - x) + s * (wall[3] - y), c * (wall[3] - y) - s * (wall[2] - x)
    apart = max(
        max(min(ax, bx), -max(ax, bx)) - half_length,
        max(min(ay, by), -max(ay, by)) - half_width,
    )
    dx, dy = bx - ax, by - ay
    long = math.hypot(dx, dy)
    if long > 0.0:
        apart = max(apart, (abs(ax * dy - ay * dx) - half_length * abs(dy) - half_width * abs(dx)) / long)
    if apart <= 0.0:
        return float(apart)
    best = min(
        math.hypot(max(abs(ax) - half_length, 0.0), max(abs(ay) - half_width, 0.0)),
        math.hypot(max(abs(bx) - half_length, 0.0), max(abs(by) - half_width, 0.0)),
    )
    if long > 0.0:
        for corner in range(4):
            px = half_length if corner < 2 else -half_length
            py = half_width if corner % 2 == 0 else -half_width
            share = min(1.0, max(0.0, ((px - ax) * dx + (py - ay) * dy) / (long * long)))
            best = min(best, math.hypot(px - ax - share * dx, py - ay - share * dy))
    return best


@kernel
def near_walls(walls: Walls, x: float, y: float) -> tuple[int, int]:
    """Start and end in `walls.near` of the segments that a box in the middle (x, y) may come within CAP of."""
    i, j = int((y - walls.bottom) // _SQUARE), int((x - walls.left) // _SQUARE)
    i, j = min(max(i, 0), walls.first.shape[0] - 1), min(max(j, 0), walls.first.shape[1] - 1)
    return walls.first[i, j, 0], walls.first[i, j, 1]


@kernel
def clearance(walls: Walls, half_length: float, half_width: float, x: float, y: float, turn: float) -> float:
    """The least gap to any wall, at most CAP, m."""
    first, last = near_walls(walls, x, y)
    c, s, reach = math.cos(turn), math.sin(turn), math.hypot(half_length, half_width)
    best = CAP
    for k in range(first, last):
        wall = walls.segments[walls.near[k]]
        dx, dy = wall[2] - wall[0], wall[3] - wall[1]
        px, py = x - wall[0], y - wall[1]
        square = dx * dx + dy * dy
        share = 0.0 if square == 0.0 else min(1.0, max(0.0, (px * dx + py * dy) / square))
        ex, ey = px - share * dx, py - share * dy
        if ex * ex + ey * ey < (reach + max(best, 0.0)) ** 2:
            best = min(best, gap(half_length, half_width, x, y, c, s, wall))
    return best


def sort_walls(segments: Array, reach: float) -> Walls:
    """Segments (n, 4), m, for boxes whose half-diagonal is at most `reach`."""
    left, bottom = segments[:, ::2].min(), segments[:, 1::2].min()
    nx = int((segments[:, ::2].max() - left) // _SQUARE) + 1
    ny = int((segments[:, 1::2].max() - bottom) // _SQUARE) + 1
    x, y = left + _SQUARE * (np.arange(nx) + 0.5), bottom + _SQUARE * (np.arange(ny) + 0.5)
    cx, cy = (grid.ravel()[:, None] for grid in np.meshgrid(x, y))
    d = segments[:, 2:] - segments[:, :2]
    square = np.maximum((d**2).sum(axis=1), 1e-300)
    share = np.clip(((cx - segments[:, 0]) * d[:, 0] + (cy - segments[:, 1]) * d[:, 1]) / square, 0, 1)
    away = np.hypot(cx - segments[:, 0] - share * d[:, 0], cy - segments[:, 1] - share * d[:, 1])
    close = away <= reach + CAP + _SQUARE
    ends = np.cumsum(close.sum(axis=1))
    first = np.stack([np.concatenate([[0], ends[:-1]]), ends], axis=1).reshape(ny, nx, 2)
    near = np.nonzero(close)[1]
    return Walls(
        np.ascontiguousarray(segments), float(left), float(bottom), first.astype(np.int64), near.astype(np.int64)
    )
