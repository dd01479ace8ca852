"""Small plans whose best change is known by hand, and the call that asks what would help most."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from linewright.answer.variants import told
from linewright.capacity import measure_capacity
from linewright.cost import cost_of_one
from linewright.flow import solve_flow
from linewright.improve import Effect, Improvement, improve
from linewright.improve.ideas import Idea, Ideas
from linewright.improve.pressure import Pressure
from linewright.improve.resources import think_of_resources
from linewright.improve.steps import think_of_steps
from linewright.network import compile_network
from linewright.plan import Plan, PlanBuilder, check_plan

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def works(**fields: Any) -> PlanBuilder:
    """A plan of one item, a shift that never ends."""
    given: dict[str, Any] = {"makes": "p", "demand": "100 each/day", **fields}
    builder = PlanBuilder("Harrow Fen Works, a test", money="EUR", **given)
    builder.shift("always", hours="00:00-24:00", days="Mon-Sun")
    return builder.item("p", unit="each").item("raw", unit="each", buy="1 EUR")


def serial(times: tuple[Any, ...]) -> PlanBuilder:
    """Machines in a row, nobody needed, unlimited room between."""
    builder = works()
    route = builder.route("r", gives="p")
    for k, time in enumerate(times):
        builder.station(f"m{k}")
        route.operation(f"o{k}", station=f"m{k}", time=time, takes={"raw": 1} if k == 0 else {})
    return builder


def unreliable(room: int) -> PlanBuilder:
    """Two like machines that stop 20 min after every 2 h on average, a small store between."""
    builder = works().store("rack", room=room)
    route = builder.route("r", gives="p")
    for k in range(2):
        builder.station(f"m{k}", between_stops="2 h", repair={"mean": "20 min", "cv": 1.0, "shape": "exponential"})
        fields: dict[str, Any] = {"takes": {"raw": 1}, "then_to": "rack"} if k == 0 else {}
        route.operation(f"o{k}", station=f"m{k}", time="2 min", **fields)
    return builder


def ask(plan: Plan | PlanBuilder, **options: Any) -> Improvement:
    """What would help most, with all that it needs worked out."""
    network = compile_network(plan.build() if isinstance(plan, PlanBuilder) else plan)
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    given: dict[str, Any] = {"days": 28, "budget_seconds": 900.0, **options}
    return improve(network, flow, capacity, cost_of_one(network, flow, capacity), **given)


def of(effects: tuple[Effect, ...], what: str) -> Effect:
    """The effect of the candidate that is called so."""
    return next(e for e in effects if e.candidate.what == what)


def ideas_of(plan: Plan, use: Any = None) -> Ideas:
    """Every idea, with everything pressed alike; ``use`` of the crews decides who learns whose job."""
    network = compile_network(plan)
    network, _ = told(network, solve_flow(network))
    n = [len(table.ids) for table in (network.stations, network.crews, network.tools, network.stores)]
    share = [np.ones((k, len(network.operations.ids))) for k in n[:2]]
    use = np.linspace(0.2, 0.9, n[1]) if use is None else use
    pressure = Pressure(*(np.ones(k) for k in n), share[0], share[1], use, np.ones(n[1]), np.ones(n[2]), np.ones(n[1]),
                        np.ones(len(network.carriers.ids)))  # fmt: skip
    ideas = Ideas(network, pressure)
    think_of_resources(ideas)
    think_of_steps(ideas)
    return ideas


@cache
def example(name: str) -> tuple[Plan, tuple[Idea, ...]]:
    plan, _ = check_plan(EXAMPLES / f"{name}.toml")
    assert plan is not None
    return plan, tuple(ideas_of(plan).found)
