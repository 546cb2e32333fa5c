"""Readings as linear functionals of one height field: y = L z + datum + noise.

Functionals         points, weights and set-ups of a list of readings
as_functionals      build it from readings, refusing those that do not lie on the floor
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.floor.result import Rejected
from drainward.job.model import FLOOR_KINDS, Reading, ReadingKind, UnitModel

__all__ = ["SLACK", "Functionals", "as_functionals", "chord", "difference"]

Array = NDArray[np.float64]


# A point written at the edge may lie a rounding beyond it.
SLACK = 0.002


@dataclass(frozen=True, slots=True)
class Functionals:
    """n readings over at most three points each.

    x, y, weight : (n, 3), m, m and per-metre weights (a point not used has weight 0)
    value, u : (n,) what was read and its standard uncertainty (m, or a ratio for slopes)
    setup : (n,) index of the datum that the reading hangs on, -1 where it needs none
    """

    x: Array
    y: Array
    weight: Array
    value: Array
    u: Array
    setup: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.value)

    def apply(self, field: Array) -> Array:
        """Values of the functionals for heights given at their points: field (..., n, 3) -> (..., n)."""
        values: Array = np.einsum("...np,np->...n", field, self.weight)
        return values

    def joined(self, other: Functionals) -> Functionals:
        """Both lists, one after the other; set-ups of `other` are new ones."""
        shift = self.setup.max(initial=-1) + 1
        setup = np.where(other.setup >= 0, other.setup + shift, -1)

        def both(name: str) -> Array:
            return np.concatenate([getattr(self, name), getattr(other, name)])

        fields = (both("x"), both("y"), both("weight"), both("value"), both("u"))
        return Functionals(*fields, np.concatenate([self.setup, setup]))


def difference(x: Array, y: Array, x2: Array, y2: Array, scale: Array) -> tuple[Array, Array, Array]:
    """(z(x2, y2) - z(x, y)) * scale as points and weights, each (n, 3)."""
    zero = np.zeros_like(x)
    return np.stack([x, x2, x], 1), np.stack([y, y2, y], 1), np.stack([-scale, scale, zero], 1)


def chord(x: Array, y: Array, x2: Array, y2: Array) -> tuple[Array, Array, Array]:
    """Height of the straight line over both ends less the floor's in the middle, as points and weights, each (n, 3)."""
    half = np.full_like(x, 0.5)
    px, py = np.stack([x, x2, (x + x2) / 2], 1), np.stack([y, y2, (y + y2) / 2], 1)
    return px, py, np.stack([half, half, -2 * half], 1)


def as_functionals(
    unit: UnitModel, readings: tuple[Reading, ...]
) -> tuple[Functionals, tuple[Reading, ...], tuple[Rejected, ...]]:
    """Functionals of the floor readings, the readings used, and those refused with the reason.

    Taps and presses say nothing of the heights and are left out without a word; so are readings of the threshold
    and of the floor outside (`floor.threshold` reads those).
    """
    used: list[Reading] = []
    rejected: list[Rejected] = []
    for reading in readings:
        if reading.kind not in FLOOR_KINDS or _beyond_opening(unit, reading):
            continue
        why = _refusal(unit, reading)
        if why:
            rejected.append(Rejected(reading.id, reading.line, why))
        else:
            used.append(reading)
    setups: dict[str, int] = {}
    n = len(used)
    x, y, weight = np.zeros((n, 3)), np.zeros((n, 3)), np.zeros((n, 3))
    setup = np.full(n, -1, dtype=np.intp)
    for i, reading in enumerate(used):
        if reading.kind is ReadingKind.HEIGHT or reading.x2 is None or reading.y2 is None:
            x[i], y[i], weight[i] = reading.x, reading.y, (1.0, 0.0, 0.0)
            setup[i] = setups.setdefault(reading.setup, len(setups))
            continue
        ends = (np.array([reading.x]), np.array([reading.y]), np.array([reading.x2]), np.array([reading.y2]))
        if reading.kind is ReadingKind.CHORD:
            px, py, pw = chord(*ends)
        else:
            run = float(np.hypot(reading.x2 - reading.x, reading.y2 - reading.y))
            px, py, pw = difference(*ends, np.array([-1.0 if reading.kind is ReadingKind.WEDGE else 1.0 / run]))
        x[i], y[i], weight[i] = px[0], py[0], pw[0]
    values = np.array([r.value for r in used], dtype=float)
    u = np.array([r.u for r in used], dtype=float)
    return Functionals(x, y, weight, values, u, setup), tuple(used), tuple(rejected)


def _beyond_opening(unit: UnitModel, reading: Reading) -> bool:
    """Whether the reading lies wholly on the threshold or the floor outside."""
    return min(reading.y, reading.y2 if reading.y2 is not None else reading.y) > unit.inside_depth + SLACK


def _refusal(unit: UnitModel, reading: Reading) -> str:
    """Why this reading cannot be used, or an empty text."""
    points = [(reading.x, reading.y)]
    if reading.kind is not ReadingKind.HEIGHT:
        if reading.x2 is None or reading.y2 is None:
            return f"a {reading.kind} needs its second point x2, y2"
        points.append((reading.x2, reading.y2))
        if np.hypot(reading.x2 - reading.x, reading.y2 - reading.y) < 0.02:
            return "its two points are the same place"
    for px, py in points:
        if not (-SLACK <= px <= unit.inside_width + SLACK and -SLACK <= py <= unit.inside_depth + SLACK):
            return "it lies outside the floor"
    return ""
