"""What a floor is to carry, and how it is found out whether it does: `Support`, the [support] of a job."""

from __future__ import annotations

from pydantic import Field

from drainward.job.frozen import Frozen
from drainward.quantity import INCH

__all__ = ["Support"]

_POUND = 0.45359237


class Support(Frozen):
    """Limits are ours, with no source, unless `source` names theirs; SI.

    load : mass, kg, that stands on a disc of diameter `disc`, m, anywhere
    movement, strain : at most, of the panel under it, m and a ratio;  carried : share of the floor, at least
    bonded : True where it was shown that the panel sticks to its bed: else it is taken to be able to lift off
    presser, heel : of who presses where a row tells no weight, kg, and the diameter that it rests on, m
    heard, misheard : chance that a tap sounds hollow over a void, and over a bed
    bed : stiffness of a bed of mortar, Pa/m: a soft one, of 1e5 lbf/in3, is on the safe side
    """

    load: float = Field(default=300 * _POUND, gt=0, lt=2000)
    disc: float = Field(default=3 * INCH, gt=0.01, lt=0.5)
    movement: float = Field(default=INCH / 8, gt=0, lt=0.1)
    strain: float = Field(default=0.002, gt=0, lt=0.1)
    carried: float = Field(default=0.9, ge=0, lt=1)
    source: str = ""
    bonded: bool = False
    presser: float = Field(default=80.0, gt=0, lt=500)
    heel: float = Field(default=3 * INCH, gt=0.01, lt=0.5)
    heard: float = Field(default=0.9, gt=0.5, lt=1)
    misheard: float = Field(default=0.02, gt=0, lt=0.5)
    bed: float = Field(default=2.714e10, gt=1e8, lt=1e13)
