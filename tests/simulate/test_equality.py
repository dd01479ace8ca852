"""On decision-free plans the simulation, over one exactly recurring period, is the capacity bound to 1e-9.

Until three hundred generated plans are told exactly: lines of stations with places, fixed loads, standing, stores and
direct hand-over, parts made beside the line, with and without shifts and crews of their own. Where capacity says
"exact" both must agree; where it does not, the simulation may not be above it.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest

from linewright.base.calendar import WEEK, from_spans
from linewright.capacity import Capacity, measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate.recurring import Recurring, open_time, period_of, recurring_rate


def decision_free(seed: int) -> PlanBuilder:
    luck = random.Random(seed)
    plan = PlanBuilder(f"still {seed}", makes="thing", demand="50 each/day", release="flat out", open_pieces=150)
    plan.item("thing", unit="each")
    shifts = luck.random() < 0.4
    if shifts:
        plan.shift("day", hours="06:00-14:00", breaks=["09:00-09:30"], days="Mon-Fri")
    with_part = luck.random() < 0.4
    if with_part:
        plan.item("part", unit="each")
    lines = [("t", "thing", luck.randint(2, 5))] + ([("p", "part", luck.randint(1, 3))] if with_part else [])
    for route, gives, count in lines:
        made = plan.route(route, gives=gives)
        for k in range(count):
            name = f"{route}{k}"
            load = luck.choice([1, 1, 1, 2, 3])
            plan.station(name, places=luck.randint(1, 3))
            fields: dict[str, Any] = {"station": name, "time": f"{luck.randint(20, 400)} s"}
            if shifts:
                plan.crew(name, people=6, shift="day")
                fields["crew"] = {name: 1}
            elif luck.random() < 0.3:
                fields["stand"] = f"{luck.randint(20, 900)} s"
            if load > 1:
                fields["load"] = load
            if k < count - 1 and luck.random() < 0.6:
                if luck.random() < 0.5:
                    fields["then_to"] = "next"
                else:
                    plan.store(f"b{name}", room=luck.randint(3, 6))
                    fields["then_to"] = f"b{name}"
            if with_part and route == "t" and k == 0:
                fields["takes"] = {"part": luck.randint(1, 2)}
            made.operation(name, **fields)
    return plan


def both(seed: int) -> tuple[Network, Capacity, Recurring | None]:
    network = compile_network(decision_free(seed).build())
    return network, measure_capacity(network, solve_flow(network)), recurring_rate(network, weeks=2)


@pytest.mark.parametrize("block", range(10))
def test_simulation_is_capacity_on_decision_free_plans(block: int) -> None:
    exact = 0
    for seed in range(200 * block, 200 * block + 200):
        if exact == 30:
            break
        network, capacity, found = both(seed)
        assert found is not None, seed
        bound = capacity.multiple * float(network.items.demand.sum())
        if capacity.honesty.status == "exact":
            exact += 1
            assert found.rate == pytest.approx(bound, rel=1e-9), seed
        else:
            assert found.rate <= bound * (1 + 1e-9), seed
    assert exact == 30


def test_open_time_leaves_closed_hours_out() -> None:
    hour = 3600 * 10**9
    calendar = from_spans([(8 * hour, 10 * hour, 1), (20 * hour, 21 * hour, 1)])
    times = np.array([0, 9 * hour, 12 * hour, 20 * hour + 7, WEEK + 8 * hour], dtype=np.int64)
    assert open_time(times, calendar).tolist() == [0, hour, 2 * hour, 2 * hour + 7, 3 * hour]


def test_a_period_is_the_shortest_exact_repetition() -> None:
    times = np.cumsum(np.array([9, 4, 1, 1] + [3, 5] * 40, dtype=np.int64))
    assert period_of(times) == (2, 8)
    assert period_of(np.array([1, 2, 4, 8, 16, 32, 64, 128, 256, 512], dtype=np.int64)) is None
