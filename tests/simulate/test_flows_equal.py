"""On plans of flows without decisions simulation, material balance and capacity agree to 1e-9 over whole weeks.

Chains of routes and operations at rates, with and without stores, shifts, direct hand-over and a recycle: after the
stores have filled or emptied every week is like the one before, and its output is the bound of capacity.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest

from linewright.base.calendar import WEEK
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.letting_in import Quotas
from linewright.simulate.simulate import prepare


def decision_free(seed: int) -> PlanBuilder:
    luck = random.Random(seed)
    plan = PlanBuilder(
        f"still {seed}", makes="last", demand="500 kg/day", release="flat out", open_pieces=100_000, money="EUR"
    )
    plan.item("raw", unit="kg", buy="1 EUR")
    shifts = luck.random() < 0.5
    if shifts:
        plan.shift("day", hours="06:00-14:00", breaks=["09:00-09:30"], days="Mon-Fri")
    count = luck.randint(1, 4)
    items = [f"i{k}" for k in range(count - 1)] + ["last"]
    back = luck.choice([0.0, 0.0, 0.25, 0.5])
    if back:
        plan.item("back", unit="kg")
    for k, item in enumerate(items):
        store: dict[str, Any] = {}
        if k < count - 1 and luck.random() < 0.7:
            plan.store(f"b{k}", room=f"{luck.randint(20, 300)} kg")
            store = {"store": f"b{k}"}
        plan.item(item, unit="kg", **store)
        steps = luck.randint(1, 2)
        made = plan.route(f"r{k}", gives=item)
        for step in range(steps):
            name = f"s{k}{step}"
            plan.station(name, places=luck.choice([1, 1, 2]))
            fields: dict[str, Any] = {"station": name, "time": {"rate": f"{luck.randint(20, 400)} kg/h"}}
            if shifts:
                plan.crew(name, people=4, shift="day")
                fields["crew"] = {name: 1}
            if step == 0:
                fields["takes"] = {"raw" if k == 0 else items[k - 1]: "1 kg"}
                if k == 0 and back:
                    fields["takes"] = {"feed": {"any_of": ["back", "raw"], "amount": "1 kg"}}
            if step < steps - 1 and luck.random() < 0.4:
                fields["then_to"] = "next"
            if step == steps - 1 and k == count - 1 and back:
                fields["gives"] = {item: f"{1 - back} kg", "back": f"{back} kg"}
            made.operation(name, **fields)
    return plan


def weekly(network: Network, weeks: int = 12) -> tuple[float, float]:
    """The bound of the rate by capacity and the output of the last simulated week, both in units a working day."""
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    prepared = prepare(network, quotas=Quotas(flow.mix, flow.choice_mix))
    engine = Engine(prepared.template, seed=0, replication=0, still=True)
    done: list[float] = []
    for week in range(weeks):
        while not engine.advance((week + 1) * WEEK):
            pass
        engine.settle()
        item = prepared.layout.items[prepared.demanded[0]]
        done.append(float(engine.x[item + r.I_FINISHED]))
    bound = capacity.multiple * float(network.items.demand.sum())
    return bound, float(np.diff(done)[-1]) / network.days_week


@pytest.mark.parametrize("block", range(6))
def test_flow_is_capacity_is_simulation(block: int) -> None:
    for seed in range(20 * block, 20 * block + 20):
        network = compile_network(decision_free(seed).build())
        bound, made = weekly(network)
        assert made == pytest.approx(bound, rel=1e-9), seed
