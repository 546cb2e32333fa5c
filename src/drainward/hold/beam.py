"""A board on springs under single forces: `Bent`, `bend`; a post under its load: `euler`.

Hermite beam elements are exact for single forces (Timoshenko, Strength of Materials, part 1, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Bent", "bend", "euler"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Bent:
    """moved : (n,) of the board at each force, m, the way it pushes;  held : (m,) by each support, N
    moment : largest in the board, either way, N m
    """

    moved: Array
    held: Array
    moment: float


def bend(
    at: Sequence[float], force: Sequence[float], supports: Sequence[float], stiffness: float, bending: float
) -> Bent:
    """The board under forces, N, at places along it, m, held at supports of `stiffness`, N/m; bending : EI, N m2.

    Raises ValueError for fewer than two supports, on which it would turn.
    """
    if len(set(supports)) < 2:
        raise ValueError("a board turns on fewer than two supports")
    nodes = np.unique(np.round([*at, *supports], 9))
    matrix = np.zeros((2 * len(nodes), 2 * len(nodes)))
    for k, length in enumerate(np.diff(nodes)):
        matrix[2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += _element(float(length), bending)
    where_force, where_held = (2 * np.searchsorted(nodes, np.round(places, 9)) for places in (at, supports))
    right = np.zeros(len(matrix))
    np.add.at(right, where_force, force)
    np.add.at(matrix, (where_held, where_held), stiffness)
    moved: Array = np.linalg.solve(matrix, right).astype(np.float64)
    moments = [
        _element(float(length), bending)[[1, 3]] @ moved[2 * k : 2 * k + 4] for k, length in enumerate(np.diff(nodes))
    ]
    return Bent(moved[where_force], stiffness * moved[where_held], float(np.abs(moments).max()))


def euler(bending: float, length: float) -> float:
    """Load at which a post hinged at both ends buckles, N: pi² EI / length².

    bending : EI about its weak axis, N m2. Source: Euler; Timoshenko and Gere, Theory of Elastic Stability, 2.1 (from
    memory).
    """
    return math.pi**2 * bending / length**2


def _element(length: float, bending: float) -> Array:
    """Stiffness of a beam element: deflection and slope at one end, then at the other."""
    a = length
    rows = [
        [12, 6 * a, -12, 6 * a], [6 * a, 4 * a * a, -6 * a, 2 * a * a],
        [-12, -6 * a, 12, -6 * a], [6 * a, 2 * a * a, -6 * a, 4 * a * a],
    ]  # fmt: skip
    found: Array = bending / a**3 * np.array(rows)
    return found
