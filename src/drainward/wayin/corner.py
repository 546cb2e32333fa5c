"""A rectangle round one right-angled corner, in closed form.

turning, sliding     the clearance of either way
corner               the better of the two, and how
Corner               what it answers
ladder               the longest line that goes round
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

__all__ = ["Corner", "corner", "ladder", "sliding", "turning"]

_SLICES = 720


@dataclass(frozen=True, slots=True)
class Corner:
    """`clearance`, m, negative where the walls would have to give way so far; `turn`, rad, None where it slides."""

    clearance: float
    turn: float | None


def corner(a: float, b: float, length: float, width: float) -> Corner:
    """The best way round a corner of corridors `a` and `b` wide, all m; the longer side of the box is `length`.

    Raises ValueError where a size is not positive or the width exceeds the length.
    """
    if not (min(a, b, width) > 0 and length >= width):
        raise ValueError(f"expected positive sizes and a length of at least the width, got {(a, b, length, width)}")
    turned, slid = turning(a, b, length, width), sliding(a, b, length, width)
    return turned if turned.clearance >= slid else Corner(slid, None)


def sliding(a: float, b: float, length: float, width: float) -> float:
    """The clearance of a box that keeps its direction, lengthwise in one corridor and crosswise in the other, m."""
    return max(min(a - width, b - length), min(a - length, b - width)) / 2


def turning(a: float, b: float, length: float, width: float) -> Corner:
    """The clearance of a box that turns by a right angle, ends lengthwise in both corridors included.

    min over t of (a cos t + b sin t - L sin t cos t - w)/(1 + cos t + sin t): three contacts, two outer walls and the
    inner corner; at either end of the turn two contacts remain, (a - w)/2 and (b - w)/2, which bound it.
    """

    def gap(t: float) -> float:
        s, c = math.sin(t), math.cos(t)
        return (a * c + b * s - length * s * c - width) / (1 + c + s)

    def slope(t: float) -> float:
        s, c = math.sin(t), math.cos(t)
        over, under = a * c + b * s - length * s * c - width, 1 + c + s
        return (-a * s + b * c - length * (c * c - s * s)) * under - over * (c - s)

    turns = np.linspace(0.0, math.pi / 2, _SLICES + 1)
    slopes = [slope(t) for t in turns]
    best = min((gap(t), t) for t in (0.0, math.pi / 2))
    for k in range(_SLICES):
        if slopes[k] <= 0 <= slopes[k + 1]:
            t = float(brentq(slope, turns[k], turns[k + 1], xtol=1e-15, rtol=8.9e-16))
            best = min(best, (gap(t), t))
    return Corner(best[0], best[1])


def ladder(a: float, b: float) -> float:
    """The longest line round the corner, m: (a^2/3 + b^2/3)^3/2, the astroid's tangent."""
    return float((a ** (2 / 3) + b ** (2 / 3)) ** 1.5)
