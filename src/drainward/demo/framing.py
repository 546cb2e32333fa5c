"""Made-up true pockets, outside the family that the adjustment of a survey assumes: for the demo and for its benchmark.

TrueWall       a framed wall: where the face of each of its studs really stands
TruePocket     a hidden pocket: three walls, front line, core, slab
Framing        how well it was framed
true_pocket    a seeded one
studs_near     the studs of a wall by their places along it
exactly        the same as a `Pocket` without doubt, met at as many heights as asked
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainward.job.model import UnitModel
from drainward.pocket.faces import nominal
from drainward.pocket.heights import drain_under_threshold
from drainward.pocket.limits import Limits
from drainward.pocket.shape import Pocket, Wall
from drainward.quantity import INCH

__all__ = ["Framing", "TruePocket", "TrueWall", "exactly", "studs_near", "true_pocket"]

Array = NDArray[np.float64]

_PLATES = 97 * INCH
"""Between the plates, where the ends of a stud are nailed."""
_EDGE = 0.75 * INCH
_ON_CENTRE = 16 * INCH
_BED_AT_DRAIN = 3 / 32 * INCH
"""Mortar under the panel beside an ordinary unit's drain: 1/16 to 1/8 in (common practice, no source)."""
_CROOK_MOST = INCH / 4
"""Crook that the grading of an 8 ft stud lets pass (from memory)."""


@dataclass(frozen=True, slots=True)
class Framing:
    """How well a pocket was framed; m, standard deviations unless said otherwise.

    wider, deeper : over the unit's own width and depth, no deviation: what the framer was told
    width, depth : of what came of it;  line : of each end of the threshold's line
    lean, skew : of a wall's plane over its height of 80 in and its run of 36 in
    crook : of a stud half way up;  jog : farthest that its ends are nailed off the plates' line, evenly
    """

    wider: float = INCH / 2
    deeper: float = 3 / 8 * INCH
    width: float = INCH / 32
    depth: float = INCH / 32
    line: float = INCH / 32
    lean: float = INCH / 24
    skew: float = INCH / 24
    crook: float = INCH / 16
    jog: float = INCH / 32


@dataclass(frozen=True, slots=True)
class TrueWall:
    """stands, lean, skew : of its plane at the foot of its back or left end, m and ratios;  studs : middles along it

    crook, jog : of each stud, off the plane half way up and at its ends, m; all along x of a side wall, y of the back.
    """

    stands: float
    lean: float
    skew: float
    studs: tuple[float, ...]
    crook: tuple[float, ...]
    jog: tuple[float, ...]

    def face(self, along: float, z: float) -> float:
        """Where the nearest stud's face stands at a height, m."""
        k = min(range(len(self.studs)), key=lambda stud: abs(self.studs[stud] - along))
        bow = 4 * z * (_PLATES - z) / _PLATES**2
        return self.stands + self.lean * z + self.skew * along + self.jog[k] + self.crook[k] * bow


@dataclass(frozen=True, slots=True, eq=False)
class TruePocket:
    """A hidden pocket in the frame of `pocket.shape.Pocket`, m.

    walls : by `Wall`;  front : y of the threshold's line at the left and the right;  core : x, y, diameter
    recess : width, depth and how deep;  build_up : of the floor still to come outside
    board : lower edge and width of the blocking behind the bars
    sunk, tilt, wave : the recessed slab under the finished floor, its slopes along x and y, and its unevenness
    """

    unit: UnitModel
    walls: tuple[TrueWall, TrueWall, TrueWall]
    front: tuple[float, float]
    core: tuple[float, float, float]
    recess: tuple[float, float, float]
    build_up: float
    board: tuple[float, float]
    sunk: float
    tilt: tuple[float, float]
    wave: tuple[float, float, float]

    def line(self, x: float) -> float:
        """y of the threshold's line at x."""
        return self.front[0] + (self.front[1] - self.front[0]) * x / nominal(self.unit).width

    def slab(self, x: float, y: float) -> float:
        """Height of the bare slab over the finished floor outside."""
        if y > self.line(x):
            return -self.build_up
        size, turn, length = self.wave
        wave = size * np.cos((x * np.cos(turn) + y * np.sin(turn)) / length)
        return float(-self.sunk + self.tilt[0] * x + self.tilt[1] * y + wave)


def true_pocket(unit: UnitModel, rng: np.random.Generator, framing: Framing | None = None) -> TruePocket:
    """A pocket framed for the unit; its core is near the drain and its slab lies so that the bed is an ordinary one."""
    framing = framing or Framing()
    meant = nominal(unit)
    wide = meant.width + framing.wider + framing.width * rng.standard_normal()
    deep = meant.depth + framing.deeper + framing.depth * rng.standard_normal()
    ends = deep + framing.line * rng.standard_normal(2)
    core = np.array(meant.core) + np.array([framing.wider / 2, framing.deeper]) + INCH / 4 * rng.standard_normal(2)
    return TruePocket(
        unit=unit,
        walls=(
            _wall(rng, framing, 0.0, meant.depth, square=False),
            _wall(rng, framing, 0.0, wide, square=True),
            _wall(rng, framing, wide, meant.depth, square=False),
        ),
        front=(float(ends[0]), float(ends[1])),
        core=(float(core[0]), float(core[1]), 6 * INCH + INCH / 16 * float(rng.standard_normal())),
        recess=(10 * INCH, 10 * INCH, 1.5 * INCH),
        build_up=3 / 8 * INCH,
        board=(29.75 * INCH, 7.25 * INCH),
        sunk=_sunk(unit),
        tilt=(float(0.0005 * rng.standard_normal()), float(0.0005 * rng.standard_normal())),
        wave=(INCH / 64, float(rng.uniform(0, np.pi)), INCH * float(rng.uniform(8, 20))),
    )


def studs_near(span: float) -> list[float]:
    """Middles of studs 16 in on centre along a wall of that length, one in each corner, m."""
    return [_EDGE, *np.arange(_ON_CENTRE, span - _ON_CENTRE / 3, _ON_CENTRE).tolist(), span - _EDGE]


def _wall(rng: np.random.Generator, framing: Framing, stands: float, span: float, *, square: bool) -> TrueWall:
    lean, skew = framing.lean * rng.standard_normal() / (80 * INCH), framing.skew * rng.standard_normal() / (36 * INCH)
    places = studs_near(span)
    inner = [at + INCH / 8 * rng.standard_normal() for at in places[1:-1]]
    crook = np.clip(framing.crook * rng.standard_normal(len(places)), -_CROOK_MOST, _CROOK_MOST)
    jog = rng.uniform(-framing.jog, framing.jog, len(places))
    studs = (places[0], *inner, places[-1])
    return TrueWall(stands, lean, 0.0 if square else skew, studs, tuple(crook.tolist()), tuple(jog.tolist()))


def _sunk(unit: UnitModel) -> float:
    """How deep under the finished floor the slab is to lie: the unit at its asked height over an ordinary bed."""
    panel = drain_under_threshold(unit) - unit.threshold_height + unit.floor.thickness
    if unit.style != "bedded":
        return panel + Limits().base_most / 2
    return panel + _BED_AT_DRAIN


def exactly(true: TruePocket, heights: Sequence[float], spots: Sequence[tuple[float, float]] = ()) -> Pocket:
    """What a survey without error would make of it: every stud at each of the heights, m, and the slab at `spots`."""
    found = [
        (wall, at, z, true.walls[wall].face(at, z), number)
        for wall in Wall
        for number, at in enumerate(true.walls[wall].studs)
        for z in heights
    ]
    wall, at, z, off, stud = (np.array(column) for column in zip(*found, strict=True))
    x, y = np.array(spots, dtype=np.float64).reshape(-1, 2).T
    slab = np.array([true.slab(*spot) for spot in spots])
    core, front = np.array(true.core[:2]), np.array(true.front)
    mean = np.concatenate([off, core, [true.core[2] / 2], slab, front])
    return Pocket(
        wall.astype(np.intp), at, z, off, stud.astype(np.intp), core, true.core[2] / 2, x, y, slab, front, mean,
        np.zeros((len(mean), len(mean))),
    )  # fmt: skip
