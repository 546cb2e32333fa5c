"""Do the bands hold, and are the verdicts right? Seeded true floors, most of them outside the belief's family.

Each floor is read with 28 level footprints on 12 lines. For every kind of defect: how often the 95 % band of the least
fall, of the greatest fall and of the deepest pond holds the truth. Over all: false `meets` and false `fails` of every
requirement that a real window asks, and the share not proven.

    python benchmarks/calibration.py [--floors 1400] [--seed 7] [--design 12]
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from designs import UNITS, level_lines, truths, window_of
from rich.console import Console
from rich.progress import track
from rich.table import Table

from drainward.demo.floors import KINDS, true_floor
from drainward.floor.belief import believe
from drainward.floor.doubt import prudent, wide_band
from drainward.floor.fall import falls
from drainward.floor.ponds import standing
from drainward.floor.shape import INCH, moulded, radial_net
from drainward.floor.surface import surfaces

BASE = 12 * INCH
POND = INCH / 16
RISK = 0.05


@dataclass(frozen=True)
class Case:
    """One floor: truths, bands and conformance probabilities of least fall, greatest fall, deepest pond."""

    kind: str
    truth: tuple[float, float, float]
    band: tuple[tuple[float, float], ...]
    probability: tuple[float, float, float, float]
    conforms: tuple[bool, bool, bool, bool]


def one(index: int, seed: int, lines: int) -> Case:
    """Make, read and judge one floor."""
    rng = np.random.default_rng([seed, index])
    kind = KINDS[index % len(KINDS)]
    unit = UNITS[index // len(KINDS) % len(UNITS)]
    low, high = window_of(unit)
    floor = true_floor(unit, kind, rng)
    f = level_lines(unit, lines)
    f = replace(f, value=floor.read(f, rng))
    belief = believe(
        unit.inside_width, unit.inside_depth, f.apply(moulded(unit, f.x, f.y)), f, particles=250, seed=index
    )
    drawn = surfaces(belief.draw(4, index + 1), unit, INCH / 2)
    of = falls(drawn, radial_net(unit, BASE))
    deepest = standing(drawn, unit, POND).deepest
    least, greatest, pond = truths(floor, unit, BASE)
    conforms = (of.least >= low, of.greatest <= high, deepest <= POND)
    truly = (least >= low, greatest <= high, pond <= POND)
    return Case(
        kind,
        (least, greatest, pond),
        tuple(wide_band(values, drawn.missed) for values in (of.least, of.greatest, deepest)),
        (*(prudent(c) for c in conforms), prudent(np.logical_and.reduce(conforms))),
        (*truly, all(truly)),
    )


def holds(case: Case, which: int) -> bool:
    """Whether a band holds its truth."""
    low, high = case.band[which]
    # The truth's own grid and the belief's differ by about the rounding of a spot on a half-inch grid.
    slack = INCH / 1000 if which == 2 else 0.0
    return low - slack <= case.truth[which] <= high + slack


def main() -> None:
    """Print coverage kind by kind, and the verdicts."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--floors", type=int, default=1400)
    ask.add_argument("--seed", type=int, default=7)
    ask.add_argument("--design", type=int, default=12, help="lines of level footprints")
    chosen = ask.parse_args()
    console = Console(width=140)
    with ProcessPoolExecutor(2) as pool:
        cases = list(
            track(
                pool.map(partial(one, seed=chosen.seed, lines=chosen.design), range(chosen.floors), chunksize=4),
                total=chosen.floors,
                description="floors",
                console=Console(stderr=True),
            )
        )
    names = ("least fall", "greatest fall", "deepest pond")
    table = Table(
        "kind",
        "floors",
        *names,
        "with a pond",
        "pond, those",
        "least below/above, %",
        "greatest below/above, %",
        title="Share of 95 % bands that hold the truth",
    )
    lowest = 1.0
    for kind in (*KINDS, "all"):
        mine = [c for c in cases if kind in (c.kind, "all")]
        ponded = [c for c in mine if c.truth[2] > POND]
        cover = [np.mean([holds(c, w) for c in mine]) for w in range(3)]
        sides = [_sides(mine, w) for w in range(2)]
        wet = f"{np.mean([holds(c, 2) for c in ponded]):.3f}" if ponded else "-"
        table.add_row(kind, str(len(mine)), *(f"{c:.3f}" for c in cover), str(len(ponded)), wet, *sides)
        if kind != "all":
            lowest = min(lowest, *cover[:2])
    console.print(table)
    table = Table(
        "asked", "truly met", "meets", "false", "fails", "false", "not proven", title="Verdicts at a risk of 5 %"
    )
    for w, name in enumerate((*names, "all three")):
        p = np.array([c.probability[w] for c in cases])
        truly = np.array([c.conforms[w] for c in cases])
        meets, fails = p >= 1 - RISK, p <= RISK
        table.add_row(
            name, f"{truly.mean():.2f}", str(meets.sum()), _share(meets & ~truly, meets), str(fails.sum()),
            _share(fails & truly, fails), f"{1 - (meets | fails).mean():.2f}",
        )  # fmt: skip
    console.print(table)
    p = np.array([c.probability[:3] for c in cases])
    truly = np.array([c.conforms[:3] for c in cases])
    meets, fails = p >= 1 - RISK, p <= RISK
    console.print(
        f"every finding: {meets.sum()} meets, {_share(meets & ~truly, meets)} false; "
        f"{fails.sum()} fails, {_share(fails & truly, fails)} false"
    )
    print(f"calibration: {lowest:.3f}")


def _sides(cases: list[Case], which: int) -> str:
    """Percent of truths below and above their bands."""
    below = np.mean([c.truth[which] < c.band[which][0] for c in cases])
    above = np.mean([c.truth[which] > c.band[which][1] for c in cases])
    return f"{100 * below:.0f}/{100 * above:.0f}"


def _share(bad: np.ndarray, of: np.ndarray) -> str:
    return f"{bad.sum()} ({bad.sum() / of.sum():.3f})" if of.sum() else "-"


if __name__ == "__main__":
    main()
