"""Cure, braces and uplift against worked numbers and closed forms."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from drainward.bed.ridges import Notch, squeeze
from drainward.finding import Certainty
from drainward.hold.beam import bend, euler
from drainward.hold.cure import GAS, KELVIN, LAWS, REFERENCE, History, Law, age, when
from drainward.hold.uplift import buoyancy
from drainward.quantity import INCH
from drainward.validation.check import Check

__all__ = ["CHECKS"]

_HOUR, _DAY = 3600.0, 86400.0
_POUND_FORCE = 4.4482216152605
_C1074 = "ASTM C1074, the forms of section 6 (from memory), summed by hand"
_BEAMS = "Timoshenko, Strength of Materials, part 1, 3rd edition 1955, chapter 5 (from memory)"
_EULER = "Timoshenko and Gere, Theory of Elastic Stability, 2nd edition 1961, 2.1 (from memory)"

_TABLE = (
    (40, (342.0, 155.1, 163.8, 192.1, 217.2, 199.7)),
    (50, (152.0, 112.0, 123.2, 136.8, 148.2, 140.3)),
    (60, (97.7, 87.7, 93.7, 98.6, 102.6, 99.8)),
    (90, (47.2, 53.1, 43.7, 39.7, 36.9, 38.8)),
)
"""Hours that are worth 72 h at 70 °F, by °F, in the order of `LAWS`."""


def _hours(law: Law, fahrenheit: float) -> float:
    """Uncut by what a decision counts."""
    return (when(law, History((0.0,), ((fahrenheit - 32) / 1.8,)), 72 * _HOUR, counted=False) or math.inf) / _HOUR


def _swing() -> float:
    """Hours until 72 h at 70 °F, 40 kJ/mol, on days of 55 ± 10 °F read every five minutes."""
    at = np.arange(0.0, 8 * _DAY, 300.0)
    celsius = (55 + 10 * np.sin(2 * np.pi * at / _DAY) - 32) / 1.8
    law = Law("", q=40e3 / GAS)
    return (when(law, History(tuple(at.tolist()), tuple(celsius.tolist())), 72 * _HOUR) or math.inf) / _HOUR


def _degree_days() -> float:
    """Maturity of 28 days at 15 °C over a datum of −11 °C."""
    law = Law("", datum=-11.0)
    return age(law, History((0.0,), (15.0,)), 28 * _DAY, counted=False) / _DAY * (REFERENCE + 11.0)


def _ramp() -> float:
    """Hours at 70 °F of a ramp from 5 to 30 °C in 30 h, Q 5000 K."""
    return age(LAWS[5], History((0.0, 30 * _HOUR), (5.0, 30.0)), 30 * _HOUR, counted=False) / _HOUR


def _ramp_closed() -> float:
    """The same by the primitive T exp(-Q/T) - Q E1(Q/T)."""
    from scipy.special import exp1

    def primitive(kelvin: float) -> float:
        return kelvin * math.exp(-5000 / kelvin) - 5000 * float(exp1(5000 / kelvin))

    mean = (primitive(30 + KELVIN) - primitive(5 + KELVIN)) / 25
    return 30 * mean * math.exp(5000 / (REFERENCE + KELVIN))


_RIGID = 1e15
"""Stiffness of a support that does not give, N/m."""
_EI, _SPAN, _FORCE = 3000.0, 2.0, 500.0


def _simple() -> float:
    """Rise in the middle of a board held at its ends."""
    return float(bend([_SPAN / 2], [_FORCE], [0.0, _SPAN], _RIGID, _EI).moved[0])


def _overhang() -> float:
    """Rise of an overhanging end, a = 0.5 m."""
    return float(bend([_SPAN + 0.5], [_FORCE], [0.0, _SPAN], _RIGID, _EI).moved[0])


def _three() -> float:
    """What the middle one of three supports holds, with a force in the middle of each of two spans."""
    return float(bend([_SPAN / 2, 1.5 * _SPAN], [_FORCE] * 2, [0.0, _SPAN, 2 * _SPAN], _RIGID, _EI).held[1])


def _springs() -> float:
    """Rise in the middle of a board on two springs."""
    return float(bend([_SPAN / 2], [_FORCE], [0.0, _SPAN], 1e5, _EI).moved[0])


def _strip() -> float:
    """Mean pressure of the plug in a pressed ridge of half width 3/4 in, 1/2 in thick, 300 Pa, summed; Pa."""
    half, thick = 0.75 * INCH, 0.5 * INCH
    r = (np.arange(4000) + 0.5) / 4000 * half
    return float((2 * 300.0 * (half - r) / thick).mean())


def _ridge() -> float:
    return squeeze(0.5 * INCH, Notch(0.75 * INCH), (1.0, 1.0), (300.0, 300.0)).pressure[0]


def _floats(thick: float) -> float:
    """A floor of 60 by 36 in, immersed, in mortar of 131.85 lb/ft3; lbf."""
    density = 131.85 * 0.45359237 / (12 * INCH) ** 3
    return buoyancy(density, thick * INCH, 60 * 36 * INCH**2) / _POUND_FORCE


def _post() -> float:
    """A 2x4 of 1,200,000 psi, 94 in, hinged; lbf."""
    bending = 1.2e6 * 3.5 * 1.5**3 / 12 * _POUND_FORCE * INCH**2
    return euler(bending, 94 * INCH) / _POUND_FORCE


CHECKS: tuple[Check, ...] = (
    *(
        Check(f"hold/cure-{fahrenheit}-{k + 1}", f"72 h at 70 °F, kept at {fahrenheit} °F: {law.name}", _C1074,
              Certainty.MEMORY, hours, 0.06, "h", partial(_hours, law, fahrenheit))
        for fahrenheit, row in _TABLE for k, (law, hours) in enumerate(zip(LAWS, row, strict=True))
    ),
    Check("hold/degree-days", "28 d at 15 °C over a datum of −11 °C", "a worked question on maturity, public page",
          Certainty.SEEN, 728, 1e-6, "°C d", _degree_days),
    Check("hold/swing", "days of 55 ± 10 °F until 72 h at 70 °F, 40 kJ/mol: shorter than at 55 °F, 115.9 h",
          "the Arrhenius form, a sine summed by hand", Certainty.COMPUTED, 111.3, 0.05, "h", _swing),
    Check("hold/ramp", "a ramp from 5 to 30 °C in 30 h, Q 5000 K", "its primitive T exp(-Q/T) - Q E1(Q/T)",
          Certainty.COMPUTED, _ramp_closed(), 1e-6, "h", _ramp),
    Check("hold/beam-simple", "board held at its ends, force in the middle: P l³ / (48 EI)", _BEAMS, Certainty.MEMORY,
          _FORCE * _SPAN**3 / (48 * _EI), 1e-9, "m", _simple),
    Check("hold/beam-overhang", "force at an overhanging end: P a² (l + a) / (3 EI)", _BEAMS, Certainty.MEMORY,
          _FORCE * 0.25 * (_SPAN + 0.5) / (3 * _EI), 1e-9, "m", _overhang),
    Check("hold/beam-three", "two spans, a force in the middle of each: the middle support holds 11/8 P", _BEAMS,
          Certainty.MEMORY, 11 / 8 * _FORCE, 1e-4, "N", _three),
    Check("hold/beam-springs", "the simple board on springs: P l³ / (48 EI) + P / (2 k)", _BEAMS, Certainty.MEMORY,
          _FORCE * _SPAN**3 / (48 * _EI) + _FORCE / 2e5, 1e-9, "m", _springs),
    Check("hold/euler", "2x4 post, 94 in, hinged at both ends: pi² EI / l²", _EULER, Certainty.MEMORY,
          math.pi**2 * 1.2e6 * 0.984375 / 94**2, 1e-6, "lbf", _post),
    Check("hold/buoyancy", "floor of 60 by 36 in, 3/4 in deep in mortar of 0.0763 psi an inch",
          "Archimedes: 0.0763 × 0.75 × 2160", Certainty.COMPUTED, 123.6, 0.1, "lbf", partial(_floats, 0.75)),
    Check("hold/buoyancy-deep", "the same, 1-1/2 in deep", "Archimedes: 0.0763 × 1.5 × 2160", Certainty.COMPUTED, 247.2,
          0.2, "lbf", partial(_floats, 1.5)),
    Check("hold/ridge", "mean pressure over a pressed ridge, 300 Pa",
          "Bingham plug without slip: 2 tau (R - r) / h over a strip, summed", Certainty.COMPUTED, _strip(), 0.01, "Pa",
          _ridge),
)  # fmt: skip
