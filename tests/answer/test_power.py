"""The peak of a simulated day: a machine that runs all day, one that stands by, one that cures through the night."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.answer import Answer, answer
from linewright.plan import PlanBuilder
from linewright.report import energy


def played(time: str, power: Any, places: int = 1, **operation: Any) -> Answer:
    builder = PlanBuilder("Press", money="EUR", makes="part", demand="24 each/day")
    builder.item("part", unit="each").utility("electricity", price="0.2 EUR/kWh")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=2, shift="day", wage="30 EUR/h")
    builder.station("press", power=power, places=places)
    builder.route("main", gives="part").operation("press", station="press", crew={"hand": 1}, time=time, **operation)
    return answer(builder.build(), simulate=True, budget_seconds=1.0)


def test_a_press_that_runs_all_the_time() -> None:
    """24 runs of 20 min fill the 8 hours: the peak is its power."""
    power = played("20 min", {"running": "9 kW", "idle": "1 kW"}).energy.power
    assert power is not None
    assert power.peak == pytest.approx(9.0)
    assert power.total == pytest.approx(72.0)


def test_a_press_that_runs_half_of_the_time() -> None:
    """By takt, 10 of each 20 min: in a quarter of an hour at most 10 min at 9 kW and 5 min at 1 kW."""
    power = played("10 min", {"running": "9 kW", "idle": "1 kW"}).energy.power
    assert power is not None
    assert power.peak == pytest.approx((10 * 9 + 5 * 1) / 15)
    assert power.mean == pytest.approx(5.0)


def test_two_places_draw_twice() -> None:
    power = played("40 min", "9 kW", places=2).energy.power
    assert power is not None
    assert power.connected == pytest.approx(18.0)
    assert power.peak == pytest.approx(18.0)


def test_what_stands_is_held() -> None:
    """1 min of work at 9 kW, then 17 min at 3 kW: most of a quarter is held."""
    power = played("1 min", {"running": "9 kW", "holding": "3 kW"}, stand="17 min").energy.power
    assert power is not None
    assert power.peak == pytest.approx((1 * 9 + 14 * 3) / 15)


def test_it_is_told() -> None:
    found = played("10 min", {"running": "9 kW", "idle": "1 kW"})
    assert energy.in_short(found) == (
        "The stations draw 40 kWh a working day, 1.67 kWh for one part; 10 % of it while nothing is done. "
        "9 kW are connected. The greatest quarter of an hour on the simulated day took 6.33 kW.",
    )
    assert energy.tables(found)[0].rows[0][0] == "press"
