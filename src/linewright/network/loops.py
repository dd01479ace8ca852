"""Loops of items and routes: oversize back to the mill, solvent back to the wash."""

from __future__ import annotations

from typing import Any

import numpy as np

from linewright.network.model import Ints, Network
from linewright.network.reactions import chain_of


def loop_numbers(network: Network) -> tuple[Ints, Ints]:
    """The loop that each item and each route lies on (-1: none): [n_items], [n_routes].

    Items and routes lie on one loop where each can be reached from the other, item to the routes that take it, route to
    the items that it gives.
    """
    if "loops" not in network.notes:
        network.notes["loops"] = _loop_numbers(network)
    found: tuple[Ints, Ints] = network.notes["loops"]
    return found


def _loop_numbers(network: Network) -> tuple[Ints, Ints]:
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    n_items, n_routes = len(network.items.ids), len(network.routes.ids)
    total = n_items + n_routes
    tails, heads = _edges(network)
    graph = coo_array((np.ones(len(tails)), (tails, heads)), shape=(total, total))
    count, group = connected_components(graph.tocsr(), directed=True, connection="strong")
    many = np.bincount(group, minlength=count)[group] > 1
    numbers = np.where(many, group, -1).astype(np.int64)
    return numbers[:n_items], numbers[n_items:]


def _edges(network: Network) -> tuple[Any, Any]:
    operations, n_items = network.operations, len(network.items.ids)
    tails, heads = [np.arange(len(network.routes.ids)) + n_items], [network.routes.item]
    for links in (operations.takes, operations.takes_per_load):
        tails.append(links.index)
        heads.append(np.repeat(operations.route, np.diff(links.starts)) + n_items)
    tails.append(np.repeat(operations.route, np.diff(operations.gives.starts)) + n_items)
    heads.append(operations.gives.index)
    extra = [(i, int(operations.route[c.operation]) + n_items) for c in network.choices for i in c.items]
    for check in network.inspections:
        for reject in (*check.rejects, check.other):
            route = int(operations.route[check.operation]) + n_items
            extra += [(route, now.item) for now in chain_of(reject) if now.item >= 0]
    tails.append(np.array([a for a, _ in extra], dtype=np.int64))
    heads.append(np.array([b for _, b in extra], dtype=np.int64))
    return np.concatenate(tails), np.concatenate(heads)


def loop_of_item(network: Network, item: int) -> list[str]:
    """Names of the items and routes on the loop that an item lies on; empty where it lies on none."""
    of_item, of_route = loop_numbers(network)
    if of_item[item] < 0:
        return []
    number = of_item[item]
    return [network.items.ids[i] for i in np.flatnonzero(of_item == number)] + [
        network.routes.ids[r] for r in np.flatnonzero(of_route == number)
    ]


def leads_back(network: Network) -> set[tuple[int, int]]:
    """Pairs (item, route that takes it) where a by-product returns to a route that leads to where it came up.

    Oversize taken by the mill leads back: what the mill makes is screened again. A by-product that only goes onward
    does not, even where something else of its route returns later.
    """
    if "leads_back" not in network.notes:
        network.notes["leads_back"] = _leads_back(network)
    found: set[tuple[int, int]] = network.notes["leads_back"]
    return found


def _leads_back(network: Network) -> set[tuple[int, int]]:
    of_item, of_route = loop_numbers(network)
    n_items = len(network.items.ids)
    tails, heads = _edges(network)
    users: dict[int, set[int]] = {}
    givers: dict[int, set[int]] = {}
    for tail, head in zip(tails.tolist(), heads.tolist(), strict=True):
        if tail < n_items:
            users.setdefault(tail, set()).add(head - n_items)
        elif int(network.routes.item[tail - n_items]) != head:
            givers.setdefault(head, set()).add(tail - n_items)
    found = set()
    for item in np.flatnonzero(of_item >= 0).tolist():
        for route in users.get(item, ()) if item in givers else ():
            if of_route[route] == of_item[item] and _reaches(network, route, givers[item], users):
                found.add((item, route))
    return found


def _reaches(network: Network, start: int, goals: set[int], users: dict[int, set[int]]) -> bool:
    """Whether what a route makes comes, made into further things, to one of the goals."""
    seen, waiting = {start}, [start]
    while waiting:
        route = waiting.pop()
        if route in goals:
            return True
        fresh = users.get(int(network.routes.item[route]), set()) - seen
        seen |= fresh
        waiting.extend(fresh)
    return False
