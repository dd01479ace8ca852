"""Drying: both rates, limits, mass and heat closed, refusals by name, common practice."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from linewright.base.problems import ProblemsError
from linewright.physics.air import humid_air, humidity_of, wet_bulb_of
from linewright.physics.dry import (
    dry_particles,
    drying_time,
    latent_heat,
    moisture_after,
    panel_drying_time,
    panel_moisture,
    wet_rate,
)
from linewright.physics.dryer_heat import drying_heat, dust_cover
from linewright.physics.fitting import fit_constants
from linewright.physics.moisture import equilibrium_moisture
from linewright.physics.ranges import RangeWarning


@given(st.floats(0.02, 0.9), st.floats(0.011, 0.99), st.floats(0.05, 0.4), st.floats(1e-5, 1e-2))
def test_time_and_moisture_are_one_law(end: float, share: float, critical: float, rate: float) -> None:
    start, equilibrium = end + share, 0.01
    seconds = drying_time(start, end, critical, equilibrium, rate)
    assert moisture_after(seconds, start, critical, equilibrium, rate) == pytest.approx(end, abs=1e-9)


def test_against_a_numerical_integration() -> None:
    start, critical, equilibrium, rate = 0.5, 0.22, 0.03, 8e-4

    def slope(_: float, x: np.ndarray) -> np.ndarray:
        return -rate * np.minimum(1.0, (x - equilibrium) / (critical - equilibrium))

    times = np.linspace(0, 1500, 16)
    solved = solve_ivp(slope, (0, 1500), [start], t_eval=times, rtol=1e-10, atol=1e-12, max_step=5.0)
    assert moisture_after(times, start, critical, equilibrium, rate) == pytest.approx(solved.y[0], abs=1e-6)


def test_limits() -> None:
    assert drying_time(0.1, 0.1, 0.25, 0.02, 1e-3) == 0.0
    assert drying_time(0.1, 0.3, 0.25, 0.02, 1e-3) == 0.0  # dry enough already
    assert moisture_after(1e9, 0.5, 0.25, 0.02, 1e-3) == pytest.approx(0.02, abs=1e-12)
    assert moisture_after(100.0, 0.5, 0.25, 0.02, 0.0) == 0.5
    assert wet_rate(60.0, 60.0, 30.0, 1.0) == 0.0
    assert moisture_after(0.0, 0.5, 0.25, 0.02, 1e-3) == 0.5


def test_a_target_below_the_equilibrium_is_refused_by_name() -> None:
    with pytest.raises(ProblemsError, match=r"8 % cannot be reached at this air: its equilibrium is 9\.2 %"):
        drying_time(0.3, 0.08, 0.25, 0.092, 1e-3)
    with pytest.raises(ProblemsError, match="cannot be reached at this air"):
        panel_drying_time(0.12, 0.06, 0.08, 0.018, 3e-10)
    with pytest.raises(ProblemsError, match="absolute zero"):
        latent_heat(-280.0)


def test_panels_dry_and_take_up_by_the_same_series() -> None:
    t = float(panel_drying_time(0.12, 0.09, 0.08, 0.018, 3e-10))
    assert panel_moisture(t, 0.12, 0.08, 0.018, 3e-10) == pytest.approx(0.09, abs=1e-9)
    gain = panel_moisture(t, 0.08, 0.12, 0.018, 3e-10)
    assert gain == pytest.approx(0.11, abs=1e-9)


def test_warmer_and_drier_air_dries_faster() -> None:
    def minutes(gas: float, ratio: float) -> float:
        return dry_particles(0.4, 0.02, gas, ratio, 0.0025).seconds / 60

    assert minutes(200.0, 0.15) > minutes(220.0, 0.15)
    assert minutes(220.0, 0.25) > minutes(220.0, 0.05)


def test_common_practice_of_chips_in_a_fired_dryer() -> None:
    """Common practice, no source: chips from the mill to 1.5 % in 15 to 25 minutes in a fired dryer."""
    assert 15 < dry_particles(0.40, 0.015, 220.0, 0.15, 0.0025).seconds / 60 < 25


def test_the_curve_ends_where_the_time_says() -> None:
    found = dry_particles(0.40, 0.015, 220.0, 0.15, 0.0025)
    at = np.interp(found.seconds, found.curve.times, found.curve.values("moisture"))
    assert at == pytest.approx(0.015, abs=1e-3)
    assert found.curve.target == 0.015
    assert any(c.hazard == "combustible dust" for c in found.cautions)


def test_mass_and_heat_are_closed() -> None:
    found = drying_heat(np.array([0.4, 0.9]), 0.02)
    parts = found.dry_matter + found.liquid + found.evaporating + found.vapour + found.air_warmed + found.losses
    assert parts == pytest.approx(found.total, rel=1e-12)
    # The water that leaves with the air is the water that left the wood.
    assert found.air * (0.25 - 0.008) == pytest.approx(found.water, rel=1e-12)
    assert found.losses == pytest.approx(0.08 * found.total, rel=1e-12)
    assert drying_heat(0.1, 0.1).per_water == np.inf


def test_a_dry_feed_only_warms() -> None:
    found = drying_heat(0.0, 0.0, losses=0.0)
    assert found.total == pytest.approx(1.35 * 80.0, rel=1e-12)


def test_dust_and_fuel_balance() -> None:
    """The board mill's own sum: 0.3725 kg of water at 3.6 MJ/kg is 0.10 kg of dust at 17 MJ/kg burnt at 79 %."""
    heat = 0.3725 * 3.6 / 3.6  # kW for one piece an hour: MJ/h over 3.6
    found = dust_cover(heat, 1.0)
    assert found.burnt == pytest.approx(0.0999, abs=1e-4)
    assert found.bought == 0.0
    assert found.cover == 1.0
    short = dust_cover(1000.0, 100.0, fuel_value=36.0)
    assert (short.burnt * 17 + short.bought * 36) * 0.79 == pytest.approx(3600.0, rel=1e-12)
    assert short.left == 0.0


def test_rate_is_found_from_a_log() -> None:
    times = np.arange(0, 1500, 100.0)
    log = moisture_after(times, 0.4, 0.25, 0.01, 5e-4)
    found = fit_constants(lambda t, c: moisture_after(t, 0.4, 0.25, 0.01, c["rate"]), times, log, {"rate": 1e-3})
    assert found.value("rate") == pytest.approx(5e-4, rel=1e-6)


def test_air_is_refused_by_name() -> None:
    with pytest.raises(ProblemsError, match="above 100 %"):
        humid_air(20.0, 1.5)
    with pytest.raises(ProblemsError, match="exceeds the pressure"):
        humid_air(120.0, 0.9)
    with pytest.raises(ProblemsError, match="above 100 %"):
        humidity_of(20.0, 0.5)


def test_wet_bulb_of_gas_meets_the_library_where_both_reach() -> None:
    air = humid_air([25.0, 60.0, 90.0], [0.5, 0.2, 0.1])
    assert wet_bulb_of([25.0, 60.0, 90.0], air.ratio) == pytest.approx(air.wet_bulb, abs=0.05)


def test_equilibrium_rises_with_humidity_and_leaves_its_range_with_a_warning() -> None:
    m = equilibrium_moisture(20.0, np.linspace(0.0, 0.95, 50))
    assert m[0] == 0.0
    assert np.all(np.diff(m) > 0)
    with pytest.warns(RangeWarning, match="humidity"):
        equilibrium_moisture(20.0, 0.99)
