"""How high it is over the unit where a brace stands: `Head`, `heads`.

As measured there, as the survey's ceiling tells, or as taken for granted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from drainward.floor.shape import moulded
from drainward.job.materials import Site
from drainward.job.model import Measure, SettingEvent, UnitModel, What, Work
from drainward.pocket.heights import drain_under_threshold
from drainward.quantity import INCH

__all__ = ["Head", "Place", "heads"]

Place = Literal["drain", "threshold"]

_USUAL_HEAD, _U_USUAL = 96 * INCH, 6 * INCH
"""Of a ceiling nobody measured, m; common practice, no source."""
_U_SHEET = 0.125 * INCH
"""Of heights of the floor that come from the cut sheet, m."""


@dataclass(frozen=True, slots=True)
class Head:
    """From the unit's floor beside the drain, or from the threshold's top, to what the brace is wedged against; m.

    measured : on the unit itself;  known : there, or by the survey's ceiling
    """

    length: float
    u: float
    measured: bool
    known: bool


def heads(unit: UnitModel, survey: Iterable[Measure], events: Iterable[SettingEvent], site: Site) -> dict[Place, Head]:
    """Over drain and threshold: as measured there last, else the survey's ceiling, else a usual one.

    survey, events : of the room. Without a lip on the sheet the floor's edge is taken level with the finished floor.
    """
    ceilings = [m for m in survey if m.what is What.CEILING]
    under = drain_under_threshold(unit)
    if math.isnan(under):
        under = unit.threshold_height + float(moulded(unit, np.array([unit.drain.x]), np.array([unit.inside_depth]))[0])
    levels: dict[Place, float] = {"drain": unit.threshold_height - under, "threshold": unit.threshold_height}
    works: dict[Place, Work] = {"drain": Work.HEAD_OVER_DRAIN, "threshold": Work.HEAD_OVER_THRESHOLD}
    told = list(events)
    found: dict[Place, Head] = {}
    for place, level in levels.items():
        own = max((e for e in told if e.what is works[place]), key=lambda e: site.utc(e.when), default=None)
        if own is not None and own.value is not None:
            found[place] = Head(own.value, own.u or _U_SHEET, True, True)
        elif ceilings:
            mean = sum(m.value for m in ceilings) / len(ceilings)
            found[place] = Head(mean - level, math.hypot(max(m.u for m in ceilings), _U_SHEET), False, True)
        else:
            found[place] = Head(_USUAL_HEAD - level, _U_USUAL, False, False)
    return found
