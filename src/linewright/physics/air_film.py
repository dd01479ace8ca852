"""How much heat does still air take from a face? Rising air and radiation together, as one coefficient.

The coefficient falls as a body cools, because the air rises more slowly; a mean over the cooling is a stated
simplification of whoever uses it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linewright.physics.inputs import KELVIN, Floats, Inputs
from linewright.physics.ranges import Range, warn_outside

STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m2 K4), CODATA 2018."""
GRAVITY = 9.80665
"""m/s2."""
RANGES = {
    "film": Range(-25.0, 277.0, "degC", "the fit of air properties to Incropera and DeWitt, table A.4,"),
    "rayleigh": Range(1e4, 1e13, "", "Churchill and Chu, 1975,"),
}
"""Ranges of the fits used here."""


def air_properties(temperature: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Conductivity, kinematic viscosity and Prandtl number of dry air at 101.325 kPa.

    Equation: Sutherland's law for viscosity and conductivity, density of an ideal gas, c_p = 1.006 kJ/(kg K).
    Takes:
        temperature [degC]: of the air.
    Gives: k [W/(m K)], nu [m2/s], Pr [1]. Raises ProblemsError.
    Range: -25 to 277 degC; warns RangeWarning outside.
    Source: White, Viscous Fluid Flow, tables 1-2 and 1-3 (from memory); within 2 % of Incropera and DeWitt, table A.4.

    >>> [f"{float(v):.3g}" for v in air_properties(26.85)]
    ['0.0262', '1.57e-05', '0.708']
    """
    inputs = Inputs()
    t = inputs.temperature("temperature", temperature)
    inputs.done()
    warn_outside("air", RANGES, film=t)
    kelvin = t + KELVIN
    viscosity = 1.716e-5 * (kelvin / 273.0) ** 1.5 * (273.0 + 111.0) / (kelvin + 111.0)
    conductivity = 0.0241 * (kelvin / 273.0) ** 1.5 * (273.0 + 194.0) / (kelvin + 194.0)
    density = 101325.0 / (287.055 * kelvin)
    return np.asarray(conductivity), np.asarray(viscosity / density), np.asarray(viscosity * 1006.0 / conductivity)


def still_air_transfer(face: ArrayLike, air: ArrayLike, height: ArrayLike, emissivity: ArrayLike = 0.9) -> Floats:
    """Heat transfer coefficient of an upright face in still air, radiation included.

    Equation: Nu = (0.825 + 0.387 Ra^(1/6) / (1 + (0.492 / Pr)^(9/16))^(8/27))^2;
        h = Nu k / H + e s (T_s^2 + T_a^2)(T_s + T_a).
    Takes:
        face [degC]: of the body.
        air [degC]: of air and walls around.
        height [m]: H, above 0.
        emissivity [1]: e, 0 to 1; 0.9 for wood, paint, plastics.
    Gives: h [W/(m2 K)]. Raises ProblemsError.
    Range: Ra 1e4 to 1e13, film -25 to 277 degC; warns RangeWarning outside.
    Source: Churchill and Chu, 1975, in Incropera and DeWitt, eq. 9.26.

    >>> 9 < float(still_air_transfer(60.0, 20.0, 1.22)) < 11
    True
    """
    inputs = Inputs()
    ts, ta = inputs.temperature("face", face), inputs.temperature("air", air)
    high = inputs.size("height", height, "m")
    e = inputs.share("emissivity", emissivity)
    inputs.done()
    k, nu, prandtl = air_properties((ts + ta) / 2)
    film = (ts + ta) / 2 + KELVIN
    rayleigh = GRAVITY * np.abs(ts - ta) / film * high**3 / nu**2 * prandtl
    if np.any(rayleigh > 0):
        warn_outside("still air", RANGES, rayleigh=np.where(rayleigh > 0, rayleigh, 1e6))
    nusselt = (0.825 + 0.387 * rayleigh ** (1 / 6) / (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    s, a = ts + KELVIN, ta + KELVIN
    return np.asarray(nusselt * k / high + e * STEFAN_BOLTZMANN * (s**2 + a**2) * (s + a))
