"""Made-up buildings for benchmarks and tests, by seed: `invented`; sizes as the cases 12, 60, 300, 1000 rooms.

Crews and kits are near balance, so that a gap means something. Every figure is ours (common practice, no source).
"""

from __future__ import annotations

from datetime import date, time, timedelta
from random import Random

from drainward.plan.clock import origin_of, shifts, windows
from drainward.plan.model import Building, Crew, Inspector, PlanRoom

__all__ = ["CASES", "invented"]

CASES = {12: (1, 10), 60: (2, 10), 300: (4, 12), 1000: (4, 12)}
"""Rooms: (crews, kits)."""

ZONE = "America/Chicago"
START = date(2027, 1, 4)


def invented(rooms: int, crews: int, kits: int, seed: int = 0, floor_rooms: int = 24) -> Building:
    """Twelve rooms become ready every two working days, 40 % need a correction of 2 to 6 h, half the crews can.

    An inspector comes Tuesday to Friday for 9:00-10:30, a second one Monday, Wednesday and Friday 13:30-15:00. A room
    is due when half of the crews' pace would have left it behind, drawn by seed.
    """
    rng = Random(seed)
    days = 60 + 7 * rooms // (2 * crews)
    holidays = [START + timedelta(days=44 + 45 * k) for k in range(days // 45)]
    shift = shifts(START, ZONE, days, holidays=holidays)
    pace = min(kits * 2, crews * 6) / 5
    made = []
    for number in range(rooms):
        first = shift[min(len(shift) - 1, 2 * (number // 12))]
        late = shift[min(len(shift) - 1, int(18 + 1.15 * number / pace + rng.randrange(10)))]
        fix = rng.choice((8, 12, 16, 20, 24)) if rng.random() < 0.4 else 0
        made.append(
            PlanRoom(
                id=f"{1 + number // floor_rooms}{1 + number % floor_rooms:02d}",
                floor=1 + number // floor_rooms,
                ready=first.start,
                due=late.end,
                correction=fix,
                skills=frozenset({"core"}) if fix else frozenset(),
            )
        )
    core = max(1, crews // 2)
    return Building(
        origin=origin_of(START, ZONE),
        zone=ZONE,
        rooms=tuple(made),
        crews=tuple(
            Crew(chr(65 + k), 3, shift, frozenset({"core"}) if k < core else frozenset()) for k in range(crews)
        ),
        kits=kits,
        inspectors=(
            Inspector("first inspector", windows(START, ZONE, days, (time(9), time(10, 30)), (1, 2, 3, 4), holidays)),
            Inspector("second inspector", windows(START, ZONE, days, (time(13, 30), time(15)), (0, 2, 4), holidays)),
        ),
        first=made[0].id,
    )
