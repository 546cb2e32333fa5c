"""Lines on the plan: what stands between two points, and what a point lies in.

crosses       which of some faces stand between two points
parted        for many pairs of points at once
inside        whether a point lies in a polygon
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["crosses", "inside", "parted"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Point = tuple[float, float]


def parted(faces: Array, a: Array, b: Array) -> Flags:
    """(k, n): whether face n stands between a[k] and b[k]; one that only touches the line counts.

    faces : (n, 4) x, y, x2, y2;  a, b : (k, 2), all m
    """
    x, y, x2, y2 = faces.T
    ax, ay, bx, by = (ends[:, axis, None] for ends in (a, b) for axis in (0, 1))
    first: Flags = _side(x, y, x2, y2, ax, ay) != _side(x, y, x2, y2, bx, by)
    second: Flags = _side(ax, ay, bx, by, x, y) != _side(ax, ay, bx, by, x2, y2)
    return first & second


def _side(px: Array, py: Array, qx: Array, qy: Array, rx: Array, ry: Array) -> Array:
    return np.sign((qx - px) * (ry - py) - (qy - py) * (rx - px))


def crosses(faces: Array, a: Point, b: Point) -> Flags:
    """(n,): which of the faces (n, 4) stand between two points."""
    apart: Flags = parted(faces, np.array([a]), np.array([b]))[0]
    return apart


def inside(points: Sequence[Point], x: float, y: float) -> bool:
    """Whether (x, y) lies in the polygon."""
    found = False
    for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            found = not found
    return found
