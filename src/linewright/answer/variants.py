"""The variants of a plan with options, one by one: what each is wanted, how long it takes, what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linewright.base.calendar import NS
from linewright.base.results import Shown, Table
from linewright.capacity.model import Capacity
from linewright.cost.model import Cost
from linewright.cost.products import shares_of_products
from linewright.flow.model import Flow
from linewright.network.model import Floats, Network


@dataclass(frozen=True, slots=True)
class Variants(Shown):
    """A plan with a row for each variant, and what the engines say of it."""

    network: Network
    flow: Flow
    capacity: Capacity
    cost: Cost

    @property
    def wanted(self) -> tuple[int, ...]:
        """Items of the network that are demanded, by number."""
        return tuple(np.flatnonzero(self.network.items.demand > 0).tolist())

    def hands(self) -> Floats:
        """[n_wanted] people's minutes in one unit of each demanded variant, losses included."""
        network, flow = self.network, self.flow
        p = network.operations
        cycle = p.time.mean + p.each * np.where(p.continuous, 1.0, p.load_most)
        times = np.where(p.continuous, flow.runs, flow.cycles)
        hands = np.where(p.hands_all, cycle, p.hands_start + p.hands_end) / np.maximum(p.tends, 1)
        people = np.add.reduceat(np.append(p.crews.amount, 0.0), p.crews.starts[:-1]) * (np.diff(p.crews.starts) > 0)
        shares = shares_of_products(network, flow, list(self.wanted))
        minutes = shares @ (times * hands * people) / NS / 60
        return np.asarray(minutes / network.items.demand[list(self.wanted)], dtype=np.float64)

    def to_table(self) -> Table:
        """One row a demanded variant."""
        network, unit = self.network, self.cost.money
        assert network.origin is not None
        rows = []
        for item, minutes, product in zip(self.wanted, self.hands().tolist(), self.cost.products, strict=True):
            values = ", ".join(value for _, value in network.origin.values[item])
            name = network.origin.items[int(network.origin.item[item])]
            demand = float(network.items.demand[item])
            rows.append((name, values, demand, minutes, product.parts.material, product.total, product.margin))
        columns = (
            "item", "variant", "wanted [/day]", "people [min]", f"material [{unit}]", f"cost [{unit}]",
            f"margin [{unit}]",
        )  # fmt: skip
        return Table("The variants one by one", columns, tuple(rows))

    def to_dict(self) -> dict[str, Any]:
        """The table of the variants as plain data."""
        return self.to_table().to_dict()
