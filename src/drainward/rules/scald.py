"""How fast hot water burns skin: the caution beside every hottest temperature.

BURNS         temperature, °F -> time to a deep burn of an adult's skin, in words
scald_words   the caution at a temperature

Source: figures of the Consumer Product Safety Commission (childrensal.org, a retelling); they go back to A. R. Moritz
and F. C. Henriques, American Journal of Pathology 23 (1947) 695 (from memory). Retellings differ at 120 °F: 5 to 10
minutes. A caution only: no limit is taken from it.
"""

from __future__ import annotations

__all__ = ["BURNS", "scald_words"]

BURNS: dict[int, str] = {
    120: "5 to 10 minutes",
    125: "1-1/2 to 2 minutes",
    130: "about 30 seconds",
    135: "about 10 seconds",
    140: "less than 5 seconds",
    145: "less than 3 seconds",
    150: "1-1/2 seconds",
    155: "1 second",
}
"""At each temperature, °F, how long until an adult's skin is deeply burned."""

_SOONER = "children, old people and whoever cannot feel heat or step away burn sooner"


def scald_words(celsius: float) -> str:
    """How fast water of this temperature, °C, burns: at the hottest entry of the table that it reaches."""
    reached = [fahrenheit for fahrenheit in BURNS if (fahrenheit - 32) * 5 / 9 <= celsius + 1e-6]
    if not reached:
        return f"Below 120 °F (49 °C) a deep burn takes longer than 5 minutes; {_SOONER}."
    hottest = max(reached)
    return f"Water at {hottest} °F ({(hottest - 32) * 5 / 9:.0f} °C) burns skin deeply in {BURNS[hottest]}; {_SOONER}."
