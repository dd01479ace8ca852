"""What becomes of a piece: yield, faults, checks, rework, scrap, seconds, and its end as a unit on hand or made."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from linewright.network.model import Fate, Inspection, Reject
from process_plant.stock import Waits
from process_plant.things import NOT_AGAIN, Piece, Place

if TYPE_CHECKING:
    from process_plant.plant import Plant

GRAVEST = {Fate.SCRAP: 0, Fate.SECONDS: 1, Fate.REWORK: 2}


class Journeys:
    """The end of an operation for each piece, and what was made."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.tables, self.random = plant, plant.tables, plant.luck.random
        self.finished, self.scrapped = 0.0, 0
        self.times: list[float] = []
        self.checked: dict[int, int] = {}
        """Pieces that have come by each check that looks at one in so many."""

    def conclude(self, place: Place, piece: Piece, drawn: list[bool] | None) -> None:
        """After an operation: lost, faulty, checked, then on; ``drawn`` are the faults of a load as a whole."""
        plant, tables, luck, o = self.plant, self.tables, self.random, piece.op
        if tables.gives[o] and plant.work.fresh([piece]):  # by-products leave once, with what they come out of
            stock = plant.stock
            full = next((i for i, units in tables.gives[o] if not stock.has_room(i, units)), None)
            if full is not None:
                piece.leave = lambda: None
                units = dict(tables.gives[o])[full]
                stock.waiting[full].append(Waits(units, lambda: self.resume(place, piece, drawn)))
                return
            for item, units in tables.gives[o]:
                stock.put(stock.items[item], units)
        if tables.survives[o] < 1 and luck() >= tables.survives[o]:
            self.lose(place, piece, o)
            return
        if place.due_scrap >= 1.0 and tables.start_when[o]:
            place.due_scrap -= 1.0
            self.lose(place, piece, o)
            return
        for k, (fault, share) in enumerate(tables.faults[o]):
            if (luck() < share) if drawn is None else drawn[k]:
                piece.faults |= 1 << fault
        check = tables.checks.get(o)
        if check is not None and self.is_looked_at(piece, check):
            found = [
                self.in_force(piece, o, reject)
                for fault, finds, reject in zip(check.faults, check.finds, check.rejects, strict=True)
                if piece.faults >> fault & 1 and luck() < finds
            ]
            if not found and luck() < check.false_alarms:
                found = [self.in_force(piece, o, check.other)]
            if found:
                self.react(place, piece, o, min(found, key=lambda one: (GRAVEST[one.fate], one.to)))
                return
        if piece.rides:
            plant.carriers.get_off(piece, plant.carriers.leaves[o])
        if tables.position[o] >= piece.reach:
            piece.reach, piece.again = -1, NOT_AGAIN
        if o in tables.ends:
            self.go_out(place, piece)
            return
        self.go_on(place, piece, o)

    def resume(self, place: Place, piece: Piece, drawn: list[bool] | None) -> None:
        """There is room for the by-products of a piece: it goes on from where it waits, in its place."""
        piece.leave = None
        self.conclude(place, piece, drawn)
        if place.process is None and any(other.leave is None for other in place.here):
            place.process = self.plant.env.process(self.plant.work.work(place, self.tables.queue[piece.op]))

    def is_looked_at(self, piece: Piece, check: Inspection) -> bool:
        """Every n-th, and what has been reworked always."""
        if check.one_in == 1:
            return True
        self.checked[check.operation] = count = self.checked.get(check.operation, 0) + 1
        return bool(piece.counts) or count % check.one_in == 0

    def go_on(self, place: Place, piece: Piece, o: int) -> None:
        """To the next operation, in this place or before another."""
        piece.op = o + 1
        if self.tables.visit[o + 1] != self.tables.visit[o]:
            places = self.plant.places
            places.vacate(place, piece)
            more = round(self.tables.out[o]) - 1
            places.queue(piece)
            if more:
                self.plant.stock.inside.change(float(more), self.plant.env.now)
            for _ in range(more):
                places.queue(replace(piece, op=o + 1, begins=False, counts=dict(piece.counts), leave=None, rides=set()))

    def go_out(self, place: Place, piece: Piece) -> None:
        """Done altogether: out, or waiting in its place for room in the store of its item."""
        item = self.tables.item[piece.route]
        piece.leave = lambda: self.plant.places.vacate(place, piece)
        stock, units = self.plant.stock, self.plant.stock.units_of(piece)
        if not self.tables.demanded[item] and stock.must_wait(item, units):
            stock.waiting[item].append(Waits(units, lambda: self.end(piece)))
        else:
            self.end(piece)

    def in_force(self, piece: Piece, o: int, reject: Reject) -> Reject:
        """The reaction after so many reworks."""
        done = piece.counts.get(o, 0)
        while reject.fate == Fate.REWORK and done >= reject.at_most:
            done -= reject.at_most
            reject = reject.otherwise or Reject(Fate.SCRAP)
        return reject

    def react(self, place: Place, piece: Piece, o: int, reject: Reject) -> None:
        """Scrap, seconds, or back: the faults of what is repeated are cleared."""
        plant, tables = self.plant, self.tables
        if reject.fate != Fate.REWORK:
            self.lose(place, piece, o)
            if reject.fate == Fate.SECONDS:
                plant.stock.put(plant.stock.items[reject.item], 1.0)
            return
        piece.counts[o] = piece.counts.get(o, 0) + 1
        here = tables.position[o]
        piece.reach = max(piece.reach, here)
        if reject.takes_again:
            piece.again = (tables.position[reject.to], max(here, piece.again[1]))
        for q in range(reject.to, o + 1):
            for fault, _ in tables.faults[q]:
                piece.faults &= ~(1 << fault)
        piece.op = reject.to
        plant.carriers.sent_back(piece)
        if tables.visit[reject.to] != tables.visit[o]:
            piece.ahead = True
            plant.places.vacate(place, piece)
            plant.places.queue(piece)

    def lose(self, place: Place, piece: Piece, o: int) -> None:
        """Scrap; another is let in for it."""
        item = self.tables.item[piece.route]
        self.plant.stock.open[item] -= self.tables.to_go[o]
        self.scrapped += 1
        self.plant.stock.inside.change(-1.0, self.plant.env.now)
        self.plant.carriers.get_off(piece, list(piece.rides))
        self.plant.places.vacate(place, piece)
        self.plant.stock.let_in(item)

    def end(self, piece: Piece) -> None:
        """Units made: delivered, or on hand for other routes."""
        stock, item, units = self.plant.stock, self.tables.item[piece.route], self.plant.stock.units_of(piece)
        leave, piece.leave = piece.leave, None
        stock.open[item] -= units
        stock.inside.change(-1.0, self.plant.env.now)
        self.plant.carriers.get_off(piece, list(piece.rides))
        if leave is not None:
            leave()
        if self.tables.demanded[item]:
            self.finished += units
            stock.finished[item] += units
            self.times.append(self.plant.env.now - piece.born)
            stock.let_in(item)
        else:
            stock.items[item].lots.append([piece.faults, units])
            stock.put(stock.items[item], units)
