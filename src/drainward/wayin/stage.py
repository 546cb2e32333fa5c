"""How one room's unit gets in: ways to carry it, the clearest route, the tilt-up, the lift, what would open a way.

way_in_stage    all of it for one room of a job
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from drainward.errors import StageError
from drainward.finding import Certainty, Finding, Source, Verdict, conformance, decide, overall
from drainward.floor.stage import unit_of
from drainward.job.model import Job, UnitModel
from drainward.quantity import INCH, format_length
from drainward.wayin.clearance import clearance, sort_walls
from drainward.wayin.lift import CAUTIONS, Coupling, Lift, lifting_index, people_needed, weight_limit
from drainward.wayin.plan import Door, Place, Plan, barriers
from drainward.wayin.result import Carry, Change, Step, WayIn
from drainward.wayin.route import Progress, Route, find_route

__all__ = ["HANDS", "PIPE", "TAPE", "way_in_stage"]

Array = NDArray[np.float64]
Pose = tuple[float, float, float]

STAGE = "way in"
TAPE = 0.125 * INCH
"""Standard uncertainty of where a wall face stands in a plan taken with a tape, m; common practice, no source."""
PIPE = 2.0 * INCH
"""Height of the pipes that a unit is rolled on, m; common practice, no source."""
HANDS = 1.5 * INCH
"""Room for hands and gloves at either side of a unit that is carried, m; common practice, no source."""

_BEFORE = 0.05  # left between the pocket's opening and the unit stood up before it, m
_TILT_REACH = 3.0
_TRIES = 6
_WIDER = 0.25 * INCH

_HANDS_AT = Lift(out=0.40, height=0.40, travel=0.40, coupling=Coupling.FAIR)
"""Hands at the lower edge of a wide unit, raised to the hip; common practice, no source."""


def way_in_stage(
    job: Job,
    room: str,
    plan: Plan,
    *,
    start: str = "",
    u: float = TAPE,
    people: int | None = None,
    progress: Progress | None = None,
) -> WayIn:
    """How the unit of `room` gets from the plan's start (by name; the first where blank) before its pocket.

    u : standard uncertainty of where each wall face stands, m;  people : who lift; None: the largest crew
    Raises StageError where the job has no such room or unit, or the plan no such start, goal or wall.
    """
    unit, tell = unit_of(job, room), progress or (lambda what, share: None)
    begin, goal = _ends(plan, room, start)
    if not plan.walls:
        raise StageError(f'the plan of floor "{plan.floor}" has no wall')
    carries = _carries(unit, plan, begin, goal, u, tell)
    changes = () if any(carry.low > 0 for carry in carries) else _changes(unit, plan, begin, goal, u, carries, tell)
    best = carries[0]
    crew = people or max((c.people for c in job.crews), default=2)
    limit = weight_limit(_HANDS_AT)
    findings = (
        _clearance(best, changes, job.risk),
        *_tilt(unit, best, plan, u, job.risk),
        _lift(unit.mass, crew, job.risk),
    )
    tell("done", 1.0)
    return WayIn(
        room=room,
        stage=STAGE,
        verdict=overall(f.verdict for f in findings if f.decides),
        findings=findings,
        carries=carries,
        steps=_steps(best, plan),
        changes=changes,
        mass=unit.mass,
        people=people_needed(unit.mass, limit),
        cautions=CAUTIONS,
    )


def _ends(plan: Plan, room: str, start: str) -> tuple[Place, Place]:
    goal = plan.goal(room)
    if goal is None:
        raise StageError(f'the plan of floor "{plan.floor}" has no goal named "{room}": the opening of its pocket')
    begin = next((place for place in plan.starts if not start or place.name == start), None)
    if begin is None:
        raise StageError(f'the plan of floor "{plan.floor}" has no start{f" named {start}" if start else ""}')
    return begin, goal


def _carries(unit: UnitModel, plan: Plan, begin: Place, goal: Place, u: float, tell: Progress) -> tuple[Carry, ...]:
    wide, deep, high = unit.outside_width, unit.outside_depth, unit.outside_height
    ways = (("upright", wide, deep, high), ("on its back", high, wide, deep), ("on its side", high, deep, wide))
    found = []
    for k, (how, length, width, height) in enumerate(ways):

        def part(what: str, share: float, k: int = k, how: str = how) -> None:
            tell(f"{how}: {what}", (k + share) / len(ways))

        found.append(_carry(unit, plan, begin, goal, (how, length, width, height + PIPE), u, part))
    return tuple(sorted(found, key=lambda carry: -carry.low))


def _carry(
    unit: UnitModel,
    plan: Plan,
    begin: Place,
    goal: Place,
    way: tuple[str, float, float, float],
    u: float,
    tell: Progress,
) -> Carry:
    how, length, width, height = way
    stand = _stand(goal, unit.outside_depth)
    try:
        faces, names = barriers(plan, height)
        if how == "upright":
            return _legs(
                way,
                [(find_route(faces, length, width, (*begin.points[0], None), stand, progress=tell), names)],
                u,
                None,
            )
        up, up_names = barriers(plan, unit.outside_height)
        place = _tilt_place(up, unit, how, stand)
        x, y, turn = place[:3]
        lying = find_route(faces, length, width, (*begin.points[0], None), (x, y, turn), progress=tell)
        upright_turn = turn + (math.pi / 2 if how == "on its back" else 0.0)
        stood = find_route(up, unit.outside_width, unit.outside_depth, (x, y, upright_turn), stand)
    except ValueError as error:
        raise StageError(str(error)) from error
    return _legs(way, [(lying, names), (stood, up_names)], u, place)


def _legs(
    way: tuple[str, float, float, float],
    legs: list[tuple[Route, tuple[str, ...]]],
    u: float,
    tilt: tuple[float, float, float, float, float] | None,
) -> Carry:
    """The legs as one way: as clear as its tightest."""
    worst, names = min(legs, key=lambda leg: leg[0].low)
    weights: dict[str, float] = {}
    for contact in worst.contacts:
        weights[names[contact.wall]] = weights.get(names[contact.wall], 0.0) + contact.weight
    place = worst.poses[worst.tightest]
    return Carry(
        *way,
        low=worst.low,
        high=min(route.high for route, _ in legs),
        u=u * math.hypot(*weights.values()) if weights else u,
        poses=legs[0][0].poses,
        x=float(place[0]),
        y=float(place[1]),
        touches=tuple(sorted(weights, key=lambda name: -weights[name])),
        tilt=tilt,
    )


def _stand(goal: Place, depth: float) -> Pose:
    """Where the unit's middle is when it stands before its pocket, its back to it."""
    (ax, ay), (bx, by) = goal.points
    long = math.dist(*goal.points)
    cx, cy = (bx - ax) / long, (by - ay) / long
    away = depth / 2 + _BEFORE
    return (ax + bx) / 2 + away * cy, (ay + by) / 2 - away * cx, math.atan2(cy, cx)


def _tilt_place(faces: Array, unit: UnitModel, how: str, stand: Pose) -> tuple[float, float, float, float, float]:
    """Where the unit is best stood up, in sight of the pocket: x, y, turn, length and width of the floor swept.

    The lower edge slides as the unit rises, so the sweep is as long as the diagonal sqrt(h^2 + d^2).
    """
    side, across = unit.outside_depth, unit.outside_width
    if how == "on its side":
        side, across = across, side
    length = math.hypot(unit.outside_height, side)
    walls = sort_walls(faces, math.hypot(length, across) / 2)
    best, place = -math.inf, stand
    steps = np.arange(-_TILT_REACH, _TILT_REACH + 0.01, 0.1)
    for dx in steps:
        for dy in steps:
            x, y = stand[0] + float(dx), stand[1] + float(dy)
            for turn in stand[2] + np.arange(12) * math.pi / 12:
                free = clearance(walls, length / 2, across / 2, x, y, float(turn))
                if free > best and not _crosses(faces, stand[:2], (x, y)):
                    best, place = free, (x, y, float(turn))
    return (*place, length, across)


def _crosses(faces: Array, a: tuple[float, float], b: tuple[float, float]) -> bool:
    """Whether any face stands between two points."""

    def side(px: Array, py: Array, qx: Array, qy: Array, rx: Array, ry: Array) -> Array:
        return np.sign((qx - px) * (ry - py) - (qy - py) * (rx - px))

    x, y, x2, y2 = faces.T
    ax, ay, bx, by = (np.full(len(x), value) for value in (*a, *b))
    parted = side(x, y, x2, y2, ax, ay) != side(x, y, x2, y2, bx, by)
    return bool((parted & (side(ax, ay, bx, by, x, y) != side(ax, ay, bx, by, x2, y2))).any())


def _changes(
    unit: UnitModel, plan: Plan, begin: Place, goal: Place, u: float, carries: tuple[Carry, ...], tell: Progress
) -> tuple[Change, ...]:
    """The smallest change that opens a way, smallest first; each is tried on the way that lacks least."""
    best = carries[0]
    doors = sorted(plan.doors, key=lambda door: math.dist(_middle(door), (best.x, best.y)))[:3]
    tell("looking for what would open a way", 0.9)

    def tried(doors_now: Iterable[Door]) -> Carry:
        way = (best.how, best.length, best.width, best.height)
        return _carry(unit, replace(plan, doors=tuple(doors_now)), begin, goal, way, u, lambda what, share: None)

    def swapped(door: Door, new: Door) -> list[Door]:
        return [new if other is door else other for other in plan.doors]

    for door in doors:
        bare = replace(door, leaf="")
        small = [(f"take the leaf off {_name(door)}", bare)] if door.leaf else []
        if door.trim:
            small.append((f"take the trim off {_name(door)}", _wider(door, 2 * door.trim)))
        if door.leaf and door.trim:
            small.append((f"take leaf and trim off {_name(door)}", _wider(bare, 2 * door.trim)))
        for what, new in small:
            found = tried(swapped(door, new))
            if found.low > 0:
                return (Change(what, best.how, found.low),)
    for door in doors:
        bare, more, lack = replace(door, leaf=""), 0.0, -best.low
        for _ in range(_TRIES):
            more = math.ceil((more + 2 * max(lack, 0.0) + 1e-9) / _WIDER) * _WIDER
            found = tried(swapped(door, _wider(bare, more)))
            if found.low > 0:
                off = ", its leaf off" if door.leaf else ""
                return (Change(f"widen {_name(door)} by {format_length(more)}{off}", best.how, found.low),)
            if found.low <= -lack + 1e-4 and lack < -best.low:
                break
            lack = -found.low
    return ()


def _name(door: Door) -> str:
    return f"door {door.name}".strip()


def _middle(door: Door) -> tuple[float, float]:
    return (door.first[0] + door.second[0]) / 2, (door.first[1] + door.second[1]) / 2


def _wider(door: Door, more: float) -> Door:
    """The door wider by `more`, half of it at either jamb."""
    share = more / 2 / door.width
    dx, dy = (door.second[0] - door.first[0]) * share, (door.second[1] - door.first[1]) * share
    first, second = (door.first[0] - dx, door.first[1] - dy), (door.second[0] + dx, door.second[1] + dy)
    return replace(door, first=first, second=second)


def _clearance(best: Carry, changes: tuple[Change, ...], risk: float) -> Finding:
    value, half = (best.low + best.high) / 2, (best.high - best.low) / 2
    spread = math.hypot(best.u, half / math.sqrt(3))
    chance = conformance(value, spread, 0.0, None)
    verdict = Verdict.NOT_PROVEN if best.open is None else decide(chance, Certainty.COMPUTED, risk)
    touched = " and ".join(best.touches[:2]) or "the walls"
    if changes:
        advice = (
            f"{changes[0].what[0].upper()}{changes[0].what[1:]}: then {format_length(changes[0].clearance)} is left."
        )
    elif best.open:
        carried = "wide enough for hands too" if best.low >= HANDS else "roll it on pipes: no room for hands beside it"
        advice = f"Carry it {best.how}; tightest at {touched}; {carried}."
    else:
        advice = f"No way found; {best.how} lacks least, at {touched}. Measure there again before anything is cut."
    return Finding(
        id="way-in/clearance",
        what=f"Clearance at the tightest place of the way in, {best.how}",
        value=value,
        u=spread,
        unit="m",
        limit="more than 0",
        probability=chance,
        verdict=verdict,
        source=f"geometry of the plan: proved to lie between {format_length(best.low, 'mm')} and "
        f"{format_length(best.high, 'mm')}",
        advice=advice,
    )


def _tilt(unit: UnitModel, best: Carry, plan: Plan, u: float, risk: float) -> tuple[Finding, ...]:
    """The diagonal under the ceiling where it is stood up; nothing where nobody wrote a ceiling there."""
    if best.tilt is None:
        return ()
    x, y = best.tilt[:2]
    heights = [c.height for c in plan.ceilings if _inside(c.points, x, y)]
    if not heights:
        return ()
    room = min(heights) - best.tilt[3]
    chance = conformance(room, u, 0.0, None)
    return (
        Finding(
            id="way-in/tilt",
            what="Room under the ceiling while the unit is stood up",
            value=room,
            u=u,
            unit="m",
            limit="more than 0",
            probability=chance,
            verdict=decide(chance, Certainty.COMPUTED, risk),
            source="geometry: the diagonal sqrt(h^2 + d^2)",
            advice=f"Stood up, its corner reaches {format_length(best.tilt[3])} over the floor.",
        ),
    )


def _inside(points: tuple[tuple[float, float], ...], x: float, y: float) -> bool:
    inside = False
    for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            inside = not inside
    return inside


def _lift(mass: float, crew: int, risk: float) -> Finding:
    limit = weight_limit(_HANDS_AT)
    index = lifting_index(mass / crew, limit)
    u = 0.1 * index
    chance = conformance(index, u, None, 1.0)
    needed = people_needed(mass, limit)
    source = Source("NIOSH", "94-110", "1.3", Certainty.SECONDARY)
    return Finding(
        id="way-in/lift",
        what=f"Lifting index of each of {crew} people who share the unit",
        value=index,
        u=u,
        unit="1",
        limit="at most 1",
        probability=chance,
        verdict=decide(chance, Certainty.SECONDARY, risk),
        source=str(source),
        advice=f"{needed} people share {mass:.0f} kg within the limit, {limit.mass:.1f} kg each, hands at knee height; "
        "with fewer, roll it and lift one end at a time.",
    )


def _left(clearance: float) -> str:
    return f"{format_length(clearance)} left" if clearance > 0 else f"lacks {format_length(-clearance)}"


def _steps(best: Carry, plan: Plan) -> tuple[Step, ...]:
    """The way door by door, and where it turns."""
    poses, steps = best.poses, []
    turned, before = poses[0, 2], poses[0]
    for pose in poses:
        x, y, turn = (float(v) for v in pose)
        here = (float(before[0]), float(before[1])), (x, y)
        passed = (door for door in plan.doors if _crosses(np.array([[*door.first, *door.second]]), *here))
        steps += [Step(x, y, f"through {_name(door)}") for door in passed]
        before = pose
        if abs(turn - turned) > math.radians(40):
            way = "left" if turn > turned else "right"
            steps.append(Step(x, y, f"turn {way} by {abs(math.degrees(turn - turned)):.0f}°"))
            turned = turn
    steps.append(Step(best.x, best.y, f"tightest place, at {' and '.join(best.touches[:2])}: {_left(best.low)}"))
    if best.tilt is not None:
        steps.append(Step(best.tilt[0], best.tilt[1], "stand it up, its lower edge sliding toward where it lay"))
    return tuple(steps)
