"""The fall toward the drain over a base, on drawn floors.

Falls, falls    of every base of a net on every floor; the least and the greatest of each floor
extreme         what is known of the least or the greatest, and where
steepest_lines  the ways that water takes on one surface
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.doubt import middle, wide_band
from drainward.floor.result import Extreme
from drainward.floor.shape import Net
from drainward.floor.surface import Surfaces

__all__ = ["Falls", "extreme", "falls", "steepest_lines"]

Array = NDArray[np.float64]
Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Falls:
    """Falls of k bases on c floors.

    net : the bases; fall : (k, c) ratio, positive toward the drain; least, greatest, missed : (c,)
    """

    net: Net
    missed: NDArray[np.bool_]
    fall: Floats
    least: Floats
    greatest: Floats


def falls(floors: Surfaces, net: Net, threads: int = 1) -> Falls:
    """Fall of every base of the net on every floor: (outer height - inner height) / base length."""
    z = floors.at(net.x, net.y, threads)
    fall = np.divide(z[net.outer] - z[net.inner], net.length[:, None], dtype=np.float32, casting="same_kind")
    return Falls(net, floors.missed, fall, fall.min(axis=0), fall.max(axis=0))


def extreme(of: Falls, least: bool) -> Extreme:
    """The least or greatest fall over the floors, at its likeliest base."""
    values = (of.least if least else of.greatest).astype(np.float64)
    where = np.bincount((of.fall.argmin(axis=0) if least else of.fall.argmax(axis=0)), minlength=len(of.fall)).argmax()
    net = of.net
    ends = wide_band(values, of.missed)
    value, u = middle(ends)
    return Extreme(
        value=value,
        u=u,
        interval=ends,
        likely=float(np.median(values)),
        x=float(net.x[net.inner[where]] + net.x[net.outer[where]]) / 2,
        y=float(net.y[net.inner[where]] + net.y[net.outer[where]]) / 2,
    )


def steepest_lines(x: Array, y: Array, z: Array, drain: tuple[float, float, float], count: int = 24) -> list[Array]:
    """Lines of steepest descent of one surface from `count` places of its edge, each (m, 2), m.

    x (nx,), y (ny,), z (ny, nx) : the surface; drain : x, y and radius, where a line ends. A line also ends where the
    surface no longer falls (a pond or a flat).
    """
    gy, gx = (np.asarray(g) for g in np.gradient(z, y, x))
    step = 2 * (x[1] - x[0])
    lines = []
    for t in np.arange(count) / count * 2 * np.pi:
        p = np.array(
            [
                x[-1] / 2 * (1 + 0.98 * _square(np.cos(t), np.sin(t))),
                y[-1] / 2 * (1 + 0.98 * _square(np.sin(t), np.cos(t))),
            ]
        )
        line = [p]
        height = np.inf
        for _ in range(4 * (len(x) + len(y))):
            i = min(round(float(p[1] / (y[1] - y[0]))), len(y) - 1)
            j = min(round(float(p[0] / (x[1] - x[0]))), len(x) - 1)
            slope = np.hypot(gx[i, j], gy[i, j])
            if np.hypot(p[0] - drain[0], p[1] - drain[1]) <= drain[2] or slope == 0.0 or z[i, j] > height + 1e-6:
                break
            height = z[i, j]
            p = np.clip(p - step * np.array([gx[i, j], gy[i, j]]) / slope, 0.0, [x[-1], y[-1]])
            line.append(p)
        lines.append(np.array(line))
    return lines


def _square(along: float, other: float) -> float:
    """Coordinate on the edge of a square, -1 to 1, in the direction with these cosines."""
    return along / max(abs(along), abs(other))
