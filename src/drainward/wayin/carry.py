"""The ways to carry a unit from a start to its pocket, each with its clearest route and its tilt-up.

Errand       what is carried, through which plan, from where to where
Box, boxes   the unit upright, on its back and on its side
carried      one of these on its way
most_clear   what no way exceeds, however the unit is carried and wherever it is stood up
stand_of     where the unit stands before its pocket
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.job.model import UnitModel
from drainward.quantity import INCH, format_length
from drainward.wayin.lines import crosses, inside
from drainward.wayin.plan import Place, Plan, barriers
from drainward.wayin.result import Carry, Overhead
from drainward.wayin.route import WITHIN, Progress, Route, find_route
from drainward.wayin.straight import straightened
from drainward.wayin.tilt import ON_ITS_BACK, ON_ITS_SIDE, TiltPlace, reach, tilt_places

__all__ = ["PIPE", "UPRIGHT", "Box", "Errand", "Pose", "boxes", "carried", "most_clear", "stand_of"]

Array = NDArray[np.float64]
Pose = tuple[float, float, float]

PIPE = 2.0 * INCH
"""Height of the pipes that a unit is rolled on, m; common practice, no source."""
UPRIGHT = "upright"

_ROUGH = INCH / 16  # the bounds of what is shut, or carried lying, need not be closer, m
_BEFORE = 0.05  # left between the pocket's opening and the unit stood up before it, m


class Box(NamedTuple):
    """how : it is carried;  length, width, height : of the unit then, pipes under it counted, m."""

    how: str
    length: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Errand:
    """u : standard uncertainty of where each face of the plan stands, m."""

    unit: UnitModel
    plan: Plan
    begin: Place
    goal: Place
    u: float

    @property
    def stand(self) -> Pose:
        return stand_of(self.goal, self.unit.outside_depth)


class _Leg(NamedTuple):
    route: Route
    names: tuple[str, ...]
    height: float


def boxes(unit: UnitModel) -> tuple[Box, ...]:
    """Upright, on its back and on its side, rolled on pipes."""
    wide, deep, high = unit.outside_width, unit.outside_depth, unit.outside_height
    return (
        Box(UPRIGHT, wide, deep, high + PIPE),
        Box(ON_ITS_BACK, high, wide, deep + PIPE),
        Box(ON_ITS_SIDE, high, deep, wide + PIPE),
    )


def stand_of(goal: Place, depth: float) -> Pose:
    """Where the unit's middle is when it stands before its pocket, its back to it."""
    (ax, ay), (bx, by) = goal.points
    long = math.dist(*goal.points)
    cx, cy = (bx - ax) / long, (by - ay) / long
    away = depth / 2 + _BEFORE
    return (ax + bx) / 2 + away * cy, (ay + by) / 2 - away * cx, math.atan2(cy, cx)


def carried(errand: Errand, box: Box, tell: Progress, *, sign: bool = False) -> Carry | str:
    """The clearest way of the unit carried so; a sentence where no ceiling on the way is high enough to stand it up.

    sign : only whether it is open is wanted
    Raises StageError where an end lies outside the plan.
    """
    plan, unit, stand = errand.plan, errand.unit, errand.stand
    try:
        if box.how == UPRIGHT:
            leg = _leg(plan, box.height, (box.length, box.width), _start(errand), stand, tell, sign=sign)
            return _carry(errand, box, (leg,), None)
        places = tilt_places(plan, unit, box.how, errand.begin, errand.goal, stand)
        if not places:
            over = format_length(reach(unit, box.how))
            return f"{box.how}: its corner comes to {over} while it is stood up, and no ceiling on the way is so high"
        return _stood_up(errand, box, places, tell, sign=sign)
    except ValueError as error:
        raise StageError(str(error)) from error


def most_clear(errand: Errand, tell: Progress, *, sign: bool = False) -> Route:
    """The way of a box that every box of `boxes` covers, past what is as low as the lowest of them.

    However the unit is carried and wherever it is laid down or stood up, it sweeps at least this box: so no way is
    clearer than the `high` of this one. Raises StageError where an end lies outside the plan.
    """
    every = [*boxes(errand.unit), Box(UPRIGHT, *_footprint(errand.unit), errand.unit.outside_height)]
    sizes = min(max(box[1:3]) for box in every), min(min(box[1:3]) for box in every)
    try:
        low = min(box.height for box in every)
        return _leg(errand.plan, low, sizes, _start(errand), errand.stand, tell, sign=sign).route
    except ValueError as error:
        raise StageError(str(error)) from error


def _footprint(unit: UnitModel) -> tuple[float, float]:
    return unit.outside_width, unit.outside_depth


def _start(errand: Errand) -> tuple[float, float, None]:
    return (*errand.begin.points[0], None)


def _leg(
    plan: Plan,
    height: float,
    sizes: tuple[float, float],
    start: tuple[float, float, float | None],
    goal: Pose,
    tell: Progress,
    *,
    sign: bool,
    fine: bool = True,
) -> _Leg:
    faces, names = barriers(plan, height)
    within = WITHIN if sign else _ROUGH
    route = find_route(faces, *sizes, start, goal, within=within, sign=sign, progress=tell)
    if fine and not sign and route.high > 0:
        route = find_route(faces, *sizes, start, goal, progress=tell)
    if len(route.poses) == 0:
        # straight through every wall: no face is met deeper than the half-diagonal
        turns = [goal[2] if start[2] is None else start[2], goal[2]]
        straight = np.array([[*start[:2], turns[0]], [*goal[:2], turns[1]]])
        route = replace(route, low=-math.hypot(*sizes) / 2, poses=straight, tightest=1)
    elif not sign:
        poses = straightened(faces, *sizes, route.poses, route.low, free=start[2] is None)
        place = route.poses[route.tightest]
        tightest = int(np.argmin(np.abs(poses - place).sum(axis=1)))
        route = replace(route, poses=poses, tightest=tightest)
    return _Leg(route, names, height)


def _stood_up(errand: Errand, box: Box, places: Sequence[TiltPlace], tell: Progress, *, sign: bool) -> Carry:
    """The clearest of the ways by each place, until one is open; none that was tried is clearer than its `high`."""
    best, high = None, -math.inf
    # a place behind a door that is too narrow for the box lying down comes last
    for place in sorted(places, key=lambda place: place.narrowest <= box.width):
        if best is not None and min(place.free, best.high) <= best.low:
            continue
        tilt = (place.x, place.y, place.turn)
        lying = (box.length, box.width), _start(errand), tilt, tell
        legs = [_leg(errand.plan, box.height, *lying, sign=sign, fine=False)]
        if legs[0].route.high > 0:
            turn = place.turn + (math.pi / 2 if box.how == ON_ITS_BACK else 0.0)
            height, up = errand.unit.outside_height, (place.x, place.y, turn)
            legs.append(_leg(errand.plan, height, _footprint(errand.unit), up, errand.stand, tell, sign=sign))
        found = _carry(errand, box, tuple(legs), place)
        high = max(high, found.high)
        best = found if best is None or found.low > best.low else best
        if best.low > 0:
            break
    assert best is not None
    return replace(best, high=high)


def _carry(errand: Errand, box: Box, legs: tuple[_Leg, ...], place: TiltPlace | None) -> Carry:
    """The legs, and the floor that the tilt-up sweeps, as one way: as clear as the tightest of them."""
    worst = min(legs, key=lambda leg: leg.route.low)
    route, free = worst.route, math.inf if place is None else place.free
    weights: dict[str, float] = {}
    for contact in route.contacts:
        name = worst.names[contact.wall]
        weights[name] = weights.get(name, 0.0) + contact.weight
    x, y = (float(v) for v in route.poses[route.tightest, :2])
    if place is not None and free < route.low:
        x, y, weights = place.x, place.y, {"where it is stood up": 1.0}
    touches = tuple(sorted(weights, key=lambda name: -weights[name]))
    return Carry(
        *box,
        low=min(route.low, free),
        high=min(free, *(leg.route.high for leg in legs), math.inf),
        u=errand.u * math.hypot(*weights.values()) if weights else errand.u,
        poses=legs[0].route.poses,
        x=x,
        y=y,
        touches=touches,
        tilt=None if place is None else (place.x, place.y, place.turn, place.length, place.width),
        stood=legs[1].route.poses if len(legs) > 1 else np.empty((0, 3)),
        weights=tuple(weights[name] for name in touches),
        overhead=min(_overhead(errand, box, legs, place), key=lambda over: over.room, default=None),
    )


def _overhead(errand: Errand, box: Box, legs: tuple[_Leg, ...], place: TiltPlace | None) -> Iterator[Overhead]:
    """Heads of doors, and ceilings, over each leg and over the tilt-up, and the room below each."""
    plan = errand.plan
    for leg in legs:
        points = [(float(x), float(y)) for x, y in leg.route.poses[:, :2]]
        path = np.array([[*a, *b] for a, b in pairwise(points)]).reshape(-1, 4)
        for door in plan.doors:
            if door.head is not None and crosses(path, door.first, door.second).any():
                yield Overhead(door.head - leg.height, f"the head of {door.label}")
        for ceiling in plan.ceilings:
            if any(inside(ceiling.points, *point) for point in points):
                yield Overhead(ceiling.height - leg.height, f"ceiling {ceiling.name}".strip())
    if place is not None:
        for ceiling in plan.ceilings:
            if inside(ceiling.points, place.x, place.y):
                words = f"ceiling {ceiling.name}".strip() + " where it is stood up"
                yield Overhead(ceiling.height - reach(errand.unit, box.how), words)
