"""Where a plan names hazards, on items, stations and operations, and those that its models of physics bring."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.base.cautions import Caution, cautions
from linewright.base.problems import ProblemsError
from linewright.plan.model import Operation, Plan


def cautions_of(plan: Plan) -> tuple[Caution, ...]:
    """One caution for each hazard that the plan names or a model brings, with everything that has it."""
    return cautions(_named(plan))


def _named(plan: Plan) -> Iterator[tuple[str, str]]:
    for route in plan.routes.values():
        for operation in route.operations:
            name = operation.name or operation.id
            yield from ((hazard, name) for hazard in (*operation.hazards, *_of_models(operation)))
    for station in plan.stations.values():
        yield from ((hazard, station.name or station.id) for hazard in station.hazards)
    for item in plan.items.values():
        yield from ((hazard, item.name or item.id) for hazard in item.hazards)


def _of_models(operation: Operation) -> Iterator[str]:
    """What the models behind the operation's times warn of: gas of a fermentation, dust of a dryer."""
    for written in (operation.time, operation.stand):
        if written is None or written.physics is None:
            continue
        from linewright.physics.models import MODELS, evaluate_model

        if written.physics not in MODELS:
            continue
        try:
            found = evaluate_model(written.physics, written.conditions).timed
        except ProblemsError:
            continue  # the network has named them
        named = {*operation.hazards}
        yield from (caution.hazard for caution in found.cautions if caution.hazard not in named)
