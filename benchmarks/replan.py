"""How long does a replan take, and what does it move? A building struck half-way; the figure is the slowest, s.

    python benchmarks/replan.py [--rooms 1000] [--seed 1]

Struck by a room five days late, a failed water test, a lost kit and a new due date, each on its own.
"""

from __future__ import annotations

import argparse
import time

from drainward.plan.checker import broken
from drainward.plan.guide import Taste
from drainward.plan.guided import guided
from drainward.plan.invented import CASES, invented
from drainward.plan.mend import without_kit
from drainward.plan.model import Kind
from drainward.plan.replan import Event, FailedTest, LostKits, NewDue, Slip, replan


def main() -> None:
    """Print each, then the figure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rooms", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    building = invented(asked.rooms, *CASES[asked.rooms], seed=asked.seed)
    plan = guided(building, Taste(lost=2.0, ahead=15), trials=2)
    middle = plan.tasks[len(plan.tasks) // 2].start
    now = min(s.start for s in building.crews[0].shifts if s.start >= middle) + 12
    opening = {task.room for task in plan.tasks if task.start >= now}
    surveyed = next(t for t in plan.tasks if t.kind is Kind.SURVEY and t.start >= now)
    tested = max((t for t in plan.tasks if t.kind is Kind.TEST and t.end <= now), key=lambda t: t.end)
    looked = next(t for t in plan.tasks if t.kind is Kind.LOOK and t.start >= now + 30 * 96)
    events: dict[str, Event] = {
        "a room five days late": Slip(surveyed.room, surveyed.start + 5 * 96),
        "a failed water test": FailedTest(tested.room, now + 104),
        "a lost kit": LostKits(1),
        "a due date a week sooner": NewDue(looked.room, looked.end - 7 * 96),
    }
    slowest = 0.0
    for name, event in events.items():
        begun = time.monotonic()
        new = replan(building, plan, now, [event])
        took = time.monotonic() - begun
        slowest = max(slowest, took)
        struck = {event.room} if not isinstance(event, LostKits) else set()
        least = without_kit(new.building, plan, now, struck)
        others = new.moved_rooms - struck
        print(
            f"{name}: {took:.1f} s; moved {len(others)} other rooms of {len(opening)} open ones "
            f"({100 * len(others) / len(opening):.1f} %), {len(least)} of them for want of a kit whatever is done; "
            f"finish {new.before.finish} -> {new.measures.finish} slots; "
            f"late rooms {new.before.late_rooms} -> {new.measures.late_rooms}; "
            f"rules broken: {len(broken(new.building, new.plan, now))}"
        )
        for word in new.says:
            print(f"  {word}")
    print(f"replan: {slowest:.1f} s")


if __name__ == "__main__":
    main()
