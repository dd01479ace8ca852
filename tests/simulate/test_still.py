"""Still mode: no luck, every branch a rotor per chain state, so that the simulation follows the material balance.

|simulated - flow| <= K / N after N pieces (Holroyd and Propp, "Rotor walks and Markov chains", 2010). K here is a pass
for every rotor met, and for the four open pieces what they still have ahead of them: a tenth of the theorem's K, held
all the same.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest

from linewright.base.calendar import DAY
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.simulate import prepare


def branching(seed: int) -> Network:
    """A line with faults, a yield, checks that find some of them, sampling, rework, seconds."""
    luck = random.Random(seed)
    plan = PlanBuilder(f"branches {seed}", makes="thing", demand="10 each/day", release="flat out", open_pieces=4)
    plan.item("thing", unit="each").item("second", unit="each")
    route = plan.route("r", gives="thing")
    count = luck.randint(3, 5)
    for k in range(count):
        plan.station(f"s{k}", places=2)
        fields: dict[str, Any] = {"station": f"s{k}", "time": {"mean": "40 s", "cv": 0.5}}
        if k < count - 1 and luck.random() < 0.8:
            fields["faults"] = {
                name: luck.choice([0.1, 0.25, 0.37]) for name in luck.sample(["gap", "dent", "mark"], 2)
            }
        if luck.random() < 0.3:
            fields["yield_"] = 0.9
        if k in (count - 1, 2):
            again = {"rework": f"o{luck.randint(0, k)}", "at_most": luck.randint(1, 2), "else": {"seconds": "second"}}
            fields["check"] = {
                "finds": {"gap": 0.8, "dent": 0.5, "mark": 0.9}, "false_alarms": luck.choice([0, 0.06]),
                "one_in": luck.choice([1, 1, 2]), "then": {"gap": again, "dent": "scrap", "*": again},
            }  # fmt: skip
        route.operation(f"o{k}", **fields)
    return compile_network(plan.build())


@pytest.mark.parametrize("seed", range(12))
def test_still_mode_follows_flow_within_k_over_n(seed: int) -> None:
    network = branching(seed)
    prepared = prepare(network)
    engine = Engine(prepared.template, seed=0, replication=0, still=True)
    flow = solve_flow(network)
    per_piece = flow.runs / flow.started[0]
    for days in (1, 8):
        assert engine.advance(days * DAY)
        started = int(engine.m[prepared.layout.routes[0] + r.U_STARTED])
        runs = np.array([engine.x[op + r.O_RUNS] for op in prepared.layout.operations])
        k = len(engine.rows_of(r.ROTOR)) + 4 * float(per_piece.sum())
        assert np.abs(runs / started - per_piece).max() <= k / started
    assert started > 5000


def test_still_mode_has_no_luck() -> None:
    template = prepare(branching(3)).template
    stories = []
    for seed in (1, 2):
        engine = Engine(template, seed=seed, replication=seed, still=True)
        assert engine.advance(DAY)
        stories.append(engine.take_log().tobytes())
    assert stories[0] == stories[1]
