"""The survey of a pocket, adjusted: all measures at once, with their uncertainties, and the wrong one found and named.

adjust      measures to an `Adjusted`
Adjusted    the pocket as it is believed, and what became of each measure
sift        only the search for wrong measures, a `Sifted`
Residual, Blunder, Refused

Wall faces are what the measures say, and between them what framing is: planes out of plumb and out of square, with
studs that stand out of the plane by little. How little is common practice, no source, unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from drainward.job.model import Measure, UnitModel, What
from drainward.pocket.ask import Asked, next_measure
from drainward.pocket.equations import NETWORK, Network
from drainward.pocket.faces import Point
from drainward.pocket.network import Fit, critical_value, snoop
from drainward.pocket.shape import Pocket, Wall
from drainward.quantity import INCH

__all__ = ["Adjusted", "Blunder", "Refused", "Residual", "Sifted", "adjust", "sift"]

ON_CENTRE = 16 * INCH
"""Studs stand so where nobody measured them: common practice, no source."""
_EDGE_STUD = 0.75 * INCH
"""Half of a 1-1/2 in stud: the first and the last stand in the corners."""
_FROM_END = 2 * INCH
_NEAR = 12 * INCH
_BEYOND = 6 * INCH
_MOST_WRONG = 3
"""No more than one measure in three is set aside: then it is the survey that is wrong, not a reading."""
_NO_SAY = 10.0
"""Standard uncertainty at which a measure of a pocket says nothing, m."""


@dataclass(frozen=True, slots=True)
class Residual:
    """How far a measure lies from what all together say: off, m; normalised, N(0, 1); redundancy 0 to 1.

    Where the redundancy is small nothing else checks the measure, and it would be believed whatever it says.
    """

    measure: Measure
    off: float
    normalised: float
    redundancy: float


@dataclass(frozen=True, slots=True)
class Blunder:
    """A measure that the others contradict; it was left out of the adjustment until somebody measures there again.

    expected, u : what those that were kept let expect, m;  off : how far it is from that
    normalised : off over its standard uncertainty, the measure's own with it
    rivals : measures that may as well be the wrong one, left out with it: nothing tells which
    """

    measure: Measure
    expected: float
    u: float
    off: float
    normalised: float
    rivals: tuple[Measure, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """A measure that cannot belong to this pocket, and why."""

    measure: Measure
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class Adjusted:
    """A surveyed pocket.

    sizes  : value and standard uncertainty, m, of each of `equations.SIZES` that was measured
    misfit : chi-square of the measures that were kept, with len(residuals) degrees of freedom
    asked  : the measure that would lessen the doubt most; None where it is settled
    """

    pocket: Pocket
    sizes: dict[What, tuple[float, float]]
    residuals: tuple[Residual, ...]
    blunders: tuple[Blunder, ...]
    refused: tuple[Refused, ...]
    misfit: float
    asked: Asked | None


@dataclass(frozen=True, slots=True, eq=False)
class Sifted:
    """The network of the measures that were kept, adjusted, and those that were not."""

    network: Network
    fit: Fit
    blunders: tuple[Blunder, ...]
    refused: tuple[Refused, ...]


def adjust(unit: UnitModel, measures: Iterable[Measure], risk: float = 0.05) -> Adjusted:
    """The pocket of a unit out of the measures of one room, in any order; none at all gives a nominal, unsure one.

    risk : that a good survey loses a measure as wrong.
    """
    sifted = sift(unit, measures, risk)
    fit, pocket = sifted.fit, sifted.network.pocket(sifted.fit)
    left_out = [measure for blunder in sifted.blunders for measure in (blunder.measure, *blunder.rivals)]
    return Adjusted(
        pocket=pocket,
        sizes=sifted.network.sizes(fit),
        residuals=tuple(
            Residual(measure, float(fit.residual[k]), float(fit.normalised[k]), float(fit.redundancy[k]))
            for k, measure in enumerate(sifted.network.kept)
        ),
        blunders=sifted.blunders,
        refused=sifted.refused,
        misfit=fit.misfit,
        asked=next_measure(unit, pocket, left_out, risk=risk),
    )


def sift(unit: UnitModel, measures: Iterable[Measure], risk: float = 0.05) -> Sifted:
    """Adjust, set the worst measure aside, adjust again, until none contradicts the rest. Arguments as for `adjust`.

    One that the rest does not contradict after all is taken in again.
    """
    refused: list[Refused] = []
    good: list[Measure] = []
    for measure in measures:
        why = _astray(unit, measure)
        if why:
            refused.append(Refused(measure, why))
        else:
            good.append(measure)
    places = _touched(unit, good)
    kept = [measure for measure in good if measure.what in NETWORK]
    most = max(len(kept) // _MOST_WRONG, 1)
    wrong: list[tuple[Measure, ...]] = []
    while True:
        network = Network(unit, kept, places)
        fit = network.fit()
        suspect = snoop(fit, risk)
        if suspect is None or sum(map(len, wrong)) >= most:
            break
        gone = (suspect.index, *suspect.rivals)
        wrong.append(tuple(kept[number] for number in gone))
        kept = [measure for number, measure in enumerate(kept) if number not in gone]
    blunders = [_blunder(unit, kept, measure, rivals) for measure, *rivals in wrong]
    # One that agrees once the truly wrong one is gone was only in its shadow.
    limit = critical_value(len(kept) + 1, risk)
    cleared = [blunder for blunder in blunders if not blunder.rivals and abs(blunder.normalised) <= limit]
    if cleared:
        network = Network(unit, [*kept, *(blunder.measure for blunder in cleared)], places)
        fit = network.fit()
    return Sifted(network, fit, tuple(blunder for blunder in blunders if blunder not in cleared), tuple(refused))


def _blunder(unit: UnitModel, kept: Sequence[Measure], measure: Measure, rivals: Sequence[Measure]) -> Blunder:
    """What those that were kept let expect: the measure beside them, so unsure that it moves nothing."""
    fit = Network(unit, [*kept, measure.model_copy(update={"u": _NO_SAY})], ()).fit()
    off = float(fit.residual[-1])
    u = float(np.sqrt(max(fit.u_blunder[-1] ** 2 - _NO_SAY**2, 0.0)))
    normalised = off / float(np.hypot(u, measure.u))
    return Blunder(measure, measure.value - off, u, off, normalised, tuple(rivals))


def _astray(unit: UnitModel, measure: Measure) -> str:
    """Why a measure lies outside the pocket; "" where it does not."""
    wide, deep = unit.outside_width + _BEYOND, unit.outside_depth + _BEYOND
    if measure.what is What.SLAB:
        return ""
    along_x = measure.value if measure.what is What.STUD and measure.wall == "back" else measure.x
    along_y = measure.value if measure.what is What.STUD and measure.wall != "back" else measure.y
    if along_x is not None and along_x > wide:
        return "lies beyond the right wall"
    if along_y is not None and along_y > deep:
        return "lies before the opening"
    return ""


def _touched(unit: UnitModel, measures: Sequence[Measure]) -> list[tuple[Point, int]]:
    """Places at which the flange may meet a stud, with the stud's number on its wall."""
    found: list[tuple[Point, int]] = []
    for wall in Wall:
        span = unit.outside_width if wall is Wall.BACK else unit.outside_depth
        seen = [m.value for m in measures if m.what is What.STUD and m.wall == wall.name.lower()]
        for number, at in enumerate(_studs(span, seen)):
            found += [(Point(wall, at, z), number) for z in _levels(unit, measures)]
    return found


def _studs(span: float, seen: Sequence[float]) -> list[float]:
    """Middles of the studs along a wall, m: as measured, and at 16 in on centre where none was measured near."""
    usual = [_EDGE_STUD, *np.arange(ON_CENTRE, span - ON_CENTRE / 3, ON_CENTRE).tolist(), span - _EDGE_STUD]
    studs: list[float] = []
    for at in sorted(seen):
        if not studs or at - studs[-1] > INCH:
            studs.append(at)
    return sorted((*studs, *(at for at in usual if all(abs(at - other) > _NEAR for other in studs))))


def _levels(unit: UnitModel, measures: Sequence[Measure]) -> tuple[float, ...]:
    """Heights near the flange's bottom, middle and top: those of the survey where it has some near."""
    surveyed = [m.z for m in measures if m.z is not None and m.what in (What.WIDTH, What.DEPTH, What.DIAGONAL)]
    usual = (_FROM_END, unit.outside_height / 2, unit.outside_height - _FROM_END)
    levels = {
        min((z for z in surveyed if abs(z - level) < _NEAR), key=lambda z: abs(z - level), default=level)
        for level in usual
    }
    return tuple(sorted(levels))
