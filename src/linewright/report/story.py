"""In which order routes are told and numbered: what goes into a route is told just before it."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.plan.model import Plan, Route


def told_order(plan: Plan) -> list[Route]:
    """Routes from the demanded items backwards, makers before users as far as loops allow; the rest in plan order."""
    makers: dict[str, list[str]] = {}
    for route in plan.routes.values():
        for item in _given(route):
            makers.setdefault(item, []).append(route.id)
    wanted = [maker for demand in plan.demand for maker in makers.get(demand.item, ())]
    told: dict[str, None] = {}
    begun: set[str] = set()
    for start in (*wanted, *plan.routes):
        stack = [start]
        while stack:
            here = stack[-1]
            if here in begun:
                told.setdefault(stack.pop())
                continue
            begun.add(here)
            before = [maker for item in _taken(plan.routes[here]) for maker in makers.get(item, ())]
            stack.extend(maker for maker in reversed(before) if maker not in begun)
    return [plan.routes[key] for key in told]


def _given(route: Route) -> Iterator[str]:
    yield route.gives
    for operation in route.operations:
        yield from (amount.item for amount in operation.gives)


def _taken(route: Route) -> Iterator[str]:
    for operation in route.operations:
        for amount in (*operation.takes, *operation.takes_per_load):
            yield from amount.any_of or (amount.item,)
