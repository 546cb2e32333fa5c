"""A unit model against the rules, from its cut sheet alone, before any is ordered.

size_findings       inside sizes
threshold_findings  the threshold as a lip that holds water in, and as a rise over the finished floor; lip_height
pipe_findings       the pipe at the drain's outlet
fall_findings       the falls as moulded
geometry_finding    whether a level rim with this drain place can meet the window at all, and what would
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from statistics import NormalDist

from drainward.finding import Finding, Requirement, Verdict, conformance, decide
from drainward.job.model import UnitModel
from drainward.quantity import INCH, format_length, format_slope
from drainward.rules.book import RuleBook
from drainward.rules.evaluate import evaluate_normal, evaluate_probability
from drainward.rules.runs import best_drain, falls, is_level, run_ratio, wall_runs

__all__ = [
    "fall_findings",
    "fits",
    "geometry_finding",
    "lip_height",
    "pipe_findings",
    "size_findings",
    "threshold_findings",
]

SIZE_U = 0.003175 / math.sqrt(3)
"""Standard uncertainty of a cut-sheet size, m: within ±1/8 in, evenly (common practice, no source)."""
HEIGHT_U = 0.0015875 / math.sqrt(3)
"""Standard uncertainty of a moulded height over the drain, m: within ±1/16 in, evenly (common practice, no source)."""
PIPES = tuple(size * INCH for size in (1.25, 1.5, 2.0, 3.0, 4.0))
"""Nominal sizes of drain pipe, m (common practice, no source); a bore belongs to the size it is nearest to."""

_SIZES: dict[str, Callable[[UnitModel], float]] = {
    "inside.width": lambda unit: unit.inside_width,
    "inside.depth": lambda unit: unit.inside_depth,
    "inside.least": lambda unit: min(unit.inside_width, unit.inside_depth),
    "inside.circle": lambda unit: min(unit.inside_width, unit.inside_depth),
    "inside.area": lambda unit: unit.inside_width * unit.inside_depth,
}


def size_findings(
    unit: UnitModel, catalogue: Iterable[UnitModel], book: RuleBook, shower: str, risk: float
) -> tuple[Finding, ...]:
    """Inside sizes against every requirement on them."""
    found = []
    for quantity, size in _SIZES.items():
        u = SIZE_U * math.hypot(unit.inside_width, unit.inside_depth) if quantity == "inside.area" else SIZE_U
        for requirement in book.requirements(quantity, shower):
            others = [other.name for other in catalogue if _within(size(other), requirement)]
            finding = evaluate_normal(requirement, size(unit), u, risk)
            found.append(_for_unit(finding, unit, requirement, _size_advice(_leaning(finding, risk), others)))
    return tuple(found)


def _within(value: float, requirement: Requirement) -> bool:
    low = -math.inf if requirement.low is None else requirement.low
    high = math.inf if requirement.high is None else requirement.high
    return low - 1e-9 <= value <= high + 1e-9


def _leaning(finding: Finding, risk: float) -> Verdict:
    """What the cut sheet says by itself, even where the limit may not decide."""
    return finding.verdict if finding.probability is None else decide(finding.probability, risk=risk)


def _size_advice(leaning: Verdict, others: list[str]) -> str:
    match leaning:
        case Verdict.MEETS:
            return ""
        case Verdict.FAILS:
            return f"Do not order it for this room. {_models(others)}"
        case Verdict.NOT_PROVEN:
            return "The cut sheet leaves nothing to spare: measure the unit, centre to centre, when it arrives."


def lip_height(unit: UnitModel) -> float:
    """How high the threshold stands over the shower floor beside it, m; where the cut sheet is silent, its rise."""
    return unit.threshold_height if unit.threshold_lip is None else unit.threshold_lip


_THRESHOLD: dict[str, Callable[[UnitModel], float]] = {
    "threshold.lip": lip_height,
    "threshold.rise": lambda unit: unit.threshold_height,
}


def threshold_findings(
    unit: UnitModel, catalogue: Iterable[UnitModel], book: RuleBook, shower: str, risk: float
) -> tuple[Finding, ...]:
    """The threshold as moulded and set as designed, against every requirement on its lip and its rise.

    A limit that may not decide and would be met is left out: before anything is set it asks for nothing.
    """
    found = []
    for quantity, height in _THRESHOLD.items():
        for requirement in book.requirements(quantity, shower):
            finding = evaluate_normal(requirement, height(unit), HEIGHT_U, risk)
            if finding.decides:
                others = [other.name for other in catalogue if _within(height(other), requirement)]
                advice = _threshold_advice(quantity, _leaning(finding, risk), others)
                found.append(_for_unit(finding, unit, requirement, advice))
    return tuple(found)


def _threshold_advice(quantity: str, leaning: Verdict, others: list[str]) -> str:
    if leaning is Verdict.MEETS:
        return ""
    if quantity == "threshold.lip":
        start = "Measure the lip when it arrives." if leaning is Verdict.NOT_PROVEN else "It holds little water in."
    elif leaning is Verdict.NOT_PROVEN:
        start = "Nothing to spare: agree the height of the finished floor outside before the recess is poured."
    else:
        start = "Set as designed it stands too high: it takes a deeper recess or a higher finished floor outside."
    return f"{start} {_models(others)}" if leaning is Verdict.FAILS else start


def pipe_findings(
    unit: UnitModel, catalogue: Iterable[UnitModel], book: RuleBook, shower: str, risk: float
) -> tuple[Finding, ...]:
    """The pipe at the drain's outlet. A rule names a nominal size, and a bore is never just that: it conforms where it
    is nearer to that size than to the next smaller one.
    """
    found = []
    for requirement in book.requirements("drain.pipe", shower):
        low = None if requirement.low is None else _halfway(requirement.low)
        probability = conformance(unit.drain.pipe, SIZE_U, low, requirement.high)
        finding = evaluate_probability(requirement, unit.drain.pipe, SIZE_U, None, probability, risk)
        others = [other.name for other in catalogue if low is None or other.drain.pipe >= low]
        advice = {
            Verdict.MEETS: "As its file gives drain.pipe, which is 2 in where it says nothing.",
            Verdict.FAILS: f"Ask the plumber before it is ordered. {_models(others)}",
            Verdict.NOT_PROVEN: "Ask the maker which nominal size of pipe its outlet takes.",
        }[_leaning(finding, risk)]
        found.append(_for_unit(finding, unit, requirement, advice))
    return tuple(found)


def _halfway(size: float) -> float:
    """Halfway down to the next smaller nominal size, m."""
    return (size + max((pipe for pipe in PIPES if pipe < size - 1e-6), default=0.0)) / 2


def fall_findings(
    unit: UnitModel, catalogue: Iterable[UnitModel], book: RuleBook, shower: str, risk: float
) -> tuple[Finding, ...]:
    """The falls as moulded: least wall by wall, greatest toward the drain, and in any direction for clear spaces."""
    moulded = falls(unit)
    shortest = min(moulded.runs.values())
    values = {
        "floor.fall.least": (moulded.least, moulded.runs[moulded.flattest]),
        "floor.fall.greatest": (moulded.greatest, shortest),
        "clear_space.slope": (moulded.any, shortest),
    }
    requirements = [r for quantity in values for r in book.requirements(quantity, shower)]
    low = max((r.low for r in requirements if r.low is not None), default=None)
    high = min((r.high for r in requirements if r.high is not None), default=None)
    others = [other.name for other in catalogue if fits(other, low, high)]
    found = []
    for quantity, (value, run) in values.items():
        for requirement in book.requirements(quantity, shower):
            finding = evaluate_normal(requirement, value, HEIGHT_U / run, risk)
            advice = _fall_advice(_leaning(finding, risk), others)
            if requirement.low is not None:
                advice += f" Flattest toward the {moulded.flattest} wall."
                if moulded.corner < requirement.low - 1e-9:
                    advice += (
                        f" Along the line from a corner the moulded fall is only {format_slope(moulded.corner, '%')}: "
                        "agree that the fall is judged square to each wall, not along that line."
                    )
            found.append(_for_unit(finding, unit, requirement, advice))
    return tuple(found)


def _fall_advice(leaning: Verdict, others: list[str]) -> str:
    match leaning:
        case Verdict.MEETS:
            return "As moulded and set level."
        case Verdict.FAILS:
            return f"Set level, this unit cannot do it. {_models(others)}"
        case Verdict.NOT_PROVEN:
            return "Set level, the cut sheet leaves too little to spare: read the unit's own falls when it arrives."


def fits(unit: UnitModel, low: float | None, high: float | None) -> bool:
    """Whether the unit's moulded falls, as the cut sheet gives them, lie within [low, high]."""
    moulded = falls(unit)
    steep_enough = low is None or moulded.least >= low - 1e-9
    return steep_enough and (high is None or moulded.greatest <= high + 1e-9)


def geometry_finding(
    unit: UnitModel, catalogue: Iterable[UnitModel], low: Requirement, high: Requirement, risk: float
) -> Finding | None:
    """Whether any rim height meets both limits with this level rim and this drain place; None where it is not level.

    Possible where longest / shortest run <= high / low; not proven where the rim heights that do are fewer than a
    moulder's tolerance needs, 2 k HEIGHT_U with k the one-sided quantile at `risk`.
    """
    if not is_level(unit) or not low.low or not high.high:
        return None
    width, depth, drain = unit.inside_width, unit.inside_depth, unit.drain
    ratio, allowed = run_ratio(width, depth, drain.x, drain.y), high.high / low.low
    runs = wall_runs(width, depth, drain.x, drain.y).values()
    least, greatest = low.low * max(runs), high.high * min(runs)
    if ratio > allowed + 1e-9:
        verdict = Verdict.FAILS
        models = _models([other.name for other in catalogue if fits(other, low.low, high.high)])
        advice = f"No rim height does: {_drain_advice(width, depth, allowed)} {models}"
    elif greatest - least < 2 * NormalDist().inv_cdf(1 - risk) * HEIGHT_U:
        verdict = Verdict.NOT_PROVEN
        advice = (
            f"Only a level rim of {format_length(least, 'mm')} to {format_length(greatest, 'mm')} over the drain does, "
            "which leaves no room for the moulder's tolerance: ask the maker for measured heights."
        )
    else:
        verdict = Verdict.MEETS
        heights = f"{format_length(least, 'mm')} to {format_length(greatest, 'mm')}"
        advice = f"A level rim {heights} over the drain meets both limits square to each wall."
    return Finding(
        id=f"window.geometry@{unit.id}",
        what=f"{unit.name}: longest over shortest run from the drain, level rim",
        value=ratio,
        u=None,
        unit="1",
        limit=f"no more than {allowed:.3f} ({high.written.removeprefix('no more than ')} over "
        f"{low.written.removeprefix('at least ')})",
        probability=None,
        verdict=verdict,
        source=f"computed from {low.source} and {high.source}",
        advice=advice,
    )


def _drain_advice(width: float, depth: float, allowed: float) -> str:
    x, y, ratio = best_drain(width, depth)
    if ratio <= allowed + 1e-9:
        place = f"{format_length(x)} from the left wall and {format_length(y)} from the back wall"
        return f"a drain at {place} would do (ratio {ratio:.3f})."
    return (
        f"on this floor the best drain place, its centre, still gives {ratio:.3f}; "
        "it takes a rim that is not level, or a linear drain."
    )


def _models(names: list[str]) -> str:
    if not names:
        return "No unit model of this job would do, by its cut sheet."
    return f"Of this job's unit models these would do, by their cut sheets: {', '.join(names)}."


def _for_unit(finding: Finding, unit: UnitModel, requirement: Requirement, advice: str) -> Finding:
    return replace(
        finding,
        id=f"{requirement.id}@{unit.id}",
        what=f"{unit.name}: {requirement.what[0].lower()}{requirement.what[1:]}",
        advice=" ".join(part for part in (advice.strip(), finding.advice) if part),
    )
