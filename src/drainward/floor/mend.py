"""While the bed is wet: the rigid move that makes the floor conform, and the mortar that must come out or go in.

best_move      turn the unit about its drain so that the most drawn floors conform
moved_falls    what a turn does to the falls
mortar_map     height to take off or add for the moulded shape, after the move
mend           all of it in trade steps
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.optimize import minimize

from drainward.floor.fall import Falls
from drainward.floor.result import Edge, Mend, Mortar, Shim
from drainward.floor.shape import INCH, Net
from drainward.job.model import UnitModel

__all__ = ["CURED", "best_move", "mend", "mortar_map", "mortar_places", "moved_falls"]

Array = NDArray[np.float64]
Chance = Callable[[Array], float]

SIXTEENTH = INCH / 16
_CORRECTION = 0.5 * INCH  # a corner moved further than this is a new setting, not a correction
_STEEPEST = 0.1  # no set unit leans more
_WORTH_WORKING = INCH / 32
_WORTH_MOVING = 0.05  # a turn that gains less chance than this is not worth disturbing the bed

CURED = (
    "The bed has cured: the floor cannot be mended by moving the unit. What is left is for the unit's maker and "
    "whoever accepts the work: surface repair as the maker allows, or taking the unit out."
)

THRESHOLD = (
    "It is the threshold that fails, not the floor. While the bed is wet, lift the unit, take the same depth of "
    "mortar out everywhere and set it again; or settle with whoever lays the finished floor how high that will be."
)


def moved_falls(of: Falls, turn: Array) -> NDArray[np.float32]:
    """Falls (k, c) after a turn with slopes turn = (along x, along y): rises over the base are plane differences."""
    return of.fall + _fall_of_plane(of.net, turn)[:, None].astype(np.float32)


def _fall_of_plane(net: Net, turn: Array) -> Array:
    dx, dy = net.x[net.outer] - net.x[net.inner], net.y[net.outer] - net.y[net.inner]
    fall: Array = (turn[0] * dx + turn[1] * dy) / net.length
    return fall


def best_move(of: Falls, low: float | None, high: float | None, size: float, most_floors: int = 200) -> Array:
    """Slopes of the turn that makes the most drawn floors keep their falls within [low, high], (2,).

    size : greatest distance on the floor, m, for the scale of the search
    A floor counts by a soft step on its worst base, so that the search feels its way also where none conforms yet.
    """
    some = replace(of, fall=of.fall[:, :: max(of.fall.shape[1] // most_floors, 1)])
    soft = 0.001

    def shortfall(turn: Array) -> float:
        fall = moved_falls(some, turn)
        margin = np.full(fall.shape[1], np.inf)
        if low is not None:
            margin = np.minimum(margin, fall.min(axis=0) - low)
        if high is not None:
            margin = np.minimum(margin, high - fall.max(axis=0))
        # Prefer the smaller of two turns that do as well.
        return float(
            -np.mean(1.0 / (1.0 + np.exp(-np.clip(margin / soft, -30, 30)))) - margin.mean() + 0.05 * np.abs(turn).sum()
        )

    step = SIXTEENTH / size
    simplex = np.array([[0.0, 0.0], [4 * step, 0.0], [0.0, 4 * step]])
    found = minimize(
        shortfall,
        np.zeros(2),
        method="Nelder-Mead",
        options={"initial_simplex": simplex, "xatol": step / 8, "fatol": 1e-4, "maxfev": 200},
    )
    turn: Array = np.clip(np.asarray(found.x, dtype=float), -_STEEPEST, _STEEPEST)
    return turn


def corners(unit: UnitModel) -> dict[str, tuple[float, float]]:
    """The unit's four corners in the plan, m."""
    w, d = unit.inside_width, unit.inside_depth
    return {"back left": (0.0, 0.0), "back right": (w, 0.0), "front right": (w, d), "front left": (0.0, d)}


def in_sixteenths(unit: UnitModel, turn: Array) -> tuple[tuple[Shim, ...], Array]:
    """The turn as whole sixteenths at the corners, about the drain, and the turn that these make (2,)."""
    places = corners(unit)
    reach = {name: np.array([x - unit.drain.x, y - unit.drain.y]) for name, (x, y) in places.items()}
    steps = {name: round(float(r @ turn) / SIXTEENTH) for name, r in reach.items()}
    shims = tuple(Shim(name, *places[name], steps[name]) for name in places)
    # Four corners over-determine a plane: least squares gives the turn that the whole sixteenths come to.
    design = np.array([[*reach[name], 1.0] for name in places])
    made = np.linalg.lstsq(design, np.array([steps[name] * SIXTEENTH for name in places]), rcond=None)[0]
    return shims, np.asarray(made[:2], dtype=float)


def mortar_map(mean: Array, base: Array, x: Array, y: Array) -> Array:
    """Height over the moulded shape beyond any lean, (ny, nx), m: what no turn of the unit mends.

    Positive: the floor stands high, mortar must come out from under it; negative: mortar must go in. The lean is the
    plane of least absolute departure, which a bulge does not tip: weighted least squares, weights one over departure
    (E. J. Schlossmacher, "An iterative technique for absolute deviations curve fitting", JASA 68, 1973; from memory).
    """
    excess: Array = mean - base
    gx, gy = np.meshgrid(x, y)
    plane = np.stack([np.ones(excess.size), gx.ravel(), gy.ravel()], axis=1)
    some = slice(None, None, 7)
    weight = np.ones(len(plane[some]))
    lean: Array = np.zeros(3)
    for _ in range(10):
        root = np.sqrt(weight)[:, None]
        lean = np.asarray(np.linalg.lstsq(plane[some] * root, excess.ravel()[some] * root[:, 0], rcond=None)[0])
        weight = 1.0 / np.maximum(np.abs(excess.ravel()[some] - plane[some] @ lean), _WORTH_WORKING / 10)
    return excess - (plane @ lean).reshape(excess.shape)


def mortar_places(excess: Array, sd: Array, x: Array, y: Array, most: int = 6) -> tuple[Mortar, ...]:
    """Places where the floor surely stands high or low by more than 1/32 in, largest volume first."""
    area = float((x[1] - x[0]) * (y[1] - y[0]))
    places = []
    for sign, do in ((1.0, "take out"), (-1.0, "put in")):
        sure = sign * excess - 1.645 * sd > 0
        label, regions = ndimage.label(sure & (sign * excess > _WORTH_WORKING))
        for r in range(1, regions + 1):
            mine = label == r
            depth = np.where(mine, sign * excess, 0.0)
            i, j = np.unravel_index(depth.argmax(), depth.shape)
            volume = float(depth.sum() * area)
            places.append(Mortar(float(x[j]), float(y[i]), float(depth.max()), float(mine.sum() * area), volume, do))
    return tuple(sorted(places, key=lambda m: -m.volume)[:most])


def mend(unit: UnitModel, turn: Array, chance: Chance, mortar: tuple[Mortar, ...]) -> Mend:
    """The move in trade steps, its effect, and the mortar work that is left.

    turn : the wished slopes (2,); chance : probability of conforming after a turn; mortar : `mortar_places`
    """
    before = chance(np.zeros(2))
    shims, made = in_sixteenths(unit, turn)
    after = chance(made)
    if after < before + _WORTH_MOVING:
        shims, made, after = in_sixteenths(unit, np.zeros(2))[0], np.zeros(2), before
    edges = (
        Edge("left", float(-made[0] * unit.drain.x)),
        Edge("right", float(made[0] * (unit.inside_width - unit.drain.x))),
        Edge("back", float(-made[1] * unit.drain.y)),
        Edge("front", float(made[1] * (unit.inside_depth - unit.drain.y))),
    )
    says = _says(shims, before, after, mortar)
    return Mend(
        tuple(e for e in edges if abs(e.move) >= SIXTEENTH / 2),
        tuple(s for s in shims if s.sixteenths),
        before,
        after,
        mortar,
        says,
    )


def _says(shims: tuple[Shim, ...], before: float, after: float, mortar: tuple[Mortar, ...]) -> str:
    furthest = max((abs(s.sixteenths) for s in shims), default=0) * SIXTEENTH
    if not furthest:
        turn = "no turn of the whole unit helps."
    else:
        turn = (
            "turn the unit about its drain as the corners say; the chance that the floor conforms goes from "
            f"{before:.0%} to {after:.0%}."
        )
    if furthest > _CORRECTION:
        then = "That is more than a correction: lift the unit out and set it again on a fresh bed."
    elif mortar:
        then = "Then lift, work the mortar at the places named and set again; read again before anything is fastened."
    elif furthest:
        then = "Read again before anything is fastened."
    else:
        then = "No place is surely high or low enough to work on: read more first."
    return f"While the bed is wet: {turn} {then}"
