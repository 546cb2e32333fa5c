"""Two made-up unit models, both 60 x 36 in inside, both moulded near 3/8 in/ft toward the drain on every line.

bedded     its panel lies on mortar over a recess in the slab; a floor of planes, drain in the middle
own_base   stands on the flat slab on a base of its own; a cone, drain toward the back
"""

from __future__ import annotations

from drainward.floor.shape import INCH
from drainward.job.model import Drain, Flange, Floor, NamedHeight, UnitModel
from drainward.quantity import parse_area

__all__ = ["bedded", "own_base"]

_WIDTH, _DEPTH = 60 * INCH, 36 * INCH
# Over the drain, in 32nds of an inch, at every eighth of the long edges and every quarter of the short ones.
_LONG = (35, 29, 23, 20, 18, 20, 23, 29, 35)
_SHORT = (31, 30, 31)


def bedded() -> UnitModel:
    """A floor that needs its bed: 3.0 to 3.3 % on every radial line as moulded."""
    edge = [(step / 8, side, high) for side in (0.0, 1.0) for step, high in enumerate(_LONG)]
    edge += [(side, step / 4, high) for side in (0.0, 1.0) for step, high in enumerate(_SHORT, start=1)]
    heights = tuple(NamedHeight(x=x * _WIDTH, y=y * _DEPTH, height=high * INCH / 32) for x, y, high in edge)
    return UnitModel(
        id="B60",
        name="B60 roll-in, bedded over a recess",
        style="bedded",
        outside_width=62 * INCH,
        outside_depth=38 * INCH,
        outside_height=80 * INCH,
        inside_width=_WIDTH,
        inside_depth=_DEPTH,
        threshold_height=3 * INCH / 8,
        threshold_width=2 * INCH,
        threshold_lip=3 * INCH / 8,
        mass=66.0,
        drain=_drain(18 * INCH, body_depth=3 * INCH, grate="4.5 sq in"),
        floor=Floor(form="planes", thickness=3 * INCH / 8, heights=heights),
        flange=Flange(width=INCH, thickness=INCH / 8),
        minimum_cure=24 * 3600.0,
    )


def own_base() -> UnitModel:
    """A stiff base that stands on the slab: one fall of 3.1 % in every direction."""
    return UnitModel(
        id="S60",
        name="S60 roll-in, on its own base",
        style="own base",
        outside_width=62.5 * INCH,
        outside_depth=38.5 * INCH,
        outside_height=82 * INCH,
        inside_width=_WIDTH,
        inside_depth=_DEPTH,
        threshold_height=3 * INCH / 8,
        threshold_width=2 * INCH,
        threshold_lip=INCH / 2,
        mass=84.0,
        drain=_drain(15 * INCH, body_depth=2.5 * INCH, grate="3.5 sq in"),
        floor=Floor(form="cone", thickness=INCH / 4, fall=0.031),
        flange=Flange(width=INCH, thickness=INCH / 8),
        minimum_cure=2 * 3600.0,
    )


def _drain(y: float, body_depth: float, grate: str) -> Drain:
    """A 2 in drain in the middle of the width; grate : its open area."""
    return Drain(
        x=30 * INCH,
        y=y,
        radius=2 * INCH,
        body_diameter=4.25 * INCH,
        body_depth=body_depth,
        open_area=parse_area(grate).value,
        pipe=2 * INCH,
    )
