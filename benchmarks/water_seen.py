"""What a recorded water test adds, and whether its verdicts are right: seeded true floors, read, wetted and looked at.

Each floor is read with 12 to 28 footprints of a level, then a crew pours a gallon on it twice: once with the drain
nearly blocked, once with it clean, writing down what people would see. Printed: how often the 95 % band of the deepest
pond holds the truth before and after the test, and its width; verdicts on the pond; how often tests that nothing is
wrong with are flagged; how often a blocked drain is, and by its right cause.

    python benchmarks/water_seen.py [--floors 150] [--seed 11] [--samples 60]
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

import numpy as np
from designs import UNITS, truths
from rich.console import Console
from rich.progress import track
from rich.table import Table

from drainward.demo.crew import INSTRUMENTS, Visit, level_lines, read_floor
from drainward.demo.floors import KINDS, true_floor
from drainward.demo.pour import Pouring, pour_and_look
from drainward.finding import Finding, Verdict
from drainward.floor.drawn import drawn
from drainward.floor.film import water_stage
from drainward.floor.film.result import Seen
from drainward.floor.judge import judged_on
from drainward.floor.ponds import standing
from drainward.floor.shape import INCH
from drainward.job.model import Job, Room
from drainward.rules import load_rules

POND = INCH / 16
FILM_SHARE = 0.15  # of the floors, on which a film hangs by itself
BLOCKED = (0.004, 0.1)  # share of its flow that a blocked drain still takes


@dataclass(frozen=True)
class Case:
    """One floor: its deepest pond, the finding on it before and after the clean pour, and both tests beside it."""

    kind: str
    deepest: float
    before: Finding
    after: Finding
    blocked: Seen
    takes: float
    clean: Seen
    film: bool


def one(index: int, seed: int, samples: int) -> Case:
    """Make, read, wet and judge one floor."""
    rng = np.random.default_rng([seed, index])
    unit = UNITS[index // len(KINDS) % len(UNITS)]
    job = Job(name="made up", units={unit.id: unit}, rooms=(Room(room="1", unit=unit.id),), instruments=INSTRUMENTS)
    floor = true_floor(unit, KINDS[index % len(KINDS)], rng, severity=rng.uniform(1.0, 2.0))
    when = datetime.fromisoformat("2026-03-02T09:00")
    places = level_lines(unit, int(rng.integers(6, 13)), turn=rng.uniform(0, 1))
    readings = tuple(read_floor(floor, Visit("1", "AB", when), "L9", places, rng))
    takes, film = float(np.exp(rng.uniform(*np.log(BLOCKED)))), bool(rng.random() < FILM_SHARE)
    at = (rng.uniform(4, 56), rng.choice([rng.uniform(4, 12), rng.uniform(24, 32)])) if film else None
    pours = (Pouring(takes=takes), Pouring(film=at, soap=not film and bool(rng.random() < 0.3)))
    tests = tuple(
        pour_and_look(job, floor, Visit("1", "AB", when + timedelta(days=day)), pour, rng)
        for day, pour in enumerate(pours, start=7)
    )
    floors = drawn(unit, readings, 5 * samples, index, 1, lambda what, share: None).surfaces
    (row,) = load_rules(job.rules).requirements("floor.pond.depth", job.rules.shower)
    before = judged_on(row, standing(floors, unit, POND).deepest, "", job.risk).finding
    water = water_stage(job, "1", readings, tests, samples=samples, seed=index, threads=1)
    after = next(finding for finding in water.findings if finding.id == row.id)
    return Case(floor.kind, truths(floor, unit, 12 * INCH)[2], before, after, water.seen[0], takes, water.seen[1], film)


def holds(finding: Finding, truth: float) -> bool:
    """Whether its band holds the truth; the grids of truth and belief differ by about a thousandth of an inch."""
    assert finding.interval is not None
    low, high = finding.interval
    return low - INCH / 1000 <= truth <= high + INCH / 1000


def width(finding: Finding) -> float:
    """Of its band, mm."""
    assert finding.interval is not None
    return 1e3 * (finding.interval[1] - finding.interval[0])


def main() -> None:
    """Print bands, verdicts and flags."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--floors", type=int, default=150)
    ask.add_argument("--seed", type=int, default=11)
    ask.add_argument("--samples", type=int, default=60, help="floors on which water runs; five times as many are drawn")
    chosen = ask.parse_args()
    console = Console(width=140)
    with ProcessPoolExecutor(2) as pool:
        work = pool.map(partial(one, seed=chosen.seed, samples=chosen.samples), range(chosen.floors))
        cases = list(track(work, total=chosen.floors, description="floors", console=Console(stderr=True)))
    console.print(bands(cases))
    console.print(flags(cases))
    print(f"water_seen: {np.mean([holds(c.after, c.deepest) for c in cases]):.3f}")


def bands(cases: list[Case]) -> Table:
    """Bands and verdicts of the deepest pond."""
    table = Table(
        *("floors", "number", "holds", "mean width, mm", "meets", "false", "fails", "false", "not proven"),
        title="The deepest pond's 95 % band, and the verdict on it, before and after the clean test",
    )
    groups = {
        "with a pond over 1/16 in": [c for c in cases if c.deepest > POND],
        "without": [c for c in cases if c.deepest <= POND],
        "of them, a film hung": [c for c in cases if c.deepest <= POND and c.film],
    }
    for name, mine in groups.items():
        for when in ("before", "after"):
            found = [(getattr(c, when), c.deepest) for c in mine]
            verdicts = [(f.verdict, deepest <= POND) for f, deepest in found]
            meets = [truly for verdict, truly in verdicts if verdict is Verdict.MEETS]
            fails = [truly for verdict, truly in verdicts if verdict is Verdict.FAILS]
            table.add_row(
                f"{name}, {when}", str(len(mine)), _share([holds(*pair) for pair in found]),
                f"{np.mean([width(f) for f, _ in found]):.2f}", str(len(meets)), str(meets.count(False)),
                str(len(fails)), str(fails.count(True)), str(len(mine) - len(meets) - len(fails)),
            )  # fmt: skip
    return table


def flags(cases: list[Case]) -> Table:
    """Tests that were flagged, and by which cause."""
    table = Table(
        *("tests", "number", "flagged", "by the puddles", "by the time", "likeliest cause of the flagged"),
        title="Tests that do not agree with what the readings let expect, at a risk of 5 %",
    )
    dry = [c for c in cases if c.deepest <= 0.5e-3]
    groups = {
        "clean, nothing stands": [c.clean for c in dry if not c.film],
        "clean, a film hangs": [c.clean for c in dry if c.film],
        "clean, up to 1/16 in stands": [c.clean for c in cases if 0.5e-3 < c.deepest <= POND],
        "clean, a pond stands": [c.clean for c in cases if c.deepest > POND],
        "drain takes 3 to 10 %": [c.blocked for c in cases if c.takes >= 0.03],
        "drain takes 1 to 3 %": [c.blocked for c in cases if 0.01 <= c.takes < 0.03],
        "drain takes under 1 %": [c.blocked for c in cases if c.takes < 0.01],
    }
    for name, seen in groups.items():
        off = [s for s in seen if s.agrees is False]
        causes = [s.causes[0].what.split(":")[0].split(" (")[0] for s in off if s.causes]
        told = "; ".join(f"{causes.count(cause)} {cause}" for cause in sorted(set(causes), key=causes.count)[::-1])
        by = [_share([chance is not None and chance < 0.05 for chance in chances]) for chances in
              ([s.puddles_chance for s in seen], [s.drained_chance for s in seen])]  # fmt: skip
        table.add_row(name, str(len(seen)), _share([s.agrees is False for s in seen]), *by, told)
    return table


def _share(what: list[bool]) -> str:
    return f"{np.mean(what):.3f}" if what else "-"


if __name__ == "__main__":
    main()
