"""What the water test answers: plain frozen data that the faces show and nothing else.

Lengths in metres, volumes in m3, times in seconds from the first water; plan frame of `job.model.UnitModel`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Verdict, stage_json
from drainward.floor.result import Ask, Pond, Rejected
from drainward.job.model import Pattern, WaterTest

__all__ = ["Cause", "Hang", "Play", "Pour", "Range", "Seen", "Water"]


@dataclass(frozen=True, slots=True)
class Range:
    """A quantity over the drawn floors: its 95 % band and its median. Ends may be inf (a time that never comes)."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True)
class Pour:
    """The water that is computed: `poured` m3 in `over` s, and where its bucket or head is (None: over the floor)."""

    how: Pattern
    poured: float
    over: float
    x: float | None = None
    y: float | None = None


@dataclass(frozen=True, slots=True)
class Hang:
    """What clean water does on a sound floor by surface tension alone, at the expected floor's median fall.

    least, most : thickness of a patch that hangs by itself, m, from a receding to an advancing edge
    length : along the fall, m, up to which such a strip hangs still;  fall : at which, ratio
    dip : depth in the middle from which a patch that stays tells of a dip, m
    volume : least and most that may hang on the wetted floor, m3
    """

    least: float
    most: float
    length: float
    fall: float
    dip: float
    volume: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Cause:
    """Why a test may look other than computed, and how likely that is among the causes weighed for the same.

    about : "puddles", that were seen or not, or "time" until drained
    """

    about: str
    what: str
    probability: float


@dataclass(frozen=True, slots=True)
class Seen:
    """A recorded test beside the computation from the readings alone.

    puddles_chance : that the floor as read would show what was seen, or something less expected; None: nobody looked
    drained : seconds computed;  drained_chance : of an observed time as far off or farther; None: nobody timed it
    agrees : whether both are above the job's risk; None where nothing was seen
    causes : of unexpected puddles, then of an unexpected time, likeliest first;  ask : the reading that would tell
    says : all of it in a sentence or two
    weight : share of the drawn floors that still stands after the test, 0 to 1 (effective number over all)
    """

    test: WaterTest
    puddles_chance: float | None
    drained: Range
    drained_chance: float | None
    agrees: bool | None
    causes: tuple[Cause, ...]
    ask: Ask | None
    says: str
    weight: float


@dataclass(frozen=True, slots=True)
class Play:
    """The water on the expected floor, to be played.

    x : (nx,), y : (ny,) nodes, m; t : (k,) s; depth : (k, ny, nx) float32 m
    stream, spill : (k,) flow into the drain and over the threshold, m3/s; left : (k,) m3 on the floor
    running_until : (ny, nx) when a place last was under more than `film` (m) of water, s; 0 where it never was
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    t: NDArray[np.float64]
    depth: NDArray[np.float32]
    stream: NDArray[np.float64]
    spill: NDArray[np.float64]
    left: NDArray[np.float64]
    running_until: NDArray[np.float64]
    film: float


@dataclass(frozen=True, slots=True)
class Water:
    """The whole answer for one floor.

    pour : as it was recorded, else as the job sets it
    drained : until the stream into the drain breaks up into drops, as watchers would stop it, s
    left : water on the floor then, m3;  standing : of it, what stands in ponds for good, m3
    lip_depth : greatest depth at the threshold, m;  lip : its rise over the floor there, m;  spilled : m3 lost over it
    shower : m3/s;  shower_depth : greatest depth over the opening while it runs, m
    freeboard : of the threshold while it runs: lip less the greatest depth there, m
    overflow : with the drain blocked and the shower running, until water goes over the threshold, s
    reynolds : greatest of the film away from the drain; the film law holds below about 500
    hang : what may stay by surface tension;  ponds : places where water may stand, likeliest first
    seen : each recorded test, the last one last;  play : to be shown;  puddle : (ny, nx) of play's grid,
    probability that water deeper than the counted depth stands
    used, rejected : readings;  samples : drawn floors
    """

    room: str
    stage: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    pour: Pour
    drained: Range
    left: Range
    standing: Range
    lip: float
    lip_depth: Range
    spilled: Range
    shower: float
    shower_depth: Range
    freeboard: Range
    overflow: Range
    reynolds: float
    hang: Hang
    ponds: tuple[Pond, ...]
    seen: tuple[Seen, ...]
    next_reading: Ask | None
    play: Play
    puddle: NDArray[np.float64]
    used: int
    rejected: tuple[Rejected, ...]
    samples: int

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the water test (docs/json.md); SI throughout."""
        return {
            **stage_json(self),
            "pour": {name: getattr(self.pour, name) for name in Pour.__slots__},
            **{name: _range(getattr(self, name)) for name in _RANGES},
            "lip": self.lip,
            "shower": self.shower,
            "reynolds": self.reynolds,
            "hang": {name: getattr(self.hang, name) for name in Hang.__slots__},
            "ponds": [{name: getattr(pond, name) for name in Pond.__slots__} for pond in self.ponds],
            "tests": [_seen(seen) for seen in self.seen],
            "next_reading": _ask(self.next_reading),
            "readings": {
                "used": self.used,
                "rejected": [{"id": r.id, "line": r.line, "why": r.why} for r in self.rejected],
            },
            "samples": self.samples,
        }


_RANGES = ("drained", "left", "standing", "lip_depth", "spilled", "shower_depth", "freeboard", "overflow")


def _range(of: Range) -> dict[str, float | None]:
    """Ends that are not finite become null."""
    return {name: value if np.isfinite(value := getattr(of, name)) else None for name in Range.__slots__}


def _ask(ask: Ask | None) -> dict[str, Any] | None:
    return None if ask is None else {name: getattr(ask, name) for name in Ask.__slots__}


def _seen(seen: Seen) -> dict[str, Any]:
    return {
        "test": seen.test.model_dump(mode="json", exclude={"file"}),
        "puddles_chance": seen.puddles_chance,
        "drained": _range(seen.drained),
        "drained_chance": seen.drained_chance,
        "agrees": seen.agrees,
        "causes": [{name: getattr(cause, name) for name in Cause.__slots__} for cause in seen.causes],
        "ask": _ask(seen.ask),
        "says": seen.says,
        "weight": seen.weight,
    }
