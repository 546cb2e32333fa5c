"""How a unit gets in: a box and a ladder round a corner in closed form, and the published lifting examples."""

from __future__ import annotations

import math
from functools import partial

from drainward.finding import Certainty
from drainward.validation.check import Check

__all__ = ["CHECKS"]

LOAD_LB = 51.0


def _corner(a: float, b: float, length: float, width: float) -> float:
    from drainward.wayin.corner import corner

    return corner(a, b, length, width).clearance


def _ladder(a: float, b: float) -> float:
    from drainward.wayin.corner import ladder

    return ladder(a, b)


def _lift(out: float, height: float, travel: float, turn: float, rate: float, start: float) -> float:
    """The limit of a lift written in inches, lb: 10 in stand for 25 cm and 51 lb for 23 kg, and the multipliers are
    rounded to two places before they are multiplied, as the manual does both."""
    from drainward.wayin.lift import Lift, weight_limit

    out, height, travel, start = (0.025 * size for size in (out, height, travel, start))
    limit = weight_limit(Lift(out, height, travel, turn, rate, origin_height=start))
    names = ("horizontal", "vertical", "distance", "asymmetry", "frequency", "coupling")
    return LOAD_LB * math.prod(round(float(getattr(limit, name)) + 1e-9, 2) for name in names)


def _multiplier(name: str, centimetres: float) -> float:
    from drainward.wayin.lift import Lift, weight_limit

    size = centimetres / 100
    lift = {
        "horizontal": Lift(size, 0.75, 0.25),
        "vertical": Lift(0.25, size, 0.25),
        "distance": Lift(0.25, 0.75, size),
    }[name]
    return float(getattr(weight_limit(lift), name))


_FORM = "geometry, least of (a cos t + b sin t - L sin t cos t - w)/(1 + cos t + sin t)"
_TABLES = "NIOSH 94-110, metric columns of Tables 1 to 3, as printed on a public worksheet"

# Example 1 is left out: it is worked with a horizontal multiplier of .44 from a table that misprints 10/23.
CHECKS: tuple[Check, ...] = (
    Check("way-in/corner", "48 in corridors, box 62 x 34 in, at half a right angle", _FORM, Certainty.COMPUTED,
          (48 * math.sqrt(2) - 31 - 34) / (1 + math.sqrt(2)), 1e-9, "in", partial(_corner, 48, 48, 62, 34)),
    Check("way-in/corner-no", "42 in corridors, box 60 x 30 in, which does not go", _FORM, Certainty.COMPUTED,
          (42 * math.sqrt(2) - 30 - 30) / (1 + math.sqrt(2)), 1e-9, "in", partial(_corner, 42, 42, 60, 30)),
    Check("way-in/sliding", "40 and 41 in corridors, box 40.5 x 39.5 in, no turn", "plane geometry", Certainty.COMPUTED,
          0.25, 1e-9, "in", partial(_corner, 40, 41, 40.5, 39.5)),
    Check("way-in/ladder", "longest ladder round corridors of 2 and 4", "MathWorld, Moving Ladder Problem",
          Certainty.SEEN, (2 ** (2 / 3) + 4 ** (2 / 3)) ** 1.5, 1e-9, "1", partial(_ladder, 2, 4)),
    Check("way-in/horizontal-40", "horizontal multiplier at 40 cm", _TABLES, Certainty.SEEN,
          0.63, 0.006, "1", partial(_multiplier, "horizontal", 40)),
    Check("way-in/horizontal-56", "horizontal multiplier at 56 cm", _TABLES, Certainty.SEEN,
          0.45, 0.006, "1", partial(_multiplier, "horizontal", 56)),
    Check("way-in/vertical-30", "vertical multiplier at 30 cm", _TABLES, Certainty.SEEN,
          0.87, 0.006, "1", partial(_multiplier, "vertical", 30)),
    Check("way-in/vertical-175", "vertical multiplier at 175 cm", _TABLES, Certainty.SEEN,
          0.70, 0.006, "1", partial(_multiplier, "vertical", 175)),
    Check("way-in/distance-70", "distance multiplier at 70 cm", _TABLES, Certainty.SEEN,
          0.88, 0.006, "1", partial(_multiplier, "distance", 70)),
    Check("way-in/distance-175", "distance multiplier at 175 cm", _TABLES, Certainty.SEEN,
          0.85, 0.006, "1", partial(_multiplier, "distance", 175)),
    Check("way-in/lift-hopper", "loading bags into a hopper: limit at the origin", "NIOSH 94-110, Example 3",
          Certainty.MEMORY, 18.9, 0.05, "lb", partial(_lift, 18, 15, 21, 45, 0.2, 15)),
    Check("way-in/lift-inspection", "package inspection: limit at the origin", "NIOSH 94-110 (2021), Example 4, p. 46",
          Certainty.SECONDARY, 34.9, 0.05, "lb", partial(_lift, 10, 22, 37, 0, 3, 22)),
    Check("way-in/lift-inspection-end", "package inspection: limit at the destination",
          "NIOSH 94-110 (2021), Example 4, p. 46", Certainty.SECONDARY,
          15.2, 0.05, "lb", partial(_lift, 20, 59, 37, 0, 3, 22)),
)  # fmt: skip
