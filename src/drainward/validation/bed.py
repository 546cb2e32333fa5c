"""The bed against closed forms, absolute volumes and what the trade knows of an ordinary unit."""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from drainward.bed.batches import pot_life
from drainward.bed.bead import bead
from drainward.bed.buy import Need, Yield, learned, pooled, service_level
from drainward.bed.mix import bag_yield, mix
from drainward.bed.ridges import USUAL, Notch, squeeze, zones
from drainward.bed.slab import Spots
from drainward.bed.void import BoxOut, Underside, void
from drainward.finding import Certainty
from drainward.floor.shape import moulded
from drainward.job.materials import Adhesive, Mortar
from drainward.job.model import Drain, Flange, Floor, NamedHeight, UnitModel
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

Array = NDArray[np.float64]

_CUBIC_INCH, _CUBIC_FOOT = INCH**3, (12 * INCH) ** 3
_POUND, _QUART = 0.45359237, 231 * INCH**3 / 4
_WIDE, _DEEP = 60.0, 36.0
_DRAIN, _RIM, _BODY = (30.0, 18.0), 2.0, 4.25
_PANEL, _UNDER = 0.1875, 0.5
_FALL = 0.03
_BOX = 10.0 * 10.0 * 1.5
_SOLID = "solid geometry"
_ACI = "absolute volumes in the form of ACI 211.1 (edition not at hand)"


def _unit(floor: Floor) -> UnitModel:
    wide, deep = _WIDE * INCH, _DEEP * INCH
    return UnitModel(
        id="check", name="check", style="bedded", outside_width=wide + 0.1, outside_depth=deep + 0.1,
        outside_height=2.0, inside_width=wide, inside_depth=deep, threshold_height=0.01, mass=60.0,
        drain=Drain(x=_DRAIN[0] * INCH, y=_DRAIN[1] * INCH, radius=_RIM * INCH, body_diameter=_BODY * INCH,
                    body_depth=8 * INCH),
        floor=floor, flange=Flange(width=0.03, thickness=0.003), minimum_cure=86400.0,
    )  # fmt: skip


def _planes(rim: float) -> UnitModel:
    corners = ((0.0, 0.0), (_WIDE, 0.0), (_WIDE, _DEEP), (0.0, _DEEP))
    heights = tuple(NamedHeight(x=x * INCH, y=y * INCH, height=rim * INCH) for x, y in corners)
    return _unit(Floor(form="planes", thickness=_PANEL * INCH, heights=heights))


def _cone() -> UnitModel:
    return _unit(Floor(form="cone", thickness=_PANEL * INCH, fall=_FALL))


@cache
def _filled(unit: UnitModel, deep: float, tilt: float, under: float = _UNDER) -> float:
    """Volume over a plane slab that was read without error at twelve spots, in3."""
    gx, gy = np.meshgrid(np.array([4.0, 20, 40, 56]) * INCH, np.array([3.0, 10, 33]) * INCH)
    x, y = gx.ravel(), gy.ravel()
    sunk = -_PANEL - under
    value = sunk * INCH + tilt * (x - _DRAIN[0] * INCH)
    none = np.zeros(len(x), dtype=bool)
    spots = Spots(x, y, value, np.full(len(x), 1e-7), np.full(len(x), -1), none, 0.0, 1e-7)
    box = BoxOut(_DRAIN[0] * INCH, _DRAIN[1] * INCH, 10 * INCH, 10 * INCH, deep * INCH, (0.0, 0.0, 0.0), True)
    return void(unit, spots, box, Underside(0.0, u=0.0, u_level=0.0), samples=2).volume / _CUBIC_INCH


def _body(deep: float, under: float = _UNDER) -> float:
    """Of the drain's body, which stands in all of the void, in3."""
    return math.pi / 4 * _BODY**2 * (under + deep)


def _over_rectangle(a: float, b: float) -> float:
    """Integral of the distance from a corner over a rectangle a by b."""
    across = math.hypot(a, b)
    return a * b * across / 3 + (a**3 * math.asinh(b / a) + b**3 * math.asinh(a / b)) / 6


def _cone_solid() -> float:
    """Under a cone that begins at the drain's rim, over a level slab, in3."""
    r = 4 * _over_rectangle(_WIDE / 2, _DEEP / 2)
    return _WIDE * _DEEP * _UNDER + _FALL * (r - _RIM * _WIDE * _DEEP + math.pi * _RIM**3 / 3) - _body(0.0)


def _yield(pounds: float, quarts: float, density: float, air: float) -> float:
    bag = Mortar(bag_mass=pounds * _POUND, water_per_bag=quarts * _QUART, density=1000 * density, air=air)
    return bag_yield(bag).volume


@cache
def _least_fall() -> tuple[float, float]:
    """Mean thickness along the edges, in, and bags, for a floor that falls 1/4 in/ft all round, 1/8 in at its drain."""
    unit = _unit(Floor(form="cone", thickness=_PANEL * INCH, fall=1 / 48))
    along, down = np.linspace(0.0, _WIDE, 121) * INCH, np.linspace(0.0, _DEEP, 73) * INCH
    sides = [moulded(unit, along, np.full_like(along, y * INCH)) for y in (0.0, _DEEP)]
    ends = [moulded(unit, np.full_like(down, x * INCH), down) for x in (0.0, _WIDE)]
    edge = (_WIDE * np.mean(sides) + _DEEP * np.mean(ends)) / (_WIDE + _DEEP)
    volume = _filled(unit, 1.5, 0.0, 1 / 8) * _CUBIC_INCH
    return 1 / 8 + float(edge) / INCH, float(mix(volume, 0.05 * volume, Mortar()).whole)


def _box_left() -> float:
    """How far under its top the box-out of an ordinary bed is filled, in."""
    gx, gy = (part.ravel() * INCH for part in np.meshgrid([4.0, 20, 40, 56], [3.0, 10, 33]))
    spots = Spots(gx, gy, np.full(12, -0.3125 * INCH), np.full(12, 1e-5), np.full(12, -1), np.zeros(12, bool), 0.0, 0.0)
    box = BoxOut(_DRAIN[0] * INCH, _DRAIN[1] * INCH, 10 * INCH, 10 * INCH, 1.5 * INCH, (0.0, 0.0, 0.0), True)
    return 1.5 - zones(void(_planes(0.5), spots, box, Underside(0.0), samples=2))[0].top / INCH


@cache
def _ordinary() -> tuple[float, float]:
    """Bags and gallons of water for a floor 3/32 in over its slab at the drain and 5/8 in at its edges."""
    unit = _planes(5 / 8 - 3 / 32)
    volume = _filled(unit, 1.5, 0.0, 3 / 32) * _CUBIC_INCH
    mixed = mix(volume, 0.05 * volume, Mortar())
    return float(mixed.whole), mixed.whole * Mortar().water_per_bag / (4 * _QUART)


def _off(value: float, low: float, high: float) -> float:
    """How far a value lies outside a band; nought within it."""
    return max(low - value, value - high, 0.0)


def _two_hundred() -> float:
    return pooled([Need(str(k), 1.7, 0.15) for k in range(200)], 0.01, 0.99)


def _disc() -> float:
    """Force on a full bed whose floor is as large as a disc of 19 in, pressed to 5/8 in, 100 Pa; lbf."""
    side = math.sqrt(math.pi) * 19 * INCH
    return squeeze(0.625 * INCH, Notch(0.75 * INCH), (side, side), (100.0, 1000.0)).flat[0] / 4.4482216152605


def _plug() -> float:
    """The plug's pressure over that disc, summed in 2,000 rings; lbf."""
    reach, high = 19 * INCH, 0.625 * INCH
    r = (np.arange(2000) + 0.5) / 2000 * reach
    return float((2 * math.pi * r * 2 * 100.0 * (reach - r) / high).sum() * reach / 2000 / 4.4482216152605)


def _pot(fahrenheit: float) -> float:
    return pot_life(Mortar(), (fahrenheit - 32) / 1.8) / 60


_POT_LIVES = ((50, 114.0), (60, 82.2), (80, 44.3), (90, 33.1), (100, 25.0))

CHECKS: tuple[Check, ...] = (
    Check("bed/flat", "void of a level panel 1/2 in over a level slab", _SOLID, Certainty.COMPUTED,
          _WIDE * _DEEP * _UNDER - _body(0.0), 0.01, "in3", lambda: _filled(_planes(0.0), 0.0, 0.0)),
    Check("bed/tilted", "the same over a slab that tilts by 0.004 about the drain", _SOLID, Certainty.COMPUTED,
          _WIDE * _DEEP * _UNDER - _body(0.0), 0.05, "in3", lambda: _filled(_planes(0.0), 0.0, 0.004)),
    Check("bed/box-out", "the same with a box-out 10 by 10 by 1-1/2 in", f"{_SOLID}: a prism less the drain's body",
          Certainty.COMPUTED, _WIDE * _DEEP * _UNDER + _BOX - _body(1.5), 0.01, "in3",
          lambda: _filled(_planes(0.0), 1.5, 0.0)),
    Check("bed/pyramid", "panels that rise 1/2 in from the drain to a level rim", f"{_SOLID}: two thirds of the rise",
          Certainty.COMPUTED, _WIDE * _DEEP * (_UNDER + 2 / 3 * 0.5) - _body(0.0), 0.5, "in3",
          lambda: _filled(_planes(0.5), 0.0, 0.0)),
    Check("bed/cone", "a cone of 3 % from the drain's rim", f"{_SOLID}: the distance integrated over a rectangle",
          Certainty.COMPUTED, _cone_solid(), 0.5, "in3", lambda: _filled(_cone(), 0.0, 0.0)),
    Check("bed/yield", "50 lb of 2.75 with 5 qt of water, no air", _ACI, Certainty.MEMORY, 792.02, 0.01, "in3",
          lambda: _yield(50, 5, 2.75, 0.0) / _CUBIC_INCH),
    Check("bed/yield-air", "the same with 3 % air", _ACI, Certainty.MEMORY, 816.5, 0.1, "in3",
          lambda: _yield(50, 5, 2.75, 0.03) / _CUBIC_INCH),
    Check("bed/yield-80", "80 lb with 5.4 qt: how far off the trade's 0.60 to 0.75 ft3", "common practice, no source",
          Certainty.PRACTICE, 0, 0, "ft3", lambda: _off(_yield(80, 5.4, 2.75, 0.03) / _CUBIC_FOOT, 0.60, 0.75)),
    Check("bed/ordinary-bags", "bags of 50 lb that serve an ordinary unit: 1/16 to 1/8 in of mortar near the drain, "
          "1/2 to 3/4 in at the edges", "common practice, no source", Certainty.PRACTICE, 2, 0, "bags",
          lambda: _ordinary()[0]),
    Check("bed/ordinary-water", "water for them", "common practice, no source", Certainty.PRACTICE, 2.5, 1e-9, "gal",
          lambda: _ordinary()[1]),
    Check("bed/ordinary-edges", "how far the bed along the edges of a floor that falls 1/4 in/ft to its drain, 1/8 in "
          "there, lies off 1/2 to 3/4 in", "common practice, no source", Certainty.PRACTICE, 0, 0, "in",
          lambda: _off(_least_fall()[0], 0.5, 0.75)),
    Check("bed/ordinary-fall-bags", "bags of 50 lb for it", "common practice, no source", Certainty.PRACTICE, 2, 0,
          "bags", lambda: _least_fall()[1]),
    Check("bed/box-out-filled", "how far under its top a box-out is filled", "common practice, no source",
          Certainty.PRACTICE, 0.125, 1e-9, "in", _box_left),
    Check("bed/notches", "the usual comb", "common practice, no source", Certainty.PRACTICE, 0.75, 1e-12, "in",
          lambda: USUAL.size / INCH),
    Check("bed/bead-size", "how far the usual bead lies off 3/4 to 1 in", "common practice, no source",
          Certainty.PRACTICE, 0, 0, "in", lambda: _off(Adhesive().bead_diameter / INCH, 0.75, 1.0)),
    Check("bed/least", "least bed that a default mortar carries", "common practice, no source", Certainty.PRACTICE,
          1 / 16, 1e-12, "in", lambda: Mortar().thinnest / INCH),
    Check("bed/bead", "a round bead of 1 in, 60 in long, in tubes of 10.1 fl oz", f"{_SOLID}: a cylinder",
          Certainty.COMPUTED, 2.585, 0.0005, "tubes", lambda: bead(60 * INCH, Adhesive()).tubes),
    Check("bed/ridges", "3/4 in notches, pressed flat", f"{_SOLID}: ridges and gaps are equally wide",
          Certainty.COMPUTED, 0.375, 1e-12, "in", lambda: Notch(0.75 * INCH).collapsed / INCH),
    Check("bed/squeeze", "force that sinks a full bed of 19 in radius to 5/8 in, yield stress 100 Pa",
          "Bingham plug without slip: its pressure 2 tau (R - r) / h summed in rings", Certainty.COMPUTED,
          _plug(), 0.01, "lbf", _disc),
    Check("bed/pooled", "200 rooms, 1.7 ± 0.15 bags each, 1 % alike, 99 %: to first order",
          "n mu + z √(n sd² + (c n mu)²); the quotient's exact root lies 0.05 % over it", Certainty.COMPUTED, 349.32,
          0.25, "bags", _two_hundred),
    Check("bed/newsvendor", "certainty that costs least, 400 a bag short and 18 a bag over",
          "newsvendor, closed form cu / (cu + co)", Certainty.MEMORY, 0.957, 0.0005, "",
          partial(service_level, 400, 18)),
    Check("bed/newsvendor-dear", "the same, 1,800 a bag short", "newsvendor, closed form cu / (cu + co)",
          Certainty.MEMORY, 0.990, 0.0005, "", partial(service_level, 1800, 18)),
    Check("bed/learned", "one room took 1.1 of 1.0 ± 0.1 bags, yields known to 0.1: the factor",
          "conjugate normal: half way between both", Certainty.COMPUTED, 1.05, 1e-12, "",
          lambda: learned(Yield(1.0, 0.1), [1.1], [Need("", 1.0, 0.1)]).factor),
    *(
        Check(f"bed/pot-life-{fahrenheit}", f"pot life at {fahrenheit} °F, 60 min at 70 °F, 40 kJ/mol",
              "Arrhenius law in kelvin, computed by hand to 0.1 min", Certainty.COMPUTED, minutes, 0.06, "min",
              partial(_pot, fahrenheit))
        for fahrenheit, minutes in _POT_LIVES
    ),
)  # fmt: skip
