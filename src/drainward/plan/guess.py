"""What a room that nobody surveyed takes, by the rooms of its model that were: `Guess`, `guess`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Guess", "guess"]

_BEFORE = 2
"""As many rooms as what was taken for their spread before any was surveyed counts for; ours, no source."""


@dataclass(frozen=True, slots=True)
class Guess:
    """mean, sd : of one more room;  u : standard uncertainty of the mean, by which all such rooms are off alike."""

    mean: float
    sd: float
    u: float


def guess(known: Sequence[float], spread: float) -> Guess:
    """From what rooms of a kind take; spread : from room to room, as it was taken before any of them was known.

    The spread is a scaled inverse chi-square with two degrees of freedom before, as many more as rooms less one after.
    Source: Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, 3.3 (from memory). Raises ValueError for no room.
    """
    if not known:
        raise ValueError("expected what one room takes, or more")
    mean = sum(known) / len(known)
    squares = sum((value - mean) ** 2 for value in known)
    sd = math.sqrt((_BEFORE * spread**2 + squares) / (_BEFORE + len(known) - 1))
    return Guess(mean, sd, sd / math.sqrt(len(known)))
