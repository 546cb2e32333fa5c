"""Withdrawal values of screws against printed tables of the National Design Specification."""

from __future__ import annotations

from functools import partial

from drainward.finding import Certainty
from drainward.pocket.screws import lag_screw, wood_screw
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

_POUNDS_PER_INCH = 4.4482216152605 / INCH
_TABLE = "NDS for Wood Construction, table 12.2A, page 77, printed to the pound"
_PRINTED = (
    (0.73, 1 / 4, 397), (0.55, 1 / 4, 260), (0.55, 3 / 8, 352), (0.50, 1 / 4, 225), (0.50, 5 / 16, 266),
    (0.50, 3 / 8, 305), (0.50, 1 / 2, 378), (0.43, 1 / 2, 302), (0.42, 1 / 4, 173), (0.42, 3 / 8, 235),
    (0.36, 1, 389),
)  # fmt: skip


def _lag(gravity: float, inches: float) -> float:
    return lag_screw(gravity, inches * INCH) / _POUNDS_PER_INCH


def _number_ten() -> float:
    return wood_screw(0.45, 0.190 * INCH) / _POUNDS_PER_INCH


CHECKS: tuple[Check, ...] = (
    Check("screws/wood-10", "#10 wood screw, G 0.45, withdrawal for each inch of thread",
          "engineeringtoolbox.com on wood screws, NDS 12.2.2 (prints 109, cut off)", Certainty.SEEN, 109, 1, "lbf/in",
          _number_ten),
    *(
        Check(f"screws/lag-{gravity:.2f}-{inches:g}", f'lag screw {inches:g}", G {gravity:.2f}, each inch of thread',
              _TABLE, Certainty.SEEN, printed, 1, "lbf/in", partial(_lag, gravity, inches))
        for gravity, inches, printed in _PRINTED
    ),
)  # fmt: skip
