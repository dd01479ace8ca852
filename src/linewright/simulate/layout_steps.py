"""Visits and checks as rows: where pieces wait, and what becomes of those at fault."""

from __future__ import annotations

from functools import reduce

from linewright.network.model import NOWHERE, Fate, Inspection, Network, Reject
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, table_of
from linewright.simulate.sharing import shared_visits


def lay_out_visits(layout: Layout) -> None:
    """Rows of the visits, and the benches of operations without a station."""
    network, b = layout.network, layout.builder
    at: dict[int, list[int]] = {row: [] for row in layout.stations}
    layout.shared = shared_visits(network)
    queues = sorted(set(layout.shared))
    rows = dict(zip(queues, table_of(layout, r.VISITS, len(queues), r.VISIT_WIDTH, 0), strict=True))
    layout.visits = [rows[v] for v in layout.shared]
    for v, visit in rows.items():
        stations = [layout.stations[s] for s in network.operations.stations.row(int(network.visits.first[v]))[0]]
        if not stations:
            bench = b.row(r.STATION_WIDTH, r.STATION)
            b.m[bench + r.S_BENCH] = b.m[bench + r.S_OPEN] = b.m[bench + r.S_ATTENDED] = 1
            at[bench] = []
            stations = [bench]
        b.m[visit + r.V_STATIONS] = b.list_of(stations)
        for station in stations:
            at[station].append(visit)
    for station, visits in at.items():
        b.m[station + r.S_VISITS] = b.list_of(visits) or b.row(1)


def lay_out_checks(layout: Layout) -> None:
    """Checks with their faults and reactions; each check of a route has its own counter of reworks."""
    network, b = layout.network, layout.builder
    counters: dict[int, int] = {}
    for check in network.inspections:
        route = int(network.operations.route[check.operation])
        row = b.row(r.CHECK_WIDTH + len(check.faults) * r.FAULT_WIDTH)
        b.m[row + r.C_FAULTS] = len(check.faults)
        b.m[row + r.C_ONE_IN] = check.one_in
        b.m[row + r.C_COUNT] = counters.get(route, 0)
        counters[route] = counters.get(route, 0) + 1
        b.x[row + r.C_FALSE] = check.false_alarms
        b.m[row + r.C_HOLDS_BACK] = int(check.hold_back and check.one_in > 1)
        b.m[row + r.C_OTHER] = _reject(layout, check.other, check.operation, 0)
        for k, (fault, finds, reject) in enumerate(zip(check.faults, check.finds, check.rejects, strict=True)):
            one = row + r.CHECK_WIDTH + k * r.FAULT_WIDTH
            b.m[one + r.F_BIT] = fault
            b.m[one + r.F_REJECT] = _reject(layout, reject, check.operation, 0)
            b.x[one + r.F_FINDS] = finds
        b.m[layout.operations[check.operation] + r.O_CHECK] = row
    _lay_out_windows(layout, counters)


def _lay_out_windows(layout: Layout, counters: dict[int, int]) -> None:
    """Windows, each with a check of its own that counts what it sends back, and where they start."""
    network, b = layout.network, layout.builder
    windows = network.windows
    starts: dict[int, list[int]] = {}
    for k, (after, o) in enumerate(zip(windows.after.tolist(), windows.operation.tolist(), strict=True)):
        route = int(network.operations.route[o])
        check = b.row(r.CHECK_WIDTH)
        b.m[check + r.C_COUNT] = counters.get(route, 0)
        counters[route] = counters.get(route, 0) + 1
        b.m[check + r.C_OTHER] = _reject(layout, windows.rejects[k], o - 1, 0)
        row = b.row(r.WINDOW_WIDTH)
        b.m[row + r.X_AFTER], b.m[row + r.X_OP] = layout.operations[after], layout.operations[o]
        b.m[row + r.X_LEAST], b.m[row + r.X_MOST] = int(windows.least[k]), int(windows.most[k])
        b.m[row + r.X_CHECK] = check
        layout.windows.append(row)
        starts.setdefault(after, []).append(row)
    for after, rows in starts.items():
        b.m[layout.operations[after] + r.O_OPENS] = b.list_of(rows)
    b.m[r.WINDOWED] = int(bool(starts))


def cannot_hold_back(network: Network, check: Inspection) -> str:
    """What a check that holds pieces back must be for the simulation to play it, where it is not; else nothing.

    Pieces held back have left their place, so they go on to a queue that has always room.
    """
    p, o = network.operations, check.operation
    last = bool(network.visits.last[p.visit[o]] == o)
    if not last:
        return "the next operation is at another station, since pieces held back leave the place"
    end = bool(network.routes.last[p.route[o]] == o)
    if (p.then_to[o] != NOWHERE and not end) or (end and network.item_store[network.routes.item[p.route[o]]] >= 0):
        return "the pieces go on to an unlimited place, with no store behind the check"
    if p.pieces_out[o] != 1.0 and not end:
        return "a piece stays one piece at the check"
    if o in network.carriers.stretch.index:
        return "the piece is on no carrier at the check"
    return ""


def _reject(layout: Layout, reject: Reject, operation: int, before: int) -> int:
    """A reaction; ``before`` is how many reworks the reactions before it allow."""
    b, p = layout.builder, layout.network.operations
    row = b.row(r.REJECT_WIDTH)
    b.m[row + r.R_FATE] = int(reject.fate)
    if reject.fate is Fate.SECONDS:
        b.m[row + r.R_ITEM] = layout.items[reject.item]
    if reject.fate is Fate.REWORK:
        b.m[row + r.R_TO] = layout.operations[reject.to]
        b.m[row + r.R_MOST] = before + reject.at_most
        b.m[row + r.R_AGAIN] = int(reject.takes_again)
        cleared = [int(f) for q in range(reject.to, operation + 1) for f in p.faults.row(q)[0]]
        if reject.takes_again:
            cleared += range(len(layout.network.faults)) if _takes_made(layout.network, reject.to, operation) else []
        b.m[row + r.R_CLEARS] = reduce(lambda bits, f: bits | 1 << f, cleared, 0)
        otherwise = reject.otherwise or Reject(Fate.SCRAP)
        b.m[row + r.R_ELSE] = _reject(layout, otherwise, operation, before + reject.at_most)
    return row


def _takes_made(network: Network, first: int, last: int) -> bool:
    """Whether any part taken between two operations is made in this plan, so that it may carry faults."""
    made = set(network.routes.item.tolist())
    return any(int(i) in made for q in range(first, last + 1) for i in network.operations.takes.row(q)[0])
