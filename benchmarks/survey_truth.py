"""Do surveys tell the truth? Seeded hidden pockets, surveyed by a made-up crew, against the same pocket met everywhere.

The pockets are not drawn from what the adjustment believes: every stud is a parabola between its plates with a crook of
its own, walls lean and turn; a third of them is framed straight, a third as is usual, a third roughly. The unit is
placed in the pocket itself, every stud at every 3 in of its height. Printed for surveys with a long level at every
stud, for usual ones without, and for quick ones of a few readings at the floor: of the pockets said to take the unit,
and of those said not to, the share in which that is true; how often the told 95 % band of the largest shim holds the
true one; how often a width read 1 in wrong is named; how often a good survey loses a reading. Then one stud stands
proud by 3/8 to 3/4 in: how often a good reading is called wrong for it. The figure is the least share of the bands
that hold the shim which the pocket truly needs, at every height.

    python benchmarks/survey_truth.py [--pockets 60 of each kind] [--seed 3]
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from rich.console import Console
from rich.progress import track

from drainward.demo.crew import Visit
from drainward.demo.framing import Framing, TruePocket, exactly, true_pocket
from drainward.demo.tape import MANNERS, read_pocket
from drainward.demo.units import bedded
from drainward.finding import Verdict, decide
from drainward.floor.doubt import band
from drainward.job.model import What
from drainward.pocket.adjust import sift
from drainward.pocket.place import place
from drainward.pocket.sampled import sampled
from drainward.pocket.shape import Wall
from drainward.quantity import INCH

UNIT = bedded()
EVERYWHERE = [z * INCH for z in range(1, 80, 3)]
LEVELS = [z * INCH for z in MANNERS["thorough"].levels]
VISIT = Visit("1", "DN", datetime.fromisoformat("2026-03-02T08:00"))
KINDS = {
    "straight": Framing(lean=INCH / 16, skew=INCH / 16, crook=INCH / 16),
    "usual": Framing(lean=INCH / 8, skew=INCH / 8, crook=INCH / 8),
    "rough": Framing(lean=INCH / 4, skew=INCH / 4, crook=INCH * 3 / 16, jog=INCH / 16),
}
PROUD = (3 / 8, 1 / 2, 5 / 8, 3 / 4)


@dataclass(frozen=True, slots=True)
class Told:
    """chance, verdict : that the unit goes in;  true : whether it does
    in_band, in_band_everywhere : of the largest shim where both say it goes in, else None
    named : a slip of an inch, alone;  false : a good survey lost a measure;  proud : so did one of a proud stud
    """

    chance: float
    verdict: Verdict
    true: bool
    in_band: bool | None
    in_band_everywhere: bool | None
    named: bool
    false: bool
    proud: bool


def told(seed: int, number: int, manner: str, kind: str) -> Told:
    """One pocket: the room to spare in its width is anything up to 3/4 in."""
    rng = np.random.default_rng([seed, number])
    framing = replace(KINDS[kind], wider=float(rng.uniform(0.0, 0.75)) * INCH)
    true = true_pocket(UNIT, rng, framing)
    measures = read_pocket(true, VISIT, MANNERS[manner], {}, rng)
    sifted = sift(UNIT, measures)
    drawn = sampled(UNIT, sifted.pocket(), seed=number)
    at_levels, everywhere = place(UNIT, exactly(true, LEVELS)), place(UNIT, exactly(true, EVERYWHERE))
    low, high = band(drawn.shim)
    both = drawn.goes_in > 0.5 and everywhere.goes_in
    widths = [k for k, measure in enumerate(measures) if measure.what is What.WIDTH]
    wrong = int(rng.choice(widths))
    off = INCH * float(rng.choice([-1.0, 1.0]))
    slipped = [m.model_copy(update={"value": m.value + off}) if k == wrong else m for k, m in enumerate(measures)]
    blunders = sift(UNIT, slipped).blunders
    named = [blunder.measure.id for blunder in blunders] == [measures[wrong].id] and not blunders[0].rivals
    odd = read_pocket(with_proud(true, INCH * PROUD[number % len(PROUD)], rng), VISIT, MANNERS[manner], {}, rng)
    return Told(
        chance=drawn.goes_in,
        verdict=decide(drawn.goes_in),
        true=everywhere.goes_in,
        in_band=bool(low <= at_levels.largest <= high) if both else None,
        in_band_everywhere=bool(low <= everywhere.largest <= high) if both else None,
        named=named and blunders[0].stud is None,
        false=bool(sifted.blunders),
        proud=any(blunder.stud is None for blunder in sift(UNIT, odd).blunders),
    )


def with_proud(true: TruePocket, by: float, rng: np.random.Generator) -> TruePocket:
    """The same with one stud set into the pocket by so much, m."""
    walls = list(true.walls)
    wall = Wall(int(rng.integers(len(walls))))
    jog = list(walls[wall].jog)
    jog[int(rng.integers(len(jog)))] += -by if wall is Wall.RIGHT else by
    walls[wall] = replace(walls[wall], jog=tuple(jog))
    return replace(true, walls=(walls[0], walls[1], walls[2]))


def share(values: list[bool]) -> str:
    """Such as 0.975 of 40."""
    return f"{np.mean(values):.3f} of {len(values)}" if values else "none"


def main() -> None:
    """Print the shares."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--pockets", type=int, default=60)
    ask.add_argument("--seed", type=int, default=3)
    chosen = ask.parse_args()
    held: list[float] = []
    for manner in MANNERS:
        for kind in KINDS:
            numbers = track(range(chosen.pockets), description=f"{manner}, {kind}", console=Console(stderr=True))
            found = [told(chosen.seed, number, manner, kind) for number in numbers]
            yes = [one.true for one in found if one.verdict is Verdict.MEETS]
            no = [not one.true for one in found if one.verdict is Verdict.FAILS]
            print(
                f"{manner} survey, {kind} framing: takes the unit {share(yes)} true, does not {share(no)} true", end=""
            )
            print(f"; mean chance {np.mean([one.chance for one in found]):.3f}", end=", ")
            print(f"takes it {np.mean([one.true for one in found]):.3f}")
            bands = [one.in_band for one in found if one.in_band is not None]
            every = [one.in_band_everywhere for one in found if one.in_band_everywhere is not None]
            print(f"  largest shim in its 95 % band {share(bands)}, at every height {share(every)}", end="; ")
            print(f"1 in slips named alone {share([one.named for one in found])}", end="; ")
            print(f"surveys that lost a good measure {share([one.false for one in found])}", end=", ")
            print(f"with a proud stud {share([one.proud for one in found])}", flush=True)
            held += [float(np.mean(every))] if every else []
    print(f"survey_truth: {min(held):.3f}")


if __name__ == "__main__":
    main()
