"""The largest round void that may stay under a floor: `may_stay`.

The load stands at its middle, on a panel that goes on far around it, so that all depends on the radius alone: a ring of
cubic Hermite elements bends as D / 2 (w''^2 + (w' / r)^2 + 2 nu w'' w' / r) over its area (S. Timoshenko and
S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. 1959, articles 15 and 16, from memory). Elsewhere on the
floor, and for voids of other shapes, `pressed` looks; this is the one number that a person with a hammer can use.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.sparse import coo_array, csc_array

from drainward.hold.carried import GRAVITY
from drainward.hold.contact import lifted
from drainward.hold.plate import Panel, factored, hermite
from drainward.job.support import Support
from drainward.quantity import INCH

__all__ = ["Stay", "may_stay", "void_moves"]

Array = NDArray[np.float64]

_WIDE = INCH * np.geomspace(1.5, 40, 12)
_AROUND, _STEP, _FAR_STEP, _GAUSS = 20 * INCH, INCH / 10, INCH / 2, 4


@dataclass(frozen=True, slots=True)
class Stay:
    """Diameters, m, at which movement and strain reach their limits, able to lift off and bonded; inf past 40 in."""

    movement: float
    strain: float
    bonded_movement: float
    bonded_strain: float

    def widest(self, bonded: bool) -> float:
        """The diameter that keeps both limits."""
        return min(self.bonded_movement, self.bonded_strain) if bonded else min(self.movement, self.strain)


@lru_cache(64)
def may_stay(panel: Panel, support: Support) -> Stay:
    """By the panel's rigidities, the smaller where it has two, and the job's load, disc, bed and limits."""
    seen = np.array([void_moves(panel, support, float(wide)) for wide in _WIDE])
    limits = (support.movement, support.strain) * 2
    return Stay(*(_reaches(seen[:, k], limits[k]) for k in range(4)))


def void_moves(panel: Panel, support: Support, wide: float) -> tuple[float, float, float, float]:
    """Movement, m, and strain at the middle of a void `wide`, m: able to lift off, then bonded."""
    rigid = min(panel.along, panel.across)
    poisson = panel.coupled / max(panel.along, panel.across)
    rim, disc = wide / 2, support.disc / 2
    fine = np.linspace(0, rim, max(round(rim / _STEP), 4) + 1)
    near = rim + np.arange(1, 31) * _STEP
    rings = _Rings(np.concatenate([fine, near, np.arange(near[-1] + _FAR_STEP, rim + _AROUND, _FAR_STEP)]))
    bends = rings.bending(rigid, poisson)
    push = np.where(rings.r < rim, 0.0, rings.area * support.bed)
    inside = np.clip((disc - rings.edges[:-1]) / np.diff(rings.edges), 0, 1)
    load = rings.over(inside, support.load * GRAVITY / (math.pi * disc**2))
    bonded = np.asarray(factored(csc_array(bends + rings.stiffness(push))).solve(load))
    told = []
    for w in (lifted(bends, rings, push, load)[0], bonded):
        told += [float(w[0]), panel.thickness / 2 * abs(rings.curvature(w))]
    return told[0], told[1], told[2], told[3]


def _reaches(values: Array, limit: float) -> float:
    """Where a rising quantity reaches its limit, between the diameters that were looked at."""
    rising = np.maximum.accumulate(values) * (1 + 1e-9 * np.arange(len(values)))
    if limit >= rising[-1]:
        return math.inf
    if limit <= rising[0]:
        return float(_WIDE[0] * limit / rising[0])
    return float(np.exp(PchipInterpolator(np.log(rising), np.log(_WIDE))(math.log(limit))))


class _Rings:
    """A round plate in rings between `edges`, m, the first nought: unknowns w and w' at each, w' at the middle held."""

    def __init__(self, edges: Array) -> None:
        self.edges = edges
        nodes, weights = np.polynomial.legendre.leggauss(_GAUSS)
        share, part = (nodes + 1) / 2, weights / 2
        length = np.diff(edges)[:, None]
        self.share = share
        self.r = edges[:-1, None] + length * share
        self.area = 2 * math.pi * self.r * part * length
        self.shapes = np.stack([self._shape(share, order) for order in range(3)])
        first = 2 * np.arange(len(length))[:, None]
        self.unknowns = first + np.arange(4)
        self.count = 2 * len(edges)

    def _shape(self, share: Array, order: int) -> Array:
        """(rings, q, 4) value and slope at either edge, differentiated `order` times."""
        long = np.diff(self.edges)[:, None, None]
        scale = np.concatenate([np.ones_like(long), long] * 2, axis=2) / long**order
        return np.asarray(hermite(share, 1.0, order).T * scale)

    def _sum(self, each: Array) -> csc_array:
        rows = np.repeat(self.unknowns, 4, axis=1).ravel()
        columns = np.tile(self.unknowns, (1, 4)).ravel()
        return csc_array(coo_array((each.ravel(), (rows, columns)), (self.count, self.count)))

    def bending(self, rigid: float, poisson: float) -> csc_array:
        """(n, n), with the slope at the middle held by a stiff spring."""
        around, radial = self.shapes[1] / self.r[..., None], self.shapes[2]
        part = (rigid * self.area)[..., None, None]
        square = radial[..., :, None] * radial[..., None, :] + around[..., :, None] * around[..., None, :]
        cross = radial[..., :, None] * around[..., None, :]
        found = self._sum((part * (square + poisson * (cross + cross.swapaxes(-1, -2)))).sum(axis=1)).tolil()
        found[1, 1] += 1e3 * abs(found).max()
        return csc_array(found)

    def over(self, inside: Array, pressure: float) -> Array:
        """(n,) what a pressure does on the inner share `inside` (rings,) of each ring's width."""
        out = np.zeros(self.count)
        length = np.diff(self.edges)
        for k in np.flatnonzero(inside > 0):
            share = self.share * inside[k]
            weights = np.polynomial.legendre.leggauss(_GAUSS)[1] / 2 * inside[k] * length[k]
            r = self.edges[k] + share * length[k]
            out[self.unknowns[k]] += hermite(share, float(length[k]), 0) @ (pressure * 2 * math.pi * r * weights)
        return out

    def curvature(self, w: Array) -> float:
        """At the middle, the same in all directions."""
        return float(hermite(np.zeros(1), float(self.edges[1]), 2)[:, 0] @ w[:4])

    def depth(self, w: Array) -> Array:
        """(rings, q) movement of each place."""
        return np.asarray(np.einsum("eqi,ei->eq", self.shapes[0], w[self.unknowns]))

    def spread(self, force: Array) -> Array:
        """(n,) what forces (rings, q), N, do."""
        shares = np.einsum("eqi,eq->ei", self.shapes[0], force)
        return np.asarray(np.bincount(self.unknowns.ravel(), shares.ravel(), self.count), dtype=np.float64)

    def stiffness(self, push: Array) -> csc_array:
        """(n, n) of springs (rings, q), N/m."""
        return self._sum(np.einsum("eqi,eqj,eq->eij", self.shapes[0], self.shapes[0], push))
