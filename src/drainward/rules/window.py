"""Before anything is set: can the picked rules be met, can that be proven, and do the unit models do it?

job_warnings             the findings and questions for the first page of a job
SlopeWindow              greatest of the least falls, least of the greatest ones
slope_window             the window of some rules, in the printed or in the text's other reading
best_instrument          the job's instrument that reads one slope best
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import NormalDist

from drainward.finding import Certainty, Finding, Verdict
from drainward.job.model import Instrument, Job, UnitModel
from drainward.quantity import format_length
from drainward.rules.book import RuleBook
from drainward.rules.outlook import JobOutlook, Question
from drainward.rules.row import Rule
from drainward.rules.unit_check import (
    fall_findings,
    geometry_finding,
    lip_height,
    pipe_findings,
    size_findings,
    threshold_findings,
)

__all__ = ["JobOutlook", "Question", "SlopeWindow", "best_instrument", "job_warnings", "slope_window"]

QUANTITIES = ("floor.fall.least", "floor.fall.greatest", "clear_space.slope")
LEVEL_U = math.tan(math.radians(0.1)) / math.sqrt(3)
"""Standard uncertainty of a slope read with a site level good to ±0.1°, ratio (common practice, no source)."""
REFERENCE_RUN = 0.762
"""30 in, the run over which the published window is compared, m."""


@dataclass(frozen=True, slots=True)
class SlopeWindow:
    """The slopes that all rules allow, ratios, and the two rules that bound them."""

    low: float
    high: float
    low_rule: Rule
    high_rule: Rule

    @property
    def width(self) -> float:
        """high - low; float noise counts as no width."""
        width = self.high - self.low
        return 0.0 if abs(width) < 1e-12 else width

    @property
    def certain(self) -> bool:
        """Whether both bounds may decide."""
        return _decides(self.low_rule) and _decides(self.high_rule)


def slope_window(rules: Iterable[Rule], other_reading: bool = False) -> SlopeWindow | None:
    """The window that the rules leave, or None where one side is open."""

    def read(rule: Rule, printed: float) -> float:
        return rule.other if other_reading and rule.other is not None else printed

    rows = tuple(rules)
    lows = [(read(r, r.requirement.low), r) for r in rows if r.requirement.low is not None]
    highs = [(read(r, r.requirement.high), r) for r in rows if r.requirement.high is not None]
    if not lows or not highs:
        return None
    low, low_rule = max(lows, key=lambda pair: pair[0])
    high, high_rule = min(highs, key=lambda pair: pair[0])
    return SlopeWindow(low, high, low_rule, high_rule)


def best_instrument(instruments: Iterable[Instrument], base: float) -> tuple[str, float]:
    """Name and standard uncertainty (ratio) of the instrument that reads one slope over `base` best.

    A wedge or height reading of uncertainty u gives a slope to u over the instrument's length, or to √2 u over the
    base where it has none. Without any instrument: a site level good to ±0.1°.
    """
    found: list[tuple[float, str]] = []
    for tool in instruments:
        if tool.u_slope is not None:
            found.append((tool.u_slope, tool.name))
        elif tool.u is not None:
            found.append((tool.u / tool.length if tool.length else math.sqrt(2) * tool.u / base, tool.name))
    if not found:
        return "a site level good to ±0.1°", LEVEL_U
    u, name = min(found)
    return name, u


def job_warnings(job: Job, book: RuleBook) -> JobOutlook:
    """What to know before anything is set: the slope window, the unit models, and what to ask whom."""
    shower = job.rules.shower
    rules = book.select(QUANTITIES, shower)
    findings: list[Finding] = []
    questions: list[Question] = [Question(s.ask, s.decided_by, s.note or "") for s in book.sets if s.ask]
    window = _governing(rules, other_reading=False)
    if window is not None:
        _windows(job, rules, window, findings, questions)
    catalogue = tuple(job.units.values())
    wanted = {room.unit for room in job.rooms} & set(job.units) or set(job.units)
    impossible: list[Finding] = []
    for unit in (unit for id, unit in job.units.items() if id in wanted):
        for check in (size_findings, threshold_findings, pipe_findings, fall_findings):
            findings.extend(check(unit, catalogue, book, shower, job.risk))
        questions.extend(_lip_question(unit, book, shower))
        if window is not None and window.width >= 0:
            low, high = window.low_rule.requirement, window.high_rule.requirement
            geometry = geometry_finding(unit, catalogue, low, high, job.risk)
            if geometry is not None:
                findings.append(_settle(geometry, window))
                impossible.extend([geometry] if geometry.verdict is Verdict.FAILS else [])
    if window is not None and impossible:
        questions.append(_geometry_question(impossible, window))
    questions.extend(_dispute(rule) for rule in rules if rule.requirement.disputed)
    return JobOutlook(tuple(findings), tuple(dict.fromkeys(questions)))


def _decides(rule: Rule) -> bool:
    return not rule.requirement.disputed and rule.requirement.source.certainty is not Certainty.MEMORY


def _governing(rules: tuple[Rule, ...], other_reading: bool) -> SlopeWindow | None:
    """The window of all rules; that of the deciding ones alone where it is empty already."""
    sure = slope_window(filter(_decides, rules), other_reading)
    return sure if sure is not None and sure.width < 0 else slope_window(rules, other_reading)


def _windows(
    job: Job, rules: tuple[Rule, ...], window: SlopeWindow, findings: list[Finding], questions: list[Question]
) -> None:
    """The printed window; and the other reading where either leaves something to ask."""
    printed = _window_finding(job, window, "window.slope", "slope window of the shower floor, as printed")
    findings.append(printed)
    other = _governing(rules, other_reading=True)
    if other is not None and (other.low, other.high) != (window.low, window.high):
        what = "slope window of the shower floor, read in percent"
        finding = _window_finding(job, other, "window.slope.percent", what)
        if {printed.verdict, finding.verdict} != {Verdict.MEETS}:
            findings.append(finding)
    if printed.verdict is not Verdict.MEETS:
        questions.append(_window_question(window))


def _window_finding(job: Job, window: SlopeWindow, id: str, what: str) -> Finding:
    name, u = best_instrument(job.instruments.values(), job.fall_base)
    k = NormalDist().inv_cdf(1.0 - job.risk)
    needed = 2.0 * k * u
    low, high = window.low_rule.requirement, window.high_rule.requirement
    span = f"From {_percent(window.low)} ({low.source}) to {_percent(window.high)} ({high.source})"
    if window.width < 0:
        verdict = Verdict.FAILS
        advice = f"{span}: no floor can satisfy both, whatever the workmanship. Ask before anything is set."
    else:
        lengths = ", ".join(
            f"{window.width * run * 1000:.3g} mm over {format_length(run)}" for run in (job.fall_base, REFERENCE_RUN)
        )
        wide_enough = window.width > needed
        verdict = Verdict.MEETS if wide_enough else Verdict.NOT_PROVEN
        advice = f"{span} it is {_percent(window.width)} wide: {lengths}. " + (
            f"One reading with {name} can prove a slope near its middle; near its ends it takes more readings."
            if wide_enough
            else f"No single reading with {name} (standard uncertainty {_percent(u)}) can prove a floor inside it. "
            "Ask before anything is set."
        )
    finding = Finding(
        id=id,
        what=what,
        value=window.width,
        u=None,
        unit="ratio",
        limit=f"wider than {_percent(needed)}: 2 × {k:.3f} × {_percent(u)} of {name}",
        probability=None,
        verdict=verdict,
        source=f"computed from {low.id} and {high.id}",
        advice=advice,
    )
    return _settle(finding, window)


def _percent(ratio: float) -> str:
    return f"{ratio * 100:.3g} %"


def _settle(finding: Finding, window: SlopeWindow) -> Finding:
    """A bound that may not decide leaves the finding open."""
    if window.certain or finding.verdict is Verdict.NOT_PROVEN:
        return finding
    doubtful = " and ".join(r.requirement.id for r in (window.low_rule, window.high_rule) if not _decides(r))
    advice = f"{finding.advice} It hangs on {doubtful}, which may not decide: confirm it first."
    return replace(finding, verdict=Verdict.NOT_PROVEN, advice=advice)


def _window_question(window: SlopeWindow) -> Question:
    low, high = window.low_rule.requirement, window.high_rule.requirement
    text = (
        f"The rules picked for this job ask for a fall of {low.written} ({low.source}; binds {low.binds}) and a slope "
        f"of {high.written} ({high.source}; binds {high.binds}). "
    )
    if high.quantity == "clear_space.slope":
        text += "Does the second bind inside the shower here, or only the floor outside? "
    reading = window.low_rule.other_written or window.high_rule.other_written
    if reading is not None:
        text += f"Is the limit read as the ratio or as {reading}? "
    text += "Which one governs the shower floor, and what tolerance do you accept?"
    return Question(
        text=text,
        to="; ".join(dict.fromkeys((low.decided_by, high.decided_by))),
        why="As the rules stand no hand reading can show that a floor conforms, so every unit would stay not proven."
        if window.width >= 0
        else "As the rules stand no floor can satisfy both, so every unit would fail one of them.",
    )


def _geometry_question(impossible: list[Finding], window: SlopeWindow) -> Question:
    units = "; ".join(f"{finding.what.partition(':')[0]} has {finding.value:.3f}" for finding in impossible)
    return Question(
        text=f"With a level rim, the longest over the shortest run from the drain may be {impossible[0].limit}, and "
        f"{units}. Which unit model, drain place or rim will be ordered instead, or which of the two limits is waived?",
        to=f"whoever orders the units; for a waiver, {window.high_rule.requirement.decided_by}",
        why="No workmanship cures it: set level, some part of the floor is too flat or another too steep.",
    )


def _lip_question(unit: UnitModel, book: RuleBook, shower: str) -> Iterable[Question]:
    """What to ask where a unit has no lip, or its lip and its rise cannot both be as the rules ask."""
    lip, rise = lip_height(unit), unit.threshold_height
    lows = [r for r in book.requirements("threshold.lip", shower) if r.low is not None and lip < r.low - 1e-9]
    highs = [r for r in book.requirements("threshold.rise", shower) if r.high is not None and rise > r.high + 1e-9]
    if not lows and not highs and lip > 0:
        return
    words = f"By its cut sheet the threshold of {unit.name} "
    words += f"stands {format_length(lip, denominator=32)} over its shower floor" if lip > 0 else "has no lip at all"
    words += f" and rises {format_length(rise, denominator=32)} over the finished floor. "
    words += "".join(f"The lip is asked to be {r.written} ({r.source}). " for r in lows)
    words += "".join(f"The rise may be {r.written} ({r.source}). " for r in highs)
    if not highs:
        words += "What holds the water in: a fall of the floor outside back to it, a drain outside, or another unit?"
    elif not lows and lip > 0:
        deeper = max(rise - r.high for r in highs if r.high is not None)
        words += f"Can it be sunk {format_length(deeper, denominator=32)} deeper, with its lip as it is?"
    else:
        words += "No depth of the recess gives both: which unit is ordered instead, or which limit is waived?"
    why = "The lip is moulded, and only the recess moves the rise: once the bed is poured neither can be changed."
    yield Question(words, "the designer, and the plumber for a drain outside", why)


def _dispute(rule: Rule) -> Question:
    requirement = rule.requirement
    return Question(
        text=f"Does this hold here: {requirement.what.lower()}, {requirement.written} ({requirement.source})? "
        f"What we have is in doubt: {requirement.disputed}.",
        to=requirement.decided_by,
        why=f"Until it is settled no floor can be shown to meet it. If it holds, list {requirement.id} under "
        "rules.confirmed.",
    )
