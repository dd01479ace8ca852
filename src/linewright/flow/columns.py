"""The unknowns of the balance and their equations: pieces started, units bought, surplus, and what fills each choice.

One row an item (made + bought = used + wanted + surplus), one a choice (its parts fill it), one for each declared
share of a route, one for each limit of a blend. Amounts are for one working day.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linewright.network.equations import Equations
from linewright.network.model import Bools, Floats, Ints, Network


@dataclass(frozen=True, slots=True)
class Sources:
    """[n_items] each: where units of an item can come from and go to."""

    routes: Ints
    beside: Bools
    buyable: Bools
    wanted: Bools
    returns: Bools
    makers: tuple[tuple[int, ...], ...]


def sources(network: Network, rows: Equations) -> Sources:
    """Classify the items: makers, by-product of something, bought, wanted by somebody, going round and coming back."""
    items, n = network.items, len(network.items.ids)
    makers: list[list[int]] = [[] for _ in range(n)]
    for route, item in enumerate(network.routes.item.tolist()):
        makers[item].append(route)
    beside = np.zeros(n, dtype=np.bool_)
    beside[rows.beside.item] = True
    beside[rows.seconds.item] = True
    wanted = items.demand > 0
    wanted[rows.takes.item] = True
    wanted |= rows.daily > 0
    for choice in network.choices:
        wanted[list(choice.items)] = True
    buyable = np.isfinite(items.buy) | items.free
    routes = np.array([len(m) for m in makers], dtype=np.int64)
    returns = np.isfinite(items.stock) & ~buyable & (routes == 0)
    return Sources(routes, beside, buyable, wanted, returns, tuple(tuple(m) for m in makers))


@dataclass(slots=True)
class System:
    """Equations ``matrix @ x = right`` with x >= 0; the columns in four groups, by what they count.

    ``routes``, ``bought``, ``surplus`` hold the index of what each column is (a route, an item); ``fills`` the pair
    (choice, place in it). ``items`` lists the item of each balance row.
    """

    matrix: Any
    right: Floats
    items: Ints
    routes: Ints
    bought: Ints
    surplus: Ints
    fills: tuple[tuple[int, int], ...]

    @property
    def bought_at(self) -> int:
        """The first column that buys."""
        return len(self.routes)

    @property
    def surplus_at(self) -> int:
        """The first column of surplus."""
        return self.bought_at + len(self.bought)

    @property
    def fills_at(self) -> int:
        """The first column that fills a choice."""
        return self.surplus_at + len(self.surplus)

    @property
    def is_square(self) -> bool:
        """As many unknowns as equations: nothing to choose."""
        return bool(self.matrix.shape[0] == self.matrix.shape[1])


@dataclass(slots=True)
class _Entries:
    """Entries of a sparse matrix as they are found."""

    rows: list[Any] = field(default_factory=list)
    columns: list[Any] = field(default_factory=list)
    values: list[Any] = field(default_factory=list)

    def add(self, rows: Any, columns: Any, values: Any) -> None:
        self.rows.append(np.atleast_1d(rows))
        self.columns.append(np.atleast_1d(columns))
        self.values.append(np.atleast_1d(values))

    def matrix(self, shape: tuple[int, int]) -> Any:
        from scipy.sparse import coo_array

        if not self.rows:
            return coo_array(shape).tocsc()
        joined = (np.concatenate(self.rows), np.concatenate(self.columns))
        return coo_array((np.concatenate(self.values).astype(np.float64), joined), shape=shape).tocsc()


def assemble(network: Network, rows: Equations, where: Sources) -> System:
    """The system of a network."""
    n_items, n_routes = len(network.items.ids), len(network.routes.ids)
    active = (where.wanted | (where.routes > 0) | where.beside) & ~where.returns
    items = np.flatnonzero(active)
    row_of = np.full(n_items, -1, dtype=np.int64)
    row_of[items] = np.arange(items.size)
    bought = np.flatnonzero(active & where.buyable & where.wanted)
    surplus = np.flatnonzero(active & where.beside)
    open_choices = [(k, c) for k, c in enumerate(network.choices) if not np.isfinite(c.shares[0])]
    fills = tuple((k, j) for k, c in open_choices for j in range(len(c.items)))
    entries = _Entries()
    _balance(entries, network, rows, row_of)
    entries.add(row_of[bought], n_routes + np.arange(bought.size), np.ones(bought.size))
    entries.add(row_of[surplus], n_routes + bought.size + np.arange(surplus.size), -np.ones(surplus.size))
    fills_at = n_routes + bought.size + surplus.size
    height = _fill(entries, network, rows, row_of, fills, fills_at, items.size)
    height, slack = _blend(entries, network, fills, fills_at, height)
    height = _share(entries, network, rows, where, bought, n_routes, height)
    right = np.zeros(height)
    right[: items.size] = (network.items.demand + rows.daily)[items]
    matrix = entries.matrix((height, fills_at + len(fills) + slack))
    return System(matrix, right, items, np.arange(n_routes), bought, surplus, fills)


def _balance(entries: _Entries, network: Network, rows: Equations, row_of: Ints) -> None:
    """Made less used by each route; choices of declared mix are ordinary uses."""
    net = (rows.made - rows.used).tocoo()
    item, route, value = net.row, net.col, net.data
    here = row_of[item] >= 0
    entries.add(row_of[item[here]], route[here], value[here])
    for k, choice in enumerate(network.choices):
        if not np.isfinite(choice.shares[0]):
            continue
        route_here = int(network.operations.route[choice.operation])
        for i, units, share in zip(choice.items, choice.units, choice.shares, strict=True):
            if row_of[i] >= 0:
                entries.add(row_of[i], route_here, -units * share * rows.feeds[k])


def _fill(
    entries: _Entries,
    network: Network,
    rows: Equations,
    row_of: Ints,
    fills: tuple[tuple[int, int], ...],
    at: int,
    height: int,
) -> int:
    """What fills a choice adds up to how often it is filled."""
    started: dict[int, int] = {}
    for column, (k, j) in enumerate(fills):
        choice = network.choices[k]
        if k not in started:
            started[k] = height
            entries.add(height, int(network.operations.route[choice.operation]), -rows.feeds[k])
            height += 1
        entries.add(started[k], at + column, 1.0)
        if row_of[choice.items[j]] >= 0:
            entries.add(row_of[choice.items[j]], at + column, -choice.units[j])
    return height


def _blend(
    entries: _Entries, network: Network, fills: tuple[tuple[int, int], ...], at: int, height: int
) -> tuple[int, int]:
    """The limits of blends, each with what is left to it: sum of amounts x (content - limit) + left = 0, or - left."""
    slack = 0
    for k, choice in enumerate(network.choices):
        columns = {j: at + column for column, (other, j) in enumerate(fills) if other == k}
        for limit in choice.limits if columns else ():
            for end, sign in ((limit.most, 1.0), (limit.least, -1.0)):
                if not np.isfinite(end):
                    continue
                for j, column in columns.items():
                    amount = choice.units[j] * limit.weight[j]
                    entries.add(height, column, sign * amount * (limit.value[j] - end))
                entries.add(height, at + len(fills) + slack, 1.0)
                height, slack = height + 1, slack + 1
    return height, slack


def _share(
    entries: _Entries, network: Network, rows: Equations, where: Sources, bought: Ints, n_routes: int, height: int
) -> int:
    """A declared share of a route is a share of all that is made (by routes) and bought of its item."""
    buying = {int(item): n_routes + k for k, item in enumerate(bought)}
    for item in np.flatnonzero(where.routes > 0).tolist():
        makers = where.makers[item]
        declared = [r for r in makers if np.isfinite(network.routes.share[r])]
        if len(declared) == len(makers) and item not in buying and declared:
            declared = declared[1:]  # the last one follows from the others
        for route in declared:
            share = float(network.routes.share[route])
            for other in makers:
                entries.add(height, other, (float(other == route) - share) * rows.main[other])
            if item in buying:
                entries.add(height, buying[item], -share)
            height += 1
    return height
