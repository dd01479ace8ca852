"""Visits, operations and checks as rows: what is done, by whom, with what, and what becomes of a piece afterwards."""

from __future__ import annotations

import math
from functools import reduce

import numpy as np

from linewright.network.model import DIRECT, NOWHERE, Fate, Inspection, Links, Network, Reject
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import (
    Layout,
    any_amount,
    calendar_row,
    counted,
    crew_list,
    key_of,
    limit_of_load,
    table_of,
    time_row,
)
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


def lay_out_operation(layout: Layout, o: int) -> None:
    """The columns of one operation."""
    network, b = layout.network, layout.builder
    p, row = network.operations, layout.operations[o]
    route = int(p.route[o])
    last_of_route = int(network.routes.last[route])
    visit = int(p.visit[o])
    begins, ends = int(network.visits.first[visit]), int(network.visits.last[visit])
    whole_visit = [limit_of_load(network, q) for q in range(begins, ends + 1)]
    loads = whole_visit[o - begins :]
    m, x = b.m, b.x
    then = int(p.then_to[o])
    m[row + r.O_ROUTE], m[row + r.O_POSITION] = layout.routes[route], layout.positions[o]
    m[row + r.O_INDEX], m[row + r.O_VISIT] = o, layout.visits[visit]
    m[row + r.O_ITEM] = layout.items[int(layout.changing[o])]
    m[row + r.O_MIXES] = layout.operations[layout.loads_with[o]] if layout.loads_with[o] >= 0 else 0
    m[row + r.O_NEXT] = layout.operations[o + 1] if o < last_of_route else 0
    m[row + r.O_ENDS] = int(o == ends)
    m[row + r.O_THEN] = _then(layout, then)
    m[row + r.O_HOLDS] = int(o == last_of_route and then == DIRECT)
    m[row + r.O_EACH], m[row + r.O_HANDS_ALL] = int(p.each[o]), int(p.hands_all[o])
    m[row + r.O_HANDS_START], m[row + r.O_HANDS_END] = int(p.hands_start[o]), int(p.hands_end[o])
    m[row + r.O_PER_LOAD], m[row + r.O_STOP] = int(p.faults_per_load[o]), int(p.stop[o])
    m[row + r.O_WAITS], m[row + r.O_COUNTED] = int(p.waits[o]), int(counted(network, o))
    m[row + r.O_ANY] = int(any_amount(network, o))
    m[row + r.O_SPLITS] = int(counted(network, o) and o != last_of_route and float(p.pieces_out[o]) != 1.0)
    m[row + r.O_CLOSES] = int(loads[0] >= max(whole_visit))
    m[row + r.O_KEY], m[row + r.O_KEY_HIGH] = key_of(p.ids[o])
    x[row + r.O_LEAST], x[row + r.O_MOST] = float(p.load_least[o]), float(p.load_most[o])
    if p.per_size[o] > 0:
        x[row + r.O_LEAST], x[row + r.O_MOST] = float(p.size_least[o]), float(p.size_most[o])
        x[row + r.O_PER_SIZE] = float(p.per_size[o])
    x[row + r.O_OUT], x[row + r.O_SURVIVES] = float(p.pieces_out[o]), float(p.survives[o])
    x[row + r.O_ROOM] = max(loads)
    x[row + r.O_TO_GO] = float(np.prod(p.pieces_out[o : last_of_route + 1]))
    for column, durations in (
        (r.O_TIME, p.time), (r.O_STAND, p.stand), (r.O_SETUP, p.setup), (r.O_CLEAN, p.clean), (r.O_START, p.start),
    ):  # fmt: skip
        m[row + column] = time_row(layout, durations, o)
    _needs(layout, o, row)
    _extras(layout, o, row)


def _then(layout: Layout, then: int) -> int:
    if then == DIRECT or (then >= 0 and float(layout.network.stores.room[then]) == 0.0):
        return -1
    return layout.stores[then] if then >= 0 else 0


def _needs(layout: Layout, o: int, row: int) -> None:
    """People, tools, parts, by-products and faults of an operation."""
    network, b, p = layout.network, layout.builder, layout.network.operations

    def parts(links: Links) -> int:
        if links.starts[o] == links.starts[o + 1]:  # most operations take nothing
            return 0
        index, units = links.row(o)
        return b.amounts((layout.items[i], float(u)) for i, u in zip(index.tolist(), units.tolist(), strict=True))

    for column, value in (
        (r.O_CREWS, crew_list(layout, p.crews, o, int(p.tends[o]))),
        (r.O_SETUP_CREWS, crew_list(layout, p.setup_crews, o, 1)),
        (r.O_CLEAN_CREWS, crew_list(layout, p.clean_crews, o, 1)),
        (r.O_TAKES, parts(p.takes)),
        (r.O_TAKES_LOAD, parts(p.takes_per_load)),
        (r.O_GIVES, parts(p.gives)),
        (r.O_SETUP_TAKES, parts(p.setup_takes)),
        (r.O_CLEAN_TAKES, parts(p.clean_takes)),
        (r.O_CHOICES, b.list_of(_choice(layout, k) for k, c in enumerate(network.choices) if c.operation == o)),
    ):
        b.m[row + column] = value
    tools, counts = p.tools.row(o)
    b.m[row + r.O_TOOLS] = b.pairs(
        (layout.tools[t], int(n)) for t, n in zip(tools.tolist(), counts.tolist(), strict=True)
    )
    faults, chances = p.faults.row(o)
    base = b.row(1 + 2 * len(faults)) if len(faults) else 0
    for k, (fault, chance) in enumerate(zip(faults.tolist(), chances.tolist(), strict=True)):
        b.m[base] = len(faults)
        b.m[base + 1 + 2 * k] = int(fault)
        b.x[base + 1 + 2 * k] = float(chance)
    b.m[row + r.O_FAULTS] = base


def _choice(layout: Layout, k: int) -> int:
    """A choice with equal shares; the true ones are put in with the quotas."""
    b, choice = layout.builder, layout.network.choices[k]
    n = len(choice.items)
    row = b.row(1 + 3 * n)
    b.m[row] = n
    for i, (item, units) in enumerate(zip(choice.items, choice.units, strict=True)):
        b.m[row + 1 + i] = layout.items[item]
        b.x[row + 1 + i] = units
        share = choice.shares[i]
        b.x[row + 1 + n + i] = share if share == share else (1.0 if i == 0 else 0.0)
    return row


def _extras(layout: Layout, o: int, row: int) -> None:
    """Setup, cleaning and start-up, with one count for each place."""
    network, b, p = layout.network, layout.builder, layout.network.operations
    places = 1 + int(network.stations.places.sum())
    counts = layout.counts.setdefault(int(network.origin.operation[o]) if network.origin is not None else o, {})

    def of_places(column: int) -> tuple[int, bool]:
        """One number for each place, which variants of an operation count together; and whether they are new."""
        new = column not in counts
        if new:
            counts[column] = b.row(places)
        b.m[row + column] = counts[column]
        return counts[column], new

    b.m[row + r.O_SETUP_WHEN] = int(p.setup_when[o]) if _ever(p.setup_when[o], p.setup_every[o], r.EVERY) else 0
    b.m[row + r.O_CLEAN_WHEN] = int(p.clean_when[o]) if _ever(p.clean_when[o], p.clean_every[o], r.CLEAN_EVERY) else 0
    b.m[row + r.O_START_WHEN] = int(p.start_when[o])
    b.x[row + r.O_SETUP_EVERY], b.x[row + r.O_CLEAN_EVERY] = float(p.setup_every[o]), float(p.clean_every[o])
    b.x[row + r.O_SPOILS] = float(p.start_scrap[o])
    if b.m[row + r.O_SETUP_WHEN]:
        of_places(r.O_SETUP_PLACES)
    if b.m[row + r.O_CLEAN_WHEN]:
        base, new = of_places(r.O_CLEAN_PLACES)
        if new and b.m[row + r.O_CLEAN_WHEN] == r.CLEAN_EVERY:
            b.x[base : base + places] = [float(p.clean_every[o])] * places
    if b.m[row + r.O_START_WHEN]:
        base, _ = of_places(r.O_START_PLACES)
        b.m[base : base + places] = [-1] * places
    pairs = [
        (layout.operations[int(before)], int(time))
        for before, after, time in zip(
            network.changeovers.before, network.changeovers.after, network.changeovers.time, strict=True
        )
        if after == o
    ]
    b.m[row + r.O_CHANGEOVERS] = b.pairs(pairs)
    b.m[row + r.O_SHIFTS] = _shifts(layout, o)


def _ever(when: int, every: float, by_count: int) -> bool:
    return int(when) != by_count or math.isfinite(float(every))


def _shifts(layout: Layout, o: int) -> int:
    """The calendar that tells an operation's shifts: its first crew's, else its station's, else when anybody works."""
    network, p = layout.network, layout.network.operations
    crews, stations = p.crews.row(o)[0], p.stations.row(o)[0]
    if len(crews):
        return calendar_row(layout, network.calendars[int(network.crews.calendar[crews[0]])])
    if len(stations) and network.stations.calendar[stations[0]] != NOWHERE:
        return calendar_row(layout, network.calendars[int(network.stations.calendar[stations[0]])])
    return calendar_row(layout, network.open_calendar)


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
