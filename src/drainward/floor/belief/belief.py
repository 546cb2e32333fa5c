"""What the readings let us believe of the floor: an exact mixture of Gaussian fields with local defects.

    z(x, y) = moulded(x, y) + plane + smooth Gaussian field + a few local defects

believe    readings -> Belief
Belief     ways in which the floor may be (particles); draw() makes floors
Floors     drawn floors, to be evaluated anywhere

Given a way (the field's size and length, the plane's size, which defects, which readings are blunders) everything is
Gaussian and is conditioned exactly; the ways themselves are drawn (`floor.particles`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.belief.defects import Shapes
from drainward.floor.belief.field import Lattice, lattice
from drainward.floor.belief.particles import Particles, draw_particles
from drainward.floor.belief.ways import Prior, Ways, make_ways
from drainward.floor.functionals import Functionals

__all__ = ["Belief", "Floors", "believe"]

Array = NDArray[np.float64]

_NODES = 1400  # the covariance between them is dense: a large floor gets a wider lattice, not more nodes


@dataclass(frozen=True, slots=True, eq=False)
class Floors:
    """c floors as deviations from the moulded shape.

    coarse : (c, lattice) m; plane : (c, 2) slopes along x and y about the floor's middle
    shapes : (c, s) local defects; height : (c, s) m, 0 where there is none
    """

    nodes: Lattice
    coarse: NDArray[np.float32]
    plane: Array
    shapes: Shapes
    height: Array

    def __len__(self) -> int:
        return len(self.coarse)

    @property
    def missed(self) -> NDArray[np.bool_]:
        """Whether each floor has more defects than the fewest that the readings leave plausible, (c,)."""
        count = (self.height != 0.0).sum(axis=1)
        fewest = next(k for k in range(self.height.shape[1] + 1) if (count <= k).mean() >= 0.05)
        more: NDArray[np.bool_] = count > fewest
        return more

    def pick(self, index: NDArray[np.intp]) -> Floors:
        """The floors of these numbers, which may repeat."""
        shapes = self.shapes[index]
        return Floors(self.nodes, self.coarse[index], self.plane[index], shapes, self.height[index])

    @property
    def middle(self) -> tuple[float, float]:
        return self.nodes.x[-1] / 2, self.nodes.y[-1] / 2

    def at(self, px: Array, py: Array) -> NDArray[np.float32]:
        """Deviation at points (m,) of all floors: (m, c), m."""
        z: NDArray[np.float32] = self.nodes.weights(px, py).astype(np.float32) @ np.ascontiguousarray(self.coarse.T)
        slopes = np.stack([px - self.middle[0], py - self.middle[1]], axis=1).astype(np.float32)
        z += slopes @ self.plane.T.astype(np.float32)
        for slot in range(self.height.shape[1]):
            there = np.flatnonzero(self.height[:, slot])
            if len(there):
                bumps = self.shapes[there, slot].at(px[:, None], py[:, None])
                z[:, there] += (bumps * self.height[there, slot]).astype(np.float32)
        return z


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Equally weighted ways in which the floor may be.

    carried : (n, lattice), slopes : (n, 2) what the readings see of the field and of the planes; misfit : (n,)
    """

    functionals: Functionals
    prior: Prior
    nodes: Lattice
    ways: Ways
    carried: Array
    slopes: Array
    misfit: Array
    particles: Particles

    @property
    def blunder(self) -> Array:
        """Probability that each reading is a blunder, (n,)."""
        element = self.particles.element
        return np.array([(element == 1 + i).any(1).mean() for i in range(len(self.functionals))])

    def draw(self, each: int, seed: int) -> Floors:
        """`each` floors of every particle. Matheron's rule: a floor drawn from the prior, corrected by its misfit."""
        rng = np.random.default_rng(seed)
        p, f = self.particles, self.functionals
        count, slots, n = p.feature.shape
        size, tilt = self.ways.size[p.way], self.ways.tilt[p.way]
        plane = tilt[:, None, None] * rng.standard_normal((count, each, 2))
        height = p.mean[:, None] + p.sd[:, None] * rng.standard_normal((count, each, slots))
        coarse = rng.standard_normal((count, each, self.nodes.size), dtype=np.float32)
        for length in self.prior.lengths:
            mine = np.flatnonzero(self.ways.length[p.way] == length)
            flat = coarse[mine].reshape(-1, self.nodes.size) @ self.nodes.root(length).T
            coarse[mine] = flat.reshape(len(mine), each, self.nodes.size) * size[mine, None, None].astype(np.float32)
        if n:
            datum = self.prior.datum * rng.standard_normal((count, each, f.setup.max() + 2))
            datum[:, :, -1] = 0.0
            read = f.u * rng.standard_normal((count, each, n)) + datum[:, :, f.setup] + plane @ self.slopes.T
            read += (coarse.reshape(-1, self.nodes.size) @ self.carried.T.astype(np.float32)).reshape(count, each, n)
            read += height @ p.feature
            scaled = p.sd[:, :, None] * p.feature
            root = self.ways.root[p.way]
            covariance = root @ root.transpose(0, 2, 1) + scaled.transpose(0, 2, 1) @ scaled
            gain = np.linalg.solve(covariance, (self.misfit - read).transpose(0, 2, 1)).transpose(0, 2, 1)
            plane += tilt[:, None, None] ** 2 * (gain @ self.slopes)
            height += p.sd[:, None] ** 2 * (gain @ p.feature.transpose(0, 2, 1))
            for length in self.prior.lengths:
                mine = np.flatnonzero(self.ways.length[p.way] == length)
                pull = (self.carried @ self.nodes.covariance(length)).astype(np.float32)
                weighted = gain[mine] * size[mine, None, None] ** 2
                coarse[mine] += (weighted.reshape(-1, n).astype(np.float32) @ pull).reshape(
                    len(mine), each, self.nodes.size
                )
        height = np.where((p.element == 0)[:, None], height, 0.0)
        shapes = p.shapes[np.repeat(np.arange(count), each)]
        return Floors(
            self.nodes, coarse.reshape(-1, self.nodes.size), plane.reshape(-1, 2), shapes, height.reshape(-1, slots)
        )


def believe(
    width: float,
    depth: float,
    moulded_reading: Array,
    functionals: Functionals,
    *,
    prior: Prior | None = None,
    particles: int = 256,
    sweeps: int = 1,
    moves: int = 4,
    threads: int = 1,
    seed: int = 0,
) -> Belief:
    """Condition a floor of width x depth (m) on n readings.

    moulded_reading : (n,) what the readings would be on the moulded shape
    """
    prior = prior or Prior()
    f = functionals
    nodes = lattice(width, depth, max(prior.spacing, np.sqrt(width * depth / _NODES)))
    misfit = f.value - moulded_reading
    weights = nodes.weights(f.x.ravel(), f.y.ravel())
    carried = np.einsum("npk,np->nk", weights.toarray().reshape(len(f), 3, nodes.size), f.weight)
    slopes = np.stack([((f.x - width / 2) * f.weight).sum(1), ((f.y - depth / 2) * f.weight).sum(1)], axis=1)
    ways = make_ways(prior, f, nodes, carried, slopes, misfit)
    rng = np.random.default_rng(seed)
    drawn = draw_particles(
        prior, ways, f, width, depth, count=particles, sweeps=sweeps, moves=moves, threads=threads, rng=rng
    )
    return Belief(f, prior, nodes, ways, carried, slopes, misfit, drawn)
