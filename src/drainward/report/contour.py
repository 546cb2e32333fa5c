"""From a height grid to lines and areas that a page, a canvas and a PDF can draw alike.

choose_step, levels     round trade steps that give 6 to 14 lines
lines, areas            contour lines and filled areas as paths in the plan, m
holds, size             whether an area holds a point; how large it is
"""

from __future__ import annotations

import math
from typing import cast

import numpy as np
from contourpy import FillType, LineType, contour_generator
from numpy.typing import NDArray

from drainward.quantity import INCH

__all__ = ["Path", "Paths", "areas", "choose_step", "holds", "levels", "lines", "size"]

Path = tuple[tuple[float, float], ...]
Paths = tuple[Path, ...]
EIGHTH = INCH / 8
FINEST = INCH / 32
MOST_LINES = 14
SLACK = 0.0003
"""A path may leave the computed one by this much, m: a third of a line's width on paper, and a tenth of the points."""


def choose_step(low: float, high: float) -> float:
    """Height between contour lines, m: 1/8 in halved or doubled until 6 to 14 lines lie in [low, high].

    low, high : heights, m. A floor flatter than that can bear keeps the finest step, 1/32 in.
    """
    step = EIGHTH
    while (high - low) / step > MOST_LINES:
        step *= 2
    while (high - low) / (step / 2) <= MOST_LINES and step > FINEST:
        step /= 2
    return step


def levels(low: float, high: float) -> tuple[float, ...]:
    """The whole multiples of `choose_step` strictly between low and high, m, rising."""
    step = choose_step(low, high)
    first, last = math.floor(low / step) + 1, math.ceil(high / step) - 1
    return tuple(k * step for k in range(first, last + 1))


def lines(x: NDArray[np.float64], y: NDArray[np.float64], z: NDArray[np.float64], level: float) -> Paths:
    """Contour lines of z at one level.

    x : (nx,) m, y : (ny,) m, z : (ny, nx) in the level's unit; returns paths in the plan, m.
    """
    # contourpy types the answers of all its line and fill types as one union.
    found = cast("list[NDArray[np.float64]]", contour_generator(x, y, z, line_type=LineType.Separate).lines(level))
    return tuple(_path(line) for line in found if len(line) > 2)


def areas(
    x: NDArray[np.float64], y: NDArray[np.float64], z: NDArray[np.float64], low: float, high: float
) -> tuple[Paths, ...]:
    """The connected areas where low <= z < high: each an outer ring and the rings of its holes (fill by even-odd).

    x : (nx,) m, y : (ny,) m, z : (ny, nx) in the unit of low and high; rings in the plan, m, closed.
    """
    filled = contour_generator(x, y, z, fill_type=FillType.OuterOffset).filled(low, high)
    points, offsets = cast("tuple[list[NDArray[np.float64]], list[NDArray[np.uint32]]]", filled)
    return tuple(
        tuple(_path(ring) for ring in np.split(area, cuts[1:-1].astype(np.intp)))
        for area, cuts in zip(points, offsets, strict=True)
    )


def holds(area: Paths, x: float, y: float) -> bool:
    """Whether the point lies in the area by the even-odd rule. x, y and the rings in one unit."""
    crossings = 0
    for ring in area:
        for (xa, ya), (xb, yb) in zip(ring, ring[1:] + ring[:1], strict=True):
            if (ya > y) != (yb > y) and x < xa + (y - ya) * (xb - xa) / (yb - ya):
                crossings += 1
    return crossings % 2 == 1


def size(area: Paths) -> float:
    """The area of the outer ring less that of its holes, in the square of the rings' unit."""
    outer, *holes = (abs(_shoelace(ring)) for ring in area)
    return outer - sum(holes)


def _shoelace(ring: Path) -> float:
    return 0.5 * sum(xa * yb - xb * ya for (xa, ya), (xb, yb) in zip(ring, ring[1:] + ring[:1], strict=True))


def _path(points: NDArray[np.float64]) -> Path:
    kept = points[_corners(points, SLACK)]
    return tuple((round(float(px), 5), round(float(py), 5)) for px, py in kept)


def _corners(points: NDArray[np.float64], slack: float) -> NDArray[np.bool_]:
    """Mask of the points that keep a path within `slack` of itself (Douglas and Peucker, Cartographica 10(2), 1973)."""
    keep = np.zeros(len(points), dtype=np.bool_)
    keep[[0, -1]] = True
    spans = [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        start, inner = points[first], points[first + 1 : last]
        chord = points[last] - start
        length = math.hypot(chord[0], chord[1])
        away = inner - start
        if length < slack:
            distance = np.hypot(away[:, 0], away[:, 1])
        else:
            distance = np.abs(away[:, 0] * chord[1] - away[:, 1] * chord[0]) / length
        worst = int(np.argmax(distance))
        if distance[worst] > slack:
            middle = first + 1 + worst
            keep[middle] = True
            spans += [(first, middle), (middle, last)]
    return keep
