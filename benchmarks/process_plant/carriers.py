"""Carriers that go along with a piece and come back."""

from __future__ import annotations

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
        self.joins, self.leaves = (
            {(k, int(o)) for k in range(len(self.pools)) for o in links.row(k)[0]} for links in (c.joins, c.leaves)
        )

    def get_on(self, group: list[Piece], o: int) -> list[tuple[Pool, float]]:
        """What the start of an operation takes besides: a carrier for each piece that gets on here and has none."""
        needs = []
        for c, pool in enumerate(self.pools):
            without = [p for p in group if c not in p.rides] if (c, o) in self.joins else []
            needs += [(pool, float(len(without)))] if without else []
            for piece in without:
                piece.rides.add(c)
        return needs

    def get_off(self, piece: Piece, o: int | None = None) -> None:
        """Off those that end with operation ``o``; without one, off all."""
        off = {c for c in piece.rides if o is None or (c, o) in self.leaves}
        piece.rides -= off
        for c in off:
            self.plant.env.process(self.come_back(c))

    def come_back(self, carrier: int) -> Steps:
        yield self.plant.env.timeout(self.ways_back[carrier]())
        self.plant.stock.put(self.pools[carrier], 1.0)
