"""Random plans: nothing hangs, the books balance every week, and what cannot be played is said in words.

The generator mixes everything that the engine plays. The books (time, pieces, quantities, Little's law) are checked by
the engine itself at every week's end and raise where they do not balance.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linewright.base.calendar import DAY
from linewright.base.problems import ProblemsError
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate
from linewright.simulate.engine import EndlessInstantError, Engine
from linewright.simulate.simulate import prepare


def a_time(luck: random.Random, most: int = 20) -> Any:
    mean = luck.randint(1, most)
    return luck.choice(
        [
            f"{mean} min",
            {"mean": f"{mean} min", "cv": 0.4},
            {"mean": f"{mean} min", "cv": 1, "shape": "exponential"},
            {"least": f"{mean} min", "likely": f"{mean + 1} min", "most": f"{mean + 9} min"},
        ]
    )


def an_operation(luck: random.Random, name: str, stations: list[str], stores: list[str]) -> dict[str, Any]:
    fields: dict[str, Any] = {"time": a_time(luck)}
    if luck.random() < 0.75:
        fields["station"] = luck.choice(stations) if luck.random() < 0.85 else luck.sample(stations, 2)
    if luck.random() < 0.6:
        fields["crew"] = {luck.choice(["red", "blue"]): luck.choice([1, 1, 2])}
        fields["stop"] = luck.choice(["anywhere", "finish", "fits"])
        if luck.random() < 0.3:
            fields["hands_on"] = {"start": "30 s", "end": "20 s"}
    if luck.random() < 0.2:
        fields["stand"] = a_time(luck, 300)
    if luck.random() < 0.25:
        most = luck.randint(2, 6)
        fields["load"] = luck.choice([most, {"least": 1, "most": most, "waits": "10 min"}])
    if luck.random() < 0.15:
        fields["uses"] = {"jig": 1}
    if luck.random() < 0.2:
        fields["setup"] = luck.choice([{"time": "4 min", "every": 5}, {"time": "3 min", "when": "item changes"}])
    if luck.random() < 0.15:
        fields["clean"] = luck.choice([{"after": "load", "time": "2 min"}, {"after": "shift", "time": "9 min"}])
    if luck.random() < 0.1:
        fields["start"] = {"time": "5 min", "scrap": "1 each", "after": luck.choice(["shift", "stop"])}
    if luck.random() < 0.1:
        fields["yield_"] = 0.9
    if luck.random() < 0.4:
        fields["then_to"] = luck.choice([*stores, "next"])
    return fields


def a_plan(seed: int) -> PlanBuilder:
    luck = random.Random(seed)
    release = luck.choice(["takt", "pull", "flat out"])
    plan = PlanBuilder(
        f"random {seed}", makes="thing", demand=f"{luck.randint(5, 60)} each/day", release=release,
        open_pieces=luck.randint(12, 30), money="EUR",
    )  # fmt: skip
    plan.shift("day", hours="06:00-14:00", breaks=["09:00-09:20"], days="Mon-Fri")
    plan.shift("late", hours="14:00-22:00", days="Mon-Thu")
    plan.crew("red", people={"day": 3, "late": 2}).crew("blue", people=2, shift="day", allowance="8 %")
    plan.tool("jig", count=luck.randint(1, 2))
    stations = [f"s{k}" for k in range(luck.randint(2, 4))]
    for name in stations:
        fields: dict[str, Any] = {"places": luck.randint(1, 3)}
        if luck.random() < 0.4:
            fields["stoppages"] = [
                {"name": "jam", "between": "9 h", "repair": a_time(luck), "clock": luck.choice(["running", "calendar"])}
            ]
        if luck.random() < 0.15:
            fields["hours"] = "day"
        plan.station(name, **fields)
    stores = [f"r{k}" for k in range(2)]
    for name in stores:
        plan.store(name, room=luck.randint(3, 9))
    plan.item("thing", unit="each").item("part", unit="each").item("stuff", unit="each", buy="1 EUR")
    plan.item("second", unit="each")
    for route, gives, count in (("p", "part", luck.randint(1, 3)), ("t", "thing", luck.randint(1, 5))):
        made = plan.route(route, gives=gives)
        for k in range(count):
            fields = an_operation(luck, f"{route}{k}", stations, stores)
            if k == count - 1 and fields.get("then_to") == "next":
                fields.pop("then_to")
            if route == "t" and k == 0:
                fields["takes"] = {"part": luck.randint(1, 3), "stuff": 1}
            if luck.random() < 0.3:
                fields["faults"] = {"gap": 0.2}
            if k == count - 1 and luck.random() < 0.6:
                again = {"rework": f"{route}{luck.randint(0, k)}", "at_most": luck.randint(1, 2), "else": "scrap"}
                then = luck.choice(
                    ["scrap", again, {**again, "else": {"seconds": "second"}}, {**again, "takes_again": True}]
                )
                fields["check"] = {
                    "finds": {"gap": 0.8},
                    "false_alarms": 0.05,
                    "then": then,
                    "one_in": luck.choice([1, 3]),
                }
            made.operation(f"{route}{k}", **fields)
    return plan


def network(seed: int) -> Network | None:
    """A random network; None where the plan is refused before it is played."""
    try:
        return compile_network(a_plan(seed).build())
    except ProblemsError:
        return None


def plays(seed: int) -> None:
    made = network(seed)
    if made is None:
        return
    try:
        result = simulate(made, days=21, replications=2, seed=seed, budget_seconds=20)
    except ProblemsError:
        return
    assert np.isfinite(result.rate.mean)
    assert result.rate.mean >= 0
    assert np.allclose(result.state_share.mean.sum(axis=1), 1.0)
    assert (result.crew_use.mean <= 1.25).all(), "finishing late may use people after hours, but not many"


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10**6))
def test_random_plans_play_or_say_why_not(seed: int) -> None:
    plays(seed)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
def test_five_hundred_random_plans(block: int) -> None:
    for seed in range(50):
        plays(10**7 + 50 * block + seed)


@pytest.mark.parametrize("seed", range(12))
def test_random_plans_give_the_same_bits_without_the_compiler(seed: int) -> None:
    made = network(seed)
    if made is None:
        pytest.skip("this one is refused")
    template = prepare(made).template
    memories = []
    for choice in (True, False):
        engine = Engine(template, seed=seed, replication=1, compiler=choice)
        try:
            while not engine.advance(int(1.6 * DAY)):
                pass
        except EndlessInstantError:
            return
        engine.m[21] = 0
        memories.append((engine.m.tobytes(), engine.x.tobytes(), engine.log.tobytes()))
    assert memories[0] == memories[1]
