"""What is found of a way in: whether it is wide enough, high enough, and whether the crew can lift the unit.

findings_of     these three
lack_words      what no change of doors mends: which walls lack how much
"""

from __future__ import annotations

import math

from drainward.finding import Certainty, Finding, Source, Verdict, conformance, decide
from drainward.quantity import INCH, format_length
from drainward.wayin.lift import lifting_words
from drainward.wayin.result import Carry, Change, Lifting
from drainward.wayin.steps import at_least, held_at

__all__ = ["HANDS", "findings_of", "lack_words"]

HANDS = 1.5 * INCH
"""Room for hands and gloves at either side of a unit that is carried, m; common practice, no source."""

_SHARED = 0.16  # of an index: hands 2 in farther out or in, shares that differ by a tenth; common practice, no source


def findings_of(
    best: Carry,
    most: float | None,
    changes: tuple[Change, ...],
    lacks: str,
    liftings: tuple[Lifting, ...],
    crew: int,
    u: float,
    risk: float,
) -> tuple[Finding, ...]:
    """most : no way is clearer, m, None where `best` is open;  lacks : the words of `lack_words`, or blank

    crew : how many lift;  u : standard uncertainty of a height in the plan, m
    """
    overhead = () if best.overhead is None else (_overhead(best, u, risk),)
    return _clearance(best, most, changes, lacks, risk), *overhead, _lift(liftings, crew, risk)


def lack_words(beyond: Carry) -> str:
    """What is said where even the doors at their widest open no way. beyond : the way that lacks least then, shut."""
    lack, touches, weights = -beyond.high, beyond.touches, beyond.weights
    if len(touches) == 1 or (len(touches) == 2 and min(weights) > 0.4):
        where = f"at {touches[0]}" if len(touches) == 1 else f"between {touches[0]} and {touches[1]}"
        return f"No change of doors opens a way: {where} it lacks at least {at_least(2 * lack)} of width."
    return (
        f"No change of doors opens a way: {held_at(beyond)} would each have to give way by at least {at_least(lack)}."
    )


def _clearance(best: Carry, most: float | None, changes: tuple[Change, ...], lacks: str, risk: float) -> Finding:
    """Of an open way what it keeps, of none what the clearest could keep, else the middle of what is not excluded."""
    high = best.high if most is None else most
    low = best.low if most is None else min(best.low, high)
    value = low if low > 0 else high if high <= 0 else (low + high) / 2
    half = (high - low) / 2 if low <= 0 < high else 0.0
    spread = math.hypot(best.u, half / math.sqrt(3))
    chance = conformance(value, spread, 0.0, None)
    verdict = Verdict.NOT_PROVEN if half else decide(chance, Certainty.COMPUTED, risk)
    says = "proved that the way keeps it" if low > 0 else "proved that no way keeps more, however the unit is carried"
    unsure = f"no way is proved, and none clearer than {format_length(high, 'mm')} is possible"
    return Finding(
        id="way-in/clearance",
        what=f"Clearance at either side at the tightest place of the way in, {best.how}",
        value=value,
        u=spread,
        unit="m",
        limit="more than 0",
        probability=chance,
        verdict=verdict,
        source=f"geometry of the plan: {unsure if half else says}",
        advice=_advice(best, high, changes, lacks, verdict),
    )


def _advice(best: Carry, high: float, changes: tuple[Change, ...], lacks: str, verdict: Verdict) -> str:
    if best.low > 0:
        carried = "wide enough for hands too" if best.low >= HANDS else "roll it on pipes: no room for hands beside it"
        again = "" if verdict is Verdict.MEETS else " Measure there again: the tape may be wrong by as much as is left."
        return f"Carry it {best.how}; tightest at {held_at(best)}; {carried}.{again}"
    if changes:
        what = changes[0].what
        carried = "" if changes[0].how == best.how else f", {changes[0].how}"
        return f"{what[0].upper()}{what[1:]}: then at least {at_least(changes[0].clearance)} is left{carried}."
    if lacks:
        return lacks
    if high <= 0:
        return f"It lacks at least {at_least(-high)} at either side, {best.how}, at {held_at(best)}."
    return (
        f"No way is proved; {best.how} comes nearest, at {held_at(best)}. Measure there again before anything is cut."
    )


def _overhead(best: Carry, u: float, risk: float) -> Finding:
    """The least room under heads of doors and ceilings, and where the diagonal of the tilt-up comes under one."""
    over = best.overhead
    assert over is not None
    chance = conformance(over.room, u, 0.0, None)
    verdict = decide(chance, Certainty.COMPUTED, risk)
    again = {
        Verdict.MEETS: "Nothing on the way is lower.",
        Verdict.NOT_PROVEN: "Measure that height, and the unit on its pipes, before it is brought there.",
        Verdict.FAILS: "It has to give way, or the unit does not stand up.",
    }[verdict]
    return Finding(
        id="way-in/overhead",
        what=f"Room over the unit on the way in, {best.how}",
        value=over.room,
        u=u,
        unit="m",
        limit="more than 0",
        probability=chance,
        verdict=verdict,
        source="geometry of the plan; a unit that is stood up comes as high as the diagonal sqrt(h^2 + d^2)",
        advice=f"Least under {over.what}. {again}",
    )


def _lift(liftings: tuple[Lifting, ...], crew: int, risk: float) -> Finding:
    """Of what cannot be done without: the unit is rolled, so it need not be carried clear of the floor."""
    hardest = max(liftings[:-1], key=lambda lifting: lifting.mass / lifting.limit)
    index = hardest.mass / crew / hardest.limit
    chance = conformance(index, _SHARED * index, None, 1.0)
    return Finding(
        id="way-in/lift",
        what=f"Lifting index of each of {crew} people who {hardest.what}",
        value=index,
        u=_SHARED * index,
        unit="1",
        limit="at most 1",
        probability=chance,
        verdict=decide(chance, Certainty.SECONDARY, risk),
        source=str(Source("NIOSH", "94-110", "1.3", Certainty.SECONDARY)),
        advice=f"At an index of 1 each {lifting_words(liftings)}. The equation is for one person alone: its index "
        "only compares shared loads.",
    )
