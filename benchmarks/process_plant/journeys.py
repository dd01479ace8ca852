"""What becomes of a piece: yield, faults, checks, rework, scrap, seconds, and its end as a unit on hand or made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linewright.network.model import Fate, Reject
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

    def conclude(self, place: Place, piece: Piece, o: int, drawn: list[bool] | None) -> None:
        """After an operation: lost, faulty, checked, then on; ``drawn`` are the faults of a load as a whole."""
        plant, tables, luck = self.plant, self.tables, self.random
        plant.carriers.get_off(piece, o)
        for item, units in tables.gives[o]:
            plant.stock.put(plant.stock.items[item], units)
        if tables.survives[o] < 1 and luck() >= tables.survives[o]:
            self.lose(place, piece, o)
            return
        for k, (fault, share) in enumerate(tables.faults[o]):
            if (luck() < share) if drawn is None else drawn[k]:
                piece.faults |= 1 << fault
        check = tables.checks.get(o)
        if check is not None and (piece.counts or check.one_in == 1 or luck() < 1 / check.one_in):
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
        if tables.position[o] >= piece.reach:
            piece.reach, piece.again = -1, NOT_AGAIN
        if o in tables.ends:
            self.go_out(place, piece)
            return
        self.go_on(place, piece, o)

    def go_on(self, place: Place, piece: Piece, o: int) -> None:
        """To the next operation, in this place or before another."""
        piece.op = o + 1
        if self.tables.visit[o + 1] != self.tables.visit[o]:
            places = self.plant.places
            places.vacate(place, piece)
            for _ in range(round(self.tables.out[o]) - 1):
                places.queue(
                    Piece(piece.route, self.plant.env.now, o + 1, piece.faults, False, counts=dict(piece.counts))
                )
            places.queue(piece)

    def go_out(self, place: Place, piece: Piece) -> None:
        """Done altogether: out, or waiting in its place for room in the store of its item."""
        item = self.tables.item[piece.route]
        piece.leave = lambda: self.plant.places.vacate(place, piece)
        if self.plant.stock.finds_no_room(piece, item):
            self.plant.stock.exits[item].append(piece)
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
        if tables.visit[reject.to] != tables.visit[o]:
            piece.ahead = True
            plant.places.vacate(place, piece)
            plant.places.queue(piece)

    def lose(self, place: Place, piece: Piece, o: int) -> None:
        """Scrap; another is let in for it."""
        item = self.tables.item[piece.route]
        self.plant.stock.open[item] -= self.tables.to_go[o]
        self.scrapped += 1
        self.plant.carriers.get_off(piece)
        self.plant.places.vacate(place, piece)
        self.plant.stock.let_in(item)

    def end(self, piece: Piece) -> None:
        """Units made: delivered, or on hand for other routes."""
        stock, item, units = self.plant.stock, self.tables.item[piece.route], self.plant.stock.units_of(piece)
        leave, piece.leave = piece.leave, None
        stock.open[item] -= units
        if leave is not None:
            leave()
        if self.tables.demanded[item]:
            self.finished += units
            self.times.append(self.plant.env.now - piece.born)
            stock.let_in(item)
        else:
            stock.items[item].lots.append([piece.faults, units])
            stock.put(stock.items[item], units)
