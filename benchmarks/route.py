"""How long the way through a floor plan of twelve rooms takes, from a cold plan to two proved bounds.

Run alone: python benchmarks/route.py
Six rooms on either side of a corridor, a lift lobby at its end; a unit goes from the lift into the last room on its
back's footprint and upright. Both bounds, one hundredth of an inch apart, are part of the time; compiling is not.
"""

from __future__ import annotations

from statistics import median
from time import perf_counter

from drainward.quantity import INCH
from drainward.wayin.plan import Door, Plan, Wall, barriers
from drainward.wayin.route import Route, find_route

ROUNDS = 5
ROOM, DEEP, CORRIDOR, DOOR = 12 * 12.0, 14 * 12.0, 66.0, 42.0


def twelve_rooms() -> Plan:
    """Six rooms above and six below a corridor; sizes in inches, taken to metres."""
    long, low, high = 6 * ROOM, DEEP, DEEP + CORRIDOR
    top = high + DEEP
    lines = [
        ("outside", [(0, 0), (long, 0), (long, top), (0, top), (0, 0)]),
        ("south", [(0, low), (long, low)]),
        ("north", [(0, high), (long, high)]),
    ]
    lines += [(f"{k} south", [(k * ROOM, 0), (k * ROOM, low)]) for k in range(1, 6)]
    lines += [(f"{k} north", [(k * ROOM, high), (k * ROOM, top)]) for k in range(1, 6)]
    doors = []
    for k in range(6):
        x = k * ROOM + 50
        doors += [(f"{k} south", (x, low), (x + DOOR, low)), (f"{k} north", (x, high), (x + DOOR, high))]
    return Plan(
        "1",
        tuple(Wall(name, tuple((x * INCH, y * INCH) for x, y in points)) for name, points in lines),
        tuple(Door(name, (a[0] * INCH, a[1] * INCH), (b[0] * INCH, b[1] * INCH)) for name, a, b in doors),
    )


def way(plan: Plan, length: float, width: float) -> Route:
    """From the lift, at the corridor's left end, into the last room above it."""
    faces, _ = barriers(plan, 84 * INCH)
    start = (60 * INCH, (DEEP + CORRIDOR / 2) * INCH, None)
    goal = ((5.5 * ROOM) * INCH, (DEEP + CORRIDOR + DEEP / 2) * INCH, None)
    return find_route(faces, length * INCH, width * INCH, start, goal)


def main() -> None:
    """Time, print."""
    plan = twelve_rooms()
    seconds = []
    for length, width in ((61.5, 37.5), (80.0, 37.5)):
        way(plan, length, width)
        times = []
        for _ in range(ROUNDS):
            began = perf_counter()
            found = way(plan, length, width)
            times.append(perf_counter() - began)
        print(f"{length:g} x {width:g} in: {found.low / INCH:.4f} to {found.high / INCH:.4f} in, {median(times):.3f} s")
        seconds.append(median(times))
    print(f"route: {max(seconds):.3f}")


if __name__ == "__main__":
    main()
