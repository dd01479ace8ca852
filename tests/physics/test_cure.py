"""Cure: rate laws against integration and closed forms, temperature, clamps, solvent, common practice."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from linewright.base.problems import ProblemsError
from linewright.physics.cure import (
    activation_energy,
    arrhenius_factor,
    clamp_time,
    cure,
    cure_through,
    cure_time,
    degree_of_cure,
    self_speeding_cure,
    strength_share,
    ten_degree_factor,
)
from linewright.physics.fitting import fit_constants
from linewright.physics.ranges import RangeWarning
from linewright.physics.solvent import evaporation_rate, flash_off_time


@given(st.floats(0.01, 0.99), st.floats(1e-6, 1.0), st.sampled_from([0.5, 1.0, 1.5, 2.0]))
def test_time_and_degree_are_one_law(degree: float, rate: float, order: float) -> None:
    assert degree_of_cure(cure_time(degree, rate, order), rate, order) == pytest.approx(degree, abs=1e-9)


@pytest.mark.parametrize("order", [0.5, 1.0, 2.0])
def test_against_integration(order: float) -> None:
    times = np.linspace(0, 1500, 16)
    solved = solve_ivp(lambda _, a: 1e-3 * np.maximum(1 - a, 0) ** order, (0, 1500), [0.0], t_eval=times, rtol=1e-10,
                       atol=1e-12)  # fmt: skip
    assert degree_of_cure(times, 1e-3, order) == pytest.approx(solved.y[0], abs=1e-7)


def test_self_speeding_cure_against_its_closed_form() -> None:
    """For m = n = 1: a = (1 - e) / (1 + k2 / k1 e) with e = exp(-(k1 + k2) t)."""
    t, k1, k2 = np.linspace(0, 2000, 21), 1e-4, 5e-3
    e = np.exp(-(k1 + k2) * t)
    assert self_speeding_cure(t, k1, k2) == pytest.approx((1 - e) / (1 + k2 / k1 * e), abs=1e-7)


def test_limits() -> None:
    assert degree_of_cure(0.0, 1.0) == 0.0
    assert degree_of_cure(1e9, 1.0) == 1.0
    assert cure_time(1.0, 1.0) == np.inf
    assert arrhenius_factor(20.0, 20.0, 60.0) == 1.0
    assert ten_degree_factor(20.0, 20.0, 3.0) == 1.0
    assert clamp_time(0.0, 0.01, 1000.0, 1e-3) == 0.0
    assert strength_share(0.1) == 0.0
    assert strength_share(1.0) == 1.0


def test_an_oven_that_holds_one_temperature_is_that_temperature() -> None:
    hours = np.linspace(0, 2, 9)
    rate = 2e-4 * float(arrhenius_factor(60.0, 25.0, 55.0))
    held = cure_through(hours, np.full(9, 60.0), 2e-4, 25.0, 55.0)
    assert held == pytest.approx(degree_of_cure(hours * 3600, rate), abs=1e-12)
    warming = cure_through(hours, np.linspace(25, 60, 9), 2e-4, 25.0, 55.0)
    assert np.all(warming[1:] < held[1:])


def test_energy_from_two_tests_gives_back_their_ratio() -> None:
    e = activation_energy(20.0, 5400.0, 45.0, 600.0)
    assert float(arrhenius_factor(45.0, 20.0, e)) == pytest.approx(9.0)
    with pytest.raises(ProblemsError, match="two different temperatures"):
        activation_energy(20.0, 1.0, 20.0, 2.0)


def test_a_clamp_opens_when_the_joint_holds() -> None:
    t = float(clamp_time(0.2, 0.004, 2000.0, 1e-3, margin=3.0))
    strength = float(strength_share(degree_of_cure(t, 1e-3))) * 2000.0 * 0.004
    assert strength == pytest.approx(3.0 * 0.2, rel=1e-9)
    with pytest.raises(ProblemsError, match="even the cured joint would not hold"):
        clamp_time(10.0, 0.004, 2000.0, 1e-3)


def test_solvent_leaves_by_mass() -> None:
    assert flash_off_time(0.06, 1e-4, 0.5, 0.5) == pytest.approx(0.03 / 1e-4)
    assert flash_off_time(0.06, 1e-4, 0.01) > flash_off_time(0.06, 1e-4, 0.05)
    # 101.325 kPa of an ideal gas of 1 g/mol at 0 degC is 1/22.414 kg/m3: the ideal gas law.
    assert float(evaporation_rate(101.325, 1.0, 1.0, 0.0)) == pytest.approx(1 / 22.414, rel=1e-4)


def test_far_from_the_reference_it_warns() -> None:
    with pytest.warns(RangeWarning, match="away"):
        ten_degree_factor(70.0, 20.0, 2.0)


def test_constants_from_own_tests() -> None:
    t = np.array([300.0, 600, 900, 1800, 3600])
    found = fit_constants(lambda x, c: degree_of_cure(x, c["rate"]), t, degree_of_cure(t, 8e-4), {"rate": 1e-3})
    assert found.value("rate") == pytest.approx(8e-4, rel=1e-6)


def test_common_practice_of_a_heated_bond() -> None:
    """Common practice, no source: a heated flange bond is handled after about 15 minutes."""
    found = cure(3600.0, 20.0, 40.0)
    assert found.seconds / 60 == pytest.approx(15.0)
    assert found.outcome("full strength after") > 15
    assert {c.hazard for c in found.cautions} == {"solvent vapour", "resin skin contact"}
