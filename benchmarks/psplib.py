"""Does the constraint solver reach published makespans? The share of instances that do in the seconds given.

    python benchmarks/psplib.py FOLDER [--seconds 30]

FOLDER holds single-mode `.sm` files and `optimum.csv` (problem,optimum). Source of format and values: Kolisch and
Sprecher, European Journal of Operational Research 96 (1996) 205-216.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from drainward.validation import project_checks, run_check


def main() -> None:
    """Print each, then the figure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=30.0)
    asked = parser.parse_args()
    checks = project_checks(asked.folder, asked.seconds)
    reached = 0
    for check in checks:
        begun = time.monotonic()
        outcome = run_check(check)
        reached += outcome.passed is True
        print(f"{check.id}: {outcome.got:.0f}, published {check.expected:.0f}, {time.monotonic() - begun:.1f} s")
    print(f"psplib: {reached / len(checks):.3f}")


if __name__ == "__main__":
    main()
