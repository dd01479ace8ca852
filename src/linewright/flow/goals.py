"""What a choice is made by, in order: no surplus on purpose, declared preference, least direct cost."""

from __future__ import annotations

import numpy as np

from linewright.flow.columns import Sources, System
from linewright.flow.direct_cost import direct_cost
from linewright.network.equations import Equations
from linewright.network.journeys import Journeys
from linewright.network.model import Floats, Network

_FOLLOWS = 1e-3  # weight of a column that only follows from others when ties are split


def goals(network: Network, rows: Equations, where: Sources, system: System, journeys: Journeys) -> list[Floats]:
    """The goals to minimise, first things first; [n_columns] each."""
    return [
        _surplus_on_purpose(where, system),
        _preference(network, rows, where, system),
        _cost(network, where, system, journeys),
    ]


def _surplus_on_purpose(where: Sources, system: System) -> Floats:
    """Surplus of items that somebody makes or buys for themselves."""
    goal = np.zeros(system.matrix.shape[1])
    makeable = (where.routes > 0) | where.buyable
    goal[system.surplus_at : system.fills_at] = makeable[system.surplus]
    return goal


def _preference(network: Network, rows: Equations, where: Sources, system: System) -> Floats:
    """Rank of each alternative: place in any_of; ``prefer`` of a route, those without it last."""
    goal = np.zeros(system.matrix.shape[1])
    for column, (k, place) in enumerate(system.fills):
        goal[system.fills_at + column] = 0 if network.choices[k].limits else place  # a blend is the cheapest
    prefer = network.routes.prefer
    for makers in where.makers:
        if len(makers) > 1 and any(prefer[r] > 0 for r in makers):
            last = max(int(prefer[r]) for r in makers) + 1
            for r in makers:
                goal[r] = (int(prefer[r]) or last) * rows.main[r]
    return goal


def _cost(network: Network, where: Sources, system: System, journeys: Journeys) -> Floats:
    """Money: labour and machines of each piece started, what is bought, what surplus costs or brings."""
    items = network.items
    goal = np.zeros(system.matrix.shape[1])
    goal[: system.bought_at] = direct_cost(network, journeys)
    goal[system.bought_at : system.surplus_at] = np.nan_to_num(items.buy)[system.bought]
    leaves = np.nan_to_num(items.disposal) - np.nan_to_num(items.sell)
    makeable = (where.routes > 0) | where.buyable
    leaves[makeable] = np.maximum(leaves[makeable], 0.0)  # nothing is made or bought only to be sold as surplus
    goal[system.surplus_at : system.fills_at] = leaves[system.surplus]
    return goal


def weights(rows: Equations, where: Sources, system: System) -> Floats:
    """What is shared out equally where all goals tie: units of a contested item, fillings of a choice."""
    out = np.full(system.matrix.shape[1], _FOLLOWS)
    contested = where.routes + where.buyable > 1
    for item in np.flatnonzero(contested).tolist():
        for route in where.makers[item]:
            out[route] = max(float(rows.main[route]), _FOLLOWS)
    out[system.bought_at : system.surplus_at][contested[system.bought]] = 1.0
    out[system.fills_at : system.fills_at + len(system.fills)] = 1.0
    return out
