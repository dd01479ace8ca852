"""Where a plan names hazards, on items, stations and operations, and those that its models of physics bring."""

from __future__ import annotations

from collections.abc import Container, Iterator

from linewright.base.cautions import Caution, cautions
from linewright.network.modelled import models_of
from linewright.plan.model import Operation, Plan


def cautions_of(plan: Plan) -> tuple[Caution, ...]:
    """One caution for each hazard that the plan names or a model brings, with everything that has it."""
    return cautions((hazard, name) for hazard, name, _, _ in _named(plan))


def cautions_at(plan: Plan, operations: Container[str], stations: Container[str]) -> tuple[Caution, ...]:
    """The cautions of some operations and stations (ids), those of what these operations take and give with them."""
    every = (o for route in plan.routes.values() for o in route.operations if o.id in operations)
    items = {
        item
        for o in every
        for amount in (*o.takes, *o.takes_per_load, *o.gives)
        for item in (amount.any_of or (amount.item,))
    }
    here: dict[str, Container[str]] = {"operation": operations, "station": stations, "item": items}
    return cautions((hazard, name) for hazard, name, kind, key in _named(plan) if key in here[kind])


def _named(plan: Plan) -> Iterator[tuple[str, str, str, str]]:
    """Hazard, the name of what has it, and whether that is an operation, a station or an item, with its id."""
    for route in plan.routes.values():
        for operation in route.operations:
            name = operation.name or operation.id
            for hazard in (*operation.hazards, *_of_models(operation)):
                yield hazard, name, "operation", operation.id
    for station in plan.stations.values():
        for hazard in station.hazards:
            yield hazard, station.name or station.id, "station", station.id
    for item in plan.items.values():
        for hazard in item.hazards:
            yield hazard, item.name or item.id, "item", item.id


def _of_models(operation: Operation) -> Iterator[str]:
    """What the models behind the operation's times warn of: gas of a fermentation, dust of a dryer."""
    named = {*operation.hazards}
    for told in models_of(operation):
        if told is not None:
            yield from (caution.hazard for caution in told.cautions if caution.hazard not in named)
