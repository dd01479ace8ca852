"""The variants of a plan with options, one by one: what each is wanted, how long it takes, what it costs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linewright.base.calendar import NS
from linewright.base.results import Shown, Table
from linewright.capacity.model import Capacity
from linewright.cost.model import Cost
from linewright.cost.products import shares_of_products
from linewright.flow.fold import fold_flow
from linewright.flow.model import Flow
from linewright.network.fold import fold_network
from linewright.network.model import Floats, Models, Network
from linewright.network.rows import owners, summed


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
        return np.asarray(hands_by_operation(self.network, self.flow).sum(axis=1), dtype=np.float64)

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

    def by_value(self) -> Table:
        """One row a value of an option: how many are wanted, and the means of all variants with it, by that number.

        An option with one value only among what is wanted says nothing and is left out.
        """
        origin, unit = self.network.origin, self.cost.money
        assert origin is not None
        columns = ("option", "value", "wanted a day", "people's time [min]", f"material [{unit}]", f"cost [{unit}]",
                   f"margin [{unit}]")  # fmt: skip
        demand = self.network.items.demand[list(self.wanted)]
        products = self.cost.products
        told = [self.hands(), np.array([p.parts.material for p in products]), np.array([p.total for p in products])]
        if all(p.margin is not None for p in products):
            told.append(np.array([p.margin or 0.0 for p in products]))
        rows = []
        for option, known in origin.plan.options.items():
            having = {value: self._with(option, value) for value in known.values}
            found = {value: which for value, which in having.items() if which.any()}
            for value, which in found.items() if len(found) > 1 else ():
                weight = demand[which] / demand[which].sum()
                means = [float(weight @ one[which]) for one in told]
                rows.append((option, value, float(demand[which].sum()), *means))
        return Table("The variants by what is chosen", columns[: 3 + len(told)], tuple(rows))

    def _with(self, option: str, value: str) -> NDArray[np.bool_]:
        """[n_wanted] which of the demanded variants have a value."""
        origin = self.network.origin
        assert origin is not None
        return np.array([(option, value) in origin.values[item] for item in self.wanted], dtype=np.bool_)

    def to_dict(self) -> dict[str, Any]:
        """The table of the variants as plain data."""
        return self.to_table().to_dict()


def hands_by_operation(network: Network, flow: Flow) -> Floats:
    """[n_wanted, n_operations] people's minutes at each operation for one unit of each demanded item."""
    p, wanted = network.operations, np.flatnonzero(network.items.demand > 0).tolist()
    cycle = p.time.mean + p.each * np.where(p.continuous, 1.0, p.load_most)
    times = np.where(p.continuous, flow.runs, flow.cycles)
    hands = np.where(p.hands_all, cycle, p.hands_start + p.hands_end) / np.maximum(p.tends, 1)
    people = summed(owners(p.crews), p.crews.amount, len(p.ids))
    minutes = shares_of_products(network, flow, wanted) * (times * hands * people) / NS / 60
    return np.asarray(minutes / network.items.demand[wanted][:, None], dtype=np.float64)


def told(network: Network, flow: Flow) -> tuple[Network, Flow]:
    """A network and its balance by what was written, with the work of each variant beside; themselves without any."""
    origin = network.origin
    if origin is None:
        return network, flow
    whole = fold_network(network, flow.runs, flow.bought + flow.made)
    wanted = np.flatnonzero(network.items.demand > 0)
    mix = network.items.demand[wanted] / network.items.demand.sum()
    minutes = np.zeros((len(wanted), len(origin.operations)))
    np.add.at(minutes.T, origin.operation, hands_by_operation(network, flow).T)
    mean = mix @ minutes
    relative = np.divide(minutes, mean, out=np.ones_like(minutes), where=mean > 0)
    names = tuple(network.items.ids[i] for i in wanted)
    made = summed(origin.route, flow.finished, len(origin.routes))
    return replace(whole, models=Models(names, mix, relative, made)), fold_flow(network, flow)
