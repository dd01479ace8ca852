"""The greatest cycle ratio of a plan: rings over places, stores and circulating stock that no load shows.

Taken by two clocks, each a bound: the wall clock, where every time counts, and the open clock, which runs while anyone
is there and counts crewed time only. On a decision-free plan with one calendar the answer is exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import WEEK
from linewright.base.distributions import Shape
from linewright.capacity.events import Events, Repeated, events_of, in_order, repeat
from linewright.capacity.hours import ALWAYS, Hours, either
from linewright.capacity.model import Bound
from linewright.capacity.rates import Work
from linewright.capacity.ratio import Ring, slowest_ring
from linewright.capacity.said import figure, name_of
from linewright.capacity.segments import Segments
from linewright.capacity.stations import people_of
from linewright.network.model import NOWHERE, Network, Stops


@dataclass(frozen=True, slots=True)
class Cycles:
    """Bounds by rings, whether the least of all bounds is exact, and if not, why not."""

    bounds: list[Bound]
    exact: bool
    notes: tuple[str, ...]


def cycle_bounds(work: Work, first: float) -> Cycles:
    """The slowest ring of every connected part of the plan; ``first`` is the demand of the first item a working day."""
    hours = _open(work)
    parts, _ = work.at(math.inf)
    why_not = _decisions(work, hours, parts)
    if not _can_ring(work.network):
        return Cycles([], not why_not, _notes(why_not))
    graph = events_of(work)
    bounds: list[Bound] = []
    whole = graph.whole
    ordered = [in_order(work.network, v) for v in range(len(work.network.visits.first))]
    for members in _connected(graph):
        repeated = repeat(graph, members)
        if repeated is None:
            whole = False
            continue
        bound = _slowest(work.network, graph, ordered, repeated, parts, hours, first)
        if bound is not None:
            bounds.append(bound)
    if not whole and not why_not:
        why_not = ["parts of the plan could not be set out as a graph of events"]
    return Cycles(bounds, not why_not, _notes(why_not))


def _notes(why_not: list[str]) -> tuple[str, ...]:
    return () if not why_not else ("Not exact: " + "; ".join(why_not) + ".",)


def _can_ring(network: Network) -> bool:
    """Whether anything ties visits into a ring: limited room, direct hand-over, circulating stock or carriers."""
    return bool(
        (network.operations.then_to != NOWHERE).any()
        or (network.item_store != NOWHERE).any()
        or np.isfinite(network.items.stock).any()
        or network.carriers.ids
        or (network.windows.least > 0).any()
    )


def _open(work: Work) -> Hours:
    """When any crewed operation can be worked on."""
    teams = {people_of(work.network.operations.crews, o) for o in range(len(work.network.operations.ids))}
    sets = [work.openings.team(team) for team in teams if team]
    return either(sets) if sets else ALWAYS


def _connected(graph: Events) -> list[list[int]]:
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    if not graph.edges:
        return []
    n = len(graph.visit)
    tails, heads = [e.tail for e in graph.edges], [e.head for e in graph.edges]
    count, group = connected_components(coo_array((np.ones(len(tails)), (tails, heads)), shape=(n, n)), directed=False)
    found: list[list[int]] = [[] for _ in range(count)]
    for node, part in enumerate(group.tolist()):
        found[part].append(node)
    return found


def _slowest(
    network: Network,
    graph: Events,
    ordered: list[bool],
    repeated: Repeated,
    parts: Segments,
    hours: Hours,
    first: float,
) -> Bound | None:
    """The bound of one part: the best of two clocks and two readings.

    Rings with room in them hold only where pieces keep their order, so times of other visits count as nothing there;
    rings of moving pieces alone hold whatever the order (Little's law), and are taken with all times. ``ordered`` tells
    of every visit whether they keep it.
    """
    best: tuple[float, Ring] | None = None
    clocks = ((parts.run + parts.stand, float(WEEK), 1.0), (_crewed(network, parts), float(hours.open_ns), 0.0))
    for clock, at_hand, by_wall in clocks:
        times = [
            (float(clock[e.operation]) if e.operation != NOWHERE else 0.0) + by_wall * e.way_back
            for e in repeated.edges
        ]
        for moving in (False, True):
            used = [k for k, e in enumerate(repeated.edges) if e.moves or not moving]
            weights = [times[k] if moving or ordered[graph.visit[repeated.edges[k].head]] else 0.0 for k in used]
            ring = slowest_ring(
                len(repeated.kind),
                [repeated.tails[k] for k in used],
                [repeated.heads[k] for k in used],
                weights,
                [repeated.tokens[k] for k in used],
            )
            if ring is None or ring.ratio <= 0:
                continue
            multiple = at_hand / ring.ratio / (repeated.periods * network.days_week)
            if best is None or multiple < best[0]:
                best = (multiple, ring)
    if best is None:
        return None
    multiple, ring = best
    visits = dict.fromkeys(graph.visit[repeated.kind[node]] for node in ring.nodes)
    if len(visits) < 2 and not network.carriers.ids:
        return None  # a place alone: its load says the same; loads on carriers may leave some over
    names = _names(network, list(visits))
    where = ", ".join(names[:5]) + (", …" if len(names) > 5 else "")
    said = ", ".join(name_of(network, name) for name in names[:5]) + (", …" if len(names) > 5 else "")
    things = "Places, room, stock and carriers" if network.carriers.ids else "Places, room and stock"
    if math.isinf(ring.ratio):
        why = f"The ring over {said} holds no piece and no room, so that nothing in it can ever begin."
    else:
        why = (
            f"{things} in the ring over {said} let at most {ring.tokens} be on their way at once, and "
            f"once round takes {figure(ring.weight / 60e9)} min."
        )
    return Bound("cycle", where, multiple, first * multiple, why)


def _names(network: Network, visits: list[int]) -> list[str]:
    stations = [int(network.visits.station[v]) for v in visits]
    firsts = [network.operations.ids[int(network.visits.first[v])] for v in visits]
    return list(dict.fromkeys(network.stations.ids[s] if s >= 0 else o for s, o in zip(stations, firsts, strict=True)))


def _crewed(network: Network, parts: Segments) -> np.ndarray:
    """Time that passes in open hours only; a run that may end after its shift counts as none."""
    return np.where(network.operations.stop == Stops.FINISH, 0.0, np.where(parts.crewed, parts.begin + parts.end, 0.0))


def _decisions(work: Work, hours: Hours, parts: Segments) -> list[str]:
    """What in the plan leaves anything to chance or to choice; empty where the plan is decision-free."""
    network = work.network
    table = network.operations
    tests = {
        "times vary": any((d.shape != Shape.FIXED).any() for d in (table.time, table.stand)),
        "there are setups, cleaning or start-up": bool(
            (table.setup_when != 0).any() or (table.clean_when != 0).any() or (table.start_when != 0).any()
        ),
        "places stop": bool(len(network.stoppages.names)),
        "pieces are lost or checked": bool(
            (table.survives < 1).any() or network.inspections or (np.diff(table.faults.starts) > 0).any()
        ),
        "feeds can be chosen": bool(network.choices),
        "loads vary": bool((table.load_least < table.load_most).any()),
        "operations can choose a station": bool((np.diff(table.stations.starts) > 1).any()),
        "a station does several visits": _shared(network),
        "a crew or a tool has several jobs": _shares(network),
        "people stand in for others": bool(len(network.crews.lends)),
        "an item has several makers or users": _branches(network),
        "windows can close": bool((network.windows.most > 0).any()),
        "windows open while nobody is there": not hours.always and bool((network.windows.least > 0).any()),
        "carriers are lost, or their way back varies": bool(
            (network.carriers.between.mean > 0).any() or (network.carriers.way_back.shape != Shape.FIXED).any()
        ),
        "carriers come back while nobody is there": not hours.always
        and bool((network.carriers.way_back.mean > 0).any()),
        "several products are wanted": int((network.items.demand > 0).sum()) != 1,
        "crews work at different hours": not _one_calendar(work, hours),
        "work goes on while nobody is there": not hours.always
        and bool((np.where(parts.crewed, parts.run - parts.begin - parts.end, parts.run) + parts.stand > 0).any()),
        "work cannot pause at the end of a shift": not hours.always and bool((table.stop != Stops.ANYWHERE).any()),
    }
    return [name for name, is_so in tests.items() if is_so]


def _shared(network: Network) -> bool:
    station = network.visits.station
    return len(set(station[station >= 0].tolist())) < int((station >= 0).sum())


def _branches(network: Network) -> bool:
    makers = np.concatenate([network.routes.item, network.operations.gives.index])
    users = network.operations.takes.index
    made = np.isin(users, makers)
    return len(set(makers.tolist())) < len(makers) or len(set(users[made].tolist())) < int(made.sum())


def _shares(network: Network) -> bool:
    table = network.operations
    return any(len(set(links.index.tolist())) < len(links.index) for links in (table.crews, table.tools)) or bool(
        (~table.hands_all & (np.diff(table.crews.starts) > 0)).any()
    )


def _one_calendar(work: Work, hours: Hours) -> bool:
    network = work.network
    for o in range(len(network.operations.ids)):
        people = people_of(network.operations.crews, o)
        if people and work.openings.team(people) != hours:
            return False
        for crew, _ in people:
            calendar = network.calendars[int(network.crews.calendar[crew])]
            if len(set(calendar.level.tolist()) - {0}) > 1:
                return False
    return bool((network.stations.calendar == NOWHERE).all())
