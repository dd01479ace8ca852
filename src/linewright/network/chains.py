"""The chain of each route made ready for its walk: faults made here, and faults that arrive in what is taken."""

from __future__ import annotations

import functools
import operator
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

import numpy as np

from linewright.network.beside import only
from linewright.network.clumps import NONE, Clumps, clumps_of
from linewright.network.escapes import NO_FAULTS, Distribution, bits_of, same, several, weighted
from linewright.network.model import Choice, Floats, Inspection, Network
from linewright.network.rows import owners
from linewright.network.walk import RouteChain

_SETTLED = 1e-14


@dataclass(slots=True)
class Escapes:
    """What escapes in every item as known so far, by (item, fault asked for besides those looked for later, or -1).

    ``mix`` and ``choice_mix`` weigh several makers and the items of a choice.
    """

    network: Network
    mix: Floats
    choice_mix: tuple[tuple[float, ...], ...] | None
    of_item: dict[tuple[int, int], Distribution] = field(default_factory=dict)
    of_route: dict[tuple[int, int], Distribution] = field(default_factory=dict)
    makers: dict[int, list[int]] = field(default_factory=dict)
    checks: dict[int, Inspection] = field(default_factory=dict)
    choices: dict[int, list[tuple[int, Choice]]] = field(default_factory=dict)
    taken: dict[int, set[int]] = field(default_factory=dict)
    taken_at: dict[tuple[int, int], list[int]] = field(default_factory=dict)
    carried: dict[int, set[int]] = field(default_factory=dict)
    clumps: Clumps = NONE
    known: dict[Hashable, Distribution] = field(default_factory=dict)

    def __post_init__(self) -> None:
        network = self.network
        for route, item in enumerate(network.routes.item.tolist()):
            self.makers.setdefault(item, []).append(route)
        self.checks = {check.operation: check for check in network.inspections}
        for k, choice in enumerate(network.choices):
            self.choices.setdefault(choice.operation, []).append((k, choice))
        self.taken_at = taken_at(network)
        self.clumps = clumps_of(network)
        for route, item in self.taken_at:
            self.taken.setdefault(route, set()).add(item)

    def chain(self, route: int, besides: int, keeps: Floats) -> RouteChain:
        """The chain of a route, with the faults that are looked for later and fault ``besides`` in what it takes."""
        operations, routes = self.network.operations, self.network.routes
        first, last = int(routes.first[route]), int(routes.last[route])
        part, positions = slice(first, last + 1), range(first, last + 1)
        draws = []
        for o in positions:
            index, probability = operations.faults.row(o)
            draws.append([(1 << f, p) for f, p in zip(index.tolist(), probability.tolist(), strict=True)])
        return RouteChain(
            survives=operations.survives[part].tolist(),
            keeps=keeps[part].tolist(),
            pieces_out=operations.pieces_out[part].tolist(),
            draws=draws,
            incoming=[self._incoming(o, besides) for o in positions],
            checks={o - first: self.checks[o] for o in positions if o in self.checks},
            first=first,
            fault_names=self.network.faults,
            rows={
                o - first: {f: clump for (at, f), clump in self.clumps.gathered.items() if at == o}
                for o in positions
                if operations.pieces_out[o] < 1
            },
        )

    def _incoming(self, operation: int, besides: int) -> Distribution | None:
        """Faults in everything taken at an operation, as one distribution; None where nothing faulty is taken."""
        index, units = self.network.operations.takes.row(operation)
        found: Distribution | None = None
        for item, amount in zip(index.tolist(), units.tolist(), strict=True):
            escaping = self._of_unit(item, besides)
            if escaping is not None:
                found = self._several(item, escaping, amount, found)
        for k, choice in self.choices.get(operation, ()):
            found = self._incoming_choice(k, choice, besides, found)
        return found

    def _incoming_choice(self, k: int, choice: Choice, besides: int, found: Distribution | None) -> Distribution | None:
        parts = [self._of_unit(item, besides) for item in choice.items]
        if all(part is None for part in parts):
            return found
        weights = self.choice_mix[k] if self.choice_mix is not None else choice.shares
        if not np.isfinite(weights).all() or sum(weights) <= 0:
            weights = (1.0,) * len(choice.items)
        filled = [
            self._several(item, part, units, None) if part is not None else NO_FAULTS
            for item, part, units in zip(choice.items, parts, choice.units, strict=True)
        ]
        return several(weighted(filled, list(weights)), 1.0, found)

    def _several(self, item: int, one: Distribution, units: float, others: Distribution | None) -> Distribution:
        """The faults of so many units in a row: those of a load together, all others unit by unit."""
        inside = bits_of(functools.reduce(operator.or_, one, 0))
        clumped = {f: self.clumps.of_items[item, f] for f in inside if (item, f) in self.clumps.of_items}
        if not clumped:
            key = (frozenset(one.items()), units, None if others is None else frozenset(others.items()))
            if key not in self.known:  # variants mostly take what differs in nothing
                self.known[key] = several(one, units, others)
            return self.known[key]
        found = several(only(one, ~sum(1 << f for f in clumped)), units, others)
        for fault, clump in clumped.items():
            share = clump.met(sum(p for mask, p in one.items() if mask >> fault & 1), units)
            found = several({0: 1.0 - share, 1 << fault: share}, 1.0, found)
        return found

    def _of_unit(self, item: int, besides: int) -> Distribution | None:
        """Faults of one unit of an item as it leaves its makers; None where it is always good."""
        asked = self.of_item.get((item, besides)) or self.of_item.get((item, -1))
        return asked if asked is not None and (len(asked) > 1 or 0 not in asked) else None

    def learn(self, route: int, besides: int, finish: Mapping[int, float]) -> None:
        """Remember with what faults units leave a route, weighed with the other makers of its item."""
        total = sum(finish.values())
        mine = {mask: weight / total for mask, weight in finish.items() if weight > 0} if total > 0 else NO_FAULTS
        item = int(self.network.routes.item[route])
        carried = self.carried.setdefault(item, set())
        for mask in mine:
            carried |= bits_of(mask) if besides < 0 else {besides}
        self.of_route[(route, besides)] = mine
        makers = self.makers[item]
        weights = [float(self.mix[r]) for r in makers]
        if sum(weights) <= 0:
            weights = [1.0] * len(makers)
        parts = [self.of_route.get((r, besides)) or self.of_route.get((r, -1)) or NO_FAULTS for r in makers]
        self.of_item[(item, besides)] = weighted(parts, weights) if len(makers) > 1 else mine

    def possible(self, route: int) -> list[int]:
        """Faults that a finished piece of a route can carry, made there or brought along."""
        operations, routes = self.network.operations, self.network.routes
        starts = operations.faults.starts
        part = slice(int(starts[routes.first[route]]), int(starts[routes.last[route] + 1]))
        found = set(operations.faults.index[part].tolist())
        for item in self.taken.get(route, ()):
            found |= self.carried.get(item, set())
        return sorted(found)

    def brought(self, route: int, fault: int) -> dict[int, Distribution]:
        """Positions of a route where parts bring a fault, with the distribution of what they bring."""
        first = int(self.network.routes.first[route])
        operations = {
            o
            for item in self.taken.get(route, ())
            if fault in self.carried.get(item, ())
            for o in self.taken_at[(route, item)]
        }
        found = {o - first: self._incoming(o, fault) for o in sorted(operations)}
        return {position: brings for position, brings in found.items() if brings is not None}

    def settled(self, before: dict[tuple[int, int], Distribution]) -> bool:
        """Whether nothing has changed since ``before``."""
        return before.keys() == self.of_item.keys() and all(
            same(before[key], self.of_item[key], _SETTLED) for key in before
        )

    def shares(self) -> dict[tuple[int, int], float]:
        """The share of units of each item that carry each fault."""
        shares: dict[tuple[int, int], float] = {}
        for (item, besides), distribution in self.of_item.items():
            together = 0
            for mask in distribution:
                together |= mask
            for fault in bits_of(together) if besides < 0 else (besides,):
                share = sum(p for mask, p in distribution.items() if mask >> fault & 1)
                if share > 0:
                    shares[(item, fault)] = share
        return dict(sorted(shares.items()))


def taken_at(network: Network) -> dict[tuple[int, int], list[int]]:
    """(route, item) to the operations that take the item, choices included."""
    operations = network.operations
    found: dict[tuple[int, int], list[int]] = {}
    owner = owners(operations.takes)
    for o, route, item in zip(
        owner.tolist(), operations.route[owner].tolist(), operations.takes.index.tolist(), strict=True
    ):
        found.setdefault((route, item), []).append(o)
    for choice in network.choices:
        for item in choice.items:
            found.setdefault((int(operations.route[choice.operation]), item), []).append(choice.operation)
    return found


def worth_keeping(chain: RouteChain, downstream: int) -> list[int]:
    """By position, the bits of faults that a check from this stretch on, or somebody downstream, looks for."""
    kept = [0] * len(chain.survives)
    bits = downstream
    for begin, end in reversed(chain.stretches()):
        for position in range(begin, end + 1):
            if position in chain.checks:
                check = chain.checks[position]
                for fault, share in zip(check.faults, check.finds, strict=True):
                    bits |= 1 << fault if share > 0 else 0
        kept[begin : end + 1] = [bits] * (end + 1 - begin)
    return kept
