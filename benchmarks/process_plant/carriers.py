"""Carriers that go along with a piece and come back."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from process_plant.luck import draws_of
from process_plant.things import Piece, Pool, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant


class Carriers:
    """[n_carriers] pools of free ones; where pieces get on and off."""

    def __init__(self, plant: Plant) -> None:
        self.plant, c = plant, plant.network.carriers
        self.pools = [Pool(float(n)) for n in c.count]
        self.ways_back = draws_of(c.way_back, plant.luck)
        self.joins: list[list[int]] = [[] for _ in range(plant.tables.n)]
        self.leaves: list[list[int]] = [[] for _ in range(plant.tables.n)]
        """[n_operations] the kinds of carriers that a piece gets on at the start, off at the end."""
        for k in range(len(self.pools)):
            for lists, links in ((self.joins, c.joins), (self.leaves, c.leaves)):
                for o in links.row(k)[0].tolist():
                    lists[o].append(k)

    def get_on(self, group: list[Piece]) -> list[tuple[Pool, float]]:
        """What the start of an operation takes besides: a carrier for each piece that gets on here and has none."""
        needs: dict[int, float] = {}
        for piece in group:
            for c in self.joins[piece.op]:
                if c not in piece.rides:
                    needs[c] = needs.get(c, 0.0) + 1.0
                    piece.rides.add(c)
                    piece.got_on[c] = piece.op
        return [(self.pools[c], units) for c, units in needs.items()]

    def are_there(self, piece: Piece, here: list[Piece]) -> bool:
        """Whether a piece finds the carriers that its visit begins with, and those who wait for one where it joins."""
        return all(
            c in piece.rides
            or self.pools[c].free > sum(c in self.joins[other.op] and c not in other.rides for other in here)
            for c in self.joins[piece.op]
        )

    def get_off(self, piece: Piece, carriers: Iterable[int]) -> None:
        """Off so many of those that it is on; each goes back."""
        for c in carriers:
            if c in piece.rides:
                piece.rides.remove(c)
                self.plant.env.process(self.come_back(c))

    def sent_back(self, piece: Piece) -> None:
        """Sent back to before it got on, a piece comes off."""
        if piece.rides:
            self.get_off(piece, [c for c in piece.rides if piece.op < piece.got_on[c]])

    def come_back(self, carrier: int) -> Steps:
        yield self.plant.env.timeout(self.ways_back[carrier]())
        self.plant.stock.put(self.pools[carrier], 1.0)
