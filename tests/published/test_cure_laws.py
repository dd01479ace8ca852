"""Cure against a chemistry text, a concrete code, and SciPy's integrators.

OpenStax, Chemistry 2e, chapter 12 (examples 12.6, 12.8, 12.11) and EN 1992-1-1:2004, equation (B.10), all from memory.
The temperature of a cement and of a glue act by the same law, so the code's formula checks ours with E = 4000 K R.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from linewright.physics.cure import (
    GAS_CONSTANT,
    activation_energy,
    arrhenius_factor,
    cure_through,
    cure_time,
    degree_of_cure,
    self_speeding_cure,
)
from linewright.physics.inputs import KELVIN


def test_cyclobutane_to_80_percent() -> None:
    """Example 12.6: first order, 9.2e-3 /s, 80.0 % gone after 1.7e2 s."""
    assert float(cure_time(0.80, 9.2e-3)) == pytest.approx(170, abs=5)  # printed to two figures: 165 to 175


def test_butadiene_in_ten_minutes() -> None:
    """Example 12.8: second order, 5.76e-2 L/(mol min), from 0.200 mol/L; 0.179 mol/L after 10.0 min."""
    left = 0.200 * (1 - float(degree_of_cure(600.0, 5.76e-2 * 0.200 / 60, 2.0)))
    assert left == pytest.approx(0.179, abs=5e-4)


def test_energy_of_hydrogen_iodide() -> None:
    """Example 12.11: 3.52e-7 at 555 K and 3.95e-2 at 781 K, 185 kJ/mol."""
    found = activation_energy(555 - KELVIN, 1 / 3.52e-7, 781 - KELVIN, 1 / 3.95e-2)
    assert found == pytest.approx(185, abs=0.5)


@pytest.mark.parametrize("celsius", [0.0, 5.0, 10.0, 20.0, 30.0, 40.0, 60.0, 80.0])
def test_age_of_concrete_by_the_code(celsius: float) -> None:
    """Equation (B.10): a day at T counts exp(13.65 - 4000 / (273 + T)) days of 20 degC.

    The code rounds 4000 / 293 to 13.65 and takes 273 for 273.15: both together make less than 0.5 %.
    """
    printed = np.exp(13.65 - 4000 / (273 + celsius))
    ours = float(arrhenius_factor(celsius, 20.0, 4000 * GAS_CONSTANT))
    assert ours == pytest.approx(printed, rel=5e-3)


def test_equivalent_age_of_a_history() -> None:
    """The age by (B.10) in steps, as ASTM C1074 sums it (from memory), puts the same cure as a fine history."""
    hours = np.linspace(0, 24, 961)
    warm = 20 + 25 * np.sin(np.pi * hours / 24)
    middles = (warm[1:] + warm[:-1]) / 2
    age = float(np.sum(np.diff(hours) * np.exp(13.65 - 4000 / (273 + middles))))
    rate = 1e-5
    found = cure_through(hours, warm, rate, 20.0, 4000 * GAS_CONSTANT)[-1]
    assert found == pytest.approx(float(degree_of_cure(age * 3600, rate)), rel=5e-3)


@pytest.mark.parametrize("order", [0.6, 1.0, 1.7])
def test_a_history_against_integration(order: float) -> None:
    """SciPy's Radau on da/dt = k(T(t)) (1 - a)^n, with T rising from 20 to 80 degC over two hours."""
    k0, energy = 8e-5, 55.0
    hours = np.linspace(0, 2, 2001)

    def slope(t: float, a: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        kelvin = 293.15 + 30 * t / 3600
        return k0 * np.exp(-energy / 8.314462618e-3 * (1 / kelvin - 1 / 293.15)) * np.maximum(1 - a, 0.0) ** order

    solved = solve_ivp(slope, (0, 7200), [0.0], method="Radau", rtol=1e-10, atol=1e-12)
    found = cure_through(hours, 20 + 30 * hours, k0, 20.0, energy, order)
    assert found[-1] == pytest.approx(solved.y[0, -1], abs=1e-6)


@pytest.mark.parametrize(("power", "order"), [(0.5, 1.5), (1.0, 1.0), (1.2, 1.8)])
def test_kamal_and_sourour_against_quadrature(power: float, order: float) -> None:
    """The time to a degree is the integral of 1 / ((k1 + k2 a^m)(1 - a)^n): QUADPACK, no stepping in time."""
    k1, k2, wanted = 2e-4, 4e-3, 0.7
    time, _ = quad(lambda a: 1 / ((k1 + k2 * a**power) * (1 - a) ** order), 0, wanted, epsabs=1e-9, epsrel=1e-11)
    assert self_speeding_cure([0.0, time], k1, k2, power=power, order=order)[-1] == pytest.approx(wanted, abs=1e-6)
