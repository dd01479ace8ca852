"""The plan in plain lists and dictionaries: what is looked up in the midst of playing, worked out once."""

from __future__ import annotations

from typing import Any

import numpy as np

from linewright.base.calendar import NS
from linewright.network import Network
from linewright.simulate.flowing import flows
from process_plant.variants import items_changed, queues, written_steps

Rows = list[list[tuple[int, float]]]
"""[n_operations] of (index, amount)."""


class Tables:
    """[n_operations] and [n_routes] lists; times in s."""

    def __init__(self, network: Network) -> None:
        p, self.n = network.operations, len(network.operations.ids)
        self.flowing = flows(network)
        counted = network.items.counted[network.routes.item[p.route]] | np.array(self.flowing)
        self.size: list[float] = np.where(counted, 1.0, p.load_most).tolist()
        """[n_operations] an amount moves as a whole load: one piece of so many units."""
        self.takes, self.takes_per_load = self.rows(p.takes, self.size), self.rows(p.takes_per_load)
        self.setup_takes, self.clean_takes = self.rows(p.setup_takes), self.rows(p.clean_takes)
        self.gives, self.faults = self.rows(p.gives, self.size), self.rows(p.faults)
        self.crews, self.tools = self.rows(p.crews, (1.0 / p.tends).tolist()), self.rows(p.tools)
        self.setup_crews, self.clean_crews = self.rows(p.setup_crews), self.rows(p.clean_crews)
        self.clean_when: list[int] = p.clean_when.tolist()
        self.clean_every = [float(n) / size for n, size in zip(p.clean_every, self.size, strict=True)]
        self.start_when: list[int] = p.start_when.tolist()
        self.start_scrap = [float(n) / size for n, size in zip(p.start_scrap, self.size, strict=True)]
        self.visit: list[int] = p.visit.tolist()
        self.step, self.queue, self.changing = written_steps(network), queues(network), items_changed(network)
        self.position: list[int] = p.position.tolist()
        self.route: list[int] = p.route.tolist()
        self.each = [float(t) / NS * size for t, size in zip(p.each, self.size, strict=True)]
        self.hands_all: list[bool] = p.hands_all.tolist()
        self.hands_start = [float(t) / NS for t in p.hands_start]
        self.hands_end = [float(t) / NS for t in p.hands_end]
        self.stop: list[int] = p.stop.tolist()
        self.survives: list[float] = p.survives.tolist()
        self.out: list[float] = p.pieces_out.tolist()
        self.faults_per_load: list[bool] = p.faults_per_load.tolist()
        self.setup_when: list[int] = p.setup_when.tolist()
        self.setup_every = [float(n) / size for n, size in zip(p.setup_every, self.size, strict=True)]
        self.most = [float(n) / size for n, size in zip(p.load_most, self.size, strict=True)]
        self.least = [float(n) / size for n, size in zip(p.load_least, self.size, strict=True)]
        self.waits = [float(t) / NS for t in p.waits]
        begins, ends = network.visits.first[p.visit].tolist(), network.visits.last[p.visit].tolist()
        self.room = [max(self.most[o : ends[o] + 1]) for o in range(self.n)]
        self.closes = [self.most[o] >= max(self.most[begins[o] : ends[o] + 1]) for o in range(self.n)]
        """Whether a load that begins here is the largest of its visit, so that nobody joins it any more."""
        self.checks = {c.operation: c for c in network.inspections}
        self.first: list[int] = network.routes.first.tolist()
        self.last: list[int] = network.routes.last.tolist()
        self.item: list[int] = network.routes.item.tolist()
        """[n_routes] what is made."""
        self.first_of = dict(zip(self.item, self.first, strict=True))
        self.ends = set(self.last)
        self.to_go = self.units_to_go()
        self.demanded: list[bool] = (network.items.demand > 0).tolist()
        c = network.changeovers
        self.changes = {
            (before, after): t / NS
            for before, after, t in zip(c.before.tolist(), c.after.tolist(), c.time.tolist(), strict=True)
        }

    def rows(self, links: Any, times: list[float] | None = None) -> Rows:
        """Compressed rows, written out, amounts so many ``times``."""
        by = times or [1.0] * self.n
        return [[(int(i), float(a) * by[o]) for i, a in zip(*links.row(o), strict=True)] for o in range(self.n)]

    def units_to_go(self) -> list[float]:
        """[n_operations] units of the item that a piece about to begin there will become."""
        out = [1.0] * self.n
        for first, last in zip(self.first, self.last, strict=True):
            units = 1.0
            for o in range(last, first - 1, -1):
                units *= self.out[o]
                out[o] = units * self.size[o]
        return out
