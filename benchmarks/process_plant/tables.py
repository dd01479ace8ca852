"""The plan in plain lists and dictionaries: what is looked up in the midst of playing, worked out once."""

from __future__ import annotations

from typing import Any

from linewright.base.calendar import NS
from linewright.network import Network
from process_plant.variants import items_changed, queues, written_steps

Rows = list[list[tuple[int, float]]]
"""[n_operations] of (index, amount)."""


class Tables:
    """[n_operations] and [n_routes] lists; times in s."""

    def __init__(self, network: Network) -> None:
        p, self.n = network.operations, len(network.operations.ids)
        self.takes, self.takes_per_load = self.rows(p.takes), self.rows(p.takes_per_load)
        self.setup_takes = self.rows(p.setup_takes)
        self.gives, self.faults = self.rows(p.gives), self.rows(p.faults)
        self.crews, self.tools, self.setup_crews = self.rows(p.crews), self.rows(p.tools), self.rows(p.setup_crews)
        self.visit: list[int] = p.visit.tolist()
        self.step, self.queue, self.changing = written_steps(network), queues(network), items_changed(network)
        self.position: list[int] = p.position.tolist()
        self.route: list[int] = p.route.tolist()
        self.each = [float(t) / NS for t in p.each]
        self.hands_all: list[bool] = p.hands_all.tolist()
        self.hands_start = [float(t) / NS for t in p.hands_start]
        self.hands_end = [float(t) / NS for t in p.hands_end]
        self.stop: list[int] = p.stop.tolist()
        self.survives: list[float] = p.survives.tolist()
        self.out: list[float] = p.pieces_out.tolist()
        self.faults_per_load: list[bool] = p.faults_per_load.tolist()
        self.setup_when: list[int] = p.setup_when.tolist()
        self.setup_every: list[float] = p.setup_every.tolist()
        self.most: list[float] = p.load_most.tolist()
        begins, ends = network.visits.first[p.visit].tolist(), network.visits.last[p.visit].tolist()
        self.room = [max(self.most[o : ends[o] + 1]) for o in range(self.n)]
        self.closes = [self.most[o] >= max(self.most[begins[o] : ends[o] + 1]) for o in range(self.n)]
        """Whether a load that begins here is the largest of its visit, so that nobody joins it any more."""
        self.checks = {c.operation: c for c in network.inspections}
        self.first: list[int] = network.routes.first.tolist()
        self.last: list[int] = network.routes.last.tolist()
        self.item: list[int] = network.routes.item.tolist()
        """[n_routes] what is made."""
        self.ends = set(self.last)
        self.to_go = self.units_to_go()
        self.demanded: list[bool] = (network.items.demand > 0).tolist()
        c = network.changeovers
        self.changes = {
            (before, after): t / NS
            for before, after, t in zip(c.before.tolist(), c.after.tolist(), c.time.tolist(), strict=True)
        }

    def rows(self, links: Any) -> Rows:
        """Compressed rows, written out."""
        return [[(int(i), float(a)) for i, a in zip(*links.row(o), strict=True)] for o in range(self.n)]

    def units_to_go(self) -> list[float]:
        """[n_operations] units that a piece about to begin there will become."""
        out = [1.0] * self.n
        for first, last in zip(self.first, self.last, strict=True):
            units = 1.0
            for o in range(last, first - 1, -1):
                units *= self.out[o]
                out[o] = units
        return out
