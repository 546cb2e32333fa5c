"""Readings that contradict the others: named, and settled only by reading there again.

contradictions   the readings that are more likely blunders than not, with what the others led to expect
unsettled        those that nobody has read again
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Finding, Verdict
from drainward.floor.belief import Belief
from drainward.floor.result import Ask, Rejected
from drainward.floor.shape import INCH
from drainward.floor.surface import Surfaces
from drainward.job.model import Reading, ReadingKind
from drainward.quantity import format_length, format_slope

__all__ = ["ask_again", "contradictions", "unsettled", "withheld"]

_SAME_PLACE = 1.5 * INCH


def contradictions(belief: Belief, used: tuple[Reading, ...], floors: Surfaces) -> tuple[Rejected, ...]:
    """Readings that the belief takes for blunders with more than even odds, each with the reason."""
    f, chance = belief.functionals, belief.blunder
    if not (chance > 0.5).any():
        return ()
    heights = floors.at(f.x.ravel(), f.y.ravel()).astype(np.float64).reshape(len(f), 3, -1)
    expected = f.apply(np.moveaxis(heights, 2, 0)).T
    told = []
    for i in np.flatnonzero(chance > 0.5):
        here = expected[i]
        others = np.flatnonzero((f.setup == f.setup[i]) & (f.setup >= 0) & (chance <= 0.5))
        if len(others):
            here = here + np.median(f.value[others, None] - expected[others], axis=0)
        lead = f"they lead to expect {_shown(used[i], here.mean())} ± {_shown(used[i], np.hypot(here.std(), f.u[i]))}"
        odds = "99% or more" if chance[i] > 0.99 else f"{chance[i]:.0%}"
        why = f"contradicts the other readings: {lead}, read was {_shown(used[i], f.value[i])}"
        told.append(Rejected(used[i].id, used[i].line, f"{why}; chance of a blunder {odds}: read it again"))
    return tuple(told)


def unsettled(belief: Belief, used: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """Contradicting readings with no good reading of the same kind at the same place.

    Until somebody reads there again, a blunder and a sharp local defect look alike.
    """
    f, bad = belief.functionals, belief.blunder > 0.5
    # A height that is alone in its set-up hangs on a datum of its own and tells nothing.
    company = np.array([((f.setup == setup) & ~bad).sum() > 1 or setup < 0 for setup in f.setup], dtype=bool)
    open_ones = []
    for i in np.flatnonzero(bad):
        near = np.array([_apart(used[i], other) < _SAME_PLACE for other in used]) & ~bad & company
        if not near.any():
            open_ones.append(used[i])
    return tuple(open_ones)


def _apart(a: Reading, b: Reading) -> float:
    """Greatest distance between the like ends of two readings of one kind, either way round; infinite otherwise, m."""
    if a.kind is not b.kind:
        return float("inf")
    first, second = _ends(a), _ends(b)
    return float(min(np.hypot(*(first - turned).T).max() for turned in (second, second[::-1])))


def _ends(reading: Reading) -> NDArray[np.float64]:
    x2 = reading.x if reading.x2 is None else reading.x2
    y2 = reading.y if reading.y2 is None else reading.y2
    return np.array([[reading.x, reading.y], [x2, y2]])


def withheld(readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    """A finding that holds the verdict open while a contradiction is unsettled; none where there is none."""
    if not readings:
        return ()
    names = ", ".join(f"line {r.line}" if r.line is not None else r.id for r in readings)
    return (
        Finding(
            id="readings.contradiction",
            what="Readings that contradict the others and were not read again",
            value=float(len(readings)),
            u=None,
            unit="1",
            limit="none",
            probability=None,
            verdict=Verdict.NOT_PROVEN,
            source="common practice, no source",
            advice=f"Read {names} again: a blunder and a sharp local defect look alike until then.",
        ),
    )


def ask_again(reading: Reading) -> Ask:
    """The same reading once more."""
    why = "this reading contradicts the others; read again, it tells a blunder from a sharp local defect"
    return Ask(str(reading.kind), reading.x, reading.y, reading.x2, reading.y2, reading.instrument, why)


def _shown(reading: Reading, value: float) -> str:
    return format_slope(value, "%") if reading.kind is ReadingKind.SLOPE else format_length(value, "mm")
