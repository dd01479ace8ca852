"""Where a plan names hazards: on items, stations and operations."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.base.cautions import Caution, cautions
from linewright.plan.model import Plan


def cautions_of(plan: Plan) -> tuple[Caution, ...]:
    """One caution for each hazard that the plan names, with everything that names it."""
    return cautions(_named(plan))


def _named(plan: Plan) -> Iterator[tuple[str, str]]:
    for route in plan.routes.values():
        for operation in route.operations:
            yield from ((hazard, operation.name or operation.id) for hazard in operation.hazards)
    for station in plan.stations.values():
        yield from ((hazard, station.name or station.id) for hazard in station.hazards)
    for item in plan.items.values():
        yield from ((hazard, item.name or item.id) for hazard in item.hazards)
