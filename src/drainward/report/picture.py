"""The picture of one floor as plain data, so that page, card and PDF draw the same thing.

Picture                                    everything that is drawn, plan frame of `job.model.UnitModel`, m
Contour, Band, PondArea, Mark, Spot, Bed, Scale   its parts
floor_picture                              the picture of a draft
pond_areas                                 where water may stand, of any map of its probability
inches, ramp                               how a height is written on it, and coloured
plain                                      its parts as JSON
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, is_dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.floor.result import Ask, Draft, FloorMap, Mend
from drainward.floor.result import Pond as DraftPond
from drainward.job.model import Reading, UnitModel
from drainward.quantity import format_length, format_slope
from drainward.report import contour
from drainward.report.contour import Paths

__all__ = [
    "Band",
    "Bed",
    "Contour",
    "Mark",
    "Outlet",
    "Picture",
    "PondArea",
    "Scale",
    "Spot",
    "floor_picture",
    "inches",
    "plain",
    "pond_areas",
    "ramp",
]

NUDGE = 0.002
LIKELY, POSSIBLE = 0.5, 0.05
"""A pond is drawn firmly where it is more likely than not, and faintly where 95 % certainty cannot exclude it."""

SPECK = 3e-4
"""Smaller places without a pond of the draft's are noise of its samples, m2 (half a square inch)."""

LOWEST, HIGHEST = (0x7D, 0xB4, 0xD6), (0xFD, 0xF6, 0xE6)
"""Ends of the height ramp: its lightness rises all the way, so it reads in grey and to every kind of colour vision."""


@dataclass(frozen=True, slots=True)
class Outlet:
    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class Contour:
    """One level; `main` marks every fourth line counted from the drain's height, to be drawn heavier."""

    level: float
    label: str
    main: bool
    paths: Paths


@dataclass(frozen=True, slots=True)
class Band:
    """A filled height band; each area of it is filled by the even-odd rule."""

    low: float
    high: float
    colour: str
    paths: Paths


@dataclass(frozen=True, slots=True)
class PondArea:
    """Where standing water has at least the chance `chance`; probability and depth (m) of the deepest pond there."""

    paths: Paths
    chance: float
    probability: float
    depth: float | None
    x: float
    y: float
    label: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A reading taken, or the next one to take."""

    kind: str
    x: float
    y: float
    x2: float | None
    y2: float | None
    label: str
    rejected: bool = False
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """A high spot under a straightedge, or the place of the least or greatest fall."""

    kind: str
    x: float
    y: float
    x2: float | None
    y2: float | None
    label: str
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Bed:
    """Where mortar comes out or goes in: its outline, the greatest depth (m) and the volume (m3)."""

    do: str
    x: float
    y: float
    depth: float
    area: float
    volume: float
    label: str
    paths: Paths


@dataclass(frozen=True, slots=True)
class Scale:
    """Height between contour lines, and the lowest and highest mean height, m."""

    step: float
    step_label: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Picture:
    """One floor, ready to be drawn. Lengths in metres; `arrows` are x, y and the downhill unit vector."""

    width: float
    depth: float
    drain: Outlet
    contours: tuple[Contour, ...]
    bands: tuple[Band, ...]
    ponds: tuple[PondArea, ...]
    arrows: tuple[tuple[float, float, float, float], ...]
    readings: tuple[Mark, ...]
    high_spots: tuple[Spot, ...]
    falls: tuple[Spot, ...]
    next: Mark | None
    mortar: tuple[Bed, ...]
    scale: Scale

    def as_json(self) -> dict[str, Any]:
        """The same as dictionaries, lists and numbers only."""
        drawn: dict[str, Any] = plain(self)
        return drawn


def floor_picture(draft: Draft, unit: UnitModel, readings: tuple[Reading, ...]) -> Picture:
    """Draw the draft's expected floor, its ponds and what was read on it.

    readings : those of the draft's room; the ones the draft rejected are marked. Raises ValueError on an empty map.
    """
    floor = draft.map
    if floor.mean.size == 0:
        raise ValueError("the draft carries no map of the floor")
    low, high = float(floor.mean.min()), float(floor.mean.max())
    steps = contour.levels(low, high)
    step = contour.choose_step(low, high)
    return Picture(
        width=unit.inside_width,
        depth=unit.inside_depth,
        drain=Outlet(unit.drain.x, unit.drain.y, unit.drain.radius),
        contours=_contours(floor, steps, step),
        bands=_bands(floor, (low, *steps, high)),
        ponds=pond_areas(floor.x, floor.y, floor.pond, draft.ponds),
        arrows=tuple((row[0], row[1], row[2], row[3]) for row in np.round(floor.arrows, 4).tolist()),
        readings=_readings(draft, readings),
        high_spots=_high_spots(draft),
        falls=_falls(draft),
        next=None if draft.next_reading is None else _next(draft.next_reading),
        mortar=() if draft.mend is None else _mortar(floor, draft.mend),
        scale=Scale(step, inches(step), low, high),
    )


def pond_areas(
    x: NDArray[np.float64], y: NDArray[np.float64], chance: NDArray[np.float64], ponds: tuple[DraftPond, ...]
) -> tuple[PondArea, ...]:
    """Where water stands with a chance of 5 % and of 50 % or more, each place with its deepest pond.

    x : (nx,), y : (ny,) nodes, m; chance : (ny, nx) that water stands there;  ponds : likeliest first
    """
    drawn = []
    for low, high in ((POSSIBLE, LIKELY), (LIKELY, 1.01)):
        for area in contour.areas(x, y, chance, low, high):
            inside = [pond for pond in ponds if contour.holds(area, pond.x, pond.y)]
            deepest = max(inside, key=lambda pond: pond.depth, default=None)
            if deepest is None:
                if contour.size(area) < SPECK:
                    continue
                middle = np.mean(np.array(area[0]), axis=0)
                drawn.append(PondArea(area, low, low, None, float(middle[0]), float(middle[1]), ""))
                continue
            label = f"{inches(deepest.depth)} ({_percent(deepest.probability)})"
            drawn.append(PondArea(area, low, deepest.probability, deepest.depth, deepest.x, deepest.y, label))
    return tuple(drawn)


def inches(height: float) -> str:
    """A height or depth (m) as the picture writes it: inches to 1/32, the finest step of its lines."""
    return format_length(height, "in", 32)


def _contours(floor: FloorMap, steps: tuple[float, ...], step: float) -> tuple[Contour, ...]:
    return tuple(
        Contour(level, inches(level), round(level / step) % 4 == 0, contour.lines(floor.x, floor.y, floor.mean, level))
        for level in steps
    )


def _bands(floor: FloorMap, bounds: tuple[float, ...]) -> tuple[Band, ...]:
    # The outermost bounds are the floor's own extremes: widened, or rounding would leave holes there.
    edges = (bounds[0] - contour.FINEST, *bounds[1:-1], bounds[-1] + contour.FINEST)
    bands = []
    for k, (low, high) in enumerate(pairwise(edges)):
        rings = contour.areas(floor.x, floor.y, floor.mean, low, high)
        shade = k / max(1, len(edges) - 2)
        bands.append(Band(bounds[k], bounds[k + 1], ramp(shade), tuple(ring for area in rings for ring in area)))
    return tuple(bands)


def ramp(share: float) -> str:
    """A colour from dark, 0, to light, 1."""
    mixed = (round(a + (b - a) * share) for a, b in zip(LOWEST, HIGHEST, strict=True))
    return "#" + "".join(f"{part:02x}" for part in mixed)


def _percent(probability: float) -> str:
    """Never rounded to certainty."""
    if probability > 0.99:
        return ">99%"
    return "<1%" if probability < 0.01 else f"{probability:.0%}"


def _readings(draft: Draft, readings: tuple[Reading, ...]) -> tuple[Mark, ...]:
    rejected = {reading.id for reading in draft.rejected}
    return tuple(
        Mark(
            str(reading.kind),
            reading.x,
            reading.y,
            reading.x2,
            reading.y2,
            reading.written or _value(str(reading.kind), reading.value),
            reading.id in rejected,
            number,
        )
        for number, reading in enumerate(readings, 1)
    )


def _value(kind: str, value: float) -> str:
    if kind == "slope":
        return format_slope(value, "%")
    if kind == "tap":
        return "sound" if value >= 0.5 else "hollow"
    return inches(value)


def _high_spots(draft: Draft) -> tuple[Spot, ...]:
    return tuple(
        Spot("high spot", s.x, s.y, s.x2, s.y2, f"{inches(s.height)} ({_percent(s.probability)})", s.probability)
        for s in draft.high_spots
    )


def _falls(draft: Draft) -> tuple[Spot, ...]:
    ends = (("least fall", draft.fall_min), ("greatest fall", draft.fall_max))
    return tuple(
        Spot(kind, end.x, end.y, None, None, format_slope(round(end.value, 4), "%"))
        for kind, end in ends
        if math.isfinite(end.value) and math.isfinite(end.x) and math.isfinite(end.y)
    )


def _next(ask: Ask) -> Mark:
    return Mark(ask.kind, ask.x, ask.y, ask.x2, ask.y2, f"next: {ask.kind}")


def _mortar(floor: FloorMap, mend: Mend) -> tuple[Bed, ...]:
    signs = {item.do: 1.0 if item.do.startswith("take") else -1.0 for item in mend.mortar}
    worked = {do: _worked(floor, sign) for do, sign in signs.items()}
    # A place found at a wall lies on its outline's very edge: look a little way in.
    inside = floor.x[0] + NUDGE, floor.x[-1] - NUDGE, floor.y[0] + NUDGE, floor.y[-1] - NUDGE
    beds = []
    for item in mend.mortar:
        x, y = min(max(item.x, inside[0]), inside[1]), min(max(item.y, inside[2]), inside[3])
        outline = next((area for area in worked[item.do] if contour.holds(area, x, y)), ())
        label = f"{item.do} {format_length(abs(item.depth), 'in', 16)}"
        beds.append(Bed(item.do, item.x, item.y, item.depth, item.area, item.volume, label, outline))
    return tuple(beds)


def _worked(floor: FloorMap, sign: float) -> tuple[Paths, ...]:
    """Where the floor surely (95 %, one-sided) stands high (sign 1) or low (-1) by more than 1/32 in."""
    excess = sign * floor.mortar
    sure = np.minimum(excess - contour.FINEST, excess - 1.645 * floor.sd)
    return contour.areas(floor.x, floor.y, sure, 0.0, float(sure.max()) + contour.FINEST) if sure.max() > 0 else ()


def plain(value: Any) -> Any:
    """Parts of a picture as dictionaries, lists and numbers only."""
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [plain(item) for item in value]
    return value
