"""What variants of one operation share in the simulation: a queue before the station, and a load.

Variants stand in one queue, first come, first served, so that the engine looks at one queue and not at one for each
size. A load may mix variants where nothing about it differs; where anything does, each variant fills its own. A piece
that begins its route with parts of its own variant waits outside, in a queue of its own, for those parts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable
from dataclasses import fields

import numpy as np

from linewright.network.model import Durations, Links, Network
from linewright.simulate.layout_base import counted, load_of

_OF_PIECES = frozenset(
    {"ids", "paths", "route", "position", "visit", "stations", "then_to", "pieces_out", "survives", "piece_mass",
     "gives", "loses", "faults"}
)  # fmt: skip
"""What may differ between pieces in one load: it is drawn, or leaves, piece by piece."""


def shared_visits(network: Network) -> list[int]:
    """[n_visits] the visit whose queue each one uses: the first visit that it is shared with."""
    visits = network.visits
    if network.origin is None:
        return list(range(len(visits.first)))
    found: dict[Hashable, int] = {}
    return [found.setdefault(_key(network, v), v) for v in range(len(visits.first))]


def load_classes(network: Network, shared: list[int]) -> list[int]:
    """[n_operations] the operation that stands for all that may be done in one load with each; -1: only itself."""
    p, visits = network.operations, network.visits
    out = [-1] * len(p.ids)
    if network.origin is None:
        return out
    users = Counter(shared)
    for v, own in enumerate(shared):
        first, last = int(visits.first[v]), int(visits.last[v])
        if users[own] > 1:
            for o in _loads(network, first, last):
                out[o] = int(visits.first[own]) + o - first
    return out


def _loads(network: Network, first: int, last: int) -> list[int]:
    """The operations of a visit that work on several pieces together."""
    return [o for o in range(first, last + 1) if load_of(network, o) > 1]


def _key(network: Network, v: int) -> Hashable:
    """Equal for visits that share a queue."""
    origin, p = network.origin, network.operations
    assert origin is not None
    first, last = int(network.visits.first[v]), int(network.visits.last[v])
    rides = [carriers for o in range(first, last + 1) for carriers in _carriers(network, o)]
    steps = (*origin.operation[first : last + 1].tolist(), "on", *rides)
    own = ("own", v)
    if not counted(network, first):
        return own
    if first == int(network.routes.first[p.route[first]]) and _begins_with_parts(network, first):
        return own
    signs = tuple(_sign(network, o) for o in _loads(network, first, last))
    return own if None in signs else (steps, signs)


def _carriers(network: Network, o: int) -> list[int]:
    """The carriers that a piece gets on at an operation."""
    joins = network.carriers.joins
    return [int(np.searchsorted(joins.starts, k, side="right")) - 1 for k in np.flatnonzero(joins.index == o)]


def _begins_with_parts(network: Network, o: int) -> bool:
    """Whether a route begins with something that is made here, which its pieces wait for outside."""
    made = set(network.routes.item.tolist()) | set(network.operations.gives.index.tolist())
    choices = [i for c in network.choices if c.operation == o for i in c.items]
    return any(int(i) in made for i in (*network.operations.takes.row(o)[0].tolist(), *choices))


def _sign(network: Network, o: int) -> Hashable:
    """All that must be the same for pieces to share a load; None where a load is never shared."""
    p = network.operations
    if any(c.operation == o for c in network.choices) or (p.faults_per_load[o] and len(p.faults.row(o)[0])):
        return None
    return tuple(_told(getattr(p, f.name), o) for f in fields(p) if f.name not in _OF_PIECES)


def _told(column: object, o: int) -> Hashable:
    """One operation's part of a column, as something that can be compared."""
    if isinstance(column, Links):
        return tuple(tuple(part.tolist()) for part in column.row(o))
    if isinstance(column, Durations):
        return (int(column.shape[o]), *column.parameters[o].tolist())
    assert isinstance(column, np.ndarray)
    return float(column[o])


def positions(network: Network) -> list[int]:
    """[n_operations] the place of each operation in its route as written, which variants may go through in part."""
    origin = network.origin
    if origin is None:
        return [int(p) for p in network.operations.position]
    written = [p for route in origin.plan.routes.values() for p in range(len(route.operations))]
    return [written[o] for o in origin.operation.tolist()]
