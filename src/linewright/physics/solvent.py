"""How long must a film flash off before it is closed? Solvent leaving at a constant and then a falling rate.

Solvent shut in keeps a joint soft and makes blisters. What leaves the film is in the air that people breathe and that
may burn; extraction is not decided here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linewright.physics.dry import drying_time
from linewright.physics.inputs import KELVIN, Floats, Inputs

GAS_CONSTANT = 8.314462618e-3
"""kJ/(mol K), CODATA 2018."""


def flash_off_time(wet: ArrayLike, rate: ArrayLike, left: ArrayLike = 0.05, critical: ArrayLike = 0.5) -> Floats:
    """Seconds for solvent to leave a film before it is closed.

    Equation: drying_time with solvent for water: a constant rate to the critical share, then falling to none.
    Takes:
        wet [kg/m2]: solvent in the film at first, above 0.
        rate [kg/(m2 s)]: leaving while the surface is wet, above 0.
        left [1]: share of it that may stay, above 0.
        critical [1]: share at which the film begins to hold it back.
    Gives: t [s]. Raises ProblemsError.
    Range: thin films in moving air; time it on a scale.
    Source: as dry.drying_time.

    >>> round(float(flash_off_time(0.060, 1e-4)))
    991
    """
    inputs = Inputs()
    m, r = inputs.size("wet", wet, "kg/m2"), inputs.size("rate", rate, "kg/(m2 s)")
    inputs.share("left", left)
    inputs.done()
    return drying_time(1.0, left, critical, 0.0, r / m)


def evaporation_rate(
    vapour_pressure: ArrayLike, molar_mass: ArrayLike, speed: ArrayLike, temperature: ArrayLike
) -> Floats:
    """Solvent leaving a wet film into clean air.

    Equation: J = k M p / (R T).
    Takes:
        vapour_pressure [kPa]: p of the solvent at the film, above 0.
        molar_mass [g/mol]: M, above 0.
        speed [m/s]: k, mass transfer; 0.002 to 0.01 in a room, more under a fan.
        temperature [degC]: T of the film.
    Gives: J [kg/(m2 s)]. Raises ProblemsError.
    Range: air that carries the vapour off. Where it does not, nothing leaves, and the vapour may burn.
    Source: ideal gas law and film theory; Incropera and DeWitt, section 6.

    >>> round(float(evaporation_rate(12.0, 86.0, 0.005, 20.0)) * 3600, 2)
    7.62
    """
    inputs = Inputs()
    p, m = inputs.size("vapour_pressure", vapour_pressure, "kPa"), inputs.size("molar_mass", molar_mass, "g/mol")
    k, t = inputs.size("speed", speed, "m/s"), inputs.temperature("temperature", temperature)
    inputs.done()
    return np.asarray(k * m / 1000 * p / (GAS_CONSTANT * (t + KELVIN)))
