"""Hand-made needs of rooms for the tests of what to buy and cut."""

from __future__ import annotations

from datetime import date
from typing import Any

from surveys import UNIT

from drainward.job.model import Job, Room
from drainward.plan.cutting import Piece
from drainward.plan.needs import RoomNeeds
from drainward.plan.takeoff import Takeoff, takeoff
from drainward.quantity import INCH

BRACES = (Piece("2x4", 60 * INCH, 2, "board"), Piece("2x4", 80 * INCH, 4, "post"))
BLOCKING = (Piece("2x8", 14.5 * INCH, 3, "blocking"),)
JOB = Job(name="Made-up home")


def room(name: str, ready: date | None, unit: str = UNIT.id, **more: Any) -> RoomNeeds:
    """A surveyed room with a bedded unit."""
    needs: dict[str, Any] = {
        "bedded": True, "area": 1.4, "mortar": (2.0, 0.15), "tubes": 1.5, "screws": {'#10 × 2"': 30},
        "shims": {INCH / 8: 7}, "blocking": BLOCKING, "braces": BRACES, "pads": 4, "wedges": 4, "stands": 72 * 3600.0,
    }  # fmt: skip
    return RoomNeeds(Room(room=name, unit=unit, ready=ready), **(needs | more))


def bare(name: str, ready: date | None, unit: str = UNIT.id) -> RoomNeeds:
    """A room that nobody surveyed."""
    return room(name, ready, unit, mortar=None, screws=None, shims=None, blocking=None, ceiling=False)


def building() -> Takeoff:
    """Four rooms in two weeks and one without a date."""
    monday, later = date(2026, 3, 2), date(2026, 3, 9)
    return takeoff(JOB, [room("101", monday), room("102", date(2026, 3, 6)), room("201", later), room("=1+1", None)])
