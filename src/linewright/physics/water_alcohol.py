"""Densities behind every hydrometer and alcohol table: water, and ethanol in water at 20 degC.

The official alcohol tables are a polynomial in the mass share at 20 degC; strength by volume follows from it. Nothing
here is about sugar.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize.elementwise import find_root

from linewright.physics.inputs import Floats, Inputs
from linewright.physics.ranges import Range, warn_outside

ETHANOL_DENSITY = 789.24
"""kg/m3 at 20 degC, as the alcohol tables define strength by volume."""
_OIML = (998.20123, -192.9769495, 389.1238958, -1668.103923, 13522.15441, -88292.78388, 306287.4042, -613838.1234,
         747017.2998, -547846.1354, 223446.0334, -39032.85426)  # fmt: skip
RANGES = {"temperature": Range(0.0, 100.0, "degC", "Kell, 1975,")}


def water_density(temperature: ArrayLike) -> Floats:
    """Density of air-free water at 101.325 kPa.

    Equation: Kell's ratio of a polynomial of fifth degree to a straight line.
    Takes:
        temperature [degC]: of the water.
    Gives: density [kg/m3]. Raises ProblemsError.
    Range: 0 to 100 degC; warns RangeWarning outside.
    Source: Kell, Journal of Chemical and Engineering Data 20 (1975) 97 (coefficients from memory, checked at 4 points).

    >>> round(float(water_density(20.0)), 2)
    998.2
    """
    inputs = Inputs()
    t = inputs.temperature("temperature", temperature)
    inputs.done()
    warn_outside("density of water", RANGES, temperature=t)
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return np.asarray(top / (1 + 16.879850e-3 * t))


def ethanol_water_density(mass_share: ArrayLike) -> Floats:
    """Density of ethanol in water at 20 degC.

    Equation: sum of A_k p^(k - 1), k = 1 to 12.
    Takes:
        mass_share [1]: p, kg of ethanol in a kg of mixture, 0 to 1.
    Gives: density [kg/m3]. Raises ProblemsError.
    Range: 0 to 1 at 20 degC.
    Source: OIML R 22, International Alcoholometric Tables, 1975 (coefficients from memory; ends 998.20 and 789.24).

    >>> round(float(ethanol_water_density(0.10)), 2)
    981.85
    """
    inputs = Inputs()
    p = inputs.share("mass_share", mass_share)
    inputs.done()
    return np.asarray(np.polynomial.polynomial.polyval(p, _OIML), dtype=np.float64)


def strength_by_volume(mass_share: ArrayLike) -> Floats:
    """Alcohol by volume at 20 degC from the mass share.

    Equation: q = p rho(p) / 789.24.
    Takes:
        mass_share [1]: p, 0 to 1.
    Gives: q [1]; 0.12 is 12 % vol. Raises ProblemsError.
    Range: 0 to 1 at 20 degC.
    Source: OIML R 22.

    >>> round(float(strength_by_volume(0.0964)), 4)
    0.12
    """
    p = np.asarray(mass_share, dtype=np.float64)
    return np.asarray(p * ethanol_water_density(p) / ETHANOL_DENSITY)


def mass_share_of(by_volume: ArrayLike) -> Floats:
    """The mass share of ethanol from the strength by volume: strength_by_volume read backwards.

    Equation: p rho(p) / 789.24 = q.
    Takes:
        by_volume [1]: q, 0 to 1.
    Gives: p [1]. Raises ProblemsError.
    Range: 0 to 1 at 20 degC.
    Source: OIML R 22.

    >>> round(float(mass_share_of(0.12)), 4)
    0.0964
    """
    inputs = Inputs()
    q = inputs.share("by_volume", by_volume)
    inputs.done()
    bracket: tuple[Any, Any] = (np.full(q.shape, -1e-5), np.full(q.shape, 1.0 + 1e-5))
    poly = np.polynomial.polynomial.polyval
    found = find_root(lambda p, *of: p * poly(p, _OIML) / ETHANOL_DENSITY - of[0], bracket, args=(q,))
    return np.clip(found.x, 0.0, 1.0)
