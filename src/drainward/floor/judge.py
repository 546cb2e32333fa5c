"""Requirements on a floor, judged on drawn floors.

Look         everything computed of the drawn floors, once
look         compute it
Judged       a finding with its answer on each drawn floor
judged_on    one requirement on the drawn floors' values
at_job_depth the trade's pond row at the depth that the job counts
judge        every requirement of the rule book that binds a set floor
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Requirement
from drainward.floor.doubt import band, middle, prudent
from drainward.floor.fall import Falls, falls, steepest_lines
from drainward.floor.ponds import Standing, standing
from drainward.floor.shape import radial_net
from drainward.floor.straightedge import Lines, gap, lines, rock
from drainward.floor.surface import Surfaces
from drainward.job.model import Job, UnitModel
from drainward.quantity import format_length, format_slope
from drainward.rules import RuleBook, evaluate_probability

__all__ = ["Judged", "Look", "at_job_depth", "judge", "judged_on", "look"]

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

ROCK_BASE = 0.3048
JOB_SETS = "practice/pond"
"""The row whose limit is the job's own `pond_counts`; a local rule that replaces it states its own."""


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """Drawn floors with what was computed of them.

    mean, sd : (ny, nx) m; straightedge, rocked : where it is laid, and how much it rocks there
    """

    unit: UnitModel
    base: float
    counted: float
    floors: Surfaces
    falls: Falls
    water: Standing
    mean: Array
    sd: Array
    straightedge: Lines
    rocked: NDArray[np.float32]
    threads: int


def look(floors: Surfaces, job: Job, threads: int, tell: Progress) -> Look:
    """Compute falls, ponds and high spots of drawn floors."""
    unit = floors.unit
    tell("reading their falls", 0.5)
    of = falls(floors, radial_net(unit, job.fall_base), threads)
    tell("filling their ponds", 0.6)
    water = standing(floors, unit, job.pond_counts, threads)
    tell("laying the straightedge", 0.8)
    mean, sd = floors.moments(threads)
    where = lines(unit, min(ROCK_BASE, 0.8 * min(unit.inside_width, unit.inside_depth)))
    rocked = rock(floors, where, threads)
    return Look(unit, job.fall_base, job.pond_counts, floors, of, water, mean, sd, where, rocked, threads)


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A finding and whether each drawn floor conforms to its requirement, (c,)."""

    finding: Finding
    conforms: NDArray[np.bool_]


def judge(seen: Look, job: Job, book: RuleBook) -> list[Judged]:
    """Every requirement of the book on falls, ponds, straightedge and clear spaces, in this order."""
    answers: list[Judged] = []
    for quantity, values_of in _QUANTITIES.items():
        for row in book.requirements(quantity, job.rules.shower):
            requirement = at_job_depth(row, job)
            found = values_of(seen, requirement)
            if found is not None:
                answers.append(judged_on(requirement, *found, job.risk))
    return answers


def judged_on(requirement: Requirement, values: Array, advice: str, risk: float) -> Judged:
    """The finding on a quantity known by its values on drawn floors, (c,)."""
    conforms = np.ones(len(values), dtype=bool)
    if requirement.low is not None:
        conforms &= values >= requirement.low
    if requirement.high is not None:
        conforms &= values <= requirement.high
    ends = band(values)
    finding = evaluate_probability(requirement, *middle(ends), ends, prudent(conforms), risk, advice)
    finding = replace(finding, likely=float(np.median(values)))
    return Judged(finding, conforms)


def at_job_depth(requirement: Requirement, job: Job) -> Requirement:
    """The trade's pond row at the depth that the job counts; any other requirement as it stands."""
    counted = job.pond_counts
    if requirement.id != JOB_SETS or np.isclose(counted, requirement.high or 0.0, rtol=1e-3):
        return requirement
    return replace(requirement, high=counted, written=f"at most {format_length(counted)} (set by the job)")


def _least(seen: Look, requirement: Requirement) -> tuple[Array, str]:
    of = _on_base(seen, requirement)
    k = np.bincount(of.fall.argmin(axis=0), minlength=len(of.fall)).argmax()
    advice = f"Least {_base_at(of, int(k))}; along the lines of steepest descent {_along_water(seen, requirement)}."
    return of.least.astype(np.float64), advice


def _greatest(seen: Look, requirement: Requirement) -> tuple[Array, str]:
    of = _on_base(seen, requirement)
    k = np.bincount(of.fall.argmax(axis=0), minlength=len(of.fall)).argmax()
    return of.greatest.astype(np.float64), f"Greatest {_base_at(of, int(k))}."


def _on_base(seen: Look, requirement: Requirement) -> Falls:
    if requirement.base is None or np.isclose(requirement.base, seen.base):
        return seen.falls
    return falls(seen.floors, radial_net(seen.unit, requirement.base), seen.threads)


def _base_at(of: Falls, k: int) -> str:
    net = of.net
    x, y = (net.x[net.inner[k]] + net.x[net.outer[k]]) / 2, (net.y[net.inner[k]] + net.y[net.outer[k]]) / 2
    place = f"{format_length(float(x))} from the left and {format_length(float(y))} from the back"
    return f"over {format_length(float(net.length[k]))} around {place}"


def _along_water(seen: Look, requirement: Requirement) -> str:
    """Least fall over the base along the mean floor's lines of steepest descent, with its standard uncertainty."""
    s, unit = seen.floors, seen.unit
    base = requirement.base or seen.base
    least = np.full(s.count, np.inf)
    for line in steepest_lines(s.x, s.y, seen.mean, (unit.drain.x, unit.drain.y, unit.drain.radius)):
        way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        if way[-1] < base:
            continue
        starts = np.linspace(0.0, way[-1] - base, max(int((way[-1] - base) / 0.05), 1) + 1)
        ends = np.concatenate([starts, starts + base])
        z = s.at(np.interp(ends, way, line[:, 0]), np.interp(ends, way, line[:, 1]))
        least = np.minimum(least, ((z[: len(starts)] - z[len(starts) :]) / base).min(axis=0))
    if not np.isfinite(least).all():
        return "no way is as long as the base"
    return f"{format_slope(float(least.mean()), '%')} ± {format_slope(float(least.std()), '%')}"


def _pond(seen: Look, requirement: Requirement) -> tuple[Array, str]:
    return seen.water.deepest, ""


def _gap(seen: Look, requirement: Requirement) -> tuple[Array, str] | None:
    where, rocked = _laid(seen, requirement)
    if not len(rocked):
        return None
    departed = gap(seen.unit, where, rocked)
    return departed.max(axis=0).astype(np.float64), f"Worst {_line_at(where, int(departed.mean(axis=1).argmax()))}."


def _rock(seen: Look, requirement: Requirement) -> tuple[Array, str] | None:
    where, rocked = _laid(seen, requirement)
    if not len(rocked):
        return None
    # Rocking over its middle, one end comes down and the other goes up by as much again.
    lift = np.maximum(2 * rocked.max(axis=0), 0.0).astype(np.float64)
    return lift, f"Worst {_line_at(where, int(rocked.mean(axis=1).argmax()))}."


def _laid(seen: Look, requirement: Requirement) -> tuple[Lines, NDArray[np.float32]]:
    base = requirement.base or ROCK_BASE
    length = float(
        np.hypot(seen.straightedge.x2 - seen.straightedge.x, seen.straightedge.y2 - seen.straightedge.y).max(
            initial=0.0
        )
    )
    if np.isclose(base, length):
        return seen.straightedge, seen.rocked
    where = lines(seen.unit, base)
    return where, rock(seen.floors, where, seen.threads) if len(where.x) else seen.rocked[:0]


def _line_at(where: Lines, k: int) -> str:
    ends = (float(v[k]) for v in (where.x, where.y, where.x2, where.y2))
    return "from {} / {} to {} / {} (left / back)".format(*(format_length(v) for v in ends))


def _any_slope(seen: Look, requirement: Requirement) -> tuple[Array, str] | None:
    where = lines(seen.unit, requirement.base or seen.base)
    if not len(where.x):
        return None
    rise = seen.floors.at(where.x2, where.y2, seen.threads) - seen.floors.at(where.x, where.y, seen.threads)
    slope = np.abs(rise) / (requirement.base or seen.base)
    return slope.max(axis=0).astype(np.float64), f"Steepest {_line_at(where, int(slope.mean(axis=1).argmax()))}."


_QUANTITIES: dict[str, Callable[[Look, Requirement], tuple[Array, str] | None]] = {
    "floor.fall.least": _least,
    "floor.fall.greatest": _greatest,
    "floor.pond.depth": _pond,
    "floor.straightedge.gap": _gap,
    "floor.straightedge.rock": _rock,
    "clear_space.slope": _any_slope,
}
