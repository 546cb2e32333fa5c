"""Made-up true floors, outside the family that the belief assumes: for the demo and for the calibration benchmark.

KINDS       the kinds of defect
TrueFloor   a hidden floor: its height anywhere, and readings of it
true_floor  a seeded floor of one kind
hollowed    a floor with one round hollow more
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drainward.floor.functionals import Functionals
from drainward.floor.shape import INCH, edge_run, moulded
from drainward.job.model import UnitModel

__all__ = ["KINDS", "TrueFloor", "hollowed", "true_floor"]

Array = NDArray[np.float64]
Part = Callable[[Array, Array], Array]

KINDS = ("plain", "tilt", "sag", "bulge", "birdbath", "ridge", "step")


@dataclass(frozen=True, slots=True)
class TrueFloor:
    """A hidden floor: moulded shape plus parts."""

    unit: UnitModel
    kind: str
    parts: tuple[Part, ...]

    def deviation(self, x: Array, y: Array) -> Array:
        """Height over the moulded shape at points of any shape, m."""
        total: Array = np.sum([part(x, y) for part in self.parts], axis=0)
        return total

    def height(self, x: Array, y: Array) -> Array:
        """Height over the moulded drain at points of any shape, m."""
        return moulded(self.unit, x, y) + self.deviation(x, y)

    def read(self, f: Functionals, rng: np.random.Generator) -> Array:
        """Noisy values of the functionals, with a datum of its own for each set-up."""
        datum = rng.uniform(0.5, 1.5, f.setup.max(initial=-1) + 1)
        offset = np.where(f.setup >= 0, datum[f.setup], 0.0) if len(datum) else 0.0
        return f.apply(self.height(f.x, f.y)) + offset + f.u * rng.standard_normal(len(f))


def true_floor(unit: UnitModel, kind: str, rng: np.random.Generator, severity: float = 1.0) -> TrueFloor:
    """A floor of one of KINDS; `severity` scales the defect, not the plain unevenness under it."""
    waves = _waves(rng, INCH * rng.uniform(0.008, 0.03), INCH * rng.uniform(9, 20))
    parts: list[Part] = [waves, _plane(unit, rng, 0.0015)]
    if kind == "tilt":
        parts.append(_plane(unit, rng, 0.006 * severity))
    elif kind == "sag":
        parts.append(_sag(unit, rng, severity))
    elif kind in ("bulge", "birdbath"):
        sign = 1.0 if kind == "bulge" else -1.0
        parts.append(_spot(unit, rng, sign * INCH * rng.uniform(0.06, 0.22) * severity))
    elif kind == "ridge":
        parts.append(_ridge(unit, rng, INCH * rng.uniform(0.06, 0.18) * severity))
    elif kind == "step":
        parts.append(_step(unit, rng, INCH * rng.uniform(0.05, 0.14) * severity))
    elif kind != "plain":
        raise ValueError(f"kind is one of {', '.join(KINDS)}, got {kind!r}")
    return TrueFloor(unit, kind, tuple(parts))


def hollowed(floor: TrueFloor, x: float, y: float, reach: float, depth: float) -> TrueFloor:
    """The floor with a hollow round (x, y) that touches nothing farther off than `reach`; all m."""
    return replace(floor, parts=(*floor.parts, _cap(x, y, reach, -depth)))


def _waves(rng: np.random.Generator, size: float, length: float, modes: int = 60) -> Part:
    """A smooth random surface of squared-exponential covariance, as a sum of waves."""
    k = rng.standard_normal((modes, 2)) / length
    phase = rng.uniform(0, 2 * np.pi, modes)
    size *= np.sqrt(2.0 / modes)

    def part(x: Array, y: Array) -> Array:
        z = np.zeros(np.broadcast(x, y).shape)
        for (kx, ky), p in zip(k, phase, strict=True):
            z += np.cos(kx * x + ky * y + p)
        return size * z

    return part


def _plane(unit: UnitModel, rng: np.random.Generator, sd: float) -> Part:
    a, b = sd * rng.standard_normal(2)
    return lambda x, y: a * (x - unit.inside_width / 2) + b * (y - unit.inside_depth / 2)


def _place(unit: UnitModel, rng: np.random.Generator, margin: float = 2 * INCH) -> tuple[float, float]:
    while True:
        x = rng.uniform(margin, unit.inside_width - margin)
        y = rng.uniform(margin, unit.inside_depth - margin)
        if np.hypot(x - unit.drain.x, y - unit.drain.y) > unit.drain.radius + margin:
            return x, y


def _spot(unit: UnitModel, rng: np.random.Generator, height: float) -> Part:
    """A bell or a rounded cap, 3 to 7 in wide at half its height."""
    cx, cy = _place(unit, rng)
    wide = INCH * rng.uniform(3, 7)
    if rng.random() < 0.5:
        return lambda x, y: height * np.exp(-4 * np.log(2) * ((x - cx) ** 2 + (y - cy) ** 2) / wide**2)
    return _cap(cx, cy, wide, height)


def _cap(cx: float, cy: float, reach: float, height: float) -> Part:
    def cap(x: Array, y: Array) -> Array:
        r = np.minimum(np.hypot(x - cx, y - cy) / reach, 1.0)
        return np.asarray(height * 0.5 * (1 + np.cos(np.pi * r)))

    return cap


def _ridge(unit: UnitModel, rng: np.random.Generator, height: float) -> Part:
    cx, cy = _place(unit, rng)
    angle = rng.uniform(0, np.pi)
    long, wide = INCH * rng.uniform(12, 40), INCH * rng.uniform(2.5, 6)

    def part(x: Array, y: Array) -> Array:
        u = (x - cx) * np.cos(angle) + (y - cy) * np.sin(angle)
        v = (y - cy) * np.cos(angle) - (x - cx) * np.sin(angle)
        along = np.clip((long / 2 - np.abs(u)) / (2 * INCH), 0.0, 1.0)
        return np.asarray(height * np.exp(-4 * np.log(2) * v**2 / wide**2) * along**2 * (3 - 2 * along))

    return part


def _step(unit: UnitModel, rng: np.random.Generator, height: float) -> Part:
    cx, cy = _place(unit, rng, 6 * INCH)
    angle = rng.uniform(0, 2 * np.pi)
    wide = INCH * rng.uniform(0.5, 2)

    def part(x: Array, y: Array) -> Array:
        v = (y - cy) * np.cos(angle) - (x - cx) * np.sin(angle)
        t = np.clip(v / wide + 0.5, 0.0, 1.0)
        return np.asarray(height * t * t * (3 - 2 * t))

    return part


def _sag(unit: UnitModel, rng: np.random.Generator, severity: float) -> Part:
    """A panel sunk between the drain and the edge: a broad shallow dish half way out."""
    angle = rng.uniform(0, 2 * np.pi)
    run = float(edge_run(unit, np.array(angle)))
    cx, cy = unit.drain.x + run / 2 * np.cos(angle), unit.drain.y + run / 2 * np.sin(angle)
    radial, across = max(run * rng.uniform(0.3, 0.45), 4 * INCH), INCH * rng.uniform(7, 14)
    depth = INCH * rng.uniform(0.06, 0.2) * severity

    def part(x: Array, y: Array) -> Array:
        u = (x - cx) * np.cos(angle) + (y - cy) * np.sin(angle)
        v = (y - cy) * np.cos(angle) - (x - cx) * np.sin(angle)
        return np.asarray(-depth * np.exp(-0.5 * (u / radial) ** 2 - 0.5 * (v / across) ** 2))

    return part
