"""What the way in answers: `WayIn`, its `Carry`s, `Step`s and `Change`s; plain frozen data, m, kg, rad."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Verdict

__all__ = ["Carry", "Change", "Step", "WayIn"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Step:
    """One stretch of the way, in words: from (x, y) on."""

    x: float
    y: float
    says: str


@dataclass(frozen=True, slots=True, eq=False)
class Carry:
    """One way to carry the unit.

    how : upright, on its back, on its side;  length, width, height : of the box then, pipes under it counted
    low, high : the clearance is at least and at most;  u : standard uncertainty of it, from the sizes of the plan
    poses : (k, 3) x, y, turn of the box's middle;  x, y : the tightest place;  touches : what it nearly touches there
    tilt : x, y, turn, length, width of the floor that the tilt-up sweeps; None where it is upright already
    stood : (k, 3) poses of the middle of the unit standing, from there to its pocket; empty where it is upright already
    """

    how: str
    length: float
    width: float
    height: float
    low: float
    high: float
    u: float
    poses: Array
    x: float
    y: float
    touches: tuple[str, ...]
    tilt: tuple[float, float, float, float, float] | None
    stood: Array = field(default_factory=lambda: np.empty((0, 3)))

    @property
    def open(self) -> bool | None:
        """Whether the way is open; None where the bounds do not tell."""
        return True if self.low > 0 else False if self.high < 0 else None


@dataclass(frozen=True, slots=True)
class Change:
    """A change that opens a way, checked by looking for it again: what to do, and the clearance that it leaves, m."""

    what: str
    how: str
    clearance: float


@dataclass(frozen=True, slots=True, eq=False)
class WayIn:
    """The whole answer for one room.

    carries : the clearest first;  people : who share the lift, None where no number does
    """

    room: str
    stage: str
    verdict: Verdict
    findings: tuple[Finding, ...]
    carries: tuple[Carry, ...]
    steps: tuple[Step, ...]
    changes: tuple[Change, ...]
    mass: float
    people: int | None
    cautions: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the stage `way in` (docs/json.md); SI throughout."""
        return {
            "schema": 1,
            "room": self.room,
            "stage": self.stage,
            "verdict": str(self.verdict),
            "findings": [finding.as_json() for finding in self.findings],
            "carries": [_carry(carry) for carry in self.carries],
            "steps": [{"x": step.x, "y": step.y, "says": step.says} for step in self.steps],
            "changes": [{"what": c.what, "how": c.how, "clearance": c.clearance} for c in self.changes],
            "lift": {"mass": self.mass, "people": self.people, "cautions": list(self.cautions)},
        }


def _carry(carry: Carry) -> dict[str, Any]:
    plain = {
        name: getattr(carry, name)
        for name in ("how", "length", "width", "height", "low", "high", "u", "open", "x", "y")
    }
    tilt = None if carry.tilt is None else dict(zip(("x", "y", "turn", "length", "width"), carry.tilt, strict=True))
    return plain | {"touches": list(carry.touches), "tilt": tilt}
