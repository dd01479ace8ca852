"""What the map may be coloured by: for every operation the use of its station, its cost, and what its station does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from linewright.answer.model import Answer
from linewright.plan.paths import join
from linewright.report.sections import limiting
from linewright.report.story import told_order
from linewright.report.words import name_of


@dataclass(frozen=True, slots=True)
class Shade:
    """An operation as the map knows it. ``number`` is that of its symbol; ``line`` is where it is written, in the table
    ``file`` where that is not the plan itself.

    ``use`` is the part of the hours at hand that its fullest station is busy, None without one; ``cost`` the money for
    one of each product, scrap and rework included; ``limits`` whether it limits the rate.
    """

    id: str
    number: int
    name: str
    path: str
    station: str
    file: str
    line: int | None
    use: float | None
    cost: float | None
    limits: bool


def shades_of(answer: Answer) -> tuple[Shade, ...]:
    """One for every operation, in the order in which the map numbers them."""
    used = {r.id: r.use for r in answer.capacity.resources if r.kind == "station"}
    costs: dict[str, float] = {}
    for product in answer.cost.products:
        for row in product.by_operation:
            costs[row.operation] = costs.get(row.operation, 0.0) + row.total
    limits, places = limiting(answer), answer.plan.places
    found: list[Shade] = []
    for route in told_order(answer.plan):
        for number, operation in enumerate(route.operations):
            path = f"{join('routes', route.id)}.operations[{number}]"
            place = places.get(path)
            use = max((used[s] for s in operation.station if s in used), default=None)
            line = place.line if place is not None else None
            file = Path(place.file).name if place is not None and not place.file.endswith(".toml") else ""
            name, stations = name_of(operation.id, operation.name), ", ".join(operation.station)
            cost, limit = costs.get(operation.id), operation.id in limits
            found.append(Shade(operation.id, len(found) + 1, name, path, stations, file, line, use, cost, limit))
    return tuple(found)


def states_of(answer: Answer) -> Mapping[str, dict[str, float]]:
    """Operation id to the shares of the time of its station by state, where it was simulated."""
    if answer.simulation is None:
        return {}
    run = answer.simulation.as_planned
    shares = {
        station: dict(zip(run.states, map(float, row), strict=True))
        for station, row in zip(run.stations, run.state_share.mean, strict=True)
    }
    every = (operation for route in answer.plan.routes.values() for operation in route.operations)
    return {o.id: shares[o.station[0]] for o in every if o.station and o.station[0] in shares}
