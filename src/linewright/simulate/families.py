"""Variants of a demanded item are let in one after the other in a fixed, smoothed sequence.

One demand stands for all of them and comes at their rate together; each time the variant is taken whose demand is
furthest behind its share. Flat out the same holds for what is open and finished.
"""

from __future__ import annotations

import numpy as np

from linewright.network.model import Network
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, calendar_row
from linewright.simulate.letting_in import enough_open, lot_of, one_of_each, weeks_ahead

Family = tuple[int, ...]
"""Items of the network: the demanded variants of one item."""


def families_of(network: Network) -> dict[int, Family]:
    """Demanded item to its family, where it has one: several variants let in by lots of one size."""
    if network.origin is None:
        return {}
    demanded = [k for k in np.flatnonzero(network.items.demand > 0).tolist() if (network.routes.item == k).any()]
    groups: dict[int, list[int]] = {}
    for k in demanded:
        groups.setdefault(int(network.origin.item[k]), []).append(k)
    found: dict[int, Family] = {}
    for group in groups.values():
        if len(group) > 1 and len({_lot(network, k) for k in group}) == 1:
            found |= dict.fromkeys(group, tuple(group))
    return found


def _makers(network: Network, item: int) -> list[int]:
    makers: list[int] = np.flatnonzero(network.routes.item == item).tolist()
    return makers


def _lot(network: Network, item: int) -> float:
    """Units of an item that one lot let in becomes."""
    route = _makers(network, item)[0]
    part = slice(int(network.routes.first[route]), int(network.routes.last[route]) + 1)
    return lot_of(network, route) * float(np.prod(network.operations.pieces_out[part]))


def let_in_family(layout: Layout, family: Family, release: str, open_pieces: int | None) -> dict[int, float]:
    """Fill the rows of a family and of its demand. Gives the pieces kept open of each item."""
    network, b = layout.network, layout.builder
    demand = network.items.demand[list(family)]
    shares = (demand / demand.sum()).tolist()
    makers = [route for k in family for route in _makers(network, k)]
    pieces = float(open_pieces) if open_pieces is not None else enough_open(network, one_of_each(network, makers))
    row = b.amounts((layout.items[k], share) for k, share in zip(family, shares, strict=True))
    units = _lot(network, family[0])
    lot = lot_of(network, makers[0])
    b.x[row] = pieces * units / lot
    mode = {"flat out": r.BY_OPEN, "pull": r.BY_PULL}.get(release, r.BY_TAKT)
    for k, share in zip(family, shares, strict=True):
        item = layout.items[k]
        b.m[item + r.I_FAMILY], b.m[item + r.I_MODE] = row, mode
        b.x[item + r.I_TARGET] = max(pieces * share * units / lot, units)
    if mode != r.BY_OPEN:
        _demand(layout, row, family, units, float(demand.sum()))
    return {k: pieces * share for k, share in zip(family, shares, strict=True)}


def _demand(layout: Layout, family: int, items: Family, units: float, a_day: float) -> None:
    """Demand that comes evenly over the open time, for one variant after the other."""
    network, b = layout.network, layout.builder
    demand = b.row(r.RELEASE_WIDTH, r.RELEASE)
    b.m[demand + r.E_ITEM] = layout.items[items[0]]
    b.m[demand + r.E_FAMILY] = family
    b.m[demand + r.E_CALENDAR] = calendar_row(layout, network.open_calendar)
    b.m[demand + r.E_DELAY] = weeks_ahead(network)
    b.m[demand + r.E_WEEK_OPEN] = network.open_calendar.open_ns
    b.x[demand + r.E_UNITS] = units
    b.x[demand + r.E_TAKT] = network.open_calendar.open_ns / (a_day * network.days_week) * units
    layout.event_rows.append(demand)
