"""Journeys: how often a piece started on a route passes every operation, where it is lost, what faults it leaves with.

Routes without faults and checks are one product along the route. Others are walked as absorbing Markov chains
(walk.py), makers before users, so that what escapes in a made item enters its user, each unit independently. A fault
that no later check looks for, here or downstream, does not change a journey: its share is found by a walk of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from linewright.base.problems import Problems
from linewright.network.beside import beside, besides_all, only
from linewright.network.chains import Escapes, worth_keeping
from linewright.network.escapes import looked_for
from linewright.network.loops import loop_numbers
from linewright.network.model import Floats, Ints, Network
from linewright.network.order import routes_in_order
from linewright.network.rows import owners, summed
from linewright.network.walk import MOST_STATES, TooManyStatesError, Walked, walk

_ROUNDS = 200  # of passing faults round a loop of routes until nothing changes


@dataclass(frozen=True, slots=True)
class Journeys:
    """Expectations for one piece started on each route.

    [n_operations]: ``runs`` passes (repeated ones included), ``first`` passes that are not repeated, ``takes`` passes
    that take parts. [n_routes]: ``good`` units of the route's item, ``rolled_yield`` the probability of going through
    with no loss, no fault and no false alarm. ``scrap``: (operation, reason) to pieces; ``seconds``: (operation, item)
    to pieces; ``reworks``: (check, back to) to passes. ``escapes``: (item, fault) to the share of its units.
    ``states`` of the chains together.
    """

    runs: Floats
    first: Floats
    takes: Floats
    good: Floats
    rolled_yield: Floats
    scrap: Mapping[tuple[int, str], float]
    seconds: Mapping[tuple[int, int], float]
    reworks: Mapping[tuple[int, int], float]
    escapes: Mapping[tuple[int, int], float]
    states: int


def journeys(
    network: Network,
    mix: Floats | None = None,
    choice_mix: tuple[tuple[float, ...], ...] | None = None,
    keeps: Floats | None = None,
) -> Journeys:
    """The journeys of all routes; those of the network as it stands are kept and given again.

    ``mix`` is each route's share of its item and ``choice_mix`` that of each choice, which weigh the faults of parts
    with several makers; without them declared shares do, and other makers count alike. ``keeps`` [n_operations] is the
    share of pieces that start-up losses leave. Raises ProblemsError where a chain has over 65,536 states.
    """
    plain = mix is None and choice_mix is None and keeps is None
    if plain and "journeys" in network.notes:
        kept: Journeys = network.notes["journeys"]
        return kept
    found = _Solver(network, mix, choice_mix, keeps).solve()
    if plain:
        network.notes["journeys"] = found
    return found


def share_journeys(network: Network, other: Network) -> None:
    """Give a network the journeys already found for another one, where nothing that a journey depends on differs.

    A change of a station or a crew changes no journey; with many variants these take longer to find than to compare.
    """
    if "journeys" in other.notes and _same_ways(network, other):
        network.notes["journeys"] = other.notes["journeys"]


_OF_ROUTES = ("item", "first", "last", "share")
_OF_STEPS = ("route", "survives", "pieces_out")
_OF_TAKES = ("takes", "takes_per_load", "gives", "faults")


def _same_ways(one: Network, other: Network) -> bool:
    """Whether all that the solver reads is the same: routes, what is taken, losses, faults, checks and choices."""
    named = (one.items.ids, one.routes.ids, one.faults, one.choices, one.inspections)
    if named != (other.items.ids, other.routes.ids, other.faults, other.choices, other.inspections):
        return False
    links = ("starts", "index", "amount")
    return (
        all(_same(getattr(one.routes, name), getattr(other.routes, name)) for name in _OF_ROUTES)
        and all(_same(getattr(one.operations, name), getattr(other.operations, name)) for name in _OF_STEPS)
        and all(
            _same(getattr(getattr(one.operations, name), part), getattr(getattr(other.operations, name), part))
            for name in _OF_TAKES
            for part in links
        )
    )


def _same(one: Floats | Ints, other: Floats | Ints) -> bool:
    return bool(np.array_equal(one, other, equal_nan=True))


def settled_escapes(
    network: Network, mix: Floats, choice_mix: tuple[tuple[float, ...], ...], keeps: Floats
) -> tuple[Escapes, dict[int, int]]:
    """What escapes in every item, as the journeys find it, and the faults that users of each item look for, as bits."""
    solver = _Solver(network, mix, choice_mix, keeps)
    solver.solve()
    return solver.escapes, solver.observed


class _Solver:
    """Journeys of all routes: the plain ones at once, the others walked one by one."""

    def __init__(
        self,
        network: Network,
        mix: Floats | None,
        choice_mix: tuple[tuple[float, ...], ...] | None,
        keeps: Floats | None,
    ) -> None:
        self.network = network
        n = len(network.operations.ids)
        self.keeps = keeps if keeps is not None else np.ones(n)
        self.runs, self.first, self.takes = np.zeros(n), np.zeros(n), np.zeros(n)
        self.good = np.zeros(len(network.routes.ids))
        self.walked: dict[int, Walked] = {}
        self.escapes = Escapes(network, mix if mix is not None else _declared_mix(network), choice_mix)
        self.observed: dict[int, int] = {}

    def solve(self) -> Journeys:
        """Solve all routes."""
        self._plain()
        branching = self._branching()
        problems = Problems()
        if branching:
            self.observed = looked_for(self.network)
            no_loop = bool((loop_numbers(self.network)[1] < 0).all())
            for _ in range(_ROUNDS):
                before = dict(self.escapes.of_item)
                for route in branching:
                    self._walk(route, problems)
                problems.raise_errors()
                if no_loop or self.escapes.settled(before):
                    break
        return self._gather()

    def _plain(self) -> None:
        """All routes as products of yields, one position of all routes at a time."""
        operations, routes = self.network.operations, self.network.routes
        onward = operations.survives * self.keeps * operations.pieces_out
        self.runs[routes.first] = 1.0
        length = routes.last - routes.first
        for step in range(1, int(length.max(initial=0)) + 1):
            here = routes.first[length >= step] + step
            self.runs[here] = self.runs[here - 1] * onward[here - 1]
        self.first[:] = self.takes[:] = self.runs
        self.good[:] = self.runs[routes.last] * onward[routes.last]

    def _branching(self) -> list[int]:
        """Routes with faults or checks of their own or in what they take; makers before users."""
        network = self.network
        faults = np.diff(network.operations.faults.starts) > 0
        own = set(network.operations.route[faults].tolist())
        own |= {int(network.operations.route[check.operation]) for check in network.inspections}
        if not own:
            return []
        number = {name: k for k, name in enumerate(network.routes.ids)}
        ordered = [number[route.id] for route in routes_in_order(network.plan)]
        dirty = {int(network.routes.item[r]) for r in own}
        while True:  # an item made from a faulty item may be faulty
            more = {r for r in ordered if r not in own and self.escapes.taken.get(r, set()) & dirty}
            if not more:
                return [r for r in ordered if r in own]
            own |= more
            dirty |= {int(network.routes.item[r]) for r in more}

    def _walk(self, route: int, problems: Problems) -> None:
        """Walk one route with the faults that matter, and once more for each fault that matters to nobody later."""
        network, escapes = self.network, self.escapes
        chain = escapes.chain(route, -1, self.keeps)
        downstream = self.observed.get(int(network.routes.item[route]), 0)
        kept = worth_keeping(chain, downstream)
        try:
            walked = self.walked[route] = walk(chain, kept)
            escapes.learn(route, -1, only(walked.finish, downstream))
            finish, ready = only(walked.finish, downstream), beside(chain, walked, kept, downstream)
            for fault in escapes.possible(route):
                bit = 1 << fault
                if downstream & bit:
                    continue
                if kept[-1] & bit:
                    escapes.learn(route, fault, only(walked.finish, downstream | bit))
                    continue
                share = ready.share(bit, escapes.brought(route, fault))
                if share is None:  # it goes with what decides the journey: a walk of its own
                    again = walk(escapes.chain(route, fault, self.keeps), [bits | bit for bits in kept])
                    escapes.learn(route, fault, only(again.finish, downstream | bit))
                elif share > 0:
                    escapes.learn(route, fault, besides_all(finish, bit, share))
        except TooManyStatesError as too_many:
            operation = network.operations.ids[int(network.routes.first[route]) + too_many.position]
            problems.error(
                f"routes.{network.routes.ids[route]}",
                f"a piece on this route can be in more than {MOST_STATES:,} states (passed at {operation})",
                hint="look for faults nearer to where they arise, give those of one kind one name, or lower at_most",
            )

    def _gather(self) -> Journeys:
        """Put the walked routes over the plain ones."""
        network = self.network
        scrap: dict[tuple[int, str], float] = {}
        seconds: dict[tuple[int, int], float] = {}
        reworks: dict[tuple[int, int], float] = {}
        for o in np.flatnonzero((network.operations.survives < 1) | (self.keeps < 1)).tolist():
            if int(network.operations.route[o]) not in self.walked:
                self._plain_losses(o, scrap)
        for route, walked in self.walked.items():
            first = int(network.routes.first[route])
            part = slice(first, int(network.routes.last[route]) + 1)
            self.runs[part], self.first[part], self.takes[part] = walked.runs, walked.first, walked.takes
            self.good[route] = sum(walked.finish.values())
            scrap |= {(first + p, reason): w for (p, reason), w in walked.scrap.items()}
            seconds |= {(first + p, item): w for (p, item), w in walked.seconds.items()}
            reworks |= {(first + p, first + q): w for (p, q), w in walked.reworks.items()}
        return Journeys(
            runs=self.runs,
            first=self.first,
            takes=self.takes,
            good=self.good,
            rolled_yield=self._rolled(),
            scrap=scrap,
            seconds=seconds,
            reworks=reworks,
            escapes=self.escapes.shares(),
            states=sum(walked.states for walked in self.walked.values()),
        )

    def _plain_losses(self, o: int, scrap: dict[tuple[int, str], float]) -> None:
        arriving, survives, keeps = (
            float(self.runs[o]),
            float(self.network.operations.survives[o]),
            float(self.keeps[o]),
        )
        if survives < 1:
            scrap[(o, "yield")] = arriving * (1 - survives)
        if keeps < 1:
            scrap[(o, "start-up")] = arriving * survives * (1 - keeps)

    def _rolled(self) -> Floats:
        """Rolled throughput yield: the product along the route of what each operation lets through right first time."""
        operations, routes = self.network.operations, self.network.routes
        right = operations.survives.copy()
        np.multiply.at(right, owners(operations.faults), 1 - operations.faults.amount)
        for check in self.network.inspections:
            right[check.operation] *= 1 - check.false_alarms / check.one_in
        return np.asarray(np.multiply.reduceat(right, routes.first), dtype=np.float64)


def _declared_mix(network: Network) -> Floats:
    """[n_routes] declared shares; what they leave is shared equally by an item's other routes."""
    share, item = network.routes.share, network.routes.item
    size = len(network.items.ids)
    left = np.clip(1 - summed(item, np.nan_to_num(share), size), 0.0, 1.0)
    others = np.bincount(item, np.isnan(share), size)
    return np.where(np.isnan(share), (left / np.maximum(others, 1))[item], share)
