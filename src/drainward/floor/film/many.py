"""The water on many drawn floors: one run of the pour and one of the shower on each, and what comes of them.

Setting     what all floors have in common
Outcome     one number a floor for each answer
outcomes    run them, on threads
basin_on    a floor as a basin
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drainward.floor.film.flow import Basin, Ran, Spell, run
from drainward.floor.film.fluid import Fluid
from drainward.floor.film.outlet import Outlet, flow_at
from drainward.floor.film.pour import rain
from drainward.floor.film.result import Pour
from drainward.job.model import Pattern

__all__ = ["DROPS", "FILM", "Outcome", "Setting", "basin_on", "outcomes", "poured_on"]

Array = NDArray[np.float64]

DROPS = 1e-6
"""Flow at which a stream into the drain breaks up into drops, m3/s: some twenty drops a second (no source)."""
STEADY, _STEADY_SHARE = 600.0, 0.01
"""A shower runs until its film changes by less than this share of its flow, at most so long, s."""
FILM = 2e-4
"""Water deeper than this is seen to run, m: a sheen that moves (no source)."""
_LONGEST = 3600.0
_TOLERANCE = 5e-6  # of a step, m: depths and volumes to about 1 %, far below what floors differ by


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """x : (nx,), y : (ny,) m; opening : (ny, nx); lip : m; shower : m3/s, spread over the floor."""

    x: Array
    y: Array
    opening: NDArray[np.bool_]
    outlet: Outlet
    lip: float
    fluid: Fluid
    pour: Pour
    shower: float


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """For each of c floors, (c,): see `film.result.Water`; capacity : what the drain takes at the lip's level, m3/s."""

    drained: Array
    left: Array
    lip_depth: Array
    spilled: Array
    shower_depth: Array
    freeboard: Array
    overflow: Array
    capacity: Array


def basin_on(setting: Setting, z: Array) -> Basin:
    """The floor of heights z (ny, nx), m, with the setting's drain and lip."""
    dx, dy = (float(axis[1] - axis[0]) for axis in (setting.x, setting.y))
    return Basin(np.ascontiguousarray(z, dtype=float), dx, dy, setting.opening, setting.outlet, setting.lip)


def poured_on(setting: Setting, basin: Basin, frames: Sequence[float] | Array = (), drops: float = DROPS) -> Ran:
    """The pour on one floor, until its stream has fallen below `drops` (m3/s); `frames` as of `flow.run`."""
    pour = setting.pour
    falls = rain(pour, pour.poured / pour.over, setting.x, setting.y, basin.area)
    # All that moves is at least the stream, so no stream of drops is cut off before.
    return run(
        basin,
        [Spell(falls, pour.over)],
        setting.fluid,
        until=_LONGEST,
        rest=drops / 2,
        film=FILM,
        frames=frames,
        tolerance=_TOLERANCE,
    )


def outcomes(
    setting: Setting, floors: Callable[[int], Array], count: int, threads: int, tell: Callable[[float], None]
) -> Outcome:
    """The answers on floors(0) ... floors(count - 1), heights (ny, nx), m; `tell` gets the share done."""
    done = 0

    def one(k: int) -> tuple[float, ...]:
        return _one(setting, basin_on(setting, floors(k)))

    rows = []
    with ThreadPoolExecutor(max(threads, 1)) as pool:
        for row in pool.map(one, range(count)):
            rows.append(row)
            done += 1
            tell(done / count)
    return Outcome(*np.array(rows).T)


def _one(setting: Setting, basin: Basin) -> tuple[float, ...]:
    poured = poured_on(setting, basin)
    drained = poured.stream_below(DROPS)
    # Where no stream ever rose, what is left is what the run ends with.
    left = float(np.interp(drained or np.inf, poured.t, poured.volume))
    over_floor = replace(setting.pour, how=Pattern.OVER_THE_FLOOR)
    falls = rain(over_floor, setting.shower, setting.x, setting.y, basin.area)
    shower = run(
        basin,
        [Spell(falls, STEADY)],
        setting.fluid,
        until=STEADY,
        rest=_STEADY_SHARE * setting.shower,
        tolerance=_TOLERANCE,
    )
    crest = float((basin.z[-1] + basin.lip).min())
    volume = float((np.maximum(crest - basin.z, 0.0) * basin.area).sum())
    return (
        drained,
        left,
        float(poured.deepest[-1].max()),
        float(poured.spilled[-1]),
        float(shower.depth[basin.opening].max()),
        float(basin.lip - shower.deepest[-1].max()),
        volume / setting.shower,
        flow_at(setting.outlet, crest - float(basin.z[basin.opening].mean())),
    )
