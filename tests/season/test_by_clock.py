"""Cleaning and starting up by the shift or day, over a season and in a steady state: averages beside the play."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import cellar
from test_season_played import played

from linewright.answer import answer
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.season import over_the_season
from linewright.simulate import simulate
from linewright.simulate.season_model import SeasonRun

WASH = 35 / 60  # h


def washed(after: str = "shift", **asked: Any) -> PlanBuilder:
    """The cellar with a press that is washed with 300 L of water and a hand, by the shift or by the day."""
    builder = cellar(**asked)
    builder.item("water", unit="L", buy="0.01 EUR")
    builder.document["routes"]["must"]["operations"][0]["clean"] = {
        "after": after, "time": "35 min", "crew": {"hand": 1}, "takes": {"water": "300 L"},
    }  # fmt: skip
    return builder


def used(network: Network, flow: Any, item: str) -> float:
    return float(flow.used[network.items.ids.index(item)])


def washings(run: SeasonRun, days: int, station: str = "press") -> float:
    """How often a place of one was washed, by the hours it was set up and cleaned."""
    setting_up = 2
    return float(run.state_share.mean[run.stations.index(station), setting_up]) * days * 24 / WASH


@pytest.mark.parametrize("after", ["shift", "day"])
def test_a_press_is_washed_on_as_many_days_as_its_work_fills(after: str) -> None:
    """70,000 L at 1,000 L/h are 8.75 shifts of 8 h, not the 79 working days of the season."""
    network, flow, _ = over_the_season(compile_network(washed(after, vats=4).build()))
    assert network.season is not None
    days = network.season.working_days
    assert used(network, flow, "water") * days == pytest.approx(8.75 * 300, rel=1e-9)
    press = measure_capacity(network, flow).of("station", "press")
    assert press.hours.cleaning * days == pytest.approx(8.75 * WASH, rel=1e-9)


def test_what_washing_costs_in_a_season() -> None:
    """8.75 times 300 L at 10 EUR and 35 min at 20 EUR/h for 70,000 L; money is told to a hundredth of a cent."""
    builder = washed(vats=4)
    builder.document["items"]["water"]["buy"] = "10 EUR"
    plain = answer(cellar(vats=4).build()).cost.products[0]
    found = answer(builder.build()).cost.products[0]
    by_hand = 8.75 * (3000 + 20 * WASH) / 70_000
    assert found.parts.setup - plain.parts.setup == pytest.approx(by_hand, abs=1e-4)


def test_a_press_with_more_work_than_the_season_is_washed_every_day() -> None:
    network, flow, _ = over_the_season(compile_network(washed(vats=4, weekly="200 t").build()))
    assert used(network, flow, "water") == pytest.approx(300, rel=1e-9)


def test_a_shift_goes_on_over_its_breaks() -> None:
    """Washed once a shift in the averages and as it is played, whatever the breaks; two shifts in a row are one."""
    for hours in ({"day": "06:00-14:00"}, {"day": "06:00-14:00", "late": "14:00-22:00"}):
        builder = PlanBuilder("Wash", money="EUR", makes="box", demand="8 each/day")
        for name, span in hours.items():
            builder.shift(name, hours=span, days="Mon-Fri", breaks=["09:00-09:15"] if name == "day" else [])
        builder.crew("hand", people=dict.fromkeys(hours, 1), wage="20 EUR/h").station("press")
        builder.item("box", unit="each").item("sheet", unit="each", buy="1 EUR").item("soap", unit="L", buy="1 EUR")
        builder.route("box", gives="box").operation(
            "press", crew="hand", station="press", time="20 min", takes={"sheet": 1},
            clean={"after": "shift", "time": "30 min", "crew": {"hand": 1}, "takes": {"soap": "1 L"}},
        )  # fmt: skip
        network = compile_network(builder.build())
        flow = solve_flow(network)
        assert used(network, flow, "soap") == pytest.approx(1)
        assert measure_capacity(network, flow).of("station", "press").hours.cleaning == pytest.approx(0.5)
        run = simulate(network, replications=1, still=True, days=70)
        assert float(run.state_share.mean[0, 2]) * 7 * 24 / 5 == pytest.approx(0.5, rel=1e-9)


def test_operations_of_one_station_are_each_washed_after() -> None:
    """Two operations at a press, each with a washing of its own: two a shift, in averages and play."""
    builder = PlanBuilder("Wash", money="EUR", makes="box", demand="8 each/day")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day").station("press")
    builder.item("box", unit="each").item("sheet", unit="each", buy="1 EUR").item("soap", unit="L", buy="1 EUR")
    route = builder.route("box", gives="box")
    clean = {"after": "shift", "time": "30 min", "crew": {"hand": 1}, "takes": {"soap": "1 L"}}
    route.operation("press", crew="hand", station="press", time="10 min", takes={"sheet": 1}, clean=clean)
    route.operation("trim", crew="hand", station="press", time="10 min", clean=clean)
    network = compile_network(builder.build())
    flow = solve_flow(network)
    assert used(network, flow, "soap") == pytest.approx(2)
    assert measure_capacity(network, flow).of("station", "press").hours.cleaning == pytest.approx(1)
    run = simulate(network, replications=1, still=True, days=70)
    assert float(run.state_share.mean[0, 2]) * 7 * 24 / 5 == pytest.approx(1, rel=1e-9)


def test_variants_are_washed_after_together() -> None:
    """Three colours of one press are washed after once a shift, and scrap 2 pieces at the start of one."""
    builder = PlanBuilder("Wash", money="EUR", makes="box", demand="90 each/day")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day").station("press")
    builder.item("sheet", unit="each", buy="1 EUR").item("soap", unit="L", buy="1 EUR")
    builder.document["options"] = {"colour": {"values": ["red", "green", "blue"]}}
    builder.item("box", unit="each", options="colour")
    builder.route("box", gives="box").operation(
        "press", crew="hand", station="press", time="3 min", takes={"sheet": 1},
        clean={"after": "shift", "time": "30 min", "crew": {"hand": 1}, "takes": {"soap": "1 L"}},
        start={"after": "shift", "time": "5 min", "scrap": 2},
    )  # fmt: skip
    network = compile_network(builder.build())
    flow = solve_flow(network)
    assert len(network.routes.ids) == 3
    assert used(network, flow, "soap") == pytest.approx(1)
    assert float(flow.runs.sum()) == pytest.approx(92)
    assert measure_capacity(network, flow).of("station", "press").hours.cleaning == pytest.approx(0.5)


def test_what_is_made_here_to_wash_with_lasts_for_every_day() -> None:
    """1,000 L a day are an eighth of a shift: washed on more days than the 8.75 shifts that the work would fill."""
    builder = washed(vats=9)
    builder.document["items"]["water"] = {"unit": "L"}
    builder.item("well", unit="L", buy="0.001 EUR")
    builder.route("water", gives="water").operation(
        "boil", crew="hand", takes={"well": "1 L"}, time="20 min", load="300 L"
    )
    builder.document["intake"][0]["days"] = "Mon-Fri"
    _, run = played(builder)
    assert washings(run, 109) > 20
    assert run.total.mean == pytest.approx(70_000)


@settings(max_examples=10, deadline=None)
@given(
    weekly=st.lists(st.integers(0, 60), min_size=7, max_size=7).filter(any),
    vats=st.integers(1, 6),
    after=st.sampled_from(["shift", "day"]),
    days=st.sampled_from(["Mon", "Mon,Thu", "Mon-Fri"]),
    breaks=st.booleans(),
)  # fmt: skip
def test_averages_wash_no_oftener_than_the_play(
    weekly: list[int], vats: int, after: str, days: str, breaks: bool
) -> None:
    """The balance stays a bound of the play, and the averages count washings that cannot be fewer."""
    amounts: Any = [f"{w} t" for w in weekly]
    builder = washed(after, weekly=amounts, vats=vats)
    builder.document["intake"][0]["days"] = days
    if breaks:
        builder.document["shifts"]["day"]["breaks"] = ["09:00-09:30"]
    bound, run = played(builder)
    assert run.total.mean <= bound.most[0] * (1 + 1e-9) + 1e-6
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    assert network.season is not None
    pressed = float(np.nansum(flow.finished[network.routes.ids.index("must")])) * network.season.working_days
    averages = used(network, flow, "water") / 300 * network.season.working_days
    if run.left.mean.sum() == 0:  # all of the fruit is pressed, as the averages have it
        assert pressed == pytest.approx(harvest.potential)
        assert washings(run, network.season.days) >= averages - 1e-6
