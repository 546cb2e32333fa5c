"""A panel that lies on its bed without bond and may lift off it: `lifted`.

The bed pushes and never pulls: with the push p at each place, its depth d and its stiffness k, p >= 0, p >= k d and
p (p - k d) = 0, and the energy is convex. An interior-point method goes to its one minimum in a dozen steps whatever
the void, where Newton's method by itself wanders among the places that hang free.
Method: predictor and corrector, S. Mehrotra 1992, SIAM J. Optimization 2(4) (from memory).
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array, dia_array

from drainward.errors import StageError
from drainward.hold.plate import factored

__all__ = ["Rests", "lifted"]

Array = NDArray[np.float64]

_MOST = 60
_SETTLED, _BALANCED = 1e-8, 1e-7  # of the work of the load; of the load itself, over what rounding leaves
_HOLD = 1e-12  # of the bed, everywhere: it keeps a panel that touches nothing from flying off
_SHORT = 0.995


class Rests(Protocol):
    """The places at which a bed is asked: `plate.Points`, or what stands for them on another mesh."""

    def depth(self, w: Array) -> Array: ...
    def spread(self, force: Array) -> Array: ...
    def stiffness(self, push: Array) -> csc_array: ...


def lifted(panel: csc_array, under: Rests, push: Array, load: Array) -> tuple[Array, int]:
    """(unknowns,) movement under `load`, down positive, and how many steps it took.

    panel : stiffness without a bed;  under, push : points of the bed and how stiff it is there, N/m, nought in voids
    load : (unknowns,) N, the panel's own weight in it where that is to count
    Raises StageError where it does not settle.
    """
    hold = dia_array((np.full((1, len(load)), _HOLD * push.sum()), [0]), shape=panel.shape)
    matrix = csc_array(panel + hold)
    scale = float(np.abs(load).sum()) or 1.0
    carries = push > 0
    count = int(carries.sum())
    soft = np.where(carries, 1 / np.where(carries, push, 1.0), 0.0)
    w = np.asarray(factored(csc_array(matrix + under.stiffness(push))).solve(load))
    depth = under.depth(w)
    force = np.where(carries, np.maximum(push * depth, 0.0) + scale / count, 0.0)
    # as wide as all moves: from near the bonded answer it would creep along the edge of what is allowed
    gap = np.where(carries, np.maximum(force * soft - depth, 0.0) + np.abs(depth).max(), 1.0)
    for turn in range(1, _MOST):
        off = matrix @ w + under.spread(force) - load
        middle = float((force * gap).sum()) / count
        if np.linalg.norm(off) < _BALANCED * scale and middle * count < _SETTLED * abs(float(load @ w)):
            return w, turn
        at = _At(matrix, under, carries, soft, force, gap, gap - force * soft + under.depth(w), off)
        _, df, dg = at.step(-force * gap)
        far = min(_far(force, df), _far(gap, dg))
        ahead = float(((force + far * df) * np.where(carries, gap + far * dg, 0.0)).sum()) / count
        dw, df, dg = at.step(middle * (ahead / middle) ** 3 - force * gap - df * dg)
        far = min(_far(force, df), _far(gap, dg))
        w, force, gap = w + far * dw, force + far * df, gap + far * dg
    raise StageError(f"the panel on its bed did not settle in {_MOST} steps")


class _At:
    """Newton's equations about one point: how far off it is (off, open_by), and its factored stiffness."""

    def __init__(self, matrix: csc_array, under: Rests, carries: NDArray[np.bool_], *point: Array) -> None:
        self.under, self.carries = under, carries
        self.soft, self.force, self.gap, self.open_by, self.off = point
        self.give = self.force * self.soft + self.gap
        self.solver = factored(csc_array(matrix + under.stiffness(self._where(self.force / self.give))))

    def step(self, aim: Array) -> tuple[Array, Array, Array]:
        """Steps of movement, push and gap; aim : by how much the products of push and gap are to change."""
        bound = self._where((aim + self.force * self.open_by) / self.give)
        dw = np.asarray(self.solver.solve(-self.off - self.under.spread(bound)))
        moved = self.under.depth(dw)
        df = bound + self._where(self.force * moved / self.give)
        return dw, df, self._where(df * self.soft - moved - self.open_by)

    def _where(self, values: Array) -> Array:
        return np.where(self.carries, values, 0.0)


def _far(value: Array, step: Array) -> float:
    """How much of a step keeps every value positive, at most all of it."""
    falls = step < 0
    return min(1.0, _SHORT * float((-value[falls] / step[falls]).min(initial=np.inf)))
