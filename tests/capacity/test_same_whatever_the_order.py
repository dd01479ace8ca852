"""Capacity and cost do not depend on the order in which a plan is written, nor on its names."""

from __future__ import annotations

import copy
import math
import random
from typing import Any

import pytest

from linewright.capacity import Capacity, measure_capacity
from linewright.cost import Cost, cost_of_one
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder


def answer(builder: PlanBuilder) -> tuple[Capacity, Cost]:
    network = compile_network(builder.build())
    flow = solve_flow(network)
    found = measure_capacity(network, flow)
    return found, cost_of_one(network, flow, found)


def branching(seed: int) -> PlanBuilder:
    """Two products, shared parts, shared stations and crews, losses, setups."""
    luck = random.Random(seed)
    builder = PlanBuilder("Branching", money="EUR")
    builder.shift("day", hours="06:00-14:00").shift("late", hours="14:00-22:00")
    for item in ("stool", "bench", "leg", "seat"):
        builder.item(item, unit="each")
    builder.item("wood", unit="kg", buy="2 EUR").item("glue", unit="kg", buy="9 EUR")
    for crew in ("turner", "fitter"):
        builder.crew(crew, people={"day": luck.randint(3, 5), "late": 3}, wage="24 EUR/h")
    for station in ("lathe", "press", "saw"):
        builder.station(station, places=luck.randint(1, 3), machine_rate="7 EUR/h")
    builder.demand("stool", "40 each/day").demand("bench", "15 each/day")

    def steps(route: str, gives: str, takes: dict[str, Any]) -> None:
        made = builder.route(route, gives=gives)
        for k in range(luck.randint(1, 3)):
            fields: dict[str, Any] = {
                "time": {"mean": f"{luck.randint(1, 6)} min", "cv": 0.3},
                "crew": {luck.choice(["turner", "fitter"]): luck.choice([1, 2])},
                "station": luck.choice([["lathe"], ["press"], ["saw"], ["lathe", "saw"]]),
                "yield_": luck.choice(["100 %", "95 %"]),
            }
            if luck.random() < 0.5:
                fields["setup"] = {"time": "9 min", "every": "20 each"}
            if luck.random() < 0.5:
                fields["stand"] = "40 min"
            if k == 0:
                fields["takes"] = takes
            made.operation(f"{route}_{k}", **fields)

    steps("legs", "leg", {"wood": "0.4 kg"})
    steps("seats", "seat", {"wood": "1.1 kg"})
    steps("stools", "stool", {"leg": 3, "seat": 1, "glue": "20 g"})
    steps("benches", "bench", {"leg": 4, "seat": 2, "glue": "50 g"})
    return builder


def shuffled(builder: PlanBuilder, seed: int) -> PlanBuilder:
    """The same plan with its items, routes, stations and crews written in another order."""
    luck = random.Random(seed)
    other = PlanBuilder("Branching", money="EUR")
    document = copy.deepcopy(builder.document)
    for kind in ("items", "routes", "stations", "crews"):
        names = list(document[kind])
        luck.shuffle(names)
        document[kind] = {name: document[kind][name] for name in names}
    other.document = document
    return other


@pytest.mark.parametrize("seed", range(8))
def test_order_changes_nothing(seed: int) -> None:
    builder = branching(seed)
    one, one_cost = answer(builder)
    other, other_cost = answer(shuffled(builder, seed))
    assert other.multiple == pytest.approx(one.multiple, rel=1e-9)
    for resource in one.resources:
        same = other.of(resource.kind, resource.id)
        assert same.most == pytest.approx(resource.most, rel=1e-9)
        assert same.needed == resource.needed
    for product in one_cost.products:
        assert other_cost.of(product.item).total == pytest.approx(product.total, abs=0.011)


@pytest.mark.parametrize("seed", range(8))
def test_every_number_is_a_number(seed: int) -> None:
    found, cost = answer(branching(seed))
    for resource in found.resources:
        for value in (resource.available, resource.use, resource.hours.total, resource.most):
            assert not math.isnan(value)
            assert value >= 0
    for product in cost.products:
        assert all(math.isfinite(money) for _, money in product.parts.items())
        assert product.parts.scrap >= -0.01


@pytest.mark.parametrize("seed", range(8))
def test_two_products_cost_what_the_day_costs(seed: int) -> None:
    """Every euro of the day is borne by one product or the other."""
    found, cost = answer(branching(seed))
    paid = sum(crew.paid for crew in cost.crews)
    bought = sum(
        line.money * product.per_day for product in cost.products for line in product.by_item if line.role == "bought"
    )
    machines = sum(o.machine * p.per_day for p in cost.products for o in p.by_operation)
    setups = sum(o.setup * p.per_day for p in cost.products for o in p.by_operation)
    labour_of_setups = sum(24.0 * resource.hours.setting_up for resource in found.resources if resource.kind == "crew")
    day = paid + bought + machines + (setups - labour_of_setups)
    assert cost.per_day == pytest.approx(day, abs=0.02 * 55)


def test_a_route_that_is_not_needed_costs_and_loads_nothing() -> None:
    builder = PlanBuilder("Spare", money="EUR", makes="stool", demand="40 each/day")
    builder.item("stool", unit="each").item("wood", unit="kg", buy="2 EUR").item("peg", unit="each", buy="0.10 EUR")
    builder.shift("day", hours="06:00-14:00").crew("hand", people=1, shift="day", wage="20 EUR/h").station("idle")
    builder.route("main", gives="stool").operation(
        "fit", crew={"hand": 1}, time="5 min", takes={"wood": "1 kg", "peg": 4}
    )
    builder.route("pegs", gives="peg").operation(
        "turn", station="idle", crew={"hand": 1}, time="30 min", takes={"wood": "1 kg"}
    )
    found, cost = answer(builder)
    idle = found.of("station", "idle")
    assert idle.hours.total == 0.0
    assert idle.most == math.inf
    assert idle.needed == 0
    assert [o.operation for o in cost.of("stool").by_operation] == ["fit"]
    assert found.bottleneck is not None
    assert found.bottleneck.id == "hand"
