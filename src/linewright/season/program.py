"""The season as one linear program over its days: what comes in, what stands in tanks, what spoils, what is finished.

Everything flows: loads are full, work of a day is done on that day, a vessel is held from the day it is entered to the
day it is left, and counts at each midnight between. Harder rules only take away, so the most that the program finishes
is the most that the season can.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linewright.base.calendar import DAY
from linewright.flow.model import Flow
from linewright.network.model import Floats, Network
from linewright.season.hours import crew_days, station_days
from linewright.season.idle import with_idle_routes
from linewright.season.legs import Leg, Part, legs_of
from linewright.season.standing import standing
from linewright.season.vessels import Pool, Vessel, pools_of, vessels_of

KEPT = "kept"


@dataclass(slots=True)
class Rows:
    """Rows of a sparse matrix as they grow: ``right`` and what each row stands for."""

    row: list[int] = field(default_factory=list)
    column: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)
    right: list[float] = field(default_factory=list)
    name: list[tuple[str, str]] = field(default_factory=list)

    def add(self, entries: list[tuple[int, float]], right: float, name: tuple[str, str] = ("", "")) -> None:
        """One row."""
        at = len(self.right)
        for column, value in entries:
            self.row.append(at)
            self.column.append(column)
            self.value.append(value)
        self.right.append(right)
        self.name.append(name)

    def matrix(self, width: int) -> Any:
        """The rows as a sparse matrix."""
        from scipy.sparse import coo_array

        return coo_array((self.value, (self.row, self.column)), shape=(len(self.right), width)).tocsr()


@dataclass(slots=True)
class Program:
    """Columns by what they are: each series is ``days`` columns from its base. ``most`` are their upper bounds.

    ``fills`` of a choice are by item, how often it is filled with it. ``enter``, ``leave`` and ``content`` are by leg
    and pool of vessels; ``pool_rows[q]`` are the rows of ``less`` whose right side is what the vessels of pool ``q``
    hold, in vessels of its first size.
    """

    network: Network
    legs: list[Leg]
    vessels: list[Vessel]
    pools: list[Pool]
    days: int
    work: dict[int, int] = field(default_factory=dict)
    fills: dict[int, dict[int, int]] = field(default_factory=dict)
    enter: dict[tuple[int, int], int] = field(default_factory=dict)
    leave: dict[tuple[int, int], int] = field(default_factory=dict)
    content: dict[tuple[int, int], int] = field(default_factory=dict)
    buffer: dict[int, int] = field(default_factory=dict)
    stock: dict[int, int] = field(default_factory=dict)
    spoiled: dict[int, int] = field(default_factory=dict)
    most: list[float] = field(default_factory=list)
    named: list[tuple[str, str]] = field(default_factory=list)
    pool_rows: list[list[int]] = field(default_factory=list)
    equal: Rows = field(default_factory=Rows)
    less: Rows = field(default_factory=Rows)
    _made: tuple[Any, Any] | None = None

    def series(self, most: float = math.inf, name: tuple[str, str] = ("", "")) -> int:
        """One column a day; the first of them."""
        base = len(self.most)
        self.most += [most] * self.days
        self.named += [name] * self.days
        return base

    def matrices(self) -> tuple[Any, Any]:
        """The rows of ``less`` and ``equal``, made once."""
        if self._made is None:
            width = len(self.most)
            self._made = (self.less.matrix(width), self.equal.matrix(width))
        return self._made

    def through(self, leg: int, leaving: bool) -> list[int]:
        """The series whose sum enters (or leaves) a leg."""
        if not self.legs[leg].is_vessel:
            return [self.work[leg]]
        table = self.leave if leaving else self.enter
        return [base for (one, _), base in table.items() if one == leg]


def build(network: Network, flow: Flow, wanted: Floats) -> Program:
    """The program of a season; ``wanted`` [n_items] limits what is finished (inf: as much as can be)."""
    flow = with_idle_routes(network, flow)
    legs = legs_of(network, flow)
    season = network.season
    assert season is not None
    vessels = vessels_of(network, legs)
    program = Program(network, legs, vessels, pools_of(vessels), season.days)
    _columns(program, flow, wanted)
    _vessels(program)
    _between(program)
    _fillings(program)
    _items(program)
    _resources(program)
    if network.plan.makes is not None:
        _mix(program)
    return program


def _columns(p: Program, flow: Flow, wanted: Floats) -> None:
    network = p.network
    for k, leg in enumerate(p.legs):
        if not leg.is_vessel:
            p.work[k] = p.series()
    for q, pool in enumerate(p.pools):
        for k in pool.legs:
            p.enter[k, q], p.leave[k, q], p.content[k, q] = p.series(), p.series(), p.series()
    for k, leg in enumerate(p.legs[:-1]):
        if p.legs[k + 1].route == leg.route:
            room = leg.room + (standing(network, flow, leg) if 0 < leg.room < math.inf and not leg.is_vessel else 0.0)
            p.buffer[k] = p.series(room, ("store", network.operations.ids[leg.last]))
    for item in tracked(network, p.legs):
        store = int(network.item_store[item])
        room = math.inf
        if store >= 0 and not network.items.demand[item] > 0:
            room = float(network.stores.room[store]) + _standing_before(p, flow, item)
        p.stock[item] = p.series(room, ("store", network.stores.ids[store] if store >= 0 else ""))
        if keeps_of(network, item) > 0:
            p.spoiled[item] = p.series()
        if np.isfinite(wanted[item]):
            p.most[p.stock[item] + p.days - 1] = float(wanted[item])
    endless = np.isfinite(network.items.buy) | network.items.free
    for k in sorted({k for leg in p.legs for part in (leg.enter, leg.leave) for k in part.fills}):
        there = [i for i in dict.fromkeys(network.choices[k].items) if i in p.stock or endless[i]]
        p.fills[k] = {item: p.series() for item in there}


def _standing_before(p: Program, flow: Flow, item: int) -> float:
    """Units of an item that stand in the places that made them, for want of room in its store."""
    total = 0.0
    for leg in p.legs:
        units = leg.enter.gives.get(item, 0.0)
        if units > 0 and not leg.is_vessel:
            total += units * standing(p.network, flow, leg)
    return total


def tracked(network: Network, legs: list[Leg]) -> list[int]:
    """Items whose stock is followed: what comes in season, and what is made here and taken or wanted."""
    season = network.season
    assert season is not None
    taken = {i for leg in legs for part in (leg.enter, leg.leave) for i in part.takes}
    taken |= {
        i for leg in legs for part in (leg.enter, leg.leave) for k in part.fills for i in network.choices[k].items
    }
    given = {i for leg in legs for part in (leg.enter, leg.leave) for i in part.gives}
    came = set(season.intake_item.tolist())
    wanted = set(np.flatnonzero(network.items.demand > 0).tolist())
    endless = set(np.flatnonzero(np.isfinite(network.items.buy) | network.items.free).tolist()) - came
    return sorted((came & taken) | ((given & (taken | wanted)) - endless) | (wanted & given))


def keeps_of(network: Network, item: int) -> int:
    """Days on which a unit can be used, that of its coming included; 0 where it keeps for ever.

    What is delivered is there from midnight; what is made may be made late in the day, so that it has one day more.
    """
    ns, season = int(network.items.keeps[item]), network.season
    assert season is not None
    if ns <= 0:
        return 0
    return -(-ns // DAY) if item in season.intake_item else ns // DAY + 1


def _vessels(p: Program) -> None:
    """What is in the vessels, and what of it is ripe to leave; no more loads than vessels at any midnight."""
    for (k, q), content in p.content.items():
        enter, leave, lag, ripe = p.enter[k, q], p.leave[k, q], p.legs[k].lag, p.series()
        for t in range(p.days):
            before = [(content + t - 1, -1.0)] if t else []
            p.equal.add([(content + t, 1.0), (enter + t, -1.0), (leave + t, 1.0), *before], 0.0)
            before = [(ripe + t - 1, -1.0)] if t else []
            grown = [(enter + t - lag, -1.0)] if t >= lag else []
            p.equal.add([(ripe + t, 1.0), (leave + t, 1.0), *before, *grown], 0.0)
    planned = tuple(float(vessel.count) for vessel in p.vessels)
    for q, pool in enumerate(p.pools):
        p.pool_rows.append(list(range(len(p.less.right), len(p.less.right) + p.days)))
        for t in range(p.days):
            entries = [(p.content[k, q] + t, 1.0 / load) for k, load in zip(pool.legs, pool.loads, strict=True)]
            p.less.add(entries, pool.holds(planned), ("station", pool.name))


def _between(p: Program) -> None:
    """What waits between two legs of a route."""
    for k, buffer in p.buffer.items():
        for t in range(p.days):
            entries = [(buffer + t, 1.0)] + ([(buffer + t - 1, -1.0)] if t else [])
            entries += [(base + t, -1.0) for base in p.through(k, True)]
            entries += [(base + t, 1.0) for base in p.through(k + 1, False)]
            p.equal.add(entries, 0.0)


def _mix(p: Program) -> None:
    """Where the harvest says how much is made of one item, its variants are finished in their mix."""
    demand = p.network.items.demand
    first, *others = np.flatnonzero(demand > 0).tolist()
    for item in others:
        ends = [(p.stock[i] + p.days - 1, part) for i, part in ((item, 1.0), (first, -demand[item] / demand[first]))]
        p.equal.add(ends, 0.0)


def _parts(p: Program) -> list[tuple[Part, list[int]]]:
    """Every part with the series that do it."""
    found = []
    for k, leg in enumerate(p.legs):
        found.append((leg.enter, p.through(k, False)))
        if leg.is_vessel:
            found.append((leg.leave, p.through(k, True)))
    return found


def _fillings(p: Program) -> None:
    """What fills a choice on a day adds up to how often it is filled: with any item of it that is on hand then."""
    parts = _parts(p)
    for k, fills in p.fills.items():
        filling = [(b, part.fills[k]) for part, bases in parts if k in part.fills for b in bases]
        for t in range(p.days):
            p.equal.add([(fill + t, 1.0) for fill in fills.values()] + [(b + t, -n) for b, n in filling], 0.0)


def _items(p: Program) -> None:
    """Stock of every item that is followed, and what of it is too old."""
    season = p.network.season
    assert season is not None
    arrivals = season.arrivals(len(p.network.items.ids))
    parts = _parts(p)
    for item, stock in p.stock.items():
        keeps = keeps_of(p.network, item) if item in p.spoiled else 0
        making = [(b, amount) for part, bases in parts if (amount := part.gives.get(item, 0.0)) for b in bases]
        using = [(b, amount) for part, bases in parts if (amount := part.takes.get(item, 0.0)) for b in bases]
        for k, fills in p.fills.items():
            choice = p.network.choices[k]
            using += [(fills[i], units) for i, units in zip(choice.items, choice.units, strict=True) if i == item]
        for t in range(p.days):
            entries = [(stock + t, 1.0)] + ([(stock + t - 1, -1.0)] if t else [])
            entries += [(b + t, -amount) for b, amount in making] + [(b + t, amount) for b, amount in using]
            if keeps:
                entries.append((p.spoiled[item] + t, 1.0))
                young = [(b + s, -a) for b, a in making for s in range(max(t - keeps + 1, 0), t + 1)]
                fresh = float(arrivals[max(t - keeps + 1, 0) : t + 1, item].sum())
                p.less.add([(stock + t, 1.0), *young], fresh)
            p.equal.add(entries, float(arrivals[t, item]), ("harvest", p.network.items.ids[item]))


def _resources(p: Program) -> None:
    """Hours of crews and of the stations at which work is done within the day."""
    parts = _parts(p)
    for crew, hours in enumerate(crew_days(p.network)):
        users = [(b, part.crews[crew]) for part, bases in parts if crew in part.crews for b in bases]
        _limit(p, users, hours, ("crew", p.network.crews.ids[crew]))
    for stations, hours in station_days(p.network, p.legs).items():
        users = [
            (b, h)
            for k, leg in enumerate(p.legs)
            if not leg.is_vessel
            for alternatives, h in leg.enter.stations.items()
            if alternatives[0] in stations
            for b in p.through(k, False)
        ]
        names = ", ".join(p.network.stations.ids[s] for s in stations)
        _limit(p, users, hours, ("station", names))


def _limit(p: Program, users: list[tuple[int, float]], hours: Floats, name: tuple[str, str]) -> None:
    if users:
        for t in range(p.days):
            p.less.add([(b + t, need) for b, need in users], float(hours[t]), name)
