"""Placement in a pocket against closed forms, and against a general solver of linear programs as witness."""

from __future__ import annotations

from functools import cache, partial

import numpy as np
from scipy.optimize import linprog

from drainward.finding import Certainty
from drainward.pocket.fit import FITS_FROM, best, rows_at, tightest, widest
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

_NONE = np.full(3, np.nan)
_ENDS = np.array([-1.0, 61.0]) * INCH
# Outline of a unit 62 x 38 in outside, drain in the middle, 1/8 in clearance and tolerance.
_OUT = np.array([-1.0, 61.0, 0.0, 38.0, 30.0, 18.0, 2.125 + 0.125, 0.125]) * INCH
_Y = np.array([0.0, 17.0, 34.0])
_CLOSED = "closed form"
_SOLVER = "HiGHS, an open solver of linear programs, through SciPy's linprog"


def _answer(left: np.ndarray, right: np.ndarray, back: np.ndarray) -> tuple[float, float, float, float]:
    """Room, largest shim, shift to the right, in; turn, rad. Given: three gaps of each wall, in, the sides' at `_Y`."""
    wall = np.repeat(np.array([0, 2, 1], dtype=np.int64), 3)
    at = np.concatenate([_Y, _Y, np.array([0.0, 30.0, 60.0])]) * INCH
    off = np.concatenate([-1.0 - left, 61.0 + right, -back]) * INCH
    _, room, shim, place = best(wall, at, off, _NONE, _NONE[:2], _ENDS, _OUT)
    return float(room / INCH), float(shim / INCH), float(place[0] / INCH), float(place[2])


def _flat(gap: float) -> np.ndarray:
    return np.full(3, gap)


def _shared(which: int) -> float:
    return _answer(_flat(0.5), _flat(0.25), _flat(0.1))[which]


def _skewed(which: int) -> float:
    skew = 0.004
    turned = np.array([0.0, 30.0, 60.0]) * skew
    return _answer(0.25 + skew * _Y, 0.25 - skew * _Y, 0.25 - turned)[which]


def _narrow(which: int) -> float:
    return _answer(-0.2 + 0.003 * _Y, _flat(0.1), _flat(1.0))[which]


@cache
def _drawn() -> tuple[float, float, float]:
    """Greatest differences from the witness over 40 drawn pockets: room and shim, in; gains, from differences."""
    rng = np.random.default_rng(11)
    wall = np.repeat(np.array([0, 1, 2], dtype=np.int64), 10)
    at = np.concatenate([np.tile(np.linspace(2, 36, 5), 2)] * 3) * INCH
    core, front = np.array([30.1, 18.1, 3.0]) * INCH, np.full(2, 38.0) * INCH
    worst = np.zeros(3)
    for _ in range(40):
        gap = (0.3 + rng.normal(size=30) / 12) * INCH
        off = np.where(wall == 0, -INCH - gap, np.where(wall == 1, -gap, 61 * INCH + gap))
        k, g = rows_at(wall, at, off, core, front, _ENDS, _OUT, 0.001)
        wide = widest(k, g, 0.1)[1][3]
        a = np.column_stack([-g, np.ones(len(k))])
        bounds = [(-0.5, 0.5), (-0.5, 0.5), (-0.1, 0.1), (-2, 2)]
        worst[0] = max(worst[0], abs(wide + linprog([0, 0, 0, -1], a, k, bounds=bounds, method="highs").fun))
        state, v, basis, weight, _ = tightest(k, g, 30, 0.1)
        rows = np.zeros((len(k) + 30, 4))
        rows[: len(k), :3], rows[len(k) :, :3], rows[len(k) :, 3] = -g, g[:30], -1.0
        ends = np.concatenate([k - FITS_FROM, -k[:30]])
        witness = linprog([0, 0, 0, 1], rows, ends, bounds=bounds, method="highs")
        if state != 0 or not witness.success:
            worst[1] = max(worst[1], float(state == 0) + float(bool(witness.success)))
            continue
        worst[1] = max(worst[1], abs(v[3] - witness.fun))
        for r, w in zip(basis, weight, strict=True):
            if r < len(ends):
                moved = ends.copy()
                moved[r] += 1e-7
                after = linprog([0, 0, 0, 1], rows, moved, bounds=bounds, method="highs").fun
                worst[2] = max(worst[2], abs((witness.fun - after) / 1e-7 - w))
    return float(worst[0] / INCH), float(worst[1] / INCH), float(worst[2])


CHECKS: tuple[Check, ...] = (
    Check("pocket/shared-shim", "gaps of 0.5 and 0.25 in at plumb sides: largest shim", f"{_CLOSED}: half their sum",
          Certainty.COMPUTED, 0.375, 1e-5, "in", partial(_shared, 1)),
    Check("pocket/shared-shift", "the same: shift of the unit to the right", f"{_CLOSED}: half their difference",
          Certainty.COMPUTED, -0.125, 1e-5, "in", partial(_shared, 2)),
    Check("pocket/skew-turn", "pocket skewed by 0.004: turn of the unit", f"{_CLOSED}: the skew's angle",
          Certainty.COMPUTED, 0.004, 2e-6, "rad", lambda: abs(_skewed(3))),
    Check("pocket/skew-shim", "the same, 0.25 in at the sides: largest shim", f"{_CLOSED}: 0.25 in less half of "
          "62 in times half the skew squared, by which the pocket is narrower square to the flanges",
          Certainty.COMPUTED, 0.249752, 1e-5, "in", partial(_skewed, 1)),
    Check("pocket/narrow-room", "sides short by 0.2 in and free by 0.1 at the back: room", f"{_CLOSED}: half their sum",
          Certainty.COMPUTED, -0.05, 1e-4, "in", partial(_narrow, 0)),
    Check("pocket/witness-room", "40 drawn pockets, 30 faces, core and line: room, greatest difference", _SOLVER,
          Certainty.COMPUTED, 0.0, 1e-7, "in", lambda: _drawn()[0]),
    Check("pocket/witness-shim", "the same: largest shim, greatest difference", _SOLVER,
          Certainty.COMPUTED, 0.0, 1e-7, "in", lambda: _drawn()[1]),
    Check("pocket/witness-gain", "the same: what planing gains, against moving the face by 0.0001 mm", _SOLVER,
          Certainty.COMPUTED, 0.0, 1e-4, "", lambda: _drawn()[2]),
)  # fmt: skip
