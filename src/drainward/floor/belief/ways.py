"""The ways in which the smooth part of a floor may be sized, each with the readings' covariance factored.

Prior   sizes, lengths and odds of every part of a floor
Ways    the table of all choices of field length, field size and tilt
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from drainward.floor.belief.field import Lattice
from drainward.floor.functionals import Functionals
from drainward.quantity import INCH

__all__ = ["Prior", "Ways", "make_ways"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Prior:
    """What is thought of a just-set floor before any reading; lengths in m, slopes as ratios.

    Common practice, no source: broad sizes of set units, to be corrected by the readings. Each `*_odds` sums to 1.

    lengths, sizes : correlation length and standard deviation of the smooth field
    tilts, datum   : standard deviation of the plane's slopes and of a set-up's datum
    slots, defect_odds, blunder_odds : so many places for a local defect or a blunder, each taken with these odds
    heights, height_sds : classes of the height of a defect (normal in each class)
    blunders : standard deviations of a blunder, in standard uncertainties of its reading
    spacing : of the lattice that carries the field
    """

    lengths: tuple[float, ...] = (8 * INCH, 14 * INCH, 24 * INCH)
    length_odds: tuple[float, ...] = (0.25, 0.4, 0.35)
    sizes: tuple[float, ...] = (0.006 * INCH, 0.012 * INCH, 0.024 * INCH, 0.048 * INCH, 0.096 * INCH)
    size_odds: tuple[float, ...] = (0.1, 0.25, 0.35, 0.2, 0.1)
    tilts: tuple[float, ...] = (0.002, 0.015)
    tilt_odds: tuple[float, ...] = (0.6, 0.4)
    datum: float = 0.3
    slots: int = 3
    defect_odds: float = 0.36
    heights: tuple[float, ...] = (-0.18 * INCH, -0.09 * INCH, 0.09 * INCH, 0.18 * INCH)
    height_sds: tuple[float, ...] = (0.065 * INCH, 0.03 * INCH, 0.03 * INCH, 0.065 * INCH)
    height_odds: tuple[float, ...] = (0.22, 0.28, 0.28, 0.22)
    blunder_odds: float = 0.02
    blunders: tuple[float, ...] = (10.0, 30.0, 100.0, 600.0)
    spacing: float = 1.5 * INCH


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """w ways.

    length, size, tilt : (w,)
    log_evidence : (w,) log of prior odds times evidence of the readings, no defect
    root, whiten : (w, n, n) lower Cholesky factor of the readings' covariance, and its inverse
    misfit : (w, n) whitened readings less the moulded shape's
    """

    length: Array
    size: Array
    tilt: Array
    log_evidence: Array
    root: Array
    whiten: Array
    misfit: Array


def make_ways(prior: Prior, f: Functionals, nodes: Lattice, carried: Array, slopes: Array, misfit: Array) -> Ways:
    """Factor the covariance of n readings for every way.

    carried : (n, lattice) the readings of the lattice's field; slopes : (n, 2) of the planes x and y; misfit : (n,) m
    """
    same_setup = (f.setup[:, None] == f.setup) & (f.setup[:, None] >= 0)
    fixed = np.diag(f.u**2) + prior.datum**2 * same_setup
    tilted = slopes @ slopes.T
    smooth = np.stack([carried @ nodes.covariance(length) @ carried.T for length in prior.lengths])
    table = np.array(list(product(range(len(prior.lengths)), range(len(prior.sizes)), range(len(prior.tilts)))))
    which, sized, leaning = table.T
    size, tilt = np.array(prior.sizes)[sized], np.array(prior.tilts)[leaning]
    odds = np.array(prior.length_odds)[which] * np.array(prior.size_odds)[sized] * np.array(prior.tilt_odds)[leaning]
    covariance = fixed + size[:, None, None] ** 2 * smooth[which] + tilt[:, None, None] ** 2 * tilted
    root = np.linalg.cholesky(covariance)
    whiten = np.linalg.inv(root)
    white = whiten @ misfit
    log_evidence = np.log(odds) - 0.5 * (white**2).sum(1) - np.log(np.diagonal(root, axis1=1, axis2=2)).sum(1)
    return Ways(np.array(prior.lengths)[which], size, tilt, log_evidence, root, whiten, white)
