"""Energy of a day by hand: running, holding and idle power, what it costs, and what is said where it is not known."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.capacity import measure_capacity
from linewright.cost import Cost, cost_of_one
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder


def price(builder: PlanBuilder) -> Cost:
    network = compile_network(builder.build())
    flow = solve_flow(network)
    return cost_of_one(network, flow, measure_capacity(network, flow))


def stool(power: Any, *utilities: str, **operation: Any) -> PlanBuilder:
    builder = PlanBuilder("Stool", money="EUR", makes="stool", demand="30 each/day")
    builder.item("stool", unit="each").shift("day", hours="06:00-14:00", days="Mon-Fri")
    for name in utilities:
        builder.utility(name, price="0.20 EUR/kWh")
    builder.crew("hand", people=1, shift="day", wage="30 EUR/h").station("press", power=power)
    fields = {"station": "press", "crew": {"hand": 1}, "time": "10 min", **operation}
    builder.route("main", gives="stool").operation("press", **fields)
    return builder


def test_running_and_idle_by_hand() -> None:
    """30 runs of 10 min at 6 kW are 30 kWh; the other 3 of 8 h at 2 kW are 6 kWh; 36 x 0.20 / 30 = 0.24 each."""
    found = price(stool({"running": "6 kW", "idle": "2 kW"}, "electricity"))
    (press,) = found.energy
    assert (press.running, press.holding, press.idle) == pytest.approx((30.0, 0.0, 6.0))
    assert (press.connected, press.money) == pytest.approx((6.0, 7.2))
    one = found.of("stool")
    assert one.parts.energy == pytest.approx(0.24)
    assert one.kwh == pytest.approx(1.2)
    assert sum(o.energy for o in one.by_operation) == pytest.approx(0.24)


def test_holding_while_a_piece_stands() -> None:
    """5 min of work and 5 min of cure: 15 kWh running, 2.5 h at 4 kW held; what is not written idles at nothing."""
    found = price(stool({"running": "6 kW", "holding": "4 kW"}, "electricity", time="5 min", stand="5 min"))
    (press,) = found.energy
    assert (press.running, press.holding, press.idle) == pytest.approx((15.0, 10.0, 0.0))


def test_holding_is_as_idle_where_it_is_not_written() -> None:
    found = price(stool({"running": "6 kW", "idle": "1 kW"}, "electricity", time="5 min", stand="5 min"))
    assert found.energy[0].holding == pytest.approx(2.5)


def test_setups_run_the_station_too() -> None:
    found = price(stool("6 kW", "electricity", setup={"time": "20 min", "every": "10 each"}))
    assert found.energy[0].running == pytest.approx(30 + 6)


def test_energy_of_scrap_is_scrap_and_of_rework_rework() -> None:
    """Of 30 good ones at 80 % yield 37.5 are run: the energy of 7.5 is waste."""
    found = price(stool("6 kW", "electricity", yield_="80 %"))
    parts = found.of("stool").parts
    assert parts.energy == pytest.approx(0.20)
    assert parts.scrap == pytest.approx((0.20 + 5.0) * 0.25)


def test_a_plan_that_says_nothing_draws_nothing() -> None:
    found = price(stool(None))
    assert found.energy == ()
    assert found.of("stool").parts.energy == 0.0


def test_what_it_runs_on_must_be_clear() -> None:
    with pytest.raises(ProblemsError, match="no utility is declared"):
        price(stool("6 kW"))
    with pytest.raises(ProblemsError, match="there are several utilities"):
        price(stool("6 kW", "electricity", "steam"))
    found = price(stool({"running": "6 kW", "of": "steam"}, "electricity", "steam"))
    assert found.energy[0].utility == "steam"
    with pytest.raises(ProblemsError, match='no utility is called "stem"'):
        price(stool({"running": "6 kW", "of": "stem"}, "electricity", "steam"))


def test_a_utility_without_a_price_is_named() -> None:
    builder = stool("6 kW")
    builder.utility("electricity")
    found = price(builder)
    assert "electricity has no price" in found.missing
    assert found.energy[0].total == pytest.approx(30.0)


def test_wrong_power_is_a_problem() -> None:
    for wrong in ("6 kWh", 6, "-1 kW", {"idle": "1 kW"}):
        with pytest.raises(ProblemsError):
            price(stool(wrong, "electricity"))
