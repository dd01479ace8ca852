"""Equilibrium moisture against USDA Forest Products Laboratory, Wood Handbook (2021), table 4-2 and equation 4-5."""

from __future__ import annotations

import numpy as np
import pytest

from linewright.physics.moisture import equilibrium_moisture


@pytest.mark.parametrize(("humidity", "percent"), [(0.05, 1.3), (0.30, 6.2), (0.50, 9.2), (0.75, 14.4), (0.95, 23.9)])
def test_table_4_2_at_21_degrees(humidity: float, percent: float) -> None:
    """Row of 70 degF (21.1 degC), as quoted."""
    assert 100 * float(equilibrium_moisture(21.1, humidity)) == pytest.approx(percent, abs=0.06)


def test_a_cell_where_table_and_equation_part() -> None:
    """At 85 % the table prints 17.9 and the equation gives 17.95: a split of rounding, so the equation is held."""
    assert 100 * float(equilibrium_moisture(21.1, 0.85)) == pytest.approx(17.95, abs=0.01)


def test_the_two_forms_of_the_equation_agree() -> None:
    """The handbook gives coefficients for degF too; both forms meet within 0.02 points of moisture."""
    f = np.linspace(30.5, 212.0, 40)[:, None]
    h = np.linspace(0.05, 0.95, 19)[None, :]
    w = 330 + 0.452 * f + 0.00415 * f**2
    k = 0.791 + 0.000463 * f - 0.000000844 * f**2
    k1 = 6.34 + 0.000775 * f - 0.0000935 * f**2
    k2 = 1.09 + 0.0284 * f - 0.0000904 * f**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    other = 1800 / w * (kh / (1 - kh) + bound)
    found = 100 * equilibrium_moisture((f - 32) / 1.8, h)
    assert np.max(np.abs(found - other)[:, :15]) < 0.05
    assert np.max(np.abs(found - other)[f[:, 0] < 130]) < 0.06
