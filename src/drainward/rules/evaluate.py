"""The one evaluator: a value with its uncertainty against a requirement gives a Finding.

evaluate_normal        a value known as value ± u
evaluate_probability   a value whose probability of conforming was computed elsewhere (samples)
not_measured           a value that nobody measured

Decision rule: `finding.decide` (JCGM 106:2012, 8.3). A limit that is only remembered, or that sources dispute, never
decides: the finding says which way it leans and what to confirm.
"""

from __future__ import annotations

from drainward.finding import RISK, Certainty, Finding, Requirement, Verdict, conformance, decide
from drainward.rules.written import limit_words

__all__ = ["evaluate_normal", "evaluate_probability", "not_measured"]


def evaluate_normal(requirement: Requirement, value: float, u: float, risk: float = RISK, advice: str = "") -> Finding:
    """The finding for a value known as value ± u (normal), SI, u > 0.

    A size stated without minimum or maximum (low equal to high) can be shown to be off, by more than its allowance,
    but never to be right: that takes a tolerance, which the rule does not give.
    Raises ValueError when u is not positive. Source: JCGM 106:2012, 7.2 to 7.4.
    """
    low, high = requirement.low, requirement.high
    if low is None or low != high:
        return evaluate_probability(requirement, value, u, None, conformance(value, u, low, high), risk, advice)
    near = conformance(value, u, low - requirement.allowance, low + requirement.allowance)
    if near <= risk:
        return evaluate_probability(requirement, value, u, None, near, risk, advice)
    ask = (
        f"The rule states {requirement.written.removeprefix('exactly ')} and no tolerance, so no measurement proves "
        f"it: ask {requirement.decided_by} which tolerance is accepted and write it into the job as a rule that "
        f"replaces {requirement.id}."
    )
    return _finding(requirement, value, u, None, None, Verdict.NOT_PROVEN, _join(advice, ask))


def evaluate_probability(
    requirement: Requirement,
    value: float,
    u: float,
    interval: tuple[float, float] | None,
    probability: float,
    risk: float = RISK,
    advice: str = "",
) -> Finding:
    """The finding for a value whose probability of conforming is given.

    value, u, interval : SI, interval the 95 % band or None;  probability : 0 to 1
    Raises ValueError when the probability is not within 0 to 1.
    """
    if not 0.0 <= probability <= 1.0:
        raise ValueError(f"a probability lies within 0 to 1, got {probability!r}")
    leaning = decide(probability, Certainty.SEEN, risk)
    doubt = _doubt(requirement, leaning)
    verdict = Verdict.NOT_PROVEN if doubt else leaning
    sentences = [advice, doubt]
    if verdict is not Verdict.MEETS:
        sentences.extend(f"Exception to weigh: {text}" for text in requirement.exceptions)
    decides = not (doubt and leaning is Verdict.MEETS)
    return _finding(requirement, value, u, interval, probability, verdict, _join(*sentences), decides)


def not_measured(requirement: Requirement, ask: str) -> Finding:
    """The finding for a value that nobody measured; ask : how to measure it, in sentences."""
    return _finding(requirement, None, None, None, None, Verdict.NOT_PROVEN, ask)


def _doubt(requirement: Requirement, leaning: Verdict) -> str:
    """Why this limit never decides alone, which way it leans, and what settles it; empty where it may decide."""
    source = requirement.source
    if requirement.disputed:
        why = f"the limit is disputed ({requirement.disputed}): settle it with {requirement.decided_by}"
    elif source.certainty is Certainty.MEMORY:
        where = " ".join(part for part in (source.standard, source.edition) if part)
        why = f"the limit is only remembered: check section {source.section} of {where}"
    else:
        return ""
    leans = {
        Verdict.MEETS: "Against this limit alone it would meet, but ",
        Verdict.FAILS: "Against this limit alone it would fail, but ",
        Verdict.NOT_PROVEN: "Besides, ",
    }[leaning]
    return f"{leans}{why} and list {requirement.id} under rules.confirmed."


def _finding(
    requirement: Requirement,
    value: float | None,
    u: float | None,
    interval: tuple[float, float] | None,
    probability: float | None,
    verdict: Verdict,
    advice: str,
    decides: bool = True,
) -> Finding:
    return Finding(
        id=requirement.id,
        what=requirement.what,
        value=value,
        u=u,
        unit=requirement.unit,
        limit=limit_words(requirement),
        probability=probability,
        verdict=verdict,
        source=f"{requirement.source}, binds {requirement.binds}",
        advice=advice,
        interval=interval,
        decides=decides,
    )


def _join(*sentences: str) -> str:
    return " ".join(sentence.strip() for sentence in sentences if sentence.strip())
