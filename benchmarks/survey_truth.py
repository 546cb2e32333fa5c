"""Do surveys tell the truth? Seeded hidden pockets, surveyed by a made-up crew, against the same pocket met everywhere.

The pockets are not drawn from what the adjustment believes: every stud is a parabola between its plates with a crook of
its own, walls lean and turn, and in half of the pockets framing is crooked. The unit is placed in the pocket itself,
every stud at every 3 in of its height. Printed for surveys with a long level at every stud and without: of the pockets
said to take the unit, and of those said not to, the share in which that is true; how many stay open; how often the 95 %
band of the largest shim holds the true one; how often a width read 1 in wrong is named, and how often a good one.
The figure is the share of all yes and no that is true.

    python benchmarks/survey_truth.py [--pockets 200] [--seed 3]
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from rich.console import Console
from rich.progress import track

from drainward.demo.crew import Visit
from drainward.demo.framing import Framing, exactly, true_pocket
from drainward.demo.tape import MANNERS, read_pocket
from drainward.demo.units import bedded
from drainward.finding import Verdict, decide
from drainward.job.model import What
from drainward.pocket.adjust import sift
from drainward.pocket.place import place
from drainward.pocket.sampled import sampled
from drainward.quantity import INCH

UNIT = bedded()
EVERYWHERE = [z * INCH for z in range(1, 80, 3)]
LEVELS = [z * INCH for z in MANNERS["thorough"].levels]
VISIT = Visit("1", "DN", datetime.fromisoformat("2026-03-02T08:00"))
STRAIGHT, CROOKED = INCH / 16, INCH / 8
LEAN = INCH / 8


@dataclass(frozen=True, slots=True)
class Told:
    """chance, verdict : that the unit goes in;  true : whether it does
    in_band, in_band_everywhere : of the largest shim where both say it goes in, else None
    named : a slip of an inch, alone;  false : a good survey lost a measure
    """

    chance: float
    verdict: Verdict
    true: bool
    in_band: bool | None
    in_band_everywhere: bool | None
    named: bool
    false: bool


def told(seed: int, number: int, manner: str) -> Told:
    """One pocket: the room to spare in its width is anything up to 3/4 in."""
    rng = np.random.default_rng([seed, number])
    framing = Framing(
        wider=float(rng.uniform(0.0, 0.75)) * INCH,
        lean=LEAN,
        skew=LEAN,
        crook=CROOKED if number % 2 else STRAIGHT,
    )
    true = true_pocket(UNIT, rng, framing)
    measures = read_pocket(true, VISIT, MANNERS[manner], {}, rng)
    sifted = sift(UNIT, measures)
    drawn = sampled(UNIT, sifted.pocket(), seed=number)
    at_levels, everywhere = place(UNIT, exactly(true, LEVELS)), place(UNIT, exactly(true, EVERYWHERE))
    low, high = np.quantile(drawn.shim, (0.025, 0.975))
    both = drawn.goes_in > 0.5 and everywhere.goes_in
    widths = [k for k, measure in enumerate(measures) if measure.what is What.WIDTH]
    wrong = int(rng.choice(widths))
    off = INCH * float(rng.choice([-1.0, 1.0]))
    slipped = [m.model_copy(update={"value": m.value + off}) if k == wrong else m for k, m in enumerate(measures)]
    blunders = sift(UNIT, slipped).blunders
    named = [blunder.measure.id for blunder in blunders] == [measures[wrong].id] and not blunders[0].rivals
    return Told(
        chance=drawn.goes_in,
        verdict=decide(drawn.goes_in),
        true=everywhere.goes_in,
        in_band=bool(low <= at_levels.largest <= high) if both else None,
        in_band_everywhere=bool(low <= everywhere.largest <= high) if both else None,
        named=named,
        false=bool(sifted.blunders),
    )


def share(values: list[bool]) -> str:
    """Such as 0.975 of 40."""
    return f"{np.mean(values):.3f} of {len(values)}" if values else "none"


def main() -> None:
    """Print the shares."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--pockets", type=int, default=200)
    ask.add_argument("--seed", type=int, default=3)
    chosen = ask.parse_args()
    said: list[bool] = []
    for manner in ("thorough", "usual"):
        numbers = track(range(chosen.pockets), description=manner, console=Console(stderr=True))
        found = [told(chosen.seed, number, manner) for number in numbers]
        yes = [one.true for one in found if one.verdict is Verdict.MEETS]
        no = [not one.true for one in found if one.verdict is Verdict.FAILS]
        said += yes + no
        print(f"{manner}: said to take the unit, and true: {share(yes)}; said not to, and true: {share(no)}")
        print(f"  left open: {len(found) - len(yes) - len(no)} of {len(found)}", end="; ")
        print(f"mean chance {np.mean([one.chance for one in found]):.3f}", end=", ")
        print(f"take it {np.mean([one.true for one in found]):.3f}")
        for kind, parity in (("straight", 0), ("crooked", 1)):
            half = found[parity::2]
            bands = [one.in_band for one in half if one.in_band is not None]
            every = [one.in_band_everywhere for one in half if one.in_band_everywhere is not None]
            print(
                f"  {kind} studs: largest shim in its 95 % band {share(bands)}, at every height {share(every)}",
                end="; ",
            )
            print(f"1 in slips named alone {share([one.named for one in half])}", end="; ")
            print(f"good surveys that lost a measure {share([one.false for one in half])}")
    print(f"survey_truth: {np.mean(said):.4f}")


if __name__ == "__main__":
    main()
