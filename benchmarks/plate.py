"""How far plates are from Navier's series, as a share of the deflection.

Run alone: python benchmarks/plate.py
Simply supported rectangles, isotropic, under an even load and under a load on a small disc at the middle: the finite
elements against the double series, and the error as the mesh is refined.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.special import j1

from drainward.hold.plate import at, bent, disc, isotropic, plate

TERMS, RADIUS = 401, 0.05


def series(b: float, radius: float | None) -> float:
    """w D at the middle of a 1 by b plate under 1 Pa, or under 1 N on a disc: Navier, odd terms alone."""
    m = np.arange(1, TERMS, 2)
    along, across = np.meshgrid(m * math.pi, m * math.pi / b, indexing="ij")
    sign = np.outer((-1.0) ** ((m - 1) // 2), (-1.0) ** ((m - 1) // 2))
    if radius is None:
        load = 16 / (math.pi**2 * np.outer(m, m)) * sign
    else:
        # the mean of sin sin over a disc at the middle
        reach = radius * np.hypot(along, across)
        load = 4 / b * 2 * j1(reach) / reach
    return float((load / (along**2 + across**2) ** 2).sum())


def main() -> None:
    """Compute, compare, print."""
    panel = isotropic(1.0, 0.3, (12 * (1 - 0.09)) ** (1 / 3))
    worst = 0.0
    for b in (1.0, 1.5, 2.0):
        for radius in (None, RADIUS):
            exact, told = series(b, radius), []
            for cells in (8, 16, 32):
                found = plate(panel, 1.0, b, 1 / cells, None, "simply supported")
                load = found.even if radius is None else disc(found, 0.5, b / 2, radius)
                middle = float((at(found, np.array([0.5]), np.array([b / 2])) @ bent(found, load))[0])
                told.append(middle / exact - 1)
            what = "even load" if radius is None else "disc"
            print(f"1 x {b:g}, {what}: {exact:.8f}, off by " + ", ".join(f"{off:+.1e}" for off in told))
            worst = max(worst, abs(told[-1]))
    print(f"plate: {worst:.1e}")


if __name__ == "__main__":
    main()
