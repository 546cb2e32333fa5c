"""The moulded shape of a floor: its height over the drain, as the cut sheet gives it.

moulded     height at any points
edge_run    distance from the drain to the floor's edge along a direction
Net, radial_net   the lines from the drain on which falls are judged
fine_axes   the regular grid of the pictures and the ponds
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.job.model import UnitModel
from drainward.quantity import INCH

__all__ = ["INCH", "Net", "edge_run", "fine_axes", "moulded", "radial_net"]

Array = NDArray[np.float64]


def edge_run(unit: UnitModel, angle: Array) -> Array:
    """Distance from the drain's centre to the floor's edge in the direction `angle` (rad, from +x to +y), m."""
    c, s = np.cos(angle), np.sin(angle)
    to_x = np.where(c > 0, unit.inside_width - unit.drain.x, unit.drain.x)
    to_y = np.where(s > 0, unit.inside_depth - unit.drain.y, unit.drain.y)
    # A direction along a wall never meets it: a vanishing sine stands for none.
    return np.minimum(to_x / np.maximum(np.abs(c), 1e-12), to_y / np.maximum(np.abs(s), 1e-12))


def moulded(unit: UnitModel, x: Array, y: Array) -> Array:
    """Moulded height over the drain at (x, y), any shape, m.

    cone   : fall times the distance from the drain's rim; the drain itself lies at zero
    planes : on each ray from the drain's centre the height grows in proportion to the distance, up to the edge's
             height, which runs straight from named point to named point; so each panel between two rays is flat
    """
    dx, dy = np.asarray(x) - unit.drain.x, np.asarray(y) - unit.drain.y
    if unit.floor.fall is not None:
        return unit.floor.fall * np.maximum(np.hypot(dx, dy) - unit.drain.radius, 0.0)
    height = np.zeros(np.broadcast(dx, dy).shape)
    for (ax, ay, ah), (bx, by, bh) in _panels(unit):
        # Barycentric coordinates over the drain: height is linear on each triangle drain-A-B.
        det = ax * by - bx * ay
        a = (dx * by - dy * bx) / det
        b = (dy * ax - dx * ay) / det
        inside = (a >= -1e-12) & (b >= -1e-12)
        height = np.where(inside, a * ah + b * bh, height)
    return height


def _panels(unit: UnitModel) -> list[tuple[tuple[float, float, float], tuple[float, float, float]]]:
    """Triangles drain-A-B, as (x, y, height) of A and B from the drain; the corners are interpolated."""
    w, d, drain = unit.inside_width, unit.inside_depth, unit.drain
    named = {_around(unit, p.x, p.y): p.height for p in unit.floor.heights}
    perimeter = 2 * (w + d)
    places = np.array(sorted(named))
    heights = np.array([named[p] for p in places])
    corners = [0.0, w, w + d, 2 * w + d]
    stations = sorted({round(p, 9) for p in [*places, *corners]})
    at = np.interp(stations, places, heights, period=perimeter)
    points = [(*_on_edge(unit, s), float(h)) for s, h in zip(stations, at, strict=True)]
    relative = [(px - drain.x, py - drain.y, h) for px, py, h in points]
    return list(zip(relative, relative[1:] + relative[:1], strict=True))


def _around(unit: UnitModel, x: float, y: float) -> float:
    """Way along the edge from the back left corner, over the back right one, to the edge point nearest (x, y), m."""
    w, d = unit.inside_width, unit.inside_depth
    gaps = {"back": y, "right": w - x, "front": d - y, "left": x}
    side = min(gaps, key=lambda name: abs(gaps[name]))
    return {"back": x, "right": w + y, "front": w + d + (w - x), "left": 2 * w + d + (d - y)}[side] % (2 * (w + d))


def _on_edge(unit: UnitModel, s: float) -> tuple[float, float]:
    w, d = unit.inside_width, unit.inside_depth
    if s <= w:
        return s, 0.0
    if s <= w + d:
        return w, s - w
    if s <= 2 * w + d:
        return w - (s - w - d), d
    return 0.0, d - (s - 2 * w - d)


@dataclass(frozen=True, slots=True)
class Net:
    """Radial lines from the drain with the bases on which the fall is judged.

    x, y  : (m,) points of the net, m
    inner, outer : (k,) index of the two ends of each base, inner nearer to the drain
    length: (k,) length of each base, m
    line  : (k,) index of the radial line
    """

    x: Array
    y: Array
    inner: NDArray[np.intp]
    outer: NDArray[np.intp]
    length: Array
    line: NDArray[np.intp]


def radial_net(unit: UnitModel, base: float, lines: int = 96, step: float = INCH) -> Net:
    """Every base of this length on radial lines, sliding by about `step` from the drain's rim to the edge.

    lines : so many, evenly, and one to each corner, where the panels of a floor are flattest
    Where the run is shorter than the base but at least half of it, the whole run is judged instead.
    Raises StageError where no line is even half as long as the base.
    """
    w, d, drain = unit.inside_width, unit.inside_depth, unit.drain
    corners = np.arctan2([-drain.y, -drain.y, d - drain.y, d - drain.y], [-drain.x, w - drain.x, -drain.x, w - drain.x])
    angles = np.sort(np.concatenate([2 * np.pi * np.arange(lines) / lines, corners % (2 * np.pi)]))
    bases: list[tuple[int, float, float]] = []
    for k, run in enumerate(edge_run(unit, angles) - drain.radius):
        span = float(min(base, run))
        if span >= base / 2:
            slides = np.linspace(0.0, run - span, int(np.ceil((run - span) / step)) + 1)
            bases.extend((k, drain.radius + float(slide), span) for slide in slides)
    if not bases:
        raise StageError(
            f"no line from the drain to the edge is half as long as {base:.3f} m, the base on which a fall is judged"
        )
    line = np.array([k for k, _, _ in bases], dtype=np.intp)
    near, length = np.array([(r, span) for _, r, span in bases]).T
    radius = np.stack([near, near + length], axis=1)
    x = drain.x + radius * np.cos(angles[line])[:, None]
    y = drain.y + radius * np.sin(angles[line])[:, None]
    inner = 2 * np.arange(len(line))
    return Net(x.ravel(), y.ravel(), inner, inner + 1, length, line)


def fine_axes(unit: UnitModel, step: float = INCH / 4) -> tuple[Array, Array]:
    """Node coordinates of the regular grid over the inside of the unit, about `step` apart, ends on the edges, m."""
    nx = round(unit.inside_width / step) + 1
    ny = round(unit.inside_depth / step) + 1
    return np.linspace(0.0, unit.inside_width, nx), np.linspace(0.0, unit.inside_depth, ny)
