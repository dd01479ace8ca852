"""Sugar, gravity, alcohol, gas and heat of fermentation against tables and chemistry.

OIML R 22 and the handbook densities of ethanol in water are from memory of the tables, as are the ASBC sugar table
and the printed hydrometer correction; Gay-Lussac's sum and the enthalpies are computed from tabled values.
"""

from __future__ import annotations

import numpy as np
import pytest

from linewright.physics.ferment import HEAT, gas_litres
from linewright.physics.sugar import (
    ETHANOL_PER_SUGAR,
    GAS_PER_SUGAR,
    alcohol_from_gravities,
    corrected_gravity,
    extract,
    fermenting_gravity,
    gravity_of,
    plato,
    potential_alcohol,
)
from linewright.physics.water_alcohol import ethanol_water_density, mass_share_of, strength_by_volume, water_density


@pytest.mark.parametrize(
    ("t", "density"), [(4.0, 999.97), (15.0, 999.10), (20.0, 998.20), (25.0, 997.05), (40.0, 992.22)]
)
def test_water(t: float, density: float) -> None:
    """Handbook values of water (CRC Handbook, from memory)."""
    assert float(water_density(t)) == pytest.approx(density, abs=0.02)


@pytest.mark.parametrize(("mass", "density"), [(0.0, 998.20), (0.1, 981.87), (0.2, 968.64), (0.4, 935.18),
                                               (0.6, 891.13), (0.8, 843.44), (1.0, 789.3)])  # fmt: skip
def test_ethanol_in_water(mass: float, density: float) -> None:
    """Handbook densities at 20 degC (CRC and Perry's, from memory), which differ from OIML by up to 0.1."""
    assert float(ethanol_water_density(mass)) == pytest.approx(density, abs=0.1)


def test_pure_ethanol_closes_the_table() -> None:
    """OIML R 22: 789.24 kg/m3 at 20 degC defines 100 % vol."""
    assert float(ethanol_water_density(1.0)) == pytest.approx(789.24, abs=0.002)
    assert float(strength_by_volume(1.0)) == pytest.approx(1.0, abs=2e-6)
    q = np.linspace(0, 1, 21)
    assert strength_by_volume(mass_share_of(q)) == pytest.approx(q, abs=2e-6)


@pytest.mark.parametrize(("gravity", "degrees"), [(1.040, 9.994), (1.050, 12.388), (1.080, 19.331)])
def test_plato(gravity: float, degrees: float) -> None:
    """The ASBC polynomial; the table itself has 10 P at 1.0400 (from memory)."""
    assert float(plato(gravity)) == pytest.approx(degrees, abs=0.01)
    assert float(gravity_of(degrees)) == pytest.approx(gravity, abs=1e-4)


@pytest.mark.parametrize("gravity", [1.040, 1.050, 1.080])
def test_the_brewers_rule_of_259(gravity: float) -> None:
    """259 - 259 / s, a rule of thumb, stays within 0.15 P."""
    assert float(plato(gravity)) == pytest.approx(259 - 259 / gravity, abs=0.15)


def test_brix_20_is_a_gravity_of_1083_and_216_grams() -> None:
    """Sucrose tables (from memory): 20 Brix is 1.0830 at 20/20 and 216 g/L."""
    assert float(gravity_of(20.0)) == pytest.approx(1.0830, abs=2e-4)
    assert float(extract(gravity_of(20.0))) == pytest.approx(216.2, abs=0.3)


@pytest.mark.parametrize("celsius", [10.0, 15.0, 25.0, 30.0, 35.0])
def test_hydrometer_correction(celsius: float) -> None:
    """The printed cubic in degF (Lyons, from memory) is the expansion of water; both meet within 0.0006."""

    def cubic(f: float) -> float:
        return 1.00130346 - 1.34722124e-4 * f + 2.04052596e-6 * f**2 - 2.32820948e-9 * f**3

    other = 1.050 * cubic(celsius * 1.8 + 32) / cubic(68.0)
    assert float(corrected_gravity(1.050, celsius)) == pytest.approx(other, abs=6e-4)
    assert float(corrected_gravity(1.050, 20.0)) == 1.050


def test_gay_lussac() -> None:
    assert pytest.approx(2 * 46.068 / 180.156, abs=1e-4) == ETHANOL_PER_SUGAR
    assert pytest.approx(2 * 44.0095 / 180.156, abs=1e-4) == GAS_PER_SUGAR
    assert abs(ETHANOL_PER_SUGAR + GAS_PER_SUGAR - 1) < 1e-4
    assert pytest.approx(15.43, abs=0.01) == 789.24 / 100 / ETHANOL_PER_SUGAR


def test_gas_of_200_grams() -> None:
    """97.71 g/L of gas: 53.4 L at 20 degC and 49.8 L at 0 degC, as an ideal gas."""
    assert float(gas_litres(200 * GAS_PER_SUGAR)) == pytest.approx(53.4, abs=0.1)
    assert float(gas_litres(200 * GAS_PER_SUGAR, 0.0)) == pytest.approx(49.8, abs=0.1)
    # Measured density at 20 degC is 1.8393 kg/m3 (reference equation of state): the ideal gas is within 1 %.
    assert 1 / float(gas_litres(1.0)) == pytest.approx(1.8393, rel=0.01)


def test_alcohol_of_a_beer() -> None:
    """Balling against the short rule 131.25 (s_0 - s_1) (both from memory): within 0.2 points at 5 % vol."""
    assert 100 * float(alcohol_from_gravities(1.050, 1.010)) == pytest.approx(131.25 * 0.040, abs=0.2)


def test_practice_of_16_to_17_grams_for_a_percent() -> None:
    """A trade glossary: 16 to 17 g/L of sugar for each per cent."""
    assert 16 < 190.0 / (100 * float(potential_alcohol(190.0))) < 17


def test_a_dry_wine_reads_below_water() -> None:
    """Common practice: a dry white of 12 % vol reads 0.990 to 0.995."""
    assert 0.990 < float(fermenting_gravity(22.0, 0.12)) < 0.995


def test_heat_against_enthalpies_of_formation() -> None:
    """Dissolved glucose -1262.2, dissolved ethanol -288.3, gas -393.5 kJ/mol (NBS, from memory): 101.4 kJ/mol."""
    mole = -(2 * -288.3 + 2 * -393.5 + 1262.2)
    assert mole == pytest.approx(101.4, abs=0.1)
    assert pytest.approx(mole, rel=0.03) == HEAT * 180.156
