"""The press: one relation of force, area and pressure; the cycle; the mat's core with heat and water closed."""

from __future__ import annotations

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.physics.cooling import slab_time
from linewright.physics.dryer_heat import DRY_WOOD_HEAT
from linewright.physics.lumped import WATER_HEAT
from linewright.physics.mat import heat_mat
from linewright.physics.press import closing_time, force_for, oil_pressure, press_cycle, pressure_on
from linewright.physics.ranges import RangeWarning


def test_pressure_and_force_are_one_relation() -> None:
    areas = np.array([0.5, 2.0, 2.9768])
    assert pressure_on(force_for(3000.0, areas), areas) == pytest.approx(np.full(3, 3000.0), rel=1e-12)
    # 1 kN on 10 cm x 10 cm is 100 kPa, 1 bar.
    assert pressure_on(1.0, 0.01) == pytest.approx(100.0)
    assert oil_pressure(100.0, 0.1, 1.0, 1.0) == pytest.approx(100.0 / (np.pi * 0.0025), rel=1e-12)


def test_closing() -> None:
    assert closing_time(0.2, 0.05, 0.01, 0.0) == pytest.approx(4.0)
    assert closing_time(0.2, 0.05, 0.01, 0.2) == pytest.approx(20.0)
    with pytest.raises(ProblemsError, match="longer than the gap"):
        closing_time(0.1, 0.05, 0.01, 0.2)


def test_the_cycle_of_the_board_mill() -> None:
    """Load 25 s, close 22 s, 12 s a mm for 18 mm, vent 15 s, unload 28 s: 306 s."""
    found = press_cycle(18.0, 12.0, 6.0, 40.3)
    assert found.seconds == 306.0
    assert found.warming + found.evaporating + found.standing == pytest.approx(found.heat, rel=1e-12)
    assert {c.hazard for c in found.cautions} == {"hot press", "pinch points", "formaldehyde resin"}
    cold = press_cycle(18.0, 12.0, 6.0, 40.3, start=115.0, mean=115.0, steam=0.0, idle=0.0)
    assert cold.heat == 0.0


@pytest.mark.parametrize("inward", [0.0, 0.5, 1.0])
def test_heat_of_the_mat_is_closed(inward: float) -> None:
    found = heat_mat(0.018, 200.0, inward=inward)
    kept = found.outcome("heat stored") + found.outcome("heat of lost steam")
    assert kept == pytest.approx(found.outcome("heat taken in"), rel=1e-9)


def test_water_of_the_mat_is_closed() -> None:
    found = heat_mat(0.018, 200.0, 99.9, inward=0.5)
    gone = 0.10 - found.curve.values("moisture")[-1]
    assert gone * 650.0 * 0.018 == pytest.approx(found.outcome("steam lost"), rel=1e-9)


def test_without_water_it_is_conduction() -> None:
    """A bone-dry mat between platens held at once: the slab series with an infinite face transfer."""
    found = heat_mat(0.018, 180.0, 90.0, moisture=0.0, cells=60)
    exact = slab_time(0.018, 25.0, 90.0, 180.0, 1e7, 0.15, 650.0, DRY_WOOD_HEAT, 0.0)
    assert found.seconds == pytest.approx(float(exact), rel=0.01)


def test_steam_speeds_the_core_and_thickness_slows_it() -> None:
    seconds = [heat_mat(0.018, 200.0, inward=i).seconds for i in (0.0, 0.5, 1.0)]
    assert seconds[0] > seconds[1] > seconds[2]
    assert heat_mat(0.025, 200.0).seconds > heat_mat(0.018, 200.0).seconds
    assert heat_mat(0.018, 180.0).seconds > heat_mat(0.018, 200.0).seconds


def test_limits_and_refusals() -> None:
    assert heat_mat(0.018, 200.0, 25.0).seconds == 0.0
    assert heat_mat(0.018, 200.0, longest=5.0).seconds == np.inf
    with pytest.raises(ProblemsError, match="cannot be reached between platens"):
        heat_mat(0.018, 90.0, 98.0)
    with pytest.warns(RangeWarning, match="thickness"):
        heat_mat(0.002, 200.0)
    assert WATER_HEAT == 4.18


def test_common_practice_of_an_18_mm_board() -> None:
    """Common practice, no source: 8 to 14 s of pressing for each mm; the core is warm before the press opens."""
    assert 60 < heat_mat(0.018, 200.0, inward=0.8).seconds < 14 * 18
