"""The survey of a pocket, adjusted: all measures at once, with their uncertainties, and the wrong one found and named.

adjust      measures to an `Adjusted`
Adjusted    the pocket as it is believed, and what became of each measure
sift        only the search for wrong measures, a `Sifted`
Residual, Blunder, Refused

Wall faces are what the measures say, and between them what framing is: planes out of plumb and out of square, with
studs that stand out of the plane by little. How little is common practice, no source, unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drainward.job.model import Measure, Size, UnitModel, What
from drainward.pocket.ask import Asked, next_measure
from drainward.pocket.equations import NETWORK, Network, Stud
from drainward.pocket.faces import FRAMED, Point
from drainward.pocket.limits import Limits
from drainward.pocket.receive import unsure
from drainward.pocket.shape import Pocket, Wall
from drainward.pocket.suspect import Doubt, doubtful, strange
from drainward.pocket.weighed import Weighed, weigh
from drainward.quantity import INCH

__all__ = ["Adjusted", "Blunder", "Refused", "Residual", "Sifted", "adjust", "sift"]

ON_CENTRE = 16 * INCH
"""Studs stand so where nobody measured them: common practice, no source."""
_EDGE_STUD = 0.75 * INCH
"""Half of a 1-1/2 in stud: the first and the last stand in the corners."""
_STRANGE = "It is far from what the unit needs, and nothing else checks it: measure it once more."
_FROM_END = 2 * INCH
_NEAR = 12 * INCH
_BEYOND = 6 * INCH


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
    """A measure that the others contradict; until somebody measures there again it counts as far as it may be right.

    expected, u : what the others let expect, m;  off : how far it is from that
    normalised : off over its standard uncertainty, the measure's own with it
    rivals : measures that may as well be the wrong one: nothing tells which
    stud   : that stands off its wall where the measure is right, and nothing tells whether; None where it is wrong
    """

    measure: Measure
    expected: float
    u: float
    off: float
    normalised: float
    rivals: tuple[Measure, ...]
    stud: Stud | None = None


@dataclass(frozen=True, slots=True)
class Refused:
    """A measure that cannot belong to this pocket, and why."""

    measure: Measure
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class Adjusted:
    """A surveyed pocket.

    sizes  : value and standard uncertainty, m, of each of `equations.SIZES` that was measured
    misfit : chi-square of the measures in the likeliest adjustment
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
    """All measures weighed, and what came of it.

    aside : indices into `weighed.network.kept` of the blunders and their rivals
    strange : measures that nothing checks, though they are far from what the unit needs
    """

    weighed: Weighed
    aside: frozenset[int]
    blunders: tuple[Blunder, ...]
    refused: tuple[Refused, ...]
    strange: tuple[Measure, ...]

    def pocket(self) -> Pocket:
        """As it is believed."""
        return self.weighed.pocket(self.aside)


def adjust(
    unit: UnitModel,
    measures: Iterable[Measure],
    risk: float = 0.05,
    limits: Limits | None = None,
    sizes: Mapping[Size, float] | None = None,
    samples: int = 1000,
    seed: int = 0,
) -> Adjusted:
    """The pocket of a unit out of the measures of one room, in any order; none at all gives a nominal, unsure one.

    risk : that a good survey loses a measure as wrong;  sizes : of the unit, as for `receive.unsure`
    limits, samples, seed : with which it is asked whether the unit goes in, as for `sampled.sampled`
    """
    sifted = sift(unit, measures, risk)
    pocket, fit = unsure(sifted.pocket(), sizes or {}), sifted.weighed.fit
    again = [(m, _why(blunder)) for blunder in sifted.blunders for m in (blunder.measure, *blunder.rivals)]
    again += [(m, _STRANGE) for m in sifted.strange]
    return Adjusted(
        pocket=pocket,
        sizes=sifted.weighed.sizes(sifted.aside),
        residuals=tuple(
            Residual(measure, float(fit.residual[k]), float(fit.normalised[k]), float(fit.redundancy[k]))
            for k, measure in enumerate(sifted.weighed.network.kept)
            if k not in sifted.aside
        ),
        blunders=sifted.blunders,
        refused=sifted.refused,
        misfit=fit.misfit,
        asked=next_measure(unit, pocket, again, limits, risk=risk, samples=samples, seed=seed),
    )


def _why(blunder: Blunder) -> str:
    if blunder.stud is None:
        return "It disagrees with the other measures: measure it once more."
    return f"It is wrong, or {blunder.stud} stands out of line: measure it once more."


def sift(unit: UnitModel, measures: Iterable[Measure], risk: float = 0.05) -> Sifted:
    """Weigh the measures and name the wrong ones. Arguments as for `adjust`."""
    refused: list[Refused] = []
    good: list[Measure] = []
    for measure in measures:
        why = _astray(unit, measure)
        if why:
            refused.append(Refused(measure, why))
        else:
            good.append(measure)
    network = Network(unit, [measure for measure in good if measure.what in NETWORK], _touched(unit, good))
    weighed = weigh(network)
    named = doubtful(weighed, risk)
    aside = frozenset(k for doubt in named for k in (doubt.measure, *doubt.rivals))
    return Sifted(
        weighed=weighed,
        aside=aside,
        blunders=tuple(_blunder(weighed, doubt) for doubt in named),
        refused=tuple(refused),
        strange=tuple(network.kept[k] for k in strange(weighed)),
    )


def _blunder(weighed: Weighed, doubt: Doubt) -> Blunder:
    """What the others let expect of a measure that may be wrong."""
    network, k = weighed.network, doubt.measure
    fit = network.fit(FRAMED[doubt.framed], sorted(doubt.causes))
    measure, off = network.kept[k], float(fit.blunder[k])
    u = float(np.sqrt(max(fit.u_blunder[k] ** 2 - network.noise(doubt.causes)[k], 0.0)))
    normalised = off / float(np.hypot(u, measure.u))
    rivals = tuple(network.kept[other] for other in doubt.rivals)
    return Blunder(measure, measure.value - off, u, off, normalised, rivals, doubt.stud)


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
