"""Where a carrier goes along: from the operations that put a piece on it to those at which the piece comes off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from linewright.plan.model import Carrier, Operation, Route
from linewright.plan.whole import items_of


@dataclass(slots=True)
class Stretch:
    """Operations done on a carrier, in the order found; items that lie on it between routes; what was reached.

    ``ends`` are items with which pieces leave the plan, or go where no ``to`` is, still on their carrier.
    ``lost`` are operations of ``from`` from which no ``to`` is reached.
    """

    operations: dict[str, None] = field(default_factory=dict)
    items: dict[str, None] = field(default_factory=dict)
    reached: set[str] = field(default_factory=set)
    ends: set[str] = field(default_factory=set)
    lost: list[str] = field(default_factory=list)


def stretch_of(carrier: Carrier, routes: Mapping[str, Route]) -> Stretch:
    """Follow the pieces of a carrier through the routes.

    A piece goes down its route; at the end of the route it goes on as a part, in every route that takes the item.
    """
    found = Stretch()
    where = {o.id: (route, k) for route in routes.values() for k, o in enumerate(route.operations)}
    for join in carrier.joins:
        if join not in where:
            continue
        one = Stretch()
        _follow(carrier, routes, *where[join], one)
        found.operations |= one.operations
        found.items |= one.items
        found.reached |= one.reached
        found.ends |= one.ends
        if not one.reached:
            found.lost.append(join)
    return found


def _follow(carrier: Carrier, routes: Mapping[str, Route], route: Route, position: int, found: Stretch) -> None:
    for operation in route.operations[position:]:
        found.operations[operation.id] = None
        if operation.id in carrier.leaves:
            found.reached.add(operation.id)
            return
    if route.gives in found.items:
        return
    found.items[route.gives] = None
    users = list(takers(route.gives, routes))
    if not users:
        found.ends.add(route.gives)
    for user, at in users:
        _follow(carrier, routes, user, at, found)


def takers(item: str, routes: Mapping[str, Route]) -> Iterator[tuple[Route, int]]:
    """Routes that take an item, with the position of the operation that does."""
    for route in routes.values():
        for position, operation in enumerate(route.operations):
            if item in taken(operation):
                yield route, position
                break


def taken(operation: Operation) -> set[str]:
    """The items that a piece takes at an operation."""
    return {item for amount in operation.takes for item in items_of(amount)}
