"""Water by its temperature: what the film equation and the puddles need of it.

Fluid   density, kinematic viscosity, surface tension
water   at a temperature
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["GRAVITY", "Fluid", "water"]

GRAVITY = 9.80665
"""Standard gravity, m/s2 (3rd CGPM, 1901)."""


@dataclass(frozen=True, slots=True)
class Fluid:
    """density : kg/m3; viscosity : kinematic, m2/s; tension : against air, N/m."""

    density: float
    viscosity: float
    tension: float

    @property
    def capillary_length(self) -> float:
        """sqrt(tension / (density g)), m: de Gennes, Brochard-Wyart and Quéré (2004), section 2.1."""
        return math.sqrt(self.tension / (self.density * GRAVITY))


def water(temperature: float) -> Fluid:
    """Ordinary water at 0.1 MPa, `temperature` in degC from 0 to 100.

    Raises ValueError outside. Density: Kell, J. Chem. Eng. Data 20 (1975) 97. Viscosity: Pátek et al., J. Phys. Chem.
    Ref. Data 38 (2009) 21, which fits IAPWS R12-08. Tension: IAPWS R1-76(2014). All three from memory, and checked
    against handbook values in `drainward.validation`.
    """
    if not 0.0 <= temperature <= 100.0:
        raise ValueError(f"water between 0 and 100 degC was expected, got {temperature!r}")
    t = temperature
    density = (
        999.83952 + t * (16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12))))
    ) / (1 + 16.879850e-3 * t)
    kelvin = t + 273.15
    warm = kelvin / 300.0
    dynamic = 1e-6 * (280.68 * warm**-1.9 + 511.45 * warm**-7.7 + 61.131 * warm**-19.6 + 0.45903 * warm**-40)
    below = 1.0 - kelvin / 647.096
    return Fluid(density, dynamic / density, 0.2358 * below**1.256 * (1 - 0.625 * below))
