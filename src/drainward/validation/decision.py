"""The decision rule against the worked examples of JCGM 106.

The guide's text was not seen: inputs and answers are from memory, and agree with the formula.
"""

from __future__ import annotations

from collections.abc import Callable

from drainward.finding import Certainty, Verdict, conformance, decide
from drainward.validation.check import Check

__all__ = ["CHECKS"]


def _first(lower: float, upper: float, holds: Callable[[float], bool]) -> float:
    """The least value in [lower, upper] from which `holds` is true, by halving 60 times."""
    for _ in range(60):
        middle = (lower + upper) / 2
        lower, upper = (lower, middle) if holds(middle) else (middle, upper)
    return upper


def _stopped_from() -> float:
    """The speed, km/h, from which a driver is beyond a 100 km/h limit with 99.9 %, speed known to 2 %."""
    return _first(100, 120, lambda speed: conformance(speed, 0.02 * speed, None, 100) <= 0.001)


def _guard_band() -> float:
    """How far below an upper limit, in standard uncertainties, a value must lie to be accepted at 5 % risk."""
    return _first(0, 5, lambda k: decide(conformance(-k, 1, None, 0), risk=0.05) is Verdict.MEETS)


CHECKS: tuple[Check, ...] = (
    Check("decision/one-sided-upper", "at most -5.40 V, found -5.47 V ± 0.05 V", "JCGM 106, 2012, 7.3.3 example 1",
          Certainty.MEMORY, 0.92, 0.005, "", lambda: conformance(-5.47, 0.05, None, -5.40)),
    Check("decision/one-sided-lower", "at least 490 kPa, found 509.7 kPa ± 8.6 kPa", "JCGM 106, 2012, 7.3.3 example 2",
          Certainty.MEMORY, 0.99, 0.005, "", lambda: conformance(509.7, 8.6, 490, None)),
    Check("decision/two-sided", "12.5 to 16.3 mm²/s, found 13.6 ± 1.8 mm²/s", "JCGM 106, 2012, 7.4",
          Certainty.MEMORY, 0.66, 0.005, "", lambda: conformance(13.6, 1.8, 12.5, 16.3)),
    Check("decision/guarded-rejection", "100 km/h, 2 %, 99.9 %: stop from", "JCGM 106, 2012, 8.3.4",
          Certainty.MEMORY, 107, 0.5, "km/h", _stopped_from),
    Check("decision/guard-band", "guard band at 5 % risk, one-sided", "JCGM 106, 2012, 8.3.3 (1.65 u)",
          Certainty.MEMORY, 1.645, 0.0005, "u", _guard_band),
    Check("decision/coverage", "within 2 u on both sides", "JCGM 100, 2008, table G.1 (95.45 %)",
          Certainty.MEMORY, 95.45, 0.005, "%", lambda: 100 * conformance(0, 1, -2, 2)),
)  # fmt: skip
