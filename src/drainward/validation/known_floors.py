"""Floors known in closed form, through the floor's own rooms: drawn floor, fine surface, falls, ponds, straightedge."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

from drainward.finding import Certainty
from drainward.job.model import Drain, Flange, Floor, NamedHeight, UnitModel
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]
WIDTH, DEPTH, RADIUS = 60 * INCH, 36 * INCH, 1 * INCH
RUN = WIDTH / 2 - RADIUS
"""From the drain's rim to the right wall."""
DIP, HALF, COUNTED = 0.006, 3 * INCH, INCH / 16
"""A Gaussian dish or rise: its height and its standard deviation; the depth from which a pond counts."""
LEAN, RIM, BASE = 0.01, 0.02, 12 * INCH

_SOLID = "solid geometry"


def _unit(rim: float) -> UnitModel:
    """Flat panels from a drain in the middle to a level rim."""
    corners = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH, DEPTH), (0.0, DEPTH))
    heights = tuple(NamedHeight(x=x, y=y, height=rim) for x, y in corners)
    return UnitModel(
        id="known", name="known", style="bedded", outside_width=WIDTH + 0.05, outside_depth=DEPTH + 0.05,
        outside_height=2.0, inside_width=WIDTH, inside_depth=DEPTH, threshold_height=0.012, mass=60.0,
        drain=Drain(x=WIDTH / 2, y=DEPTH / 2, radius=RADIUS, body_diameter=0.1, body_depth=0.1),
        floor=Floor(form="planes", thickness=0.009, heights=heights),
        flange=Flange(width=0.03, thickness=0.003), minimum_cure=86400.0,
    )  # fmt: skip


def _surface(unit: UnitModel, height: float = 0.0, lean: float = 0.0, step: float = INCH / 4) -> Any:
    """One floor: the moulded shape, a lean along x, and a Gaussian of the given height in the left half."""
    from drainward.floor.belief import Floors
    from drainward.floor.belief.defects import SPOT, Shapes
    from drainward.floor.belief.field import lattice
    from drainward.floor.surface import surfaces

    nodes = lattice(WIDTH, DEPTH, 1.5 * INCH)
    place = (np.full((1, 1), value) for value in (14 * INCH, DEPTH / 2, 0.0, HALF, HALF))
    shapes = Shapes(np.full((1, 1), SPOT), *place)
    coarse = np.zeros((1, nodes.size), np.float32)
    return surfaces(Floors(nodes, coarse, np.array([[lean, 0.0]]), shapes, np.array([[height]])), unit, step)


@cache
def _dish() -> Any:
    from drainward.floor.ponds import list_ponds, standing

    unit = _unit(0.0)
    floor = _surface(unit, -DIP)
    (pond,) = list_ponds(floor, standing(floor, unit, COUNTED), COUNTED)
    return pond


@cache
def _leaning() -> Any:
    from drainward.floor.ponds import standing

    unit = _unit(0.0)
    return standing(_surface(unit, lean=-LEAN, step=INCH / 8), unit, COUNTED)


def _rock() -> float:
    from drainward.floor.straightedge import lines, rock

    unit = _unit(0.0)
    return 1000 * float(rock(_surface(unit, DIP), lines(unit, BASE)).max())


def _pyramid() -> Any:
    from drainward.floor.fall import falls
    from drainward.floor.shape import radial_net

    unit = _unit(RIM)
    return falls(_surface(unit), radial_net(unit, BASE))


CHECKS: tuple[Check, ...] = (
    Check("floor/dish-volume", "water where a Gaussian dish, 6 mm deep, is deeper than counted",
          _SOLID + ", V = 2πs²(a - c)", Certainty.COMPUTED,
          1000 * 2 * math.pi * HALF**2 * (DIP - COUNTED), 0.001, "L", lambda: 1000 * _dish().volume),
    Check("floor/dish-area", "area of that pond", _SOLID + ", A = 2πs² ln(a/c)", Certainty.COMPUTED,
          1e4 * 2 * math.pi * HALF**2 * math.log(DIP / COUNTED), 5.0, "cm2", lambda: 1e4 * _dish().area),
    Check("floor/dish-depth", "its greatest depth", _SOLID, Certainty.COMPUTED,
          1000 * DIP, 0.01, "mm", lambda: 1000 * _dish().depth),
    Check("floor/lean-depth", "water at the low wall of a level floor that leans 1 %", _SOLID + ", d = tL",
          Certainty.COMPUTED, 1000 * LEAN * RUN, 0.04, "mm", lambda: 1000 * float(_leaning().deepest[0])),
    Check("floor/lean-volume", "water on that floor, edge nodes counted as whole cells", _SOLID + ", V = tL²W/2",
          Certainty.COMPUTED, 1000 * LEAN * RUN**2 / 2 * DEPTH, 0.035, "L", lambda: 1000 * float(_leaning().volume[0])),
    Check("floor/rock", "a 12 in straightedge over a Gaussian rise, 6 mm high: middle over its ends",
          "analysis, a(1 - exp(-L²/8s²))", Certainty.COMPUTED,
          1000 * DIP * (1 - math.exp(-(BASE**2) / (8 * HALF**2))), 0.02, "mm", _rock),
    Check("floor/pyramid-least", "least fall of flat panels to a level rim: along the longest hip",
          _SOLID + ", H/run", Certainty.COMPUTED, 100 * RIM / math.hypot(WIDTH / 2, DEPTH / 2), 0.02, "%",
          lambda: 100 * float(_pyramid().least[0])),
    Check("floor/pyramid-greatest", "their greatest fall: square to the nearest wall", _SOLID + ", H/run",
          Certainty.COMPUTED, 100 * RIM / (DEPTH / 2), 0.02, "%", lambda: 100 * float(_pyramid().greatest[0])),
)  # fmt: skip
