"""Who can block whom: a cycle of finite places and stores may lock up, and is named beforehand.

A piece keeps its place until the next place or store has room. Wherever nothing is written between two operations
there is unlimited room and no blocking. A ring of places handed over directly, or of full stores, is a warning.
"""

from __future__ import annotations

import numpy as np

from linewright.base.problems import Problems
from linewright.network.model import DIRECT, Network
from linewright.network.reactions import sent_back


def blocking_edges(network: Network) -> list[tuple[int, int]]:
    """Edges (from, to) between finite things: stations 0..n-1, then stores; ``from`` waits for room in ``to``.

    A station waits for the store its pieces go to or, handed over directly, for the next station. A store empties into
    the stations where its pieces go on.
    """
    operations, n = network.operations, len(network.stations.ids)
    users = _users_of_items(network)
    edges: set[tuple[int, int]] = set()
    for o in range(len(operations.ids)):
        route = int(operations.route[o])
        is_last = o == int(network.routes.last[route])
        item = int(network.routes.item[route])
        onward = users.get(item, set()) if is_last else _stations_of(network, o + 1)
        store = int(operations.then_to[o])
        if is_last and store == -1:
            store = int(network.item_store[item])
        here = _stations_of(network, o)
        same_visit = not is_last and operations.visit[o] == operations.visit[o + 1]
        if store >= 0:
            edges |= {(s, n + store) for s in here} | {(n + store, t) for t in onward}
        elif store == DIRECT and not same_visit:
            edges |= {(s, t) for s in here for t in onward}
    return sorted(edges)


def _stations_of(network: Network, operation: int) -> set[int]:
    return {int(s) for s in network.operations.stations.row(operation)[0]}


def _users_of_items(network: Network) -> dict[int, set[int]]:
    """The stations where each item is taken."""
    users: dict[int, set[int]] = {}
    takes = network.operations.takes
    owner = np.repeat(np.arange(len(network.operations.ids)), np.diff(takes.starts))
    for o, item in zip(owner.tolist(), takes.index.tolist(), strict=True):
        users.setdefault(item, set()).update(_stations_of(network, o))
    for choice in network.choices:
        for item in choice.items:
            users.setdefault(item, set()).update(_stations_of(network, choice.operation))
    return users


def carrier_edges(network: Network) -> list[tuple[int, int]]:
    """Edges of carriers, numbered behind the stores: who waits for one, and where those who have one still must go.

    A piece that gets on later than at the first operation of its visit, or again after it was sent back, may wait for
    the carrier in its place. One that is sent back with its carrier to another visit wants a place there once more.
    """
    operations, carriers = network.operations, network.carriers
    base = len(network.stations.ids) + len(network.stores.ids)
    back = sent_back(network)
    in_place = {to for o, to in back if operations.visit[o] == operations.visit[to]}
    edges: set[tuple[int, int]] = set()
    for c in range(len(carriers.ids)):
        joins, written = carriers.joins.row(c)
        stretch = set(carriers.stretch.row(c)[0].tolist())
        for o, first in zip(joins.tolist(), (written > 0).tolist(), strict=True):
            if not first or int(network.visits.first[operations.visit[o]]) != o or o in in_place:
                edges |= {(s, base + c) for s in _stations_of(network, o)}
        entered = {int(operations.visit[o]) for o in joins[written > 0]}
        onward = {o for o in stretch if int(operations.visit[o]) not in entered}
        onward |= {to for o, to in back if {o, to} <= stretch and to not in in_place}
        edges |= {(base + c, s) for o in onward for s in _stations_of(network, o)}
    return sorted(edges)


def warn_of_rings(network: Network, problems: Problems) -> None:
    """One warning for every ring of finite places, stores and carriers, naming its members."""
    limited = np.any(network.operations.then_to != -1) or np.any(network.item_store >= 0)
    if not (limited or network.carriers.ids):
        return
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    edges = [*blocking_edges(network), *carrier_edges(network)]
    if not edges:
        return
    names = (*network.stations.ids, *network.stores.ids, *network.carriers.ids)
    rows, columns = np.array(edges).T
    graph = coo_array((np.ones(len(edges)), (rows, columns)), shape=(len(names), len(names)))
    count, group = connected_components(graph, directed=True, connection="strong")
    size = np.bincount(group, minlength=count)
    itself = {int(group[a]) for a, b in edges if a == b}
    for ring in range(count):
        if size[ring] > 1 or ring in itself:
            members = ", ".join(names[i] for i in np.flatnonzero(group == ring))
            problems.warn(
                "stores",
                f"pieces can go round through {members}, all of limited room: they may lock each other",
                hint="leave one of the stores unlimited, or let the simulation show whether it happens",
            )
