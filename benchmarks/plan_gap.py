"""How far is a plan from the printed bound? Made-up buildings of 12 to 1,000 rooms; the figure is the worst gap.

    python benchmarks/plan_gap.py [--rooms 12 60 300 1000] [--seeds 1]

Seeds 1, 2 and so on. Travel, lunch, inspectors' slots and due dates are in the model. Every plan goes through the
independent checker. Beside the seconds by the clock stand those that the processors worked: on a shared machine the
first say little.
"""

from __future__ import annotations

import argparse
import resource
import time

from drainward.plan.checker import broken
from drainward.plan.invented import CASES, invented
from drainward.plan.solve import solve

SECONDS = {12: 10.0, 60: 20.0, 300: 60.0, 1000: 180.0}


def worked() -> float:
    """Processor seconds so far, processes that have ended included."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def main() -> None:
    """Print each, then the figure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rooms", type=int, nargs="*", default=sorted(CASES))
    parser.add_argument("--seeds", type=int, default=1)
    asked = parser.parse_args()
    worst = 0.0
    for rooms in asked.rooms:
        for seed in range(1, asked.seeds + 1):
            building = invented(rooms, *CASES[rooms], seed=seed)
            begun, before = time.monotonic(), worked()
            answer = solve(building, SECONDS[rooms], seed=seed)
            took = time.monotonic() - begun
            wrong = broken(building, answer.plan)
            now = answer.measures
            print(
                f"{rooms} rooms, seed {seed}: done on working day {now.finish_day}, "
                f"bound {answer.bound.finish_day} ({answer.bound.how}), "
                f"gap {answer.gap_days} days, {100 * answer.gap:.1f} %{', proven' if answer.proven else ''}; "
                f"list {answer.by_list.finish_day}; late rooms {now.late_rooms}; {answer.how}; "
                f"{took:.0f} s, processors {worked() - before:.0f} s; rules broken: {len(wrong)}",
                flush=True,
            )
            worst = max(worst, answer.gap)
    print(f"plan_gap: {100 * worst:.1f} %")


if __name__ == "__main__":
    main()
