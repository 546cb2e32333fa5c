"""Cubic interpolation along one axis, as an index and a weight for each of four neighbours.

Taps, taps_at   what a point takes from which nodes
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Taps", "taps_at"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Taps:
    """Point k takes the sum over j of weight[k, j] times the value at node index[k, j].

    index : (m, 4); weight : (m, 4), each row sums to one
    """

    index: NDArray[np.intp]
    weight: Array


def taps_at(nodes: Array, p: Array) -> Taps:
    """Taps of points p (m,) on evenly spaced nodes, four or more: the cubic through the four nodes around each point.

    Lagrange's weights, which reproduce every cubic, also at the ends where the four nodes lie on one side.
    """
    if len(nodes) < 4:
        raise ValueError(f"cubic interpolation needs four nodes, got {len(nodes)}")
    h = nodes[1] - nodes[0]
    first = np.clip(np.floor((p - nodes[0]) / h).astype(np.intp) - 1, 0, len(nodes) - 4)
    t = (p - nodes[0]) / h - first
    a, b, c, d = t, t - 1.0, t - 2.0, t - 3.0
    weight = np.stack([-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0], axis=-1)
    return Taps(first[:, None] + np.arange(4), weight)
