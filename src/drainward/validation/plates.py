"""The floor panel against tables of plates, a clamped disc in closed form and a plate on an elastic bed."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.special import j0, j1

from drainward.finding import Certainty
from drainward.hold.carried import sinks
from drainward.hold.plate import Edge, at, bent, disc, isotropic, plate, surface_strain
from drainward.hold.stay import may_stay, void_moves
from drainward.job.support import Support
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

Array = NDArray[np.float64]

_UNIT = isotropic(1.0, 0.3, (12 * (1 - 0.09)) ** (1 / 3))
_PSI = 4.4482216152605 / INCH**2
_LBF = 4.4482216152605
_FLOOR = isotropic(1e6 * _PSI, 0.3, 0.375 * INCH)
_TIMOSHENKO = "Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. 1959"


@cache
def _even(b: float, edge: Edge) -> float:
    """w D / (q a^4) at the middle of an a by b plate."""
    found = plate(_UNIT, 1.0, b, 1 / 16, None, edge)
    return float((at(found, np.array([0.5]), np.array([b / 2])) @ bent(found, found.even))[0])


@cache
def _point(b: float, edge: Edge) -> float:
    """w D / (P a^2) at the middle of an a by b plate."""
    found = plate(_UNIT, 1.0, b, 1 / 32, None, edge)
    middle = at(found, np.array([0.5]), np.array([b / 2]))
    return float((middle @ bent(found, middle.toarray()[0]))[0])


@cache
def _on_bed(void: float, stiffness: float) -> float:
    """Movement, in, at the middle of 300 lbf on a disc of 3 in, over a void of so many inches; bed in pci."""
    middle = 20 * INCH

    def bed(x: Array, y: Array) -> Array:
        inside = np.hypot(x - middle, y - middle) < void / 2 * INCH
        return np.where(inside, 0.0, stiffness * _PSI / INCH)

    found = plate(_FLOOR, 2 * middle, 2 * middle, INCH, bed)
    moved = bent(found, 300 * _LBF * disc(found, middle, middle, 1.5 * INCH))
    return float((at(found, np.array([middle]), np.array([middle])) @ moved)[0]) / INCH


def _hankel(stiffness: float) -> float:
    """The same without a void on an endless plate: a Hankel integral, in."""
    d, p = 1e6 * 0.375**3 / (12 * 0.91), 300 / (math.pi * 1.5**2)

    def part(s: float) -> float:
        return 1.5 * float(j1(1.5 * s)) * float(j0(0.0)) / (d * s**4 + stiffness)

    return p * float(quad(part, 0, 60, limit=2000)[0])


def _by_thickness(of: Callable[[float, Edge], float], b: float) -> float:
    """y E t^3 over the load and its length instead of w D: 12 (1 - nu^2) times as much."""
    return 12 * (1 - 0.09) * of(b, "simply supported")


def _rings(void: float, stiffness: float, bonded: bool = True) -> float:
    """The same as `_on_bed` by rings of Hermite elements, which share nothing with the plate's rectangles; in."""
    load = Support(load=300 * _LBF / 9.80665, bed=stiffness * _PSI / INCH)
    return void_moves(_FLOOR, load, void * INCH)[2 if bonded else 0] / INCH


def _strain(stiffness: float) -> float:
    """Strain, 1e-6, at the middle of 300 lbf on a disc of 3 in, on a bed of so many pci without a void."""
    middle, step = 10 * INCH, INCH / 4
    found = plate(_FLOOR, 2 * middle, 2 * middle, step, lambda x, y: np.full(np.shape(x), stiffness * _PSI / INCH))
    moved = bent(found, 300 * _LBF * disc(found, middle, middle, 1.5 * INCH))
    # curvature jumps from element to element, and is best at the middle of one
    near = np.array([middle + step / 2])
    return 1e6 * float(surface_strain(found, moved, near, near)[0])


def _stays(bonded: bool) -> float:
    limits = Support(load=300 * _LBF / 9.80665, bed=1e6 * _PSI / INCH)
    stay = may_stay(_FLOOR, limits)
    return (stay.bonded_movement if bonded else stay.movement) / INCH


CHECKS = (
    Check("plate/even", "simply supported square, even load: w D / (q a4)", f"{_TIMOSHENKO}, table 8", Certainty.MEMORY,
          0.00406, 0.000006, "", lambda: _even(1.0, "simply supported")),
    Check("plate/even-1.5", "the same, sides 1 to 1.5", f"{_TIMOSHENKO}, table 8", Certainty.MEMORY, 0.00772, 0.000006,
          "", lambda: _even(1.5, "simply supported")),
    Check("plate/even-2", "the same, sides 1 to 2", f"{_TIMOSHENKO}, table 8", Certainty.MEMORY, 0.01013, 0.000006, "",
          lambda: _even(2.0, "simply supported")),
    Check("plate/clamped", "clamped square, even load", f"{_TIMOSHENKO}, table 35", Certainty.MEMORY, 0.00126, 0.000008,
          "", lambda: _even(1.0, "clamped")),
    Check("plate/clamped-2", "clamped, sides 1 to 2", f"{_TIMOSHENKO}, table 35", Certainty.MEMORY, 0.00254, 0.00001,
          "", lambda: _even(2.0, "clamped")),
    Check("plate/point", "simply supported square, load at its middle: w D / (P a2)", f"{_TIMOSHENKO}, table 23",
          Certainty.MEMORY, 0.01160, 0.00001, "", lambda: _point(1.0, "simply supported")),
    Check("plate/point-clamped", "clamped square, load at its middle", f"{_TIMOSHENKO}, article 43", Certainty.MEMORY,
          0.00560, 0.00002, "", lambda: _point(1.0, "clamped")),
    Check("plate/roark", "the same, even load, nu 0.3: y E t3 / (q b4)", "Roark's Formulas for Stress and Strain, "
          "table 11.4 case 1a (edition not at hand)", Certainty.SECONDARY, 0.0444, 0.00015, "",
          lambda: 12 * (1 - 0.09) * _even(1.0, "simply supported")),
    Check("plate/bed", "endless plate on a bed of 1e3 pci, 300 lbf on a disc of 3 in: movement",
          "H. Hertz 1884, plate on a fluid: a Hankel integral", Certainty.COMPUTED, _hankel(1e3), 0.0000132, "in",
          lambda: _on_bed(0.0, 1e3)),
    Check("plate/void", "the same over a void of 10 in in a bed of 1e5 pci, panel and bed bonded",
          "an axisymmetric finite-element solution in one dimension", Certainty.COMPUTED, 0.03399, 0.00007, "in",
          lambda: _on_bed(10.0, 1e5)),
    *(
        Check(f"plate/roark-{b:g}", f"simply supported, even load, sides 1 to {b:g}: y E t3 / (q b4)",
              "Roark's Formulas for Stress and Strain, table 11.4 case 1a (edition not at hand); print is cut off",
              Certainty.SECONDARY, printed, 0.006 * printed, "", partial(_by_thickness, _even, b))
        for b, printed in ((1.2, 0.0616), (1.4, 0.0770), (1.6, 0.0906), (1.8, 0.1017), (2.0, 0.1110), (3.0, 0.1335))
    ),
    *(
        Check(f"plate/roark-load-{b:g}", f"simply supported, load at the middle, sides 1 to {b:g}: y E t3 / (W b2)",
              "Roark's Formulas for Stress and Strain, table 11.4 case 1b (edition not at hand); print is cut off",
              Certainty.SECONDARY, printed, 0.006 * printed, "", partial(_by_thickness, _point, b))
        for b, printed in ((1.0, 0.1267), (1.2, 0.1478), (1.6, 0.1715), (2.0, 0.1805))
    ),
    Check("plate/disc", "clamped round plate of 10 in, 300 lbf on a disc of 3 in",
          f"{_TIMOSHENKO}, article 19; one-dimensional finite elements", Certainty.COMPUTED, 0.116228, 0.000002, "in",
          lambda: float(sinks(np.array([10 * INCH]), 1.5 * INCH, 300 * _LBF, _FLOOR.along)[0]) / INCH),
    Check("plate/bed-strain", "endless plate on a bed of 1e3 pci, 300 lbf on a disc of 3 in: strain, 1e-6",
          "H. Hertz 1884, plate on a fluid: a Hankel integral", Certainty.COMPUTED, 644.11, 6.4, "",
          lambda: _strain(1e3)),
    *(
        Check(f"plate/rings-{stiff:.0e}", f"over a void of 10 in in a bed of {stiff:.0e} pci: rectangles against rings",
              "rings of Hermite elements, another mesh and another equation", Certainty.COMPUTED, _rings(10.0, stiff),
              0.002 * _rings(10.0, stiff), "in", partial(_on_bed, 10.0, stiff))
        for stiff in (1e4, 1e5, 1e6)
    ),
    Check("plate/lifts", "over a void of 10 in in a bed of 1e5 pci, the panel able to lift off it",
          "an axisymmetric finite-element solution in one dimension", Certainty.COMPUTED, 0.0580, 0.0006, "in",
          lambda: _rings(10.0, 1e5, bonded=False)),
    Check("plate/stays", "widest round void that moves 1/8 in, bonded, panel 3/8 in",
          "an axisymmetric finite-element solution in one dimension", Certainty.COMPUTED, 20.0, 0.1, "in",
          lambda: _stays(bonded=True)),
    Check("plate/stays-lifting", "the same, able to lift off",
          "an axisymmetric finite-element solution in one dimension", Certainty.COMPUTED, 14.4, 0.2, "in",
          lambda: _stays(bonded=False)),
)  # fmt: skip
