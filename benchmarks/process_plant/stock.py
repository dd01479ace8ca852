"""What is on hand: parts and their faults, finite stores of them, and work let in while too little is there."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linewright.simulate.kernel import rows as r
from process_plant.columns import moved_items
from process_plant.levels import Moving
from process_plant.things import Piece, Pool, Steps

if TYPE_CHECKING:
    from linewright.simulate.simulate import Prepared
    from process_plant.plant import Plant


@dataclass(frozen=True, slots=True)
class Family:
    """Demanded variants of one item: (item, share), and how many units of all are kept open."""

    variants: list[tuple[int, float]]
    target: float


@dataclass(frozen=True, slots=True)
class Waits:
    """Units that wait for room, and what happens when there is."""

    units: float
    then: Callable[[], None]


class Stock:
    """The items, their room and who waits for it, and the targets of what is made ahead or kept open."""

    def __init__(self, plant: Plant, prepared: Prepared) -> None:
        self.plant, network = plant, plant.network
        m, x = prepared.template.m, prepared.template.x
        rows = [int(m[r.ITEMS]) + k * r.ITEM_WIDTH for k in range(len(network.items.ids))]
        stock = np.nan_to_num(network.items.stock).tolist()
        moving = moved_items(network, plant.tables.flowing)
        self.items = [
            Moving(plant.env, stock[k], k)
            if k in moving and not m[row + r.I_ENDLESS]
            else Pool(stock[k], endless=bool(m[row + r.I_ENDLESS]), item=k)
            for k, row in enumerate(rows)
        ]
        self.flowed = bool(moving)
        self.target = [float(x[row + r.I_TARGET]) for row in rows]
        routes = [int(m[r.ROUTES]) + k * r.ROUTE_WIDTH for k in range(len(network.routes.ids))]
        self.lot = [float(x[row + r.U_RUN]) for row in routes]
        """[n_routes] units that come one after another, once so many are wanted; 0: one by one."""
        self.to_come = [0.0] * len(rows)
        self.to_let_in: set[int] = set()
        """Items of which pieces are let in at this instant."""
        self.made = {
            item: route
            for route, item in enumerate(plant.tables.item)
            if not plant.tables.flowing[plant.tables.first[route]]
        }
        """What is let in piece by piece, by which route; what flows from the beginning is let in by its rates."""
        self.open, self.finished = [0.0] * len(rows), [0.0] * len(rows)
        self.families = self.find_families(prepared)
        self.room = {k: float(network.stores.room[s]) for k, s in enumerate(network.item_store.tolist()) if s >= 0}
        self.waiting: dict[int, deque[Waits]] = {k: deque() for k in self.room}
        """Who waits for room in the store of an item, in order."""
        self.inside = Pool(0.0)
        """Pieces open on all routes."""

    def find_families(self, prepared: Prepared) -> dict[int, Family]:
        """Demanded variants of one item are let in together, in the mix of the demand."""
        network, tables = self.plant.network, self.plant.tables
        groups: dict[int, list[int]] = {}
        for item in np.flatnonzero(network.items.demand > 0).tolist():
            groups.setdefault(item if network.origin is None else int(network.origin.item[item]), []).append(item)
        found: dict[int, Family] = {}
        for group in groups.values():
            if len(group) > 1:
                demand = network.items.demand[group]
                shares = (demand / demand.sum()).tolist()
                units = tables.to_go[tables.first[self.made[group[0]]]]
                family = Family(list(zip(group, shares, strict=True)), units * sum(prepared.targets[k] for k in group))
                found |= dict.fromkeys(group, family)
        return found

    def put(self, pool: Pool, units: float) -> None:
        """Units on hand more or fewer, and whom it concerns."""
        plant = self.plant
        pool.change(units, plant.env.now)
        if units > 0:
            plant.people.look_again(pool)
            for station in pool.stations:
                plant.places.admit(station)
        k = pool.item
        if k >= 0:
            if k in self.room and units < 0:
                self.let_out(k)
            self.let_in(k)

    def let_out(self, item: int) -> None:
        """Room has come: those who wait for it put their units in."""
        waiting = self.waiting[item]
        while waiting and self.has_room(item, waiting[0].units):
            waiting.popleft().then()

    def has_room(self, item: int, units: float) -> bool:
        """Whether so many units more find room."""
        return item not in self.room or self.items[item].free + units <= self.room[item] + 1e-9

    def must_wait(self, item: int, units: float) -> bool:
        """Whether units of a finished piece find no room, or others were there first."""
        return item in self.room and (bool(self.waiting[item]) or not self.has_room(item, units))

    def units_of(self, piece: Piece) -> float:
        """Units of the route's item that a finished piece is."""
        last = self.plant.tables.last[piece.route]
        return self.plant.tables.out[last] * self.plant.tables.size[last]

    def take_lots(self, pool: Pool, units: float) -> int:
        """The oldest units go first; the faults that they bring."""
        faults = 0
        while units > 1e-9 and pool.lots:
            lot = pool.lots[0]
            faults |= int(lot[0])
            taken = min(units, lot[1])
            lot[1] -= taken
            units -= taken
            if lot[1] <= 1e-9:
                pool.lots.popleft()
        return faults

    def let_in(self, item: int) -> None:
        """New pieces while those on hand and in work are fewer than the target, once places just left are filled."""
        if item in self.made and item not in self.to_let_in and self.is_wanted(item):
            self.to_let_in.add(item)
            self.plant.env.process(self.let_in_last(item))

    def let_in_last(self, item: int) -> Steps:
        """At this instant, after those who waited for the places that come free in it."""
        yield self.plant.env.timeout(0)
        self.to_let_in.remove(item)
        while self.let_one_in(item):
            pass

    def let_one_in(self, item: int) -> bool:
        """One more piece if it is wanted; of a family that of the variant furthest behind."""
        if not self.is_wanted(item):
            return False
        family, lot = self.families.get(item), self.lot[self.made[item]]
        if self.to_come[item] <= 1e-9:
            self.to_come[item] = lot
        self.begin(item if family is None else self.furthest_behind(family))
        return True

    def is_wanted(self, item: int) -> bool:
        """Whether one more piece is, or the rest of a lot is still to come."""
        if self.flowed:
            self.plant.flows.book()
        family = self.families.get(item)
        if family is not None:
            wanted = family.target - sum(self.open[k] for k, _ in family.variants)
        else:
            on_hand = 0.0 if self.plant.tables.demanded[item] else self.items[item].free
            wanted = self.target[item] - self.open[item] - on_hand
        return self.to_come[item] > 1e-9 or (wanted > 1e-9 and wanted >= self.lot[self.made[item]] - 1e-9)

    def furthest_behind(self, family: Family) -> int:
        """The variant that is furthest behind its share in what is open and finished."""
        known = [self.open[k] + self.finished[k] for k, _ in family.variants]
        total = sum(known) + 1.0
        behind = [share * total - units for units, (_, share) in zip(known, family.variants, strict=True)]
        return family.variants[behind.index(max(behind))][0]

    def begin(self, item: int) -> None:
        """One more piece, at the first operation of its route."""
        plant, route = self.plant, self.made[item]
        first = plant.tables.first[route]
        self.open[item] += plant.tables.to_go[first]
        self.to_come[item] -= plant.tables.to_go[first]
        self.inside.change(1.0, plant.env.now)
        plant.places.queue(Piece(route, plant.env.now, first))
