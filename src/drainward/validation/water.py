"""What the water film rests on: water by its temperature, what drains take, what surface tension keeps."""

from __future__ import annotations

import math
from functools import partial

from drainward.finding import Certainty
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

FOOT, CUBIC_FOOT, GPM = 12 * INCH, (12 * INCH) ** 3, 3.785411784e-3 / 60
RIM, GRATE = 2 * INCH, 2 / 3 * math.pi * INCH**2
"""Radius of a drain, m; open area of its grate, m2: two thirds of a 2 in pipe."""


def _water(name: str, temperature: float) -> float:
    from drainward.floor.film.fluid import water

    fluid = water(temperature)
    dynamic = 1000 * fluid.viscosity * fluid.density
    return {"density": fluid.density, "viscosity": dynamic, "tension": fluid.tension}[name]


def _drain(depth: float) -> float:
    """Flow into the drain, gpm."""
    from drainward.floor.film.outlet import flow_at, outlet_of
    from drainward.job.model import Drain

    drain = Drain(x=0.0, y=0.0, radius=RIM, body_diameter=0.1, body_depth=0.1, open_area=GRATE)
    return flow_at(outlet_of(drain), depth) / GPM


def _sag() -> float:
    """Flow over a rim of 2.31 m, water 0.135 m deep, m3/s."""
    from drainward.floor.film.outlet import WEIR, Outlet, flow_at

    return flow_at(Outlet(WEIR * 2.31, math.inf, math.inf), 0.135)


def _lip() -> float:
    """Coefficient of the lip, ft^0.5/s."""
    from drainward.floor.film.outlet import LIP_WEIR

    return LIP_WEIR / math.sqrt(FOOT)


def _pipe(diameter: float, fall: float) -> float:
    from drainward.floor.film.outlet import pipe_capacity

    return pipe_capacity(diameter, fall) / GPM


def _pipe_fall() -> float:
    from drainward.floor.film.outlet import PIPE_FALL

    return 12 * PIPE_FALL


def _puddle(angle: float) -> float:
    from drainward.floor.film.fluid import water
    from drainward.floor.film.wetting import thickness

    return 1000 * thickness(water(20.0), angle)


def _strip(fall: float) -> tuple[float, float]:
    """Length (mm) and section (mm2) of a strip that hangs between edges of 30 and 75 degrees."""
    from drainward.floor.film.fluid import water
    from drainward.floor.film.wetting import hang

    hung = hang(water(20.0), (30.0, 75.0), fall, 0.0, 1.0, 1.0)
    return 1000 * hung.length, 1e6 * hung.length * (hung.least + hung.most) / 2


_TABLE = "Crittenden et al., MWH's Water Treatment, 3rd edition, 2012, table C-1"
_HEC = "FHWA HEC-22, 3rd edition, 2009, "
_RETOLD = ", as a state's hydraulic design manual retells it"
_PUDDLE = "de Gennes, Brochard-Wyart and Quéré, Capillarity and Wetting Phenomena, 2004, 2.2: e = 2l sin(θ/2)"
_STRIP = "Furmidge, J. Colloid Sci. 17, 1962, 309: ρgSA = γ(cos θr - cos θa)"
_L2 = 0.0728 / (998.2 * 9.80665) * 1e6
"""Square of the capillary length by the table's tension and density at 20 °C, mm2."""


def _properties() -> tuple[Check, ...]:
    """At three temperatures, within the table's last digit; one and a half for its viscosities, which are older."""
    table = ((10, 999.7, 1.307, 0.0742), (20, 998.2, 1.002, 0.0728), (40, 992.2, 0.653, 0.0696))
    columns = (("density", 0.1, "kg/m³"), ("viscosity", 0.0015, "mPa·s"), ("tension", 0.0001, "N/m"))
    return tuple(
        Check(f"water/{name}-{row[0]}", f"{name} of water at {row[0]} °C", _TABLE, Certainty.SEEN, expected, last, unit,
              partial(_water, name, float(row[0])))
        for row in table
        for (name, last, unit), expected in zip(columns, row[1:], strict=True)
    )  # fmt: skip


CHECKS: tuple[Check, ...] = (
    *_properties(),
    Check("water/weir", "drain 4 in across, water 1/8 in deep over its rim",
          _HEC + "4-26: Q = 3.0 P d^1.5 in feet" + _RETOLD, Certainty.SECONDARY,
          3.0 * (math.pi * 4 / 12) * (1 / 96) ** 1.5 * CUBIC_FOOT / GPM, 0.01, "gpm", lambda: _drain(INCH / 8)),
    Check("water/orifice", "the same, 2.1 in² of grate, water 1/2 in deep",
          _HEC + "4-27: Q = 0.67 A (2gd)^0.5" + _RETOLD, Certainty.SECONDARY,
          0.67 * (2 / 3 * math.pi / 144) * math.sqrt(2 * 32.174 / 24) * CUBIC_FOOT / GPM, 0.005, "gpm",
          lambda: _drain(INCH / 2)),
    Check("water/sag", "rim of 2.31 m in a sag, water 0.135 m deep", _HEC + "example 4-12",
          Certainty.MEMORY, 0.19, 0.001, "m³/s", _sag),
    Check("water/lip", "broad crest: coefficient of critical flow in feet",
          "a university's notes on open channels: C = (2/3)(2g/3)^0.5", Certainty.SEEN, 3.087, 0.001, "ft^0.5/s", _lip),
    Check("water/pipe", '4" pipe, schedule 40, 1/8 in/ft', "International Plumbing Code, 2021, table 1106.2",
          Certainty.SECONDARY, 115, 0.5, "gpm", lambda: _pipe(4.026 * INCH, 1 / 96)),
    Check("water/pipe-fall", "least fall of a pipe up to 2-1/2 in", "International Plumbing Code, table 704.1",
          Certainty.SECONDARY, 0.25, 1e-12, "in/ft", _pipe_fall),
    *(
        Check(f"water/puddle-{angle}", f"wide puddle on a level, contact angle {angle}°: thickness", _PUDDLE,
              Certainty.COMPUTED, 2 * math.sqrt(_L2) * math.sin(math.radians(angle / 2)), 0.003, "mm",
              partial(_puddle, float(angle)))
        for angle in (10, 30, 60, 90)
    ),
    Check("water/strip", "section of a strip that hangs on 1:48 between edges of 30° and 75°", _STRIP,
          Certainty.COMPUTED, _L2 * (math.cos(math.radians(30)) - math.cos(math.radians(75))) * 48, 0.3, "mm²",
          lambda: _strip(1 / 48)[1]),
    Check("water/strip-length", "its length on 1/8 in/ft", "both edges as thick as their puddles: (e₂ - e₁)/S",
          Certainty.COMPUTED, 96 * 2 * math.sqrt(_L2) * (math.sin(math.radians(37.5)) - math.sin(math.radians(15))),
          0.3, "mm", lambda: _strip(1 / 96)[0]),
)  # fmt: skip
