"""The still of a water test as plain data: until when each place is under running water, and the stream into the drain.

Still                              everything that is drawn, plan frame of `job.model.UnitModel`, m and s
Wet, Until, Stain, Stream, Timed   its parts
water_still                        the still of an answer
stains, poured_at, stream          its parts that a moving picture shows too
time_steps                         round times that give a handful of lines
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt, median_filter

from drainward.floor.film.result import Play, Range, Water
from drainward.job.model import Pattern, Puddle, UnitModel
from drainward.quantity import format_duration
from drainward.report import contour
from drainward.report.contour import Paths
from drainward.report.picture import Outlet, PondArea, inches, pond_areas, ramp

__all__ = [
    "Stain",
    "Still",
    "Stream",
    "Timed",
    "Until",
    "Wet",
    "poured_at",
    "stains",
    "stream",
    "time_steps",
    "water_still",
]

Array = NDArray[np.float64]
_MOST = 6
_HAND = 0.03
"""A place no larger than this, m, tells the eye nothing: times are medians over it, which keeps a pond's edge sharp."""
_LATER = (600, 900, 1200, 1800, 2700, 3600)
_LADDERS = (
    (*range(5, 60, 5), 60, 70, 80, 90, 105, 120, 135, 150, 180, 210, 240, 300, 360, 420, 480, *_LATER),
    (15, 30, 45, 60, 75, 90, 105, 120, 150, 180, 240, 300, 420, *_LATER),
    (5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 240, 360, 480, *_LATER),
    (15, 30, 60, 120, 240, 480, 900, 1800, 3600),
)
"""Round times, s, the later the farther apart, as water leaves."""
_EARLY, _LATE = 0.02, 0.985
"""Shares of the wetted floor that dry before the first line and before the last: the rest is splashes and corners."""
_SPECK, _BARE, _SHORT = 1e-4, 2e-3, 0.05
"""Smaller shades (m2), smaller bare places (m2) and shorter lines (m) are noise of the grid."""


@dataclass(frozen=True, slots=True)
class Wet:
    """Where water runs until `low` to `high` s (inf: it stays), filled by the even-odd rule; the longer the darker."""

    low: float
    high: float
    colour: str
    paths: Paths


@dataclass(frozen=True, slots=True)
class Until:
    """The line on which the water stops running at `until` s; `main` marks every second minute."""

    until: float
    label: str
    main: bool
    paths: Paths


@dataclass(frozen=True, slots=True)
class Stain:
    """A puddle as it was seen, numbered through all tests; across : m, None where it was not measured."""

    number: int
    x: float
    y: float
    across: float | None
    label: str


@dataclass(frozen=True, slots=True)
class Timed:
    """What a watch said: seconds until drops, with its words."""

    seconds: float
    label: str


@dataclass(frozen=True, slots=True)
class Stream:
    """Flow into the drain against time.

    t, flow : of the expected floor, s and m3/s;  end : of the time axis, s
    pour, over : flow of the pour, m3/s, and its end, s;  drained : over the drawn floors;  timed : in recorded tests
    """

    t: tuple[float, ...]
    flow: tuple[float, ...]
    end: float
    pour: float
    over: float
    drained: Range
    timed: tuple[Timed, ...]


@dataclass(frozen=True, slots=True)
class Still:
    """One floor in its water test, ready to be drawn.

    film : m, a place with less counts as no longer under running water;  bare : where it was never under more
    lip : rise of the threshold over the floor beside it, m;  pour : x, y and name of the bucket or head, if it has one
    """

    width: float
    depth: float
    drain: Outlet
    lip: float
    film: float
    bare: Paths
    wet: tuple[Wet, ...]
    until: tuple[Until, ...]
    ponds: tuple[PondArea, ...]
    seen: tuple[Stain, ...]
    pour: tuple[float, float, str] | None
    stream: Stream


def water_still(water: Water, unit: UnitModel) -> Still:
    """Draw the expected floor's last water, what may stand, what was seen, and the stream.

    unit : of the room. Raises ValueError where the answer carries no water to draw.
    """
    play = water.play
    if play.running_until.size == 0 or len(play.t) < 2:
        raise ValueError("the water test carries no water to draw")
    until, levels = _running(play, unit)
    return Still(
        width=unit.inside_width,
        depth=unit.inside_depth,
        drain=Outlet(unit.drain.x, unit.drain.y, unit.drain.radius),
        lip=water.lip,
        film=play.film,
        bare=_areas(play, play.depth.max(axis=0).astype(float), -1.0, play.film, _BARE),
        wet=_wet(play, until, levels),
        until=tuple(
            Until(level, format_duration(level), level % 120 == 0, _lines(play, until, level)) for level in levels
        ),
        ponds=pond_areas(play.x, play.y, water.puddle, water.ponds),
        seen=stains(water),
        pour=poured_at(water, unit),
        stream=stream(water),
    )


def time_steps(low: float, high: float) -> tuple[float, ...]:
    """Round times strictly between low and high, s, finite: the later the farther apart, and six at most."""
    for ladder in _LADDERS:
        times = tuple(float(time) for time in ladder if low < time < high)
        if len(times) <= _MOST:
            break
    return times[-_MOST:]


def _running(play: Play, unit: UnitModel) -> tuple[Array, tuple[float, ...]]:
    """Until when water runs at each node, and the times of the lines.

    Where it never ran, and in the drain, stands what the nearest node beside says, so that lines stay smooth there.
    """
    last = float(play.t[-1])
    until = np.minimum(play.running_until, last)
    beside = np.hypot(play.x - unit.drain.x, (play.y - unit.drain.y)[:, None]) > unit.drain.radius
    wetted = (until > 0) & beside
    if not wetted.any():
        return until, ()
    gone = until[wetted & (until < last * 0.999)]
    levels = time_steps(*(float(time) for time in np.quantile(gone, (_EARLY, _LATE)))) if len(gone) else ()
    nearest = distance_transform_edt(~wetted, return_distances=False, return_indices=True)
    step = float(play.x[1] - play.x[0])
    calm: Array = median_filter(until[tuple(nearest)], 2 * round(_HAND / step / 2) + 1)
    return calm, levels


def _wet(play: Play, until: Array, levels: tuple[float, ...]) -> tuple[Wet, ...]:
    edges = (-1.0, *levels, 2.0 * float(play.t[-1]))
    shades = len(edges) - 1
    return tuple(
        Wet(
            max(low, 0.0),
            high if k < shades - 1 else math.inf,
            ramp(0.85 * (1 - k / max(shades - 1, 1))),
            _areas(play, until, low, high),
        )
        for k, (low, high) in enumerate(pairwise(edges))
    )


def _areas(play: Play, z: Array, low: float, high: float, least: float = _SPECK) -> Paths:
    found = contour.areas(play.x, play.y, z, low, high)
    return tuple(ring for area in found if contour.size(area) > least for ring in area)


def _lines(play: Play, until: Array, level: float) -> Paths:
    found = contour.lines(play.x, play.y, until, level)
    return tuple(path for path in found if sum(math.dist(a, b) for a, b in pairwise(path)) > _SHORT)


def stains(water: Water) -> tuple[Stain, ...]:
    """Puddles as they were seen, numbered through all tests."""
    puddles = [puddle for seen in water.seen for puddle in seen.test.puddles or ()]
    return tuple(Stain(n, p.x, p.y, p.across, _seen_words(n, p)) for n, p in enumerate(puddles, 1))


def _seen_words(number: int, puddle: Puddle) -> str:
    return f"seen {number}" + ("" if puddle.depth is None else f", {inches(puddle.depth)}")


def poured_at(water: Water, unit: UnitModel) -> tuple[float, float, str] | None:
    """Where the bucket or the head is, m, and its name; None where water is poured over the floor."""
    pour = water.pour
    if pour.how is Pattern.OVER_THE_FLOOR:
        return None
    x = unit.inside_width / 2 if pour.x is None else pour.x
    y = unit.inside_depth / 2 if pour.y is None else pour.y
    return x, y, "poured here" if pour.how is Pattern.AT_A_POINT else "shower head"


def stream(water: Water) -> Stream:
    """The stream into the drain, up to a little after all that is told of it."""
    play, drained, over = water.play, water.drained, water.pour.over
    timed = tuple(
        Timed(seen.test.drained, f"timed {format_duration(seen.test.drained)}")
        for seen in water.seen
        if seen.test.drained is not None
    )
    times = (over, drained.low, drained.likely, drained.high, *(watch.seconds for watch in timed))
    end = 1.1 * max(time for time in times if math.isfinite(time))
    shown = int(np.searchsorted(play.t, end)) + 1
    return Stream(
        t=tuple(play.t[:shown].tolist()),
        flow=tuple(play.stream[:shown].tolist()),
        end=end,
        pour=water.pour.poured / over,
        over=over,
        drained=drained,
        timed=timed,
    )
