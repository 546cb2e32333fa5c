"""What page, paper and terminal say: numbers as trade and SI, chances in words, and the sentence on top.

Headline, headline         the verdict of a draft in plain words, and what to do next
of_findings                the same of any findings
Shown, shown, found        a value with its uncertainty, in trade units and SI; what a finding found
band                       the 95 % band of a value, in trade units
chance                     a probability as so many in 100
place, reading_words       where, from the walls; how to hold the tool
tool_name, sentence        with which tool; words as a sentence
shim_words, mortar_words   how to mend while the bed is wet
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from drainward.finding import Finding, Verdict
from drainward.floor.result import Ask, Draft, Mortar, Shim
from drainward.job.model import Job
from drainward.quantity import INCH, format_duration, format_length, format_volume, parse_flow

__all__ = [
    "Headline",
    "Shown",
    "band",
    "chance",
    "found",
    "headline",
    "mortar_words",
    "of_findings",
    "place",
    "reading_words",
    "sentence",
    "shim_words",
    "shown",
    "tool_name",
]
_PSI = 6894.757293168361
UNKNOWN = "not known"
_GPM, _LITRES_A_MINUTE = parse_flow("1 gpm").value, parse_flow("1 L/min").value
A_DROP = 5e-7
"""Volumes under this are none, m3."""


@dataclass(frozen=True, slots=True)
class Headline:
    """The first thing that a person reads: what holds, and what to do next."""

    verdict: Verdict
    says: str
    todo: str


@dataclass(frozen=True, slots=True)
class Shown:
    """One value as written for the trade and in SI, each with its standard uncertainty; `si` may be empty."""

    trade: str
    si: str


def headline(draft: Draft) -> Headline:
    """The verdict of a draft in plain words; never more than the findings say."""
    said = of_findings(draft.verdict, draft.findings)
    if draft.verdict is Verdict.FAILS and draft.mend is not None and draft.mend.says:
        return replace(said, todo=draft.mend.says)
    if draft.verdict is Verdict.NOT_PROVEN and draft.next_reading is not None:
        return replace(said, todo=f"Read next: {reading_words(draft.next_reading)}.")
    return said


def of_findings(verdict: Verdict, findings: Sequence[Finding]) -> Headline:
    """The verdict over some findings, with the names of those that make it; to do is what the first of them advises."""
    deciding = [finding for finding in findings if finding.decides]
    if verdict is Verdict.MEETS:
        aside = len(findings) - len(deciding)
        says = f"Meets: {_count(deciding, 'finding')}, each within its limit."
        return Headline(verdict, says, f"Not counted: {_count_limits(aside)}." if aside else "")
    named = _of(deciding, verdict)
    word = str(verdict).capitalize()
    return Headline(verdict, f"{word}: {_names(named)}." if named else f"{word}: nothing was judged.", _advice(named))


def shown(value: float | None, u: float | None, unit: str) -> Shown:
    """A value ± its standard uncertainty.

    unit : "m", "m2", "m3", "m3/s", "s", "degC", "ratio" for a slope, "1" for a plain number; any other unit is shown as
           it stands.
    """
    if value is None or not math.isfinite(value):
        return Shown(UNKNOWN, "")
    write = _SHOWN.get(unit)
    return Shown(f"{value:.4g}{_give(u, 1, 3)} {unit}".strip(), "") if write is None else write(value, u)


def found(finding: Finding) -> Shown:
    """What was found: value ± u, or for a skewed belief its likeliest value, whose doubt the `band` tells."""
    if finding.likely is None:
        return shown(finding.value, finding.u, finding.unit)
    likely = shown(finding.likely, None, finding.unit)
    return Shown(f"likely {likely.trade}", likely.si)


def band(interval: tuple[float, float] | None, unit: str) -> str:
    """The 95 % band as `0.11 to 0.20 in/ft`; empty where there is none or an end is not finite. interval : SI."""
    if interval is None or not all(math.isfinite(end) for end in interval):
        return ""
    low, high = interval
    match unit:
        case "m":
            places = 3 if max(abs(low), abs(high)) < INCH / 32 else 2
            return f"{low / INCH:.{places}f} to {high / INCH:.{places}f} in"
        case "ratio":
            return f"{low * 12:.2f} to {high * 12:.2f} in/ft"
        case "m3":
            return f"{shown(low, None, unit).trade} to {format_volume(high)}" if high >= A_DROP else ""
        case "m3/s":
            return f"{low / _GPM:.2f} to {high / _GPM:.2f} gpm"
        case "s":
            return f"{format_duration(max(low, 0.0))} to {format_duration(max(high, 0.0))}"
        case "degC":
            return f"{low * 9 / 5 + 32:.0f} to {high * 9 / 5 + 32:.0f} °F"
    per, name = (100, "%") if unit == "share" else (1, unit)
    return f"{per * low:.3g} to {per * high:.3g} {name}".strip()


def chance(probability: float | None) -> str:
    """A probability as so many in 100, never rounded to certainty."""
    if probability is None or not math.isfinite(probability):
        return UNKNOWN
    if probability > 0.99:
        return "over 99 in 100"
    if probability < 0.01:
        return "under 1 in 100"
    return f"{round(probability * 100)} in 100"


def place(x: float, y: float) -> str:
    """A point of the plan (m) by tape from the left and the back wall, to 1/4 in."""
    return f"{format_length(x, 'in', 4)} from the left, {format_length(y, 'in', 4)} from the back"


def reading_words(ask: Ask) -> str:
    """How to take a reading: the tool, its ends, in the words of the trade."""
    first = place(ask.x, ask.y)
    if ask.x2 is None or ask.y2 is None:
        return f"the height of the spot {first}"
    second = place(ask.x2, ask.y2)
    match ask.kind:
        case "slope":
            return f"the slope, with the level laid from {first}, to {second}"
        case "wedge":
            return f"the gap under the level's free end, resting it {first}, free end {second}"
        case "chord":
            return f"the gap under the middle of a straightedge, laid from {first}, to {second}"
    return f"{ask.kind}, from {first}, to {second}"


def sentence(words: str) -> str:
    """The words with a capital and a full stop; nothing stays nothing."""
    return words[:1].upper() + words[1:].rstrip(". ") + "." if words else ""


def tool_name(job: Job, instrument: str) -> str:
    """The name of an instrument of the job; what stands there where the job lists none of that id."""
    tool = job.instruments.get(instrument)
    return instrument if tool is None else tool.name


def shim_words(shims: Sequence[Shim]) -> str:
    """The corner shims as `front right +2/16", back left -1/16"`; empty where no corner moves."""
    moves = [f'{shim.corner} {shim.sixteenths:+d}/16"' for shim in shims if shim.sixteenths]
    return ", ".join(moves)


def mortar_words(mortar: Mortar) -> str:
    """What to do with the bed at one place: how deep, how much, where."""
    depth = format_length(abs(mortar.depth), "in", 16)
    much = format_volume(abs(mortar.volume))
    return f"{mortar.do} up to {depth} ({much}) around {place(mortar.x, mortar.y)}"


def _length(value: float, u: float | None) -> Shown:
    tiny = 5e-4 * INCH <= abs(value) < INCH / 64
    if tiny and (u is None or u < INCH / 200):
        # No tape shows it, a gauge does: it must not be told as nothing give or take nothing.
        digits = 1 if u is None and abs(value) >= 1e-4 else 2
        return Shown(
            f"{value / INCH:.3f}{_give(u, 1 / INCH, 3)} in", f"{value * 1000:.{digits}f}{_give(u, 1000, 2)} mm"
        )
    # A tape reads small lengths to 1/32; nothing divides its uncertainty, so that stays decimal.
    written = format_length(value, "in", 32 if abs(value) < 2 * INCH else 16)
    give = _give(u, 1 / INCH, 2)
    return Shown(f"{written}{give} in" if give else written, f"{value * 1000:.1f}{_give(u, 1000, 1)} mm")


def _plain(value: float, u: float | None) -> Shown:
    if u is None and value == int(value):
        return Shown(f"{value:.0f}", "")
    return Shown(f"{value:.2f}{_give(u, 1, 2)}", "")


def _slope(value: float, u: float | None) -> Shown:
    return Shown(f"{_fixed(value * 12)}{_give(u, 12, 2)} in/ft", f"{_fixed(value * 100)}{_give(u, 100, 2)} %")


def _pressure(value: float, u: float | None) -> Shown:
    return Shown(f"{value / _PSI:.1f}{_give(u, 1 / _PSI, 1)} psi", f"{value / 1000:.1f}{_give(u, 1e-3, 1)} kPa")


def _share(value: float, u: float | None) -> Shown:
    return Shown(f"{100 * value:.3g}{_give(u, 100, 2)} %", "")


def _area(value: float, u: float | None) -> Shown:
    return Shown(f"{value / INCH**2:.0f}{_give(u, 1 / INCH**2, 0)} in²", f"{value * 1e4:.0f}{_give(u, 1e4, 0)} cm²")


def _volume(value: float, u: float | None) -> Shown:
    if abs(value) < A_DROP and u is None:
        return Shown("none", "")
    trade, si = format_volume(value), format_volume(value, "L")
    if u is None or not math.isfinite(u):
        return Shown(trade, si)
    return Shown(f"{trade} ± {format_volume(u)}", f"{si} ± {format_volume(u, 'L')}")


def _flow(value: float, u: float | None) -> Shown:
    return Shown(
        f"{_fixed(value / _GPM)}{_give(u, 1 / _GPM, 2)} gpm",
        f"{value / _LITRES_A_MINUTE:.1f}{_give(u, 1 / _LITRES_A_MINUTE, 1)} L/min",
    )


def _time(value: float, u: float | None) -> Shown:
    written, give = format_duration(max(value, 0.0)), _give(u, 1, 0)
    # An uncertainty of minutes or hours is written in them, as the time that it belongs to.
    scale, unit, digits = (3600, "h", 1) if (u or 0) >= 3600 else (60, "min", 0) if (u or 0) >= 120 else (1, "s", 0)
    if give and value >= 48 * 3600:
        return Shown(f"{value / 3600:.0f}{_give(u, 1 / 3600, 0 if u and u >= 3600 else 1)} h", "")
    told = f"{written}{_give(u, 1 / scale, digits)} {unit}" if give else written
    return Shown(told, f"{value:.0f}{give} s" if 60 <= value < 3600 else "")


def _heat(value: float, u: float | None) -> Shown:
    return Shown(f"{value * 9 / 5 + 32:.0f}{_give(u, 9 / 5, 0)} °F", f"{value:.1f}{_give(u, 1, 1)} °C")


_SHOWN: dict[str, Callable[[float, float | None], Shown]] = {
    "m": _length,
    "1": _plain,
    "ratio": _slope,
    "Pa": _pressure,
    "share": _share,
    "m2": _area,
    "m3": _volume,
    "m3/s": _flow,
    "s": _time,
    "degC": _heat,
}


def _of(findings: Sequence[Finding], verdict: Verdict) -> list[Finding]:
    return [finding for finding in findings if finding.verdict is verdict]


def _names(findings: Sequence[Finding]) -> str:
    names = [finding.what[:1].lower() + finding.what[1:] for finding in findings[:3]]
    more = len(findings) - len(names)
    return "; ".join(names) + (f"; and {more} more" if more else "")


def _advice(findings: Sequence[Finding]) -> str:
    return next((finding.advice for finding in findings if finding.advice), "")


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}" + ("" if len(things) == 1 else "s")


def _count_limits(number: int) -> str:
    return f"{number} limit{'' if number == 1 else 's'} only remembered or disputed, to be confirmed"


def _fixed(value: float) -> str:
    """Two decimals, with no sign before zero."""
    written = f"{value:.2f}"
    return written.removeprefix("-") if float(written) == 0.0 else written


def _give(u: float | None, factor: float, places: int) -> str:
    return "" if u is None or not math.isfinite(u) else f" ± {u * factor:.{places}f}"
