"""How clear a box may be anywhere in a cell of places and turns: a bound that is close where walls oppose each other.

most_clearance    the bound of one cell
moved_rows        what one wall allows, as rows linear in the move

Every wall parts from the box along one of three directions: square to the box's ends, to its sides, or to the wall.
Along each the gap is linear in a shift and nearly linear in a turn, so that a row with a small remainder bounds it from
above in the whole cell. The greatest clearance that all rows allow is a linear program: between two walls that face
each other it is half of what is left between them, however far a shift may go.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.floor.abreast.lanes import kernel
from drainward.pocket.simplex import OPTIMAL, least
from drainward.wayin.clearance import Walls, near_walls

__all__ = ["most_clearance", "moved_rows"]

Array = NDArray[np.float64]

_ROWS = 10
_SPARE = 1e-9  # for rounding, m


@kernel
def moved_rows(
    half_length: float, half_width: float, x: float, y: float, c: float, s: float, wall: Array,
    shift: float, turn: float, rows: Any,
) -> None:  # fmt: skip
    """Into `rows` (3, 4): for shifts within the square of half-side `shift` and turns within `turn`, the gap is at most
    rows[k, 3] + rows[k, :3] (dx, dy, dturn). Row 0 is square to the box's ends, 1 to its sides, 2 to the wall.

    Where a direction parts box and wall the gap is the distance along it, and at most what the nearest point runs over
    the edge; where they overlap it is the greatest of the three, so what another may exceed a row by is added.
    """
    value, over = np.empty(3), np.empty(3)
    for k in range(2):
        value[k], over[k] = _square_to_box(half_length, half_width, x, y, c, s, wall, shift, turn, k, rows[k])
    value[2], over[2] = _square_to_wall(half_length, half_width, x, y, c, s, wall, shift, turn, rows[2])
    move = math.sqrt(2.0) * shift + math.hypot(half_length, half_width) * turn
    for k in range(3):
        lowest = value[k] - move
        if lowest < 0.0 < over[k]:
            over[k] -= lowest
        if lowest < 0.0:
            over[k] += max(0.0, max(value[(k + 1) % 3], value[(k + 2) % 3]) + move - lowest)
        rows[k, 3] += over[k]


@kernel
def _square_to_box(
    half_length: float, half_width: float, x: float, y: float, c: float, s: float, wall: Array,
    shift: float, turn: float, k: int, row: Any,
) -> tuple[float, float]:  # fmt: skip
    """The row of the wall's end that is nearest along the box's own axis k; the gap along it, and the overrun."""
    ax, ay = c * (wall[0] - x) + s * (wall[1] - y), c * (wall[1] - y) - s * (wall[0] - x)
    bx, by = c * (wall[2] - x) + s * (wall[3] - y), c * (wall[3] - y) - s * (wall[2] - x)
    pa, pb, ta, tb = (ax, bx, ay, by) if k == 0 else (ay, by, ax, bx)
    half, other = (half_length, half_width) if k == 0 else (half_width, half_length)
    sign = 1.0 if min(pa, pb) >= -max(pa, pb) else -1.0
    p, t = (pa, ta) if sign * pa <= sign * pb else (pb, tb)
    far = math.sqrt(2.0) * shift
    span = far + (math.hypot(p, t) + far) * turn
    # an end that may pass the box's middle is on the other side of it then
    behind = max(0.0, span - sign * p)
    row[0] = sign * (-c if k == 0 else s)
    row[1] = sign * (-s if k == 0 else -c)
    row[2] = sign * (t if k == 0 else -t)
    row[3] = sign * p - half + far * turn + 2 * behind + 0.5 * behind * turn * turn
    return sign * p - half, max(0.0, abs(t) + span - other)


@kernel
def _square_to_wall(
    half_length: float, half_width: float, x: float, y: float, c: float, s: float, wall: Array,
    shift: float, turn: float, row: Any,
) -> tuple[float, float]:  # fmt: skip
    """The row of the box's corner that is nearest to the wall's line; the gap along it, and the overrun."""
    dx, dy = wall[2] - wall[0], wall[3] - wall[1]
    long = math.hypot(dx, dy)
    if long == 0.0:
        row[:3] = 0.0
        row[3] = math.inf
        return -math.inf, 0.0
    nx, ny = dy / long, -dx / long
    away = nx * (x - wall[0]) + ny * (y - wall[1])
    if away < 0:
        nx, ny, away = -nx, -ny, -away
    ahead, across = nx * c + ny * s, ny * c - nx * s
    sa, sc = 1.0 if ahead >= 0 else -1.0, 1.0 if across >= 0 else -1.0
    far, reach = math.sqrt(2.0) * shift, math.hypot(half_length, half_width)
    value = away - half_length * abs(ahead) - half_width * abs(across)
    row[0], row[1] = nx, ny
    row[2] = half_width * sc * ahead - half_length * sa * across
    row[3] = value + 0.5 * reach * turn * turn + 2 * max(0.0, far - away)
    px = x - c * sa * half_length + s * sc * half_width
    py = y - s * sa * half_length - c * sc * half_width
    along = ((px - wall[0]) * dx + (py - wall[1]) * dy) / long
    move = far + reach * turn
    return value, max(0.0, move - along, along - long + move)


@kernel
def most_clearance(
    walls: Walls, half_length: float, half_width: float, x: float, y: float, angle: float,
    shift: float, turn: float, most: float,
) -> float:  # fmt: skip
    """No pose in the cell round (x, y, angle) is clearer than this, m; `most` is what is known already.

    shift, turn : half-sides of the cell, m and rad
    """
    c, s = math.cos(angle), math.sin(angle)
    three, rows = np.empty((3, 4)), np.empty((_ROWS, 4))
    bound = np.array([shift, shift, turn, 10.0])
    count, greatest = 0, most
    first, last = near_walls(walls, x, y)
    for k in range(first, last):
        moved_rows(half_length, half_width, x, y, c, s, walls.segments[walls.near[k]], shift, turn, three)
        for row in range(3):
            swing = (abs(three[row, 0]) + abs(three[row, 1])) * shift + abs(three[row, 2]) * turn
            if not three[row, 3] - swing < greatest:
                continue
            greatest = min(greatest, three[row, 3] + swing)
            at = count
            if count == _ROWS:
                at = int(np.argmax(rows[:, 3]))
                if rows[at, 3] <= three[row, 3]:
                    continue
            rows[at] = three[row]
            count = max(count, at + 1)
    if count < 2:
        return greatest + _SPARE
    a, b = np.empty((count, 4)), np.empty(count)
    for k in range(count):
        a[k, 0], a[k, 1], a[k, 2], a[k, 3], b[k] = -rows[k, 0], -rows[k, 1], -rows[k, 2], 1.0, rows[k, 3]
    state, v, _, _, _ = least(np.array([0.0, 0.0, 0.0, -1.0]), a, b, bound)
    return (min(greatest, v[3]) if state == OPTIMAL else greatest) + _SPARE
