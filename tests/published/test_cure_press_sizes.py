"""Arrhenius, rate laws, sizes, screens and presses against textbook figures.

Q10 values follow from the gas constant (CODATA 2018). The others are from memory of the books named beside them, or
identities that any book on the subject prints.
"""

from __future__ import annotations

import numpy as np
import pytest

from linewright.physics.cure import arrhenius_factor, cure_time, degree_of_cure
from linewright.physics.ferment import GAS_CONSTANT
from linewright.physics.mat import heat_mat
from linewright.physics.press import oil_pressure, pressure_on
from linewright.physics.screen import Mill, mill_matrix, to_oversize
from linewright.physics.sizes import fit_sizes, rosin_rammler, sizes_by_law
from linewright.physics.slab import slab_fourier


@pytest.mark.parametrize(("energy", "factor"), [(50.0, 1.967), (60.0, 2.252), (83.14, 3.081)])
def test_ten_degrees_from_20_to_30(energy: float, factor: float) -> None:
    """Arrhenius with R = 8.314462618 J/(mol K)."""
    assert float(arrhenius_factor(30.0, 20.0, energy)) == pytest.approx(factor, abs=1e-3)


def test_the_rule_of_doubling_is_53_kilojoules() -> None:
    """Atkins, Physical Chemistry (from memory): a rate that doubles from 25 to 35 degC has E of about 53 kJ/mol."""
    assert float(arrhenius_factor(35.0, 25.0, 52.9)) == pytest.approx(2.0, abs=0.01)


def test_half_lives() -> None:
    """First order: ln 2 / k. Second order: 1 / k. Any text on kinetics."""
    assert float(cure_time(0.5, 2e-3)) == pytest.approx(np.log(2) / 2e-3)
    assert float(cure_time(0.5, 2e-3, 2.0)) == pytest.approx(1 / 2e-3)
    assert float(degree_of_cure(3 / 2e-3, 2e-3)) == pytest.approx(0.9502, abs=1e-4)


def test_gas_constant() -> None:
    """CODATA 2018, and 22.414 L of a mole of ideal gas at 0 degC and 101.325 kPa."""
    assert pytest.approx(22.414, abs=1e-3) == GAS_CONSTANT * 273.15 / 101.325


@pytest.mark.parametrize(("spread", "middle"), [(1.0, 2.0), (1.5, 1.4), (2.5, 0.7)])
def test_rosin_rammler_landmarks(spread: float, middle: float) -> None:
    """63.2 % is finer than the characteristic size; the median is d' (ln 2)^(1/n) (Allen)."""
    assert float(rosin_rammler(middle, middle, spread)) == pytest.approx(0.632, abs=2e-4)
    assert float(rosin_rammler(middle * np.log(2) ** (1 / spread), middle, spread)) == pytest.approx(0.5, abs=1e-12)


def test_the_law_is_a_weibull_distribution() -> None:
    """Against SciPy's Weibull distribution."""
    from scipy import stats

    d = np.linspace(0, 5, 30)
    assert rosin_rammler(d, 1.4, 1.5) == pytest.approx(stats.weibull_min.cdf(d, 1.5, scale=1.4), abs=1e-12)


def test_straight_on_rosin_rammler_paper() -> None:
    """ln(-ln(1 - F)) is a straight line in ln d of slope n: the fit finds what a ruler would."""
    d = np.array([0.3, 0.6, 1.2, 2.4])
    found = fit_sizes(d, rosin_rammler(d, 1.1, 1.3))
    line = np.polyfit(np.log(d), np.log(-np.log1p(-rosin_rammler(d, 1.1, 1.3))), 1)
    assert found.value("spread") == pytest.approx(line[0], rel=1e-5)


def test_partition_curve_of_a_screen() -> None:
    """A half goes over at the cut size; d75 / d25 of the curve is (2 / 0.415)^(1/m) (Wills, Mineral Processing)."""
    m = 6.0
    d25, d75 = (1.8 * (np.log(1 / (1 - e)) / np.log(2)) ** (1 / m) for e in (0.25, 0.75))
    assert to_oversize([d25, 1.8, d75], 2.0, m) == pytest.approx([0.25, 0.5, 0.75], abs=1e-12)
    assert d75 / d25 == pytest.approx((2 / 0.41504) ** (1 / m), rel=1e-4)


def test_breakage_matrix_by_hand() -> None:
    """Classes 0-1, 1-2, 2-4 mm, all of the two coarse broken, pieces in proportion to size: worked by hand."""
    p = mill_matrix([0.0, 1.0, 2.0, 4.0], Mill(chance=1.0, rise=0.0, fineness=1.0))
    # From 2-4 mm: finer than 1 mm a half of what lies below 2 mm; from 1-2 mm all goes below 1 mm.
    assert p[:, 2] == pytest.approx([0.5, 0.5, 0.0])
    assert p[:, 1] == pytest.approx([1.0, 0.0, 0.0])
    assert p[:, 0] == pytest.approx([1.0, 0.0, 0.0])


def test_hydraulics() -> None:
    """Pascal: a 100 mm ram at 200 bar pushes 157 kN (any table of cylinders)."""
    assert float(oil_pressure(157.08, 0.100, 1.0, 1.0)) / 100 == pytest.approx(200, abs=0.1)
    assert float(pressure_on(9.80665, 1e-4)) == pytest.approx(98066.5)  # 1 tonne-force on a cm2


def test_a_dry_mat_follows_the_handbook_chart() -> None:
    """Heated from both faces held at once, the middle is at half at Fo = 0.379 (Carslaw and Jaeger, fig. 11)."""
    assert float(slab_fourier(0.5, 1e9, 0.0)) == pytest.approx(0.379, abs=1e-3)
    dry = heat_mat(0.02, 120.0, 70.0, start=20.0, moisture=0.0, cells=60)
    spread = 0.15 / (650.0 * 1350.0)
    assert dry.seconds * spread / 0.01**2 == pytest.approx(0.379, abs=5e-3)


def test_mass_over_the_sieves_adds_up() -> None:
    assert sum(sizes_by_law(1.4, 1.5).shares) == pytest.approx(1.0, abs=1e-12)
