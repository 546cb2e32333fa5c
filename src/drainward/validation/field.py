"""The belief's Gaussian part, on point readings, against a general-purpose Gaussian process library.

One field size, one length, no local defects and no blunders: what is left is a Gaussian process with an unknown datum
and an unknown plane, which such a library conditions as well. Ours carries the field on a lattice and draws floors.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainward.finding import Certainty
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

Array = NDArray[np.float64]
WIDTH, DEPTH = 60 * INCH, 36 * INCH
LENGTH, SHORT, SIZE, TILT, U = 11 * INCH, 7 * INCH, 0.05 * INCH, 0.015, 0.016 * INCH
DATUM = 0.3
FLOORS = 20_000
PROBES = np.array([[20.0, 10.0], [41.0, 25.0]]) * INCH
"""Two places between readings; only the height of one over the other is free of the datum."""

_LIBRARY = "scikit-learn, GaussianProcessRegressor with Matérn 5/2, linear and constant kernels"


def _readings() -> tuple[Array, Array]:
    """Places (16, 2) and heights over an unknown datum (16,), m: made up, the same each time."""
    rng = np.random.default_rng(25)
    x, y = np.meshgrid(np.array([6.0, 22, 38, 54]) * INCH, np.array([5.0, 14, 22, 31]) * INCH)
    return np.stack([x.ravel(), y.ravel()], axis=1), 0.11 + rng.normal(0, 1.5 * SIZE, 16)


def _ours(length: float) -> Any:
    from drainward.floor.belief import believe
    from drainward.floor.belief.ways import Prior
    from drainward.floor.functionals import Functionals

    where, heights = _readings()
    n = len(where)
    weight = np.tile([1.0, 0.0, 0.0], (n, 1))
    x, y = (np.tile(where[:, k : k + 1], (1, 3)) for k in (0, 1))
    functionals = Functionals(x, y, weight, heights, np.full(n, U), np.zeros(n, dtype=np.intp))
    prior = Prior(
        lengths=(length,), length_odds=(1.0,), sizes=(SIZE,), size_odds=(1.0,), tilts=(TILT,), tilt_odds=(1.0,),
        datum=DATUM, defect_odds=0.0, blunder_odds=0.0,
    )  # fmt: skip
    return believe(WIDTH, DEPTH, np.zeros(n), functionals, prior=prior, particles=100)


@cache
def _drawn() -> Array:
    """Height of the second probe over the first, m, on FLOORS drawn floors."""
    floors = _ours(LENGTH).draw(FLOORS // 100, seed=1)
    heights = floors.at(PROBES[:, 0], PROBES[:, 1]).astype(np.float64)
    return np.asarray(heights[1] - heights[0])


def _theirs(length: float) -> Any:
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, DotProduct, Matern

    where, heights = _readings()
    kernel = (
        ConstantKernel(DATUM**2)
        + ConstantKernel(TILT**2) * DotProduct(0.0, "fixed")
        + ConstantKernel(SIZE**2) * Matern(length, nu=2.5)
    )
    return GaussianProcessRegressor(kernel, alpha=U**2, optimizer=None).fit(where - (WIDTH / 2, DEPTH / 2), heights)


def _mean_off() -> float:
    """Our mean less theirs, in standard deviations of theirs."""
    mean, sd = _their_difference()
    return float((_drawn().mean() - mean) / sd)


def _sd_ratio() -> float:
    return float(_drawn().std() / _their_difference()[1])


@cache
def _their_difference() -> tuple[float, float]:
    mean, covariance = _theirs(LENGTH).predict(PROBES - (WIDTH / 2, DEPTH / 2), return_cov=True)
    pick = np.array([-1.0, 1.0])
    return float(pick @ mean), float(np.sqrt(pick @ covariance @ pick))


def _evidence_off() -> float:
    """Log evidence of the longer over the shorter length: ours less theirs."""
    ours = _ours(LENGTH).ways.log_evidence[0] - _ours(SHORT).ways.log_evidence[0]
    theirs = _theirs(LENGTH).log_marginal_likelihood() - _theirs(SHORT).log_marginal_likelihood()
    return float(ours - theirs)


CHECKS: tuple[Check, ...] = (
    Check("field/mean", "expected height between two places: ours less the library's, in its standard deviations",
          _LIBRARY, Certainty.SEEN, 0.0, 0.03, "sd", _mean_off, needs="scikit-learn"),
    Check("field/sd", "its standard deviation over 20 000 drawn floors: ours over the library's",
          _LIBRARY, Certainty.SEEN, 1.0, 0.015, "", _sd_ratio, needs="scikit-learn"),
    Check("field/evidence", 'log evidence of length 11" over 7": ours less the library\'s',
          _LIBRARY, Certainty.SEEN, 0.0, 0.02, "", _evidence_off, needs="scikit-learn"),
)  # fmt: skip
