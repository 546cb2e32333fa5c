"""The pocket as it is believed after its survey: places where a unit can touch, and what it stands on.

Pocket    stud faces, core, slab and lines, with one joint covariance
Part      what the survey leaves possible in one of several ways

Frame: x right along the back wall from the left stud face, y from the back stud face to the opening, z up from the
finished floor outside, all of the nominal pocket; m. A unit's own frame (job.model.UnitModel) is placed into it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

__all__ = ["Part", "Pocket", "Wall"]

Array = NDArray[np.float64]


class Wall(IntEnum):
    """The three walls, as seen from the opening."""

    LEFT = 0
    BACK = 1
    RIGHT = 2


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """share : of the belief;  mean, covariance : as those of a Pocket, of which nothing but these differs."""

    share: float
    mean: Array
    covariance: Array


@dataclass(frozen=True, slots=True, eq=False)
class Pocket:
    """n places on stud faces, k spots of the slab.

    wall : (n,) `Wall`;  at : (n,) along the wall, x of the back wall, y of the side walls;  z : (n,) height
    off : (n,) where the face stands across the wall: x of a side wall's, y of the back wall's; m
    stud : (n,) which stud of its wall, counted from the left or the back
    core : (2,) x, y of the hole for the drain, nan where nobody measured it;  core_radius : m, nan likewise
    slab_x, slab_y, slab : (k,) places and heights of the slab, m
    front : (2,) y at the left and the right side wall on which the threshold's outer edge is to lie, nan where not set
    mean, covariance : the unknowns in the order off, core, core_radius, slab, front: (n + 3 + k + 2,) and square, m, m2
    parts : where the belief is no single normal law, those that it is made of; mean and covariance are of all of them
    """

    wall: NDArray[np.intp]
    at: Array
    z: Array
    off: Array
    stud: NDArray[np.intp]
    core: Array
    core_radius: float
    slab_x: Array
    slab_y: Array
    slab: Array
    front: Array
    mean: Array
    covariance: Array
    parts: tuple[Part, ...] = ()

    def __len__(self) -> int:
        return len(self.wall)

    def draw(self, samples: int, seed: int) -> Array:
        """Pockets that the survey leaves possible, (samples, N) in the order of `mean`; what is nan stays so."""
        known = np.isfinite(self.mean)
        rng = np.random.default_rng(seed)
        drawn = np.full((samples, len(self.mean)), np.nan)
        parts = self.parts or (Part(1.0, self.mean, self.covariance),)
        ends = np.round(np.cumsum([0.0, *(part.share for part in parts)]) * samples).astype(np.intp)
        for part, first, last in zip(parts, ends[:-1], ends[1:], strict=True):
            if last > first:
                values, vectors = np.linalg.eigh(part.covariance[np.ix_(known, known)])
                factor = vectors * np.sqrt(np.maximum(values, 0.0))
                normal = rng.standard_normal((last - first, int(known.sum())))
                drawn[first:last, known] = part.mean[known] + normal @ factor.T
        return drawn

    def less_sure(self, covariance: Array) -> Pocket:
        """The same with a further error of that covariance, m2, in all of it."""
        parts = tuple(replace(part, covariance=part.covariance + covariance) for part in self.parts)
        return replace(self, covariance=self.covariance + covariance, parts=parts)
