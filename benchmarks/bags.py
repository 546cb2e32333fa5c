"""How many bags do 200 rooms take, bought pooled and weighed, against each room rounded up alone at 99 %?

Each room takes about 1,350 in3, ± 180 from room to room, known to ± 60 after its survey, and loses 5 ± 2 % as waste; a
bag gives its computed yield, off for all bags alike by its powder and air. Then 4,000 buildings are simulated: what
rooms really take, with every bag off alike, and how often the bags bought are too few. The figure: the share saved.

    python benchmarks/bags.py [--rooms 200] [--buildings 4000] [--seed 7]
"""

from __future__ import annotations

import argparse
import math

import numpy as np

from drainward.bed.buy import Need, purchase, service_level
from drainward.bed.mix import U_WASTE, WASTE, bag_yield
from drainward.job.materials import Mortar
from drainward.quantity import INCH

LEVEL = 0.99
ROOM, SPREAD, SURVEY = 1350 * INCH**3, 180 * INCH**3, 60 * INCH**3


def main() -> None:
    """Print bags by rule, and the shortage that came of each."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--rooms", type=int, default=200)
    ask.add_argument("--buildings", type=int, default=4000)
    ask.add_argument("--seed", type=int, default=7)
    chosen = ask.parse_args()
    rng = np.random.default_rng(chosen.seed)
    bag = bag_yield(Mortar())
    known = ROOM + SPREAD * rng.standard_normal(chosen.rooms)
    mean = known / (1 - WASTE) / bag.volume
    relative = np.hypot(SURVEY / known, U_WASTE / (1 - WASTE))
    needs = [Need(str(k), float(m), float(m * r)) for k, (m, r) in enumerate(zip(mean, relative, strict=True))]
    bought = purchase(needs, bag.shared, LEVEL)
    # The buildings: volumes, waste and the bags themselves as they really are, not as the formula adds them up.
    taken = known + SURVEY * rng.standard_normal((chosen.buildings, chosen.rooms))
    waste = WASTE + U_WASTE * rng.standard_normal(taken.shape)
    given = bag.volume * (1 + bag.shared * rng.standard_normal((chosen.buildings, 1)))
    used = taken / (1 - waste) / given
    rules = {
        "each room rounded up alone at 99 %": (bought.by_room, np.ceil(used - 1e-9)),
        "pooled, whole bags mixed in each room": (bought.whole, np.ceil(used - 1e-9)),
        "pooled, part bags by weight": (bought.weighed, used),
    }
    print(f"{chosen.rooms} rooms, mean need {mean.sum():.0f} bags, yields alike off by {100 * bag.shared:.1f} %")
    for name, (bags, really) in rules.items():
        short = float((really.sum(axis=1) > bags).mean())
        print(f"  {name}: {bags} bags, short in {100 * short:.2f} % of {chosen.buildings}")
    promised = 1 - LEVEL
    error = 3 * math.sqrt(promised * LEVEL / chosen.buildings)
    short = float((used.sum(axis=1) > bought.weighed).mean())
    print(
        f"  promised: short in at most {100 * promised:.1f} %; within what chance allows: {short <= promised + error}"
    )
    print(f"  level that costs least at 18 a bag over and 1,800 a bag short: {service_level(1800, 18):.3f}")
    print(f"bags: {bought.saved:.4f}")


if __name__ == "__main__":
    main()
