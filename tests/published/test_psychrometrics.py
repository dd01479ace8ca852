"""Humid air against ASHRAE values and steam tables.

Psychrolib 2.5 computes ASHRAE's formulas; its figures here were noted from a separate run. Steam-table values (latent
heat, saturation pressure) are from memory of common steam tables.
"""

from __future__ import annotations

import pytest

from linewright.physics.air import humid_air, saturation_pressure, wet_bulb_of
from linewright.physics.dry import latent_heat


def test_room_air() -> None:
    """25 degC, 50 %, 101.325 kPa: ratio, wet bulb, dew point, enthalpy, volume."""
    air = humid_air(25.0, 0.50)
    assert float(air.ratio) == pytest.approx(0.009881, abs=1e-6)
    assert float(air.wet_bulb) == pytest.approx(17.889, abs=2e-3)
    assert float(air.dew_point) == pytest.approx(13.864, abs=2e-3)
    assert float(air.enthalpy) == pytest.approx(50.322, abs=2e-3)
    assert float(air.volume) == pytest.approx(0.8580, abs=1e-4)


@pytest.mark.parametrize(("temperature", "kpa"), [(0.01, 0.6117), (20.0, 2.339), (60.0, 19.95), (100.0, 101.4)])
def test_saturation_pressure_of_steam_tables(temperature: float, kpa: float) -> None:
    assert float(saturation_pressure(temperature)) == pytest.approx(kpa, rel=1e-3)


def test_saturation_pressure_of_the_library() -> None:
    """Our own formula against psychrolib's, over ice and water."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for t in (-40.0, -5.0, 0.0, 0.02, 20.0, 63.0, 99.0, 150.0, 199.0):
        assert float(saturation_pressure(t)) == pytest.approx(psychrolib.GetSatVapPres(t) / 1000, rel=1e-9)


@pytest.mark.parametrize(("temperature", "heat"), [(0.0, 2501.0), (50.0, 2382.0), (100.0, 2256.5), (120.0, 2202.0)])
def test_latent_heat_of_steam_tables(temperature: float, heat: float) -> None:
    assert float(latent_heat(temperature)) == pytest.approx(heat, rel=0.007)


def test_saturated_air_is_its_own_wet_bulb() -> None:
    assert float(wet_bulb_of(30.0, float(humid_air(30.0, 1.0).ratio))) == pytest.approx(30.0, abs=1e-6)
