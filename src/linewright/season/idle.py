"""Routes that the balance leaves idle over a season though what they give is wanted: on some day they may be the way.

The averages take the dearer maker, or the item that is preferred less, only where the others do not do. A bound of what
a season can finish must have all of them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from linewright.flow.gather import by_item, filled_of, uses
from linewright.flow.model import Flow
from linewright.network.equations import Uses, equations
from linewright.network.journeys import journeys
from linewright.network.model import Network
from linewright.network.rows import owners, summed


def with_idle_routes(network: Network, flow: Flow) -> Flow:
    """The balance with a piece started on every idle route that may be chosen, so that its legs can be told."""
    idle = _idle(network, flow)
    if not idle:
        return flow
    started = np.zeros(len(network.routes.ids))
    started[idle] = 1.0
    each = started[network.operations.route]
    journey = journeys(network, flow.mix, flow.choice_mix)
    rows = equations(network, journey)
    n_items, use = len(network.items.ids), uses(network, rows, started, flow.choice_mix)
    joined = Uses(
        np.concatenate([flow.item_use.index, use.operation]),
        np.concatenate([owners(flow.item_use), use.item]),
        np.concatenate([flow.item_use.amount, use.units]),
    )
    return replace(
        flow,
        started=flow.started + started,
        finished=flow.finished + journey.good * started,
        runs=flow.runs + journey.runs * each,
        cycles=flow.cycles + journey.runs * each / network.operations.load_most,
        used=flow.used + summed(use.item, use.units, n_items),
        filled=flow.filled + filled_of(network, rows, each),
        item_use=by_item(joined, n_items),
    )


def _idle(network: Network, flow: Flow) -> list[int]:
    """Idle routes without a declared share whose item is demanded or goes into what is; not where one can buy it."""
    items, routes, operations = network.items, network.routes, network.operations
    may = np.isnan(routes.share) & (flow.started <= 0)
    if not may.any():
        return []
    season = network.season
    assert season is not None
    endless = np.isfinite(items.buy) | items.free
    endless[season.intake_item] = False
    reached = set(np.flatnonzero(items.demand > 0).tolist())
    waiting = list(reached)
    while waiting:
        item = waiting.pop()
        for route in np.flatnonzero((routes.item == item) & ((flow.started > 0) | may)).tolist():
            parts: set[int] = set()
            for o in range(int(routes.first[route]), int(routes.last[route]) + 1):
                parts.update(operations.takes.row(o)[0].tolist(), operations.takes_per_load.row(o)[0].tolist())
            parts.update(i for c in network.choices if operations.route[c.operation] == route for i in c.items)
            new = {i for i in parts - reached if not endless[i]}
            reached |= new
            waiting += new
    return [route for route in np.flatnonzero(may).tolist() if int(routes.item[route]) in reached]
