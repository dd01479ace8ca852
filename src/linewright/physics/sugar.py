"""From what a hydrometer or refractometer says to sugar, and from sugar to alcohol.

Gravity is density over that of water, both at 20 degC. Degrees Plato and Brix are both per cent of sugar by mass and
are taken as one here (they differ by less than 0.02). Extract counts all that is dissolved; a must holds some that no
yeast eats.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize.elementwise import find_root

from linewright.physics.inputs import Floats, Inputs
from linewright.physics.ranges import Range, warn_outside
from linewright.physics.water_alcohol import ethanol_water_density, mass_share_of, water_density

WATER_20 = 0.99820123
"""kg/L of water at 20 degC."""
SUGAR_PER_ALCOHOL = 16.83
"""g/L of sugar for each per cent of alcohol by volume, as European practice counts it (from memory)."""
ETHANOL_PER_SUGAR = 0.51142
"""g of ethanol from a g of hexose if nothing else came of it: 2 x 46.068 / 180.156 (Gay-Lussac)."""
GAS_PER_SUGAR = 0.48858
"""g of carbon dioxide from a g of hexose in the same sum: 2 x 44.010 / 180.156."""
GLASS = 25e-6
"""Volume expansion of a glass hydrometer, 1/K."""
RANGES = {
    "gravity": Range(1.0, 1.18, "", "the brewing tables (to 40 degrees Plato)"),
    "temperature": Range(0.0, 40.0, "degC", "correction by the expansion of water"),
}


def plato(gravity: ArrayLike) -> Floats:
    """Per cent of sugar by mass (degrees Plato, Brix) from the gravity.

    Equation: P = -616.868 + 1111.14 s - 630.272 s^2 + 135.997 s^3.
    Takes:
        gravity [1]: s, density over water's at 20 degC.
    Gives: P [% by mass]. Raises ProblemsError.
    Range: 1.000 to 1.180; warns RangeWarning outside.
    Source: fit to the ASBC tables (coefficients from memory; the tables have 10 P at 1.0400).

    >>> round(float(plato(1.050)), 2)
    12.39
    """
    inputs = Inputs()
    s = inputs.number("gravity", gravity, above=0.9, below=1.6, what="this is no gravity of a must")
    inputs.done()
    warn_outside("sugar from gravity", RANGES, gravity=s)
    return np.asarray(_plato(s))


def _plato(s: Floats) -> Floats:
    return np.asarray(-616.868 + s * (1111.14 + s * (-630.272 + s * 135.997)))


def gravity_of(brix: ArrayLike) -> Floats:
    """The gravity of a sugar solution: plato read backwards.

    Equation: plato(s) = brix.
    Takes:
        brix [% by mass]: 0 to 40.
    Gives: s [1]. Raises ProblemsError.
    Range: 0 to 40; refused outside.
    Source: as plato.

    >>> round(float(gravity_of(10.0)), 4)
    1.04
    """
    inputs = Inputs()
    b = inputs.number("brix", brix, low=0.0, high=40.0, unit="% by mass", what="outside the table of sugar solutions")
    inputs.done()
    bracket: tuple[Any, Any] = (np.full(b.shape, 0.99), np.full(b.shape, 1.2))
    return np.asarray(find_root(lambda s, *of: _plato(s) - of[0], bracket, args=(b,)).x)


def extract(gravity: ArrayLike) -> Floats:
    """All that is dissolved, in g/L, from the gravity.

    Equation: E = 10 P(s) s 0.9982.
    Takes:
        gravity [1]: s.
    Gives: E [g/L]. Raises ProblemsError.
    Range: as plato.
    Source: definition, with plato.

    >>> round(float(extract(1.050)), 1)
    129.8
    """
    return np.asarray(10 * plato(gravity) * np.asarray(gravity, dtype=np.float64) * WATER_20)


def gravity_of_extract(grams: ArrayLike) -> Floats:
    """The gravity of a solution of so many g/L of extract: extract read backwards.

    Equation: 10 P(s) s 0.9982 = E.
    Takes:
        grams [g/L]: E, 0 to 470.
    Gives: s [1]. Raises ProblemsError.
    Range: 0 to 470 g/L; refused outside.
    Source: as extract.

    >>> round(float(gravity_of_extract(extract(1.050))), 6)
    1.05
    """
    inputs = Inputs()
    e = inputs.number("grams", grams, low=0.0, high=470.0, unit="g/L", what="outside the table of sugar solutions")
    inputs.done()
    bracket: tuple[Any, Any] = (np.full(e.shape, 0.99), np.full(e.shape, 1.2))
    return np.asarray(find_root(lambda s, *of: 10 * _plato(s) * s * WATER_20 - of[0], bracket, args=(e,)).x)


def corrected_gravity(reading: ArrayLike, temperature: ArrayLike, calibrated: ArrayLike = 20.0) -> Floats:
    """What a hydrometer would say at the temperature for which it was made.

    Equation: s = reading (1 - 25e-6 (T - T_0)) rho_w(T_0) / rho_w(T): the liquid is taken to expand as water does.
    Takes:
        reading [1]: gravity as read.
        temperature [degC]: T of the liquid.
        calibrated [degC]: T_0 printed on the hydrometer.
    Gives: s [1]. Raises ProblemsError.
    Range: 0 to 40 degC; warns RangeWarning outside. Strong musts and wines expand more than water: read near T_0.
    Source: definition of the instrument, with Kell's density of water; glass 25e-6 1/K (from memory).

    >>> round(float(corrected_gravity(1.050, 30.0)), 4)
    1.0524
    """
    inputs = Inputs()
    s = inputs.number("reading", reading, above=0.9, below=1.6, what="this is no gravity of a must")
    t, t0 = inputs.temperature("temperature", temperature), inputs.temperature("calibrated", calibrated)
    inputs.done()
    warn_outside("hydrometer correction", RANGES, temperature=t)
    return np.asarray(s * (1 - GLASS * (t - t0)) * water_density(t0) / water_density(t))


def potential_alcohol(sugar: ArrayLike, per_percent: ArrayLike = SUGAR_PER_ALCOHOL) -> Floats:
    """Strength that a sugar content can give.

    Equation: q = sugar / per_percent / 100.
    Takes:
        sugar [g/L]: that yeast can eat, 0 or more.
        per_percent [g/L]: sugar for each per cent by volume; 15.43 if all became alcohol and gas.
    Gives: q [1]; 0.12 is 12 % vol. Raises ProblemsError.
    Range: musts; 16 to 18 g/L is met in practice.
    Source: 16.83 as European practice counts (from memory); the bound by Gay-Lussac.

    >>> round(100 * float(potential_alcohol(190.0)), 1)
    11.3
    """
    inputs = Inputs()
    s = inputs.amount("sugar", sugar, "g/L")
    factor = inputs.number("per_percent", per_percent, low=15.43, unit="g/L", what="yeast cannot make that much of it")
    inputs.done()
    return np.asarray(s / factor / 100)


def alcohol_from_gravities(original: ArrayLike, final: ArrayLike) -> Floats:
    """Strength from the gravity before and after.

    Equation: RE = 0.1808 P_0 + 0.8192 P_1; A = (P_0 - RE) / (2.0665 - 0.010665 P_0) % by mass; q = A s_1 / 0.7907.
    Takes:
        original [1]: gravity before.
        final [1]: gravity after, as read, not above the original.
    Gives: q [1]; 0.05 is 5 % vol. Raises ProblemsError.
    Range: beers and ciders up to about 10 % vol.
    Source: Balling's formulas (De Clerck; from memory).

    >>> round(100 * float(alcohol_from_gravities(1.050, 1.010)), 2)
    5.32
    """
    inputs = Inputs()
    s0 = inputs.number("original", original, above=0.9, below=1.2, what="this is no gravity of a must")
    s1 = inputs.number("final", final, above=0.9, below=1.2, what="this is no gravity of a must")
    if np.any(s1 > s0):
        inputs.refuse("final", "the gravity has risen", value=float(np.max(s1)), expected="at most the original")
    inputs.done()
    p0, p1 = _plato(s0), _plato(s1)
    real = 0.1808 * p0 + 0.8192 * p1
    return np.asarray((p0 - real) / (2.0665 - 0.010665 * p0) * s1 / 0.7907 / 100)


def fermenting_gravity(grams: ArrayLike, by_volume: ArrayLike) -> Floats:
    """What a hydrometer reads in a liquid that holds extract and alcohol.

    Equation: s = s_extract + s_alcohol - 1 (Tabarie).
    Takes:
        grams [g/L]: extract, sugar and what is never eaten.
        by_volume [1]: alcohol, 0 to 1.
    Gives: s [1]. Raises ProblemsError.
    Range: wines, ciders and beers.
    Source: Tabarie's relation (from memory), with OIML R 22 for the alcohol.

    >>> round(float(fermenting_gravity(20.0, 0.12)), 4)
    0.9919
    """
    alcohol = ethanol_water_density(mass_share_of(by_volume)) / 1000 / WATER_20
    return np.asarray(gravity_of_extract(grams) + alcohol - 1)
