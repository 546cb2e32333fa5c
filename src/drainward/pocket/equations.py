"""The measures of a pocket as equations on its unknowns.

Network   the equations, their adjustment, and the `Pocket` that comes of it
NETWORK   what is measured and adjusted together; SIZES: what of it is one number of the room
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drainward.job.model import Measure, UnitModel, What
from drainward.pocket.faces import Point, Unknowns, nominal
from drainward.pocket.network import Fit, least_squares
from drainward.pocket.shape import Pocket, Wall

__all__ = ["NETWORK", "SIZES", "Network"]

Array = NDArray[np.float64]
Terms = list[tuple[int, float]]

NETWORK = frozenset(What) - {What.STUD, What.BLOCKING}
SIZES = (What.RECESS_WIDTH, What.RECESS_DEPTH, What.RECESS_DEEP, What.BUILD_UP, What.DOOR_WIDTH, What.CEILING)
"""Measured twice they are adjusted like all else."""


class Network:
    """The measures of a pocket as equations on its unknowns."""

    def __init__(self, unit: UnitModel, kept: Sequence[Measure], places: Sequence[tuple[Point, int]]) -> None:
        self.unit, self.kept, self.places = unit, kept, places
        self.nominal = nominal(unit)
        core_x, core_y = self._core_near()
        self._core_at = (core_x, core_y)
        self.unknowns = Unknowns(unit)
        for point, _ in places:
            self.unknowns.face(point)
        terms = [self._terms(measure) for measure in kept]
        self._diagonals = [k for k, measure in enumerate(kept) if measure.what is What.DIAGONAL]
        # A diagonal has a part along x, in `linear`, and one along y, in `across`.
        self._linear, self._across = (np.zeros((len(terms), len(self.unknowns))) for _ in range(2))
        for k, parts in enumerate(terms):
            for matrix, part in zip((self._linear, self._across), parts, strict=True):
                for index, share in part:
                    matrix[k, index] += share

    def _core_near(self) -> tuple[float, float]:
        """About where the core is, for the faces from which it is measured."""
        x, y = self.nominal.core
        for measure in self.kept:
            x = measure.value if measure.what is What.CORE_FROM_LEFT else x
            y = measure.value if measure.what is What.CORE_FROM_BACK else y
        return x, y

    def fit(self) -> Fit:
        """Adjust all of them together."""
        value = np.array([measure.value for measure in self.kept])
        u = np.array([measure.u for measure in self.kept])
        mean, covariance = self.unknowns.prior()
        return least_squares(value, u, self.model, mean, covariance)

    def model(self, x: Array) -> tuple[Array, Array]:
        """What the measures would be were x (p,) the unknowns, (n,), and how that follows x, (n, p)."""
        h, jacobian = self._linear @ x, self._linear.copy()
        for k in self._diagonals:
            dx, dy = h[k], self._across[k] @ x
            h[k] = np.hypot(dx, dy)
            jacobian[k] = (dx * self._linear[k] + dy * self._across[k]) / h[k]
        return h, jacobian

    def _terms(self, m: Measure) -> tuple[Terms, Terms]:
        """Shares of the unknowns in what a measure measures; of a diagonal, in its part along x and along y."""
        if m.what is What.DIAGONAL:
            return self._diagonal(m.wall, m.z or 0.0)
        if m.what in (What.WIDTH, What.DEPTH, What.PLUMB, What.SQUARE):
            return self._faces(m), []
        return self._rest(m), []

    def _faces(self, m: Measure) -> Terms:
        of = self.unknowns
        x, y, z = m.x or 0.0, m.y or 0.0, m.z or 0.0
        if m.what is What.WIDTH:
            return [(of.face(Point(Wall.RIGHT, y, z)), 1.0), (of.face(Point(Wall.LEFT, y, z)), -1.0)]
        if m.what is What.DEPTH:
            return [*of.front(x / self.nominal.width), (of.face(Point(Wall.BACK, x, z)), -1.0)]
        if m.what is What.SQUARE:
            return self._square(m, y, z)
        wall = Wall[m.wall.upper()]
        at = x if wall is Wall.BACK else y
        inward = -1.0 if wall is Wall.RIGHT else 1.0
        return [(of.face(Point(wall, at, z)), inward), (of.face(Point(wall, at, 0.0)), -inward)]

    def _diagonal(self, wall: str, z: float) -> tuple[Terms, Terms]:
        of, near = self.unknowns, self.nominal
        corner, share = (0.0, 1.0) if wall == "left" else (near.width, 0.0)
        reach = near.depth if wall == "left" else 0.0
        across = [
            (of.face(Point(Wall.RIGHT, reach, z)), 1.0),
            (of.face(Point(Wall.LEFT, near.depth - reach, z)), -1.0),
        ]
        return across, [*of.front(share), (of.face(Point(Wall.BACK, corner, z)), -1.0)]

    def _rest(self, m: Measure) -> Terms:
        of, (core_x, core_y) = self.unknowns, self._core_at
        match m.what:
            case What.SLAB:
                return [(of.slab(m.x or 0.0, m.y or 0.0), 1.0), (of.datum(m.setup), 1.0)]
            case What.CORE:
                return [(of.core_radius(), 2.0)]
            case What.CORE_FROM_LEFT:
                return [(of.core(0), 1.0), (of.face(Point(Wall.LEFT, core_y, 0.0)), -1.0)]
            case What.CORE_FROM_BACK:
                return [(of.core(1), 1.0), (of.face(Point(Wall.BACK, core_x, 0.0)), -1.0)]
            case _:
                return [(of.size(m.what), 1.0)]

    def _square(self, m: Measure, base: float, z: float) -> Terms:
        """Open by how much the side wall leads away from the square to the back wall, over the base."""
        of = self.unknowns
        wall = Wall[m.wall.upper()]
        sign = -1.0 if wall is Wall.LEFT else 1.0
        corner, along = (0.0, base) if wall is Wall.LEFT else (self.nominal.width, self.nominal.width - base)
        side = [(of.face(Point(wall, base, z)), sign), (of.face(Point(wall, 0.0, z)), -sign)]
        # The back wall's own slope over the same base turns the square with it.
        return [*side, (of.face(Point(Wall.BACK, corner, z)), 1.0), (of.face(Point(Wall.BACK, along, z)), -1.0)]

    def pocket(self, fit: Fit) -> Pocket:
        """What `place` needs of it."""
        of = self.unknowns
        faces = [of.face(point) for point, _ in self.places]
        have = {measure.what for measure in self.kept}
        core = [of.core(0) if What.CORE_FROM_LEFT in have else -1, of.core(1) if What.CORE_FROM_BACK in have else -1]
        radius = of.core_radius() if What.CORE in have else -1
        spots = of.slab_spots()
        front = of.front_ends() if have & {What.DEPTH, What.DIAGONAL} else [-1, -1]
        order = np.array([*faces, *core, radius, *(index for _, _, index in spots), *front], dtype=np.intp)
        known = order >= 0
        mean = np.where(known, fit.mean[order], np.nan)
        covariance = np.where(np.outer(known, known), fit.covariance[np.ix_(order, order)], 0.0)
        n, k = len(faces), len(spots)
        return Pocket(
            wall=np.array([point.wall for point, _ in self.places], dtype=np.intp),
            at=np.array([point.at for point, _ in self.places]),
            z=np.array([point.z for point, _ in self.places]),
            off=mean[:n],
            stud=np.array([number for _, number in self.places], dtype=np.intp),
            core=mean[n : n + 2],
            core_radius=float(mean[n + 2]),
            slab_x=np.array([x for x, _, _ in spots]),
            slab_y=np.array([y for _, y, _ in spots]),
            slab=mean[n + 3 : n + 3 + k],
            front=mean[n + 3 + k :],
            mean=mean,
            covariance=covariance,
        )

    def sizes(self, fit: Fit) -> dict[What, tuple[float, float]]:
        """Each size that was measured, with its standard uncertainty."""
        found = {}
        for what in SIZES:
            if any(measure.what is what for measure in self.kept):
                k = self.unknowns.size(what)
                found[what] = (float(fit.mean[k]), float(np.sqrt(fit.covariance[k, k])))
        return found
