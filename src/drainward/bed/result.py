"""What the bed stage answers: `BedPlan`, with `OffLimit` and `SpotAsked`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.bed.batches import Batches
from drainward.bed.bead import Bead
from drainward.bed.mix import Mix
from drainward.bed.ridges import Squeeze, Zone, pour_words
from drainward.bed.void import Void
from drainward.finding import Finding, Verdict, stage_json

__all__ = ["BedPlan", "OffLimit", "SpotAsked"]


@dataclass(frozen=True, slots=True)
class SpotAsked:
    """The spot height that tells most of what is in doubt: where, in the unit's frame, m, and why.

    settles : share of the doubt's variance that it takes away, 0 to 1;  finding : the id of what is in doubt
    """

    x: float
    y: float
    settles: float
    why: str
    finding: str


@dataclass(frozen=True, slots=True, eq=False)
class OffLimit:
    """A place where the bed would be too thin (slab to grind) or too thick (fill first).

    x, y : of the point that needs most, m;  area : m2;  much : to take off or fill there so that it is sure, m
    chance : that it is off its limit there
    """

    what: str
    x: float
    y: float
    area: float
    much: float
    chance: float
    mask: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class BedPlan:
    """The bed of one room: what to fill, mix, place, comb and lay under the threshold.

    void : None where the cut sheet does not tell how high the floor stands, or nobody read the slab under it
    mix, batches : None besides where the volume is not known to within a bag
    assumed : what nobody measured or wrote down, in sentences
    """

    room: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    void: Void | None
    off_limits: tuple[OffLimit, ...]
    zones: tuple[Zone, ...]
    mix: Mix | None
    batches: Batches | None
    bead: Bead
    squeeze: Squeeze | None
    asked: SpotAsked | None
    assumed: tuple[str, ...]
    stage: str = "bed"

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the bed (docs/json.md); SI throughout."""
        asked, squeeze = self.asked, self.squeeze
        return {
            **stage_json(self),
            "void": None if self.void is None else _void(self.void),
            "off_limits": [
                {"what": o.what, "x": o.x, "y": o.y, "area": o.area, "much": o.much, "chance": o.chance}
                for o in self.off_limits
            ],
            "zones": [_zone(zone) for zone in self.zones],
            "pour": list(pour_words(self.zones)),
            "mix": None if self.mix is None else self.mix.as_json(),
            "batches": None if self.batches is None else self.batches.as_json(),
            "bead": self.bead.as_json(),
            "squeeze": None
            if squeeze is None
            else {"pressure": list(squeeze.pressure), "area": list(squeeze.area), "flat": list(squeeze.flat)},
            "next_spot": None
            if asked is None
            else {"x": asked.x, "y": asked.y, "settles": asked.settles, "why": asked.why},
            "assumed": list(self.assumed),
        }


def _void(void: Void) -> dict[str, Any]:
    return {
        "volume": {"value": void.volume, "u": void.u},
        "over_slab": void.over_slab,
        "by_height": void.by_height,
        "in_box": void.in_box,
        "x": void.x.tolist(),
        "y": void.y.tolist(),
        "mean": void.mean.round(6).tolist(),
        "sd": void.sd.round(6).tolist(),
        "box_out": {"x": void.box.x, "y": void.box.y, "wide": void.box.wide, "long": void.box.long,
                    "deep": void.box.deep, "measured": void.box.measured},
    }  # fmt: skip


def _zone(zone: Zone) -> dict[str, Any]:
    return {
        "name": zone.name, "box": zone.box, "x": zone.x, "y": zone.y, "area": zone.area,
        "thickness": zone.thickness, "low": zone.low, "high": zone.high, "volume": zone.volume,
        "notch": zone.notch.size, "base": zone.base, "top": zone.top, "touches": zone.touches,
    }  # fmt: skip
