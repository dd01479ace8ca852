"""Carriers as a bound: exact where nothing is left to chance, never below the simulation elsewhere."""

from __future__ import annotations

import random
from typing import Any

import pytest

from linewright.capacity import Capacity, measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import StuckError, simulate
from linewright.simulate.recurring import recurring_rate


def measured(builder: PlanBuilder) -> tuple[Network, Capacity]:
    network = compile_network(builder.build())
    return network, measure_capacity(network, solve_flow(network))


def loop(count: int, holds: int = 1, load: int = 1, **carrier: Any) -> PlanBuilder:
    """Two stations, 2 and 5 minutes (two places), three minutes back: ten minutes a loop."""
    plan = PlanBuilder("loop", makes="thing", demand="100 each/day", release="flat out", open_pieces=60)
    plan.item("thing", unit="each").station("one").station("two", places=2)
    plan.carrier("last", count=count, holds=holds, from_="a", to="b", way_back="3 min", **carrier)
    plan.route("r", gives="thing").operation("a", station="one", time="2 min", load=load).operation(
        "b", station="two", time="5 min", load=load
    )
    return plan


@pytest.mark.parametrize("count", range(1, 7))
def test_the_rate_of_a_loop_without_luck_is_the_least_of_carriers_over_time_and_the_slowest_station(count: int) -> None:
    network, capacity = measured(loop(count))
    truth = 1440 * min(count / 10, 1 / 2, 2 / 5)
    assert capacity.honesty.status == "exact"
    assert capacity.multiple * 100 == pytest.approx(truth, rel=1e-9)
    found = recurring_rate(network)
    assert found is not None
    assert found.rate == pytest.approx(truth, rel=1e-9)


def test_the_least_count_is_the_one_at_which_carriers_limit_no_more_than_the_demand_asks() -> None:
    """100 a day, ten minutes each: 1000 minutes of 1440, so one is enough; for 300 a day it takes three."""
    assert measured(loop(5))[1].of("carrier", "last").needed == 1
    plan = loop(5)
    plan.document["plan"]["demand"] = "300 each/day"
    found = measured(plan)[1].of("carrier", "last")
    assert found.needed == 3
    assert found.use == pytest.approx(3000 / (5 * 1440))
    assert (found.hours.working, found.hours.moving) == (pytest.approx(35.0), pytest.approx(15.0))


def test_a_rack_of_several_and_loads_that_fill_racks() -> None:
    network, capacity = measured(loop(count=4, holds=3, load=6))
    assert capacity.honesty.status == "exact"
    found = recurring_rate(network)
    assert found is not None
    assert found.rate == pytest.approx(capacity.multiple * 100, rel=1e-9)
    assert found.rate == pytest.approx(1440 * min(2 / 10, 1 / 2, 2 / 5) * 6, rel=1e-9)


def frames(sets: int, **check: Any) -> PlanBuilder:
    """Two bond frames: 4 min of bead, 2 to close, 14 of cure, 2 to lift out; clamps off in 2, and back in 20."""
    plan = PlanBuilder("Harrow Fen Works, frames", makes="shell", demand="120 each/day", release="flat out",
                       open_pieces=9)  # fmt: skip
    plan.item("shell", unit="each").station("frame", places=2).station("bench")
    plan.carrier("clamps", count=sets, from_="close", to="off", way_back="20 min")
    plan.route("r", gives="shell").operation("bead", station="frame", time="4 min", faults={"gap": 0.25}).operation(
        "close", station="frame", time="2 min"
    ).operation("cure", station="frame", stand="14 min").operation("lift", station="frame", time="2 min").operation(
        "off", station="bench", time="2 min", **check
    )
    return plan


@pytest.mark.parametrize("sets", range(1, 7))
def test_two_bond_frames_want_four_sets_of_clamps(sets: int) -> None:
    """A set is away for 2 + 14 + 2 + 2 + 20 = 40 min; a frame closes one every 22, the two of them one every 11.

    So 40 / 11 = 3.6 sets keep both going: with three they give 1440 x 3 / 40 = 108 shells a day, with four 1440 / 11.
    """
    network, capacity = measured(frames(sets))
    truth = 1440 * min(sets / 40, 2 / 22)
    assert capacity.multiple * 120 == pytest.approx(truth, rel=1e-9)
    assert capacity.of("carrier", "clamps").needed == 4, "120 a day x 40 min = 4,800 of 1,440 min a set"
    found = recurring_rate(network)
    assert found is not None
    assert found.rate == pytest.approx(truth, rel=1e-9)


@pytest.mark.parametrize(("at", "uses"), [("off", 1.0), ("later", 1.25)])
def test_a_shell_that_is_closed_again_wants_clamps_again(at: str, uses: float) -> None:
    """Of four shells one leaks and is closed again, once. Found with the clamps on, it may stay on them."""
    check: dict[str, Any] = {
        "check": {"finds": {"gap": 1.0}, "then": {"rework": "close", "at_most": 1, "else": "scrap"}}
    }
    plan = frames(2, **(check if at == "off" else {}))
    if at == "later":
        plan.document["routes"]["r"]["operations"].append({"id": "leak", "station": "bench", "time": "1 min", **check})
    network, capacity = measured(plan)
    flow = solve_flow(network)
    started = float(flow.first_runs[network.operations.ids.index("close")])
    clamps = capacity.of("carrier", "clamps")
    assert clamps.hours.moving == pytest.approx(started * uses * 20 / 60, rel=1e-9)
    played = simulate(network, days=28, replications=4, seed=3)
    assert played.rate.low <= capacity.multiple * 120


def test_a_shell_sent_back_in_its_clamps_may_find_the_frames_taken() -> None:
    """One set: the shell in it waits for a frame, the shells in the frames wait for the set. That is told before."""
    check = {"check": {"finds": {"gap": 1.0}, "then": {"rework": "close", "at_most": 1, "else": "scrap"}}}
    network, _ = measured(frames(1, **check))
    assert [p.what for p in network.problems] == [
        "pieces can go round through frame, clamps, all of limited room: they may lock each other"
    ]
    with pytest.raises(StuckError, match="frame holds 1 piece and waits for a free carrier clamps to do close"):
        simulate(network, days=28, replications=1, seed=1)


def test_the_bound_says_which_carriers_and_for_how_long() -> None:
    plan = loop(1)
    plan.document["plan"]["demand"] = "288 each/day"
    capacity = measured(plan)[1]
    assert not capacity.makes
    bound = next(b for b in capacity.bounds if b.kind == "carriers")
    assert bound.where == "last"
    assert bound.why == (
        "last (1) is away for 0.167 h of work, standing and way back at each use; 288 uses a working day are wanted, "
        "and 50 % of that can be."
    )


def test_a_night_passes_for_what_stands_and_for_the_way_back_only() -> None:
    """Eight hours a day of one fitter, half an hour a piece: 20 a day; one last and no way back: 16 of them."""
    plan = PlanBuilder("night", makes="thing", demand="16 each/day", release="flat out", open_pieces=9)
    plan.shift("day", hours="08:00-16:00", days="Mon-Sun").crew("fitter", people=4, shift="day")
    plan.item("thing", unit="each").station("one").station("two").carrier("last", count=1, from_="a", to="b")
    plan.route("r", gives="thing").operation("a", station="one", crew="fitter", time="10 min").operation(
        "b", station="two", crew="fitter", time="20 min"
    )
    assert measured(plan)[1].multiple == pytest.approx(1.0)
    plan.document["routes"]["r"]["operations"][1] = {"id": "b", "station": "two", "stand": "10 h"}
    network, capacity = measured(plan)
    played = simulate(network, days=28, replications=1)
    assert played.rate.mean <= capacity.multiple * 16 * (1 + 1e-9)
    assert capacity.multiple * 16 < 3


def by_day(way_back: str, then: dict[str, Any] | None = None) -> PlanBuilder:
    """Eight hours a day, one last: ten minutes of a fitter, two hours standing, twenty minutes of a fitter."""
    plan = PlanBuilder("by day", makes="thing", demand="4 each/day", release="flat out", open_pieces=9)
    plan.shift("day", hours="08:00-16:00", days="Mon-Sun").crew("fitter", people=4, shift="day")
    plan.item("thing", unit="each").station("one", places=9).station("two").station("rack", places=9)
    plan.carrier("last", count=1, from_="a", to="b", way_back=way_back)
    check: dict[str, Any] = {"check": {"finds": {"crooked": 1.0}, "then": then}} if then is not None else {}
    plan.route("r", gives="thing").operation(
        "a", station="one", crew="fitter", time="10 min", faults={"crooked": "5 %"} if then is not None else {}
    ).operation("rest", station="rack", stand="2 h").operation(
        "b", station="two", crew="fitter", time="20 min", **check
    )
    return plan


def test_the_way_back_passes_at_night_and_does_not_give_the_whole_night_to_a_last() -> None:
    """Four hours a use with 90 minutes back; a night of 16 h lends no more than its longest run of two hours."""
    found = measured(by_day("90 min"))[1].of("carrier", "last")
    assert found.available == pytest.approx(8 + 2)
    assert found.most == pytest.approx(10 / 4 / 4)


@pytest.mark.parametrize("then", ["scrap", {"rework": "a", "at_most": 1, "else": "scrap"}])
@pytest.mark.parametrize("way_back", ["0 min", "25 min", "5 h"])
def test_a_check_with_somebody_by_does_not_give_the_night_either(way_back: str, then: Any) -> None:
    network, capacity = measured(by_day(way_back, then))
    found = capacity.of("carrier", "last")
    assert found.available == pytest.approx(8 + (5 if way_back == "5 h" else 2))
    played = simulate(network, days=112, replications=4, seed=5)
    assert played.rate.low <= capacity.multiple * 4


def test_losses_take_nothing_off_the_bound_by_people() -> None:
    """A last lost after two hours in use is away for a night: both readings are bounds, and the tighter one holds."""
    plan = by_day("90 min")
    plan.document["carriers"]["last"] |= {"between_losses": "300 h", "repair": "1 h"}
    found = measured(plan)[1].of("carrier", "last")
    assert found.most == pytest.approx(10 / 4 / 4), "by people: four hours a use in ten, as without losses"
    plan.document["carriers"]["last"] |= {"between_losses": "2 h", "repair": "60 h"}
    network, capacity = measured(plan)
    found = capacity.of("carrier", "last")
    lost = 4 * 2.5 / 2  # uses of two and a half hours of work and standing, but no more than one loss for each use
    assert found.most == pytest.approx(24 / (4 * 4 + min(lost, 4) * 60)), "by the clock: the nights are long enough"
    played = simulate(network, days=336, replications=4, seed=2)
    assert played.rate.low <= capacity.multiple * 4


def test_a_piece_that_goes_round_alone_may_use_the_whole_night() -> None:
    """The rework begins with standing, and the check at its end is a machine's: passes follow each other at night."""
    plan = by_day("0 min", {"rework": "rest", "at_most": 3, "else": "scrap"})
    assert measured(plan)[1].of("carrier", "last").available == pytest.approx(24)


def decision_free(seed: int) -> PlanBuilder:
    """Lines with loads, stores, hand-over and a part made beside, and carriers along some of it."""
    luck = random.Random(seed)
    plan = PlanBuilder(f"still {seed}", makes="thing", demand="50 each/day", release="flat out", open_pieces=150)
    plan.item("thing", unit="each").item("part", unit="each")
    with_part = luck.random() < 0.5
    lines = [("t", "thing", luck.randint(2, 5))] + ([("p", "part", luck.randint(1, 3))] if with_part else [])
    for route, gives, count in lines:
        made = plan.route(route, gives=gives)
        for k in range(count):
            name = f"{route}{k}"
            plan.station(name, places=luck.randint(1, 3))
            fields: dict[str, Any] = {"station": name, "time": f"{luck.randint(20, 400)} s"}
            if luck.random() < 0.3:
                fields["stand"] = f"{luck.randint(20, 900)} s"
            if luck.random() < 0.25:
                fields["load"] = 2
            if k < count - 1 and luck.random() < 0.5:
                plan.store(f"b{name}", room=luck.randint(3, 6))
                fields["then_to"] = luck.choice(["next", f"b{name}"])
            if with_part and route == "t" and k == 0:
                fields["takes"] = {"part": 1}
            made.operation(name, **fields)
        first, last = sorted(luck.choices(range(count), k=2))
        plan.carrier(f"of_{route}", count=luck.randint(2, 8), holds=luck.choice([1, 1, 2]), from_=f"{route}{first}",
                     to=f"{route}{last}", way_back=f"{luck.choice([0, 120])} s")  # fmt: skip
    if with_part:
        plan.carrier("through", count=luck.randint(2, 9), from_="p0", to="t1", way_back="1 min")
    else:
        plan.document.setdefault("items", {}).pop("part")
    return plan


@pytest.mark.parametrize("block", range(4))
def test_simulation_is_capacity_on_decision_free_plans_with_carriers(block: int) -> None:
    exact = 0
    for seed in range(200 * block, 200 * block + 200):
        if exact == 25:
            break
        network, capacity = measured(decision_free(seed))
        found = recurring_rate(network, weeks=2)
        assert found is not None, seed
        bound = capacity.multiple * 50
        assert found.rate <= bound * (1 + 1e-9), seed
        if capacity.honesty.status == "exact":
            exact += 1
            assert found.rate == pytest.approx(bound, rel=1e-9), seed
    assert exact == 25


@pytest.mark.parametrize("seed", range(12))
def test_the_bound_holds_with_luck_rework_and_losses(seed: int) -> None:
    """The rate of the simulation, by its interval, lies under the bound."""
    luck = random.Random(seed)
    plan = PlanBuilder(f"luck {seed}", makes="thing", demand="50 each/day", release="flat out", open_pieces=40)
    plan.item("thing", unit="each")
    route = plan.route("r", gives="thing")
    steps = luck.randint(2, 5)
    for k in range(steps):
        plan.station(f"s{k}", places=luck.randint(1, 3))
        fields: dict[str, Any] = {"station": f"s{k}", "time": {"mean": f"{luck.randint(1, 6)} min", "cv": 0.7}}
        if k == 0:
            fields["faults"] = {"crack": 0.2}
        if k == steps - 1:
            fields["check"] = {"finds": {"crack": 0.9}, "then": {"rework": "s0", "at_most": 1, "else": "scrap"}}
        route.operation(f"s{k}", **fields)
    first, last = sorted(luck.choices(range(steps), k=2))
    plan.carrier("last", count=luck.randint(1, 5), holds=luck.choice([1, 2]), from_=f"s{first}", to=f"s{last}",
                 way_back={"mean": "3 min", "cv": 0.5}, between_losses="3 h", repair="10 min")  # fmt: skip
    network, capacity = measured(plan)
    played = simulate(network, days=70, replications=4, seed=seed)
    assert played.rate.low <= capacity.multiple * 50
