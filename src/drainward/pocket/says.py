"""Whether the room takes the unit, in a sentence that follows from every finding that decides: `survey_says`."""

from __future__ import annotations

from collections.abc import Sequence

from drainward.finding import Finding, Verdict
from drainward.job.model import UnitModel
from drainward.pocket.adjust import Adjusted
from drainward.pocket.ask import place_words
from drainward.pocket.mend import mend_words
from drainward.pocket.place import Placement
from drainward.rules.room_check import Choice

__all__ = ["survey_says"]


def survey_says(
    verdict: Verdict,
    goes_in: Verdict,
    findings: Sequence[Finding],
    unit: UnitModel,
    adjusted: Adjusted,
    placed: Placement,
    units: Sequence[Choice],
) -> str:
    """Takes it, mend this first, wrong unit, or not known yet and what to measure.

    verdict, goes_in, findings : of the survey;  units : what each model of the job would do here
    """
    wrong = place_words(adjusted.blunders[0].measure) if adjusted.blunders else ""
    if verdict is Verdict.MEETS:
        return "The pocket takes the unit."
    if goes_in is Verdict.FAILS:
        again = f" Before that measure again what contradicts the others: {wrong}." if wrong else ""
        return f"{_keeps_out(unit, adjusted, placed, units)}.{again}"
    if verdict is Verdict.FAILS:
        return _fails(goes_in, findings, unit, units)
    if goes_in is Verdict.NOT_PROVEN:
        asked = adjusted.asked
        more = "" if asked is None else f" Measure next: {place_words(asked)}. {asked.why}"
        return f"Not known yet whether the pocket takes the unit.{more}"
    if wrong:
        return f"The pocket takes the unit, unless a measure that contradicts the others is right: {wrong}."
    open_ = _of(findings, Verdict.NOT_PROVEN)
    ask = f" {open_[0].advice}" if open_[0].value is None else ""
    return f"The unit goes into the pocket. Not known yet: {_names(open_, 1)}.{ask}"


def _keeps_out(unit: UnitModel, adjusted: Adjusted, placed: Placement, units: Sequence[Choice]) -> str:
    other = next((c.unit.name for c in units if c.fits is Verdict.MEETS and c.unit.id != unit.id), None)
    mend = mend_words(adjusted.pocket, placed)
    if not mend:
        return "The pocket does not take the unit"
    # Nobody moves a whole wall where another unit goes in as the wall stands.
    if other is not None and (placed.change is None or placed.change.what == "wall"):
        return f"Wrong unit for this pocket: {other} would go in. To keep this one: {mend}"
    return f"Mend this first: {mend}" if placed.change is not None else f"The pocket does not take the unit: {mend}"


def _fails(goes_in: Verdict, findings: Sequence[Finding], unit: UnitModel, units: Sequence[Choice]) -> str:
    """Something but the room for the unit fails: what to mend or to settle, or the model that meets what this fails."""
    failing = _of(findings, Verdict.FAILS)
    here = "The unit goes into the pocket" if goes_in is Verdict.MEETS else "Not known yet whether the unit goes in"
    ids = {finding.id for finding in failing}
    mine = next((choice for choice in units if choice.unit.id == unit.id), None)
    by_its_kind = mine is not None and ids <= {f.id for f in mine.against if f.verdict is Verdict.FAILS}
    other = next((c for c in units if c.fits is Verdict.MEETS and c.rules is not Verdict.FAILS), None)
    if by_its_kind and other is not None:
        return f"Wrong unit for this room: {other.unit.name} would do. Against this one: {_names(failing)}."
    first, rest = failing[0], failing[1:]
    advice = f" {first.advice}" if first.advice else ""
    more = f" Then: {_names(rest)}." if rest else ""
    # A size off its sheet is no fault that a crew can mend.
    verb = "Settle" if first.id.startswith("receive/") and first.unit == "m" else "Mend"
    return f"{here}. {verb} this first: {_lower(first.what)}.{advice}{more}"


def _of(findings: Sequence[Finding], verdict: Verdict) -> list[Finding]:
    return [finding for finding in findings if finding.decides and finding.verdict is verdict]


def _names(findings: Sequence[Finding], most: int = 2) -> str:
    names = list(dict.fromkeys(_lower(finding.what) for finding in findings))
    more = len(names) - most
    return "; ".join(names[:most]) + (f"; and {more} more" if more > 0 else "")


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]
