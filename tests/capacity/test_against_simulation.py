"""The bound against the simulation: never below it, and equal to it where nothing is left to chance or choice."""

from __future__ import annotations

import random
from typing import Any

import pytest

from linewright.capacity import Capacity, measure_capacity
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Quotas, Simulation, simulate


def play(builder: PlanBuilder, days: int, replications: int) -> tuple[Capacity, Simulation]:
    network = compile_network(builder.build())
    flow = solve_flow(network)
    played = simulate(
        network, replications=replications, days=days, release="flat out", open_pieces=120, threads=1,
        quotas=Quotas(flow.mix, flow.choice_mix),
    )  # fmt: skip
    return measure_capacity(network, flow), played


def fixed_plan(seed: int) -> PlanBuilder:
    """Fixed times, one maker and one user of each item, a crew of its own for every operation, one shift or none."""
    luck = random.Random(seed)
    shift = luck.random() < 0.5
    builder = PlanBuilder("Fixed", money="EUR", makes="p", demand="30 each/day")
    builder.item("p", unit="each").item("raw", unit="each", buy="1 EUR")
    if shift:
        builder.shift("day", hours="06:00-14:00", days="Mon-Fri")
    stations = 0

    def route(name: str, gives: str, takes: dict[str, int], count: int) -> None:
        nonlocal stations
        steps = builder.route(name, gives=gives)
        stored = True  # from a store pieces go on to another station: back to the same one they could lock it up
        for k in range(count):
            fields: dict[str, Any] = {"time": f"{luck.randint(3, 60)} min"}
            if shift:
                size = luck.choice([1, 1, 2])
                builder.crew(f"c{name}{k}", people=luck.randint(size, 4), shift="day")
                fields["crew"] = {f"c{name}{k}": size}
            elif luck.random() < 0.3:
                fields["stand"] = f"{luck.randint(10, 90)} min"
            if stored or luck.random() > 0.4:
                builder.station(f"s{stations}", places=luck.randint(1, 3))
                stations += 1
            fields["station"] = f"s{stations - 1}"
            stored = False
            if k < count - 1 and luck.random() < 0.3:
                if luck.random() < 0.5:
                    fields["then_to"] = "next"
                else:
                    builder.store(f"b{name}{k}", room=luck.randint(1, 9))
                    fields["then_to"] = f"b{name}{k}"
                    stored = True
            if k == 0:
                fields["takes"] = takes
            steps.operation(f"{name}{k}", **fields)

    takes = {"raw": 1}
    if luck.random() < 0.5:
        builder.item("sub", unit="each")
        route("q", "sub", {"raw": 1}, luck.randint(1, 3))
        takes = {"sub": luck.randint(1, 3)}
    route("r", "p", takes, luck.randint(1, 4))
    return builder


SEEDS = range(14)


@pytest.mark.parametrize("seed", SEEDS)
def test_equal_where_nothing_is_left_to_chance(seed: int) -> None:
    found, played = play(fixed_plan(seed), days=420, replications=1)
    assert played.rate.mean <= found.wanted[0].rate * (1 + 3e-3)  # the window cuts a piece or two at its ends
    if found.honesty.status == "exact":
        assert played.rate.mean == pytest.approx(found.wanted[0].rate, rel=3e-3)


def test_most_of_these_plans_are_told_exactly() -> None:
    """The test above would be empty if nothing were exact."""
    status = []
    for seed in SEEDS:
        network = compile_network(fixed_plan(seed).build())
        status.append(measure_capacity(network, solve_flow(network)).honesty.status)
    assert status.count("exact") >= 8


def wild_plan(seed: int) -> PlanBuilder:
    """What makes a bound hard: spread, shared crews, shifts, work that goes on late, stoppages, standing, tools."""
    luck = random.Random(seed)
    builder = PlanBuilder("Wild", money="EUR", makes="p", demand="20 each/day")
    builder.item("p", unit="each").item("raw", unit="each", buy="1 EUR")
    builder.shift("day", hours="06:00-14:00", breaks=["09:00-09:30"], days="Mon-Fri")
    builder.shift("late", hours="14:00-22:00", days="Mon-Thu")
    for c in range(3):
        people = {"day": luck.randint(2, 5)} | ({"late": luck.randint(2, 4)} if luck.random() < 0.4 else {})
        builder.crew(f"c{c}", people=people)
    for s in range(4):
        stop = {"name": "jam", "between": f"{luck.randint(2, 12)} h", "repair": f"{luck.randint(5, 90)} min"}
        builder.station(f"s{s}", places=luck.randint(1, 3), stoppages=[stop] if luck.random() < 0.4 else [])
    builder.tool("robot", count=1)
    steps = builder.route("r", gives="p")
    for k in range(luck.randint(2, 5)):
        time: Any = f"{luck.randint(3, 60)} min"
        fields: dict[str, Any] = {"time": {"mean": time, "cv": 0.5} if luck.random() < 0.4 else time}
        fields["crew"] = {f"c{luck.randrange(3)}": luck.choice([1, 1, 2])}
        fields["stop"] = luck.choice(["anywhere", "finish", "fits"])
        if luck.random() < 0.2:
            fields["hands_on"] = {"start": "1 min", "end": "1 min"}
        fields["station"] = ["s0", "s1"] if luck.random() < 0.15 else f"s{luck.randrange(4)}"
        if luck.random() < 0.3:
            fields["stand"] = luck.choice(["2 h", {"mean": "3 h", "cv": 0.5}])
        if luck.random() < 0.2:
            fields["setup"] = {"time": "15 min", "every": "7 each"}
        if luck.random() < 0.2:
            fields["uses"] = {"robot": 1}
        if luck.random() < 0.2:
            fields["yield_"] = "90 %"
        if k == 0:
            fields["takes"] = {"raw": 1}
        steps.operation(f"o{k}", **fields)
    return builder


@pytest.mark.parametrize("seed", range(16))
def test_never_below_what_is_played(seed: int) -> None:
    found, played = play(wild_plan(seed), days=140, replications=5)
    assert played.rate.low <= found.wanted[0].rate * (1 + 1e-6)
