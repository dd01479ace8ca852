"""The way of every fault: what share of the pieces carries it as they leave each operation, up to the customer.

The journeys say only what escapes in the end. Here the same chains are watched at every step. Where a plan has few
faults they are followed together, which also tells the share with any fault; where it has many, one after the other.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from linewright.network.chains import Escapes, worth_keeping
from linewright.network.fold import groups_of
from linewright.network.journeys import settled_escapes
from linewright.network.model import Floats, Network, Reject
from linewright.network.order import routes_in_order
from linewright.network.walk import RouteChain, TooManyStatesError, Walked, walk

TOGETHER = 10
"""Faults that are followed together; 2^10 sets of them."""
_ROUNDS = 200


@dataclass(frozen=True, slots=True)
class Way:
    """``carried`` [n_operations, n_faults]: the share of pieces leaving an operation, all passes together, that carry a
    fault; nothing is counted that the operation's own check rejects. ``any_fault`` [n_operations]: the share that carry
    one or more; nan where the plan has too many faults to follow them together. ``leaving`` [n_operations]: pieces that
    leave, for one started on the route.
    """

    carried: Floats
    any_fault: Floats
    leaving: Floats


@dataclass(slots=True)
class _Walks:
    """Walks done before, by what decides them: the variants of a route are mostly alike."""

    done: dict[Hashable, Walked] = field(default_factory=dict)
    told: dict[int, _Shares] = field(default_factory=dict)

    def walk(self, chain: RouteChain, kept: list[int]) -> Walked:
        """The walk of a chain, watched."""
        key = (_told(chain), tuple(kept))
        if key not in self.done:
            self.done[key] = walk(chain, kept, watch=True)
        return self.done[key]

    def shares(self, walked: Walked, faults: int) -> _Shares:
        """What one of these walks says of all faults together."""
        if id(walked) not in self.told:
            self.told[id(walked)] = _Shares.of(walked, faults)
        return self.told[id(walked)]


def _told(chain: RouteChain) -> Hashable:
    """All of a chain that decides who leaves with which faults, wherever its route lies."""
    checks = tuple(
        (p, c.faults, c.finds, c.false_alarms, c.one_in, *(_reaction(r, chain.first) for r in (*c.rejects, c.other)))
        for p, c in chain.checks.items()
    )
    draws = tuple(map(tuple, chain.draws))
    brings = tuple(None if one is None else tuple(sorted(one.items())) for one in chain.incoming)
    rows = tuple((p, tuple(lies.items())) for p, lies in chain.rows.items())
    return tuple(chain.survives), tuple(chain.keeps), tuple(chain.pieces_out), draws, brings, checks, rows


def _reaction(reject: Reject, first: int) -> Hashable:
    otherwise = _reaction(reject.otherwise, first) if reject.otherwise is not None else None
    return reject.fate, reject.to - first, reject.at_most, reject.takes_again, otherwise


def way_of_faults(
    network: Network, mix: Floats, choice_mix: tuple[tuple[float, ...], ...], keeps: Floats | None = None
) -> Way:
    """Follow every fault with the mix of makers that the balance found; ``keeps`` as for journeys.

    At the last operation of a route ``carried`` is the escape of the journeys. Raises ProblemsError as they do.
    """
    n, faults = len(network.operations.ids), len(network.faults)
    kept = keeps if keeps is not None else np.ones(n)
    found = Way(np.zeros((n, faults)), np.zeros(n), np.zeros(n))
    if not faults:
        return found
    if faults <= TOGETHER:
        try:
            _together(network, Escapes(network, mix, choice_mix), kept, found)
            return found
        except TooManyStatesError:
            found.carried[:], found.any_fault[:], found.leaving[:] = 0.0, 0.0, 0.0
    found.any_fault[:] = np.nan
    _one_by_one(network, mix, choice_mix, kept, found)
    return found


def fold_way(network: Network, way: Way, started: Floats) -> Way:
    """The way by what was written: of all pieces that leave an operation as written, whatever their variant.

    ``started`` [n_routes] pieces of each variant. Itself where the plan has no options.
    """
    origin = network.origin
    if origin is None:
        return way
    leaves = way.leaving * started[network.operations.route]
    operations = groups_of(origin.operation, len(origin.operations), leaves)
    carried = np.array([operations.mean(way.carried[:, f]) for f in range(way.carried.shape[1])])
    n, faults = len(origin.operations), way.carried.shape[1]
    return Way(carried.T.reshape(n, faults), operations.mean(way.any_fault), operations.total(leaves))


def _together(network: Network, escapes: Escapes, keeps: Floats, found: Way) -> None:
    """All faults at once, every one of them remembered to the end; again where routes feed each other round."""
    walks = _Walks()
    number = {name: k for k, name in enumerate(network.routes.ids)}
    order = [number[route.id] for route in routes_in_order(network.plan)]
    every = (1 << len(network.faults)) - 1
    for _ in range(_ROUNDS):
        before = dict(escapes.of_item)
        for route in order:
            if not escapes.possible(route):
                continue
            chain = escapes.chain(route, -1, keeps)
            walked = walks.walk(chain, [every] * len(chain.survives))
            escapes.learn(route, -1, walked.finish)
            _note(network, route, walks.shares(walked, len(network.faults)), found)
        if escapes.settled(before):
            return


def _one_by_one(
    network: Network, mix: Floats, choice_mix: tuple[tuple[float, ...], ...], keeps: Floats, found: Way
) -> None:
    """Each fault on a walk of its own beside those that are looked for, as the journeys see it."""
    walks = _Walks()
    escapes, observed = settled_escapes(network, mix, choice_mix, keeps)
    for route in range(len(network.routes.ids)):
        downstream = observed.get(int(network.routes.item[route]), 0)
        for fault in escapes.possible(route):
            chain, bit = escapes.chain(route, fault, keeps), 1 << fault
            remembered = [bits | bit for bits in worth_keeping(chain, downstream)]
            _note_one(network, route, walks.walk(chain, remembered), found, fault)


def _note(network: Network, route: int, shares: _Shares, found: Way) -> None:
    """Write down who leaves each position of a route."""
    part = slice(int(network.routes.first[route]), int(network.routes.last[route]) + 1)
    found.leaving[part], found.carried[part], found.any_fault[part] = shares.leaving, shares.carried, shares.any_fault


def _note_one(network: Network, route: int, walked: Walked, found: Way, fault: int) -> None:
    """Write down who leaves each position of a route with the one fault that was followed."""
    assert walked.leaving is not None
    first = int(network.routes.first[route])
    for o, masks in enumerate(walked.leaving, first):
        found.leaving[o] = total = sum(masks.values())
        if total > 0:
            found.carried[o, fault] = sum(weight for mask, weight in masks.items() if mask >> fault & 1) / total


class _Shares(NamedTuple):
    """As a ``Way``, for the positions of one route [n_positions] and all faults together."""

    leaving: Floats
    carried: Floats
    any_fault: Floats

    @classmethod
    def of(cls, walked: Walked, faults: int) -> _Shares:
        """Of a walk that was watched."""
        assert walked.leaving is not None
        n = len(walked.leaving)
        found = cls(np.zeros(n), np.zeros((n, faults)), np.zeros(n))
        for position, masks in enumerate(walked.leaving):
            found.leaving[position] = total = sum(masks.values())
            if total <= 0:
                continue
            sets, weights = np.array(list(masks), dtype=np.int64), np.array(list(masks.values())) / total
            found.carried[position] = weights @ (sets[:, None] >> np.arange(faults) & 1)
            found.any_fault[position] = 1.0 - masks.get(0, 0.0) / total
        return found
