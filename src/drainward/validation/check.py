"""One outside check: what is compared, with which published value, how close it must come.

Check       the check
Outcome     what it came to
run_check   compute and compare, or say why it was skipped
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib.util import find_spec

from drainward.finding import Certainty

__all__ = ["Check", "Outcome", "run_check"]

_IMPORT_NAMES = {"scikit-learn": "sklearn", "scikit-image": "skimage", "numba": "numba", "vobject": "vobject"}


@dataclass(frozen=True, slots=True)
class Check:
    """A value of ours beside one that is not.

    source    : name, edition, section of what it is held against
    certainty : how the expected value reached us
    expected, tolerance : in `unit`; passes where |got - expected| <= tolerance
    compute   : our value, in `unit`
    needs     : a library that only the development extras bring, or ""
    """

    id: str
    what: str
    source: str
    certainty: Certainty
    expected: float
    tolerance: float
    unit: str
    compute: Callable[[], float]
    needs: str = ""

    @property
    def topic(self) -> str:
        return self.id.split("/")[0]


@dataclass(frozen=True, slots=True)
class Outcome:
    """`passed` is None where the check was skipped, and `reason` says why."""

    check: Check
    got: float | None
    passed: bool | None
    reason: str = ""


def run_check(check: Check) -> Outcome:
    """Run one check; it is skipped only for want of the library that it needs."""
    if check.needs and find_spec(_IMPORT_NAMES[check.needs]) is None:
        return Outcome(check, None, None, f"{check.needs} is not installed (it comes with the development extras)")
    got = check.compute()
    return Outcome(check, got, abs(got - check.expected) <= check.tolerance)
