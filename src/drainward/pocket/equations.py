"""The measures of a pocket as equations on its unknowns.

Network   the equations, and their adjustment
Stud      a stud that may stand off its wall as no other does
NETWORK   what is measured and adjusted together; SIZES: what of it is one number of the room
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.job.model import Measure, UnitModel, What
from drainward.pocket.doubt import Cause
from drainward.pocket.faces import Framed, Point, Unknowns, nominal
from drainward.pocket.network import Fit, least_squares
from drainward.pocket.shape import Wall
from drainward.quantity import INCH

__all__ = ["NETWORK", "SIZES", "Network", "Stud"]

Array = NDArray[np.float64]
Terms = list[tuple[int, float]]

NETWORK = frozenset(What) - {What.STUD, What.BLOCKING}
SIZES = (What.RECESS_WIDTH, What.RECESS_DEPTH, What.RECESS_DEEP, What.BUILD_UP, What.DOOR_WIDTH, What.CEILING)
"""Measured twice they are adjusted like all else."""

_SLIP, _SLIP_ODDS = 2 * INCH, 0.01
"""How far a wrong reading is off, and how often one is (common practice, no source): an inch lost, feet misread."""
_NO_SAY = 10.0
"""Standard uncertainty at which a measure of a pocket says nothing, m."""
_PROUD, _PROUD_ODDS = INCH / 2, 0.005
"""How far a stud stands off that was set or bent out of its wall's plane, and how often one is, set or bent each
(common practice, no source)."""
_PLATES = 97 * INCH
"""Between the plates a stud that is bent stands off the most half way up (8 ft framing)."""


@dataclass(frozen=True, slots=True)
class Stud:
    """A stud that may stand off its wall as no other does: all of it, or bent between its plates.

    wall, number, at : which, counted from the left or the back, and where along its wall, m
    """

    wall: Wall
    number: int
    at: float
    bent: bool

    def __str__(self) -> str:
        return f"stud {self.number + 1} of the {self.wall.name.lower()} wall"


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
        self.value, self.u = np.array([m.value for m in kept]), np.array([m.u for m in kept])
        terms = [self._terms(measure) for measure in kept]
        self._diagonals = [k for k, measure in enumerate(kept) if measure.what is What.DIAGONAL]
        # A diagonal has a part along x, in `linear`, and one along y, in `across`.
        self._linear, self._across = (np.zeros((len(terms), len(self.unknowns))) for _ in range(2))
        for k, parts in enumerate(terms):
            for matrix, part in zip((self._linear, self._across), parts, strict=True):
                for index, share in part:
                    matrix[k, index] += share
        stands = sorted({(point.wall, number, point.at) for point, number in places})
        self.studs = tuple(Stud(*stand, bent) for stand in stands for bent in (False, True))
        self.shapes = np.array([self._shape(stud, stands) for stud in self.studs]).reshape(-1, len(self.unknowns))

    def _core_near(self) -> tuple[float, float]:
        """About where the core is, for the faces from which it is measured."""
        x, y = self.nominal.core
        for measure in self.kept:
            x = measure.value if measure.what is What.CORE_FROM_LEFT else x
            y = measure.value if measure.what is What.CORE_FROM_BACK else y
        return x, y

    def _shape(self, stud: Stud, stands: Sequence[tuple[Wall, int, float]]) -> Array:
        """How the faces of a stud follow it where it stands off, (p,); a reading beside it is one of it."""
        shape = np.zeros(len(self.unknowns))
        for point, k in self.unknowns.faces():
            if point.wall is stud.wall:
                nearest = min((abs(at - point.at), number) for wall, number, at in stands if wall is point.wall)
                if nearest[1] == stud.number:
                    bow = 4 * point.z * (_PLATES - point.z) / _PLATES**2
                    shape[k] = max(bow, 0.0) if stud.bent else 1.0
        return shape

    def causes(self, jacobian: Array) -> list[Cause]:
        """What may be wrong or odd: every measure in order, then every one of `studs`. jacobian : (n, p)"""
        wrong = [Cause(one, _SLIP, _SLIP_ODDS, k) for k, one in enumerate(np.eye(len(self.kept)))]
        return [*wrong, *(Cause(jacobian @ shape, _PROUD, _PROUD_ODDS) for shape in self.shapes)]

    def split(self, causes: Iterable[int]) -> tuple[list[int], list[int]]:
        """Indices into `kept` and into `studs` of causes as numbered by `causes`."""
        n, some = len(self.kept), sorted(causes)
        return [k for k in some if k < n], [k - n for k in some if k >= n]

    def loosened(self, covariance: Array, causes: Iterable[int]) -> tuple[Array, Array]:
        """Covariance (p, p) of the unknowns and variances (n,) of the measures, with room for what the causes do."""
        _, odd = self.split(causes)
        return covariance + _PROUD**2 * self.shapes[odd].T @ self.shapes[odd], self.noise(causes)

    def noise(self, causes: Iterable[int]) -> Array:
        """Variances (n,) of the measures, so large that it says nothing where one is wrong."""
        noise = self.u**2
        noise[self.split(causes)[0]] += _NO_SAY**2
        return noise

    def fit(self, framed: Framed, causes: Iterable[int] = ()) -> Fit:
        """Adjust all of them together, with room for what the causes do."""
        mean, covariance = self.unknowns.prior(framed)
        covariance, noise = self.loosened(covariance, causes)
        return least_squares(self.value, np.sqrt(noise), self.model, mean, covariance)

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
