"""A panel that lies on its bed without bond and may lift off it: `lifted`.

The bed pushes and never pulls, so the energy is convex and piecewise quadratic. Newton's method with an exact search
along each step comes down to its one minimum; taking contact points in and out by themselves need not settle.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.sparse import csc_array, dia_array

from drainward.errors import StageError
from drainward.hold.plate import Bed, Plate, at, factored

__all__ = ["lifted"]

Array = NDArray[np.float64]

_POINTS = 6
_MOST = 60
_SETTLED = 1e-7
_HOLD = 1e-12  # of the bed, everywhere: it keeps a panel that touches nothing from flying off


def lifted(panel: Plate, bed: Bed, load: Array) -> tuple[Array, int]:
    """(unknowns,) movement under `load`, down positive, and how many steps it took.

    panel : made without a bed;  bed : its stiffness where it pushes, Pa/m, as for `plate`
    load : (unknowns,) N, the panel's own weight in it where that is to count
    Raises StageError where it does not settle.
    """
    points, push = _bed_points(panel, bed)
    matrix = csc_array(panel.matrix)
    hold = dia_array((np.full((1, len(load)), _HOLD * push.sum()), [0]), shape=matrix.shape)
    w = np.asarray(factored(csc_array(matrix + hold + points.T @ (points * push[:, None]))).solve(load))
    scale = float(np.linalg.norm(load)) or 1.0
    for turn in range(_MOST):
        depth = points @ w
        slope = matrix @ w + hold @ w + points.T @ (push * np.maximum(depth, 0.0)) - load
        if np.linalg.norm(slope) < _SETTLED * scale:
            return w, turn
        active = csc_array(points * (push * (depth > 0))[:, None])
        step = np.asarray(factored(csc_array(matrix + hold + points.T @ active)).solve(-slope))
        w = w + _far(matrix + hold, points, push, w, depth, step, load) * step
    raise StageError(f"the panel on its bed did not settle in {_MOST} steps")


def _bed_points(panel: Plate, bed: Bed) -> tuple[csc_array, Array]:
    """Rows that read the panel at the bed's points, and the stiffness of each, N/m; points in voids are left out."""
    nodes, weights = np.polynomial.legendre.leggauss(_POINTS)
    hx, hy = float(panel.x[1]), float(panel.y[1])
    x = (panel.x[:-1, None] + hx * (nodes + 1) / 2).ravel()
    y = (panel.y[:-1, None] + hy * (nodes + 1) / 2).ravel()
    px, py = (grid.ravel() for grid in np.meshgrid(x, y, indexing="ij"))
    part = np.tile(weights * hx / 2, len(panel.x) - 1)[:, None] * np.tile(weights * hy / 2, len(panel.y) - 1)
    push = part.ravel() * bed(px, py)
    under = push > 0
    return at(panel, px[under], py[under]), push[under]


def _far(matrix: csc_array, points: csc_array, push: Array, w: Array, depth: Array, step: Array, load: Array) -> float:
    """How far along `step` the energy is least: the root of its slope there, which only rises."""
    steady, rising, along = float(step @ (matrix @ w - load)), float(step @ (matrix @ step)), points @ step

    def slope(t: float) -> float:
        return steady + t * rising + float((push * along) @ np.maximum(depth + t * along, 0.0))

    most = 1.0
    while slope(most) < 0 and math.isfinite(most):
        most *= 2
    return float(brentq(slope, 0.0, most, xtol=1e-15, rtol=1e-13)) if slope(0.0) < 0 else 1.0
