"""The smooth deviation of a floor from its moulded shape: a Gaussian process carried by a coarse lattice.

Lattice, lattice   the coarse nodes, from which the field is carried everywhere else
matern52           Matérn covariance of smoothness 5/2
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky
from scipy.sparse import csr_array

from drainward.floor.taps import taps_at

__all__ = ["Lattice", "lattice", "matern52"]

Array = NDArray[np.float64]


def matern52(distance: Array, length: float) -> Array:
    """Matérn covariance, smoothness 5/2, variance 1; distance and length in one unit.

    Source: Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, eq. 4.17.
    """
    s = np.sqrt(5.0) * distance / length
    covariance: Array = (1.0 + s + s * s / 3.0) * np.exp(-s)
    return covariance


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """Coarse nodes over the floor: x (cx,), y (cy,), m; node k = iy * cx + ix."""

    x: Array
    y: Array

    @property
    def size(self) -> int:
        return len(self.x) * len(self.y)

    def weights(self, px: Array, py: Array) -> csr_array:
        """Sparse (m, size) matrix that interpolates the lattice at points px, py (m,): cubic along each axis."""
        along, across = taps_at(self.y, py), taps_at(self.x, px)
        columns = along.index[:, :, None] * len(self.x) + across.index[:, None, :]
        values = along.weight[:, :, None] * across.weight[:, None, :]
        rows = np.repeat(np.arange(len(px)), 16)
        return csr_array((values.ravel(), (rows, columns.ravel())), shape=(len(px), self.size))

    def covariance(self, length: float) -> Array:
        """(size, size) covariance of unit variance between the nodes."""
        return _covariance(self.x.tobytes(), self.y.tobytes(), length)[0]

    def root(self, length: float) -> NDArray[np.float32]:
        """(size, size) lower Cholesky factor of `covariance`."""
        return _covariance(self.x.tobytes(), self.y.tobytes(), length)[1]


@lru_cache(maxsize=32)
def _covariance(x: bytes, y: bytes, length: float) -> tuple[Array, NDArray[np.float32]]:
    gx, gy = np.meshgrid(np.frombuffer(x), np.frombuffer(y))
    px, py = gx.ravel(), gy.ravel()
    covariance = matern52(np.hypot(px[:, None] - px, py[:, None] - py), length)
    jitter = 1e-8 * np.eye(len(px))
    return covariance, cholesky(covariance + jitter, lower=True).astype(np.float32)


@lru_cache(maxsize=16)
def lattice(width: float, depth: float, spacing: float) -> Lattice:
    """Lattice over [0, width] x [0, depth] with nodes about `spacing` apart, ends on the edges, m."""
    return Lattice(
        np.linspace(0.0, width, max(round(width / spacing), 4) + 1),
        np.linspace(0.0, depth, max(round(depth / spacing), 4) + 1),
    )
