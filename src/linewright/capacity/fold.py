"""Capacity with variants told by what was written. Stations, crews and tools are what they are; what is wanted is
added up over the variants, and operations share their stations as their variants do together."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from linewright.base.calendar import NS
from linewright.capacity.model import Capacity, Wanted
from linewright.flow.model import Flow
from linewright.network.fold import fold_links, groups_of
from linewright.network.model import Network


def fold_capacity(network: Network, flow: Flow, capacity: Capacity) -> Capacity:
    """Capacity of a network by what was written; itself where it has no variants."""
    origin = network.origin
    if origin is None:
        return capacity
    demand = np.bincount(origin.item, network.items.demand, len(origin.items))
    wanted = tuple(
        _wanted(network, item, float(demand[item]), capacity.multiple) for item in np.flatnonzero(demand > 0).tolist()
    )
    first = wanted[0].demand if wanted else 0.0
    operations = groups_of(origin.operation, len(origin.operations), flow.runs)
    honesty = capacity.honesty
    if honesty.bound is not None:
        honesty = replace(honesty, bound=first * capacity.multiple if math.isfinite(capacity.multiple) else None)
    return replace(
        capacity,
        wanted=wanted,
        bounds=tuple(replace(bound, rate=first * bound.multiple) for bound in capacity.bounds),
        honesty=honesty,
        shares=fold_links(capacity.shares, operations, None),
    )


def _wanted(network: Network, item: int, demand: float, multiple: float) -> Wanted:
    assert network.origin is not None
    unit = network.items.units[int(np.flatnonzero(network.origin.item == item)[0])]
    open_seconds = network.open_calendar.open_ns / NS / network.days_week
    return Wanted(network.origin.items[item], unit, demand, demand * multiple, open_seconds / demand)
