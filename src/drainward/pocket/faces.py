"""What a pocket may be before anybody measures it: the unknowns of the survey and how unsure each is.

Point             a place on a stud face
Nominal, nominal  the pocket as it is meant for a unit
Framed, FRAMED    how well a pocket may be framed, and how often it is
Unknowns          the unknowns of a survey by name, with their joint covariance beforehand

The frame is fixed to the foot of the left and the back wall: there the plane of the left wall stands at x = 0 and that
of the back wall at y = 0. How well a pocket is framed nobody knows beforehand: the survey itself tells how far its
studs stand off their planes and how far the planes lean. All spreads are common practice, no source, unless said
otherwise.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.job.model import UnitModel, What
from drainward.pocket.limits import outline
from drainward.pocket.shape import Wall
from drainward.quantity import INCH

__all__ = ["FRAMED", "Framed", "Nominal", "Point", "Unknowns", "nominal"]

Array = NDArray[np.float64]

_SIZE = 3.0 * INCH
"""How far a framed width or depth is from the nominal one: now and then it was framed for another unit."""
_LEAN = 3 / 8 * INCH / (32 * INCH) / 3
"""How far a wall's plane leans, loosely framed: three standard deviations are the 3/8 in in 32 in that residential
guidelines let pass at most. Half of all walls are then worse than the 1/4 in in 8 ft that is asked under board and
tile. Both are retold by woodworks.org, construction tolerances for light wood-frame projects."""
_SKEW = 0.5 * INCH / (36 * INCH)
_RACK = _LEAN / 2
"""How far both side walls lean the same way besides, as a frame does that was racked: no width shows it."""
_REACH_ALONG, _REACH_UP = 8 * INCH, 40 * INCH
"""Along the wall the next stud has a crook of its own, the same one is the same all over its width; up the wall the
crook is smooth."""
_CORE, _CORE_RADIUS = 2 * INCH, 1.5 * INCH
_CORE_USUAL = 3 * INCH
_SLAB_SUNK, _SLAB_LOCAL, _SLAB_REACH, _SLAB_OUTSIDE = 2 * INCH, INCH / 4, 24 * INCH, INCH / 8
_BUILD_UP, _U_BUILD_UP = 3 * INCH / 8, INCH / 2
_DATUM = 5.0
_ANY_SIZE = 5.0


@dataclass(frozen=True, slots=True)
class Point:
    """at : x on the back wall, y on a side wall;  z : over the floor; m."""

    wall: Wall
    at: float
    z: float


@dataclass(frozen=True, slots=True)
class Framed:
    """stud : how far stud faces stand off their wall's plane, root mean square, m;  plane : lean and skew of the walls,
    as a share of those of loose framing;  share : of pockets that are framed so
    """

    stud: float
    plane: float
    share: float


# A stud may be crooked by 1/4 in over 8 ft (grading of studs, from memory): of parabolas up to that either way, equally
# likely, the root mean square over the height is 0.105 in.
_STUDS = ((0.02, 0.15), (0.04, 0.25), (0.07, 0.25), (0.105, 0.25), (0.18, 0.1))
_PLANES = ((0.1, 0.15), (0.25, 0.25), (0.5, 0.3), (1.0, 0.25), (2.0, 0.05))
FRAMED = tuple(Framed(stud * INCH, plane, p * q) for stud, p in _STUDS for plane, q in _PLANES)


@dataclass(frozen=True, slots=True)
class Nominal:
    """Between stud faces, and from the back stud faces to the threshold's outer edge; the core under the drain; m."""

    width: float
    depth: float
    core: tuple[float, float]


def nominal(unit: UnitModel) -> Nominal:
    """The pocket that the unit's outside fills."""
    out = outline(unit)
    return Nominal(out.right - out.left, out.front - out.back, (out.drain_x - out.left, out.drain_y - out.back))


class Unknowns:
    """Unknowns of a survey, each made when it is first asked for; the same name gives the same index."""

    def __init__(self, unit: UnitModel) -> None:
        self._nominal = nominal(unit)
        self._index: dict[tuple[Hashable, ...], int] = {}

    def __len__(self) -> int:
        return len(self._index)

    def _at(self, *name: Hashable) -> int:
        return self._index.setdefault(name, len(self._index))

    def face(self, point: Point) -> int:
        """Where a face stands across its wall."""
        return self._at("face", point)

    def front(self, share: float) -> list[tuple[int, float]]:
        """The front line at a share of the width from the left: its two ends with their shares."""
        left, right = self.front_ends()
        return [(left, 1 - share), (right, share)]

    def front_ends(self) -> list[int]:
        """y of the front line at the left and at the right wall."""
        return [self._at("front", 0), self._at("front", 1)]

    def core(self, axis: int) -> int:
        """x (0) or y (1) of the core's middle."""
        return self._at("core", axis)

    def core_radius(self) -> int:
        """Radius of the core."""
        return self._at("radius")

    def slab(self, x: float, y: float) -> int:
        """Height of the slab at a spot over the finished floor outside."""
        self.size(What.BUILD_UP)
        return self._at("slab", x, y)

    def slab_spots(self) -> list[tuple[float, float, int]]:
        """x, y and index of every spot of the slab."""
        return [(x, y, k) for (kind, *place), k in self._index.items() if kind == "slab" for x, y in [_pair(place)]]

    def datum(self, setup: str) -> int:
        """What a set-up reads less the height over the finished floor."""
        return self._at("datum", setup)

    def size(self, what: What) -> int:
        """A size of the room that is one number."""
        return self._at("size", what)

    def prior(self, framed: Framed) -> tuple[Array, Array]:
        """Mean (p,) and covariance (p, p) of all unknowns that were asked for, before any measure."""
        mean, (rest, stud, plane) = self.spreads()
        return mean, rest + framed.stud**2 * stud + framed.plane**2 * plane

    def spreads(self) -> tuple[Array, Array]:
        """Mean (p,) and the parts (3, p, p) of the covariance beforehand: all but the framing; studs that stand off
        their planes by 1 m, root mean square; lean and skew of loose framing.
        """
        count = len(self._index)
        mean, spread = np.zeros(count), np.zeros((3, count, count))
        covariance = spread[0]
        for (kind, *rest), k in self._index.items():
            match kind:
                case "face" if isinstance(rest[0], Point):
                    mean[k] = self._nominal.width if rest[0].wall is Wall.RIGHT else 0.0
                case "front":
                    mean[k] = self._nominal.depth
                case "core":
                    mean[k] = self._nominal.core[0 if rest[0] == 0 else 1]
                    covariance[k, k] = _CORE**2
                case "radius":
                    mean[k], covariance[k, k] = _CORE_USUAL, _CORE_RADIUS**2
                case "datum":
                    covariance[k, k] = _DATUM**2
                case "size" if rest[0] is What.BUILD_UP:
                    mean[k], covariance[k, k] = _BUILD_UP, _U_BUILD_UP**2
                case "size":
                    covariance[k, k] = _ANY_SIZE**2
        self._spread_faces(spread)
        self._spread_front(covariance)
        self._spread_slab(mean, covariance)
        return mean, spread

    def faces(self) -> list[tuple[Point, int]]:
        """Every stud face that was asked for, with its index."""
        found = ((name[-1], k) for name, k in self._index.items())
        return [(point, k) for point, k in found if isinstance(point, Point)]

    def _spread_faces(self, spread: Array) -> None:
        for wall in Wall:
            mine = [(point, k) for point, k in self.faces() if point.wall is wall]
            if not mine:
                continue
            at, z = np.array([p.at for p, _ in mine]), np.array([p.z for p, _ in mine])
            own = np.ix_(*[[k for _, k in mine]] * 2)
            along, up = (at[:, None] - at) / _REACH_ALONG, (z[:, None] - z) / _REACH_UP
            spread[1][own] = np.exp(-(along**2 + up**2) / 2)
            spread[2][own] = _LEAN**2 * np.outer(z, z)
            if wall is not Wall.BACK:
                spread[2][own] += _SKEW**2 * np.outer(at, at)
            if wall is Wall.RIGHT:
                spread[0][own] = _SIZE**2
        sides = [(point.z, k) for point, k in self.faces() if point.wall is not Wall.BACK]
        z = np.array([height for height, _ in sides])
        spread[2][np.ix_(*[[k for _, k in sides]] * 2)] += _RACK**2 * np.outer(z, z)

    def _spread_front(self, covariance: Array) -> None:
        if ("front", 0) in self._index:
            ends = self.front_ends()
            half = (_SKEW * self._nominal.width) ** 2 / 4
            covariance[np.ix_(ends, ends)] = _SIZE**2 + np.array([[half, -half], [-half, half]])

    def _spread_slab(self, mean: Array, covariance: Array) -> None:
        spots = self.slab_spots()
        if not spots:
            return
        x, y, index = (np.array(column) for column in zip(*spots, strict=True))
        outside = y > self._nominal.depth
        inner = np.outer(~outside, ~outside)
        apart = np.hypot(x[:, None] - x, y[:, None] - y)
        local = np.where(inner, _SLAB_LOCAL, 0.0) ** 2 + np.where(np.outer(outside, outside), _SLAB_OUTSIDE, 0.0) ** 2
        own = _U_BUILD_UP**2 + np.where(inner, _SLAB_SUNK**2, 0.0) + local * np.exp(-apart / _SLAB_REACH)
        # The bare slab lies as far under the finished floor as is still to come over it.
        built = self.size(What.BUILD_UP)
        mean[index] = -_BUILD_UP
        covariance[np.ix_(index, index)] = own
        covariance[index, built] = covariance[built, index] = -(_U_BUILD_UP**2)


def _pair(place: list[Hashable]) -> tuple[float, float]:
    x, y = place
    assert isinstance(x, float) and isinstance(y, float)
    return x, y
