"""A recorded water test beside the computation: do they agree, and if not, why most likely, and what would tell.

compare    one test
watched    computed times as people would stop them
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from drainward.floor.drawn import Drawn
from drainward.floor.film.evidence import WIDTH, Depths, depths, level_readings, outline
from drainward.floor.film.flow import Basin
from drainward.floor.film.fluid import Fluid
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

__all__ = ["Judging", "compare", "hangs", "watched"]

Array = NDArray[np.float64]

HANGS, HANGS_SOAPED = 0.3, 0.02
"""How likely a film hangs at a place by itself, and after wiping with soap (no source)."""
TIMED = 0.35
"""Standard deviation of the log of a stopped time: two people's idea of drops differs by a factor of two in flow."""
_MISREAD = 0.02  # a reading is a blunder with these odds, as in the belief's prior
_NEAR = 12 * INCH
_BARELY = 0.5e-3  # standing water that nobody notices, m
_CLOGGED = (0.1, 0.03, 0.01)  # shares of its flow that a fouled drain may take
_LATE, _EARLY = DROPS / 10, 5 * DROPS  # streams at which a slow eye and a quick one stop the watch
_HALF = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Judging:
    """What tests are compared with: the floors that the readings alone leave possible.

    z : (ny, nx) the expected floor on the setting's grid;  ponds : listed on them, likeliest first
    spread : drained times on drawn floors over that on the expected one, (k,)
    redrawn : readings -> floors drawn from them, and their still water
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
    redrawn: Callable[[tuple[Reading, ...]], tuple[Drawn, Standing]]


def hangs(job: Job, fluid: Fluid, test: WaterTest) -> Array:
    """How likely a film hangs by itself where each puddle was seen, (p,): not deeper than water hangs at all."""
    most = thickness(fluid, job.water.contact_angle[1])
    by_itself = HANGS_SOAPED if test.soap else HANGS
    return np.array([by_itself if (p.depth or 0.0) <= most else 0.0 for p in test.puddles or ()])


def compare(given: Judging, test: WaterTest, weight: float) -> Seen:
    """The test beside the computation; `weight` as in `Seen`."""
    setting = replace(given.setting, pour=pour_of(given.job, test))
    basin = basin_on(setting, given.z)
    times = given.spread * poured_on(setting, basin).stream_below(DROPS)
    drained = watched(times)
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
    return Seen(test, puddles_chance, drained, time_chance, agrees, causes, ask, " ".join(s for s in says if s), weight)


def _puddles(
    given: Judging, setting: Setting, test: WaterTest
) -> tuple[float | None, tuple[Cause, ...], Ask | None, str]:
    """How expected the puddles were; where they were not: causes, the reading that tells, and a sentence."""
    if test.puddles is None:
        return None, (), None, ""
    found = depths(given.floors, given.water, test.puddles)
    by_itself = hangs(given.job, setting.fluid, test)
    none_else = float((1.0 - notice(found.outside)).mean())
    chances = [
        float((notice(inside) + (1.0 - notice(inside)) * hang).mean())
        for inside, hang in zip(found.inside, by_itself, strict=True)
    ]
    least = min([none_else, *chances])
    if least >= given.job.risk:
        subject = "The puddles are" if test.puddles else "No puddle was seen,"
        return least, (), None, f"{subject} as the readings let expect."
    if least == none_else:
        return least, *_missing(given, test, found)
    k = chances.index(least)
    return least, *_unexpected(given, test, k, float(by_itself[k]))


def _unexpected(given: Judging, test: WaterTest, k: int, hang: float) -> tuple[tuple[Cause, ...], Ask, str]:
    """A puddle where the readings let expect none: what the floor is once it is believed, and who is wrong then."""
    puddle = (test.puddles or ())[k]
    alone = test.model_copy(update={"puddles": (puddle,)})
    laid = level_readings(given.unit, alone, given.setting.fluid, given.job.water.contact_angle)
    after, still = given.redrawn(given.readings + laid)
    dip = float(notice(depths(after.surfaces, still, (puddle,)).inside[0]).mean())
    near = _near(given.readings, puddle)
    blunder = dict(zip((r.id for r in after.used), after.belief.blunder, strict=True))
    off = max((float(blunder[r.id]) for r in near), default=0.0)
    other = {"a film that hangs there by itself on a sound floor": hang, _STRAY: STRAYS}
    share = (1.0 - dip) / sum(other.values())
    causes = _weighed(
        "puddles",
        ("a dip that lies between the readings", dip * (1.0 - off)),
        (_misread(near), dip * off),
        *((what, share * odds) for what, odds in other.items()),
    )
    return (
        causes,
        _across(given.unit, puddle),
        f"A puddle was seen {_place(puddle)}, where the readings let expect none.",
    )


_STRAY, STRAYS = "water that was not poured in the test: a drip, a splash, a wet foot", 0.02


def _missing(given: Judging, test: WaterTest, found: Depths) -> tuple[tuple[Cause, ...], Ask | None, str]:
    """No puddle where the readings let expect one."""
    marked = [outline(given.floors, p) for p in test.puddles or ()]
    at = [(int(abs(given.floors.y - p.y).argmin()), int(abs(given.floors.x - p.x).argmin())) for p in given.ponds]
    unseen = [pond for pond, node in zip(given.ponds, at, strict=True) if not any(place[node] for place in marked)]
    if not unseen:
        return (), None, "No puddle was seen, though the readings let expect one somewhere."
    pond = unseen[0]
    puddle = Puddle(x=pond.x, y=pond.y)
    unnoticed, shallow = float((1.0 - notice(found.outside)).mean()), float((found.outside < _BARELY).mean())
    near = _near(given.readings, puddle)
    gone = 0.0
    if near:
        loosened, still = given.redrawn(tuple(r for r in given.readings if r not in near))
        gone = float((1.0 - notice(depths(loosened.surfaces, still, (puddle,)).inside[0])).mean())
    causes = _weighed(
        "puddles",
        ("a puddle that was there and was not noticed", max(unnoticed - shallow, 0.0)),
        ("a floor at the sound end of what the readings allow", shallow),
        (_misread(near), min(_MISREAD * len(near), 1.0) * gone),
        ("water that never came to that place", STRAYS),
    )
    deep = format_length(pond.depth, "mm")
    says = f"No puddle was seen, though the readings let expect one {_place(puddle)}, {deep} deep."
    return causes, _across(given.unit, puddle), says


def _place(puddle: Puddle) -> str:
    return f"{format_length(puddle.x)} from the left and {format_length(puddle.y)} from the back"


def _near(readings: tuple[Reading, ...], puddle: Puddle) -> tuple[Reading, ...]:
    """The readings within a foot of a place."""
    return tuple(r for r in readings if min(math.dist(p, (puddle.x, puddle.y)) for p in _points(r)) < _NEAR)


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


def _weighed(about: str, *causes: tuple[str, float]) -> tuple[Cause, ...]:
    """Causes with their odds made to sum to one, likeliest first; those of no weight left out."""
    total = sum(max(odds, 0.0) for _, odds in causes)
    weighed = (Cause(about, what, odds / total) for what, odds in causes if total > 0 and odds > 0.005 * total)
    return tuple(sorted(weighed, key=lambda cause: -cause.probability))


def _across(unit: UnitModel, puddle: Puddle) -> Ask:
    """A straightedge over the place, along the side that has more room."""
    half = max((puddle.across or WIDTH) / 2 + INCH, 6 * INCH)
    room_x, room_y = (min(at, size - at) for at, size in ((puddle.x, unit.inside_width), (puddle.y, unit.inside_depth)))
    why = "the dip under a straightedge tells a hollow from a film that hangs by itself"
    half = min(half, max(room_x, room_y))
    if room_x >= room_y:
        return Ask(str(ReadingKind.CHORD), puddle.x - half, puddle.y, puddle.x + half, puddle.y, "", why)
    return Ask(str(ReadingKind.CHORD), puddle.x, puddle.y - half, puddle.x, puddle.y + half, "", why)


def watched(times: Array) -> Range:
    """Times at which a stream breaks up into drops, as people would stop them: the floors' spread and the watchers'."""
    spread = np.exp(TIMED * np.array([NormalDist().inv_cdf(p) for p in (np.arange(400) + 0.5) / 400]))
    stopped = np.outer(times, spread)
    if not np.isfinite(stopped).all():
        return Range(float(np.quantile(stopped, 0.025, method="lower")), float(np.median(times)), math.inf)
    low, likely, high = np.quantile(stopped, (0.025, 0.5, 0.975))
    return Range(float(low), float(likely), float(high))


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
        late = poured_on(setting, basin, drops=_LATE).stream_below(_LATE) * scale
        grate = "a grate, trap or pipe that takes less than it should: lift the grate and look, then pour again"
        return _weighed(
            "time",
            (grate, 0.5 * likelihood(*clogged)),
            ("a watch that ran on to the last drops", 0.4 * likelihood(late)),
            ("a floor that falls less than any that the readings allow", 0.1 * likelihood(*(times * 1.5))),
        )
    half = replace(setting, pour=replace(setting.pour, poured=_HALF * setting.pour.poured))
    less = poured_on(half, basin).stream_below(DROPS) * scale
    return _weighed(
            "time",
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
