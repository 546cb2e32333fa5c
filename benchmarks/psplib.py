"""Does the constraint solver reach published makespans? The share of instances that do in the seconds given.

    python benchmarks/psplib.py FOLDER [--seconds 30]

FOLDER holds single-mode `.sm` files and `optimum.csv` (problem,optimum). Source of format and values: Kolisch and
Sprecher, European Journal of Operational Research 96 (1996) 205-216.
"""

from __future__ import annotations

import argparse
import csv
import time
from pathlib import Path

from drainward.plan.psplib import read_sm, shortest


def main() -> None:
    """Print each, then the figure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=30.0)
    asked = parser.parse_args()
    with (asked.folder / "optimum.csv").open(newline="") as table:
        rows = [(row["problem"], int(row["optimum"])) for row in csv.DictReader(table)]
    reached = 0
    for name, optimum in rows:
        begun = time.monotonic()
        found = shortest(read_sm((asked.folder / name).read_text(), name), asked.seconds)
        reached += found.makespan == optimum
        took = time.monotonic() - begun
        print(f"{name}: {found.makespan}, published {optimum}, bound {found.bound}, {took:.1f} s")
    print(f"psplib: {reached / len(rows):.3f}")


if __name__ == "__main__":
    main()
