"""Heating and cooling: series against steps, limits, energy closed, a block against its slabs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.base.problems import ProblemsError
from linewright.physics.air_film import air_properties, still_air_transfer
from linewright.physics.cooling import block_ratio, block_time, cool_board, slab_time
from linewright.physics.layers import slab_profile
from linewright.physics.lumped import lumped_temperature, lumped_time, tank_time
from linewright.physics.ranges import RangeWarning
from linewright.physics.slab import EARLY, slab_fourier, slab_mean_ratio, slab_ratio, slab_roots

BOARD = {"transfer": 10.0, "conductivity": 0.12, "density": 680.0, "heat_capacity": 1.7}


def test_roots_lie_in_their_brackets_and_solve() -> None:
    bi = np.geomspace(1e-9, 1e9, 500)
    z = slab_roots(bi)
    k = np.arange(z.shape[-1]) * np.pi
    assert np.all((z > k) & (z < k + np.pi / 2))
    assert np.max(np.abs(z * np.sin(z) - bi[:, None] * np.cos(z)) / (z + bi[:, None])) < 1e-12


@pytest.mark.parametrize("biot", [1e-3, 0.1, 1.0, 20.0, 1e4])
def test_early_and_late_solutions_meet(biot: float) -> None:
    x = np.linspace(0, 1, 11)
    before, after = slab_ratio(x, EARLY * (1 - 1e-13), biot), slab_ratio(x, EARLY, biot)
    assert np.max(np.abs(before - after)) < 1e-11
    assert abs(slab_mean_ratio(EARLY * (1 - 1e-13), biot) - slab_mean_ratio(EARLY, biot)) < 1e-11


def test_the_mean_is_the_mean() -> None:
    nodes, weights = np.polynomial.legendre.leggauss(40)
    x = (nodes + 1) / 2
    for fo in (0.005, 0.05, 0.5):
        assert float(slab_ratio(x, fo, 3.0) @ weights) / 2 == pytest.approx(float(slab_mean_ratio(fo, 3.0)), abs=1e-8)


def test_limits_of_the_slab() -> None:
    assert slab_ratio(0.3, 0.0, 2.0) == pytest.approx(1.0, abs=1e-12)  # nothing has happened
    assert slab_ratio(0.3, 1e3, 2.0) == pytest.approx(0.0, abs=1e-12)  # infinite time
    # A tiny Biot number: the slab has one temperature and cools as a lumped body.
    bi, fo = 1e-7, 3e6
    assert slab_mean_ratio(fo, bi) == pytest.approx(np.exp(-bi * fo), rel=1e-6)
    assert slab_ratio(0.0, fo, bi) == pytest.approx(float(slab_ratio(1.0, fo, bi)), rel=1e-6)


@given(st.floats(0.01, 0.999), st.floats(-4, 4), st.sampled_from(["mean", 0.0, 0.5, 1.0]))
def test_reading_the_series_backwards(ratio: float, log_biot: float, place: float | str) -> None:
    bi = 10.0**log_biot
    fo = float(slab_fourier(ratio, bi, place))
    back = slab_mean_ratio(fo, bi) if isinstance(place, str) else slab_ratio(place, fo, bi)
    assert float(back) == pytest.approx(ratio, abs=1e-10)


def test_series_and_steps_agree_and_steps_are_second_order() -> None:
    errors = []
    for cells, steps in ((30, 200), (60, 400), (120, 800)):
        found = slab_profile(0.02, 100.0, 20.0, duration=1800.0, cells=cells, steps=steps, **BOARD)
        fo = 0.12 / (680 * 1700) * found.times / 0.01**2
        late = slice(steps // 10, None)
        exact = 20 + 80 * slab_mean_ratio(fo, 10 * 0.01 / 0.12)
        errors.append(float(np.max(np.abs(found.mean - exact)[late])))
    assert errors[2] < 5e-4  # degC, of 80
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.1)


def test_energy_is_conserved_with_changing_surroundings() -> None:
    around = 20 + 30 * np.sin(np.linspace(0, 9, 301))
    found = slab_profile(0.02, np.linspace(90, 40, 40), around, duration=3600.0, cells=40, steps=300, **BOARD)
    assert np.max(np.abs(found.gained - found.let_in)) < 1e-9 * np.max(np.abs(found.gained))


def test_heat_of_a_cooled_board_is_its_own() -> None:
    found = cool_board(0.018, 105.0, 105.0 - 1e-6, 20.0)
    assert found.seconds < 1
    cold = cool_board(0.018, 105.0, 40.0, 20.0, 10.0)
    assert cold.outcome("heat given off") == pytest.approx(680 * 1.7 * 0.018 * (105 - 40), rel=1e-9)


def test_no_difference_takes_no_time_and_the_air_is_never_reached() -> None:
    assert slab_time(0.018, 60.0, 60.0, 20.0, **BOARD) == 0.0
    assert slab_time(0.018, 20.0, 20.0, 20.0, **BOARD) == 0.0
    assert slab_time(0.018, 60.0, 20.0, 20.0, **BOARD) == np.inf
    assert lumped_time(60.0, 60.0, 20.0, 10.0, 0.01, 680.0, 1.7) == 0.0
    assert lumped_time(60.0, 20.0, 20.0, 10.0, 0.01, 680.0, 1.7) == np.inf
    assert block_time(60.0, 60.0, 20.0, (0.1, 0.2, 0.3), **BOARD) == 0.0
    with pytest.raises(ProblemsError, match="10 degC cannot be reached from 60 degC in surroundings of 20 degC"):
        slab_time(0.018, 60.0, 10.0, 20.0, **BOARD)


def test_heating_is_cooling_turned_round() -> None:
    assert slab_time(0.018, 20.0, 85.0, 105.0, **BOARD) == pytest.approx(
        float(slab_time(0.018, 105.0, 40.0, 20.0, **BOARD)), rel=1e-12
    )


def test_a_lumped_body_of_high_biot_warns() -> None:
    with pytest.warns(RangeWarning, match="biot"):
        lumped_time(105.0, 40.0, 20.0, 10.0, 0.009, 680.0, 1.7, 0.05)


def test_lumped_time_and_temperature_are_one_law() -> None:
    t = float(lumped_time(90.0, 30.0, 20.0, 15.0, 0.01, 1000.0, 4.18))
    assert lumped_temperature(t, 90.0, 20.0, 1000.0 * 4180 * 0.01 / 15.0) == pytest.approx(30.0, abs=1e-9)


def test_a_block_cools_faster_than_its_thinnest_slab_and_a_wide_one_as_that_slab() -> None:
    near, far = (0.3, 0.4, 0.5), (0.3, 300.0, 300.0)
    slab = float(slab_time(0.3, 60.0, 30.0, 20.0, **BOARD))
    assert block_time(60.0, 30.0, 20.0, near, **BOARD) < slab
    assert block_time(60.0, 30.0, 20.0, far, **BOARD) == pytest.approx(slab, rel=0.01)
    assert block_ratio(3600.0, near, place="core", **BOARD) > block_ratio(3600.0, near, **BOARD)


def test_a_tank_is_slower_when_larger_and_never_below_its_coolant() -> None:
    small, large = tank_time([1000.0, 5000.0], 17.0, 5.0, -4.0, 150.0, 8.0)
    assert large == pytest.approx(5 * small)
    with pytest.raises(ProblemsError, match="cannot be reached"):
        tank_time(1000.0, 17.0, -6.0, -4.0, 150.0, 8.0)


def test_still_air_of_no_difference_leaves_radiation() -> None:
    k, _, _ = air_properties(20.0)
    h = still_air_transfer(20.0, 20.0, 1.0)
    assert h == pytest.approx(0.825**2 * float(k) + 0.9 * 5.670374419e-8 * 4 * 293.15**3, rel=1e-9)


def test_common_practice_half_an_hour_before_sanding() -> None:
    """Common practice, no source: boards of 18 mm from the hot press are sanded after about half an hour."""
    assert cool_board(0.018, 105.0, 40.0, 22.0).seconds / 60 == pytest.approx(30, abs=8)
