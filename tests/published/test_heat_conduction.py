"""Transient conduction and air against Incropera and DeWitt, Fundamentals of Heat and Mass Transfer.

Table 5.1 values are root-solved and agree with the printed ones to their digits; example 5.1 and table A.4 are
quoted from memory of the book. The last check is of SciPy's integrator, on another grid.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from linewright.physics.air_film import air_properties
from linewright.physics.cooling import slab_time
from linewright.physics.lumped import biot, lumped_time
from linewright.physics.slab import slab_ratio, slab_roots

# Bi, zeta_1 [rad], C_1: Incropera and DeWitt, table 5.1, plane wall.
TABLE_5_1 = [
    (0.01, 0.0998, 1.0017), (0.1, 0.3111, 1.0161), (0.5, 0.6533, 1.0701), (1.0, 0.8603, 1.1191),
    (5.0, 1.3138, 1.2402), (10.0, 1.4289, 1.2620), (100.0, 1.5552, 1.2731),
]  # fmt: skip


@pytest.mark.parametrize(("bi", "zeta", "factor"), TABLE_5_1)
def test_one_term_table(bi: float, zeta: float, factor: float) -> None:
    z = float(slab_roots(bi, 1)[0])
    assert z == pytest.approx(zeta, abs=1e-4)
    assert 4 * np.sin(z) / (2 * z + np.sin(2 * z)) == pytest.approx(factor, abs=1e-4)


@pytest.mark.parametrize(
    ("fo", "bi", "theta"), [(0.2, 1.0, 0.95064), (0.5, 1.0, 0.77253), (1.0, 1.0, 0.53386), (0.2, 1e9, 0.77231)]
)
def test_full_series_at_the_middle(fo: float, bi: float, theta: float) -> None:
    """The Fourier series, computed independently; infinite Bi is the face held at once."""
    assert slab_ratio(0.0, fo, bi) == pytest.approx(theta, abs=1e-5)


def test_thermocouple_of_example_5_1() -> None:
    """Example 5.1: a junction of 0.706 mm, 5.2 s from 25 to 199 degC in gas of 200 degC (printed from memory)."""
    assert float(biot(400.0, 7.06e-4 / 6, 20.0)) == pytest.approx(0.00235, abs=1e-5)
    seconds = float(lumped_time(25.0, 199.0, 200.0, 400.0, 7.06e-4 / 6, 8500.0, 0.4, 20.0))
    assert seconds == pytest.approx(5.2, abs=0.05)


def test_semi_infinite_contact() -> None:
    """A thick body whose face is held: the error function (Carslaw and Jaeger, section 2.4)."""
    from scipy.special import erf

    fo, depth = 0.002, np.linspace(0, 0.3, 7)
    assert slab_ratio(1 - depth, fo, 1e12) == pytest.approx(erf(depth / (2 * np.sqrt(fo))), abs=1e-6)


@pytest.mark.parametrize(
    ("kelvin", "k", "nu", "prandtl"),
    [(250, 0.0223, 11.44e-6, 0.720), (300, 0.0263, 15.89e-6, 0.707), (350, 0.0300, 20.92e-6, 0.700)],
)
def test_air_of_table_a4(kelvin: float, k: float, nu: float, prandtl: float) -> None:
    """Table A.4 (values from memory): the fits stay within 2 %."""
    found = air_properties(kelvin - 273.15)
    assert [float(v) for v in found] == pytest.approx([k, nu, prandtl], rel=0.02)


@pytest.mark.parametrize("transfer", [8.0, 40.0, 400.0])
def test_a_board_in_air_against_lines_of_scipy(transfer: float) -> None:
    """Half of an 18 mm board in 200 cells, air at its face, BDF of SciPy in time, down to a mean of 40 degC."""
    half, cells, store, k = 0.009, 200, 680.0 * 1700.0, 0.12
    dx = half / cells
    outward = 1 / (dx / 2 / k + 1 / transfer)  # W/(m2 K) from the last cell's middle to the air
    rows = k / dx * (np.diag(np.full(cells - 1, 1.0), 1) + np.diag(np.full(cells - 1, 1.0), -1))
    rows -= np.diag(rows.sum(axis=1))
    rows[-1, -1] -= outward
    rows /= store * dx

    def cold(_: float, above: np.ndarray) -> float:  # type: ignore[type-arg]
        return float(above.mean()) - 20.0  # degC above the air's 20

    cold.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(lambda _, above: rows @ above, (0, 1e5), np.full(cells, 85.0), method="BDF", jac=rows,
                       events=cold, rtol=1e-8, atol=1e-8)  # fmt: skip
    ours = float(slab_time(0.018, 105.0, 40.0, 20.0, transfer, k, 680.0, 1.7))
    assert ours == pytest.approx(float(solved.t_events[0][0]), rel=2e-4)
