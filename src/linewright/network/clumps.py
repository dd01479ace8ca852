"""Faults that come together: in all pieces of one load, or in all that is cut out of one piece.

Units on hand are used oldest first, so units of one load meet in the same users. A kit of 4 panels out of loads of 5
looks at 1.6 loads on average and not at 4. Followed here: how many units in a row carry a fault, from where it is made
to the end of its route, and on through parts into what they go into.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from linewright.network.model import Inspection, Network
from linewright.network.order import routes_in_order


@dataclass(frozen=True, slots=True)
class Clump:
    """How a fault lies in the units of an item, in the order in which they are used.

    ``row`` units in a row carry it wherever it is; units lie in loads of ``load``, and each load has it or has it not.
    ``whole``: no unit is ever lost on the way, so that users that take a whole load take one load.
    """

    row: float
    load: float
    whole: bool

    def met(self, share: float, units: float) -> float:
        """The share of users with the fault, if each takes ``units`` in a row and ``share`` of the units carry it.

        The first unit carries it with chance ``share``. On the way to the last, further loads begin: (units - 1) / load
        of them on average, which is a or a + 1. Each has the fault with chance p = 1 / (1 + row (1 - share) / (share
        load)), so none has it with chance (1 - share) (1 - p)^a (1 - b p), b what is left over of a whole load. Users
        begin anywhere in a load; where no unit is ever lost, at whole multiples of what loads and users have in common
        (the step, else 1). Loads of one unit are units by themselves: 1 - (1 - share)^units.

        >>> round(Clump(5.0, 5.0, False).met(0.1, 4), 12), round(Clump(4.0, 4.0, True).met(0.1, 4), 12)
        (0.154, 0.1)
        >>> round(Clump(1.0, 1.0, False).met(0.1, 2), 12)
        0.19
        """
        if share <= 0.0 or units <= 0.0:
            return 0.0
        if units <= 1.0 or share >= 1.0:
            return min(share, 1.0) * min(units, 1.0)
        spoilt = 1.0 / (1.0 + self.row * (1.0 - share) / (share * self.load))
        over, further = math.modf((units - self._step(units)) / self.load)
        none: float = (1.0 - share) * (1.0 - spoilt) ** further * (1.0 - over * spoilt)
        return 1.0 - none

    def into(self, units: float) -> Clump:
        """How it lies in users that take ``units`` in a row each."""
        if units <= 1.0:
            return Clump(max(self.row * units, 1.0), max(self.load * units, 1.0), False)
        step = self._step(units)
        whole = self.whole and self.load % units == 0
        return Clump(max((self.row + units - step) / units, 1.0), max(self.load / units, 1.0), whole)

    def _step(self, units: float) -> float:
        """What users move on by within loads: 1 where units are lost now and then, else what both have in common."""
        if self.whole and self.load % 1 == 0 and units % 1 == 0:
            return float(math.gcd(int(self.load), int(units)))
        return 1.0


@dataclass(frozen=True, slots=True)
class _Source:
    """A fault on its way along a route: how it lies, and about what share of the pieces carry it."""

    clump: Clump
    share: float


@dataclass(frozen=True, slots=True)
class Clumps:
    """How faults lie: ``of_items`` by (item, fault) in the units of an item, and ``gathered`` by (operation, fault) in
    the pieces of which an operation makes one. Faults that come unit by unit are left out.
    """

    of_items: Mapping[tuple[int, int], Clump]
    gathered: Mapping[tuple[int, int], Clump]


NONE = Clumps({}, {})


def clumps_of(network: Network) -> Clumps:
    """How every fault that comes in clumps lies in every item made, makers before users.

    Of several sources of one fault the mean, weighed by how often each strikes. On routes that feed each other round,
    what comes from later ones is taken unit by unit.
    """
    if not _any(network):
        return NONE
    number = {name: k for k, name in enumerate(network.routes.ids)}
    checks = {check.operation: check for check in network.inspections}
    found: dict[tuple[int, int], _Source] = {}
    makers: dict[tuple[int, int], list[_Source]] = defaultdict(list)
    gathered: dict[tuple[int, int], Clump] = {}
    for route in routes_in_order(network.plan):
        k = number[route.id]
        item = int(network.routes.item[k])
        for fault, sources in _on_route(network, k, checks, found, gathered).items():
            makers[item, fault] += sources
            found[item, fault] = _mean(makers[item, fault])
    of_items = {key: source.clump for key, source in found.items() if source.clump.load > 1.0}
    return Clumps(of_items, {key: clump for key, clump in gathered.items() if clump.load > 1.0})


def _any(network: Network) -> bool:
    """Whether any fault can come to several units at once."""
    p = network.operations
    if not len(p.faults.index):
        return False
    makes = np.diff(p.faults.starts) > 0
    return bool((p.faults_per_load & makes & (p.load_most > 1)).any() or (p.pieces_out > 1).any())


def _on_route(
    network: Network,
    route: int,
    checks: Mapping[int, Inspection],
    made: Mapping[tuple[int, int], _Source],
    gathered: dict[tuple[int, int], Clump],
) -> dict[int, list[_Source]]:
    """The sources of each fault in what leaves a route: those made on it and those that parts bring.

    ``gathered`` is filled in where several pieces become one.
    """
    found: dict[int, list[_Source]] = defaultdict(list)
    out = network.operations.pieces_out
    for o in range(int(network.routes.first[route]), int(network.routes.last[route]) + 1):
        for fault, source in (*_brought(network, o, made), *_made(network, o)):
            found[fault].append(source)
        for fault, sources in found.items():
            left = [_past(network, o, fault, source, checks.get(o)) for source in sources]
            found[fault] = [source for source in left if source.share > 0.0]
            if out[o] != 1.0 and found[fault]:
                if out[o] < 1.0:
                    gathered[o, fault] = _mean(found[fault]).clump
                found[fault] = [_become(source, float(out[o])) for source in found[fault]]
    return {fault: sources for fault, sources in found.items() if sources}


def _made(network: Network, o: int) -> Iterator[tuple[int, _Source]]:
    p = network.operations
    load = float(p.load_most[o]) if p.faults_per_load[o] else 1.0
    for fault, share in zip(*(row.tolist() for row in p.faults.row(o)), strict=True):
        yield fault, _Source(Clump(load, load, True), share)


def _brought(network: Network, o: int, made: Mapping[tuple[int, int], _Source]) -> Iterator[tuple[int, _Source]]:
    """What parts bring: each source as it lies in the pieces that take them."""
    taken = list(zip(*(row.tolist() for row in network.operations.takes.row(o)), strict=True))
    taken += [pair for c in network.choices if c.operation == o for pair in zip(c.items, c.units, strict=True)]
    for item, units in taken:
        for (of, fault), source in made.items():
            if of == item:
                yield fault, _Source(source.clump.into(units), source.clump.met(source.share, units))


def _past(network: Network, o: int, fault: int, source: _Source, check: Inspection | None) -> _Source:
    """A source behind an operation, before pieces become what it gives: some are lost and some are found."""
    p = network.operations
    kept, sound = float(p.survives[o]), float(p.survives[o])
    if check is not None:
        sound *= 1.0 - check.false_alarms / check.one_in
        kept *= 1.0 - dict(zip(check.faults, check.finds, strict=True)).get(fault, 0.0) / check.one_in
    clump = source.clump
    row, load = _left_of(clump.row, kept), clump.load * sound
    whole = clump.whole and kept == sound == 1.0
    return _Source(Clump(max(row, 1.0), max(load, 1.0), whole), source.share * kept / max(sound, 1e-12))


def _become(source: _Source, out: float) -> _Source:
    """A source where a piece becomes several, or several become one."""
    clump = source.clump
    if out > 1.0:
        return _Source(Clump(clump.row * out, clump.load * out, clump.whole), source.share)
    return _Source(clump.into(1.0 / out), clump.met(source.share, 1.0 / out))


def _left_of(row: float, kept: float) -> float:
    """Units of a row that are left on average, where any is: row kept / (1 - (1 - kept)^row)."""
    if kept <= 0.0:
        return 1.0
    return row * kept / -math.expm1(row * math.log1p(-kept)) if kept < 1.0 else row


def _mean(sources: list[_Source]) -> _Source:
    """Several sources as one: as many units, in as many rows."""
    share = sum(s.share for s in sources)
    rows = sum(s.share / s.clump.row for s in sources)
    load = sum(s.share / s.clump.row * s.clump.load for s in sources) / rows
    whole = len(sources) == 1 and sources[0].clump.whole
    return _Source(Clump(share / rows, load, whole), share)
