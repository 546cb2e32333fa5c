"""How far a floor sinks under its load, worst of all places, on each of some drawn beds.

Pressed, pressed   worst movement and strain of every drawn bed, bonded and able to lift off
panel_of           rigidities of a unit's floor

The load stands on a disc at every place of the floor (`greens`). Where the panel may lift off its bed it moves more, by
a factor found on a few of the beds (`contact`) and put between on the others. What a coarse mesh makes too stiff is
found on one bed by a finer one. A bed that the presses make unlikely gives way to one that they make likely.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array

from drainward.hold.carried import GRAVITY, Belief, Heard
from drainward.hold.contact import lifted
from drainward.hold.greens import Movements, movements
from drainward.hold.plate import (
    Panel,
    Plate,
    Points,
    at,
    bent,
    disc,
    factored,
    isotropic,
    laid,
    plate,
    points,
    surface_strain,
)
from drainward.job.model import UnitModel
from drainward.job.support import Support
from drainward.quantity import INCH

__all__ = ["Pressed", "panel_of", "pressed"]

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

_COARSE, _FINE = 2 * INCH, INCH
_LIFTED = (0.0, 0.25, 0.5, 0.75, 0.9, 1.0)
"""Ranks of the beds on which the panel is let lift off."""
_UNBONDED, _ROUGH = 1.3, 0.3
"""Of a bonded answer, beside a press of which nobody knows whether the panel stuck: its middle, and its doubt."""


@dataclass(frozen=True, slots=True, eq=False)
class Pressed:
    """movement, strain : (s,) the worst of each bed where the panel may lift off, m and a ratio
    bonded, bonded_strain : (s,) the same where it sticks
    x, y : (s,) where it moves most, m;  which : (s,) drawn beds of the belief, likely ones twice
    counted : how many beds' worth of evidence they are
    """

    movement: Array
    strain: Array
    bonded: Array
    bonded_strain: Array
    x: Array
    y: Array
    which: NDArray[np.intp]
    counted: float


def panel_of(unit: UnitModel) -> Panel:
    """Flexural rigidities of a unit's floor panel, orthotropic where its sheet tells two moduli.

    D_x = E_x t^3 / (12 (1 - nu_x nu_y)) with E_x nu_y = E_y nu_x, D_1 = nu_y D_x, and D_xy by Huber's
    G = sqrt(E_x E_y) / (2 (1 + sqrt(nu_x nu_y))). Source: Timoshenko and Woinowsky-Krieger 1959, articles 85 and 86
    (from memory).
    """
    given, thickness = unit.panel, unit.floor.thickness
    across = given.modulus_across or given.modulus
    if across == given.modulus:
        return isotropic(given.modulus, given.poisson, thickness)
    other = given.poisson * across / given.modulus
    shape = thickness**3 / (12 * (1 - given.poisson * other))
    middle = np.sqrt(given.modulus * across)
    twist = middle / (2 * (1 + np.sqrt(given.poisson * other))) * thickness**3 / 12
    return Panel(given.modulus * shape, across * shape, other * given.modulus * shape, float(twist), thickness)


def pressed(
    unit: UnitModel,
    found: Belief,
    told: Heard,
    support: Support,
    seed: int = 0,
    tell: Progress = lambda what, share: None,
) -> Pressed:
    """The load on the last draws of the belief; the panel's modulus is drawn with them."""
    rng = np.random.default_rng(seed + 1)
    floor = _Floor(unit, found, support, _COARSE)
    force, which = support.load * GRAVITY, found.last
    seen: list[Movements] = []
    odds = np.zeros(len(which))
    soft = np.exp(-rng.normal(scale=unit.panel.u_modulus / unit.panel.modulus, size=len(which)))
    for k, bed in enumerate(which):
        tell("pressing everywhere", 0.4 + 0.4 * k / len(which))
        on = floor.on(bed)
        seen.append(movements(on, support.disc / 2, strained=True))
        if len(told.px):
            odds[k] = _likely(on, told, support, soft[k]) - found.explained[bed]
    bonded = np.array([_peak(one.centre) for one in seen]) * force
    strains = np.array([one.strain.max() for one in seen if one.strain is not None]) * force
    order = np.argsort(bonded)
    some = sorted({int(order[round(rank * (len(order) - 1))]) for rank in _LIFTED}, key=lambda k: bonded[k])
    tell("letting the panel lift", 0.8)
    times = np.array([_lifts(floor, which[k], seen[k], support) for k in some])
    over = [np.interp(np.log(bonded), np.log(bonded[some]), times[:, column]) for column in (0, 1)]
    tell("on a finer mesh", 0.95)
    fine = _Floor(unit, found, support, _FINE)
    middle = int(order[round(0.75 * (len(order) - 1))])
    again = movements(fine.on(which[middle]), support.disc / 2, strained=True)
    finer = [max(_peak(again.centre) * force / bonded[middle], 1.0)]
    finer.append(max(float(again.strain.max()) * force / strains[middle], 1.0) if again.strain is not None else 1.0)
    weight = np.exp(odds - odds.max())
    weight /= weight.sum()
    kept = _resampled(weight, rng)
    bonded, strains = bonded * soft * finer[0], strains * soft * finer[1]
    worst = np.array([one.worst for one in seen])
    return Pressed(
        movement=(bonded * over[0])[kept], strain=(strains * over[1])[kept], bonded=bonded[kept],
        bonded_strain=strains[kept], x=worst[kept, 0], y=worst[kept, 1], which=which[kept],
        counted=float(1 / (weight**2).sum()),
    )  # fmt: skip


class _Floor:
    """The panel, meshed once, on one drawn bed after the other."""

    def __init__(self, unit: UnitModel, found: Belief, support: Support, step: float) -> None:
        self.bare = plate(panel_of(unit), unit.inside_width, unit.inside_depth, step)
        self.under: Points = points(self.bare)
        self.found, self.support = found, support

    def push(self, bed: int) -> Array:
        """(e, q) N/m of the bed's points; nought in its voids."""
        hollow = self.found.field_at(bed, self.under.x, self.under.y) > 0
        return np.where(hollow, 0.0, self.under.weight * self.support.bed)

    def on(self, bed: int) -> Plate:
        return laid(self.bare, self.under, self.push(bed))


def _peak(moved: Array) -> float:
    """The largest of values on a lattice, and what a parabola through its neighbours puts on top of it."""
    i, j = np.unravel_index(int(moved.argmax()), moved.shape)
    top = float(moved[i, j])
    for before, after in (
        (moved[i - 1 : i, j], moved[i + 1 : i + 2, j]),
        (moved[i, j - 1 : j], moved[i, j + 1 : j + 2]),
    ):
        if len(before) and len(after):
            low, high = float(before[0]), float(after[0])
            bend = 2 * float(moved[i, j]) - low - high
            top += (high - low) ** 2 / (8 * bend) if bend > 0 else 0.0
    return top


def _lifts(floor: _Floor, bed: int, seen: Movements, support: Support) -> tuple[float, float]:
    """How many times more the panel moves, and strains, at the worst place where it may lift off."""
    x, y = seen.worst
    push, force = floor.push(bed), support.load * GRAVITY
    load = force * disc(floor.bare, x, y, support.disc / 2)
    free, _ = lifted(floor.bare.matrix, floor.under, push, load)
    stuck = bent(laid(floor.bare, floor.under, push), load)
    middle = at(floor.bare, np.array([x]), np.array([y]))
    near = support.disc / 2 * np.linspace(-1, 1, 5)
    nx, ny = (grid.ravel() for grid in np.meshgrid(x + near, y + near))
    strain = [float(surface_strain(floor.bare, w, nx, ny).max()) for w in (free, stuck)]
    # where the bed is whole the panel cannot bend more by coming loose; rounding must not say so
    return max(float((middle @ free)[0] / (middle @ stuck)[0]), 1.0), max(strain[0] / strain[1], 1.0)


def _likely(on: Plate, told: Heard, support: Support, soft: float) -> float:
    """Log likelihood of the presses on one bed."""
    loads = np.stack([disc(on, x, y, support.heel / 2) for x, y in zip(told.px, told.py, strict=True)], axis=1)
    moved = np.asarray(factored(csc_array(on.matrix)).solve(loads))
    reads = at(on, told.px, told.py)
    sank = soft * _UNBONDED * told.force * np.einsum("ij,ji->i", reads.toarray(), moved)
    u = np.hypot(told.u, _ROUGH * sank)
    return float((-0.5 * ((told.sank - sank) / u) ** 2 - np.log(u)).sum())


def _resampled(weight: Array, rng: np.random.Generator) -> NDArray[np.intp]:
    """As many draws as there are weights, each about as often as it weighs: systematic resampling."""
    places = (rng.random() + np.arange(len(weight))) / len(weight)
    return np.minimum(np.searchsorted(np.cumsum(weight), places), len(weight) - 1)
