"""How dry can wood or reed get in this air? Equilibrium moisture from temperature and relative humidity.

Moisture is on dry basis: kg of water to a kg of dry matter. Below the equilibrium no drying is possible, whatever the
time; a target there is refused by the models that use this.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linewright.physics.inputs import Floats, Inputs
from linewright.physics.ranges import Range, warn_outside

RANGES = {
    "temperature": Range(-1.1, 132.2, "degC", "Wood Handbook table 4-2 (-1.1 to 132.2 degC)"),
    "humidity": Range(0.0, 0.98, "", "Wood Handbook table 4-2 (to 95 %, and a little beyond)"),
}
"""What the table behind the equation covers."""


def equilibrium_moisture(temperature: ArrayLike, humidity: ArrayLike) -> Floats:
    """Moisture at which wood neither dries nor wets in air.

    Equation: M = 18 / W (K h / (1 - K h) + (K1 K h + 2 K1 K2 K^2 h^2) / (1 + K1 K h + K1 K2 K^2 h^2)), with
        W = 349 + 1.29 T + 0.0135 T^2, K = 0.805 + 0.000736 T - 0.00000273 T^2,
        K1 = 6.27 - 0.00938 T - 0.000303 T^2, K2 = 1.91 + 0.0407 T - 0.000293 T^2 (Hailwood and Horrobin, two hydrates).
    Takes:
        temperature [degC]: T of the air.
        humidity [1]: h, relative, 0 to 1.
    Gives: M [kg/kg dry]. Raises ProblemsError.
    Range: -1.1 to 132.2 degC, humidity to 0.98; warns RangeWarning outside, where K1 is held at zero. Made for wood;
        for reed and other plant fibre an estimate (fit_constants on weighed samples is better).
    Source: USDA Forest Products Laboratory, Wood Handbook, 2021, ch. 4, eq. 4-5.

    >>> round(100 * float(equilibrium_moisture(21.1, 0.50)), 1)
    9.2
    """
    inputs = Inputs()
    t, h = inputs.temperature("temperature", temperature), inputs.humidity("humidity", humidity)
    inputs.done()
    warn_outside("equilibrium moisture", RANGES, temperature=t, humidity=h)
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = np.maximum(6.27 - 0.00938 * t - 0.000303 * t**2, 0.0)
    k2 = np.maximum(1.91 + 0.0407 * t - 0.000293 * t**2, 0.0)
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return np.asarray(18 / w * (kh / (1 - kh) + bound))
