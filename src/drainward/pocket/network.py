"""Least-squares adjustment of a network of measures, as surveyors do it.

Fit, least_squares   the unknowns that agree best with all measures, and how far each measure is off
critical_value       from which normalised residual on a measure is wrong

What is known beforehand of the unknowns counts like measures (weak where little is known), so that any subset of
measures gives an answer. Notation: y = h(x) + error, error ~ N(0, diag(u2)), x ~ N(mean, covariance).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

__all__ = ["Fit", "critical_value", "least_squares"]

Array = NDArray[np.float64]
Model = Callable[[Array], tuple[Array, Array]]

_STEPS = 20
_STILL = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """p unknowns out of n measures.

    mean, covariance : (p,), (p, p) of the unknowns
    residual   : (n,) measured less adjusted
    normalised : (n,) residuals over their own standard deviation, N(0, 1) where no measure is wrong
    redundancy : (n,) share of an error of a measure that shows in its residual, 0 (nothing checks it) to 1
    blunder, u_blunder : (n,) how wrong a measure is if it alone is wrong, and how surely the others tell
    misfit     : sum of squares of residuals and of what was known beforehand, chi-square with n degrees of freedom
    """

    mean: Array
    covariance: Array
    residual: Array
    normalised: Array
    redundancy: Array
    blunder: Array
    u_blunder: Array
    misfit: float


def least_squares(value: Array, u: Array, model: Model, mean: Array, covariance: Array) -> Fit:
    """Adjust by Gauss-Newton steps, each the exact weighted least-squares solution of the linearised network.

    value, u : (n,) measured, and standard uncertainties;  model(x) : h (n,) and its Jacobian (n, p) at x (p,)
    mean, covariance : (p,), (p, p) of the unknowns beforehand
    Source: with S = J covariance J' + diag(u2) the residuals are diag(u2) S^-1 e, their covariance diag(u2) S^-1
    diag(u2); Baarda, A testing procedure for use in geodetic networks, 1968 (from memory).
    """
    x = mean
    for _ in range(_STEPS):
        h, jacobian = model(x)
        misclosure = value - h - jacobian @ (mean - x)
        spread = covariance @ jacobian.T
        inverse = np.linalg.inv(jacobian @ spread + np.diag(u**2))
        inverse = (inverse + inverse.T) / 2
        step = mean + spread @ (inverse @ misclosure) - x
        x = x + step
        if np.abs(step).max(initial=0.0) < _STILL:
            break
    weight = inverse @ misclosure
    own = np.sqrt(np.diag(inverse))
    # The sum of two squares stays positive where a difference would lose its digits: a datum is unsure by metres.
    gain = spread @ inverse
    left = np.eye(len(x)) - gain @ jacobian
    after = left @ covariance @ left.T + (gain * u**2) @ gain.T
    return Fit(
        mean=x,
        covariance=(after + after.T) / 2,
        residual=u**2 * weight,
        normalised=weight / own,
        redundancy=u**2 * own**2,
        blunder=weight / own**2,
        u_blunder=1 / own,
        misfit=float(misclosure @ weight),
    )


def critical_value(count: int, risk: float = 0.05) -> float:
    """The normalised residual that the largest of `count` exceeds with the chance `risk` though none is wrong.

    Two-sided, each tested at risk/count (Bonferroni), as in data snooping (Baarda 1968, from memory).
    """
    return NormalDist().inv_cdf(1 - risk / (2 * max(count, 1)))
