"""The most valuable load of a stick, exactly: `best_loads`, the pricing step of `cutting`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import kernel

__all__ = ["best_loads"]


def best_loads(
    sizes: NDArray[np.int64], worth: NDArray[np.float64], most: NDArray[np.int64], room: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """For every room the bounded load of largest worth: counts (len(room), n), and its worth.

    sizes, worth, most : (n,) of each length: its size, what a piece brings, how many may be taken; sizes above zero
    """
    return _loads(sizes, worth, most, room)


@kernel
def _loads(
    sizes: NDArray[np.int64], worth: NDArray[np.float64], most: NDArray[np.int64], room: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Dynamic program over sizes and room; `taken` keeps the choice of each size, so that the load can be read back."""
    widest, n = room.max(), len(sizes)
    value = np.zeros(widest + 1)
    taken = np.zeros((n, widest + 1), dtype=np.int32)
    for k in range(n):
        if worth[k] <= 0.0:
            continue
        # From the widest down, so that what is read is still without size k.
        for space in range(widest, sizes[k] - 1, -1):
            best = value[space]
            for count in range(1, min(most[k], space // sizes[k]) + 1):
                offered = value[space - count * sizes[k]] + count * worth[k]
                if offered > best:
                    best = offered
                    taken[k, space] = count
            value[space] = best
    loads = np.zeros((len(room), n), dtype=np.int64)
    for row in range(len(room)):
        space = room[row]
        for k in range(n - 1, -1, -1):
            loads[row, k] = taken[k, space]
            space -= taken[k, space] * sizes[k]
    return loads, value[room]
