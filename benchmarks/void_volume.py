"""Does the volume's 95 % band hold the truth, and how much narrower is it than the mean of the spot heights ± t?

Hidden slabs are sums of a hundred waves of random ways and lengths, none of them drawn from what the belief assumes:
half are smooth, half have rough tails; they tilt too. Each is read at 9, 12 and 16 jittered spots round the box-out,
with the set-up's datum known, so that only the slab is in doubt; then at 12 with a datum tied down by three spots
before the opening and with the floor set by hand. The figure is the coverage over all of them, datum
known.

    python benchmarks/void_volume.py [--slabs 500] [--seed 5]
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t

from drainward.bed.slab import Spots
from drainward.bed.void import BoxOut, Underside, void
from drainward.demo.units import bedded
from drainward.floor.shape import moulded
from drainward.quantity import INCH

Array = NDArray[np.float64]

UNIT = bedded()
BOX = BoxOut(UNIT.drain.x, UNIT.drain.y, 10 * INCH, 10 * INCH, 1.5 * INCH, (0.0, 0.0, 0.0), True)
DRAIN = -0.5 * INCH
SUNK = 2 * INCH
ERROR = INCH / 32
OUTSIDE = INCH / 16
SET = Underside(DRAIN)


@dataclass(frozen=True, slots=True)
class Slab:
    """size : m;  k : (2, m) wave numbers;  phase : (m,);  tilt : (2,)"""

    size: float
    k: Array
    phase: Array
    tilt: Array

    def height(self, x: Array, y: Array) -> Array:
        """Over the finished floor, m."""
        place = np.stack([x, y], axis=-1)
        wave = np.cos(place @ self.k + self.phase).sum(axis=-1) * math.sqrt(2 / len(self.phase))
        return -SUNK + self.size * wave + place @ self.tilt

    def volume(self) -> float:
        """True volume of the void, midpoints every half inch, m3."""
        nx, ny = round(UNIT.inside_width / INCH * 2), round(UNIT.inside_depth / INCH * 2)
        gx, gy = np.meshgrid((np.arange(nx) + 0.5) * INCH / 2, (np.arange(ny) + 0.5) * INCH / 2)
        whole = float((under(gx, gy) - self.height(gx, gy)).sum()) * (INCH / 2) ** 2
        high = float(under(UNIT.drain.x, UNIT.drain.y) - self.height(np.array(UNIT.drain.x), np.array(UNIT.drain.y)))
        body = UNIT.drain.body_depth - UNIT.floor.thickness
        area = math.pi / 4 * UNIT.drain.body_diameter**2
        return whole + BOX.wide * BOX.long * BOX.deep - area * min(high + BOX.deep, body)


def under(x: Array | float, y: Array | float) -> Array:
    """The panel's underside as it is meant, m."""
    return DRAIN - UNIT.floor.thickness + moulded(UNIT, np.asarray(x), np.asarray(y))


def hidden(rng: np.random.Generator, rough: bool) -> Slab:
    """A slab of size 0.03 to 0.2 in and length 8 to 30 in."""
    length = rng.uniform(8, 30) * INCH
    k = rng.standard_normal((2, 100)) / length
    if rough:
        k *= np.sqrt(5 / rng.chisquare(5, 100))
    return Slab(rng.uniform(0.03, 0.2) * INCH, k, rng.uniform(0, 2 * math.pi, 100), 0.001 * rng.standard_normal(2))


def spots(slab: Slab, n: int, rng: np.random.Generator, known: bool) -> Spots:
    """Read on a jittered grid round the box-out, over the finished floor itself or over an unknown datum."""
    rows, columns = {9: (3, 3), 12: (3, 4), 16: (4, 4)}[n]
    gx, gy = np.meshgrid((np.arange(columns) + 0.5) / columns, (np.arange(rows) + 0.5) / rows)
    x = (gx.ravel() + rng.uniform(-0.3, 0.3, n) / columns) * UNIT.inside_width
    y = (gy.ravel() + rng.uniform(-0.3, 0.3, n) / rows) * UNIT.inside_depth
    # A spot that falls into the box-out is read beside it.
    inside = BOX.holds(x, y)
    x = np.where(inside, BOX.x + np.where(x < BOX.x, -1, 1) * (BOX.wide / 2 + INCH), x)
    value = slab.height(x, y)
    outside = np.zeros(n, dtype=bool)
    built = 3 * INCH / 8 + ERROR * rng.standard_normal()
    if not known:
        x = np.concatenate([x, np.array([0.2, 0.5, 0.8]) * UNIT.inside_width])
        y = np.concatenate([y, np.full(3, UNIT.inside_depth + 6 * INCH)])
        value = np.concatenate([value, -3 * INCH / 8 + OUTSIDE * rng.standard_normal(3)]) - 1.2
        outside = np.concatenate([outside, np.ones(3, dtype=bool)])
    value = value + ERROR * rng.standard_normal(len(value))
    setup = np.full(len(x), -1 if known else 0)
    return Spots(x, y, value, np.full(len(x), ERROR), setup, outside, built, ERROR)


def told(seed: int, number: int, n: int, known: bool) -> tuple[bool, float, float]:
    """Whether the band holds the truth, its half-width, and that of the mean ± t, m3."""
    rng = np.random.default_rng([seed, number, n, int(known)])
    slab = hidden(rng, bool(number % 2))
    read = spots(slab, n, rng, known)
    set_up = Underside(DRAIN, u=0.0, u_level=0.0) if known else SET
    found = void(UNIT, read, BOX, set_up, samples=2, seed=number)
    floor = UNIT.inside_width * UNIT.inside_depth
    off = 0.0 if known else floor * SET.u * rng.standard_normal()
    own = read.value[~read.outside]
    naive = float(t.ppf(0.975, n - 1) * own.std(ddof=1) / math.sqrt(n)) * floor
    half = 1.96 * found.u
    return abs(found.volume - slab.volume() - off) <= half, half, naive


def main() -> None:
    """Print coverage and width, spots by spots."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--slabs", type=int, default=500)
    ask.add_argument("--seed", type=int, default=5)
    chosen = ask.parse_args()
    covered = []
    # The second half of the doubt, where the finished floor lies, no spot under the unit can lessen.
    for known in (True, False):
        print("datum known:" if known else "datum tied down by three spots before the opening, floor set by hand:")
        for n in (9, 12, 16) if known else (12,):
            rows = [told(chosen.seed, number, n, known) for number in range(chosen.slabs)]
            held, half, naive = (np.array(column, dtype=np.float64) for column in zip(*rows, strict=True))
            if known:
                covered.append(held.mean())
            print(
                f"  {n} spots: covers {held.mean():.3f}, half-width {half.mean() / INCH**3:.0f} in3, "
                f"mean +- t of the slab alone {naive.mean() / INCH**3:.0f} in3, ratio {naive.mean() / half.mean():.2f}"
            )
    print(f"void_volume: {np.mean(covered):.4f}")


if __name__ == "__main__":
    main()
