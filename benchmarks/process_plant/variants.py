"""Which variants of an operation stand in one queue, share a load, and need no setup between them.

As docs/meaning.md says it: variants stand in one queue, first come, first served; those that begin a route with parts
made here, or begin a visit with a carrier of their own, wait for these in queues of their own. A load mixes variants
where its time, people, tools, carriers, setups, cleaning and what it takes do not differ.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

from linewright.network import Network
from linewright.network.variants import changing_items

DRAWN_ONCE = ("time", "stand", "setup", "clean", "start")
TOLD_ONCE = (
    "each", "hands_all", "hands_start", "hands_end", "load_least", "load_most", "waits", "stop", "setup_when",
    "setup_every", "clean_when", "clean_every", "start_when", "start_scrap", "faults_per_load", "tends",
)  # fmt: skip
LISTED = ("crews", "tools", "takes", "takes_per_load", "setup_crews", "setup_takes", "clean_crews", "clean_takes")
"""What must not differ between the pieces of a load: random times, numbers, lists."""


def written_steps(network: Network) -> list[int]:
    """[n_operations] the step as written; steps of one route stand in its order."""
    return list(range(len(network.operations.ids))) if network.origin is None else network.origin.operation.tolist()


def items_changed(network: Network) -> list[int]:
    """[n_operations] equal where a setup for another item is not due between two operations."""
    found: list[int] = changing_items(network).tolist()
    return found


def queues(network: Network) -> list[int]:
    """[n_operations] the number of the queue before the visit of each operation."""
    numbers: dict[Hashable, int] = {}
    own = {v: numbers.setdefault(_name(network, v), len(numbers)) for v in range(len(network.visits.first))}
    return [own[v] for v in network.operations.visit.tolist()]


def _name(network: Network, v: int) -> Hashable:
    p, first = network.operations, int(network.visits.first[v])
    steps = range(first, int(network.visits.last[v]) + 1)
    if network.origin is None or (first in network.routes.first and _takes_made(network, first)):
        return ("alone", v)
    signs = [_sign(p, o) for o in steps if p.load_most[o] > 1]
    if any(p.faults_per_load[o] and len(p.faults.row(o)[0]) for o in steps if p.load_most[o] > 1):
        return ("alone", v)
    rides = [c for o in steps for c in range(len(network.carriers.ids)) if o in network.carriers.joins.row(c)[0]]
    return (tuple(network.origin.operation[steps.start : steps.stop].tolist()), tuple(rides), tuple(signs))


def _takes_made(network: Network, o: int) -> bool:
    made = {*network.routes.item.tolist(), *network.operations.gives.index.tolist()}
    return any(item in made for item in network.operations.takes.row(o)[0].tolist())


def _sign(p: Any, o: int) -> Hashable:
    times = [(int(d.shape[o]), *d.parameters[o].tolist()) for d in (getattr(p, name) for name in DRAWN_ONCE)]
    told = [float(getattr(p, name)[o]) for name in TOLD_ONCE]
    listed = [tuple(zip(*(part.tolist() for part in getattr(p, name).row(o)), strict=True)) for name in LISTED]
    return (tuple(times), tuple(told), tuple(listed))
