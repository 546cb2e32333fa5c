"""What the draft stage answers: plain frozen data that the faces show and nothing else.

Lengths in metres, slopes as ratios, areas in m2, volumes in m3; plan frame of `job.model.UnitModel`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Verdict, stage_json

__all__ = ["Ask", "Draft", "Edge", "Extreme", "FloorMap", "HighSpot", "Mend", "Mortar", "Pond", "Rejected", "Shim"]


@dataclass(frozen=True, slots=True)
class Extreme:
    """The least or the greatest fall toward the drain over the base.

    interval : its 95 % band, which holds also where the readings missed a local defect
    value, u : the band's middle, and its half-width over 1.96, since the belief is skewed
    likely : its median; x, y : middle of the base where it most likely is
    """

    value: float
    u: float
    interval: tuple[float, float]
    likely: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Pond:
    """Standing water: depth is the mean over samples that have it, depth_p95 the 95 % quantile over all samples."""

    x: float
    y: float
    depth: float
    depth_p95: float
    area: float
    volume: float
    probability: float


@dataclass(frozen=True, slots=True)
class HighSpot:
    """A place on which a straightedge laid from (x, y) to (x2, y2) rocks: height above the line of its ends."""

    x: float
    y: float
    x2: float
    y2: float
    height: float
    u: float
    probability: float


@dataclass(frozen=True, slots=True)
class Ask:
    """The next reading: what to read, where, in which direction, and why it settles most."""

    kind: str
    x: float
    y: float
    x2: float | None
    y2: float | None
    instrument: str
    why: str


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of the unit and how far to raise it (positive) or press it (negative)."""

    edge: str
    move: float


@dataclass(frozen=True, slots=True)
class Shim:
    """A shim under a corner, in whole sixteenths of an inch; negative means that the corner goes down."""

    corner: str
    x: float
    y: float
    sixteenths: int


@dataclass(frozen=True, slots=True)
class Mortar:
    """Mortar to take out or put in around (x, y)."""

    x: float
    y: float
    depth: float
    area: float
    volume: float
    do: str


@dataclass(frozen=True, slots=True)
class Mend:
    """What can be done while the bed is wet; `probability` of conforming after the rigid move, None without one."""

    edges: tuple[Edge, ...]
    shims: tuple[Shim, ...]
    probability_before: float | None
    probability: float | None
    mortar: tuple[Mortar, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Rejected:
    """A reading that was not used, with the line it stands in and why."""

    id: str
    line: int | None
    why: str


@dataclass(frozen=True, slots=True)
class FloorMap:
    """Pictures' raw material on a regular grid.

    x : (nx,), y : (ny,) node coordinates, m
    mean, sd : (ny, nx) height over the drain, m
    pond : (ny, nx) probability that water deeper than the counted depth stands
    mortar : (ny, nx) height to take off (positive) or add (negative) for the moulded shape, any lean apart, m
    arrows : (k, 4) x, y and the downhill unit vector
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    mean: NDArray[np.float64]
    sd: NDArray[np.float64]
    pond: NDArray[np.float64]
    mortar: NDArray[np.float64]
    arrows: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Draft:
    """The whole answer for one floor."""

    room: str
    stage: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    fall_min: Extreme
    fall_max: Extreme
    base: float
    ponds: tuple[Pond, ...]
    high_spots: tuple[HighSpot, ...]
    next_reading: Ask | None
    mend: Mend | None
    used: int
    rejected: tuple[Rejected, ...]
    map: FloorMap
    samples: int

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the draft stage (docs/json.md); SI throughout."""
        return {
            **stage_json(self),
            "fall": {
                "min": _extreme(self.fall_min),
                "max": _extreme(self.fall_max),
                "base": self.base,
            },
            "ponds": [{name: getattr(pond, name) for name in Pond.__slots__} for pond in self.ponds],
            "high_spots": [{name: getattr(spot, name) for name in HighSpot.__slots__} for spot in self.high_spots],
            "next_reading": None
            if self.next_reading is None
            else {name: getattr(self.next_reading, name) for name in Ask.__slots__},
            "mend": None if self.mend is None else _mend(self.mend),
            "readings": {
                "used": self.used,
                "rejected": [{"id": r.id, "line": r.line, "why": r.why} for r in self.rejected],
            },
            "samples": self.samples,
        }


def _extreme(extreme: Extreme) -> dict[str, Any]:
    return {
        "value": extreme.value,
        "u": extreme.u,
        "interval": list(extreme.interval),
        "likely": extreme.likely,
        "x": extreme.x,
        "y": extreme.y,
    }


def _mend(mend: Mend) -> dict[str, Any]:
    return {
        "rigid": {
            "edges": [{"edge": e.edge, "move": e.move} for e in mend.edges],
            "shims": [{"corner": s.corner, "x": s.x, "y": s.y, "sixteenths": s.sixteenths} for s in mend.shims],
            "probability_before": mend.probability_before,
            "probability": mend.probability,
        },
        "mortar": [
            {"x": m.x, "y": m.y, "depth": m.depth, "area": m.area, "volume": m.volume, "do": m.do} for m in mend.mortar
        ],
        "says": mend.says,
    }
