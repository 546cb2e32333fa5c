"""Does asking settle the verdict with fewer readings? The share still not proven, asked against fixed patterns.

Each hidden floor is read one asked reading at a time (9 in or 24 in level), and with three fixed patterns: 28 level
footprints on 12 lines, 32 on 16 lines, 60 spot heights on a grid. Same floors, same engine, same rule.

    python benchmarks/asking.py [--floors 140] [--seed 11] [--most 24]
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np
from designs import UNITS, height_grid, level_lines, truths, window_of
from rich.console import Console
from rich.progress import track
from rich.table import Table

from drainward.demo.floors import KINDS, TrueFloor, true_floor
from drainward.floor.ask import DEFAULT_TOOLS, as_functional, next_reading
from drainward.floor.belief import believe
from drainward.floor.doubt import prudent
from drainward.floor.fall import falls
from drainward.floor.functionals import Functionals
from drainward.floor.ponds import standing
from drainward.floor.shape import INCH, moulded, radial_net
from drainward.floor.surface import Surfaces, surfaces
from drainward.job.model import UnitModel

BASE, POND, RISK = 12 * INCH, INCH / 16, 0.05
GRIDS = ((10, 6), (8, 5), (6, 4))


def drawn_floors(unit: UnitModel, f: Functionals, seed: int) -> tuple[Surfaces, np.ndarray]:
    """Drawn floors given the readings, and whether each meets least fall, greatest fall and pond depth, (3, c)."""
    belief = believe(
        unit.inside_width, unit.inside_depth, f.apply(moulded(unit, f.x, f.y)), f, particles=112, seed=seed
    )
    drawn = surfaces(belief.draw(4, seed + 1), unit, INCH / 2)
    of = falls(drawn, radial_net(unit, BASE, lines=72))
    low, high = window_of(unit)
    return drawn, np.array([of.least >= low, of.greatest <= high, standing(drawn, unit, POND).deepest <= POND])


def settled(conforms: np.ndarray) -> bool | None:
    """True meets, False fails, None not proven."""
    p = [prudent(c) for c in conforms]
    return False if min(p) <= RISK else True if min(p) >= 1 - RISK else None


def one(index: int, seed: int, most: int) -> tuple[bool, dict[str, bool | None], list[bool | None]]:
    """Whether the hidden floor conforms; the verdict by each fixed pattern; and after each asked reading."""
    rng = np.random.default_rng([seed, index])
    unit = UNITS[index // len(KINDS) % len(UNITS)]
    floor = true_floor(unit, KINDS[index % len(KINDS)], rng)
    fixed = {"28 on 12 lines": level_lines(unit, 12), "32 on 16 lines": level_lines(unit, 16)}
    fixed |= {f"{a * b} heights": height_grid(unit, a, b) for a, b in GRIDS}
    done = {}
    for name, f in fixed.items():
        read = replace(f, value=floor.read(f, rng))
        done[name] = settled(drawn_floors(unit, read, index)[1])
    low, high = window_of(unit)
    least, greatest, pond = truths(floor, unit, BASE)
    truly = least >= low and greatest <= high and pond <= POND
    return truly, done, asked(unit, floor, index, most, rng)


def asked(unit: UnitModel, floor: TrueFloor, seed: int, most: int, rng: np.random.Generator) -> list[bool | None]:
    """The verdict after 0, 1, 2 ... asked readings; once settled the crew stops."""
    f = replace(level_lines(unit, 1), **_nothing())
    history = []
    for count in range(most + 1):
        drawn, conforms = drawn_floors(unit, f, seed)
        history.append(settled(conforms))
        if history[-1] is not None:
            return history + [history[-1]] * (most - count)
        still = [c for c in conforms if RISK < prudent(c) < 1 - RISK]
        good = np.logical_and.reduce(still)
        if good.all() or not good.any():
            good = still[0]
        found = next_reading(unit, drawn.at, good, DEFAULT_TOOLS, rng)
        assert found is not None
        reading = as_functional(found[0], DEFAULT_TOOLS[0].u)
        f = f.joined(replace(reading, value=floor.read(reading, rng)))
    return history


def _nothing() -> dict[str, np.ndarray]:
    three, none = np.zeros((0, 3)), np.zeros(0)
    return {"x": three, "y": three, "weight": three, "value": none, "u": none, "setup": np.zeros(0, dtype=np.intp)}


def main() -> None:
    """Print the curve and its rivals."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--floors", type=int, default=140)
    ask.add_argument("--seed", type=int, default=11)
    ask.add_argument("--most", type=int, default=24)
    chosen = ask.parse_args()
    with ProcessPoolExecutor(2) as pool:
        work = pool.map(partial(one, seed=chosen.seed, most=chosen.most), range(chosen.floors))
        found = list(track(work, total=chosen.floors, description="floors", console=Console(stderr=True)))
    truly = np.array([t for t, _, _ in found])
    history = [[h[k] for _, _, h in found] for k in range(chosen.most + 1)]
    curve = np.array([_open(verdicts) for verdicts in history])
    table = Table("readings", "not proven", "standard error", "meets", "false", "fails", "false")
    table.title = f"Asked one at a time, {len(found)} floors"
    for k in range(0, chosen.most + 1, 2):
        table.add_row(
            str(k),
            f"{curve[k]:.3f}",
            f"{np.sqrt(curve[k] * (1 - curve[k]) / len(found)):.3f}",
            *_right(history[k], truly),
        )
    Console(width=100).print(table)
    table = Table("fixed pattern", "not proven", "asked readings that do as well", "meets", "false", "fails", "false")
    fixed = {}
    for name in found[0][1]:
        verdicts = [done[name] for _, done, _ in found]
        fixed[name] = _open(verdicts)
        table.add_row(name, f"{fixed[name]:.3f}", _needed(curve, fixed[name]), *_right(verdicts, truly))
    Console(width=100).print(table)
    heights = GRIDS[0][0] * GRIDS[0][1]
    needed = np.flatnonzero(curve <= fixed[f"{heights} heights"])
    print(f"asking: {needed[0] / heights:.3f}" if len(needed) else "asking: nan")


def _open(verdicts: list[bool | None]) -> float:
    return sum(v is None for v in verdicts) / len(verdicts)


def _right(verdicts: list[bool | None], truly: np.ndarray) -> tuple[str, str, str, str]:
    meets, fails = np.array([v is True for v in verdicts]), np.array([v is False for v in verdicts])
    return str(meets.sum()), str((meets & ~truly).sum()), str(fails.sum()), str((fails & truly).sum())


def _needed(curve: np.ndarray, share: float) -> str:
    enough = np.flatnonzero(curve <= share)
    return str(enough[0]) if len(enough) else "not reached"


if __name__ == "__main__":
    main()
