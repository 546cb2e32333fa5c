"""The placement of a rigid outline in a pocket as linear programs, compiled: for one survey or for thousands.

SIDES, LINE_ROWS          of the polygon that stands for the core; rows of the threshold's line
FITS_FROM, NO_ROW, TURN   least room from which a unit goes in; room of a row that does not exist; farthest turn
rows_at                   what must not be negative, linear round one turn of the unit
widest, tightest, fewest  the three programs: most room, smallest largest shim, least shims in all
best, best_of_many        the place of one pocket, and of many drawn ones

Unknown are the unit's shift (along its own x and y: with those every gap is linear), its turn, which is linearised
round where it was found last, and the largest shim or the least room. A pocket's rows in this order: n gaps between
stud face and flange, square to the flange; SIDES of the core; LINE_ROWS of the threshold's line.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from drainward.pocket.simplex import least

__all__ = [
    "FITS_FROM",
    "LINE_ROWS",
    "NO_ROW",
    "SIDES",
    "TURN",
    "best",
    "best_of_many",
    "fewest",
    "rows_at",
    "tightest",
    "widest",
]

Array = NDArray[np.float64]
Walls = NDArray[np.int64]

SIDES, LINE_ROWS = 64, 4
FITS_FROM = -1e-7
"""Least room from which a unit goes in, m: a ten-thousandth of a millimetre is rounding."""
NO_ROW = 9.0
"""Room of a row that does not exist, m."""

_REACH, _SHIM = 0.5, 2.0
TURN = 0.12
"""Farthest turn from the line on which the rows are made, rad."""
_STEPS, _STILL = 8, 1e-7
_SAFE = math.cos(math.pi / SIDES)
_compile = njit(cache=True, nogil=True, error_model="numpy")


@_compile
def rows_at(
    wall: Walls, at: Array, off: Array, core: Array, front: Array, ends: Array, out: Array, turn: float
) -> tuple[Array, Array]:
    """Rows k + g (shift x, shift y, further turn) >= 0, linear round `turn` (rad): k (m,), g (m, 3).

    wall, at, off : (n,) as in Pocket;  core : (3,) x, y, radius, nan where unknown;  front : (2,) y, nan where not set
    ends : (2,) x of the ends of the threshold's line
    out  : (8,) left, right, back, front of the outline; drain's x, y; radius of its body with the clearance all round;
           how far the threshold may lie off its line
    """
    n = len(wall)
    k, g = np.full(n + SIDES + LINE_ROWS, NO_ROW), np.zeros((n + SIDES + LINE_ROWS, 3))
    c, s = math.cos(turn), math.sin(turn)
    for i in range(n):
        if wall[i] == 1:
            x, y = c * at[i] + s * off[i], -s * at[i] + c * off[i]
            k[i], g[i, 1], g[i, 2] = out[2] - y, 1.0, x
        else:
            x, y = c * off[i] + s * at[i], -s * off[i] + c * at[i]
            if wall[i] == 0:
                k[i], g[i, 0], g[i, 2] = out[0] - x, 1.0, -y
            else:
                k[i], g[i, 0], g[i, 2] = x - out[1], -1.0, y
    if not (math.isnan(core[0]) or math.isnan(core[1]) or math.isnan(core[2])):
        x, y = c * core[0] + s * core[1], -s * core[0] + c * core[1]
        for j in range(SIDES):
            a = 2.0 * math.pi * j / SIDES
            ca, sa = math.cos(a), math.sin(a)
            r = n + j
            # The polygon stands inside the circle: what it lets in goes in.
            k[r] = core[2] * _SAFE - out[6] - (ca * (out[4] - x) + sa * (out[5] - y))
            g[r, 0], g[r, 1], g[r, 2] = -ca, -sa, ca * y - sa * x
    for e in range(2):
        if not math.isnan(front[e]):
            x, y = c * ends[e] + s * front[e], -s * ends[e] + c * front[e]
            r = n + SIDES + 2 * e
            k[r], g[r, 1], g[r, 2] = out[7] + (y - out[3]), -1.0, -x
            k[r + 1], g[r + 1, 1], g[r + 1, 2] = out[7] - (y - out[3]), 1.0, x
    return k, g


@_compile
def widest(k: Array, g: Array, turn: float) -> tuple[int, Array, NDArray[np.int64], Array, Array]:
    """The place with the most room: unknowns shift, turn (to `turn` either way), room; rows -g v + room <= k."""
    a = np.ones((len(k), 4))
    a[:, :3] = -g
    return least(np.array([0.0, 0.0, 0.0, -1.0]), a, k, np.array([_REACH, _REACH, turn, _SHIM]))


@_compile
def tightest(k: Array, g: Array, n: int, turn: float) -> tuple[int, Array, NDArray[np.int64], Array, Array]:
    """The place with the smallest largest shim: rows -g v <= k, then gap <= shim for the n gaps."""
    m = len(k)
    a, b = np.zeros((m + n, 4)), np.empty(m + n)
    a[:m, :3], b[:m] = -g, k - FITS_FROM
    a[m:, :3], a[m:, 3], b[m:] = g[:n], -1.0, -k[:n]
    return least(np.array([0.0, 0.0, 0.0, 1.0]), a, b, np.array([_REACH, _REACH, turn, _SHIM]))


@_compile
def fewest(k: Array, g: Array, n: int, shim: float, turn: float) -> tuple[int, Array, NDArray[np.int64], Array, Array]:
    """The place with the least shims in all, none over `shim`."""
    m = len(k)
    a, b = np.zeros((m + n, 3)), np.empty(m + n)
    a[:m], b[:m] = -g, k - FITS_FROM
    a[m:], b[m:] = g[:n], shim + 1e-9 - k[:n]
    return least(g[:n].sum(axis=0), a, b, np.array([_REACH, _REACH, turn]))


@_compile
def best(
    wall: Walls, at: Array, off: Array, core: Array, front: Array, ends: Array, out: Array
) -> tuple[int, float, float, Array]:
    """State (0 solved), least room (m, with the most of it), largest shim (m) and place (3,): shift x, y, turn.

    Where the unit does not go in, the place has the most room and the largest shim is the one needed there. Arguments
    as for `rows_at`. Each program is linear round the turn where the one before led, in ever smaller steps, so that
    what is left of the curve is under a thousandth of a millimetre.
    """
    n = len(wall)
    place, room, step = np.zeros(3), 0.0, TURN
    for _ in range(_STEPS):
        k, g = rows_at(wall, at, off, core, front, ends, out, place[2])
        state, v, _basis, _weight, _inverse = widest(k, g, step)
        if state != 0:
            return state, np.nan, np.nan, place
        place[0], place[1], place[2], room = v[0], v[1], place[2] + v[2], v[3]
        step = abs(v[2]) / 2
        if step < _STILL:
            break
    if room < FITS_FROM:
        _tidy(wall, at, off, core, front, ends, out, room, place)
        return 0, room, _largest(wall, at, off, core, front, ends, out, place), place
    shim, step = 0.0, TURN
    for _ in range(_STEPS):
        k, g = rows_at(wall, at, off, core, front, ends, out, place[2])
        state, v, _basis, _weight, _inverse = tightest(k, g, n, step)
        if state != 0:
            # Only at the brink: what fits by rounding keeps the place that it has.
            return 0, room, _largest(wall, at, off, core, front, ends, out, place), place
        place[0], place[1], place[2], shim = v[0], v[1], place[2] + v[2], v[3]
        step = abs(v[2]) / 2
        if step < _STILL:
            break
    step = TURN
    for _ in range(_STEPS):
        k, g = rows_at(wall, at, off, core, front, ends, out, place[2])
        state, w, _basis, _weight, _inverse = fewest(k, g, n, shim, step)
        if state != 0:
            break
        place[0], place[1], place[2] = w[0], w[1], place[2] + w[2]
        step = abs(w[2]) / 2
        if step < _STILL:
            break
    return 0, room, shim, place


@_compile
def _tidy(
    wall: Walls, at: Array, off: Array, core: Array, front: Array, ends: Array, out: Array, room: float, place: Array
) -> None:
    """Of the places with the most room, one with nothing else in the way: core and line are kept where they can be."""
    n = len(wall)
    k, g = rows_at(wall, at, off, core, front, ends, out, place[2])
    for lack in (0.0, room):
        less = k - room
        less[n:] = k[n:] - lack
        state, w, _basis, _weight, _inverse = fewest(less, g, n, _SHIM, 1e-3)
        if state == 0:
            place[0], place[1], place[2] = w[0], w[1], place[2] + w[2]
            return


@_compile
def _largest(
    wall: Walls, at: Array, off: Array, core: Array, front: Array, ends: Array, out: Array, place: Array
) -> float:
    n = len(wall)
    k, g = rows_at(wall, at, off, core, front, ends, out, place[2])
    widest_gap: float = (k[:n] + g[:n, 0] * place[0] + g[:n, 1] * place[1]).max()
    return widest_gap


@_compile
def best_of_many(
    wall: Walls, at: Array, off: Array, core: Array, front: Array, ends: Array, out: Array
) -> tuple[Array, Array, Array]:
    """`best` of c pockets: off (c, n), core (c, 3), front (c, 2). Least room (c,), largest shim (c,), places (c, 3)."""
    count = len(off)
    room, shim, place = np.empty(count), np.empty(count), np.empty((count, 3))
    for i in range(count):
        _state, room[i], shim[i], place[i] = best(wall, at, off[i], core[i], front[i], ends, out)
    return room, shim, place
