"""The routes of a plan as legs: work that is done within the day, and vessels that are held for days.

A vessel is entered by a load and left when the visit's own times are over and there is room further on. Everything is
told for one piece started on the route, so that rework and yields are those of the material balance. What fills a feed
that several items can fill is left open: on every day it is what is on hand then.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from linewright.base.calendar import DAY, HOUR
from linewright.capacity.segments import Segments, segments
from linewright.flow.model import Flow
from linewright.network.model import DIRECT, NOWHERE, Cleans, Network, Setups

Pairs = dict[int, float]

_DUST = 1e-12
"""The part of what is used of an item that is rounding, where what fills a choice is taken off."""


@dataclass(slots=True)
class Part:
    """What one piece started does at one end of a leg: items taken and given, place-hours, person-hours.

    ``fills`` is how often it fills each choice of the network, whose items are not among ``takes``.
    ``stations`` is by tuple of alternatives, ``attended`` of it the hours that need a crew by; ``crews`` by crew.
    """

    takes: Pairs = field(default_factory=dict)
    gives: Pairs = field(default_factory=dict)
    fills: Pairs = field(default_factory=dict)
    stations: dict[tuple[int, ...], float] = field(default_factory=dict)
    crews: Pairs = field(default_factory=dict)


@dataclass(slots=True)
class Leg:
    """A stretch of a route. ``enter`` is done when it begins, ``leave`` when it ends (the same day for work alone).

    A vessel has ``stations`` (alternatives), ``lag`` whole days from entering to leaving at the least, and ``load``
    pieces started that fill one place; of vessels with sizes ``per_size`` pieces for each base unit, ``most`` at most.
    ``room`` limits what waits behind it, in pieces started (inf: no limit). All steps of a leg have the same ``hours``:
    what is begun on a day can be done on it all along.
    """

    route: int
    first: int
    last: int
    enter: Part = field(default_factory=Part)
    leave: Part = field(default_factory=Part)
    stations: tuple[int, ...] = ()
    lag: int = 0
    load: float = 1.0
    per_size: float = 0.0
    most: float = 0.0
    room: float = math.inf
    hours: frozenset[bytes] = frozenset()

    @property
    def is_vessel(self) -> bool:
        """Whether it holds a place for days."""
        return self.lag > 0


def legs_of(network: Network, flow: Flow) -> list[Leg]:
    """The legs of every route that is run, in order."""
    parts = segments(network)
    found: list[Leg] = []
    for visit in range(len(network.visits.first)):
        first, last = int(network.visits.first[visit]), int(network.visits.last[visit])
        route = int(network.operations.route[first])
        if flow.started[route] <= 0:
            continue
        before = found[-1] if found and found[-1].route == route else None
        if _days(parts, first, last) > 0:
            found.append(_vessel(network, flow, parts, first, last))
        else:
            hours = _hours(network, first, last)
            if before is None or before.is_vessel or math.isfinite(before.room) or before.hours != hours:
                found.append(Leg(route, first, last, hours=hours))
            found[-1].last = last
            for o in range(first, last + 1):
                _fill(network, flow, parts, o, found[-1].enter)
        if last < int(network.routes.last[route]):
            found[-1].room = _room(network, flow, last)
    return found


def _hours(network: Network, first: int, last: int) -> frozenset[bytes]:
    """When those are there whom the operations of a visit need, and the stations open: what tells legs apart."""
    table, found = network.operations, set()
    for o in range(first, last + 1):
        numbers = network.crews.calendar[table.crews.row(o)[0]].tolist()
        numbers += [c for c in network.stations.calendar[table.stations.row(o)[0]].tolist() if c >= 0]
        for number in numbers:
            calendar = network.calendars[int(number)]
            found.add(calendar.at.tobytes() + (calendar.level > 0).tobytes())
    return frozenset(found)


def _days(parts: Segments, first: int, last: int) -> int:
    """Whole days that a visit takes at the least, from its beginning to its end."""
    return int(float((parts.run + parts.stand)[first : last + 1].sum()) / DAY + 1e-9)


def _vessel(network: Network, flow: Flow, parts: Segments, first: int, last: int) -> Leg:
    """A visit of days: what is done up to its longest stand belongs to entering it, the rest to leaving it."""
    route = int(network.operations.route[first])
    leg = Leg(route, first, last, stations=tuple(network.operations.stations.row(first)[0].tolist()))
    leg.lag = _days(parts, first, last)
    longest = first + int(np.argmax(parts.stand[first : last + 1]))
    for o in range(first, last + 1):
        _fill(network, flow, parts, o, leg.enter if o <= longest else leg.leave)
    table = network.operations
    for o in range(first, last + 1):
        if flow.runs[o] > 0:
            each = float(flow.started[route] / flow.runs[o])
            leg.load = max(leg.load, float(table.load_most[o]) * each)
            leg.per_size = max(leg.per_size, float(table.per_size[o]) * each)
            leg.most = max(leg.most, float(table.size_most[o]) * each if table.per_size[o] > 0 else 0.0)
    return leg


def _room(network: Network, flow: Flow, o: int) -> float:
    """What may wait behind an operation, in pieces started on its route."""
    then = int(network.operations.then_to[o])
    if then == DIRECT:
        return 0.0
    if then == NOWHERE:
        return math.inf
    return float(network.stores.room[then]) * _per_start(flow, network, o)


def _per_start(flow: Flow, network: Network, o: int) -> float:
    """Pieces started for one piece that leaves an operation."""
    route = int(network.operations.route[o])
    out = float(flow.runs[o] * network.operations.pieces_out[o] * network.operations.survives[o])
    return float(flow.started[route]) / out if out > 0 else 1.0


def _fill(network: Network, flow: Flow, parts: Segments, o: int, part: Part) -> None:
    """Add what operation ``o`` takes, gives and needs for one piece started."""
    table, started = network.operations, float(flow.started[network.operations.route[o]])
    runs, cycles = float(flow.runs[o]) / started, float(flow.cycles[o]) / started
    _items(network, flow, o, runs, started, part)
    setups = runs / float(table.setup_every[o]) if table.setup_when[o] == Setups.EVERY else 0.0
    cleans = cycles if table.clean_when[o] == Cleans.LOAD else 0.0
    if table.clean_when[o] == Cleans.EVERY:
        cleans = runs / float(table.clean_every[o])
    setting, cleaning = setups * float(table.setup.mean[o]) / HOUR, cleans * float(table.clean.mean[o]) / HOUR
    stations = tuple(table.stations.row(o)[0].tolist())
    held = cycles * float(parts.run[o] + parts.stand[o]) / HOUR + setting + cleaning
    if stations and held > 0:
        part.stations[stations] = part.stations.get(stations, 0.0) + held
    hands = cycles * float(parts.begin[o] + parts.end[o]) / HOUR if parts.crewed[o] else 0.0
    for links, hours, shared in (
        (table.crews, hands, int(table.tends[o])), (table.setup_crews, setting, 1), (table.clean_crews, cleaning, 1),
    ):  # fmt: skip
        for crew, people in zip(*(a.tolist() for a in links.row(o)), strict=True):
            if hours > 0:
                part.crews[crew] = part.crews.get(crew, 0.0) + hours * people / shared


def _items(network: Network, flow: Flow, o: int, runs: float, started: float, part: Part) -> None:
    """What is taken, by the balance; what is filled; by-products; and the route's own item where the route ends."""
    table, route = network.operations, int(network.operations.route[o])
    chosen = _fills(network, flow, o, started, part)
    here = np.flatnonzero(flow.item_use.index == o)
    items = np.searchsorted(flow.item_use.starts, here, side="right") - 1
    for item, units in zip(items.tolist(), flow.item_use.amount[here].tolist(), strict=True):
        units -= chosen.pop(item, 0.0)
        if units > _DUST * flow.used[item]:
            part.takes[item] = part.takes.get(item, 0.0) + units / started
    given, amounts = table.gives.row(o)
    for item, amount in zip(given.tolist(), amounts.tolist(), strict=True):
        part.gives[item] = part.gives.get(item, 0.0) + amount * runs
    if o == int(network.routes.last[route]):
        item = int(network.routes.item[route])
        part.gives[item] = part.gives.get(item, 0.0) + float(flow.finished[route]) / started


def _fills(network: Network, flow: Flow, o: int, started: float, part: Part) -> Pairs:
    """Add how often an operation fills its choices; gives the units of each item that the balance fills them with."""
    chosen: Pairs = {}
    for k, choice in enumerate(network.choices):
        if choice.operation == o and flow.filled[k] > 0:
            part.fills[k] = part.fills.get(k, 0.0) + float(flow.filled[k]) / started
            for item, units, share in zip(choice.items, choice.units, flow.choice_mix[k], strict=True):
                chosen[item] = chosen.get(item, 0.0) + float(flow.filled[k]) * units * share
    return chosen
