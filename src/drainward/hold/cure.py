"""How far a bed has cured: its equivalent age at 70 °F, by several laws, from temperatures in time.

LAWS, Law      Nurse–Saul with two datums, Arrhenius with three activation energies and one given Q
History        temperatures in time, straight between those that are known
age            equivalent age of a history at a time
when           and the time at which it is reached

Both forms are those of ASTM C1074, section 6 (from memory). They differ by a third in the cold, so all are computed and
the slowest counts. For a decision an hour warmer than 70 °F counts as one hour and no more (`counted`): heat may
speed the set of a mortar up, and still never shortens its cure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

__all__ = ["GAS", "KELVIN", "LAWS", "REFERENCE", "History", "Law", "age", "when"]

GAS = 8.314462618
"""Molar gas constant, J/(mol K), exact since 2019 (SI brochure, 9th edition)."""
KELVIN = 273.15
REFERENCE = (70 - 32) / 1.8
"""degC; the age is that of a bed kept at it."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_STEPS = 60

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Law:
    """Nurse–Saul where `datum`, degC, is given; else Arrhenius with `q`, the activation energy over R, K."""

    name: str
    datum: float | None = None
    q: float = 0.0

    def rate(self, celsius: Array) -> Array:
        """Equivalent hours in an hour at these temperatures, degC.

        (T - T0) / (Tr - T0), not under nought; or exp(-Q (1/T - 1/Tr)), in kelvin.
        """
        if self.datum is not None:
            return np.maximum(celsius - self.datum, 0.0) / (REFERENCE - self.datum)
        return np.exp(-self.q * (1 / (celsius + KELVIN) - 1 / (REFERENCE + KELVIN)))


LAWS: tuple[Law, ...] = (
    Law("Nurse–Saul from 0 °C", datum=0.0),
    Law("Nurse–Saul from −10 °C", datum=-10.0),
    Law("Arrhenius 33.5 kJ/mol", q=33.5e3 / GAS),
    Law("Arrhenius 40 kJ/mol", q=40e3 / GAS),
    Law("Arrhenius 45 kJ/mol", q=45e3 / GAS),
    Law("Arrhenius, Q = 5000 K", q=5000.0),
)


@dataclass(frozen=True, slots=True)
class History:
    """at : s from the placing of the bed, rising;  celsius : degC then. Straight between, level before and after.

    Raises ValueError for a history without a temperature, or whose times do not rise.
    """

    at: tuple[float, ...]
    celsius: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.at or len(self.at) != len(self.celsius):
            raise ValueError("a history has one temperature or more, each with its time")
        if any(b <= a for a, b in pairwise(self.at)):
            raise ValueError("the times of a history rise")

    def shifted(self, kelvin: float) -> History:
        """The same, warmer by so much."""
        return History(self.at, tuple(t + kelvin for t in self.celsius))

    def read(self, seconds: float) -> float:
        """Temperature at a time, degC."""
        return float(np.interp(seconds, self.at, self.celsius))


@dataclass(frozen=True, slots=True)
class _Piece:
    """A straight piece of a history in which no law has a corner."""

    start: float
    end: float
    warm: float
    slope: float


def age(law: Law, history: History, until: float, counted: bool = True) -> float:
    """Equivalent age at `until`, s, of a bed placed at nought, s at 70 °F.

    counted : an hour over 70 °F counts as one hour; False for the law as it stands
    Gauss's rule with 16 nodes over each straight piece: exact for Nurse–Saul, within 1e-12 for Arrhenius.
    """
    return sum(_over(law, piece, piece.end, counted) for piece in _pieces(law, history, until))


def when(law: Law, history: History, needed: float, counted: bool = True) -> float | None:
    """Time at which an equivalent age of `needed`, s at 70 °F, is reached, s; None where it never is."""
    last = max(history.at[-1], 0.0)
    left = needed
    for piece in _pieces(law, history, last):
        gained = _over(law, piece, piece.end, counted)
        if gained >= left:
            return _inside(law, piece, left, counted)
        left -= gained
    rate = _rate(law, np.array([history.celsius[-1]]), counted)[0]
    return last + left / float(rate) if rate > 0 else None


def _pieces(law: Law, history: History, until: float) -> Iterator[_Piece]:
    knots = [0.0, *(t for t in history.at if 0.0 < t < until), until]
    corners = [REFERENCE] if law.datum is None else [law.datum, REFERENCE]
    for start, end in pairwise(knots):
        if end <= start:
            continue
        warm, cool = history.read(start), history.read(end)
        slope = (cool - warm) / (end - start)
        shares = ((corner - warm) / (cool - warm) for corner in corners) if cool != warm else ()
        cuts = sorted({start, end, *(start + share * (end - start) for share in shares if 0.0 < share < 1.0)})
        for a, b in pairwise(cuts):
            yield _Piece(a, b, warm + slope * (a - start), slope)


def _over(law: Law, piece: _Piece, until: float, counted: bool) -> float:
    half = (until - piece.start) / 2
    warm = piece.warm + piece.slope * half * (1 + _NODES)
    return float(half * (_WEIGHTS @ _rate(law, warm, counted)))


def _rate(law: Law, celsius: Array, counted: bool) -> Array:
    return np.minimum(law.rate(celsius), 1.0) if counted else law.rate(celsius)


def _inside(law: Law, piece: _Piece, left: float, counted: bool) -> float:
    """The time within a piece at which it has brought `left`; halved until no float lies between."""
    low, high = piece.start, piece.end
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if math.isclose(low, high, rel_tol=0.0, abs_tol=1e-6):
            break
        low, high = (low, middle) if _over(law, piece, middle, counted) >= left else (middle, high)
    return high
