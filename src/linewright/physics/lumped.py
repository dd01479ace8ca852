"""How fast does a body warm or cool as a whole? A stirred tank, a thin part: one temperature, checked by Biot.

Where the Biot number is small (below 0.1) the inside follows the face and a single exponential is enough. Above
that the call warns.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linewright.physics.inputs import Floats, Inputs
from linewright.physics.ranges import Range, warn_outside

RANGES = {"biot": Range(0.0, 0.1, "", "Incropera and DeWitt, section 5.2,")}
"""Where one temperature stands for the whole body."""
WATER_HEAT = 4.18
"""kJ/(kg K), of water near 20 degC."""


def biot(transfer: ArrayLike, length: ArrayLike, conductivity: ArrayLike) -> Floats:
    """The Biot number: resistance inside over resistance at the face.

    Equation: Bi = h L / k.
    Takes:
        transfer [W/(m2 K)]: h, above 0.
        length [m]: half thickness, or volume over area; above 0.
        conductivity [W/(m K)]: k of the body, above 0.
    Gives: Bi [1]. Raises ProblemsError.
    Range: any.
    Source: Incropera and DeWitt, eq. 5.9.

    >>> round(float(biot(400.0, 7.06e-4 / 6, 20.0)), 5)
    0.00235
    """
    inputs = Inputs()
    h = inputs.size("transfer", transfer, "W/(m2 K)")
    length_ = inputs.size("length", length, "m")
    k = inputs.size("conductivity", conductivity, "W/(m K)")
    inputs.done()
    return np.asarray(h * length_ / k)


def lumped_temperature(time: ArrayLike, start: ArrayLike, around: ArrayLike, lag: ArrayLike) -> Floats:
    """Temperature of a body that has one temperature.

    Equation: T = T_a + (T_0 - T_a) exp(-t / lag).
    Takes:
        time [s]: 0 or more.
        start [degC]: at time 0.
        around [degC]: of the surroundings.
        lag [s]: rho c L / h, above 0.
    Gives: T [degC]. Raises ProblemsError.
    Range: Bi below 0.1, or a stirred liquid.
    Source: Newton's law of cooling; Incropera and DeWitt, eq. 5.6.

    >>> float(lumped_temperature(0.0, 90.0, 20.0, 600.0))
    90.0
    """
    inputs = Inputs()
    t = inputs.amount("time", time, "s")
    t0, ta = inputs.temperature("start", start), inputs.temperature("around", around)
    tau = inputs.size("lag", lag, "s")
    inputs.done()
    return np.asarray(ta + (t0 - ta) * np.exp(-t / tau))


def lumped_time(
    start: ArrayLike,
    end: ArrayLike,
    around: ArrayLike,
    transfer: ArrayLike,
    length: ArrayLike,
    density: ArrayLike,
    heat_capacity: ArrayLike,
    conductivity: ArrayLike | None = None,
) -> Floats:
    """Seconds for a body that has one temperature to go from start to end.

    Equation: t = (rho c L / h) ln((T_0 - T_a) / (T - T_a)).
    Takes:
        start [degC]: at time 0.
        end [degC]: wanted; equal to start gives 0, equal to around is never reached, beyond it is refused.
        around [degC]: of the surroundings.
        transfer [W/(m2 K)]: h, above 0.
        length [m]: L, volume over area, above 0.
        density [kg/m3]: above 0.
        heat_capacity [kJ/(kg K)]: above 0.
        conductivity [W/(m K)]: of the body, to check Bi; None for a stirred liquid.
    Gives: t [s]. Raises ProblemsError.
    Range: Bi up to 0.1; warns RangeWarning above.
    Source: Incropera and DeWitt, eq. 5.5.

    >>> round(float(lumped_time(25.0, 199.0, 200.0, 400.0, 7.06e-4 / 6, 8500.0, 0.4, 20.0)), 2)
    5.17
    """
    inputs = Inputs()
    t0, t1 = inputs.temperature("start", start), inputs.temperature("end", end)
    ta = inputs.temperature("around", around)
    h = inputs.size("transfer", transfer, "W/(m2 K)")
    length_ = inputs.size("length", length, "m")
    rho = inputs.size("density", density, "kg/m3")
    c = inputs.size("heat_capacity", heat_capacity, "kJ/(kg K)")
    k = None if conductivity is None else inputs.size("conductivity", conductivity, "W/(m K)")
    share = inputs.share_left(t0, t1, ta)
    inputs.done()
    if k is not None:
        warn_outside("one temperature for the whole body", RANGES, biot=h * length_ / k)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(share == 1.0, 0.0, -np.log(share) * rho * c * 1000 * length_ / h))


def tank_time(
    litres: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    coolant: ArrayLike,
    transfer: ArrayLike,
    area: ArrayLike,
    *,
    density: float = 1.0,
    heat_capacity: float = WATER_HEAT,
) -> Floats:
    """Seconds for a stirred tank to go from start to end through a jacket of one temperature.

    Equation: t = m c / (U A) ln((T_0 - T_c) / (T - T_c)).
    Takes:
        litres [L]: contents, above 0.
        start [degC]: at time 0.
        end [degC]: wanted.
        coolant [degC]: in the jacket.
        transfer [W/(m2 K)]: U of the wall, above 0.
        area [m2]: of the jacket, above 0.
        density [kg/L]: of the contents.
        heat_capacity [kJ/(kg K)]: of the contents.
    Gives: t [s]. Raises ProblemsError.
    Range: contents well mixed.
    Source: Incropera and DeWitt, eq. 5.5, with m c for rho V c.

    >>> round(float(tank_time(5000.0, 17.0, 5.0, -4.0, 150.0, 8.0)) / 3600, 2)
    4.1
    """
    inputs = Inputs()
    volume = inputs.size("litres", litres, "L")
    t0, t1 = inputs.temperature("start", start), inputs.temperature("end", end)
    tc = inputs.temperature("coolant", coolant)
    u, a = inputs.size("transfer", transfer, "W/(m2 K)"), inputs.size("area", area, "m2")
    rho, c = inputs.size("density", density, "kg/L"), inputs.size("heat_capacity", heat_capacity, "kJ/(kg K)")
    share = inputs.share_left(t0, t1, tc)
    inputs.done()
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(share == 1.0, 0.0, -np.log(share) * volume * rho * c * 1000 / (u * a)))
