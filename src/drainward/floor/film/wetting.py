"""What water keeps back by surface tension: it hangs on a sound floor, whatever the film equation says.

thickness     of a puddle on a level, by its contact angle
hang          what may hang on a floor of a given fall
notice        how likely a person is to see standing water
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from drainward.floor.film.fluid import Fluid
from drainward.floor.film.result import Hang

__all__ = ["hang", "notice", "thickness"]

Array = NDArray[np.float64]

_SEEN, _SPREAD, _MISSED = 1.0e-3, 0.4e-3, 0.02
"""Half of the people see water this deep, m; how that varies; who misses a puddle of any depth (no source)."""


def thickness(fluid: Fluid, angle: float) -> float:
    """Thickness of a wide puddle whose edge meets a level floor at `angle` (degrees), m: 2 l sin(angle / 2).

    Source: de Gennes, Brochard-Wyart and Quéré, Capillarity and Wetting Phenomena (2004), section 2.2.
    """
    return 2.0 * fluid.capillary_length * math.sin(math.radians(angle) / 2.0)


def hang(fluid: Fluid, angles: tuple[float, float], fall: float, dip: float, wetted: float, poured: float) -> Hang:
    """What may hang on a floor that falls by `fall` (ratio).

    angles : receding and advancing, degrees;  dip : depth from which a patch that stays counts, m
    wetted : area that was wet, m2;  poured : m3, which nothing that hangs can exceed
    On a fall S a strip stays where rho g S times its section is no more than tension (cos receding - cos advancing);
    with level-puddle thicknesses e at its upper and lower edge it is (e_adv - e_rec) / S long (the same balance).
    """
    least, most = (thickness(fluid, angle) for angle in angles)
    length = (most - least) / fall if fall > 0 else math.inf
    return Hang(least, most, length, fall, max(dip, most), (0.0, min(wetted * least, poured)))


def notice(depth: Array) -> Array:
    """Probability that somebody who looks over the floor sees water standing `depth` (m) deep (common practice)."""
    seen: Array = (1.0 - _MISSED) * ndtr((depth - _SEEN) / _SPREAD)
    return np.where(depth > 0.0, seen, 0.0)
