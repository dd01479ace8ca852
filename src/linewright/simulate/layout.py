"""From a network to the kernel's memory: one row for everything that the plan names, in the kernel's columns.

What the engine does not play is refused here by name, never passed over.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field
from functools import reduce

import numpy as np

from linewright.base.calendar import WEEK, Calendar, always
from linewright.base.problems import Problems
from linewright.network.model import DIRECT, NOWHERE, Durations, Fate, Links, Network, Reject
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.calendars import A_CREW, ATTENDANCE, HOURS
from linewright.simulate.kernel.journeys import BITS_OF_A_COUNT, COUNTS_A_COLUMN
from linewright.simulate.memory import Builder, Template

MOST_FAULTS = 62
CHECKS_A_ROUTE = 8 * COUNTS_A_COLUMN


@dataclass(slots=True)
class Layout:
    """Where everything is: bases of the rows of each table, in the network's order."""

    network: Network
    builder: Builder = field(default_factory=Builder)
    problems: Problems = field(default_factory=Problems)
    items: list[int] = field(default_factory=list)
    crews: list[int] = field(default_factory=list)
    tools: list[int] = field(default_factory=list)
    stores: list[int] = field(default_factory=list)
    routes: list[int] = field(default_factory=list)
    stations: list[int] = field(default_factory=list)
    places: list[list[int]] = field(default_factory=list)
    operations: list[int] = field(default_factory=list)
    visits: list[int] = field(default_factory=list)
    event_rows: list[int] = field(default_factory=list)
    users: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    calendars: dict[bytes, int] = field(default_factory=dict)
    times: dict[tuple[float, ...], int] = field(default_factory=dict)

    def template(self) -> Template:
        """The finished memory."""
        b = self.builder
        for calendar, users in self.users.items():
            b.m[calendar + r.K_USERS] = b.pairs(users)
        for calendar in self.calendars.values():
            if b.m[calendar + r.K_USERS] == 0:
                b.m[calendar + r.K_USERS] = b.row(1)
        b.m[r.EVENT_ROWS] = b.list_of(self.event_rows) or b.row(1)
        return Template(np.array(b.m, dtype=np.int64), np.array(b.x, dtype=np.float64), len(b.m))


def lay_out(network: Network) -> Layout:
    """Everything of the network but the rules by which work is let in (``letting_in``).

    Raises ProblemsError for what is not played.
    """
    layout = Layout(network)
    _refuse(layout)
    layout.problems.raise_errors()
    _tables(layout)
    _stations(layout)
    _visits_and_operations(layout)
    for o in range(len(network.operations.ids)):
        _operation(layout, o)
    _checks(layout)
    _attendance(layout)
    layout.builder.m[r.MARGIN] = _margin(network)
    layout.builder.m[r.RINGS] = int(_rings(network))
    return layout


def _refuse(layout: Layout) -> None:
    network, problems = layout.network, layout.problems
    if len(network.faults) > MOST_FAULTS:
        problems.error("routes", f"the simulation follows at most {MOST_FAULTS} faults", value=len(network.faults))
    for check in network.inspections:
        path = f"{network.operations.paths[check.operation]}.check"
        if check.hold_back:
            problems.error(f"{path}.hold_back", "holding back to the last good check is not yet simulated")
        for reject in (*check.rejects, check.other):
            if limit_of(reject) >= 1 << BITS_OF_A_COUNT:
                problems.error(path, "so many reworks are not simulated", expected=f"at most {1 << BITS_OF_A_COUNT}")
    for route in range(len(network.routes.ids)):
        last = int(network.routes.last[route])
        if network.operations.then_to[last] == DIRECT:
            path = f"{network.operations.paths[last]}.then_to"
            problems.error(path, "direct hand-over from the end of a route is not yet simulated", hint="name a store")
        if sum(network.operations.route[c.operation] == route for c in network.inspections) > CHECKS_A_ROUTE:
            path = f"routes.{network.routes.ids[route]}"
            problems.error(path, f"the simulation follows at most {CHECKS_A_ROUTE} checks on a route")


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
    total = 0
    now: Reject | None = reject
    while now is not None and now.fate is Fate.REWORK:
        total += now.at_most
        now = now.otherwise
    return total


def calendar_row(layout: Layout, calendar: Calendar) -> int:
    """The row of a calendar, made once."""
    key = calendar.at.tobytes() + calendar.level.tobytes()
    if key in layout.calendars:
        return layout.calendars[key]
    b, n = layout.builder, len(calendar.at)
    row = b.row(r.CALENDAR_WIDTH + n * r.STEP_WIDTH, r.CALENDAR)
    b.m[row + r.K_STEPS] = n
    b.m[row + r.K_LONGEST] = _longest(calendar)
    shifts = 0
    before = int(calendar.level[-1])
    for k in range(n):
        level = int(calendar.level[k])
        shifts += level > 0 and before == 0
        step = row + r.CALENDAR_WIDTH + k * r.STEP_WIDTH
        b.m[step + r.K_AT] = int(calendar.at[k])
        b.m[step + r.K_LEVEL] = level
        b.m[step + r.K_SHIFT] = shifts
        before = level
    layout.calendars[key] = row
    layout.event_rows.append(row)
    return row


def _longest(calendar: Calendar) -> int:
    """The longest stretch of the week with the same people or more after it: anyone at all, breaks cut it."""
    longest = run = 0
    lengths = np.concatenate([calendar.lengths, calendar.lengths]).tolist()
    levels = np.concatenate([calendar.level, calendar.level]).tolist()
    for length, level in zip(lengths, levels, strict=True):
        run = run + length if level > 0 else 0
        longest = max(longest, run)
    return min(longest, WEEK) if (calendar.level == 0).any() else 1 << 62


def use_calendar(layout: Layout, calendar: Calendar, user: int, role: int) -> int:
    """Let a crew or a station follow a calendar."""
    row = calendar_row(layout, calendar)
    layout.users.setdefault(row, []).append((user, role))
    return row


def time_row(layout: Layout, durations: Durations, k: int) -> int:
    """The row of a random time, made once."""
    shape = int(durations.shape[k])
    a, b_, c = (float(v) for v in durations.parameters[k])
    key = (shape, a, b_, c)
    if key not in layout.times:
        b = layout.builder
        row = b.row(r.TIME_WIDTH)
        b.m[row + r.T_SHAPE] = shape
        b.m[row + r.T_FIXED] = round(a) if shape == 0 else 0
        b.x[row], b.x[row + 1], b.x[row + 2], b.x[row + 3] = a, b_, c, float(durations.mean[k])
        layout.times[key] = row
    return layout.times[key]


def _table(layout: Layout, header: int, count: int, width: int, kind: int) -> list[int]:
    b = layout.builder
    bases = [b.row(width, kind) for _ in range(count)]
    b.m[header] = bases[0] if bases else 0
    b.m[header + 1] = count
    return bases


def _tables(layout: Layout) -> None:
    """Items, crews, tools, stores and routes."""
    network, b = layout.network, layout.builder
    layout.items = _table(layout, r.ITEMS, len(network.items.ids), r.ITEM_WIDTH, r.ITEM)
    layout.crews = _table(layout, r.CREWS, len(network.crews.ids), r.CREW_WIDTH, r.CREW)
    layout.tools = _table(layout, r.TOOLS, len(network.tools.ids), r.TOOL_WIDTH, r.TOOL)
    layout.stores = _table(layout, r.STORES, len(network.stores.ids), r.STORE_WIDTH, r.STORE)
    layout.routes = _table(layout, r.ROUTES, len(network.routes.ids), r.ROUTE_WIDTH, 0)
    layout.operations = _table(layout, r.OPERATIONS, len(network.operations.ids), r.O_WIDTH, 0)
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


def key_of(name: str) -> tuple[int, int]:
    """Two words of 32 bits that stand for a name in the keys of random numbers."""
    digest = hashlib.blake2b(name.encode(), digest_size=8).digest()
    return int.from_bytes(digest[:4], "big"), int.from_bytes(digest[4:], "big")


def _stations(layout: Layout) -> None:
    """Stations, their places, the accounts of the places and the stoppages of each."""
    network, b = layout.network, layout.builder
    layout.stations = _table(layout, r.STATIONS, len(network.stations.ids), r.STATION_WIDTH, r.STATION)
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
        for k, place in enumerate(places):
            number += 1
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


def crew_list(layout: Layout, crews: Links, k: int, tends: int) -> int:
    """A list of (crew, units of a person)."""
    index, people = crews.row(k)
    pairs = []
    for crew, n in zip(index.tolist(), people.tolist(), strict=True):
        pairs.append((layout.crews[crew], max(int(n * r.PERSON / tends + 1e-6), 1)))
    return layout.builder.pairs(pairs)


def _visits_and_operations(layout: Layout) -> None:
    """Rows of the visits, and the benches of operations without a station."""
    network, b = layout.network, layout.builder
    at: dict[int, list[int]] = {row: [] for row in layout.stations}
    layout.visits = _table(layout, r.VISITS, len(network.visits.first), r.VISIT_WIDTH, 0)
    for v, visit in enumerate(layout.visits):
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


def counted(network: Network, operation: int) -> bool:
    """Whether the pieces of an operation are counted one by one."""
    return bool(network.items.counted[network.routes.item[network.operations.route[operation]]])


def any_amount(network: Network, operation: int) -> bool:
    """Whether an operation takes whatever amount comes: it runs at a rate, or an amount has no load."""
    operations = network.operations
    return bool(operations.continuous[operation]) or (
        not counted(network, operation) and float(operations.load_most[operation]) == 1.0
    )


def load_of(network: Network, operation: int) -> float:
    """The most pieces in a cycle; 0 where one piece is worked on, of any amount."""
    most = float(network.operations.load_most[operation])
    return 0.0 if any_amount(network, operation) or (counted(network, operation) and most <= 1.0) else most


def _operation(layout: Layout, o: int) -> None:
    """The columns of one operation."""
    network, b = layout.network, layout.builder
    p, row = network.operations, layout.operations[o]
    route = int(p.route[o])
    last_of_route = int(network.routes.last[route])
    visit = int(p.visit[o])
    loads = [load_of(network, q) for q in range(o, int(network.visits.last[visit]) + 1)]
    whole_visit = [
        load_of(network, q) for q in range(int(network.visits.first[visit]), int(network.visits.last[visit]) + 1)
    ]
    m, x = b.m, b.x
    then = int(p.then_to[o])
    m[row + r.O_ROUTE], m[row + r.O_POSITION] = layout.routes[route], int(p.position[o])
    m[row + r.O_INDEX], m[row + r.O_VISIT] = o, layout.visits[visit]
    m[row + r.O_ITEM] = layout.items[int(network.routes.item[route])]
    m[row + r.O_NEXT] = layout.operations[o + 1] if o < last_of_route else 0
    m[row + r.O_ENDS] = int(o == int(network.visits.last[visit]))
    m[row + r.O_THEN] = _then(layout, then)
    m[row + r.O_EACH], m[row + r.O_HANDS_ALL] = int(p.each[o]), int(p.hands_all[o])
    m[row + r.O_HANDS_START], m[row + r.O_HANDS_END] = int(p.hands_start[o]), int(p.hands_end[o])
    m[row + r.O_PER_LOAD], m[row + r.O_STOP] = int(p.faults_per_load[o]), int(p.stop[o])
    m[row + r.O_WAITS], m[row + r.O_COUNTED] = int(p.waits[o]), int(counted(network, o))
    m[row + r.O_ANY] = int(any_amount(network, o))
    m[row + r.O_SPLITS] = int(counted(network, o) and o != last_of_route and float(p.pieces_out[o]) != 1.0)
    m[row + r.O_CLOSES] = int(load_of(network, o) >= max(whole_visit))
    m[row + r.O_KEY], m[row + r.O_KEY_HIGH] = key_of(p.ids[o])
    x[row + r.O_LEAST], x[row + r.O_MOST] = float(p.load_least[o]), float(p.load_most[o])
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
    b.m[row + r.O_SETUP_WHEN] = int(p.setup_when[o]) if _ever(p.setup_when[o], p.setup_every[o], r.EVERY) else 0
    b.m[row + r.O_CLEAN_WHEN] = int(p.clean_when[o]) if _ever(p.clean_when[o], p.clean_every[o], r.CLEAN_EVERY) else 0
    b.m[row + r.O_START_WHEN] = int(p.start_when[o])
    b.x[row + r.O_SETUP_EVERY], b.x[row + r.O_CLEAN_EVERY] = float(p.setup_every[o]), float(p.clean_every[o])
    b.x[row + r.O_SPOILS] = float(p.start_scrap[o])
    if b.m[row + r.O_SETUP_WHEN]:
        b.m[row + r.O_SETUP_PLACES] = b.row(places)
    if b.m[row + r.O_CLEAN_WHEN]:
        base = b.m[row + r.O_CLEAN_PLACES] = b.row(places)
        if b.m[row + r.O_CLEAN_WHEN] == r.CLEAN_EVERY:
            b.x[base : base + places] = [float(p.clean_every[o])] * places
    if b.m[row + r.O_START_WHEN]:
        base = b.m[row + r.O_START_PLACES] = b.row(places)
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


def _checks(layout: Layout) -> None:
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
        b.m[row + r.C_OTHER] = _reject(layout, check.other, check.operation, 0)
        for k, (fault, finds, reject) in enumerate(zip(check.faults, check.finds, check.rejects, strict=True)):
            one = row + r.CHECK_WIDTH + k * r.FAULT_WIDTH
            b.m[one + r.F_BIT] = fault
            b.m[one + r.F_REJECT] = _reject(layout, reject, check.operation, 0)
            b.x[one + r.F_FINDS] = finds
        b.m[layout.operations[check.operation] + r.O_CHECK] = row


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


def _attendance(layout: Layout) -> None:
    """When anybody who works at a station is there: the union of its crews' hours, within its own."""
    network, p = layout.network, layout.network.operations
    for s, row in enumerate(layout.stations):
        own = network.stations.calendar[s]
        here = [o for o in range(len(p.ids)) if s in p.stations.row(o)[0]]
        crews = {int(c) for o in here for c in p.crews.row(o)[0]}
        calendars = [network.calendars[int(network.crews.calendar[c])] for c in sorted(crews)]
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
    return 64 + int(split.max(initial=0)) + 4 * people
