"""Where the bed carries the floor and where it is hollow, as far as taps and presses tell.

Heard, heard        the taps and presses of one floor that count
Belief, believe     drawn beds, each a field that is positive in the voids, and the chance of a void everywhere
NextTap, next_tap   the place whose tap tells most of what is open

What a bed may be: a smooth Gaussian field cut at a level, so that voids are blobs; its length (how wide they are) and
its level (how much of the bed is hollow) are drawn with it. A tap sounds hollow over a void, seldom over a bed; a
press moves as a clamped disc whose radius is how far the bed is away. Sampled by elliptical slices (I. Murray,
R. P. Adams and D. J. C. MacKay 2010) with Metropolis steps for length and level, many chains side by side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.stats import beta, norm

from drainward.hold.plate import isotropic
from drainward.job.model import Reading, ReadingKind, UnitModel
from drainward.job.support import Support
from drainward.quantity import INCH

__all__ = ["GRAVITY", "Belief", "Heard", "NextTap", "believe", "heard", "next_tap", "sinks"]

Array = NDArray[np.float64]

GRAVITY = 9.80665
_STEP = 2 * INCH
_LENGTHS = tuple(length * INCH for length in (2.0, 3.0, 4.5, 6.5, 9.5))
"""Correlation lengths that voids may have, each as likely: ours, no source."""
_HOLLOW = (1.0, 12.0)
"""Share of a bed that is hollow before anybody taps: a beta distribution, 8 % in the mean; ours, no source."""
_CHAINS, _TURNS, _SETTLE, _EVERY = 48, 400, 160, 20
_UNBONDED = 1.3
"""A panel that may or may not lift moves between once and 1.7 times as much as a bonded one over the same void."""
_ROUGH = 0.4
"""By which share a disc whose radius is how far the bed is away misses a void of another shape."""
_FAR = 14 * INCH
_CURED = ("cure", "water test", "handover")


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """tx, ty : (n,) places of taps, m;  hollow : (n,) whether they sounded so
    px, py : (m,) of presses, m;  sank, u : (m,) m;  force : (m,) N;  told : whether every press tells its weight
    cured : whether they were made on a cured bed
    """

    tx: Array
    ty: Array
    hollow: NDArray[np.bool_]
    px: Array
    py: Array
    sank: Array
    u: Array
    force: Array
    told: bool
    cured: bool

    @property
    def count(self) -> int:
        return len(self.tx) + len(self.px)


def heard(unit: UnitModel, readings: Sequence[Reading], support: Support) -> Heard:
    """Taps and presses on the floor; where some are of the cured bed, those alone."""
    on_floor = [
        reading
        for reading in readings
        if reading.kind in (ReadingKind.TAP, ReadingKind.PRESS)
        and 0 <= reading.x <= unit.inside_width
        and 0 <= reading.y <= unit.inside_depth
    ]
    cured = [reading for reading in on_floor if reading.stage in _CURED]
    mine = cured or on_floor
    taps = [reading for reading in mine if reading.kind is ReadingKind.TAP]
    presses = [reading for reading in mine if reading.kind is ReadingKind.PRESS]
    return Heard(
        tx=np.array([tap.x for tap in taps]),
        ty=np.array([tap.y for tap in taps]),
        hollow=np.array([tap.value < 0.5 for tap in taps], dtype=bool),
        px=np.array([press.x for press in presses]),
        py=np.array([press.y for press in presses]),
        sank=np.array([press.value for press in presses]),
        u=np.array([press.u for press in presses]),
        force=np.array([(press.weight or support.presser) * GRAVITY for press in presses]),
        told=all(press.weight is not None for press in presses),
        cured=bool(cured),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """x : (nx,), y : (ny,) nodes, m;  hollow : (nx, ny) chance of a void
    fields : (s, nx, ny) drawn, positive in voids;  share : (s,) of the floor that is carried, the drain's body apart
    last : indices of the draws that are one chain's last each: the least alike
    explained : (s,) log likelihood of the presses, as a disc has it
    """

    x: Array
    y: Array
    hollow: Array
    fields: Array
    share: Array
    last: NDArray[np.intp]
    explained: Array

    def field_at(self, k: int, x: Array, y: Array) -> Array:
        """Drawn field k at places x, y of one shape, m."""
        i, j = (x - self.x[0]) / (self.x[1] - self.x[0]), (y - self.y[0]) / (self.y[1] - self.y[0])
        return np.asarray(map_coordinates(self.fields[k], [i, j], order=1, mode="nearest"))


class _Watched:
    """Likelihood of what was heard, from the field where it tells of it: at taps, and all about presses."""

    def __init__(self, unit: UnitModel, found: Heard, support: Support, x: Array, y: Array) -> None:
        self.found, self.support = found, support
        gx, gy = (grid.ravel() for grid in np.meshgrid(x, y, indexing="ij"))
        away = np.hypot(gx - found.px[:, None], gy - found.py[:, None])
        near = min(int((away < _FAR).sum(axis=1).max(initial=0)), len(gx))
        order = np.argsort(away, axis=1)[:, :near]
        self.nodes = order.ravel()
        self.away = np.take_along_axis(away, order, axis=1)
        i, j = (found.tx - x[0]) / (x[1] - x[0]), (found.ty - y[0]) / (y[1] - y[0])
        self.corner = [np.clip(i.astype(int), 0, len(x) - 2), np.clip(j.astype(int), 0, len(y) - 2)]
        self.part = [i - self.corner[0], j - self.corner[1]]
        panel = unit.panel
        self.rigid = isotropic(panel.modulus, panel.poisson, unit.floor.thickness).along

    def seen(self, field: Array) -> Array:
        """(chains, watched) of fields (chains, nx, ny)."""
        (i, j), (a, b) = self.corner, self.part
        left = (1 - b) * field[:, i, j] + b * field[:, i, j + 1]
        right = (1 - b) * field[:, i + 1, j] + b * field[:, i + 1, j + 1]
        return np.concatenate([(1 - a) * left + a * right, field.reshape(len(field), -1)[:, self.nodes]], axis=1)

    def likely(self, seen: Array, level: Array) -> tuple[Array, Array]:
        """(chains,) log likelihood of all, and of the presses alone, for fields less `level` (chains,)."""
        over = seen > level[:, None]
        taps = len(self.found.tx)
        chance = np.where(over[:, :taps], self.support.heard, self.support.misheard)
        told = np.log(np.where(self.found.hollow, chance, 1 - chance)).sum(axis=1)
        pressed = np.zeros(len(seen))
        if len(self.found.px):
            sinks_by = self.sinks(over[:, taps:].reshape(len(seen), *self.away.shape))
            u = np.hypot(self.found.u, _ROUGH * sinks_by)
            pressed = (-0.5 * ((self.found.sank - sinks_by) / u) ** 2 - np.log(u)).sum(axis=1)
        return told + pressed, pressed

    def sinks(self, over: NDArray[np.bool_]) -> Array:
        """(chains, presses) m, by how far the nearest bed is away; over : (chains, presses, near)."""
        bed = ~over
        first = bed.argmax(axis=2)
        far = np.where(bed.any(axis=2), self.away[np.arange(len(self.away)), first], self.away[:, -1])
        # the nearest bed begins somewhere between its node and the one before
        radius = np.where(first == 0, 0.0, np.maximum(far - _STEP / 2, 0.0))
        heel = self.support.heel / 2
        flat = self.found.force / (8 * math.sqrt(self.rigid * self.support.bed))
        return np.asarray(flat + _UNBONDED * sinks(radius, heel, self.found.force, self.rigid))


def sinks(radius: Array, disc: float, force: Array | float, rigid: float) -> Array:
    """Movement at the middle of a clamped round plate of `radius` under a force on a disc of radius `disc`, m.

    force : N;  rigid : D, N m. Where the plate is smaller than the disc, the part of the force on it, evenly.
    Source: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. 1959, articles 17 and 19 (from
    memory).
    """
    a, c = np.maximum(radius, 1e-9), disc
    inside = a**4 / c**2
    outside = 4 * a**2 - 4 * c**2 * np.log(np.maximum(a / c, 1.0)) - 3 * c**2
    return np.asarray(force / (64 * math.pi * rigid) * np.where(a < c, inside, outside))


def believe(unit: UnitModel, found: Heard, support: Support, seed: int = 0) -> Belief:
    """Beds drawn as likely as what was heard makes them. Nothing heard leaves them as they may be untapped."""
    rng = np.random.default_rng(seed)
    x, y = (
        np.linspace(0, length, max(round(length / _STEP), 2) + 1) for length in (unit.inside_width, unit.inside_depth)
    )
    roots = [np.stack([_root(axis, length) for length in _LENGTHS]) for axis in (x, y)]
    watched = _Watched(unit, found, support, x, y)
    shape = (_CHAINS, len(x), len(y))

    def field_of(white: Array, which: NDArray[np.intp]) -> Array:
        return np.asarray(roots[0][which] @ white @ roots[1][which].transpose(0, 2, 1))

    white, which = rng.normal(size=shape), rng.integers(len(_LENGTHS), size=_CHAINS)
    share = rng.normal(size=_CHAINS)
    field = field_of(white, which)
    level = _level(share)
    told, pressed = watched.likely(watched.seen(field), level)
    kept: list[tuple[Array, Array]] = []
    for turn in range(_TURNS):
        other = rng.normal(size=shape)
        over = field_of(other, which)
        angle, told, pressed = _slice(watched, watched.seen(field), watched.seen(over), level, told, rng)
        cos, sin = np.cos(angle)[:, None, None], np.sin(angle)[:, None, None]
        white, field = cos * white + sin * other, cos * field + sin * over
        # half of the steps keep the length, or a level that fits is seldom tried beside it
        step = rng.integers(-1, 2, size=_CHAINS) * (rng.random(_CHAINS) < 0.5)
        to = which + step
        real = (to >= 0) & (to < len(_LENGTHS))
        to = np.where(real, to, which)
        to_share = share + rng.normal(scale=0.6, size=_CHAINS)
        to_field = field_of(white, to)
        to_told, to_pressed = watched.likely(watched.seen(to_field), _level(to_share))
        gain = to_told - told + (share**2 - to_share**2) / 2
        take = real & (np.log(rng.random(_CHAINS)) < gain)
        which, share = np.where(take, to, which), np.where(take, to_share, share)
        field = np.where(take[:, None, None], to_field, field)
        told, pressed, level = np.where(take, to_told, told), np.where(take, to_pressed, pressed), _level(share)
        if turn >= _SETTLE and (turn - _TURNS + 1) % _EVERY == 0:
            kept.append((field - level[:, None, None], pressed))
    fields = np.concatenate([part for part, _ in kept])
    explained = np.concatenate([part for _, part in kept])
    hollow = fields > 0
    counts = np.hypot(x[:, None] - unit.drain.x, y - unit.drain.y) > unit.drain.body_diameter / 2
    carried = 1 - hollow[:, counts].mean(axis=1)
    return Belief(x, y, hollow.mean(axis=0), fields, carried, np.arange(len(fields) - _CHAINS, len(fields)), explained)


def _root(axis: Array, length: float) -> Array:
    """A root of the squared-exponential covariance along an axis."""
    covariance = np.exp(-0.5 * ((axis[:, None] - axis) / length) ** 2)
    return np.asarray(np.linalg.cholesky(covariance + 1e-6 * np.eye(len(axis))))


def _level(share: Array) -> Array:
    """Over which level of the field a void lies, from a standard normal number that stands for the hollow share."""
    return np.asarray(norm.isf(beta.ppf(norm.cdf(share), *_HOLLOW)))


def _slice(
    watched: _Watched, here: Array, there: Array, level: Array, told: Array, rng: np.random.Generator
) -> tuple[Array, Array, Array]:
    """Angle of each chain's step on the ellipse through the field and a fresh one, and the likelihoods after it."""
    bar = told + np.log(rng.random(len(told)))
    angle = rng.uniform(0, 2 * math.pi, len(told))
    low, high = angle - 2 * math.pi, angle.copy()
    after, pressed = told.copy(), np.zeros(len(told))
    left = np.arange(len(told))
    while len(left):
        seen = np.cos(angle[left])[:, None] * here[left] + np.sin(angle[left])[:, None] * there[left]
        after[left], pressed[left] = watched.likely(seen, level[left])
        left = left[after[left] < bar[left]]
        # the field itself lies at nought, and is always good enough
        low[left] = np.where(angle[left] < 0, angle[left], low[left])
        high[left] = np.where(angle[left] >= 0, angle[left], high[left])
        angle[left] = rng.uniform(low[left], high[left])
    return angle, after, pressed


@dataclass(frozen=True, slots=True)
class NextTap:
    """Where to tap next, m, and the share of the doubt that it takes away, 0 to 1."""

    x: float
    y: float
    settles: float


def next_tap(found: Belief, which: NDArray[np.intp], conforms: NDArray[np.bool_], support: Support) -> NextTap | None:
    """The node whose tap tells most of whether the floor conforms: mutual information over drawn beds.

    which : (n,) the drawn beds that were judged;  conforms : (n,) how. None where all of them answer alike.
    """
    share = float(conforms.mean())
    if not 0 < share < 1:
        return None
    chance = np.where(found.fields[which] > 0, support.heard, support.misheard)
    ifs = [chance[conforms].mean(axis=0), chance[~conforms].mean(axis=0)]
    told = _bits(share * ifs[0] + (1 - share) * ifs[1]) - share * _bits(ifs[0]) - (1 - share) * _bits(ifs[1])
    i, j = np.unravel_index(int(told.argmax()), told.shape)
    return NextTap(float(found.x[i]), float(found.y[j]), float(told[i, j] / _bits(np.array(share))))


def _bits(p: Array) -> Array:
    return np.asarray(-p * np.log2(p) - (1 - p) * np.log2(1 - p))
