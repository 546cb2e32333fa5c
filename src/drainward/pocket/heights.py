"""Heights of a unit in its pocket: threshold, floor, bed and pipe: `Heights`, `heights`; `in_unit` turns places."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drainward.floor.shape import moulded
from drainward.job.model import UnitModel
from drainward.pocket.limits import Limits
from drainward.pocket.shape import Pocket

__all__ = ["Heights", "drain_under_threshold", "heights", "in_unit", "lift"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Heights:
    """Heights over the finished floor outside, m; standard uncertainties where they come from the survey.

    rise   : of the threshold, u_rise;  rise_asked : as the cut sheet gives it
    drain  : of the floor's lowest place;  cut : where to cut the drain pipe, cut_within : tolerance either way,
             negative where no cut both seats and never lifts the floor;  u_cut
             drain, cut and what follows are nan where the sheet does not tell the threshold's lip
    spot   : (j,) indices into the pocket's slab spots that lie under the floor and clear of the recess and the core
    under  : (j,) from the slab to the underside of the panel (bedded) or of the base
    grind, fill : (j,) slab to take off or to build up there so that `under` is within its limits;  u : (j,)
    """

    rise: float
    u_rise: float
    rise_asked: float
    drain: float
    cut: float
    cut_within: float
    u_cut: float
    spot: NDArray[np.intp]
    under: Array
    grind: Array
    fill: Array
    u: Array


@lru_cache(maxsize=32)
def drain_under_threshold(unit: UnitModel) -> float:
    """From the drain up to the threshold's top, m; nan where the sheet does not tell the lip.

    The lip stands over the lowest floor beside the threshold.
    """
    if unit.threshold_lip is None:
        return float("nan")
    x = np.linspace(0.0, unit.inside_width, 61)
    return unit.threshold_lip + float(moulded(unit, x, np.full_like(x, unit.inside_depth)).min())


def lift(over: Array, limits: tuple[float, float], most: float) -> Array:
    """How far above its asked height the unit stands best, m, for slabs (c, j).

    over : from slab to underside with the unit at its asked height;  limits : least and most of it;  most : either way
    Nought where every spot allows it, else the least move that they all allow; where they allow none, the move that
    leaves the least to grind or fill at the worst spot.
    """
    if not over.shape[1]:
        return np.zeros(len(over))
    low, high = limits[0] - over.min(axis=1), limits[1] - over.max(axis=1)
    move = np.where(low <= high, np.clip(0.0, low, np.maximum(low, high)), (low + high) / 2)
    kept: Array = np.clip(move, -most, most)
    return kept


def heights(unit: UnitModel, pocket: Pocket, place: Array, limits: Limits) -> Heights:
    """The heights of a unit that stands at `place` (3,): shift x, y along the unit's own axes, m, and turn, rad."""
    below = drain_under_threshold(unit)
    asked = unit.threshold_height
    spot = np.flatnonzero(_under_floor(unit, pocket, place, limits)) if np.isfinite(below) else np.zeros(0, np.intp)
    x, y = in_unit(pocket.slab_x[spot], pocket.slab_y[spot], place)
    # A base is level underneath; a bedded panel follows its floor.
    shape = moulded(unit, x, y) if unit.style == "bedded" else np.zeros(len(spot))
    over = asked - below + shape - unit.floor.thickness - pocket.slab[spot]
    allowed = (limits.bed_least, limits.bed_most) if unit.style == "bedded" else (0.0, limits.base_most)
    move = float(lift(over[None], allowed, limits.rise_off)[0])
    first = len(pocket) + 3
    u = np.sqrt(np.diag(pocket.covariance)[first + spot])
    # The height is the crew's to set; where it hangs on the slab it is as unsure as the spots that it hangs on.
    u_rise = float(u.max(initial=0.0)) if abs(move) > 0.0 else 0.0
    under = over + move
    drain = asked + move - below
    low = drain - unit.drain.body_depth + limits.pipe_least
    high = drain - unit.drain.body_depth + min(limits.pipe_most, unit.drain.body_depth)
    return Heights(
        rise=asked + move,
        u_rise=u_rise,
        rise_asked=asked,
        drain=drain,
        cut=(low + high) / 2,
        cut_within=(high - low) / 2,
        u_cut=u_rise,
        spot=spot,
        under=under,
        grind=np.maximum(allowed[0] - under, 0.0),
        fill=np.maximum(under - allowed[1], 0.0),
        u=u,
    )


def in_unit(x: Array, y: Array, place: Array) -> tuple[Array, Array]:
    """Places of the pocket in the unit's own frame."""
    c, s = np.cos(place[2]), np.sin(place[2])
    return c * x + s * y - place[0], -s * x + c * y - place[1]


def _under_floor(unit: UnitModel, pocket: Pocket, place: Array, limits: Limits) -> NDArray[np.bool_]:
    x, y = in_unit(pocket.slab_x, pocket.slab_y, place)
    inside = (x >= 0) & (x <= unit.inside_width) & (y >= 0) & (y <= unit.inside_depth)
    cx, cy = pocket.core if np.isfinite(pocket.core).all() else (np.nan, np.nan)
    dx, dy = np.abs(pocket.slab_x - cx), np.abs(pocket.slab_y - cy)
    free = max(limits.recess, 0.0 if np.isnan(pocket.core_radius) else pocket.core_radius)
    recess = (dx <= free) & (dy <= free) if np.isfinite(cx) else np.hypot(x - unit.drain.x, y - unit.drain.y) <= free
    under: NDArray[np.bool_] = inside & ~recess & np.isfinite(pocket.slab)
    return under
