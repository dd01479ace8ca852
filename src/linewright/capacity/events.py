"""The events of a plan and how they wait for each other: places, stores, circulating stock, hand-over.

Only rules that hold whatever chance and the order of work bring are taken in, so that the slowest ring of events
bounds every plan; on a decision-free plan all its rules are in, and the slowest ring is its exact rate. An operation
that runs several times for one run of another is repeated in the graph.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from linewright.base.distributions import Shape
from linewright.capacity.rates import Work
from linewright.capacity.segments import flash_off
from linewright.capacity.stations import visits_by_station, visits_of
from linewright.network.model import DIRECT, NOWHERE, Network

_MOST_EVENTS = 20_000


@dataclass(frozen=True, slots=True)
class Edge:
    """x_head waits for x_tail: a firing of ``tail`` gives ``made`` tokens, one of ``head`` wants ``wanted``.

    The time of an edge is that of its ``operation`` (NOWHERE: none). ``tokens`` are there at the start. ``moves``: the
    edge follows the pieces themselves; the others give room back. ``way_back``: ns more by the wall clock (carriers,
    least times of windows).
    """

    tail: int
    head: int
    operation: int
    made: int
    wanted: int
    tokens: int
    moves: bool
    way_back: float = 0.0


@dataclass(slots=True)
class Events:
    """The graph before repetition. ``cycles`` are firings of every node a working day.

    ``visit`` is the visit of every node; ``begin`` and ``done`` those of every operation that is in, ``entry``
    and ``leave`` the taking and freeing of a place by every visit. ``whole``: nothing of the plan was left out.
    """

    cycles: list[float] = field(default_factory=list)
    visit: list[int] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    begin: dict[int, int] = field(default_factory=dict)
    done: dict[int, int] = field(default_factory=dict)
    entry: dict[int, int] = field(default_factory=dict)
    leave: dict[int, int] = field(default_factory=dict)
    whole: bool = True

    def node(self, cycles: float, visit: int) -> int:
        """A new kind of event."""
        self.cycles.append(cycles)
        self.visit.append(visit)
        return len(self.visit) - 1

    def edge(
        self,
        tail: int,
        head: int,
        operation: int = NOWHERE,
        *,
        made: float = 1,
        wanted: float = 1,
        tokens: float = 0,
        moves: bool = True,
        way_back: float = 0.0,
    ) -> None:
        """An edge; amounts that are not whole numbers cannot be played, and the edge is left out."""
        a, b, held = round(made), round(wanted), round(tokens)
        if max(abs(a - made), abs(b - wanted), abs(held - tokens)) > 1e-9 or min(a, b) < 1:
            self.whole = False
            return
        self.edges.append(Edge(tail, head, operation, a, b, held, moves, way_back))


def steady_routes(network: Network) -> list[bool]:
    """Routes whose every piece goes through once, from first to last: no loss, no check, no choice of feed."""
    table = network.operations
    bad = (table.survives < 1) | (table.start_scrap > 0)
    bad[[i.operation for i in network.inspections]] = True
    bad[[c.operation for c in network.choices]] = True
    loads = table.load_least < table.load_most
    wrong = np.bincount(table.route, bad | loads, minlength=len(network.routes.ids))
    return [bool(w == 0) for w in wrong]


def events_of(work: Work) -> Events:
    """The graph of all steady routes."""
    network = work.network
    graph = Events()
    steady = steady_routes(network)
    graph.whole = all(steady)
    for route in range(len(network.routes.ids)):
        if steady[route] and work.flow.cycles[int(network.routes.first[route])] > 0:
            _route(work, graph, route)
    _places(work, graph)
    _items(work, graph, steady)
    _carriers(network, graph)
    for after, o, least in zip(network.windows.after, network.windows.operation, network.windows.least, strict=True):
        if least > 0 and int(after) in graph.done and int(o) in graph.begin:
            _flash_off(network, graph, int(after), int(o), float(least))
    return graph


def _route(work: Work, graph: Events, route: int) -> None:
    """The chain of a route: a place taken, operations one after another, the place left, and the way to the next."""
    network = work.network
    table, cycles = network.operations, work.flow.cycles
    first, last = int(network.routes.first[route]), int(network.routes.last[route])
    for v in range(int(table.visit[first]), int(table.visit[last]) + 1):
        rows = range(int(network.visits.first[v]), int(network.visits.last[v]) + 1)
        follows = v > int(table.visit[first])
        one_by_one = follows and _one_by_one(network, rows[0] - 1)
        handed_over = one_by_one and int(table.then_to[rows[0] - 1]) == DIRECT
        # Direct hand-over: leaving one place and entering the next are one event.
        graph.entry[v] = graph.leave[v - 1] if handed_over else graph.node(float(cycles[rows[0]]), v)
        at = graph.node(float(cycles[rows[0]]), v)
        graph.edge(graph.entry[v], at)
        for o in rows:
            graph.begin[o] = at
            graph.whole &= bool(cycles[o] == cycles[rows[0]])
            at = graph.node(float(cycles[o]), v)
            graph.edge(graph.begin[o], at, o)
            graph.done[o] = at
        graph.leave[v] = graph.node(float(cycles[rows[-1]]), v)
        graph.edge(at, graph.leave[v])
        if v == int(table.visit[last]) and int(table.then_to[last]) != NOWHERE:
            graph.whole = False
        if follows and not handed_over:
            _way(network, graph, v, rows[0], one_by_one)


def _one_by_one(network: Network, before: int) -> bool:
    """Whether single pieces go over from an operation to the next."""
    table = network.operations
    return bool(table.load_most[before] == table.load_most[before + 1] == table.pieces_out[before] == 1)


def _way(network: Network, graph: Events, v: int, o: int, one_by_one: bool) -> None:
    """Pieces go over to visit ``v`` and its first operation ``o``: into the place one by one, or a load to its start.

    A load takes its place with its first piece, so that only its start waits for all; room in a store is counted only
    where pieces go one by one.
    """
    table = network.operations
    before = o - 1
    made = float(table.load_most[before] * table.pieces_out[before])
    head = graph.entry[v] if one_by_one else graph.begin[o]
    graph.edge(graph.leave[v - 1], head, made=made, wanted=float(table.load_most[o]))
    store = int(table.then_to[before])
    if store >= 0 and one_by_one and (table.then_to == store).sum() == 1 and (network.item_store != store).all():
        graph.edge(graph.entry[v], graph.leave[v - 1], tokens=float(network.stores.room[store]), moves=False)
    elif store != NOWHERE:
        graph.whole = False


def _places(work: Work, graph: Events) -> None:
    """A place is free again when its piece has left: only where one kind of visit has the station to itself.

    With several places and random times pieces overtake, so that the rule does not hold and is left out.
    """
    network = work.network
    for station, visits in visits_by_station(visits_of(network)).items():
        places = int(network.stations.places[station])
        v = int(network.operations.visit[visits[0][0]])
        alone = len(visits) == 1 and len(network.operations.stations.row(visits[0][0])[0]) == 1
        if v in graph.entry and alone and in_order(network, v):
            graph.edge(graph.leave[v], graph.entry[v], tokens=places, moves=False)
        else:
            graph.whole = False


def in_order(network: Network, v: int) -> bool:
    """Whether pieces leave a visit in the order in which they came: one place, or fixed times."""
    rows = slice(int(network.visits.first[v]), int(network.visits.last[v]) + 1)
    table = network.operations
    fixed = (table.time.shape[rows] == Shape.FIXED).all() and (table.stand.shape[rows] == Shape.FIXED).all()
    station = int(network.visits.station[v])
    single = len(table.stations.row(rows.start)[0]) == 1 and network.stations.places[station] == 1
    return bool(fixed or single)


def _items(work: Work, graph: Events, steady: list[bool]) -> None:
    """Parts that come from one place only and are taken at one place only; what circulates starts with its stock."""
    network = work.network
    sources = _sources(network, graph, steady)
    takers = _takers(network)
    table, items, cycles = network.operations, network.items, work.flow.cycles
    several = {i for choice in network.choices for i in choice.items} | set(np.flatnonzero(items.demand > 0).tolist())
    for item, users in takers.items():
        if item not in sources:
            continue
        found, (o, units) = sources[item], users[0]
        if len(found) != 1 or found[0] is None or len(users) != 1 or item in several or o not in graph.begin:
            graph.whole = False
            continue
        source, made = found[0]
        wanted = units * float(table.load_most[o])
        steady_amount = math.isclose(made * graph.cycles[source], wanted * float(cycles[o]), rel_tol=1e-9)
        if work.flow.bought[item] > 0 or not steady_amount:
            graph.whole = False  # what is also bought, or left over, holds nothing up in the long run
            continue
        stock = float(items.stock[item]) if math.isfinite(items.stock[item]) else 0.0
        graph.edge(source, graph.begin[o], made=made, wanted=wanted, tokens=stock)
        _room(network, graph, item, o, source, made, wanted, stock)


def _sources(network: Network, graph: Events, steady: list[bool]) -> dict[int, list[tuple[int, float] | None]]:
    """Where each item comes from: (event, units each time), None where that event is not in the graph."""
    table, routes = network.operations, network.routes
    out: dict[int, list[tuple[int, float] | None]] = {}
    for route, (item, last) in enumerate(zip(routes.item.tolist(), routes.last.tolist(), strict=True)):
        v = int(table.visit[last])
        made = float(table.load_most[last] * table.pieces_out[last])
        out.setdefault(item, []).append((graph.leave[v], made) if steady[route] and v in graph.leave else None)
    owner = np.repeat(np.arange(len(table.ids)), np.diff(table.gives.starts))
    for o, item, units in zip(owner.tolist(), table.gives.index.tolist(), table.gives.amount.tolist(), strict=True):
        known = (graph.done[o], units * float(table.load_most[o])) if o in graph.done else None
        out.setdefault(item, []).append(known)
    return out


def _takers(network: Network) -> dict[int, list[tuple[int, float]]]:
    """(operation, units a piece) of everything taken."""
    takes = network.operations.takes
    owner = np.repeat(np.arange(len(network.operations.ids)), np.diff(takes.starts))
    out: dict[int, list[tuple[int, float]]] = {}
    for o, item, units in zip(owner.tolist(), takes.index.tolist(), takes.amount.tolist(), strict=True):
        out.setdefault(item, []).append((o, units))
    return out


def _room(
    network: Network, graph: Events, item: int, o: int, source: int, made: float, wanted: float, stock: float
) -> None:
    """A store of limited room between a maker's leaving and a user's taking."""
    table = network.operations
    store = int(network.item_store[item])
    mine = store >= 0 and int((network.item_store == store).sum()) == 1 and (table.then_to != store).all()
    if mine and made == 1 and source in graph.leave.values():
        room = float(network.stores.room[store]) - stock
        graph.edge(graph.begin[o], source, made=wanted, tokens=room, moves=False)
    elif store >= 0:
        graph.whole = False


def _flash_off(network: Network, graph: Events, after: int, o: int, least: float) -> None:
    """Pieces begin ``o`` at least so long after the end of ``after``; only where both work on as many at a time.

    What follows at once in the same place stands until then, which is in the time of ``after``.
    """
    table = network.operations
    if after == o - 1 and table.visit[after] == table.visit[o]:
        graph.whole &= bool(flash_off(network)[after] == least)
    elif table.load_most[after] == table.load_most[o] and (table.pieces_out[after:o] == 1).all():
        graph.edge(graph.done[after], graph.begin[o], way_back=least)
    else:
        graph.whole = False


def _carriers(network: Network, graph: Events) -> None:
    """A piece gets on when one has come back: rooms for pieces on all carriers are the tokens.

    Only where pieces get on at one place and off at one place, and stay what they are between.
    """
    table, carriers = network.operations, network.carriers
    for c in range(len(carriers.ids)):
        joins, leaves = carriers.joins.row(c)[0].tolist(), carriers.leaves.row(c)[0].tolist()
        on, off = int(joins[0]), int(leaves[0])
        between = [o for o in carriers.stretch.row(c)[0].tolist() if o not in leaves]
        whole_pieces = all(float(table.pieces_out[o]) == 1 for o in between)
        if len(joins) != 1 or len(leaves) != 1 or not whole_pieces or on not in graph.begin or off not in graph.done:
            graph.whole = False
            continue
        holds, loads = int(carriers.holds[c]), (float(table.load_most[off]), float(table.load_most[on]))
        graph.whole &= holds == 1 or all(load % holds == 0 for load in loads)
        fixed = int(carriers.way_back.shape[c]) == Shape.FIXED
        graph.edge(
            graph.done[off], graph.begin[on], made=loads[0], wanted=loads[1], tokens=int(carriers.count[c]) * holds,
            moves=False, way_back=float(carriers.way_back.mean[c]) if fixed else 0.0,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Repeated:
    """The graph with every event repeated as often as it happens in one period: plain edges with whole tokens.

    ``kind`` maps a copy to its event. ``periods`` is how many periods a working day at the demand has.
    """

    kind: list[int]
    tails: list[int]
    heads: list[int]
    edges: list[Edge]
    tokens: list[int]
    periods: float


def repeat(graph: Events, parts: list[int]) -> Repeated | None:
    """Repeat the events ``parts`` (one connected piece of the graph); None where the counts are too large or uneven.

    The j-th firing of a head that wants b tokens waits for firing ceil((b j - tokens) / a) of its tail.
    """
    base = graph.cycles[parts[0]]
    shares = [Fraction(graph.cycles[p] / base).limit_denominator(1000) for p in parts]
    if any(s <= 0 or abs(float(s) * base - graph.cycles[p]) > 1e-9 * base for s, p in zip(shares, parts, strict=True)):
        return None
    whole = math.lcm(*(s.denominator for s in shares))
    counts = {p: int(s * whole) for s, p in zip(shares, parts, strict=True)}
    if sum(counts.values()) > _MOST_EVENTS:
        return None
    start: dict[int, int] = {}
    kind: list[int] = []
    for p in parts:
        start[p] = len(kind)
        kind += [p] * counts[p]
    tails, heads, edges, tokens = [], [], [], []
    for edge in graph.edges:
        if edge.tail not in counts:
            continue
        if edge.made * counts[edge.tail] != edge.wanted * counts[edge.head]:
            return None
        for j in range(1, counts[edge.head] + 1):
            firing = -((edge.tokens - edge.wanted * j) // edge.made)  # ceil((wanted j - tokens) / made)
            tails.append(start[edge.tail] + (firing - 1) % counts[edge.tail])
            heads.append(start[edge.head] + j - 1)
            edges.append(edge)
            tokens.append(-((firing - 1) // counts[edge.tail]))
    return Repeated(kind, tails, heads, edges, tokens, base / whole)
