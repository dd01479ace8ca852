"""From a network to the kernel's memory: one row for everything that the plan names, in the kernel's columns.

What the engine does not play is refused here by name, never passed over.
"""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import Calendar, always
from linewright.network.lending import able_to
from linewright.network.model import DIRECT, NOWHERE, Fate, Network, Reject
from linewright.network.reactions import chain_of
from linewright.network.variants import changing_items
from linewright.simulate.flowing import flows
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.calendars import A_CREW, ATTENDANCE, HOURS
from linewright.simulate.kernel.journeys import BITS_OF_A_COUNT, COUNTS_A_COLUMN
from linewright.simulate.layout_base import (
    Layout,
    crew_list,
    key_of,
    table_of,
    time_row,
    use_calendar,
)
from linewright.simulate.layout_carriers import lay_out_carriers
from linewright.simulate.layout_lending import lay_out_lending, most_members
from linewright.simulate.layout_operations import lay_out_operations
from linewright.simulate.layout_season import lay_out_cares
from linewright.simulate.layout_steps import cannot_hold_back, lay_out_checks, lay_out_visits
from linewright.simulate.mates import lay_out_mates
from linewright.simulate.sharing import load_classes, positions

MOST_FAULTS = 62
CHECKS_A_ROUTE = 8 * COUNTS_A_COLUMN


def lay_out(network: Network) -> Layout:
    """Everything of the network but the rules by which work is let in (``letting_in``).

    Raises ProblemsError for what is not played.
    """
    layout = Layout(network)
    _refuse(layout)
    layout.problems.raise_errors()
    _tables(layout)
    _stations(layout)
    lay_out_visits(layout)
    layout.positions = positions(network)
    layout.loads_with = load_classes(network, layout.shared)
    layout.changing = changing_items(network).tolist()
    lay_out_operations(layout)
    lay_out_checks(layout)
    lay_out_carriers(layout)
    lay_out_mates(layout)
    lay_out_cares(layout)
    lay_out_lending(layout)
    _attendance(layout)
    layout.builder.m[r.MARGIN] = _margin(network) + 4 * most_members(layout) * bool(layout.lends)
    layout.builder.m[r.RINGS] = int(_rings(network))
    return layout


def _refuse(layout: Layout) -> None:
    network, problems = layout.network, layout.problems
    if len(network.faults) > MOST_FAULTS:
        problems.error("routes", f"the simulation follows at most {MOST_FAULTS} faults", value=len(network.faults))
    for check in network.inspections:
        path = f"{network.operations.paths[check.operation]}.check"
        if check.hold_back and (why := cannot_hold_back(network, check)):
            problems.error(f"{path}.hold_back", f"holding back is simulated only where {why}")
        for reject in (*check.rejects, check.other):
            if limit_of(reject) >= 1 << BITS_OF_A_COUNT:
                problems.error(path, "so many reworks are not simulated", expected=f"at most {1 << BITS_OF_A_COUNT}")
    for choice in network.choices:
        if choice.limits:
            path = f"{network.operations.paths[choice.operation]}.takes.{choice.label}.limits"
            problems.error(path, "a blend is played as a recipe: let the balance find it first", hint="use blended()")
    for o in np.flatnonzero(network.operations.dwell).tolist():
        if not flows(network)[o]:
            path = f"{network.operations.paths[o]}.time.dwell"
            problems.error(path, "a dwell is simulated of what flows only", hint="write a stand in place of it")
    for route in range(len(network.routes.ids)):
        last = int(network.routes.last[route])
        if network.operations.then_to[last] == DIRECT:
            path = f"{network.operations.paths[last]}.then_to"
            if network.items.demand[network.routes.item[route]] > 0:
                problems.error(path, "what is demanded leaves: its place has nobody to hold it for", hint="take it out")
            elif not len(network.operations.stations.row(last)[0]):
                problems.error(path, "a bench holds nothing", hint="write the station that holds it")
        looks = [*(c.operation for c in network.inspections), *network.windows.operation.tolist()]
        if sum(network.operations.route[o] == route for o in looks) > CHECKS_A_ROUTE:
            path = f"routes.{network.routes.ids[route]}"
            problems.error(path, f"the simulation follows at most {CHECKS_A_ROUTE} checks and windows on a route")


def _rings(network: Network) -> bool:
    """Whether finite places and stores can wait for each other in a ring."""
    from linewright.network.blocking import blocking_edges

    after: dict[int, set[int]] = {}
    for one, other in blocking_edges(network):
        after.setdefault(one, set()).add(other)
    while True:  # take away what leads nowhere until nothing more goes
        ends = [one for one, others in after.items() if not others & after.keys()]
        if not ends:
            return bool(after)
        for one in ends:
            del after[one]


def limit_of(reject: Reject) -> int:
    """How many reworks a reaction and what follows it allow altogether."""
    return sum(one.at_most for one in chain_of(reject) if one.fate is Fate.REWORK)


def _tables(layout: Layout) -> None:
    """Items, crews, tools, stores and routes."""
    network, b = layout.network, layout.builder
    layout.items = table_of(layout, r.ITEMS, len(network.items.ids), r.ITEM_WIDTH, r.ITEM)
    layout.crews = table_of(layout, r.CREWS, len(network.crews.ids), r.CREW_WIDTH, r.CREW)
    layout.tools = table_of(layout, r.TOOLS, len(network.tools.ids), r.TOOL_WIDTH, r.TOOL)
    layout.stores = table_of(layout, r.STORES, len(network.stores.ids), r.STORE_WIDTH, r.STORE)
    layout.routes = table_of(layout, r.ROUTES, len(network.routes.ids), r.ROUTE_WIDTH, 0)
    layout.operations = table_of(layout, r.OPERATIONS, len(network.operations.ids), r.O_WIDTH, 0)
    for k, row in enumerate(layout.crews):
        calendar = network.calendars[int(network.crews.calendar[k])]
        b.m[row + r.C_LEVEL] = int(calendar.level[0]) * r.PERSON
        b.m[row + r.C_CALENDAR] = use_calendar(layout, calendar, row, A_CREW)
    for k, row in enumerate(layout.tools):
        b.m[row + r.G_FREE] = b.m[row + r.G_COUNT] = int(network.tools.count[k])
    for k, row in enumerate(layout.stores):
        b.x[row + r.W_ROOM] = float(network.stores.room[k])
    for k, row in enumerate(layout.items):
        store = _store_of(network, k)
        b.m[row + r.I_STORE] = layout.stores[store] if store >= 0 else 0
        if (network.routes.item == k).any():  # what is delivered in season spoils by its deliveries
            b.m[row + r.I_KEEPS] = int(network.items.keeps[k])
        stock = float(network.items.stock[k])
        b.x[row + r.I_POOL] = stock if stock == stock else 0.0


def _store_of(network: Network, item: int) -> int:
    """Where finished units of an item wait: its own store, else where the last operation of its route puts them."""
    if network.item_store[item] != NOWHERE:
        return int(network.item_store[item])
    stores = [
        int(network.operations.then_to[network.routes.last[k]]) for k in np.flatnonzero(network.routes.item == item)
    ]
    return max(stores, default=NOWHERE)


def _stations(layout: Layout) -> None:
    """Stations, their places, the accounts of the places and the stoppages of each."""
    network, b = layout.network, layout.builder
    layout.stations = table_of(layout, r.STATIONS, len(network.stations.ids), r.STATION_WIDTH, r.STATION)
    number = 0
    for s, row in enumerate(layout.stations):
        count = int(network.stations.places[s])
        places = [b.row(r.WIDTH, r.PLACE) for _ in range(count)]
        layout.places.append(places)
        b.m[row + r.S_PLACES] = places[0]
        b.m[row + r.S_COUNT] = b.m[row + r.S_EMPTY] = count
        b.m[row + r.S_OPEN] = b.m[row + r.S_ATTENDED] = 1
        calendar = int(network.stations.calendar[s])
        if calendar != NOWHERE:
            hours = network.calendars[calendar]
            use_calendar(layout, hours, row, HOURS)
            b.m[row + r.S_OPEN] = int(hours.level[0] > 0)
        holds = [size for size, n in network.stations.sizes[s] for _ in range(n)] if network.stations.sizes else []
        b.m[row + r.S_SIZED] = int(bool(holds))
        for k, place in enumerate(places):
            number += 1
            b.x[place + r.SIZE] = holds[k] if holds else 0.0
            b.m[place + r.AT] = row
            b.m[place + r.INDEX] = number
            b.m[place + r.STATE] = r.SHORT
            b.m[place + r.ACCOUNT] = b.row(r.N_STATES)
            _stoppages(layout, s, place, k)


def _stoppages(layout: Layout, station: int, place: int, index: int) -> None:
    network, b = layout.network, layout.builder
    stoppages = network.stoppages
    for z in np.flatnonzero(stoppages.station == station).tolist():
        between, repair = time_row(layout, stoppages.between, z), time_row(layout, stoppages.repair, z)
        crews = crew_list(layout, stoppages.crews, z, 1)
        row = _next_stoppage(layout, place)
        name = f"{network.stations.ids[station]}/{index}/{stoppages.names[z]}"
        b.m[row + r.Z_PLACE] = place
        b.m[row + r.Z_BETWEEN], b.m[row + r.Z_REPAIR] = between, repair
        b.m[row + r.Z_CALENDAR] = int(stoppages.calendar_clock[z])
        b.m[row + r.Z_KEY], b.m[row + r.Z_KEY_HIGH] = key_of(name)
        b.m[row + r.CREW_LIST] = crews
        layout.event_rows.append(row)


def _next_stoppage(layout: Layout, place: int) -> int:
    """The row of one more stoppage of a place; those of one place lie one behind the other."""
    b, network = layout.builder, layout.network
    if b.m[place + r.STOPS] == 0:
        station = layout.stations.index(b.m[place + r.AT])
        count = int((network.stoppages.station == station).sum())
        b.m[place + r.STOPS] = b.row(count * r.STOPPAGE_WIDTH)
    row = b.m[place + r.STOPS] + b.m[place + r.N_STOPS] * r.STOPPAGE_WIDTH
    b.m[place + r.N_STOPS] += 1
    b.m[row] = r.STOPPAGE
    return row


def _attendance(layout: Layout) -> None:
    """When anybody who works at a station is there: the union of its crews' hours, within its own."""
    network, p = layout.network, layout.network.operations
    at: list[list[int]] = [[] for _ in layout.stations]
    for o in range(len(p.ids)):
        for s in p.stations.row(o)[0]:
            at[int(s)].append(o)
    for s, row in enumerate(layout.stations):
        own = network.stations.calendar[s]
        crews = {int(c) for o in at[s] for c in p.crews.row(o)[0]}
        calendars = [able_to(network, c) for c in sorted(crews)]
        if not calendars and own == NOWHERE:
            continue
        there = union(calendars) if calendars else always()
        if own != NOWHERE:
            there = both(there, network.calendars[int(own)])
        use_calendar(layout, there, row, ATTENDANCE)
        layout.builder.m[row + r.S_ATTENDED] = int(there.level[0])


def union(calendars: list[Calendar]) -> Calendar:
    """1 while anyone of several calendars is there."""
    at = np.unique(np.concatenate([c.at for c in calendars]))
    level = [int(any(c.at_time(int(t)) > 0 for c in calendars)) for t in at]
    return _simple(at.tolist(), level)


def both(one: Calendar, other: Calendar) -> Calendar:
    """1 while both are there."""
    at = np.unique(np.concatenate([one.at, other.at]))
    return _simple(at.tolist(), [int(one.at_time(int(t)) > 0 and other.at_time(int(t)) > 0) for t in at])


def _simple(at: list[int], level: list[int]) -> Calendar:
    keep = [k for k in range(len(at)) if k == 0 or level[k] != level[k - 1]]
    return Calendar(np.array([at[k] for k in keep], dtype=np.int64), np.array([level[k] for k in keep], dtype=np.int64))


def _margin(network: Network) -> int:
    """Rows that one step of the kernel may need: the pieces a load splits into, and people."""
    p = network.operations
    split = np.where(p.pieces_out > 1, np.ceil(p.pieces_out) + 1, 0) * np.maximum(p.load_most, 1)
    people = int(np.diff(p.crews.starts).max(initial=0)) + int(network.stations.places.max(initial=1))
    branches = (int(np.diff(p.faults.starts).max(initial=0)) + len(network.faults) + 4) * int(
        p.load_most.max(initial=1)
    )
    windows = len(network.windows.operation) * int(2 * p.load_most.max(initial=1) + split.max(initial=0) + 4)
    rides = len(network.carriers.ids) * int(2 * p.load_most.max(initial=1) + split.max(initial=0) + 4)
    held = sum(2 * check.one_in for check in network.inspections if check.hold_back)
    return 64 + int(split.max(initial=0)) + 4 * people + min(branches, 100_000) + rides + windows + held
