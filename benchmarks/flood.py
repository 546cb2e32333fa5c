"""How fast 1,000 rough floors are flooded, against general-purpose image libraries that can drain inside the grid.

Run alone: python benchmarks/flood.py
Floors: 36 x 60 in on a 1/4 in grid, a cone that falls 1.56 % to a drain in the middle, plus a smooth Gaussian
deviation (Matérn 5/2, sd 0.1 in, lengths 8 to 20 in). Libraries are timed on a few floors of these, ours on all, by
turns, and the ratio is the median over the rounds. In the same run every water surface of ours is compared with
scikit-image's.
scikit-image comes with the development tools; SimpleITK and DIPlib are timed as well where they are installed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from importlib import import_module
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.flood import LANES, flood, flood_lanes, pack, unpack
from drainward.floor.abreast.lanes import blocks_of
from drainward.floor.abreast.lift import lift
from drainward.floor.taps import taps_at

SAMPLES, ROUNDS, LIBRARY_SAMPLES = 1000, 7, 40
STEP, COARSE_STEPS, FALL, SD, DRAIN_RADIUS = 0.25, 6, 0.0156, 0.1, 1.0
LENGTHS = np.linspace(8.0, 20.0, 7)

Surface = NDArray[np.float32]
Fill = Callable[[Surface], Surface]


def main() -> None:
    """Build the floors, compare, time by turns, print."""
    z, outlet = rough_floors(SAMPLES)
    lanes = pack(z)
    libraries = dict(known_libraries(outlet))
    water, water_lanes = np.empty_like(z), np.empty_like(lanes)
    ours = {
        "ours, 1 thread, packing counted": lambda: flood(z, outlet, 1, out=water),
        "ours, 2 threads, packing counted": lambda: flood(z, outlet, 2, out=water),
        "ours, 1 thread, in lanes": lambda: flood_lanes(lanes, outlet, 1, out=water_lanes),
        "ours, 2 threads, in lanes": lambda: flood_lanes(lanes, outlet, 2, out=water_lanes),
    }
    differences = compare(z, libraries, [flood(z, outlet), unpack(flood_lanes(lanes, outlet, 2), SAMPLES)])
    times: dict[str, list[float]] = {name: [] for name in (*libraries, *ours)}
    for turn in range(ROUNDS):
        some = z[turn * LIBRARY_SAMPLES : (turn + 1) * LIBRARY_SAMPLES]
        for name, fill in libraries.items():
            times[name].append(seconds(partial(fill_all, fill, some)) / len(some))
        for name, run in ours.items():
            times[name].append(seconds(run) / SAMPLES)
    report(times, list(libraries), list(ours), differences)


def rough_floors(n: int) -> tuple[Surface, NDArray[np.bool_]]:
    """(n, 145, 241) heights, in, and the outlet's cells."""
    y, x = np.arange(0, 36 + STEP, STEP), np.arange(0, 60 + STEP, STEP)
    cy, cx = (-(-(len(axis) - 1) // COARSE_STEPS) + 1 for axis in (y, x))
    nodes = STEP * COARSE_STEPS * np.stack(np.meshgrid(np.arange(cy), np.arange(cx), indexing="ij"), axis=-1)
    nodes = nodes.reshape(-1, 2)
    apart = np.hypot(*(nodes[:, None] - nodes[None]).transpose(2, 0, 1))
    rng = np.random.default_rng(2024)
    coarse = np.empty((blocks_of(n) * LANES, cy * cx))
    for k, length in enumerate(LENGTHS):
        s = np.sqrt(5.0) * apart / length
        factor = np.linalg.cholesky((1 + s + s * s / 3) * np.exp(-s) + 1e-9 * np.eye(len(s)))
        coarse[k :: len(LENGTHS)] = SD * rng.standard_normal((len(coarse[k :: len(LENGTHS)]), len(s))) @ factor.T
    from_drain = np.hypot(*np.meshgrid(y - 18, x - 30, indexing="ij"))
    taps_y, taps_x = (taps_at(STEP * COARSE_STEPS * np.arange(c), axis) for c, axis in ((cy, y), (cx, x)))
    plane = np.zeros((blocks_of(n), 3, LANES))
    coarse_lanes = pack(coarse.reshape(-1, cy, cx).astype(np.float32))
    return unpack(lift(coarse_lanes, taps_y, taps_x, FALL * from_drain, plane, x, y), n), from_drain <= DRAIN_RADIUS


def known_libraries(outlet: NDArray[np.bool_]) -> Iterable[tuple[str, Fill]]:
    """Each library's reconstruction by erosion, 8-connected, on one thread; what is not installed is left out."""

    def marker(z: Surface) -> Surface:
        return np.where(outlet, z, z.max())

    morphology: Any = import_module("skimage.morphology")
    yield "scikit-image", lambda z: morphology.reconstruction(marker(z), z, method="erosion")
    try:
        sitk: Any = import_module("SimpleITK")
    except ModuleNotFoundError:
        print("SimpleITK is not installed: not timed")
    else:
        sitk.ProcessObject.SetGlobalDefaultNumberOfThreads(1)
        image, array = sitk.GetImageFromArray, sitk.GetArrayFromImage
        yield "SimpleITK", lambda z: array(sitk.ReconstructionByErosion(image(marker(z)), image(z), True))
    try:
        dip: Any = import_module("diplib")
    except ModuleNotFoundError:
        print("DIPlib is not installed: not timed")
    else:
        dip.SetNumberOfThreads(1)
        rebuild = partial(dip.MorphologicalReconstruction, connectivity=2, direction="erosion")
        yield "DIPlib", lambda z: np.asarray(rebuild(marker(z), z))


def compare(z: Surface, libraries: dict[str, Fill], ours: list[Surface]) -> dict[str, float]:
    """Greatest difference of each library and of ours from the first library, in; stops where ours differs."""
    first = next(iter(libraries.values()))
    truth = np.stack([first(one) for one in z])
    for found in ours:
        if not np.array_equal(found, truth):
            raise SystemExit(f"ours differs from the library by {np.abs(found - truth).max()} in")
    few = range(LIBRARY_SAMPLES)
    return {name: max(float(np.abs(fill(z[k]) - truth[k]).max()) for k in few) for name, fill in libraries.items()}


def fill_all(fill: Fill, floors: Surface) -> None:
    """One floor after another, as a library takes them."""
    for one in floors:
        fill(one)


def seconds(run: Callable[[], object]) -> float:
    """Wall time of one run."""
    start = perf_counter()
    run()
    return perf_counter() - start


def report(times: dict[str, list[float]], libraries: list[str], ours: list[str], differences: dict[str, float]) -> None:
    """The two tables and the figure."""
    fastest = min(libraries, key=lambda name: median(times[name]))
    against = {
        name: [median(a / b for a, b in zip(times[name], times[way], strict=True)) for way in ours]
        for name in libraries
    }
    print(f"{'':34}{'ms a floor':>12}{'greatest difference, in':>26}")
    for name in libraries:
        print(f"{name:34}{1e3 * median(times[name]):12.3f}{differences[name]:26.1e}")
    print(f"{'':34}{'ms a floor':>12}" + "".join(f"{'x ' + name:>15}" for name in libraries))
    for k, way in enumerate(ours):
        print(f"{way:34}{1e3 * median(times[way]):12.4f}" + "".join(f"{against[name][k]:15.1f}" for name in libraries))
    print(
        f"{SAMPLES} floors, all of ours equal to {libraries[0]}; figure: against {fastest}, one thread, packing counted"
    )
    print(f"flood: {against[fastest][0]:.1f}")


if __name__ == "__main__":
    main()
