"""Local defects that a smooth field cannot carry: spots, sags, ridges and steps of unknown place, size and direction.

Form         what a defect can be, with the bounds of its sizes
Shapes       a list of defect shapes of unit height
dictionary   shapes spread evenly over all that a floor may have
nudge        a small random change of shapes, for Metropolis moves
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from drainward.quantity import INCH

__all__ = ["Bounds", "Shapes", "dictionary", "nudge"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Bounds:
    """Least and greatest half-width (standard deviation of the bell) along and across, m; prior share and number."""

    along: tuple[float, float]
    across: tuple[float, float]
    share: float
    count: int


# Common practice, no source: a fist to a hand wide, a sagging panel, a batten or a seam long, a panel's edge.
# Order: SPOT, SAG, RIDGE, STEP. Of the round ones, `along` is a multiple of `across`.
FORMS = (
    Bounds(along=(1.0, 1.6), across=(1.0 * INCH, 3.4 * INCH), share=0.6, count=1536),
    Bounds(along=(1.0, 2.2), across=(3.4 * INCH, 9.0 * INCH), share=0.1, count=384),
    Bounds(along=(4.0 * INCH, 18.0 * INCH), across=(0.9 * INCH, 2.8 * INCH), share=0.18, count=1024),
    Bounds(along=(1.0, 1.0), across=(0.25 * INCH, 1.25 * INCH), share=0.12, count=1024),
)
SPOT, SAG, RIDGE, STEP = range(4)
# A centre may lie a little beyond the edge.
_MARGIN = 1.5 * INCH


@dataclass(frozen=True, slots=True)
class Shapes:
    """Shapes of unit height, all fields of one shape (...), m and rad.

    form : SPOT, SAG or RIDGE (bells), or STEP (a ramp from -1/2 to 1/2 across a line, over twice `across`)
    x, y : centre; angle : direction of the long side; along, across : half-widths
    """

    form: NDArray[np.intp]
    x: Array
    y: Array
    angle: Array
    along: Array
    across: Array

    def __getitem__(self, index: object) -> Shapes:
        return Shapes(*(getattr(self, f.name)[index] for f in fields(self)))

    def put(self, index: object, other: Shapes) -> None:
        """Overwrite some shapes in place."""
        for f in fields(self):
            getattr(self, f.name)[index] = getattr(other, f.name)

    def at(self, px: Array, py: Array) -> Array:
        """Value of each shape at points px, py, which broadcast against the shapes' fields."""
        c, s = np.cos(self.angle), np.sin(self.angle)
        dx, dy = px - self.x, py - self.y
        v = (dy * c - dx * s) / self.across
        u = (dx * c + dy * s) / self.along
        step = self.form == STEP
        if not step.any():
            return np.exp(-0.5 * (u * u + v * v))
        return np.where(step, np.clip(0.5 * v, -0.5, 0.5), np.exp(-0.5 * (u * u + v * v)))


def dictionary(width: float, depth: float) -> tuple[Shapes, Array]:
    """Shapes a floor of this size may have, and the prior share of each (summing to 1).

    Spread by an additive recurrence, no chance in it. Source: M. Roberts, "The unreasonable effectiveness of
    quasirandom sequences", 2018 (generalised golden ratio).
    """
    parts, shares = [], []
    for form, bounds in enumerate(FORMS):
        cube = _even(bounds.count, 5)
        across = _log_between(cube[:, 4], *bounds.across)
        along = _log_between(cube[:, 3], *bounds.along) * (across if form in (SPOT, SAG) else 1.0)
        x, y = -_MARGIN + cube[:, 0] * (width + 2 * _MARGIN), -_MARGIN + cube[:, 1] * (depth + 2 * _MARGIN)
        angle = np.pi * cube[:, 2]
        if form == STEP:
            # Only its distance from the middle and its direction matter: three numbers fill the space better than five.
            cube = _even(bounds.count, 3)
            angle, along, across = np.pi * cube[:, 0], np.ones(bounds.count), _log_between(cube[:, 2], *bounds.across)
            reach = (np.abs(np.cos(angle)) * depth + np.abs(np.sin(angle)) * width) * (cube[:, 1] - 0.5)
            x, y = width / 2 - reach * np.sin(angle), depth / 2 + reach * np.cos(angle)
        parts.append((np.full(bounds.count, form), x, y, angle, along, across))
        shares.append(np.full(bounds.count, bounds.share / bounds.count))
    return Shapes(*(np.concatenate(column) for column in zip(*parts, strict=True))), np.concatenate(shares)


def nudge(shapes: Shapes, width: float, depth: float, rng: np.random.Generator) -> tuple[Shapes, NDArray[np.bool_]]:
    """A symmetric random step of every shape, and which of the new ones lie within the prior's bounds."""
    n = shapes.x.shape
    throw = rng.standard_normal((5, *n)) * rng.choice([0.15, 0.5, 1.2], size=n)
    # Either the place moves or the form does: a step as long as the size that it changes would not be symmetric.
    throw *= np.array([1, 1, 0, 0, 0] if rng.random() < 0.6 else [0, 0, 1, 1, 1]).reshape(-1, *(1,) * len(n))
    c, s = np.cos(shapes.angle), np.sin(shapes.angle)
    reach = np.where(shapes.form == STEP, 4 * INCH, shapes.along)
    u, v = throw[0] * reach, throw[1] * np.maximum(shapes.across, 0.8 * INCH)
    across = shapes.across * np.exp(0.3 * throw[2])
    round_one, step = (shapes.form == SPOT) | (shapes.form == SAG), shapes.form == STEP
    stretch = np.where(round_one, shapes.along / shapes.across, shapes.along) * np.exp(0.3 * throw[3])
    along = np.where(step, 1.0, np.where(round_one, stretch * across, stretch))
    turn = throw[4] * np.where(round_one, 0.8, 0.2)
    new = Shapes(
        shapes.form, shapes.x + u * c - v * s, shapes.y + u * s + v * c, (shapes.angle + turn) % np.pi, along, across
    )
    legal = (np.abs(new.x - width / 2) <= width / 2 + _MARGIN) & (np.abs(new.y - depth / 2) <= depth / 2 + _MARGIN)
    for form, bounds in enumerate(FORMS):
        mine = shapes.form == form
        legal &= ~mine | ((across >= bounds.across[0]) & (across <= bounds.across[1]))
        if form != STEP:
            legal &= ~mine | ((stretch >= bounds.along[0]) & (stretch <= bounds.along[1]))
    return new, legal


def _even(n: int, dims: int) -> Array:
    golden = 1.0
    for _ in range(64):
        golden = (1.0 + golden) ** (1.0 / (dims + 1))
    return (0.5 + np.arange(1, n + 1)[:, None] * golden ** -np.arange(1.0, dims + 1)) % 1.0


def _log_between(t: Array, low: float, high: float) -> Array:
    return low * (high / low) ** t
