"""What the map may be coloured by: for every operation its station's use, its cost, and what its station mostly does."""

from __future__ import annotations

from typing import Any

from linewright.answer.model import Answer
from linewright.report.words import name_of


def shades_of(answer: Answer) -> dict[str, dict[str, Any]]:
    """Operation id to ``use`` (the part of the hours at hand of its fullest station or crew, None without any), ``cost``
    (money for one of each product, scrap and rework included), and ``state`` (shares of the time of its station, where
    it was simulated).
    """
    busy = {(r.kind, r.id): r.use for r in answer.capacity.resources}
    costs: dict[str, float] = {}
    for product in answer.cost.products:
        for row in product.by_operation:
            costs[row.operation] = costs.get(row.operation, 0.0) + row.total
    states = _states(answer)
    found = {}
    for route in answer.plan.routes.values():
        for operation in route.operations:
            asked = [("station", s) for s in operation.station] + [("crew", c) for c in operation.crew]
            uses = [(busy[key], *key) for key in asked if key in busy]
            use, kind, id = max(uses, default=(None, "", ""))
            state = next((states[s] for s in operation.station if s in states), None)
            found[operation.id] = {
                "name": name_of(operation.id, operation.name), "path": f"{route.id}/{operation.id}", "use": use,
                "by": f"{kind} {id.replace('_', ' ')}".strip(), "cost": costs.get(operation.id), "state": state,
            }  # fmt: skip
    return found


def _states(answer: Answer) -> dict[str, dict[str, float]]:
    """Station id to shares of its time by state, from the simulation."""
    if answer.simulation is None:
        return {}
    run = answer.simulation.as_planned
    return {
        station: dict(zip(run.states, map(float, row), strict=True))
        for station, row in zip(run.stations, run.state_shares.mean, strict=True)
    }
