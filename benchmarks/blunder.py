"""Is a wrong tape reading found and named? Seeded pockets, 20 tape readings each, one of them off by an inch.

The pockets are not drawn from what the adjustment believes: leans, skews and widths are uniform, every stud has a crown
of its own, and readings are rounded to the tape's marks. A trial counts where the wrong reading is named and no other.

    python benchmarks/blunder.py [--trials 2000] [--seed 7]
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
from collections.abc import Callable

import numpy as np
from designs import UNITS
from rich.console import Console
from rich.progress import track

from drainward.job.model import Measure, What
from drainward.pocket.adjust import sift
from drainward.pocket.faces import nominal
from drainward.quantity import INCH

UNIT = UNITS[0]
LEVELS = (2 * INCH, 40 * INCH, 78 * INCH)
HEIGHT = 80 * INCH
Face = Callable[[float, float], float]


def face(rng: np.random.Generator, stands: float, skew: bool) -> Face:
    """A stud wall: where its face stands at a place along it and a height, m."""
    lean, turn = rng.uniform(-3 / 8, 3 / 8, 2) * INCH
    crown = rng.uniform(-1 / 8, 1 / 8, 6) * INCH
    jog = rng.uniform(-1 / 16, 1 / 16, 6) * INCH

    def at(along: float, z: float) -> float:
        stud = min(int(along / (16 * INCH)), 5)
        bow = crown[stud] * 4 * z * (HEIGHT - z) / HEIGHT**2 + jog[stud]
        return float(stands + lean * z / HEIGHT + (turn * along / (36 * INCH) if skew else 0.0) + bow)

    return at


def readings(rng: np.random.Generator) -> list[Measure]:
    """20 of one pocket, with the errors of a tape."""
    pocket = nominal(UNIT)
    wide, deep = (size + rng.uniform(-0.5, 0.5) * INCH for size in (pocket.width, pocket.depth))
    left, right, back = face(rng, 0.0, True), face(rng, wide, True), face(rng, 0.0, False)
    ends = deep + rng.uniform(-1 / 4, 1 / 4, 2) * INCH
    found: list[Measure] = []

    def read(what: What, true: float, **place: object) -> None:
        u = float(rng.choice([INCH / 32, INCH / 16]))
        value = round((true + u * rng.standard_normal()) / (INCH / 32)) * INCH / 32
        found.append(Measure(id=str(len(found)), room="1", what=what, value=value, u=u, **place))

    for z in LEVELS:
        for y in (2 * INCH, pocket.depth / 2, pocket.depth - 2 * INCH):
            read(What.WIDTH, right(y, z) - left(y, z), y=y, z=z)
        for x in (2 * INCH, pocket.width - 2 * INCH):
            read(What.DEPTH, ends[0] + (ends[1] - ends[0]) * x / wide - back(x, z), x=x, z=z)
    for z, wall in ((LEVELS[0], "left"), (LEVELS[0], "right"), (LEVELS[1], "left"), (LEVELS[2], "left"),
                    (LEVELS[2], "right")):  # fmt: skip
        near, far, end, corner = (left, right, 1, 0.0) if wall == "left" else (right, left, 0, pocket.width)
        dx, dy = far(pocket.depth, z) - near(0.0, z), ends[end] - back(corner, z)
        read(What.DIAGONAL, float(np.hypot(dx, dy)), wall=wall, z=z)
    return found


def named(seed: int, trial: int) -> tuple[bool, bool]:
    """Whether the one wrong reading is named alone; whether a survey without one stays whole."""
    rng = np.random.default_rng([seed, trial])
    good = readings(rng)
    wrong = int(rng.integers(len(good)))
    off = INCH * rng.choice([-1.0, 1.0])
    bad = [m.model_copy(update={"value": m.value + off}) if k == wrong else m for k, m in enumerate(good)]
    blunders = sift(UNIT, bad).blunders
    alone = len(blunders) == 1 and blunders[0].measure.id == str(wrong) and not blunders[0].rivals
    return alone, not sift(UNIT, good).blunders


def main() -> None:
    """Print the shares."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--trials", type=int, default=2000)
    ask.add_argument("--seed", type=int, default=7)
    chosen = ask.parse_args()
    trials = track(range(chosen.trials), description="surveys", console=Console(stderr=True))
    found = np.array([named(chosen.seed, trial) for trial in trials])
    print(
        f"{chosen.trials} surveys of 20 readings, one off by 1 in: it is named, and no other, {found[:, 0].mean():.4f}"
    )
    print(f"the same surveys without it: nothing named, {found[:, 1].mean():.4f}")
    print(f"blunder: {found[:, 0].mean():.4f}")


if __name__ == "__main__":
    main()
