"""What a drain takes of the water that stands over it.

Outlet         weir, orifice and pipe of one drain
outlet_of      from the unit's cut sheet
flow_at        the flow at a depth of water, and flow_growth how it grows with that
pipe_capacity  of a pipe that runs full by its own fall

A shallow film enters over the rim like a weir, deeper water through the grate like an orifice; the lesser decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from drainward.floor.film.fluid import GRAVITY
from drainward.job.model import Drain

__all__ = ["LIP_WEIR", "Outlet", "flow_at", "flow_growth", "outlet_of", "pipe_capacity"]

WEIR, ORIFICE = 1.66, 0.67
"""Coefficients of a grate inlet, m^0.5/s and 1: FHWA HEC-22, 3rd edition (2009), equations 4-26 and 4-27."""
LIP_WEIR = 2.0 / 3.0 * math.sqrt(2.0 / 3.0 * GRAVITY)
"""Critical flow over a broad crest, m^0.5/s: flow per metre = this times head^1.5."""
PIPE_FALL, ROUGHNESS = 1 / 48, 0.010
"""Least fall of a pipe up to 2-1/2 in (IPC 2021, 704.1); Manning's n of smooth plastic (handbook, from memory)."""
_OPEN_SHARE = 2.0 / 3.0
"""Open area of a grate whose cut sheet does not tell, as a share of its pipe's section (UPC 418, from memory)."""


@dataclass(frozen=True, slots=True)
class Outlet:
    """weir : m1.5/s, times depth^1.5; orifice : m2.5/s, times depth^0.5; capacity : of the pipe, m3/s."""

    weir: float
    orifice: float
    capacity: float


def outlet_of(drain: Drain) -> Outlet:
    """The drain with a clean grate and a pipe at its least fall."""
    section = math.pi * drain.pipe**2 / 4
    open_area = drain.open_area if drain.open_area is not None else _OPEN_SHARE * section
    return Outlet(
        WEIR * 2 * math.pi * drain.radius,
        ORIFICE * open_area * math.sqrt(2 * GRAVITY),
        pipe_capacity(drain.pipe),
    )


def flow_at(outlet: Outlet, depth: float) -> float:
    """Flow (m3/s) with water `depth` (m) deep over the opening."""
    root = math.sqrt(max(depth, 0.0))
    return min(outlet.weir * root**3, outlet.orifice * root, outlet.capacity)


def flow_growth(outlet: Outlet, depth: float) -> float:
    """How that flow grows with the depth, m2/s; none once the pipe is full, and 0 at 0."""
    root = math.sqrt(max(depth, 0.0))
    if root == 0.0 or flow_at(outlet, depth) >= outlet.capacity:
        return 0.0
    return 1.5 * outlet.weir * root if outlet.weir * root**2 <= outlet.orifice else 0.5 * outlet.orifice / root


def pipe_capacity(diameter: float, fall: float = PIPE_FALL) -> float:
    """Flow of a full pipe (diameter in m, fall as a ratio), m3/s: Manning's equation."""
    return math.pi * diameter**2 / 4 * math.cbrt((diameter / 4) ** 2) * math.sqrt(fall) / ROUGHNESS
