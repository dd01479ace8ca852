"""What a piece through a flow changes: levels, room, what is still wanted; and how far each is from its bound."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linewright.network import Network
from process_plant.levels import Buffer
from process_plant.runners import Runner

if TYPE_CHECKING:
    from process_plant.plant import Plant

HAND, ROOM, BUFFER, WANTED, OPEN, DONE = "on hand", "room", "buffer", "wanted", "open", "done"
"""Units of an item on hand, room for them, pieces between two operations, units still to be let in: these bound flows.
Units in work, and made for the demand, only move.
"""
BOUNDS = (HAND, ROOM, BUFFER, WANTED)
ROUNDING_S = 2e-6
"""s: a bound holds where its slack is used up in less than this at the fastest."""
Key = tuple[str, int]
Column = dict[Key, float]
"""Change by a piece."""


@dataclass(frozen=True, slots=True)
class Changes:
    """By a piece that goes in, that comes out well, that a start-up spoils; by option of each feed that fills it."""

    goes_in: Column
    well: Column
    spoiled: Column
    options: list[list[Column]]


class Columns:
    """The changes of every runner, and the slack of every bound."""

    def __init__(self, plant: Plant, runners: list[Runner], buffers: dict[int, Buffer]) -> None:
        self.tables, self.stock, self.buffers = plant.tables, plant.stock, buffers
        self.of = [self.changes(runner) for runner in runners]
        self.gross: dict[Key, float] = {}
        """The most by which each can change a s."""
        for runner, one in zip(runners, self.of, strict=True):
            for column in (one.goes_in, one.well, one.spoiled, *(option for feed in one.options for option in feed)):
                for key, change in column.items():
                    self.gross[key] = self.gross.get(key, 0.0) + abs(change) * runner.cap
        self.bounds = [key for key in self.gross if key[0] in BOUNDS]

    def changes(self, runner: Runner) -> Changes:
        tables, o = self.tables, runner.o
        item, good = tables.item[tables.route[o]], tables.survives[o] * tables.out[o]
        lost = (1.0 - tables.survives[o]) * tables.to_go[o]
        goes_in: Column = {}
        self.open(goes_in, item, (tables.to_go[o] if runner.source is None else 0.0) - lost)
        for taken, units in tables.takes[o]:
            self.put(goes_in, taken, -units)
        for given, units in tables.gives[o]:
            self.put(goes_in, given, units)
        if runner.source is not None:
            goes_in[BUFFER, o] = -1.0
        well: Column = {}
        if runner.sink is not None:
            well[BUFFER, o + 1] = good
        else:
            self.open(well, item, -good)
            if tables.demanded[item]:
                well[DONE, item] = good
            else:
                self.put(well, item, good)
        spoiled: Column = {}
        self.open(spoiled, item, -tables.survives[o] * tables.to_go[o])
        options: list[list[Column]] = []
        for feed in runner.feeds:
            options.append([{} for _ in feed.items])
            for column, taken, units in zip(options[-1], feed.items, feed.units, strict=True):
                self.put(column, taken, -units)
        return Changes(goes_in, well, spoiled, options)

    def open(self, column: Column, item: int, units: float) -> None:
        """Units of an item more in work: so many less are wanted."""
        add(column, (OPEN, item), units)
        if self.is_paced(item):
            add(column, (WANTED, item), -units)

    def put(self, column: Column, item: int, units: float) -> None:
        """Units of an item more on hand: less room, and so many less are wanted."""
        if self.stock.items[item].endless:
            return
        add(column, (HAND, item), units)
        if item in self.stock.room:
            add(column, (ROOM, item), -units)
        if self.is_paced(item) and not self.tables.demanded[item]:
            add(column, (WANTED, item), -units)

    def is_paced(self, item: int) -> bool:
        """Whether a flow begins the route of an item, so that what is wanted of it bounds that flow."""
        first = self.tables.first_of.get(item)
        return first is not None and self.tables.flowing[first]

    def slack(self, key: Key) -> float:
        """How far a bound is from holding."""
        kind, of = key
        if kind == HAND:
            return self.stock.items[of].free
        if kind == ROOM:
            return self.stock.room[of] - self.stock.items[of].free
        if kind == BUFFER:
            return self.buffers[of].level
        on_hand = 0.0 if self.tables.demanded[of] else self.stock.items[of].free
        return self.stock.target[of] - self.stock.open[of] - on_hand

    def holds(self, key: Key) -> bool:
        """Whether the slack is used up, but for rounding."""
        return self.slack(key) <= ROUNDING_S * self.gross[key] + 1e-9


def add(column: Column, key: Key, change: float) -> None:
    """A change more."""
    if change:
        column[key] = column.get(key, 0.0) + change


def sum_of(one: Column, other: Column, times: float = 1.0) -> Column:
    """Both changes together, the other so many times."""
    found = dict(one)
    for key, change in other.items():
        add(found, key, times * change)
    return found


def moved_items(network: Network, flowing: list[bool]) -> set[int]:
    """Items that flows take or make."""
    p = network.operations
    found: set[int] = set()
    for o in np.flatnonzero(flowing).tolist():
        found |= {int(i) for links in (p.takes, p.gives) for i in links.row(o)[0]}
        if o in network.routes.last:
            found.add(int(network.routes.item[p.route[o]]))
    return found | {i for c in network.choices if flowing[c.operation] for i in c.items}
