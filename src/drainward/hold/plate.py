"""The floor panel as a thin plate on an elastic bed that is missing in voids.

Panel, isotropic     flexural rigidities
Plate, plate         a rectangle of Bogner-Fox-Schmit elements, assembled;  laid : the same on another bed
Points, points       the places of a plate at which its bed is asked
at, disc             rows that read the plate at a place, and the load of a disc on it
bent                 deflection under a load;  factored : a stiffness, for many loads
hermite              cubic shapes of an element, value and slope at either end
surface_strain       the largest principal strain at the panel's faces

Kirchhoff plate: D_x w_xxxx + 2 (D_1 + 2 D_xy) w_xxyy + D_y w_yyyy + k w = q (S. Timoshenko and S. Woinowsky-Krieger,
Theory of Plates and Shells, 2nd ed. 1959, art. 85, from memory). Element: F. K. Bogner, R. L. Fox, L. A. Schmit 1965.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuadBFS, LinearForm, MeshQuad
from skfem.helpers import dd

__all__ = [
    "Bed",
    "Edge",
    "Panel",
    "Plate",
    "Points",
    "at",
    "bent",
    "disc",
    "factored",
    "hermite",
    "isotropic",
    "laid",
    "plate",
    "points",
    "surface_strain",
]

Array = NDArray[np.float64]
Bed = Callable[[Array, Array], Array]
Edge = Literal["free", "simply supported", "clamped"]

_ORDER, _LOOK = 6, 9
"""Of the quadrature, exact for the element; points along an element's side at which the bed is asked, so that a void
whose rim cuts elements is right to 0.2 % (measured)."""
_RADII, _ANGLES = 6, 24


@dataclass(frozen=True, slots=True)
class Panel:
    """Flexural rigidities D_x, D_y, D_1, D_xy, N m;  thickness, m."""

    along: float
    across: float
    coupled: float
    twist: float
    thickness: float


def isotropic(modulus: float, poisson: float, thickness: float) -> Panel:
    """D = E t^3 / (12 (1 - nu^2)); modulus, Pa, thickness, m. Raises ValueError where one makes no plate."""
    if not (modulus > 0 and thickness > 0 and -1 < poisson < 0.5):
        raise ValueError(
            f"expected a positive modulus and thickness and -1 < nu < 0.5, got {(modulus, thickness, poisson)}"
        )
    d = modulus * thickness**3 / (12 * (1 - poisson**2))
    return Panel(d, d, poisson * d, d * (1 - poisson) / 2, thickness)


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """x : (nx,), y : (ny,) lines of nodes, m;  matrix : (n, n) stiffness, unknowns by column of nodes, then by node.

    The four of a node are w, w_x, w_y, w_xy: unknown 4 (i ny + j) + those.
    even : (n,) what a pressure of 1 Pa does;  free : (m,) unknowns that no edge holds
    """

    panel: Panel
    x: Array
    y: Array
    matrix: csc_array
    even: Array
    free: NDArray[np.int64]


def plate(panel: Panel, width: float, depth: float, step: float, bed: Bed | None = None, edge: Edge = "free") -> Plate:
    """A rectangle `width` along x by `depth` along y, elements of about `step`, all m.

    bed : its stiffness at x, y (each (..)), Pa/m: nought in a void; None for no bed
    """
    x = np.linspace(0.0, width, max(1, round(width / step)) + 1)
    y = np.linspace(0.0, depth, max(1, round(depth / step)) + 1)
    basis = Basis(MeshQuad.init_tensor(x, y), ElementQuadBFS(), intorder=_ORDER)

    @BilinearForm
    def stiffness(u: Any, v: Any, w: Any) -> Any:
        a, b = dd(u), dd(v)
        work = panel.along * a[0, 0] * b[0, 0] + panel.across * a[1, 1] * b[1, 1]
        return work + panel.coupled * (a[0, 0] * b[1, 1] + a[1, 1] * b[0, 0]) + 4 * panel.twist * a[0, 1] * b[0, 1]

    @LinearForm
    def pressure(v: Any, w: Any) -> Any:
        return 1.0 * v

    # the library numbers nodes as it likes: ours run along y, then along x
    place = np.round(basis.mesh.p / [[x[1] - x[0]], [y[1] - y[0]]]).astype(np.int64)
    node = place[0] * len(y) + place[1]
    ours = np.empty(basis.N, np.int64)
    for k in range(4):
        ours[basis.nodal_dofs[k]] = 4 * node + k
    found = stiffness.assemble(basis).tocoo()
    matrix = csc_array(coo_array((found.data, (ours[found.row], ours[found.col])), found.shape))
    even = np.empty(basis.N)
    even[ours] = pressure.assemble(basis)
    bare = Plate(panel, x, y, matrix, even, np.setdiff1d(np.arange(basis.N), _held(len(x), len(y), edge)))
    if bed is None:
        return bare
    under = points(bare)
    return laid(bare, under, under.weight * bed(under.x, under.y))


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Where the bed of a plate is asked: e elements, q places in each.

    x, y, weight : (e, q) m, m, and the area that a place stands for, m2
    shapes : (q, 16) what the 16 unknowns of an element do there;  unknowns : (e, 16) which they are
    """

    x: Array
    y: Array
    weight: Array
    shapes: Array
    unknowns: NDArray[np.int64]
    count: int

    def depth(self, w: Array) -> Array:
        """(e, q) movement of each place."""
        return np.asarray(w[self.unknowns] @ self.shapes.T)

    def spread(self, force: Array) -> Array:
        """(unknowns,) what forces (e, q), N, at the places do."""
        shares = force @ self.shapes
        return np.asarray(np.bincount(self.unknowns.ravel(), shares.ravel(), self.count), dtype=np.float64)

    def stiffness(self, push: Array) -> csc_array:
        """(unknowns, unknowns) of springs (e, q), N/m, at the places."""
        each = (self.shapes[:, :, None] * self.shapes[:, None, :]).reshape(len(self.shapes), 256)
        rows = np.repeat(self.unknowns, 16, axis=1).ravel()
        columns = np.tile(self.unknowns, (1, 16)).ravel()
        return csc_array(coo_array(((push @ each).ravel(), (rows, columns)), (self.count, self.count)))


def points(found: Plate, along: int = _LOOK) -> Points:
    """`along` squared places in each element, by Gauss and Legendre."""
    nodes, weights = np.polynomial.legendre.leggauss(along)
    share, part = (nodes + 1) / 2, weights / 2
    hx, hy = float(found.x[1]), float(found.y[1])
    nx, ny = len(found.x), len(found.y)
    over, up = hermite(share, hx, 0), hermite(share, hy, 0)
    picks = [(a, b) for a in range(4) for b in range(4)]
    shapes = np.stack([np.outer(over[a], up[b]).ravel() for a, b in picks], axis=1)
    i, j = (index.ravel() for index in np.meshgrid(np.arange(nx - 1), np.arange(ny - 1), indexing="ij"))
    unknowns = np.stack([4 * ((i + a // 2) * ny + j + b // 2) + a % 2 + 2 * (b % 2) for a, b in picks], axis=1)
    sx, sy = (grid.ravel() for grid in np.meshgrid(share, share, indexing="ij"))
    weight = np.broadcast_to(np.outer(part, part).ravel() * hx * hy, (len(i), along**2))
    px, py = np.asarray((i[:, None] + sx) * hx), np.asarray((j[:, None] + sy) * hy)
    return Points(px, py, weight, shapes, unknowns, 4 * nx * ny)


def laid(bare: Plate, under: Points, push: Array) -> Plate:
    """The plate, made without a bed, on springs (e, q), N/m, at its points."""
    return replace(bare, matrix=csc_array(bare.matrix + under.stiffness(push)))


def _held(nx: int, ny: int, edge: Edge) -> NDArray[np.int64]:
    """The unknowns that are nought at the edges."""
    if edge == "free":
        return np.empty(0, np.int64)
    node = np.arange(nx * ny).reshape(nx, ny)
    sides, ends = np.concatenate([node[:, 0], node[:, -1]]), np.concatenate([node[0], node[-1]])
    held = [4 * sides, 4 * ends, 4 * sides + 1, 4 * ends + 2]
    if edge == "clamped":
        held += [4 * sides + 2, 4 * ends + 1, 4 * sides + 3, 4 * ends + 3]
    return np.unique(np.concatenate(held))


def hermite(share: Array, length: float, order: int) -> Array:
    """(4, n) of value and slope at either end, differentiated `order` times; share : (n,) 0 to 1."""
    s = np.polynomial.Polynomial([0.0, 1.0])
    shapes = (1 - 3 * s**2 + 2 * s**3, length * (s - 2 * s**2 + s**3), 3 * s**2 - 2 * s**3, length * (s**3 - s**2))
    return np.array([(shape.deriv(order) if order else shape)(share) for shape in shapes]) / length**order


def at(found: Plate, x: Array, y: Array, order: tuple[int, int] = (0, 0)) -> csc_array:
    """(n, unknowns): the deflection at places x, y (n,), m, or its derivative of `order` along x and y."""
    nx, ny = len(found.x), len(found.y)
    hx, hy = found.x[1], found.y[1]
    i = np.clip((np.asarray(x) / hx).astype(np.int64), 0, nx - 2)
    j = np.clip((np.asarray(y) / hy).astype(np.int64), 0, ny - 2)
    along, across = hermite(x / hx - i, hx, order[0]), hermite(y / hy - j, hy, order[1])
    rows, columns, values = [], [], []
    for a in range(4):
        for b in range(4):
            rows.append(np.arange(len(i)))
            columns.append(4 * ((i + a // 2) * ny + j + b // 2) + a % 2 + 2 * (b % 2))
            values.append(along[a] * across[b])
    shape = (len(i), 4 * nx * ny)
    return csc_array(coo_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape))


def disc(found: Plate, x: float, y: float, radius: float) -> Array:
    """(unknowns,) the load of 1 N spread evenly over a disc, all of it on the plate, m."""
    nodes, weights = np.polynomial.legendre.leggauss(_RADII)
    r, share = radius * np.sqrt((nodes + 1) / 2), weights / 2
    turn = 2 * math.pi * np.arange(_ANGLES) / _ANGLES
    px, py = (x + np.outer(r, np.cos(turn))).ravel(), (y + np.outer(r, np.sin(turn))).ravel()
    return np.asarray(at(found, px, py).T @ np.repeat(share / _ANGLES, _ANGLES))


def bent(found: Plate, load: Array) -> Array:
    """(unknowns,) or (unknowns, n): what `load` of the same shape does, bed and panel never parting."""
    w = np.zeros_like(load)
    w[found.free] = factored(csc_array(found.matrix[np.ix_(found.free, found.free)])).solve(load[found.free])
    return w


def factored(matrix: csc_array) -> Any:
    """A symmetric positive definite matrix, factored sparsely."""
    return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


def surface_strain(found: Plate, w: Array, x: Array, y: Array) -> Array:
    """(n,) largest principal strain at the panel's faces: t/2 times the larger principal curvature."""
    xx, yy, xy = (at(found, x, y, order) @ w for order in ((2, 0), (0, 2), (1, 1)))
    return np.asarray(found.panel.thickness / 2 * (np.abs(xx + yy) / 2 + np.hypot((xx - yy) / 2, xy)))
