"""The Finding: the one form in which every computation answers, and the rule by which it is decided.

Source, Requirement     what is asked, by whom, and how sure we are of the text
Finding                 the answer: value, uncertainty, probability that it conforms, verdict, advice
decide, conformance     the decision rule of JCGM 106:2012, 7 and 8
overall                 one verdict out of many
Answer, stage_json      a stage's answer for one room, and what the JSON of every one begins with
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist
from typing import Any, Protocol

__all__ = [
    "Answer",
    "Certainty",
    "Finding",
    "Requirement",
    "Source",
    "Verdict",
    "conformance",
    "decide",
    "overall",
    "stage_json",
]

RISK = 0.05
"""Accepted chance that a `meets` or a `fails` is wrong, unless the job says otherwise."""


class Verdict(StrEnum):
    MEETS = "meets"
    FAILS = "fails"
    NOT_PROVEN = "not proven"


class Certainty(StrEnum):
    """How sure we are of a rule's text."""

    SEEN = "seen"
    SECONDARY = "secondary"
    COMPUTED = "computed"
    MEMORY = "memory"
    PRACTICE = "common practice"
    LOCAL = "local"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a limit stands: a standard with its edition and section, and how that text reached us."""

    standard: str
    edition: str
    section: str
    certainty: Certainty
    seen_in: str = ""

    def __str__(self) -> str:
        if self.certainty is Certainty.PRACTICE:
            return "common practice, no source"
        name = " ".join(part for part in (self.standard, self.edition, self.section) if part)
        return f"{name} ({self.certainty})"


@dataclass(frozen=True, slots=True)
class Requirement:
    """A limit on one quantity.

    low, high : SI value or None for no limit on that side
    binds     : what the limit binds ("shower floor", "threshold", ...), in the words of the rule
    exceptions: sentences a person must weigh
    decided_by: who must decide when it is in doubt
    written   : the limit as the trade writes it, in words ("at least 1/4 in/ft")
    base      : length over which a slope or a gap is judged, m; None where the rule states none
    disputed  : why this limit never decides alone, though it was read ("retellings disagree: ..."); "" where it may
    allowance : for a size stated without minimum or maximum: how far off no trade tolerance would reach, SI
    """

    id: str
    what: str
    quantity: str
    low: float | None
    high: float | None
    unit: str
    source: Source
    binds: str = ""
    exceptions: tuple[str, ...] = ()
    decided_by: str = "the authority having jurisdiction"
    written: str = ""
    base: float | None = None
    disputed: str = ""
    allowance: float = 0.0


@dataclass(frozen=True, slots=True)
class Finding:
    """What was asked, the value with its standard uncertainty (SI), and what follows from it.

    interval : 95 % probability band of the value, SI; None where value ± 1.96 u serves. Where it stands, the belief is
               skewed: value is its middle and u its half-width over 1.96 (JCGM 101:2008, 7.7)
    limit    : the requirement in words, as a person reads it
    likely   : median of a skewed belief; None where value serves
    decides  : False where the limit is only remembered or disputed, yet would be met: it proves nothing, and holds
               nothing up; where it would not be met it keeps the verdict open
    """

    id: str
    what: str
    value: float | None
    u: float | None
    unit: str
    limit: str
    probability: float | None
    verdict: Verdict
    source: str
    advice: str
    interval: tuple[float, float] | None = None
    decides: bool = True
    likely: float | None = None

    def as_json(self) -> dict[str, Any]:
        """The stable JSON form; numbers that are not finite become null."""
        row = {name: _finite(getattr(self, name)) for name in _JSON_FIELDS}
        row["verdict"] = str(self.verdict)
        row["interval"] = None if self.interval is None else [_finite(end) for end in self.interval]
        row["likely"] = _finite(self.likely)
        row["decides"] = self.decides
        return row


_JSON_FIELDS = ("id", "what", "value", "u", "unit", "limit", "probability", "verdict", "source", "advice")


def _finite(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value


def conformance(value: float, u: float, low: float | None, high: float | None) -> float:
    """Probability that a quantity known as value ± u (normal) lies within [low, high].

    value, u, low, high: one unit, u > 0; None leaves that side open.
    Raises ValueError when u is not positive. Source: JCGM 106:2012, 7.2 to 7.4.
    """
    if not u > 0:
        raise ValueError(f"a standard uncertainty is positive, got {u!r}")
    belief = NormalDist(value, u)
    above_low = 1.0 if low is None else 1.0 - belief.cdf(low)
    above_high = 0.0 if high is None else 1.0 - belief.cdf(high)
    return max(0.0, above_low - above_high)


def decide(probability: float, certainty: Certainty = Certainty.SEEN, risk: float = RISK) -> Verdict:
    """The verdict at a stated risk; a limit only remembered never decides alone.

    probability: that the quantity conforms, 0 to 1. Source: JCGM 106:2012, 8.3 (guarded acceptance and rejection).
    """
    if certainty is Certainty.MEMORY:
        return Verdict.NOT_PROVEN
    if probability >= 1.0 - risk:
        return Verdict.MEETS
    if probability <= risk:
        return Verdict.FAILS
    return Verdict.NOT_PROVEN


def overall(verdicts: Iterable[Verdict]) -> Verdict:
    """One verdict out of many: any failure fails, any doubt leaves it open, none at all proves nothing."""
    kinds = set(verdicts)
    if Verdict.FAILS in kinds:
        return Verdict.FAILS
    if kinds == {Verdict.MEETS}:
        return Verdict.MEETS
    return Verdict.NOT_PROVEN


class Answer(Protocol):
    """What every stage answers of one room, whatever else."""

    @property
    def room(self) -> str: ...
    @property
    def stage(self) -> str: ...
    @property
    def verdict(self) -> Verdict: ...
    @property
    def findings(self) -> tuple[Finding, ...]: ...


def stage_json(answer: Answer) -> dict[str, Any]:
    """The keys with which the stable JSON of every stage begins (docs/json.md)."""
    return {
        "schema": 1,
        "room": answer.room,
        "stage": answer.stage,
        "verdict": str(answer.verdict),
        "findings": [finding.as_json() for finding in answer.findings],
    }
