"""The plan of a moulded floor: runs from the drain to the walls, and the falls that its cut sheet gives.

wall_runs     perpendicular run from the drain to each wall
run_ratio     longest over shortest of them; best_drain: the place where that is least
is_level      whether the rim is level all round
Falls, falls  the moulded falls: wall by wall, in any direction, and along the lines from the corners

A level rim at height H over one point drain falls H / run to each wall, so the steepest fall over the flattest is the
longest run over the shortest, whatever H is: a floor can lie within [low, high] only where that is at most high / low.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from drainward.job.model import UnitModel

__all__ = ["Falls", "best_drain", "falls", "is_level", "run_ratio", "wall_runs"]

LEVEL = 0.0005
"""Named heights this close, m, are one height: cut sheets round to 1/32 in or to 1 mm."""
SAME = 1e-6
"""Points of the edge this close, m, are one point."""

_Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Falls:
    """Falls of the floor as moulded, ratios.

    walls    : by wall, the fall from the foot of the perpendicular to the drain
    runs     : by wall, that perpendicular run, m
    greatest : greatest fall toward the drain
    any      : greatest slope in any direction
    corner   : least fall along a line from a corner, or from a named point, to the drain
    """

    walls: dict[str, float]
    runs: dict[str, float]
    greatest: float
    any: float
    corner: float

    @property
    def flattest(self) -> str:
        """The wall toward which the floor is flattest."""
        return min(self.walls, key=lambda wall: self.walls[wall])

    @property
    def least(self) -> float:
        """The least fall, square to a wall."""
        return self.walls[self.flattest]


def wall_runs(width: float, depth: float, x: float, y: float) -> dict[str, float]:
    """Perpendicular run from a drain at (x, y) to each wall of a width × depth floor, m."""
    return {"left": x, "right": width - x, "back": y, "front": depth - y}


def run_ratio(width: float, depth: float, x: float, y: float) -> float:
    """Longest over shortest perpendicular run for a drain at (x, y) inside the floor."""
    runs = wall_runs(width, depth, x, y).values()
    return max(runs) / min(runs)


def best_drain(width: float, depth: float) -> tuple[float, float, float]:
    """The drain place (x, y) with the least run ratio, and that ratio.

    The longest run is at least half the longer side and the shortest at most half the shorter one; the centre
    reaches both bounds at once, so no place does better than longer side / shorter side.
    """
    return width / 2, depth / 2, max(width, depth) / min(width, depth)


def is_level(unit: UnitModel) -> bool:
    """Whether the floor is of planes with one height all round its rim."""
    if unit.floor.form != "planes":
        return False
    heights = [point.height for point in unit.floor.heights]
    return max(heights) - min(heights) <= LEVEL


def falls(unit: UnitModel) -> Falls:
    """The falls as moulded, from the heights that the cut sheet names (linear along the edge between them)."""
    drain = unit.drain
    runs = wall_runs(unit.inside_width, unit.inside_depth, drain.x, drain.y)
    if unit.floor.form == "cone":
        fall = unit.floor.fall or 0.0
        return Falls(dict.fromkeys(runs, fall), runs, fall, fall, fall)
    rim = _rim(unit)
    ways = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "back": (0.0, -1.0), "front": (0.0, 1.0)}
    feet = {wall: (x * runs[wall], y * runs[wall]) for wall, (x, y) in ways.items()}
    panels = list(zip(rim, rim[1:] + rim[:1], strict=True))
    walls = {wall: max(_height(panel, foot) for panel in panels) / runs[wall] for wall, foot in feet.items()}
    radial = [height / math.hypot(x, y) for x, y, height in rim]
    slopes = [_slope(a, b) for a, b in panels]
    steepest = [slope for slope, toward in slopes if toward]
    return Falls(
        walls=walls,
        runs=runs,
        greatest=max([*radial, *steepest]),
        any=max(slope for slope, _ in slopes),
        corner=min(radial),
    )


def _rim(unit: UnitModel) -> list[_Point]:
    """Named points and corners in order around the edge: x, y from the drain, height over it."""
    width, depth = unit.inside_width, unit.inside_depth
    around = 2 * (width + depth)
    named = sorted((_station(width, depth, p.x, p.y), p.height) for p in unit.floor.heights)
    rim: list[_Point] = []
    for station in sorted((*(s for s, _ in named), 0.0, width, width + depth, 2 * width + depth)):
        after = next((k for k, (s, _) in enumerate(named) if s >= station - 1e-9), 0)
        (s0, h0), (s1, h1) = named[after - 1], named[after]
        gap = (s1 - s0) % around
        part = ((station - s0) % around) / gap if gap else 0.0
        x, y = _edge_point(width, depth, station)
        point = (x - unit.drain.x, y - unit.drain.y, h0 + min(part, 1.0) * (h1 - h0))
        if not rim or math.dist(point[:2], rim[-1][:2]) > SAME:
            rim.append(point)
    return rim if math.dist(rim[0][:2], rim[-1][:2]) > SAME else rim[:-1]


def _station(width: float, depth: float, x: float, y: float) -> float:
    """Way along the edge from the back left corner over the back right one to the edge point nearest (x, y), m."""
    gaps = {"back": abs(y), "right": abs(width - x), "front": abs(depth - y), "left": abs(x)}
    wall = min(gaps, key=lambda name: gaps[name])
    ways = {"back": x, "right": width + y, "front": 2 * width + depth - x, "left": 2 * (width + depth) - y}
    return ways[wall] % (2 * (width + depth))


def _edge_point(width: float, depth: float, station: float) -> tuple[float, float]:
    if station <= width:
        return station, 0.0
    if station <= width + depth:
        return width, station - width
    if station <= 2 * width + depth:
        return 2 * width + depth - station, depth
    return 0.0, 2 * (width + depth) - station


def _height(panel: tuple[_Point, _Point], foot: tuple[float, float]) -> float:
    """Height of the panel drain-A-B at a point of its edge; minus infinity where the point lies on another panel."""
    (ax, ay, ah), (bx, by, bh) = panel
    det = ax * by - ay * bx
    a = (foot[0] * by - foot[1] * bx) / det
    b = (ax * foot[1] - ay * foot[0]) / det
    return a * ah + b * bh if a >= -1e-9 and b >= -1e-9 else -math.inf


def _slope(a: _Point, b: _Point) -> tuple[float, bool]:
    """Slope of the panel drain-A-B, and whether its line of steepest descent through the drain lies on it."""
    (ax, ay, ah), (bx, by, bh) = a, b
    det = ax * by - ay * bx
    gx, gy = (ah * by - bh * ay) / det, (ax * bh - bx * ah) / det
    inside = gx * by - gy * bx, ax * gy - ay * gx
    return math.hypot(gx, gy), all(part * det >= -1e-12 for part in inside)
