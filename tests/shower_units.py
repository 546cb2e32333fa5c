"""Unit models of the rule tests, in inches."""

from __future__ import annotations

from collections.abc import Sequence

from drainward.job.model import Drain, Flange, Floor, NamedHeight, UnitModel

INCH = 0.0254
CORNERS = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))


def planes(
    width: float,
    depth: float,
    drain: tuple[float, float],
    heights: Sequence[float],
    at: Sequence[tuple[float, float]] = CORNERS,
    name: str = "unit",
) -> UnitModel:
    """A floor of planes: heights in inches at fractions `at` of the inside width and depth."""
    named = tuple(
        NamedHeight(x=x * width * INCH, y=y * depth * INCH, height=height * INCH)
        for (x, y), height in zip(at, heights, strict=True)
    )
    return _unit(width, depth, drain, Floor(form="planes", thickness=0.005, heights=named), name)


def level(width: float, depth: float, drain: tuple[float, float], height: float, name: str = "unit") -> UnitModel:
    """A level rim."""
    return planes(width, depth, drain, [height] * 4, name=name)


def cone(width: float, depth: float, drain: tuple[float, float], fall: float) -> UnitModel:
    """One fall all round."""
    return _unit(width, depth, drain, Floor(form="cone", thickness=0.005, fall=fall), "cone")


def _unit(width: float, depth: float, drain: tuple[float, float], floor: Floor, name: str) -> UnitModel:
    return UnitModel(
        id=name,
        name=name,
        style="bedded",
        outside_width=(width + 4) * INCH,
        outside_depth=(depth + 4) * INCH,
        outside_height=84 * INCH,
        inside_width=width * INCH,
        inside_depth=depth * INCH,
        threshold_height=0.5 * INCH,
        mass=60.0,
        drain=Drain(x=drain[0] * INCH, y=drain[1] * INCH, radius=INCH, body_diameter=0.11, body_depth=0.1),
        floor=floor,
        flange=Flange(width=0.03, thickness=0.003),
        minimum_cure=86400.0,
    )
