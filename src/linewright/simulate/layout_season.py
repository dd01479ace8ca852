"""Campaigns and work during stands as rows of the engine's memory."""

from __future__ import annotations

import numpy as np

from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, crew_list, key_of, time_row


def lay_out_campaigns(layout: Layout) -> None:
    """The campaigns; the lots of the routes are known."""
    network, b = layout.network, layout.builder
    campaigns, p = network.campaigns, network.operations
    waiting: dict[int, list[int]] = {}
    known: dict[tuple[int, int], int] = {}
    for k, route in enumerate(campaigns.route.tolist()):
        item = int(campaigns.item[k])
        written = int(network.origin.route[route]) if network.origin is not None else route
        row = known.get((written, item), 0)
        first, last = int(network.routes.first[route]), int(network.routes.last[route])
        units = sum(
            float(amount)
            for o in range(first, last + 1)
            for i, amount in zip(*p.takes.row(o), strict=True)
            if int(i) == item
        )
        need = units * b.x[layout.routes[route] + r.U_LOT]
        if row:  # variants of a route that wait for the same run in one campaign, while there is a lot for each
            b.x[row + r.Q_NEED] = max(b.x[row + r.Q_NEED], need)
            b.m[layout.routes[route] + r.U_CAMPAIGN] = row
            continue
        row = known[written, item] = b.row(r.CAMPAIGN_WIDTH, r.CAMPAIGN)
        b.m[row + r.Q_ITEM], b.m[row + r.Q_ROUTE] = layout.items[item], layout.routes[route]
        b.m[row + r.Q_WAITS] = int(campaigns.waits[k])
        b.x[row + r.Q_STARTS] = float(campaigns.starts[k])
        b.x[row + r.Q_NEED] = need
        b.m[layout.routes[route] + r.U_CAMPAIGN] = row
        waiting.setdefault(item, []).append(row)
    for item, rows in waiting.items():
        b.m[layout.items[item] + r.I_CAMPAIGNS] = b.list_of(rows)
    _rivals(layout)


def _rivals(layout: Layout) -> None:
    """Campaigns that begin at one station over a season: as many at once as it has places, the others when one ends.

    In a steady state a campaign that keeps up with its demand need never end, so that the others would wait for ever.
    """
    network, b = layout.network, layout.builder
    if network.season is None:
        return
    begins = [set(network.operations.stations.row(int(network.routes.first[q]))[0]) for q in network.campaigns.route]
    rows = [b.m[layout.routes[int(q)] + r.U_CAMPAIGN] for q in network.campaigns.route]
    for stations, row in zip(begins, rows, strict=True):
        others = dict.fromkeys(rows[j] for j, at in enumerate(begins) if rows[j] != row and at & stations)
        b.m[row + r.Q_RIVALS] = b.list_of(others)
        b.m[row + r.Q_PLACES] = sum(int(network.stations.places[s]) for s in stations)


def lay_out_cares(layout: Layout) -> None:
    """The cares of every operation, a row for each place at which it may stand."""
    network, b, cares = layout.network, layout.builder, layout.network.cares
    places = 1 + int(network.stations.places.sum())
    for o in np.unique(cares.operation).tolist():
        table = b.m[layout.operations[o] + r.O_CARES] = b.row(places)
        for station in network.operations.stations.row(o)[0].tolist():
            for place in layout.places[station]:
                before = 0
                for k in np.flatnonzero(cares.operation == o).tolist():
                    before = _care(layout, k, o, place, before)
                b.m[table + b.m[place + r.INDEX]] = before
        if not len(network.operations.stations.row(o)[0]):
            path = f"{network.operations.paths[o]}.during"
            layout.problems.error(path, "work during a stand needs a station", hint="write where it stands")
    layout.problems.raise_errors()


def _care(layout: Layout, k: int, o: int, place: int, before: int) -> int:
    b, cares = layout.builder, layout.network.cares
    time = time_row(layout, cares.time, k)
    crews = crew_list(layout, cares.crews, k, 1)
    row = b.row(r.CARE_WIDTH, r.CARE)
    b.m[row + r.CREW_LIST], b.m[row + r.CARE_TIME] = crews, time
    b.m[row + r.CARE_PLACE], b.m[row + r.CARE_EVERY] = place, int(cares.every[k])
    name = f"{layout.network.operations.ids[o]}/{cares.names[k]}/{b.m[place + r.INDEX]}"
    b.m[row + r.CARE_KEY], b.m[row + r.CARE_KEY_HIGH] = key_of(name)
    b.m[row + r.CARE_NEXT] = before
    layout.cares.append((k, row))
    return row
