"""What is in the air of a dryer? Humid air by psychrolib (ASHRAE formulas), and what it can still take up.

Psychrolib counts in one system of units for the whole process, so it is set once here; its compiled functions take
arrays. It is imported on first use, which costs two seconds for the compiler; pressure of saturation alone, which a
dryer needs, is therefore written here and tested against it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linewright.physics.inputs import KELVIN, Floats, Inputs

ATMOSPHERE = 101.325
"""kPa."""


@lru_cache(maxsize=1)
def _library() -> Any:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib


@dataclass(frozen=True)
class HumidAir:
    """State of humid air: ``ratio`` kg water a kg dry air, ``wet_bulb`` and ``dew_point`` degC, ``enthalpy`` kJ a kg
    dry air, ``volume`` m3 a kg dry air, ``vapour`` pressure kPa."""  # fmt: skip

    ratio: Floats
    wet_bulb: Floats
    dew_point: Floats
    enthalpy: Floats
    volume: Floats
    vapour: Floats


def humid_air(temperature: ArrayLike, humidity: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> HumidAir:
    """The state of humid air from its temperature and relative humidity.

    Equation: ASHRAE Handbook, Fundamentals, chapter 1, as psychrolib computes it (ideal gas).
    Takes:
        temperature [degC]: dry bulb, up to 200.
        humidity [1]: relative, 0 to 1.
        pressure [kPa]: of the air.
    Gives: a HumidAir. Raises ProblemsError.
    Range: -100 to 200 degC; refused outside, because the saturation formulas end there.
    Source: psychrolib 2.5 (Meyer and Thevenard, Journal of Open Source Software, 2019).

    >>> round(float(humid_air(25.0, 0.5).wet_bulb), 2)
    17.89
    """
    inputs = Inputs()
    t = inputs.number("temperature", temperature, low=-100.0, high=200.0, unit="degC", what="outside the tables of air")
    h = inputs.humidity("humidity", humidity)
    p = inputs.size("pressure", pressure, "kPa")
    inputs.done()
    t, h, p = (np.array(a, dtype=np.float64) for a in np.broadcast_arrays(t, h, p * 1000))
    if np.any(h * saturation_pressure(t) * 1000 >= p):
        inputs.refuse("humidity", "steam at this temperature and humidity exceeds the pressure of the air",
                      hint="above 100 degC give the humidity ratio instead")  # fmt: skip
        inputs.done()
    air = _library()
    ratio = air.GetHumRatioFromRelHum(t, h, p)
    wet = air.GetTWetBulbFromHumRatio(t, ratio, p)
    dew = air.GetTDewPointFromHumRatio(t, np.maximum(ratio, 1e-7), p)
    return HumidAir(*(np.asarray(v, dtype=np.float64) for v in (
        ratio, wet, dew, air.GetMoistAirEnthalpy(t, ratio) / 1000, air.GetMoistAirVolume(t, ratio, p),
        air.GetVapPresFromHumRatio(ratio, p) / 1000,
    )))  # fmt: skip


def saturation_pressure(temperature: ArrayLike) -> Floats:
    """Pressure of saturated vapour over water (over ice below freezing).

    Equation: ln p = c0 / T + c1 + c2 T + c3 T^2 + c4 T^3 + c5 T^4 + c6 ln T (Hyland and Wexler), T in K.
    Takes:
        temperature [degC]: -100 to 200.
    Gives: pressure [kPa]. Raises ProblemsError.
    Range: -100 to 200 degC; refused outside.
    Source: ASHRAE Handbook, Fundamentals, chapter 1, eq. 5 and 6.

    >>> round(float(saturation_pressure(20.0)), 4)
    2.3388
    """
    inputs = Inputs()
    t = inputs.number("temperature", temperature, low=-100.0, high=200.0, unit="degC", what="outside the tables of air")
    inputs.done()
    k = t + KELVIN
    over = np.where(t >= _TRIPLE, _series(k, _WATER), _series(k, _ICE))
    return np.asarray(np.exp(over) / 1000)


_TRIPLE = 0.01
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)
_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)


def _series(k: Floats, c: tuple[float, ...]) -> Floats:
    """ln of the pressure in Pa: c0 / T + c1 + c2 T + ... + c5 T^4 + c6 ln T."""
    return np.asarray(c[0] / k + c[1] + k * (c[2] + k * (c[3] + k * (c[4] + k * c[5]))) + c[6] * np.log(k))


def humidity_of(temperature: ArrayLike, ratio: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> Floats:
    """Relative humidity of air that holds a known share of water, also above 100 degC.

    Equation: p_w = p W / (0.621945 + W); humidity = p_w / p_ws(T).
    Takes:
        temperature [degC]: up to 200.
        ratio [kg/kg dry air]: W, 0 or more.
        pressure [kPa]: of the air.
    Gives: relative humidity [1]. Raises ProblemsError where the air would be above saturation.
    Range: ideal gas.
    Source: ASHRAE Handbook, Fundamentals, chapter 1, eq. 20 and 22.

    >>> round(float(humidity_of(120.0, 0.10)), 3)
    0.071
    """
    inputs = Inputs()
    w, p = inputs.amount("ratio", ratio, "kg/kg"), inputs.size("pressure", pressure, "kPa")
    inputs.done()
    humidity = np.asarray(p * w / (0.621945 + w) / saturation_pressure(temperature))
    inputs.humidity("ratio", np.minimum(humidity, 1e9))
    inputs.done()
    return humidity


def wet_bulb_of(temperature: ArrayLike, ratio: ArrayLike, pressure: float = ATMOSPHERE) -> Floats:
    """Wet-bulb temperature of hot dryer gas: the temperature of a wet face in it.

    Equation: W = ((2501 - 2.326 T_w) W_s(T_w) - 1.006 (T - T_w)) / (2501 + 1.86 T - 4.186 T_w), solved for T_w.
    Takes:
        temperature [degC]: of the gas; 0 or more, and may be above 200.
        ratio [kg/kg dry air]: W, 0 or more.
        pressure [kPa]: of the gas.
    Gives: T_w [degC]. Raises ProblemsError.
    Range: adiabatic saturation taken for the wet bulb, good to about 1 K for water in air.
    Source: ASHRAE Handbook, Fundamentals, chapter 1, eq. 33.

    >>> round(float(wet_bulb_of(25.0, 0.009881)), 1)
    17.9
    """
    from scipy.optimize.elementwise import find_root

    inputs = Inputs()
    t = inputs.number("temperature", temperature, low=0.0, unit="degC")
    w = inputs.amount("ratio", ratio, "kg/kg")
    p = float(inputs.size("pressure", pressure, "kPa"))
    inputs.done()
    t, w = (np.array(a, dtype=np.float64) for a in np.broadcast_arrays(t, w))
    boiling = float(find_root(lambda x: saturation_pressure(x) - p, (0.0, 199.0)).x)

    def over(wet: Floats, *of: Floats) -> Floats:
        steam = saturation_pressure(wet)
        full = 0.621945 * steam / np.maximum(p - steam, 1e-9)
        gas, held = of
        return (2501 - 2.326 * wet) * (full - held) - 1.006 * (gas - wet) - held * 1.86 * (gas - wet)

    bracket: tuple[Any, Any] = (np.full(t.shape, -20.0), np.minimum(t + 1e-6, boiling - 1e-6))
    found = find_root(over, bracket, args=(t, w))
    if not np.all(found.success):
        inputs.refuse("ratio", "this gas is above saturation", value=float(np.max(w)))
        inputs.done()
    return np.asarray(found.x)
