"""What is on hand: parts and their faults, finite stores of them, and work let in while too little is there."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

import numpy as np

from linewright.simulate.kernel import rows as r
from process_plant.things import Piece, Pool

if TYPE_CHECKING:
    from linewright.simulate.simulate import Prepared
    from process_plant.plant import Plant


class Stock:
    """The items, their room and who waits for it, and the targets of what is made ahead or kept open."""

    def __init__(self, plant: Plant, prepared: Prepared) -> None:
        self.plant, network = plant, plant.network
        m, x = prepared.template.m, prepared.template.x
        rows = [int(m[r.ITEMS]) + k * r.ITEM_WIDTH for k in range(len(network.items.ids))]
        stock = np.nan_to_num(network.items.stock).tolist()
        self.items = [
            Pool(stock[k], endless=bool(m[row + r.I_ENDLESS]), item=k) for k, row in enumerate(rows)
        ]  # fmt: skip
        self.target = [float(x[row + r.I_TARGET]) for row in rows]
        self.made = {item: route for route, item in enumerate(plant.tables.item)}
        self.open = [0.0] * len(rows)
        self.room = {k: float(network.stores.room[s]) for k, s in enumerate(network.item_store.tolist()) if s >= 0}
        self.exits: dict[int, deque[Piece]] = {k: deque() for k in self.room}

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
            if k in self.exits and units < 0:
                while self.exits[k] and pool.free + self.units_of(self.exits[k][0]) <= self.room[k] + 1e-9:
                    plant.journeys.end(self.exits[k].popleft())
            self.let_in(k)

    def finds_no_room(self, piece: Piece, item: int) -> bool:
        """Whether a finished piece must wait in its place for room in the store of its item."""
        if item not in self.exits or self.plant.tables.demanded[item]:
            return False
        return bool(self.exits[item]) or self.items[item].free + self.units_of(piece) > self.room[item] + 1e-9

    def units_of(self, piece: Piece) -> float:
        """Units of the route's item that a finished piece is."""
        return self.plant.tables.out[self.plant.tables.last[piece.route]]

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
        """New pieces while those on hand and in work are fewer than the target."""
        if item not in self.made:
            return
        plant, route = self.plant, self.made[item]
        first = plant.tables.first[route]
        pool = None if plant.tables.demanded[item] else self.items[item]
        while self.target[item] - self.open[item] - (0.0 if pool is None else pool.free) > 1e-9:
            self.open[item] += plant.tables.to_go[first]
            plant.places.queue(Piece(route, plant.env.now, first))
