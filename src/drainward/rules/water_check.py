"""A recorded water test against the rules that need no computed water: how hot, how much, how deep a puddle was seen.

water_findings   hottest water, flow of a head and deepest puddle seen, each against every row that binds it
at_job_flow      the row on the drain's capacity, at the shower flow that the job sets
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from drainward.finding import Finding, Requirement, Verdict
from drainward.job.model import Job, WaterTest
from drainward.quantity import format_flow
from drainward.rules.book import RuleBook
from drainward.rules.evaluate import evaluate_normal
from drainward.rules.scald import scald_words
from drainward.rules.written import limit_words

__all__ = ["at_job_flow", "water_findings"]

JOB_SETS = "practice/drain-capacity"
"""The row whose limit is the job's own shower flow; a local rule that replaces it states its own."""
PUDDLE_U = 0.001 / math.sqrt(3)
"""Standard uncertainty of a puddle's depth read with a rule, m: within ±1 mm, evenly (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Measure:
    """One thing that a water test measures.

    read   : the test -> value and its standard uncertainty, SI; None where it was not measured
    ask    : what to do where it was not
    advise : value -> what to do, by the verdict
    """

    read: Callable[[WaterTest], tuple[float, float] | None]
    ask: str
    advise: Callable[[float, Verdict], str]


def water_findings(job: Job, book: RuleBook, test: WaterTest | None) -> tuple[Finding, ...]:
    """One finding for each requirement that binds the hottest water, the flow of a head or a puddle seen to stay.

    Decision rule of JCGM 106:2012 at the job's risk. What was not measured, or no test at all, is `not proven` and says
    what to measure.
    """
    found = []
    for quantity, measure in _MEASURES.items():
        read = None if test is None else measure.read(test)
        for requirement in book.requirements(quantity, job.rules.shower):
            if read is None:
                found.append(_not_measured(requirement, measure.ask))
                continue
            finding = evaluate_normal(requirement, *read, job.risk)
            advice = (measure.advise(read[0], finding.verdict), finding.advice)
            found.append(replace(finding, advice=" ".join(part for part in advice if part)))
    return tuple(found)


def at_job_flow(requirement: Requirement, job: Job) -> Requirement:
    """The trade's row on the drain's capacity at the job's shower flow; any other requirement as it stands."""
    if requirement.id != JOB_SETS or math.isclose(job.water.flow, requirement.low or 0.0, rel_tol=1e-3):
        return requirement
    return replace(requirement, low=job.water.flow, written=f"at least {format_flow(job.water.flow)} (set by the job)")


def _not_measured(requirement: Requirement, ask: str) -> Finding:
    return Finding(
        id=requirement.id,
        what=requirement.what,
        value=None,
        u=None,
        unit=requirement.unit,
        limit=limit_words(requirement),
        probability=None,
        verdict=Verdict.NOT_PROVEN,
        source=f"{requirement.source}, binds {requirement.binds}",
        advice=ask,
    )


def _hottest(test: WaterTest) -> tuple[float, float] | None:
    return None if test.hottest is None else (test.hottest, test.u_hottest)


def _flow(test: WaterTest) -> tuple[float, float] | None:
    return None if test.flow is None else (test.flow, test.u_flow)


def _puddle(test: WaterTest) -> tuple[float, float] | None:
    """The deepest puddle; none seen is no depth. A puddle without a depth leaves it open."""
    if test.puddles is None:
        return None
    depths = [puddle.depth for puddle in test.puddles]
    measured = [depth for depth in depths if depth is not None]
    return None if len(measured) < len(depths) else (max(measured, default=0.0), PUDDLE_U)


def _about_heat(value: float, verdict: Verdict) -> str:
    do = {
        Verdict.MEETS: "",
        Verdict.FAILS: "Let nobody bathe here: turn the valve's limit stop down and measure again. ",
        Verdict.NOT_PROVEN: "Measure again for a minute with a better thermometer, or turn the limit stop down. ",
    }[verdict]
    return do + scald_words(value)


def _about_flow(value: float, verdict: Verdict) -> str:
    do = {
        Verdict.MEETS: "",
        Verdict.FAILS: "Look whether the head is the one specified and its restrictor is in place, then catch again. ",
        Verdict.NOT_PROVEN: "Catch again for a minute: the longer, the less the bucket and the watch matter. ",
    }[verdict]
    return f"{do}As caught, at the pressure there: where the rule names one, less pressure gives less flow."


def _about_puddle(value: float, verdict: Verdict) -> str:
    again = "Wipe it with a drop of dish soap and pour again"
    return {
        Verdict.MEETS: "" if value == 0.0 else f"{again}: a patch that fills again to the same outline counts too.",
        Verdict.FAILS: f"{again}; where it fills again, take a chord reading across it: the dip decides.",
        Verdict.NOT_PROVEN: f"{again}, then measure its depth in the middle once more.",
    }[verdict]


_MEASURES: dict[str, _Measure] = {
    "spray.temperature": _Measure(
        _hottest,
        "Hold a thermometer under the head with the handle at its hottest for a minute, the heater up to temperature "
        f"and skin out of the stream; write it down as the hottest. {scald_words(60.0)}",
        _about_heat,
    ),
    "shower.flow": _Measure(
        _flow,
        "Open one head fully, catch its water for 15 s in a bucket and measure it: four times that is the flow in a "
        "minute. Write down the pressure beside it.",
        _about_flow,
    ),
    "floor.puddle.depth": _Measure(
        _puddle,
        "When the stream into the drain has broken up into drops, look over the whole floor against the light; stand a "
        "rule in the middle of each puddle and write its place and depth down, or that there is none.",
        _about_puddle,
    ),
}
