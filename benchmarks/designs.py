"""Units and patterns of readings shared by the benchmarks."""

from __future__ import annotations

import numpy as np

from drainward.demo.floors import TrueFloor
from drainward.floor.abreast.flood import flood
from drainward.floor.functionals import Functionals, difference
from drainward.floor.ponds import outlet
from drainward.floor.shape import INCH, edge_run, fine_axes, radial_net
from drainward.job.model import Drain, Flange, Floor, UnitModel

__all__ = ["UNITS", "height_grid", "level_lines", "truths", "unit_of_fall", "window_of"]

FOOT = 9 * INCH
U_SLOPE, U_HEIGHT = 0.0009, 0.016 * INCH


def unit_of_fall(fall: float) -> UnitModel:
    """A 60 x 36 in floor with its drain in the middle and one fall in every direction."""
    w, d = 60 * INCH, 36 * INCH
    return UnitModel(
        id=f"cone-{fall:.4f}", name="cone", style="bedded", outside_width=w + 2 * INCH, outside_depth=d + 2 * INCH,
        outside_height=2.0, inside_width=w, inside_depth=d, threshold_height=0.012, mass=60.0,
        drain=Drain(x=w / 2, y=d / 2, radius=2 * INCH, body_diameter=0.1, body_depth=0.1),
        floor=Floor(form="cone", thickness=0.009, fall=fall), flange=Flange(width=0.03, thickness=0.003),
        minimum_cure=72 * 3600.0,
    )  # fmt: skip


# 3/8 in/ft in the middle of the 1/4 to 1/2 in/ft of the model codes, and 1.56 % in the middle of 1/8 in/ft to 1:48.
WINDOWS = {0.03125: (1 / 48, 1 / 24), 0.015625: (1 / 96, 1 / 48)}
UNITS = tuple(unit_of_fall(fall) for fall in WINDOWS)


def window_of(unit: UnitModel) -> tuple[float, float]:
    """Least and greatest fall asked of one of UNITS."""
    assert unit.floor.fall is not None
    return WINDOWS[unit.floor.fall]


def level_lines(unit: UnitModel, lines: int) -> Functionals:
    """A 9 in level laid end to end from the drain's rim along so many lines, as slopes."""
    ends = []
    for k in range(lines):
        angle = 2 * np.pi * k / lines
        run, r = float(edge_run(unit, np.array(angle))), unit.drain.radius
        while r + FOOT <= run + 1e-9:
            along = np.array([r, r + FOOT])
            ends.append((*(unit.drain.x + along * np.cos(angle)), *(unit.drain.y + along * np.sin(angle))))
            r += FOOT
    x, x2, y, y2 = np.array(ends).T
    n = len(x)
    points = difference(x, y, x2, y2, np.full(n, 1 / FOOT))
    return Functionals(*points, np.zeros(n), np.full(n, U_SLOPE), np.full(n, -1))


def height_grid(unit: UnitModel, columns: int, rows: int) -> Functionals:
    """Spot heights in one set-up in the middles of a regular grid of cells."""
    gx, gy = np.meshgrid(
        (np.arange(columns) + 0.5) * unit.inside_width / columns, (np.arange(rows) + 0.5) * unit.inside_depth / rows
    )
    x, y = gx.ravel(), gy.ravel()
    n = len(x)
    one = np.tile([1.0, 0.0, 0.0], (n, 1))
    return Functionals(
        np.stack([x] * 3, 1), np.stack([y] * 3, 1), one, np.zeros(n), np.full(n, U_HEIGHT), np.zeros(n, dtype=np.intp)
    )


def truths(floor: TrueFloor, unit: UnitModel, base: float) -> tuple[float, float, float]:
    """Least and greatest fall and deepest pond of the hidden floor, on a finer net than the belief's."""
    net = radial_net(unit, base, lines=192, step=INCH / 2)
    z = floor.height(net.x, net.y)
    fall = (z[net.outer] - z[net.inner]) / net.length
    x, y = fine_axes(unit)
    surface = floor.height(*np.meshgrid(x, y)).astype(np.float32)
    depth = flood(surface, outlet(unit, x, y)) - surface
    return float(fall.min()), float(fall.max()), float(depth.max())
