"""What the process map shows: steps, stores and products as nodes, and what passes between them as edges.

Loops are chosen by meaning: an edge is drawn backwards where the plan says that something goes back (rework, or an
item returned to an earlier step of the route that gives it), and only then by depth-first search inside each strongly
connected part, from where material enters it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from linewright.plan.called import called
from linewright.plan.model import Amount, Operation, Plan, Reaction
from linewright.report import words
from linewright.report.story import told_order

Kind = Literal["operation", "inspection", "transport", "delay", "storage", "product", "route"]
Passing = Literal["next", "feeds", "by-product", "rework"]


@dataclass(frozen=True, slots=True)
class Node:
    """A symbol on the map. ``operation`` is its index in telling order from 1, 0 for a store or a product."""

    id: str
    kind: Kind
    name: str
    details: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    outputs: tuple[str, ...] = ()
    station: str = ""
    route: str = ""
    number: int = 0
    starts: str = ""
    hazard: bool = False


@dataclass(frozen=True, slots=True)
class Edge:
    """Something that passes from node ``source`` to node ``target`` (indices). ``loop``: drawn backwards."""

    source: int
    target: int
    passing: Passing
    label: str = ""
    loop: bool = False


@dataclass(frozen=True, slots=True)
class Graph:
    """The nodes and edges of one map."""

    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]
    title: str = ""


@dataclass(slots=True)
class _Builder:
    plan: Plan
    nodes: list[Node] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    at: dict[str, int] = field(default_factory=dict)
    exits: dict[str, list[int]] = field(default_factory=dict)
    givers: dict[str, list[tuple[int, Passing]]] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)

    def add(self, node: Node) -> int:
        """Put a node on the map and return its index."""
        self.at[node.id] = len(self.nodes)
        self.nodes.append(node)
        return self.at[node.id]


def graph_of(plan: Plan) -> Graph:
    """The map of a whole plan: one node an operation, one a store passed through, one a product."""
    build = _Builder(plan)
    build.names = {key: words.name_of(key, item.name) for key, item in plan.items.items()}
    for route in told_order(plan):
        _add_route(build, route.id)
    for operation in _operations(plan):
        _add_feeds(build, operation)
        _add_rework(build, operation)
    _add_products(build)
    return with_loops(Graph(tuple(build.nodes), tuple(dict.fromkeys(build.edges)), plan.name))


def _operations(plan: Plan) -> Iterator[Operation]:
    for route in plan.routes.values():
        yield from route.operations


def _add_route(build: _Builder, route_id: str) -> None:
    plan, route = build.plan, build.plan.routes[route_id]
    before: int | None = None
    for operation in route.operations:
        here = build.add(_operation_node(build, operation, route_id, first=before is None))
        if before is not None:
            build.edges.append(Edge(before, here, "next"))
        before = here
        for amount in operation.gives:
            if amount.item != route.gives:
                build.givers.setdefault(amount.item, []).append((here, "by-product"))
        for item in _seconds(operation):
            build.givers.setdefault(item, []).append((here, "by-product"))
        if operation.then_to is not None and operation.then_to in plan.stores:
            store = plan.stores[operation.then_to]
            room = (f"room {store.room.text}",)
            name = words.name_of(store.id, store.name)
            keeps = build.add(Node(f"store:{operation.id}", "storage", name, room, route=route_id))
            build.edges.append(Edge(here, keeps, "next"))
            before = keeps
    if before is not None:
        build.givers.setdefault(route.gives, []).append((before, "feeds"))


def _operation_node(build: _Builder, operation: Operation, route_id: str, *, first: bool) -> Node:
    plan = build.plan
    route = plan.routes[route_id]
    taken = [words.amount(amount, build.names) for amount in (*operation.takes, *operation.takes_per_load)]
    given = [amount for amount in operation.gives if amount.item != route.gives]
    out = [words.amount(amount, build.names) for amount in (*given, *operation.loses)]
    station = operation.station[0] if operation.station else ""
    known = plan.stations.get(station)
    hazards = (*operation.hazards, *(known.hazards if known is not None else ()))
    return Node(
        operation.id,
        words.symbol_of(operation),
        words.name_of(operation.id, operation.name),
        words.cycle(operation),
        tuple(taken),
        tuple(out),
        called(known) if known is not None else station.replace("_", " "),
        route_id,
        sum(1 for node in build.nodes if node.number) + 1,
        words.name_of(route.id, route.name) if first else "",
        bool(hazards),
    )


def _seconds(operation: Operation) -> Iterator[str]:
    """Items that pieces rejected by this operation's check become."""
    pending = list(operation.check.then.values()) if operation.check is not None else []
    while pending:
        reaction = pending.pop()
        if reaction.seconds is not None:
            yield reaction.seconds
        if reaction.otherwise is not None:
            pending.append(reaction.otherwise)


def _taken(amount: Amount) -> tuple[str, ...]:
    return amount.any_of or (amount.item,)


def _add_feeds(build: _Builder, operation: Operation) -> None:
    here = build.at[operation.id]
    for amount in (*operation.takes, *operation.takes_per_load):
        for item in _taken(amount):
            for giver, passing in build.givers.get(item, ()):
                build.edges.append(Edge(giver, here, passing, build.names.get(item, item)))


def _reworks(reaction: Reaction) -> Iterator[Reaction]:
    if reaction.kind == "rework":
        yield reaction
    if reaction.otherwise is not None:
        yield from _reworks(reaction.otherwise)


def _add_rework(build: _Builder, operation: Operation) -> None:
    if operation.check is None:
        return
    here = build.at[operation.id]
    for first in operation.check.then.values():
        for reaction in _reworks(first):
            if reaction.rework in build.at:
                target = build.at[reaction.rework]
                build.edges.append(Edge(here, target, "rework", "rework", loop=target <= here))


def _add_products(build: _Builder) -> None:
    """A storage triangle for every item that is asked for, and for a route's item that nothing takes."""
    taken = {item for o in _operations(build.plan) for a in (*o.takes, *o.takes_per_load) for item in _taken(a)}
    wanted = {demand.item: demand.rate.text for demand in build.plan.demand}
    left_over = {route.gives for route in build.plan.routes.values()} - taken
    for item in dict.fromkeys([*wanted, *sorted(left_over)]):
        givers = build.givers.get(item, ())
        if not givers:
            continue
        node = build.add(
            Node(f"product:{item}", "product", build.names.get(item, item), (wanted.get(item, "left over"),))
        )  # fmt: skip
        build.edges.extend(Edge(giver, node, passing, build.names.get(item, item)) for giver, passing in givers)


def overview_of(plan: Plan) -> Graph:
    """The map of a long plan: one node a route, and what passes from route to route."""
    build = _Builder(plan)
    build.names = {key: words.name_of(key, item.name) for key, item in plan.items.items()}
    steps = 1
    for route in told_order(plan):
        count = len(route.operations)
        details = (f"{count} step{'s' if count != 1 else ''} from {steps}",)
        build.add(Node(route.id, "route", words.name_of(route.id, route.name), details, route=route.id))
        build.givers.setdefault(route.gives, []).append((build.at[route.id], "feeds"))
        for operation in route.operations:
            others = [amount.item for amount in operation.gives if amount.item != route.gives]
            for item in (*others, *_seconds(operation)):
                build.givers.setdefault(item, []).append((build.at[route.id], "by-product"))
        steps += count
    for route in plan.routes.values():
        for operation in route.operations:
            build.at[operation.id] = build.at[route.id]
            _add_feeds(build, operation)
    _add_products(build)
    return with_loops(Graph(tuple(build.nodes), tuple(dict.fromkeys(build.edges)), plan.name))


def with_loops(graph: Graph) -> Graph:
    """The graph with ``loop`` set on edges so that the others form no circle."""
    edges = [replace(edge, loop=True) if not edge.loop and _returns(graph, edge) else edge for edge in graph.edges]
    part = _strong_parts(len(graph.nodes), [e for e in edges if not e.loop])
    loops = _backward(len(graph.nodes), edges, part)
    marked = tuple(replace(e, loop=True) if i in loops else e for i, e in enumerate(edges))
    return replace(graph, edges=marked)


def _returns(graph: Graph, edge: Edge) -> bool:
    """An item goes back to the same step, or to an earlier one of the same route."""
    if edge.passing == "next":
        return False
    source, target = graph.nodes[edge.source], graph.nodes[edge.target]
    return edge.source == edge.target or (source.route == target.route != "" and edge.target <= edge.source)


def _strong_parts(n: int, edges: list[Edge]) -> list[int]:
    """For each node the number of its strongly connected part."""
    import numpy as np
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    source = np.array([e.source for e in edges], dtype=np.int64)
    target = np.array([e.target for e in edges], dtype=np.int64)
    matrix = coo_array((np.ones(len(edges)), (source, target)), shape=(n, n)).tocsr()
    _, labels = connected_components(matrix, directed=True, connection="strong")
    return [int(label) for label in labels]


_FIRST = {"next": 0, "feeds": 1, "by-product": 2, "rework": 3}


def _backward(n: int, edges: list[Edge], part: list[int]) -> set[int]:
    """Edges that close a circle, by depth-first search inside each strongly connected part from its entries."""
    inside: list[list[int]] = [[] for _ in range(n)]
    entered = [False] * n
    for i, edge in enumerate(edges):
        if edge.loop:
            continue
        if part[edge.source] == part[edge.target]:
            inside[edge.source].append(i)
        else:
            entered[edge.target] = True
    for row in inside:
        row.sort(key=lambda i: (_FIRST[edges[i].passing], i))
    state, closing = [0] * n, set()
    for start in sorted(range(n), key=lambda v: (not entered[v], v)):
        if state[start]:
            continue
        state[start] = 1
        stack = [(start, iter(inside[start]))]
        while stack:
            node, rest = stack[-1]
            step = next(rest, None)
            if step is None:
                state[node] = 2
                stack.pop()
            elif state[edges[step].target] == 1:
                closing.add(step)
            elif state[edges[step].target] == 0:
                state[edges[step].target] = 1
                stack.append((edges[step].target, iter(inside[edges[step].target])))
    return closing
