"""The adjustment of a survey against a published example, closed forms and the law that residuals follow."""

from __future__ import annotations

from functools import cache, partial

import numpy as np

from drainward.finding import Certainty
from drainward.job.model import Drain, Flange, Floor, Measure, UnitModel, What
from drainward.pocket.adjust import sift
from drainward.pocket.equations import Network
from drainward.pocket.faces import FRAMED
from drainward.pocket.network import Fit, critical_value, least_squares
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

_LEVELS = (
    "J. Mahun, open access surveying library, Least Squares Lite: chapter E Weights, 4. Example, level circuit, "
    "comparison of unweighted and weighted adjustment (printed to 0.001 ft; exact arithmetic differs by up to 0.0012); "
    "heights of the marks from the residuals printed in chapter B, 2"
)
# Of the unweighted adjustment the page prints a standard deviation of 0.028 ft; these lines give 0.029.
_MARKS = {"A": 806.52, "B": 818.32, "C": 820.12, "D": 824.04}
# From mark, to, difference in height (ft), set-ups of the instrument on the line.
_LINES = (
    *(("A", "Q", 8.91, 3), ("B", "Q", -2.92, 2), ("C", "Q", -4.67, 1), ("D", "Q", -8.66, 3)),
    *(("A", "R", -3.56, 3), ("C", "R", -17.12, 4), ("D", "R", -21.10, 2), ("Q", "R", -12.47, 3)),
)
_UNKNOWN = ("Q", "R")
_SMALL = 0.05


@cache
def _level_circuit(weighted: bool) -> Fit:
    """In ft; the weights are 12 over the set-ups; of Q and R hardly anything is known beforehand: within 100 ft."""
    jacobian, value, u = np.zeros((len(_LINES), 2)), np.zeros(len(_LINES)), np.ones(len(_LINES))
    for k, (start, end, rise, setups) in enumerate(_LINES):
        jacobian[k, _UNKNOWN.index(end)] = 1.0
        if start in _UNKNOWN:
            jacobian[k, _UNKNOWN.index(start)] = -1.0
        value[k] = rise + _MARKS.get(start, 0.0)
        u[k] = np.sqrt(setups / 12) if weighted else 1.0
    # So small against what is known beforehand that this weighs nothing.
    return least_squares(value, _SMALL * u, lambda x: (jacobian @ x, jacobian), np.full(2, 810.0), np.eye(2) * 100**2)


def _unit_weight(weighted: bool) -> float:
    """Standard deviation of unit weight: root of the weighted squares over measures less unknowns."""
    return float(np.sqrt(_level_circuit(weighted).misfit / (len(_LINES) - 2)) * _SMALL)


def _height(point: int, weighted: bool) -> float:
    return float(_level_circuit(weighted).mean[point])


def _unit() -> UnitModel:
    return UnitModel(
        id="u", name="u", style="bedded", outside_width=60 * INCH, outside_depth=36 * INCH, outside_height=80 * INCH,
        inside_width=58 * INCH, inside_depth=34 * INCH, threshold_height=0.0, mass=60.0,
        drain=Drain(x=29 * INCH, y=17 * INCH, radius=2 * INCH, body_diameter=0.1, body_depth=0.1),
        floor=Floor(form="cone", thickness=0.005, fall=0.02), flange=Flange(width=0.03, thickness=0.003),
        minimum_cure=86400.0,
    )  # fmt: skip


def _measure(what: What, inches: float, u: float, **place: float | str) -> Measure:
    where = {key: value * INCH if isinstance(value, float) else value for key, value in place.items()}
    return Measure(id=what, room="", what=what, value=inches * INCH, u=u * INCH, **where)


def _other_diagonal() -> float:
    """Expected from the other one, in: of a parallelogram d1^2 + d2^2 = 2 (a^2 + b^2)."""
    sides = [_measure(What.WIDTH, 60.0, 1e-4, y=y, z=0.0) for y in (0.0, 36.0)]
    sides += [_measure(What.DEPTH, 36.0, 1e-4, x=x, z=0.0) for x in (0.0, 60.0)]
    first = _measure(What.DIAGONAL, 70.2, 1e-4, wall="left", z=0.0)
    # Its own reading is so unsure that it takes no part.
    other = _measure(What.DIAGONAL, 69.0, 100.0, wall="right", z=0.0)
    fit = Network(_unit(), [*sides, first, other], []).fit(FRAMED[0])
    return float((other.value - fit.residual[-1]) / INCH)


@cache
def _residuals() -> tuple[float, float]:
    """Of 8,000 surveys without a wrong reading, drawn from what the adjustment believes: the mean misfit over its
    degrees of freedom, and the mean square of the normalised residuals."""
    unit, rng = _unit(), np.random.default_rng(20)
    places = [(y, z) for z in (2.0, 40.0, 78.0) for y in (2.0, 18.0, 34.0)]
    blank = [_measure(What.WIDTH, 60.0, 1 / 16, y=y, z=z) for y, z in places]
    blank += [_measure(What.DEPTH, 36.0, 1 / 32, x=x, z=z) for z in (2.0, 40.0, 78.0) for x in (2.0, 58.0)]
    network = Network(unit, blank, [])
    mean, covariance = network.unknowns.prior(FRAMED[0])
    jacobian = network.model(mean)[1]
    u = np.array([measure.u for measure in blank])
    spread = np.linalg.cholesky(jacobian @ covariance @ jacobian.T + np.diag(u**2))
    misfit, square = [], []
    for _ in range(8000):
        value = jacobian @ mean + spread @ rng.standard_normal(len(blank))
        fit = least_squares(value, u, network.model, mean, covariance)
        misfit.append(fit.misfit / len(blank))
        square.append(float(np.mean(fit.normalised**2)))
    return float(np.mean(misfit)), float(np.mean(square))


def _named_off() -> float:
    """One width an inch too long among nine: how far off the others say it is, in."""
    unit = _unit()
    places = [(y, z) for z in (2.0, 40.0, 78.0) for y in (2.0, 18.0, 34.0)]
    measures = [_measure(What.WIDTH, 61.0 if (y, z) == (18.0, 40.0) else 60.0, 1 / 32, y=y, z=z) for y, z in places]
    (blunder,) = sift(unit, measures).blunders
    return blunder.off / INCH


_PRINTED = 1.5e-3
"""One in the last digit, and what it was rounded from, ft."""
CHECKS: tuple[Check, ...] = (
    Check("survey/level-q", "level circuit, weighted: height of Q", _LEVELS, Certainty.SECONDARY,
          815.424, _PRINTED, "ft", partial(_height, 0, True)),
    Check("survey/level-r", "level circuit, weighted: height of R", _LEVELS, Certainty.SECONDARY,
          802.958, _PRINTED, "ft", partial(_height, 1, True)),
    Check("survey/level-unit", "level circuit, weighted: standard deviation of unit weight", _LEVELS,
          Certainty.SECONDARY, 0.067, 5e-4, "ft", partial(_unit_weight, True)),
    Check("survey/level-q-plain", "level circuit, unweighted: height of Q", _LEVELS, Certainty.SECONDARY,
          815.418, _PRINTED, "ft", partial(_height, 0, False)),
    Check("survey/level-r-plain", "level circuit, unweighted: height of R", _LEVELS, Certainty.SECONDARY,
          802.962, _PRINTED, "ft", partial(_height, 1, False)),
    Check("survey/diagonal", "parallelogram 60 x 36 in with one diagonal of 70.2 in: the other one",
          "plane geometry: the squares of both diagonals are together twice those of two sides", Certainty.COMPUTED,
          float(np.sqrt(2 * (60.0**2 + 36.0**2) - 70.2**2)), 2e-3, "in", _other_diagonal),
    Check("survey/critical", "normalised residual that one in a thousand exceeds",
          "normal distribution, two-sided 0.1 %: the critical value of data snooping in W. Baarda, A testing procedure "
          "for use in geodetic networks, 1968", Certainty.MEMORY, 3.29, 0.005, "", partial(critical_value, 1, 0.001)),
    Check("survey/misfit", "15 readings without a wrong one, 8,000 surveys: misfit over its degrees of freedom",
          "mean of the chi-square distribution", Certainty.COMPUTED, 1.0, 0.0125, "", lambda: _residuals()[0]),
    Check("survey/normalised", "the same surveys: mean square of the normalised residuals",
          "variance of the standard normal distribution", Certainty.COMPUTED, 1.0, 0.0125, "",
          lambda: _residuals()[1]),
    Check("survey/blunder", "nine widths of one pocket, one an inch too long: how far off it is said to be",
          "arithmetic: the other eight agree", Certainty.COMPUTED, 1.0, 0.01, "in", _named_off),
)  # fmt: skip
