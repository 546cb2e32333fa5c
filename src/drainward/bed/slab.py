"""The slab under a unit as its spot heights tell it: a tilted plane and a smooth field of unknown size and length.

Spots         spot heights of one room, in the unit's own frame
SlabBelief    what the slab may be: a weighted mixture of Gaussian fields on one lattice
believe       spot heights to a belief
before        how a bare slab before the opening differs from its mean along the threshold
SlabDraws     drawn slabs, with what else was drawn beside them

Heights are over the finished floor where it meets the threshold: the bare slab's mean along the threshold's outer edge
and what is still to come over it. A set-up reads over a datum of its own that nobody knows; spots on the bare slab
before the opening tie it down, as well as the slab there stands for its mean along that edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve, cholesky

from drainward.floor.belief.field import Lattice, lattice, matern52
from drainward.job.model import UnitModel
from drainward.quantity import INCH

__all__ = ["SlabBelief", "SlabDraws", "Spots", "before", "believe"]

Array = NDArray[np.float64]

SIZES = tuple(float(size) for size in INCH * np.geomspace(1 / 64, 1 / 2, 8))
LENGTHS = tuple(float(length) for length in INCH * np.geomspace(6, 48, 7))
"""Standard deviations and lengths that the field may have, each as likely as the next before anything is read; ours."""
_SPACING = 3 * INCH
_LEVEL = 2 * INCH
_TILT = 1 / 16 / 12
"""How deep the slab is recessed and how far it tilts, along x and along y: common practice, no source."""
_OUTSIDE, _OUTSIDE_REACH = INCH / 8, 24 * INCH
"""Unevenness of the bare slab before the opening: common practice, no source."""
_DATUM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """n spot heights of the slab, m, in the unit's own frame.

    x, y, value, u : (n,)
    setup : (n,) whose datum each is read over, from nought; -1 where it is read over the finished floor itself
    outside : (n,) whether it lies before the opening
    build_up, u_build_up : of the floor still to come there as the threshold is set by it, and how far off that may turn
        out before it is set, m
    """

    x: Array
    y: Array
    value: Array
    u: Array
    setup: NDArray[np.intp]
    outside: NDArray[np.bool_]
    build_up: float
    u_build_up: float


@dataclass(frozen=True, slots=True, eq=False)
class SlabDraws:
    """Slabs that the readings leave possible.

    grid : the lattice;  nodes : (s, L) heights at its nodes, m
    level : (s,) what the last set-up would read on a spot of nought height
    outside : (s,) mean of the bare slab along the threshold, m
    """

    grid: Lattice
    nodes: Array
    level: Array
    outside: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """One size and length of the field: its weight, the covariance with the readings, and their factor.

    prior : (L, L) of the nodes;  cross : (L, n) nodes and readings;  factor : Cholesky of the readings' covariance
    """

    weight: float
    size: float
    length: float
    cross: Array
    factor: tuple[Array, bool]


@dataclass(frozen=True, slots=True, eq=False)
class SlabBelief:
    """A mixture of ways, each Gaussian. Nodes: L, as `Lattice` numbers them, heights over the finished floor, m."""

    unit: UnitModel
    spots: Spots
    grid: Lattice
    ways: tuple[_Way, ...]
    residual: Array
    plane: Array
    around: tuple[Array, Array, Array]
    """How the readings vary without the slab itself: their covariance, with the datums, and with the build-up."""
    middle: float

    def moments(self, rows: Array) -> tuple[Array, Array]:
        """Mean and standard deviation, (m,), of linear functions of the nodes, rows (m, L)."""
        means, squares = np.zeros(len(rows)), np.zeros(len(rows))
        for way in self.ways:
            cross = rows @ way.cross
            mean = self.middle * rows.sum(axis=1) + cross @ cho_solve(way.factor, self.residual)
            prior = _variance(rows, self.grid, self.plane, way)
            variance = np.maximum(prior - np.einsum("ij,ji->i", cross, cho_solve(way.factor, cross.T)), 0.0)
            means += way.weight * mean
            squares += way.weight * (variance + mean**2)
        return means, np.sqrt(np.maximum(squares - means**2, 0.0))

    def draw(self, samples: int, seed: int) -> SlabDraws:
        """Slabs that the readings leave possible, by Matheron's rule: a slab of the prior, put right by its residuals.

        Source: Chilès and Delfiner, Geostatistics, 2nd ed. 2012, 7.3.1 (conditioning by kriging).
        """
        rng = np.random.default_rng(seed)
        counts = rng.multinomial(samples, [way.weight for way in self.ways])
        own, with_datum, with_built = self.around
        noise = cholesky(own + 1e-14 * np.eye(len(own)), lower=True) if len(own) else own
        inside = ~self.spots.outside
        taps = self.grid.weights(self.spots.x[inside], self.spots.y[inside])
        parts = []
        for way, count in zip(self.ways, counts, strict=True):
            if not count:
                continue
            normal = rng.standard_normal((self.grid.size, count)).astype(np.float32)
            free = self.middle + way.size * (self.grid.root(way.length) @ normal).astype(np.float64)
            free += self.plane @ rng.standard_normal((self.plane.shape[1], count))
            around = noise @ rng.standard_normal((len(own), count))
            read = around.copy()
            read[inside] += taps @ (free - self.middle)
            put = cho_solve(way.factor, self.residual[:, None] - read)
            extra = self._beside(around, put, own, with_datum, with_built, rng)
            parts.append((free + way.cross @ put, *extra))
        nodes, level, outside = (np.concatenate(part, axis=-1) for part in zip(*parts, strict=True))
        order = rng.permutation(samples)
        return SlabDraws(self.grid, nodes.T[order], level[order], outside[order])

    def _beside(
        self, around: Array, put: Array, own: Array, with_datum: Array, with_built: Array, rng: np.random.Generator
    ) -> tuple[Array, Array]:
        """Datum of the last set-up and height of the bare slab outside, drawn with the same readings."""
        count = around.shape[1]
        if not len(own):
            return np.asarray(_DATUM * rng.standard_normal(count)), np.zeros(count)
        joint = np.stack([with_datum, with_built])
        solved = np.linalg.solve(own + 1e-14 * np.eye(len(own)), joint.T).T
        prior = np.diag([_DATUM**2, self.spots.u_build_up**2])
        left = prior - solved @ joint.T
        values, vectors = np.linalg.eigh((left + left.T) / 2)
        free = solved @ around + (vectors * np.sqrt(np.maximum(values, 0.0))) @ rng.standard_normal((2, count))
        datum, built = free + joint @ put
        return np.asarray(datum), np.asarray(-(self.spots.build_up + built))


def believe(unit: UnitModel, spots: Spots, middle: float) -> SlabBelief:
    """What the slab under the unit may be, over every size and length of its field, each weighed by its evidence.

    middle : height about which it is expected before anything is read, m; it hardly matters once a set-up is tied down
    Source: Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, 2.2, 2.7 and 5.2 (hyperparameters are
    summed over a grid, not fitted).
    """
    grid = lattice(unit.inside_width, unit.inside_depth, _SPACING)
    gx, gy = (part.ravel() for part in np.meshgrid(grid.x, grid.y))
    across = (gx - unit.inside_width / 2, gy - unit.inside_depth / 2)
    plane = np.stack([np.full(grid.size, _LEVEL), _TILT * across[0], _TILT * across[1]], axis=1)
    inside = ~spots.outside
    own, with_datum, with_built = _around(unit, spots)
    expected = np.where(inside, middle, -spots.build_up)
    residual = _centred(spots.value - expected, spots.setup)
    taps = grid.weights(spots.x[inside], spots.y[inside])
    ways, logs = [], []
    for length in LENGTHS:
        covariance = grid.covariance(length)
        carried = np.asarray((taps @ covariance).T)
        plane_carried = plane @ (taps @ plane).T
        for size in SIZES:
            cross = np.zeros((grid.size, len(spots.x)))
            cross[:, inside] = size**2 * carried + plane_carried
            total = own.copy()
            total[np.ix_(inside, inside)] += taps @ cross[:, inside]
            factor = cho_factor(total, lower=True)
            fit = residual @ cho_solve(factor, residual)
            logs.append(-0.5 * fit - float(np.log(np.diag(factor[0])).sum()))
            ways.append((size, length, cross, factor))
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    kept = tuple(_Way(float(w), *way) for w, way in zip(weights, ways, strict=True) if w > 1e-4)
    scale = sum(way.weight for way in kept)
    kept = tuple(_Way(way.weight / scale, way.size, way.length, way.cross, way.factor) for way in kept)
    return SlabBelief(unit, spots, grid, kept, residual, plane, (own, with_datum, with_built), middle)


def before(unit: UnitModel, x: Array, y: Array) -> Array:
    """Covariance (n, n), m2, of bare slab heights at places before the opening less its mean along the threshold."""
    line_x = np.linspace(0.0, unit.inside_width, 25)
    line_y = np.full_like(line_x, unit.inside_depth + unit.threshold_width)

    def field(to_x: Array, to_y: Array, from_x: Array, from_y: Array) -> Array:
        return _OUTSIDE**2 * matern52(np.hypot(to_x[:, None] - from_x, to_y[:, None] - from_y), _OUTSIDE_REACH)

    with_line = field(x, y, line_x, line_y).mean(axis=1)
    of_line = field(line_x, line_y, line_x, line_y).mean()
    return np.asarray(field(x, y, x, y) - with_line[:, None] - with_line + of_line)


def _around(unit: UnitModel, spots: Spots) -> tuple[Array, Array, Array]:
    """Covariance (n, n) of the readings without the slab under the unit; theirs with the last datum and build-up, (n,).

    Reading error, the datum of each set-up, and before the opening the build-up and the unevenness there.
    """
    same = (spots.setup[:, None] == spots.setup) & (spots.setup >= 0)
    covariance = np.diag(spots.u**2) + _DATUM**2 * same
    both = np.outer(spots.outside, spots.outside)
    covariance += np.where(both, spots.u_build_up**2 + before(unit, spots.x, spots.y), 0.0)
    with_datum = np.where(spots.setup == spots.setup.max(initial=0), _DATUM**2, 0.0)
    with_built = np.where(spots.outside, -(spots.u_build_up**2), 0.0)
    return covariance, with_datum, with_built


def _centred(values: Array, setup: NDArray[np.intp]) -> Array:
    """Less the mean of each set-up, which its datum takes up: keeps the numbers small beside the datum's spread."""
    out = values.copy()
    for one in np.unique(setup[setup >= 0]):
        out[setup == one] -= values[setup == one].mean()
    return out


def _variance(rows: Array, grid: Lattice, plane: Array, way: _Way) -> Array:
    """Prior variance, (m,), of linear functions of the nodes."""
    field = np.einsum("ij,ij->i", rows @ grid.covariance(way.length), rows)
    return np.asarray(way.size**2 * field + ((rows @ plane) ** 2).sum(axis=1))
