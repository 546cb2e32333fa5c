"""How near cutting lists come to the bound, and how long they take, against first fit decreasing on the same pieces.

Run alone: python benchmarks/cutting.py
Pieces of invented pockets: per unit five braces of 2x4 (two across, two back to front, one upright) and four blocks of
2x6 between studs; stock of 8, 10, 12 and 16 ft, kerf 1/8 in. The figure is feet over the bound, rounded up to the stock
step of 2 ft, at 300 units; it must be 0.
"""

from __future__ import annotations

from time import perf_counter

import numpy as np

from drainward.plan.cutting import FOOT, KERF, STOCK_FEET, Piece, saw_lumber
from drainward.quantity import INCH

SIZES = (60, 300, 1000)
DEPTHS = (32.5, 36.0, 37.25, 39.0)
GAPS = (14.5, 22.5, 13.875, 10.25, 18.0, 9.5)


def main() -> None:
    """Compile on a small list, then time, compare, print."""
    saw_lumber(pieces(5))
    over = 0
    for units in SIZES:
        wanted = pieces(units)
        start = perf_counter()
        saws = saw_lumber(wanted)
        taken = perf_counter() - start
        cost, bound = (sum(getattr(saw.plan, name) for saw in saws) for name in ("cost", "bound"))
        greedy = first_fit(wanted)
        print(
            f"{units:5} units, {sum(piece.count for piece in wanted)} pieces, "
            f"{len({(piece.section, piece.length) for piece in wanted})} lengths: {cost} ft, bound {bound} ft "
            f"({sum(saw.plan.linear for saw in saws):.2f}), {taken:.2f} s; first fit {greedy} ft "
            f"(+{greedy / bound - 1:.1%})"
        )
        if units == 300:
            over, seconds = cost - bound, taken
    print(f"300 units in {seconds:.2f} s")
    print(f"cutting: {over}")


def pieces(units: int) -> list[Piece]:
    """Invented, the same at each run."""
    rng = np.random.default_rng(6)
    made = []
    for _ in range(units):
        width = 60.0 + rng.integers(-4, 5) / 8
        made.append(Piece("2x4", width * INCH, 2, "brace"))
        made.append(Piece("2x4", rng.choice(DEPTHS) * INCH, 2, "brace"))
        made.append(Piece("2x4", (93.0 - rng.integers(0, 3) / 4) * INCH, 1, "brace"))
        made += [Piece("2x6", gap * INCH, 1, "blocking") for gap in rng.choice(GAPS, 4)]
    return made


def first_fit(wanted: list[Piece]) -> int:
    """Feet that first fit decreasing takes, each stick then shrunk to the shortest stock that holds it."""
    total = 0
    for section in {piece.section for piece in wanted}:
        lengths = sorted(
            (piece.length for piece in wanted if piece.section == section for _ in range(piece.count)), reverse=True
        )
        used: list[float] = []
        for length in lengths:
            for k, taken in enumerate(used):
                if taken + KERF + length <= max(STOCK_FEET) * FOOT:
                    used[k] += KERF + length
                    break
            else:
                used.append(length)
        total += sum(min(feet for feet in STOCK_FEET if feet * FOOT >= length - 1e-9) for length in used)
    return total


if __name__ == "__main__":
    main()
