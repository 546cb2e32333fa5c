"""The worst place for a load on a plate, out of all places: `movements`, by the block recursive Green's function.

With the unknowns sorted by columns of nodes the stiffness is block tridiagonal; a forward and a backward sweep give the
exact inverse near its diagonal, where the load of a disc and the movement under it lie. No other place moves more under
a disc than one that is itself pressed: the inverse is positive definite, so that (f G g)^2 <= (f G f)(g G g).
Sweep: K. Takahashi, J. Fagan and M.-S. Chin 1973, in blocks (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array
from threadpoolctl import threadpool_limits

from drainward.hold.plate import Plate, at, disc

__all__ = ["Movements", "movements"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Movements:
    """x : (px,), y : (py,) the places that were pressed, m.

    centre : (px, py) movement under the disc's centre, m per N;  mean : (px, py) the same over the disc
    strain : (px, py) the largest principal strain of the panel's faces under the disc, per N; None where not asked
    """

    x: Array
    y: Array
    centre: Array
    mean: Array
    strain: Array | None = None

    @property
    def worst(self) -> tuple[float, float]:
        """Where the centre moves most."""
        i, j = np.unravel_index(np.argmax(self.centre), self.centre.shape)
        return float(self.x[i]), float(self.y[j])


def movements(found: Plate, radius: float, strained: bool = False) -> Movements:
    """A disc of `radius`, m, at the middle of every element where all of it lies on the plate, pressed with 1 N.

    strained : whether strains are wanted too, at 21 places under the disc each, its rim included
    The plate has no held edges and carries itself by its bed. Raises ValueError where the disc finds no place.
    """
    hx = float(found.x[1])
    x, y = (found.x[:-1] + found.x[1:]) / 2, (found.y[:-1] + found.y[1:]) / 2
    x = x[(x >= radius - 1e-9) & (x <= found.x[-1] - radius + 1e-9)]
    y = y[(y >= radius - 1e-9) & (y <= found.y[-1] - radius + 1e-9)]
    if not (len(x) and len(y)):
        raise ValueError(
            f"a disc of radius {radius!r} m has no place on a plate {found.x[-1]:.3f} by {found.y[-1]:.3f} m"
        )
    block, reach = 4 * len(found.y), math.ceil(radius / hx - 0.5) + 1
    wide = 2 * reach
    # every place on the same lattice has the same load, shifted
    loads = np.stack([disc(found, x[0], py, radius) for py in y], axis=1)
    reads = np.asarray(at(found, np.full(len(y), x[0]), y).todense()).T
    bends = _bends(found, x[0], y, radius) if strained else ()
    first = round((x[0] - hx / 2) / hx) - reach + 1
    here = slice(max(first, 0) * block, (first + wide) * block)
    # no copy of the limits survives: small blocks lose tenfold on two threads
    with threadpool_limits(1):
        inverse = _near(found, block, wide)
        loads, reads = loads[here], reads[here]
        centre, mean, strain = (np.empty((len(x), len(y))) for _ in range(3))
        for k in range(len(x)):
            window = _window(inverse, max(first, 0) + k, len(loads) // block, block)
            moved = window @ loads
            centre[k] = np.einsum("ij,ij->j", reads, moved)
            mean[k] = np.einsum("ij,ij->j", loads, moved)
            if strained:
                xx, yy, xy = (_read(rows, moved, here.start) for rows in bends)
                curved = np.abs(xx + yy) / 2 + np.hypot((xx - yy) / 2, xy)
                strain[k] = found.panel.thickness / 2 * curved.max(axis=0)
    return Movements(x, y, centre, mean, strain if strained else None)


def _bends(found: Plate, x: float, y: Array, radius: float) -> tuple[csc_array, ...]:
    """Rows that read w_xx, w_yy and w_xy at the same places under each disc at x, y (py,), disc by disc."""
    steps = radius * np.linspace(-1, 1, 5)
    dx, dy = (offset.ravel() for offset in np.meshgrid(steps, steps))
    inside = np.hypot(dx, dy) <= 1.2 * radius
    px = np.clip(x + dx[inside], 0, found.x[-1])
    py = np.clip(y + dy[inside][:, None], 0, found.y[-1])
    px, py = np.broadcast_to(px[:, None], py.shape).ravel(), py.ravel()
    return tuple(at(found, px, py, order) for order in ((2, 0), (0, 2), (1, 1)))


def _read(rows: csc_array, moved: Array, first: int) -> Array:
    """(places, py) what `rows`, of which every py-th reads under the same disc, make of its movement (n, py)."""
    rows = rows.tocsr()
    which, weight = rows.indices.reshape(rows.shape[0], -1) - first, rows.data.reshape(rows.shape[0], -1)
    disc_of = np.tile(np.arange(moved.shape[1]), rows.shape[0] // moved.shape[1])
    return np.asarray((moved[which, disc_of[:, None]] * weight).sum(axis=1).reshape(-1, moved.shape[1]))


def _near(found: Plate, block: int, wide: int) -> list[list[Array]]:
    """inverse[i][d] : block (i + d, i) of the inverse, d < wide."""
    n = len(found.x)
    matrix = found.matrix
    diagonal = [matrix[i * block : (i + 1) * block, i * block : (i + 1) * block].toarray() for i in range(n)]
    below = [matrix[(i + 1) * block : (i + 2) * block, i * block : (i + 1) * block].toarray() for i in range(n - 1)]
    alone: list[Array] = []
    passed: list[Array] = []
    for i in range(n):
        own = diagonal[i] if i == 0 else diagonal[i] - passed[-1] @ below[i - 1].T
        alone.append(np.linalg.inv(own))
        if i < n - 1:
            passed.append(below[i] @ alone[i])
    inverse: list[list[Array]] = [[] for _ in range(n)]
    inverse[-1] = [alone[-1]]
    for i in range(n - 2, -1, -1):
        # G[j, i] = -G[j, i+1] L_i for j > i
        under = [-piece @ passed[i] for piece in inverse[i + 1][: wide - 1]]
        own = alone[i] - passed[i].T @ under[0]
        inverse[i] = [(own + own.T) / 2, *under]
    return inverse


def _window(inverse: list[list[Array]], first: int, count: int, block: int) -> Array:
    """The inverse over `count` columns of nodes from `first` on."""
    out = np.empty((count * block, count * block))
    for i in range(count):
        for d in range(count - i):
            piece = inverse[first + i][d]
            rows, columns = slice((i + d) * block, (i + d + 1) * block), slice(i * block, (i + 1) * block)
            out[rows, columns], out[columns, rows] = piece, piece.T
    return out
