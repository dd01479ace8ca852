"""What every part of the compiler shares: the plan, the names it declares, the problems found so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from linewright.base.problems import Problems, did_you_mean
from linewright.network.model import NOWHERE
from linewright.plan.model import Operation, Plan


@dataclass(slots=True)
class Context:
    """The plan being compiled, with the index of every name, by kind."""

    plan: Plan
    problems: Problems = field(default_factory=Problems)
    assumptions: list[str] = field(default_factory=list)
    items: dict[str, int] = field(default_factory=dict)
    stations: dict[str, int] = field(default_factory=dict)
    stores: dict[str, int] = field(default_factory=dict)
    crews: dict[str, int] = field(default_factory=dict)
    tools: dict[str, int] = field(default_factory=dict)
    operations: dict[str, int] = field(default_factory=dict)
    faults: dict[str, int] = field(default_factory=dict)
    losses: dict[str, int] = field(default_factory=dict)

    def look_up(self, names: Mapping[str, int], name: str, path: str, kind: str) -> int:
        """The index of a name, or NOWHERE and a problem with the nearest known name."""
        index = names.get(name)
        if index is None:
            self.problems.error(
                path,
                f"there is no {kind} of this name",
                value=name,
                expected=f"an {kind}" if kind[0] in "aeiou" else f"a {kind}",
                hint=did_you_mean(name, names),
            )
            return NOWHERE
        return index


def start(plan: Plan) -> Context:
    """A context with every name of the plan numbered in the author's order."""
    context = Context(plan)
    for kind in ("items", "stations", "stores", "crews", "tools"):
        setattr(context, kind, {name: i for i, name in enumerate(getattr(plan, kind))})
    for route in plan.routes.values():
        if not route.operations:
            context.problems.error(f"routes.{route.id}.operations", "the route has no operations")
        for position, operation in enumerate(route.operations):
            if operation.id in context.operations:
                context.problems.error(
                    f"routes.{route.id}.operations[{position}].id",
                    "two operations have this id",
                    value=operation.id,
                    expected="an id of its own in the whole plan",
                )
            context.operations[operation.id] = len(context.operations)
            _collect(operation, context)
    if not plan.demand and plan.makes is None:
        context.problems.error("plan.demand", "nothing is demanded", hint='write demand = "36 each/day"')
    return context


def _collect(operation: Operation, context: Context) -> None:
    """Number the faults and losses in order of appearance."""
    for fault in operation.faults:
        context.faults.setdefault(fault, len(context.faults))
    if operation.check is not None:
        for fault in operation.check.finds:
            context.faults.setdefault(fault, len(context.faults))
    for loss in operation.loses:
        context.losses.setdefault(loss.item, len(context.losses))
