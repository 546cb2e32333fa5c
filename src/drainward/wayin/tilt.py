"""Where a unit that was carried lying can be stood up: places between the start and its pocket.

TiltPlace      the floor that the tilt-up sweeps, how clear it lies, and the room under the ceiling
tilt_places    the best of every room on the way, the one nearest to the pocket first
reach          how high a corner comes while the unit is stood up

The lower edge slides as the unit rises, so the floor swept is as long as the diagonal of the side that turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components, shortest_path

from drainward.floor.abreast.lanes import kernel
from drainward.job.model import UnitModel
from drainward.wayin.clearance import Walls, clearance, sort_walls
from drainward.wayin.lines import crosses, inside, parted
from drainward.wayin.plan import Place, Plan, barriers
from drainward.wayin.polish import raise_pose

__all__ = ["ON_ITS_BACK", "ON_ITS_SIDE", "TiltPlace", "reach", "tilt_places"]

Array = NDArray[np.float64]
Labels = NDArray[np.int64]
Pose = tuple[float, float, float]

ON_ITS_BACK, ON_ITS_SIDE = "on its back", "on its side"

_GRID = 0.15
_TURNS = 12
_EASE = 0.15  # beyond so much room round it the place nearer to the pocket is better, m
_ROUNDS = 6


@dataclass(frozen=True, slots=True)
class TiltPlace:
    """x, y, turn : the middle of the floor swept, and the way the unit lies on it;  length, width : of that floor, m

    free : the least gap round that floor, m;  doors : that the unit goes through standing, from here to its pocket
    narrowest : the clear width of the narrowest door on the shortest way here from the start, m; inf for none
    """

    x: float
    y: float
    turn: float
    length: float
    width: float
    free: float
    doors: int
    narrowest: float


def reach(unit: UnitModel, how: str) -> float:
    """The diagonal sqrt(h^2 + d^2) of the side that turns, m: of the floor swept, and as high as its corner comes."""
    return math.hypot(unit.outside_height, unit.outside_width if how == ON_ITS_SIDE else unit.outside_depth)


def tilt_places(plan: Plan, unit: UnitModel, how: str, begin: Place, goal: Place, stand: Pose) -> tuple[TiltPlace, ...]:
    """The best place in each room from the pocket back to the start, the one nearest to the pocket first.

    A place can be reached standing: no face parts it from `stand`, and no door between is too low. Its floor may lie
    against a wall or over it (`free` is negative then), but never under a ceiling that the corner would meet; so there
    may be no place at all.
    """
    length, width = reach(unit, how), unit.outside_depth if how == ON_ITS_SIDE else unit.outside_width
    opening = np.array([[*goal.points[0], *goal.points[1]]])
    up = np.vstack([barriers(plan, unit.outside_height)[0], opening])
    swept = np.vstack([barriers(plan, length)[0], opening])
    points, edges = _grid(up, stand)
    rooms, route = _rooms(plan, points, edges, begin.points[0])
    low = [ceiling.points for ceiling in plan.ceilings if ceiling.height <= length]
    walls = sort_walls(swept, math.hypot(length, width) / 2)
    found = []
    for doors, (room, narrowest) in enumerate(route):
        here = points[rooms == room]
        here = here[[not any(inside(polygon, *map(float, point)) for polygon in low) for point in here]]
        if len(here) == 0:
            continue
        free, turns = _sweep(walls, length / 2, width / 2, here, stand[2] + np.arange(_TURNS) * math.pi / _TURNS)
        away = np.hypot(*(here - np.array(stand[:2])).T)
        best = int(np.lexsort((away, -np.minimum(free, _EASE)))[0])
        pose = np.array([*here[best], turns[best]])
        clear = _raised(walls, length / 2, width / 2, pose, up, low)
        x, y, turn = (float(v) for v in pose)
        found.append(TiltPlace(x, y, turn, length, width, clear, doors, narrowest))
    return tuple(found)


def _grid(faces: Array, stand: Pose) -> tuple[Array, Labels]:
    """Points (n, 2) within the walls, the first where the unit stands, and the pairs (m, 2) that no face parts."""
    low, high = (f(faces.reshape(-1, 2), axis=0) for f in (np.min, np.max))
    columns, rows = (
        stand[axis]
        + _GRID * np.arange(-int((stand[axis] - low[axis]) / _GRID), int((high[axis] - stand[axis]) / _GRID) + 1)
        for axis in (0, 1)
    )
    x, y = np.meshgrid(columns, rows)
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    number = np.arange(len(points)).reshape(x.shape)
    pairs = np.vstack(
        [
            np.stack([a.ravel(), b.ravel()], axis=1)
            for a, b in ((number[:, :-1], number[:, 1:]), (number[:-1], number[1:]))
        ]
    )
    first = int(np.argmin(np.hypot(points[:, 0] - stand[0], points[:, 1] - stand[1])))
    # the place where it stands comes first, so that its room is found without a search
    swap = np.arange(len(points))
    swap[[0, first]] = first, 0
    return points[swap], swap[pairs[~_any_parts(faces, points, pairs)]]


def _any_parts(faces: Array, points: Array, pairs: Labels) -> NDArray[np.bool_]:
    """(m,): whether any face parts the two points of a pair; pairs of a row of faces are looked at together."""
    found = np.zeros(len(pairs), dtype=np.bool_)
    for face in faces:
        low, high = np.minimum(face[:2], face[2:]) - 2 * _GRID, np.maximum(face[:2], face[2:]) + 2 * _GRID
        near = np.nonzero(((points[pairs[:, 0]] >= low) & (points[pairs[:, 0]] <= high)).all(axis=1))[0]
        found[near] |= parted(face[None], points[pairs[near, 0]], points[pairs[near, 1]])[:, 0]
    return found


def _rooms(
    plan: Plan, points: Array, pairs: Labels, start: tuple[float, float]
) -> tuple[Labels, list[tuple[int, float]]]:
    """The room of each point, and the rooms from the pocket's back to the start's with the narrowest door to go there.

    Rooms are what doors part. Where the start cannot be reached the pocket's own room is the only one.
    """
    lines = np.array([[*door.first, *door.second] for door in plan.doors]).reshape(-1, 4)
    through = parted(lines, points[pairs[:, 0]], points[pairs[:, 1]]) if len(lines) else np.zeros((len(pairs), 0), bool)
    within = pairs[~through.any(axis=1)]
    size = len(points)
    count, rooms = connected_components(coo_array((np.ones(len(within)), within.T), (size, size)), directed=False)
    width = np.full((count, count), 0.0)
    for pair, by in zip(pairs, through, strict=True):
        if by.any():
            a, b = rooms[pair]
            door = max(plan.doors[k].width for k in np.nonzero(by)[0])
            width[a, b] = width[b, a] = max(width[a, b], door)
    end = rooms[int(np.argmin(np.hypot(points[:, 0] - start[0], points[:, 1] - start[1])))]
    _, before = shortest_path(width > 0, directed=False, unweighted=True, indices=end, return_predecessors=True)
    route = [int(rooms[0])]
    while before[route[-1]] >= 0:
        route.append(int(before[route[-1]]))
    gaps = [float(width[a, b]) for a, b in pairwise(route)]
    return rooms.astype(np.int64), [(room, min(gaps[k:], default=math.inf)) for k, room in enumerate(route)]


@kernel
def _sweep(walls: Walls, half_length: float, half_width: float, points: Array, turns: Array) -> tuple[Array, Array]:
    """The greatest clearance over the turns at each point (n, 2), and the turn."""
    free, best = np.empty(len(points)), np.empty(len(points))
    for k in range(len(points)):
        free[k], best[k] = -np.inf, turns[0]
        for turn in turns:
            clear = clearance(walls, half_length, half_width, points[k, 0], points[k, 1], turn)
            if clear > free[k]:
                free[k], best[k] = clear, turn
    return free, best


def _raised(
    walls: Walls,
    half_length: float,
    half_width: float,
    pose: Array,
    up: Array,
    low: list[tuple[tuple[float, float], ...]],
) -> float:
    """Move a pose (3,) to where it is clearest, as far as no face or low ceiling is met; its clearance."""
    free = clearance(walls, half_length, half_width, pose[0], pose[1], pose[2])
    for k in range(2 * _ROUNDS):
        moved = pose.copy()
        # across a turn it shifts, across nothing it turns on the spot
        got = raise_pose(walls, half_length, half_width, moved, np.array([0.0, 0.0, float(k % 2 == 0)]), _EASE)
        x, y = float(moved[0]), float(moved[1])
        if got <= free or crosses(up, (float(pose[0]), float(pose[1])), (x, y)).any():
            continue
        if any(inside(polygon, x, y) for polygon in low):
            continue
        pose[:], free = moved, got
    return float(free)
