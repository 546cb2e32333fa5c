"""The way through a building as a simple plan: walls, doors and ceilings of one storey, a start and a goal.

Plan (Wall, Door, Ceiling, Place)   what stands in the way
plan_of                             the plan that leads to a room's pocket
read_plan                           plan.csv of the job folder to plans, one a storey (docs/job-folder.md)
barriers                            the faces that a box of some height meets
REQUIRED, OPTIONAL, KINDS           columns, and kinds of points

Plan frame: x to the right and y up the sheet, m.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from drainward.errors import Problem
from drainward.job.names import clean, name_key, nearest
from drainward.job.records import read_grid
from drainward.job.table import Row, RowReader, tabulate
from drainward.quantity import INCH, parse_length

__all__ = [
    "KINDS",
    "OPTIONAL",
    "REQUIRED",
    "Ceiling",
    "Door",
    "Place",
    "Plan",
    "Wall",
    "barriers",
    "plan_of",
    "read_plan",
]

Array = NDArray[np.float64]
Point = tuple[float, float]

REQUIRED = ("kind", "x", "y")
OPTIONAL = ("floor", "name", "thickness", "height", "leaf", "trim", "note")
KINDS = ("wall", "door", "ceiling", "start", "goal")
POINTS = {"wall": (2, None), "door": (2, 2), "ceiling": (3, None), "start": (1, 1), "goal": (2, 2)}
"""Fewest and most points of a thing of each kind."""

THICKNESS = 4.5 * INCH
"""Of a wall whose thickness nobody wrote: 2x4 studs and a half-inch board on both sides; common practice, no source."""
_FAR = 300.0
_ON_WALL = 0.15


@dataclass(frozen=True, slots=True)
class Wall:
    """points : its middle line, m;  thickness : m, 0 for a line that only must not be crossed."""

    name: str
    points: tuple[Point, ...]
    thickness: float = THICKNESS


@dataclass(frozen=True, slots=True)
class Door:
    """An opening between two points of a wall's middle line, as wide as they are apart: the clear width.

    head : clear height, m, None where nothing is above;  leaf : `left` or `right`, the side on which the open leaf
    stands, seen from the first to the second; blank for none;  trim : what comes away at either jamb, m
    """

    name: str
    first: Point
    second: Point
    head: float | None = None
    leaf: str = ""
    trim: float = 0.0

    @property
    def width(self) -> float:
        return math.dist(self.first, self.second)

    @property
    def label(self) -> str:
        return f"door {self.name}".strip()


@dataclass(frozen=True, slots=True)
class Ceiling:
    """height : over the floor within the polygon, m."""

    name: str
    points: tuple[Point, ...]
    height: float


@dataclass(frozen=True, slots=True)
class Place:
    """A start (lift, stair, street door: one point), or a goal: the ends of a pocket's opening, left end first."""

    name: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """One storey."""

    floor: str
    walls: tuple[Wall, ...]
    doors: tuple[Door, ...] = ()
    ceilings: tuple[Ceiling, ...] = ()
    starts: tuple[Place, ...] = ()
    goals: tuple[Place, ...] = field(default=())

    def goal(self, room: str) -> Place | None:
        return next((place for place in self.goals if name_key(place.name) == name_key(room)), None)


def plan_of(plans: Mapping[str, Plan], room: str, floor: str) -> Plan | None:
    """The plan of a room's storey, else one that has the room's pocket for a goal; None where there is neither.

    plans : as `read_plan` has them
    """
    found = plans.get(name_key(floor))
    return found or next((plan for plan in plans.values() if plan.goal(room) is not None), None)


def read_plan(path: Path) -> tuple[dict[str, Plan], tuple[Problem, ...]]:
    """The storeys by name_key of their floor, and every problem with its line. Nothing is raised.

    Rows of one floor, kind and name are the points of one thing, in file order. A thing with a row that is not wholly
    understood is left out, since a wall with a corner missing would open a way that is not there.
    """
    table = tabulate(read_grid(path), REQUIRED, OPTIONAL)
    problems = list(table.problems)
    things: dict[tuple[str, str, str], list[tuple[Row, Point, dict[str, float]]]] = {}
    broken: set[tuple[str, str, str]] = set()
    floors: dict[str, str] = {}
    for row in table.rows:
        reader = RowReader(table.file, row)
        kind = name_key(reader.text("kind"))
        if kind not in KINDS:
            reader.refuse("kind", f"is no kind of point{nearest(kind, KINDS)}; expected {', '.join(KINDS)}")
        key = (name_key(reader.text("floor")), kind, name_key(reader.text("name")))
        floors.setdefault(key[0], clean(reader.text("floor")))
        point, sizes = _point(reader, kind)
        problems += reader.problems
        if reader.problems or point is None:
            broken.add(key)
        else:
            things.setdefault(key, []).append((row, point, sizes))
    kept: dict[str, dict[str, list[object]]] = {}
    for key, rows in things.items():
        reader = RowReader(table.file, rows[0][0])
        thing = None if key in broken else _thing(reader, key[1], rows)
        problems += reader.problems
        if thing is not None:
            kept.setdefault(key[0], {}).setdefault(key[1], []).append(thing)
    plans = {key: _plan(floors[key], kinds) for key, kinds in kept.items()}
    return plans, tuple(problems + _astray(table.file, things, broken, plans))


def _point(reader: RowReader, kind: str) -> tuple[Point | None, dict[str, float]]:
    for column in ("x", "y"):
        reader.needed(column, "is missing; expected a length, such as 12'-6\"")
    x, y = (reader.quantity(column, parse_length, -_FAR, _FAR) for column in ("x", "y"))
    sizes = {}
    for column, kinds, most in (
        ("thickness", ("wall",), 2.0), ("height", ("door", "ceiling"), 30.0), ("trim", ("door",), 0.2)
    ):  # fmt: skip
        size = reader.quantity(column, parse_length, 0.0, most)
        if size is not None and kind in KINDS and kind not in kinds:
            reader.refuse(column, f"belongs to a {' or a '.join(kinds)}, not to a {kind}")
        elif size is not None:
            sizes[column] = size.value
    leaf = name_key(reader.text("leaf"))
    if leaf not in ("", "none", "left", "right") or (leaf and kind != "door"):
        reader.refuse("leaf", "is not understood; expected left, right or none, of a door")
    return None if x is None or y is None else (x.value, y.value), sizes


def _thing(reader: RowReader, kind: str, rows: Sequence[tuple[Row, Point, dict[str, float]]]) -> object | None:
    """What the rows of one name say."""
    points = tuple(point for _, point, _ in rows)
    sizes = {name: size for _, _, said in reversed(rows) for name, size in said.items()}
    name = clean(reader.text("name"))
    fewest, most = POINTS[kind]
    if len(points) < fewest or (most is not None and len(points) > most):
        count = f"{fewest}" if most == fewest else f"{fewest} or more"
        reader.refuse("kind", f'has {len(points)} points under the name "{name}"; a {kind} has {count}')
        return None
    if any(math.dist(a, b) == 0 for a, b in pairwise(points)):
        reader.refuse("x", f'is the same point as the one before it, of the {kind} "{name}"')
        return None
    if kind == "wall":
        return Wall(name, points, sizes.get("thickness", THICKNESS))
    if kind == "ceiling":
        if "height" not in sizes:
            reader.refuse("height", "is missing; a ceiling has its height over the floor")
            return None
        return Ceiling(name, points, sizes["height"])
    if kind == "door":
        leaf = next((name_key(str(row.get("leaf"))) for row, _, _ in rows if row.get("leaf")), "")
        turned = "" if leaf == "none" else leaf
        return Door(name, points[0], points[1], sizes.get("height"), turned, sizes.get("trim", 0.0))
    return Place(name, points)


def _plan(floor: str, kinds: Mapping[str, list[object]]) -> Plan:
    def all_of(kind: str) -> tuple[object, ...]:
        return tuple(kinds.get(kind, ()))

    return Plan(
        floor,
        tuple(w for w in all_of("wall") if isinstance(w, Wall)),
        tuple(d for d in all_of("door") if isinstance(d, Door)),
        tuple(c for c in all_of("ceiling") if isinstance(c, Ceiling)),
        tuple(p for p in all_of("start") if isinstance(p, Place)),
        tuple(p for p in all_of("goal") if isinstance(p, Place)),
    )


def _astray(
    file: str,
    things: Mapping[tuple[str, str, str], Sequence[tuple[Row, Point, dict[str, float]]]],
    broken: set[tuple[str, str, str]],
    plans: Mapping[str, Plan],
) -> list[Problem]:
    """Doors that lie on no wall: they would open nothing."""
    problems = []
    for key, rows in things.items():
        if key[1] != "door" or key in broken or key[0] not in plans:
            continue
        walls = plans[key[0]].walls
        if not any(_on(rows[0][1], a, b) and _on(rows[-1][1], a, b) for w in walls for a, b in _pieces(w.points)):
            name = str(rows[0][0].get("name"))
            expected = "is a door on no wall; expected both its points on the middle line of one wall, within 6 in"
            problems.append(Problem(file, rows[0][0].line, "name", name, expected))
    return problems


def _pieces(points: Sequence[Point]) -> Iterable[tuple[Point, Point]]:
    return pairwise(points)


def _on(p: Point, a: Point, b: Point) -> bool:
    return _share(p, a, b)[1] <= _ON_WALL and -1e-9 <= _share(p, a, b)[0] <= 1 + 1e-9


def _share(p: Point, a: Point, b: Point) -> tuple[float, float]:
    """Where p lies along a to b, 0 to 1, and how far off that line, m."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    along = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square
    off = abs((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) / math.sqrt(square)
    return along, off


def barriers(plan: Plan, height: float) -> tuple[Array, tuple[str, ...]]:
    """((n, 4) faces, what each belongs to) that a box as high as `height`, m, must not cross.

    A door cuts the wall that it lies on; its open leaf stands at a right angle. A head or a ceiling that is lower than
    the box shuts the door, or the outline of the ceiling. Raises ValueError where nothing stands on the storey.
    """
    faces: list[tuple[float, float, float, float]] = []
    names: list[str] = []

    def add(a: Point, b: Point, name: str) -> None:
        faces.append((*a, *b))
        names.append(name)

    pieces = [(wall, a, b) for wall in plan.walls for a, b in _pieces(wall.points)]
    ends_at = Counter((round(p[0], 6), round(p[1], 6)) for _, *both in pieces for p in both)
    for wall, a, b in pieces:
        label = f"wall {wall.name}".strip()
        for near, far, ends in _solid(*_to_corners(a, b, wall.thickness / 2, ends_at), label, plan.doors):
            _faces(near, far, wall.thickness / 2, (label, *ends), add)
    for door in plan.doors:
        label = door.label
        if door.leaf:
            dx, dy = door.second[0] - door.first[0], door.second[1] - door.first[1]
            turn = 1.0 if door.leaf == "left" else -1.0
            add(door.first, (door.first[0] - turn * dy, door.first[1] + turn * dx), f"leaf of {label}")
        if door.head is not None and door.head <= height:
            add(door.first, door.second, f"head of {label}")
    for ceiling in plan.ceilings:
        if ceiling.height <= height:
            for a, b in _pieces((*ceiling.points, ceiling.points[0])):
                add(a, b, f"ceiling {ceiling.name}".strip())
    if not faces:
        raise ValueError(f'no wall stands on floor "{plan.floor}"')
    return np.array(faces), tuple(names)


def _to_corners(a: Point, b: Point, half: float, ends_at: Mapping[Point, int]) -> tuple[Point, Point]:
    """The middle line, longer by half a thickness where another wall begins, so that corners are filled."""
    over = half / math.dist(a, b)
    low = -over if ends_at[round(a[0], 6), round(a[1], 6)] > 1 else 0.0
    high = 1 + over if ends_at[round(b[0], 6), round(b[1], 6)] > 1 else 1.0
    return _along(a, b, low), _along(a, b, high)


def _solid(a: Point, b: Point, label: str, doors: Iterable[Door]) -> list[tuple[Point, Point, tuple[str, str]]]:
    """The stretches of a wall between its doors, and what each end belongs to."""
    cuts = []
    for door in doors:
        if _on(door.first, a, b) and _on(door.second, a, b):
            low, high = sorted((_share(door.first, a, b)[0], _share(door.second, a, b)[0]))
            cuts.append((low, high, door.label))
    at, before = 0.0, label
    stretches = []
    for low, high, name in [*sorted(cuts), (1.0, 1.0, label)]:
        if low > at:
            stretches.append((_along(a, b, at), _along(a, b, low), (before, name)))
        at, before = max(at, high), name
    return stretches


def _along(a: Point, b: Point, share: float) -> Point:
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def _faces(
    a: Point, b: Point, half: float, names: tuple[str, str, str], add: Callable[[Point, Point, str], None]
) -> None:
    """Both faces and both ends of a stretch of wall."""
    if half == 0:
        add(a, b, names[0])
        return
    long = math.dist(a, b)
    nx, ny = -(b[1] - a[1]) / long * half, (b[0] - a[0]) / long * half
    left = ((a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny))
    right = ((a[0] - nx, a[1] - ny), (b[0] - nx, b[1] - ny))
    add(*left, names[0])
    add(*right, names[0])
    add(left[0], right[0], names[1])
    add(left[1], right[1], names[2])
