"""The pocket itself, whatever unit stands in it: square, plumb, level, and the holes in the slab.

framing_findings   one finding for each rule on the pocket: what was measured, or what to measure

All of it is read off the survey as it was adjusted, so that every measure has its say in every answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Requirement, Verdict, conformance
from drainward.floor.judge import judged_on
from drainward.job.model import Job, UnitModel, What
from drainward.pocket.adjust import Adjusted
from drainward.pocket.heights import Heights
from drainward.pocket.limits import outline
from drainward.pocket.shape import Pocket, Wall
from drainward.quantity import INCH, format_length
from drainward.rules import RuleBook, evaluate_normal
from drainward.rules.evaluate import evaluate_probability, not_measured

__all__ = ["framing_findings"]

Array = NDArray[np.float64]

_VAGUE = 0.125 * INCH
"""Standard uncertainty beyond which a lean or a difference of diagonals was not measured, m: framing by itself would
leave it within its limit by chance."""
_LEAST_CORE = 4 * INCH
"""A smaller core is not made good by a pipe in its middle, m (common practice, no source)."""

_RECESS = {
    "recess.width": (What.RECESS_WIDTH, "Tape across the recess, left to right."),
    "recess.depth": (What.RECESS_DEPTH, "Tape across the recess, back to front."),
    "recess.deep": (What.RECESS_DEEP, "Straightedge over the recess, tape down to its bottom."),
}


def framing_findings(
    unit: UnitModel,
    adjusted: Adjusted,
    heights: Heights,
    drain_clear: Verdict | None,
    job: Job,
    book: RuleBook,
    samples: int = 1000,
    seed: int = 0,
) -> tuple[Finding, ...]:
    """Diagonals, plumb of each wall, slab at the opening and under the unit, recess and core.

    heights : of the unit where it stands best
    drain_clear : whether the drain's body has its room in the core; None where the unit does not go in or the rules
    ask for none
    Decision rule of JCGM 106:2012 at the job's risk; what nobody measured is `not proven` and says how to measure it.
    """
    pocket, shower, risk = adjusted.pocket, job.rules.shower, job.risk
    drawn = pocket.draw(samples, seed)
    found = [
        *_diagonals(pocket, drawn, book.requirements("pocket.diagonals", shower), risk),
        *_plumbs(pocket, book.requirements("pocket.plumb", shower), risk),
        *_levels(unit, pocket, drawn, heights, book, shower, risk),
    ]
    if unit.style == "bedded":
        for quantity, (what, ask) in _RECESS.items():
            found += [_recess(row, adjusted.sizes.get(what), ask, risk) for row in book.requirements(quantity, shower)]
    found += [_core(row, pocket, drain_clear, risk) for row in book.requirements("pocket.core", shower)]
    return tuple(found)


def _diagonals(pocket: Pocket, drawn: Array, rows: tuple[Requirement, ...], risk: float) -> Iterator[Finding]:
    """From each back corner to the other end of the threshold's line; the corners are the studs nearest to them."""
    off, front = drawn[:, : len(pocket)], drawn[:, -2:]
    low = pocket.z == pocket.z.min()
    left, back, right = (np.flatnonzero(low & (pocket.wall == wall)) for wall in Wall)
    first, last = ([int(on[pick(pocket.at[on])]) for on in (left, back, right)] for pick in (np.argmin, np.argmax))
    from_left = np.hypot(off[:, last[2]] - off[:, first[0]], front[:, 1] - off[:, first[1]])
    from_right = np.hypot(off[:, first[2]] - off[:, last[0]], front[:, 0] - off[:, last[1]])
    more = from_left - from_right
    value, u = float(more.mean()), float(more.std())
    longer = "left" if value > 0 else "right"
    advice = (
        f"The diagonal from the back {longer} corner is longer: the pocket leans to that side toward the opening. "
        "Shim the side walls as the dry set says; where the unit does not go in, move a wall."
    )
    ask = "Tape both diagonals at the floor, from each back corner to the other end of the threshold's line."
    for row in rows:
        yield _either_way(row, value, u, advice, ask, risk)


def _plumbs(pocket: Pocket, rows: tuple[Requirement, ...], risk: float) -> Iterator[Finding]:
    """The lean of each wall as the mean of its studs: one stud that stands alone is the shims' business."""
    for wall in Wall:
        name, on = wall.name.lower(), pocket.wall == wall
        foot, top = pocket.z[on].min(), pocket.z[on].max()
        at_foot, at_top = on & (pocket.z == foot), on & (pocket.z == top)
        shares = at_top / at_top.sum() - at_foot / at_foot.sum()
        inward = -1.0 if wall is Wall.RIGHT else 1.0
        n = len(pocket)
        value = inward * float(shares @ pocket.off)
        u = float(np.sqrt(shares @ pocket.covariance[:n, :n] @ shares))
        way = "into the pocket" if value > 0 else "out of the pocket"
        advice = (
            f"It leans {way} by {format_length(abs(value))} from {format_length(foot)} to {format_length(top)} up: "
            "plumb it before the unit is set, or fur it out over its whole height."
        )
        ask = (
            f"Hold a long level upright on stud faces of the {name} wall: how far they stand in or out over their foot."
        )
        for row in rows:
            own = replace(row, id=f"{row.id}@{name}", what=f"{name.capitalize()} {row.what[0].lower()}{row.what[1:]}")
            yield _either_way(own, value, u, advice, ask, risk)


def _either_way(row: Requirement, value: float, u: float, advice: str, ask: str, risk: float) -> Finding:
    """A size of either sign against a limit on how large it is."""
    if not np.isfinite(value) or u > _VAGUE:
        return not_measured(row, ask)
    within = 1.0 if row.high is None else conformance(value, max(u, 1e-9), -row.high, row.high)
    under = 0.0 if row.low is None else conformance(value, max(u, 1e-9), -row.low, row.low)
    told = evaluate_probability(row, abs(value), u, None, max(within - under, 0.0), risk)
    words = {Verdict.MEETS: "", Verdict.FAILS: advice, Verdict.NOT_PROVEN: f"Too near the limit to tell. {ask}"}
    return replace(told, advice=" ".join(part for part in (words[told.verdict], told.advice) if part))


def _levels(
    unit: UnitModel, pocket: Pocket, drawn: Array, heights: Heights, book: RuleBook, shower: str, risk: float
) -> Iterator[Finding]:
    """Highest less lowest of the spots before the opening, and of those under the unit."""
    shape, first = outline(unit), len(pocket) + 3
    slab = drawn[:, first : first + len(pocket.slab)]
    before = np.flatnonzero((pocket.slab_y > shape.front - shape.back) & np.isfinite(pocket.slab))
    under = "slab.under_bed" if unit.style == "bedded" else "slab.under_base"
    asks = {
        "slab.opening": (before, "before the opening, at its left, its middle and its right"),
        under: (heights.spot, "under the unit, near its four corners and clear of the recess"),
    }
    for quantity, (spots, where) in asks.items():
        ask = f"Read the slab with the laser {where}, from one set-up."
        for row in book.requirements(quantity, shower):
            if len(spots) < 2 or not _spread(pocket, spots, unit):
                yield not_measured(row, ask)
                continue
            values = slab[:, spots].max(axis=1) - slab[:, spots].min(axis=1)
            yield judged_on(row, values, _grind(pocket, spots), risk).finding


def _spread(pocket: Pocket, spots: NDArray[np.intp], unit: UnitModel) -> bool:
    """Whether spots lie at both sides: two beside each other tell nothing of a level."""
    return float(np.ptp(pocket.slab_x[spots])) >= unit.inside_width / 2


def _grind(pocket: Pocket, spots: NDArray[np.intp]) -> str:
    high, low = (int(spots[pick]) for pick in (pocket.slab[spots].argmax(), pocket.slab[spots].argmin()))

    def at(spot: int) -> str:
        x, y = format_length(float(pocket.slab_x[spot])), format_length(float(pocket.slab_y[spot]))
        return f"{x} from the left, {y} from the back"

    return f"Highest at {at(high)}; lowest at {at(low)}. Grind the one or build up the other."


def _recess(row: Requirement, size: tuple[float, float] | None, ask: str, risk: float) -> Finding:
    if size is None:
        return not_measured(row, ask)
    told = evaluate_normal(row, *size, risk)
    words = {
        Verdict.MEETS: "",
        Verdict.FAILS: "Cut it larger before the unit comes; the cautions on coring hold here too.",
        Verdict.NOT_PROVEN: f"Too near the limit to tell. {ask}",
    }
    return replace(told, advice=" ".join(part for part in (words[told.verdict], told.advice) if part))


def _core(row: Requirement, pocket: Pocket, drain_clear: Verdict | None, risk: float) -> Finding:
    """A core of 4 in or more in which the drain's body has its room is at risk, not lost: the pipe's place decides."""
    ask = "Tape across the hole for the drain."
    if not np.isfinite(pocket.core_radius):
        return not_measured(row, ask)
    across, u = 2 * pocket.core_radius, 2 * float(np.sqrt(pocket.covariance[len(pocket) + 2, len(pocket) + 2]))
    told = evaluate_normal(row, across, max(u, 1e-9), risk)
    if told.verdict is not Verdict.FAILS:
        return told if told.verdict is Verdict.MEETS else replace(told, advice=f"{ask} {told.advice}".strip())
    if drain_clear is Verdict.MEETS and across - 2 * u > _LEAST_CORE:
        risky = (
            "At risk: it does only where the pipe stands in its middle. Tape from the pipe to the hole's edge all round"
        )
        advice = f"{risky}; where it does not, core it to 6 in. {told.advice}"
        return replace(told, verdict=Verdict.NOT_PROVEN, advice=advice.strip())
    return replace(told, advice=f"Core it to 6 in; read the cautions on coring first. {told.advice}".strip())
