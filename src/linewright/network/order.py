"""The order of routes: makers before users as far as loops allow, and which items and routes lie on a loop."""

from __future__ import annotations

from linewright.plan.model import Plan, Route


def routes_in_order(plan: Plan) -> list[Route]:
    """Routes so that every item is made before it is taken, where it can be; those on loops last, in plan order."""
    makers: dict[str, list[str]] = {}
    for route in plan.routes.values():
        makers.setdefault(route.gives, []).append(route.id)
    needs: dict[str, set[str]] = {
        route.id: {m for name in _taken(route) for m in makers.get(name, ()) if m != route.id}
        for route in plan.routes.values()
    }
    users: dict[str, list[str]] = {}
    for route_id, before in needs.items():
        for maker in before:
            users.setdefault(maker, []).append(route_id)
    waiting = {route_id: len(before) for route_id, before in needs.items()}
    ready = [route_id for route_id, count in waiting.items() if count == 0]
    done: dict[str, None] = {}
    for route_id in ready:  # grows while it is walked
        done[route_id] = None
        for user in users.get(route_id, ()):
            waiting[user] -= 1
            if waiting[user] == 0:
                ready.append(user)
    return [plan.routes[route_id] for route_id in done] + [r for r in plan.routes.values() if r.id not in done]


def _taken(route: Route) -> set[str]:
    names: set[str] = set()
    for operation in route.operations:
        for amount in (*operation.takes, *operation.takes_per_load):
            names.update(amount.any_of or (amount.item,))
    return names
