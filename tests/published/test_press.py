"""Presses against worked hydraulics, units, steam tables, psychrolib, and SciPy's integrator for the mat.

The ram of 0.7 MPa and 50 cm is a school problem read as printed (140 kN, to one figure more than its area). Steam table
values are from memory; the Wood Handbook's specific heat is its equation 4-16a, from memory.
"""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from scipy import constants
from scipy.integrate import solve_ivp
from scipy.special import erfc

from linewright.physics.dryer_heat import DRY_WOOD_HEAT
from linewright.physics.mat import BOILING, heat_mat
from linewright.physics.press import force_for, oil_pressure, press_cycle, pressure_on


def test_a_ram_of_half_a_metre() -> None:
    """0.7 MPa on a 50 cm piston: 140 kN as printed, with the area rounded to 0.2 m2; 137.4 kN unrounded."""
    assert float(force_for(700.0, 0.2)) == pytest.approx(140.0, abs=0.05)
    assert float(oil_pressure(137.44, 0.50, 1.0, 1.0)) == pytest.approx(700.0, abs=0.1)


def test_two_pistons_balance() -> None:
    """Pascal: 1600 N on 8 cm is balanced by 400 N on 4 cm (a school problem; it prints 400.8 with rounded areas)."""
    large = oil_pressure(1.600, 0.08, 1.0, 1.0)
    assert float(oil_pressure(0.400, 0.04, 1.0, 1.0)) == pytest.approx(float(large), rel=1e-12)


def test_units_of_pressure() -> None:
    """SciPy's constants: a pound-force on a square inch, an atmosphere, a bar, a kilogram-force on a cm2."""
    inch = constants.inch**2
    assert float(pressure_on(constants.pound_force / 1000, inch)) == pytest.approx(constants.psi / 1000, rel=1e-12)
    assert float(pressure_on(constants.atm / 1000, 1.0)) == pytest.approx(101.325, rel=1e-12)
    assert float(pressure_on(constants.kgf / 1000, 1e-4)) * 1000 == pytest.approx(constants.kgf / 1e-4, rel=1e-12)
    assert float(force_for(constants.bar / 1000, 1.0)) == pytest.approx(100.0, rel=1e-12)


def test_steam_of_a_load() -> None:
    """Steam tables: 2256.5 kJ/kg at 100 degC, so 100 kg of dry mat that lose 2 % take 1.2536 kWh.

    Ours is 0.28 % more: dry.latent_heat is a straight line, which states 0.6 % over its range. The tables are right.
    """
    found = press_cycle(18.0, 12.0, 1.0, 110.0, steam=0.02, idle=0.0)
    assert found.evaporating / (100 * 0.02 * 2256.5 / 3600) == pytest.approx(1.0028, abs=2e-4)


def test_warming_of_a_load_by_the_wood_handbook() -> None:
    """c = 0.1031 + 0.003867 T, T in K, integrated from 25 to 115 degC; we hold one value, which lies within 6 %."""
    low, high = 298.15, 388.15
    printed = 0.1031 * (high - low) + 0.003867 * (high**2 - low**2) / 2  # kJ/kg
    found = press_cycle(18.0, 12.0, 1.0, 100.0, moisture=0.0, steam=0.0, idle=0.0)
    assert found.warming * 3600 / 100 == pytest.approx(printed, rel=0.06)
    assert found.warming * 3600 / 100 == pytest.approx(DRY_WOOD_HEAT * 90, rel=1e-12)


def test_water_boils_where_psychrolib_has_it() -> None:
    """At 100 degC the pressure of steam is that of the air, 101.325 kPa; psychrolib (ASHRAE) is within 0.2 %."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert psychrolib.GetSatVapPres(BOILING) == pytest.approx(101325, rel=2e-3)
    # The core of a wet mat lingers there, that of a dry mat passes.
    wet, dry = (heat_mat(0.018, 200.0, 99.99, inward=1.0, moisture=m).curve.values("core") for m in (0.10, 0.0))
    assert max(wet) <= BOILING + 1e-9
    assert dry[-1] >= 99.99


@pytest.mark.parametrize("platen", [140.0, 180.0, 220.0])
def test_a_dry_mat_against_lines_of_scipy(platen: float) -> None:
    """Half the mat in 200 cells, BDF of SciPy in time: another scheme, another grid."""
    half, cells, wanted = 0.009, 200, 90.0
    spread = 0.15 / (650.0 * 1000 * DRY_WOOD_HEAT) / (half / cells) ** 2

    def slope(_: float, t: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        beside = np.concatenate([[t[0]], t, [2 * platen - t[-1]]])
        return spread * np.diff(beside, 2)

    def warm(_: float, t: np.ndarray) -> float:  # type: ignore[type-arg]
        return float(t[0]) - wanted

    warm.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(slope, (0, 2000), np.full(cells, 25.0), method="BDF", events=warm, rtol=1e-7, atol=1e-6,
                       jac=spread * (np.diag(np.full(cells - 1, 1.0), 1) + np.diag(np.full(cells - 1, 1.0), -1)
                                     + np.diag([-1.0, *[-2.0] * (cells - 2), -3.0])))  # fmt: skip
    found = heat_mat(2 * half, platen, wanted, moisture=0.0, cells=60)
    assert found.seconds == pytest.approx(float(solved.t_events[0][0]), rel=0.01)


def test_heat_taken_in_at_first_is_that_of_a_thick_body() -> None:
    """Carslaw and Jaeger, section 2.4: a face held at once takes 2 k dT sqrt(t / (pi a)) in; valid while Fo < 0.1."""
    thick = heat_mat(0.050, 180.0, 25.5, moisture=0.0, cells=120)
    spread = 0.15 / (650.0 * 1000 * DRY_WOOD_HEAT)
    exact = 2 * 2 * 0.15 * (180 - 25) * np.sqrt(thick.seconds / (np.pi * spread)) / 1000  # both faces, kJ/m2
    assert thick.seconds * spread / 0.025**2 < 0.1
    assert thick.outcome("heat taken in") == pytest.approx(exact, rel=0.01)
    middle = 25 + 2 * (180 - 25) * erfc(0.025 / (2 * np.sqrt(spread * thick.seconds)))
    assert middle == pytest.approx(25.5, abs=0.05)
