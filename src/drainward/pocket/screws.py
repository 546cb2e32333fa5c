"""What a screw holds against being pulled out of wood, and the screws that a job of it takes.

SPECIES, DIAMETERS           specific gravity of lumber, diameter of numbered wood screws
wood_screw, lag_screw        reference withdrawal design value, N per m of thread
Factors                      what the reference value is multiplied by
Screw, Wood, holds           a screw in a wood: what it may carry in straight withdrawal, N
Mount, mount_screws          how many screws one end of a grab bar or a seat takes
Line, schedule               the screws of a set-out: size, length, count

Thread in side grain only; end grain is refused. Flanges of a wall work mostly in shear and against peeling: withdrawal
is a check there, not the design.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from drainward.pocket.setout import Layout
from drainward.quantity import INCH, format_length

__all__ = [
    "DIAMETERS",
    "SPECIES",
    "STOCK",
    "Factors",
    "Line",
    "Mount",
    "Screw",
    "Wood",
    "holds",
    "lag_screw",
    "mount_screws",
    "schedule",
    "wood_screw",
]

LBF = 4.4482216152605

SPECIES: dict[str, float] = {
    "southern pine": 0.55,
    "Douglas fir-larch": 0.50,
    "hem-fir": 0.43,
    "spruce-pine-fir": 0.42,
    "spruce-pine-fir (south)": 0.36,
}
"""Specific gravity G, oven dry (NDS table 12.3.3A, from memory)."""

DIAMETERS: dict[str, float] = {
    "#6": 0.138 * INCH,
    "#8": 0.164 * INCH,
    "#9": 0.177 * INCH,
    "#10": 0.190 * INCH,
    "#12": 0.216 * INCH,
    "#14": 0.242 * INCH,
}
"""Of wood screws, m (ASME B18.6.1, from memory; #10 seen)."""

THREADED = 2 / 3
"""Share of a wood screw's length that is thread (a retelling, civilengineeringx.com)."""


def wood_screw(gravity: float, diameter: float) -> float:
    """Reference withdrawal design value of a wood screw in side grain, N per m of thread penetration.

    gravity : G, 0.3 to 0.8;  diameter : m. W = 2850 G² D lbf/in with D in inches (NDS 12.2.2; the formula read on
    public handbook pages). Raises ValueError outside that range.
    """
    _check(gravity, diameter)
    return 2850.0 * gravity * gravity * (diameter / INCH) * LBF / INCH


def lag_screw(gravity: float, diameter: float) -> float:
    """The same of a lag screw, without its tapered tip: W = 1800 G^1.5 D^0.75 lbf/in (NDS 12.2.1, from memory; it
    reproduces the printed table 12.2A).
    """
    _check(gravity, diameter)
    return 1800.0 * math.pow(gravity, 1.5) * math.pow(diameter / INCH, 0.75) * LBF / INCH


def _check(gravity: float, diameter: float) -> None:
    if not 0.3 <= gravity <= 0.8:
        raise ValueError(f"a specific gravity lies within 0.3 to 0.8, got {gravity!r}")
    if not 0 < diameter < 0.04:
        raise ValueError(f"a screw's diameter lies within 0 to 40 mm, got {diameter!r} m")


@dataclass(frozen=True, slots=True)
class Factors:
    """What multiplies a reference withdrawal value (NDS table 11.3.1; numbers from memory).

    duration : 1.6 ten minutes, 1.25 seven days, 1.0 ten years, 0.9 for good;  wet : 0.7 where the wood is or gets wet;
    heat : 1.0 up to 100 °F, 0.8 dry or 0.7 wet up to 125 °F
    """

    duration: float = 1.0
    wet: float = 1.0
    heat: float = 1.0

    def __post_init__(self) -> None:
        if not (0 < self.duration <= 2.0 and 0 < self.wet <= 1.0 and 0 < self.heat <= 1.0):
            raise ValueError(f"expected duration within 0 to 2, wet and heat within 0 to 1, got {self!r}")

    @property
    def product(self) -> float:
        """All of them."""
        return self.duration * self.wet * self.heat


@dataclass(frozen=True, slots=True)
class Wood:
    """The wood at hand: specific gravity, depth that a screw finds, m, and the grain that it enters."""

    gravity: float
    depth: float = 1.5 * INCH
    grain: Literal["side", "end"] = "side"


@dataclass(frozen=True, slots=True)
class Screw:
    """size : "#10", or a lag screw's nominal diameter such as "1/4 lag";  diameter, length : m;  tip : of a lag, m."""

    size: str
    diameter: float
    length: float
    kind: Literal["wood", "lag"] = "wood"

    @property
    def words(self) -> str:
        """As the crew asks for it."""
        return f"{self.size} × {format_length(self.length)}"

    def thread_in(self, wood: Wood, through: float) -> float:
        """Thread in the wood behind `through` of other material, m. A lag's tapered tip, as long as it is thick, is out
        (common practice, no source).
        """
        into = min(self.length - through, wood.depth)
        tip = self.diameter if self.kind == "lag" and self.length - through <= wood.depth else 0.0
        return max(0.0, min(into - tip, THREADED * self.length))


STOCK: tuple[Screw, ...] = tuple(
    Screw(size, DIAMETERS[size], length * INCH)
    for size, length in (
        ("#8", 1.25), ("#8", 1.5), ("#8", 2.0), ("#10", 1.5), ("#10", 2.0), ("#10", 2.5), ("#12", 2.0), ("#12", 2.5),
        ("#12", 3.0), ("#14", 2.5), ("#14", 3.0),
    )
)  # fmt: skip
"""Wood screws that a supplier has, lightest first (common practice, no source)."""


def holds(screw: Screw, wood: Wood, through: float = 0.0, factors: Factors | None = None) -> float:
    """What one screw may carry in straight withdrawal, N; 0 where no thread reaches the wood.

    through : thickness of flange, shim and board before the wood, m. Raises ValueError for end grain: a screw is not
    loaded in withdrawal from end grain (NDS 12.2.2.3, from memory; retold by a public handbook).
    """
    if wood.grain == "end":
        raise ValueError("a screw in end grain holds nothing in withdrawal: expected side grain")
    value = wood_screw if screw.kind == "wood" else lag_screw
    return value(wood.gravity, screw.diameter) * screw.thread_in(wood, through) * (factors or Factors()).product


@dataclass(frozen=True, slots=True)
class Mount:
    """One end of a bar, or one bracket of a seat: how a force on it loads its screws (common practice, no source).

    standoff : from the wall to the middle of the bar, m;  arm : from the mount's lower edge, on which it turns, to its
    upper screws, m;  holes : that it has
    """

    standoff: float = 2.125 * INCH
    arm: float = 2.1 * INCH
    holes: int = 3


def mount_screws(
    force: float, mount: Mount, wood: Wood, screw: Screw, through: float = 0.0, factors: Factors | None = None
) -> int | None:
    """Screws that one mount takes for a force in any direction, all of it on this mount; None where none would do.

    Straight off the wall all screws share it; across the wall it turns the mount about its lower edge, and the upper
    half of the screws hold force × standoff / arm. Bearing and shear are not judged here. Raises ValueError as `holds`.
    """
    each = holds(screw, wood, through, factors)
    if each <= 0:
        return None
    pulled = math.ceil(force / each - 1e-9)
    upper = math.ceil(force * mount.standoff / mount.arm / each - 1e-9)
    return max(pulled, 2 * upper - 1, 2)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the screw schedule; each : what one may carry in straight withdrawal, N."""

    use: str
    screw: Screw
    count: int
    each: float


def schedule(
    layouts: Iterable[Layout], screw: Screw, wood: Wood, through: float, factors: Factors | None = None
) -> tuple[Line, ...]:
    """The screws of the flanges, run by run.

    through : flange, shim or furring before the wood, m. Raises ValueError where the thread finds less than six
    diameters of wood, the least in shear (NDS 12.1.5.6, from memory), and for end grain.
    """
    finds = min(screw.length - through, wood.depth)
    if finds < 6 * screw.diameter - 1e-9:
        least = format_length(through + 6 * screw.diameter)
        raise ValueError(
            f"a {screw.words} screw finds {format_length(max(finds, 0.0))} of wood: expected {least} or longer"
        )
    each = holds(screw, wood, through, factors)
    return tuple(Line(layout.run.name, screw, len(layout.holes), each) for layout in layouts)
