"""What the way in answers; plain frozen data, m, kg, rad.

WayIn       the whole answer for one room
Carry       one way to carry the unit, Overhead: what is lowest over it
Step        one stretch of the way
Change      what would open a way
Lifting     one of the lifts on the way, and how many people share it
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Verdict, stage_json

__all__ = ["Carry", "Change", "Lifting", "Overhead", "Step", "WayIn"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Step:
    """One stretch of the way, in words: from (x, y) on."""

    x: float
    y: float
    says: str


@dataclass(frozen=True, slots=True)
class Overhead:
    """room : between the unit's top and the lowest thing over its way, m, below 0 where that is lower;  what : it"""

    room: float
    what: str


@dataclass(frozen=True, slots=True, eq=False)
class Carry:
    """One way to carry the unit.

    how : upright, on its back, on its side;  length, width, height : of the box then, pipes under it counted
    low, high : the way keeps `low` all along, and none so carried and stood up at a place that was tried keeps more
    than `high`;  u : standard uncertainty of it, from the sizes of the plan
    poses : (k, 3) x, y, turn of the box's middle;  x, y : the tightest place;  touches : what it nearly touches there
    weights : by how much the clearance grows for each unit that each of `touches` is moved away
    tilt : x, y, turn, length, width of the floor that the tilt-up sweeps; None where it is upright already
    stood : (k, 3) poses of the middle of the unit standing, from there to its pocket; empty where it is upright already
    overhead : None where nobody wrote the height of anything over the way
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
    weights: tuple[float, ...] = ()
    overhead: Overhead | None = None

    @property
    def open(self) -> bool | None:
        """Whether the way is open; None where the bounds do not tell."""
        if self.overhead is not None and self.overhead.room <= 0:
            return False
        return True if self.low > 0 else False if self.high <= 0 else None


@dataclass(frozen=True, slots=True)
class Change:
    """A change that opens a way, checked by looking for it again: what to do, and the clearance that it leaves, m."""

    what: str
    how: str
    clearance: float


@dataclass(frozen=True, slots=True)
class Lifting:
    """One lift: what is done, the mass that the hands hold together, and the `limit` of one person's share, kg.

    people : who share it within the revised lifting equation's limit, None where no number does
    """

    what: str
    mass: float
    limit: float
    people: int | None


@dataclass(frozen=True, slots=True, eq=False)
class WayIn:
    """The whole answer for one room.

    carries : the one to take first, or what lacks least;  people : who carry it clear of the floor, None where no
    number does;  liftings : what has to be lifted, the carry clear of the floor last
    most : no way is clearer, however the unit is carried and wherever it is stood up, m; None where a way is open
    ruled_out : ways to carry it that cannot end upright, and why
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
    liftings: tuple[Lifting, ...] = ()
    most: float | None = None
    ruled_out: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of the stage `way in` (docs/json.md); SI throughout."""
        return {
            **stage_json(self),
            "carries": [_carry(carry) for carry in self.carries],
            "steps": [{"x": step.x, "y": step.y, "says": step.says} for step in self.steps],
            "changes": [{"what": c.what, "how": c.how, "clearance": c.clearance} for c in self.changes],
            "most": self.most,
            "ruled_out": list(self.ruled_out),
            "lift": {
                "mass": self.mass,
                "people": self.people,
                "liftings": [asdict(lifting) for lifting in self.liftings],
                "cautions": list(self.cautions),
            },
        }


def _carry(carry: Carry) -> dict[str, Any]:
    plain = {
        name: getattr(carry, name)
        for name in ("how", "length", "width", "height", "low", "high", "u", "open", "x", "y")
    }
    tilt = None if carry.tilt is None else dict(zip(("x", "y", "turn", "length", "width"), carry.tilt, strict=True))
    over = None if carry.overhead is None else asdict(carry.overhead)
    return plain | {"touches": list(carry.touches), "tilt": tilt, "overhead": over}
