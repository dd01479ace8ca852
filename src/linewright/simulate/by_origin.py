"""Accounts of variants put together as the plan was written: sums over the variants of each item, route and operation.

A plan without options is told as it stands, without any work.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from linewright.network.model import Floats, Ints, Network
from linewright.simulate.replication import Weeks


@dataclass(frozen=True, slots=True)
class Names:
    """Ids as written, and for each row of the network the row of its name."""

    items: tuple[str, ...]
    units: tuple[str, ...]
    routes: tuple[str, ...]
    operations: tuple[str, ...]
    item: Ints
    route: Ints
    operation: Ints
    plain: bool

    def demanded(self, demanded: list[int]) -> list[int]:
        """Items as written that are demanded in any variant."""
        return list(dict.fromkeys(int(self.item[k]) for k in demanded))

    def demand(self, network: Network) -> Floats:
        """[n_items] units wanted a working day, variants together."""
        return np.asarray(np.bincount(self.item, network.items.demand, len(self.items)), dtype=np.float64)


def names_of(network: Network) -> Names:
    """The names that a network is told by."""
    origin = network.origin
    if origin is None:
        items, routes, steps = network.items.ids, network.routes.ids, network.operations.ids
        rows = (np.arange(len(items)), np.arange(len(routes)), np.arange(len(steps)))
        return Names(items, network.items.units, routes, steps, rows[0], rows[1], rows[2], plain=True)
    first = [int(np.flatnonzero(origin.item == k)[0]) for k in range(len(origin.items))]
    units = tuple(network.items.units[i] for i in first)
    return Names(
        origin.items, units, origin.routes, origin.operations,
        origin.item, origin.route, origin.operation, plain=False,
    )  # fmt: skip


def as_written(run: Weeks, names: Names) -> Weeks:
    """The accounts of a replication by what was written."""
    if names.plain:
        return run
    n_items, n_routes, n_steps = len(names.items), len(names.routes), len(names.operations)
    return replace(
        run,
        stocks=summed_by(run.stocks, names.item, n_items),
        spoiled=summed_by(run.spoiled, names.item, n_items),
        finished=summed_by(run.finished, names.item, n_items),
        open_time=summed_by(run.open_time, names.route, n_routes),
        open_now=summed_by(run.open_now, names.route, n_routes),
        runs=summed_by(run.runs, names.operation, n_steps),
        scrapped=summed_by(run.scrapped, names.operation, n_steps),
        reworked=summed_by(run.reworked, names.operation, n_steps),
        parts=np.unique(names.item[run.parts]),
    )


def summed_by(accounts: np.ndarray, index: Ints, n: int) -> np.ndarray:
    """[n_times, n] sums of the columns of each group."""
    out = np.zeros((n, len(accounts)), dtype=accounts.dtype)
    np.add.at(out, index, accounts.T)
    return out.T.copy()
