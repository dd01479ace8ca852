"""The quality of each kind of a plan with options: what reaches the customer, and what is right first time.

Told by the values of the options, so that two dozen sizes and sides are read at a glance; each variant is there too.
"""

from __future__ import annotations

import math

import numpy as np

from linewright.answer.quality.model import KindQuality
from linewright.flow.model import Flow
from linewright.network.kinds import Kind, kinds_of
from linewright.network.model import Floats, Network
from linewright.network.way import Way

MILLION = 1e6


def kinds(network: Network, flow: Flow, way: Way) -> tuple[KindQuality, ...]:
    """Every kind, in the order of ``kinds_of``; none where the plan makes no faults and loses nothing by chance."""
    found = kinds_of(network)
    if not found:
        return ()
    right = right_first_time(network, flow)
    if not network.faults and all(share == 1.0 for share in right.values()):
        return ()
    carried = _escapes(network, flow)
    return tuple(_kind(network, flow, way, kind, carried, right) for kind in found)


def _kind(network: Network, flow: Flow, way: Way, kind: Kind, carried: Floats, right: dict[int, float]) -> KindQuality:
    units = np.array([float(flow.made[k]) for k in kind.rows])
    weight = units / units.sum() if units.sum() > 0 else np.full(len(units), 1 / len(units))
    faults = weight @ carried[list(kind.rows)]
    together = float(weight @ np.array([_any(network, flow, way, k) for k in kind.rows]))
    bound = math.isnan(together)
    worst = int(np.argmax(faults)) if len(faults) and faults.max() > 0 else -1
    return KindQuality(
        kind.item,
        kind.values,
        float(units.sum()),
        MILLION * (min(1.0, float(faults.sum())) if bound else together),
        bound,
        network.faults[worst] if worst >= 0 else "",
        MILLION * float(faults[worst]) if worst >= 0 else 0.0,
        float(weight @ np.array([right.get(k, 1.0) for k in kind.rows])),
    )


def _escapes(network: Network, flow: Flow) -> Floats:
    """[n_items, n_faults] the share of the units of each item that leave with each fault."""
    found = np.zeros((len(network.items.ids), len(network.faults)))
    for escape in flow.escapes:
        found[escape.item, escape.fault] = escape.share
    return found


def _any(network: Network, flow: Flow, way: Way, item: int) -> float:
    """The share of the units of an item that leave with any fault; nan where faults were not followed together."""
    makers = np.flatnonzero(network.routes.item == item)
    return float(flow.mix[makers] @ way.any_fault[network.routes.last[makers]])


def right_first_time(network: Network, flow: Flow) -> dict[int, float]:
    """Made item to the chance that one is right first time: rolled throughput yield, parts made here included.

    The product of the rolled yields of its own route and, for each of its parts, of theirs. What is measured counts
    once for each amount taken; where there are several makers or a choice, the mean by the mix.
    """
    found: dict[int, float] = {}
    for item in dict.fromkeys(network.routes.item.tolist()):
        _right(network, flow, item, found, set())
    return found


def _right(network: Network, flow: Flow, item: int, found: dict[int, float], open_: set[int]) -> float:
    if item in found or item in open_:
        return found.get(item, 1.0)  # what goes round comes from outside in the first place
    makers = np.flatnonzero(network.routes.item == item).tolist()
    total = sum(float(flow.mix[r]) for r in makers)
    if total <= 0:
        return 1.0  # bought
    each = [float(flow.mix[r]) / total * _of_route(network, flow, r, found, open_ | {item}) for r in makers]
    found[item] = sum(each)
    return found[item]


def _of_route(network: Network, flow: Flow, route: int, found: dict[int, float], open_: set[int]) -> float:
    operations, counted = network.operations, network.items.counted
    share, pieces = float(flow.rolled_yield[route]), 1.0
    for o in range(int(network.routes.last[route]), int(network.routes.first[route]) - 1, -1):
        pieces *= float(operations.pieces_out[o])
        for item, units in zip(*(row.tolist() for row in operations.takes.row(o)), strict=True):
            share *= _right(network, flow, item, found, open_) ** (units / pieces if counted[item] else 1.0)
        for k, choice in enumerate(network.choices):
            if choice.operation == o:
                share *= sum(
                    mix * _right(network, flow, item, found, open_) ** (units / pieces if counted[item] else 1.0)
                    for item, units, mix in zip(choice.items, choice.units, flow.choice_mix[k], strict=True)
                )
    return share
