"""How far is a plan from the printed bound? Made-up buildings of 12 to 1,000 rooms; the figure is the worst gap.

    python benchmarks/plan_gap.py [--rooms 12 60 300 1000] [--seed 1]

Travel, lunch, inspectors' slots and due dates are in the model. Every plan goes through the independent checker.
"""

from __future__ import annotations

import argparse
import time

from drainward.plan.checker import broken
from drainward.plan.invented import CASES, invented
from drainward.plan.solve import solve

SECONDS = {12: 20.0, 60: 20.0, 300: 60.0, 1000: 180.0}


def main() -> None:
    """Print each, then the figure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rooms", type=int, nargs="*", default=sorted(CASES))
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    worst = 0.0
    for rooms in asked.rooms:
        building = invented(rooms, *CASES[rooms], seed=asked.seed)
        begun = time.monotonic()
        answer = solve(building, SECONDS[rooms], seed=asked.seed)
        took = time.monotonic() - begun
        wrong = broken(building, answer.plan)
        now = answer.measures
        print(
            f"{rooms} rooms: done on working day {now.finish_day}, "
            f"bound {answer.bound.finish_day} ({answer.bound.how}), "
            f"gap {answer.gap_days} days, {100 * answer.gap:.1f} %; list {answer.by_list.finish_day}; "
            f"late rooms {now.late_rooms}; {answer.how}; {took:.0f} s; rules broken: {len(wrong)}"
        )
        worst = max(worst, answer.gap)
    print(f"plan_gap: {100 * worst:.1f} %")


if __name__ == "__main__":
    main()
