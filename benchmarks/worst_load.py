"""How much sooner the worst place for a load is known than by a factorisation for each place.

Run alone: python benchmarks/worst_load.py
A floor of 60 x 36 in with five voids, a disc of 3 in at every place of an inch: the sweep against one solve a place
(timed on a few, told for all), and against one factorisation with all right-hand sides, in one run.
"""

from __future__ import annotations

from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from drainward.hold.greens import movements
from drainward.hold.plate import at, bent, disc, factored, isotropic, plate
from drainward.quantity import INCH

PSI = 4.4482216152605 / INCH**2
VOIDS = ((12.0, 9.0, 3.0), (30.0, 20.0, 5.0), (48.0, 28.0, 4.0), (52.0, 8.0, 3.5), (14.0, 27.0, 4.5))
FEW, RADIUS = 6, 1.5 * INCH


def bed(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """1e6 pci but for the voids."""
    stiff = np.full(np.broadcast_shapes(np.shape(x), np.shape(y)), 1e6 * PSI / INCH)
    for vx, vy, r in VOIDS:
        stiff = np.where(np.hypot(x - vx * INCH, y - vy * INCH) < r * INCH, 0.0, stiff)
    return stiff


def main() -> None:
    """Time, compare, print."""
    floor = plate(isotropic(1e6 * PSI, 0.3, 0.375 * INCH), 60 * INCH, 36 * INCH, INCH, bed)
    began = perf_counter()
    found = movements(floor, RADIUS)
    swept = perf_counter() - began
    places = [(x, y) for x in found.x for y in found.y]
    began = perf_counter()
    for x, y in places[:: len(places) // FEW][:FEW]:
        bent(floor, disc(floor, x, y, RADIUS))
    each = (perf_counter() - began) / FEW * len(places)
    loads = np.stack([disc(floor, x, y, RADIUS) for x, y in places], axis=1)
    reads = at(floor, *np.array(places).T)
    began = perf_counter()
    solver = factored(floor.matrix)
    centre = np.concatenate(
        [(reads[k : k + 64] * solver.solve(loads[:, k : k + 64]).T).sum(axis=1) for k in range(0, len(places), 64)]
    )
    once = perf_counter() - began
    off = np.abs(found.centre.ravel() / centre - 1).max()
    print(f"{len(places)} places, {floor.matrix.shape[0]} unknowns: {swept:.3f} s; worst at {found.worst} m")
    print(
        f"factored for each place {each:.0f} s, once with all right-hand sides {once:.2f} s: {once / swept:.1f} times"
    )
    print(f"largest relative difference {off:.1e}")
    print(f"worst_load: {each / swept:.0f}")


if __name__ == "__main__":
    main()
