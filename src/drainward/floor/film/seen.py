"""A recorded water test beside the computation: do they agree, and if not, why most likely, and what would tell.

compare    one test
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from drainward.floor.film.evidence import WIDTH, Depths, depths
from drainward.floor.film.flow import Basin
from drainward.floor.film.many import DROPS, Setting, basin_on, poured_on
from drainward.floor.film.outlet import Outlet
from drainward.floor.film.pour import pour_of
from drainward.floor.film.result import Cause, Range, Seen
from drainward.floor.film.wetting import notice, thickness
from drainward.floor.ponds import Standing
from drainward.floor.result import Ask, Pond
from drainward.floor.shape import INCH
from drainward.floor.surface import Surfaces
from drainward.job.model import Job, Puddle, Reading, ReadingKind, UnitModel, WaterTest
from drainward.quantity import format_duration, format_length

__all__ = ["Judging", "compare", "hangs"]

Array = NDArray[np.float64]

HANGS, HANGS_SOAPED = 0.3, 0.02
"""How likely a film hangs at a place by itself, and after wiping with soap (no source)."""
TIMED = 0.35
"""Standard deviation of the log of a stopped time: two people's idea of drops differs by a factor of two in flow."""
_MISREAD = 0.02  # a reading is a blunder with these odds, as in the belief's prior
_NEAR = 12 * INCH
_CLOGGED = (0.1, 0.03, 0.01)  # shares of its flow that a fouled drain may take
_LATE, _EARLY = DROPS / 10, 5 * DROPS  # streams at which a slow eye and a quick one stop the watch
_HALF = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Judging:
    """What tests are compared with: the floors that the readings alone leave possible.

    z : (ny, nx) the expected floor on the setting's grid;  ponds : listed on them, likeliest first
    spread : drained times on drawn floors over that on the expected one, (k,)
    without : readings -> floors and their water without some readings
    """

    job: Job
    unit: UnitModel
    setting: Setting
    z: Array
    floors: Surfaces
    water: Standing
    ponds: tuple[Pond, ...]
    readings: tuple[Reading, ...]
    spread: Array
    without: Callable[[tuple[Reading, ...]], tuple[Surfaces, Standing]]


def hangs(job: Job, setting: Setting, test: WaterTest) -> Array:
    """How likely a film hangs by itself where each puddle was seen, (p,): not deeper than water hangs at all."""
    most = thickness(setting.fluid, job.water.contact_angle[1])
    by_itself = HANGS_SOAPED if test.soap else HANGS
    return np.array([by_itself if (p.depth or 0.0) <= most else 0.0 for p in test.puddles or ()])


def compare(given: Judging, test: WaterTest, weight: float) -> Seen:
    """The test beside the computation; `weight` as in `Seen`."""
    setting = replace(given.setting, pour=pour_of(given.job, test))
    basin = basin_on(setting, given.z)
    times = given.spread * poured_on(setting, basin).stream_below(DROPS)
    drained = Range(*(float(q) for q in np.quantile(times, (0.025, 0.5, 0.975))))
    time_chance = None if test.drained is None else _time_chance(test.drained, times)
    puddles_chance, puddle_causes, ask, puddle_says = _puddles(given, setting, test)
    causes, says = puddle_causes, [puddle_says]
    if time_chance is not None and test.drained is not None:
        off = time_chance < given.job.risk
        if off:
            causes += _time_causes(setting, basin, test.drained, times)
        says.append(_time_says(test.drained, drained, off))
    chances = [c for c in (puddles_chance, time_chance) if c is not None]
    agrees = min(chances) >= given.job.risk if chances else None
    ordered = tuple(sorted(causes, key=lambda cause: -cause.probability))
    return Seen(
        test, puddles_chance, drained, time_chance, agrees, ordered, ask, " ".join(s for s in says if s), weight
    )


def _puddles(
    given: Judging, setting: Setting, test: WaterTest
) -> tuple[float | None, tuple[Cause, ...], Ask | None, str]:
    """How expected the puddles were; where they were not: causes, the reading that tells, and a sentence."""
    if test.puddles is None:
        return None, (), None, ""
    found = depths(given.floors, given.water, test.puddles)
    by_itself = hangs(given.job, setting, test)
    none_else = float((1.0 - notice(found.outside)).mean())
    chances = [
        float((notice(inside) + (1.0 - notice(inside)) * hang).mean())
        for inside, hang in zip(found.inside, by_itself, strict=True)
    ]
    least = min([none_else, *chances])
    if least >= given.job.risk:
        return (
            least,
            (),
            None,
            "The puddles are as the readings let expect."
            if test.puddles
            else ("No puddle was seen, as the readings let expect."),
        )
    if least == none_else:
        pond = given.ponds[0] if given.ponds else None
        return least, *_missing(given, test, found, pond)
    k = chances.index(least)
    return least, *_unexpected(given, test, found, k, float(by_itself[k]))


def _unexpected(
    given: Judging, test: WaterTest, found: Depths, k: int, hang: float
) -> tuple[tuple[Cause, ...], Ask, str]:
    """A puddle where the readings let expect none."""
    puddle = (test.puddles or ())[k]
    dip = float(notice(found.inside[k]).mean())
    near, loosened = _without_near(given, puddle.x, puddle.y)
    other = float(notice(depths(*loosened, (puddle,)).inside[0]).mean()) if loosened else 0.0
    causes = _weighed(
        ("a dip that lies between the readings", dip),
        ("a film that hangs there by itself on a sound floor", (1 - dip) * hang),
        (_misread(near), min(_MISREAD * len(near), 1.0) * other),
        ("water that was not poured in the test: a drip, a splash, a wet foot", 0.01),
    )
    ask = _across(given.unit, puddle)
    place = f"{format_length(puddle.x)} from the left and {format_length(puddle.y)} from the back"
    return causes, ask, f"A puddle was seen {place}, where the readings let expect none."


def _missing(
    given: Judging, test: WaterTest, found: Depths, pond: Pond | None
) -> tuple[tuple[Cause, ...], Ask | None, str]:
    """No puddle where the readings let expect one."""
    if pond is None:
        return (), None, "No puddle was seen, though the readings let expect one somewhere."
    puddle = Puddle(x=pond.x, y=pond.y)
    shallow = float((found.outside < 0.5e-3).mean())
    near, loosened = _without_near(given, pond.x, pond.y)
    gone = float((1 - notice(depths(*loosened, (puddle,)).inside[0])).mean()) if loosened else 0.0
    causes = _weighed(
        ("a puddle that was there and was not noticed", float((1 - notice(found.outside)).mean()) - shallow),
        ("a floor at the sound end of what the readings allow", shallow),
        (_misread(near), min(_MISREAD * len(near), 1.0) * gone),
        ("water that never came to that place", 0.05),
    )
    place = f"{format_length(pond.x)} from the left and {format_length(pond.y)} from the back"
    says = f"No puddle was seen, though the readings let expect one {place}, {format_length(pond.depth, 'mm')} deep."
    return causes, _across(given.unit, puddle), says


def _without_near(given: Judging, x: float, y: float) -> tuple[tuple[Reading, ...], tuple[Surfaces, Standing] | None]:
    """The readings within a foot of a place, and floors drawn without them."""
    near = tuple(r for r in given.readings if min(math.dist(p, (x, y)) for p in _points(r)) < _NEAR)
    return near, given.without(tuple(r for r in given.readings if r not in near)) if near else None


def _points(reading: Reading) -> list[tuple[float, float]]:
    if reading.x2 is None or reading.y2 is None:
        return [(reading.x, reading.y)]
    middle = ((reading.x + reading.x2) / 2, (reading.y + reading.y2) / 2)
    return [(reading.x, reading.y), middle, (reading.x2, reading.y2)]


def _misread(near: tuple[Reading, ...]) -> str:
    if not near:
        return "a reading near there that is off"
    named = ", ".join(f"line {r.line}" if r.line is not None else str(r.kind) for r in near[:3])
    return f"a reading near there that is off ({named}{' ...' if len(near) > 3 else ''})"


def _weighed(*causes: tuple[str, float]) -> tuple[Cause, ...]:
    """Causes with their odds made to sum to one; those of no weight left out."""
    total = sum(max(odds, 0.0) for _, odds in causes)
    return tuple(Cause(what, odds / total) for what, odds in causes if total > 0 and odds > 0.005 * total)


def _across(unit: UnitModel, puddle: Puddle) -> Ask:
    """A straightedge over the place, along the side that has more room."""
    half = max((puddle.across or WIDTH) / 2 + INCH, 6 * INCH)
    room_x, room_y = (min(at, size - at) for at, size in ((puddle.x, unit.inside_width), (puddle.y, unit.inside_depth)))
    why = "the dip under a straightedge tells a hollow from a film that hangs by itself"
    half = min(half, max(room_x, room_y))
    if room_x >= room_y:
        return Ask(str(ReadingKind.CHORD), puddle.x - half, puddle.y, puddle.x + half, puddle.y, "", why)
    return Ask(str(ReadingKind.CHORD), puddle.x, puddle.y - half, puddle.x, puddle.y + half, "", why)


def _time_chance(seen: float, times: Array) -> float:
    """Chance of a stopped time as far from the middle as this one or farther, either way."""
    finite = times[np.isfinite(times)]
    if not len(finite):
        return 0.0
    below = float(np.mean([NormalDist(math.log(t), TIMED).cdf(math.log(seen)) for t in np.quantile(finite, _SPACED)]))
    return 2.0 * min(below, 1.0 - below)


_SPACED = np.linspace(0.025, 0.975, 20)


def _time_causes(setting: Setting, basin: Basin, seen: float, times: Array) -> tuple[Cause, ...]:
    """Why the stream ended later or sooner than the readings allow: each cause has its own run of the pour."""

    def likelihood(*computed: float) -> float:
        logs = [math.log(t) for t in computed if 0 < t < math.inf]
        return sum(NormalDist(at, TIMED).pdf(math.log(seen)) for at in logs) / max(len(computed), 1)

    as_is = poured_on(setting, basin)
    middle = float(np.median(times))
    scale = middle / max(as_is.stream_below(DROPS), 1e-9)
    if seen > middle:
        fouled = (replace(basin, outlet=_fouled(setting.outlet, share)) for share in _CLOGGED)
        clogged = [poured_on(setting, b).stream_below(DROPS) * scale for b in fouled]
        return _weighed(
            ("a grate, trap or pipe that takes less than it should: lift the grate and look, then pour again",
             0.5 * likelihood(*clogged)),
            ("a watch that ran on to the last drops", 0.4 * likelihood(as_is.stream_below(_LATE) * scale)),
            ("a floor that falls less than any that the readings allow", 0.1 * likelihood(*(times * 1.5))),
        )  # fmt: skip
    half = replace(setting, pour=replace(setting.pour, poured=_HALF * setting.pour.poured))
    less = poured_on(half, basin).stream_below(DROPS) * scale
    return _weighed(
        ("water that went elsewhere, over the threshold or beside the drain: look outside and under the unit",
         0.4 * likelihood(less)),
        ("less water poured than was written down", 0.3 * likelihood(less)),
        ("a watch that was stopped while a stream still ran", 0.3 * likelihood(as_is.stream_below(_EARLY) * scale)),
    )  # fmt: skip


def _fouled(outlet: Outlet, share: float) -> Outlet:
    return Outlet(*(share * of for of in (outlet.weir, outlet.orifice, outlet.capacity)))


def _time_says(seen: float, drained: Range, off: bool) -> str:
    reach = f"{format_duration(drained.low)} to {format_duration(drained.high)}"
    if not off:
        return f"It drained in {format_duration(seen)}; {reach} was computed."
    sooner = "later" if seen > drained.likely else "sooner"
    return f"It drained in {format_duration(seen)}, {sooner} than the {reach} that was computed."
