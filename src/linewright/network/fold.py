"""A network with variants told by what was written: one row for each item, route and operation, variants put together.

Reports, the map and the balance of a line speak of the operations that a plan names, not of each of them once a size.
What differs is the mean over the variants, weighed by how often each runs; engines play the variants themselves.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from linewright.network.campaigns import Campaigns, Cares
from linewright.network.model import (
    NOWHERE,
    Carriers,
    Changeovers,
    Choice,
    Durations,
    Floats,
    Inspection,
    Ints,
    Items,
    Links,
    Network,
    Operations,
    Origin,
    Reject,
    Routes,
    Visits,
    Windows,
)
from linewright.network.season import Season

_OF_ITEMS = ("takes", "takes_per_load", "gives", "setup_takes", "clean_takes")
"""Links of operations whose index is an item."""
_KEPT = ("load_least", "load_most", "setup_every", "clean_every")
"""Numbers that are the same for every variant, or infinite."""


@dataclass(frozen=True, slots=True)
class Groups:
    """Rows put together: ``index`` [n] the group of each, ``first`` [n_groups] the row that stands for it, weights."""

    index: Ints
    first: Ints
    weight: Floats
    """[n] each row's part of its group; adds up to 1."""

    def mean(self, values: Floats) -> Floats:
        """[n_groups] the mean; a row without weight counts for nothing, whatever it says."""
        parts = np.where(self.weight > 0, values, 0.0) * self.weight
        found = np.bincount(self.index, parts, len(self.first))
        own = values[self.first][self.index]
        differs = ~((values == own) | (np.isnan(values) & np.isnan(own)))
        same = np.bincount(self.index, differs, len(self.first)) == 0
        return np.where(same, values[self.first], found)

    def total(self, values: Floats) -> Floats:
        """[n_groups] the sum."""
        return np.asarray(np.bincount(self.index, values, len(self.first)), dtype=np.float64)


def groups_of(index: Ints, n: int, amounts: Floats) -> Groups:
    """Rows by group, weighed by ``amounts``; equal where a group has none."""
    order = np.argsort(index, kind="stable")
    first = order[np.searchsorted(index[order], np.arange(n))]
    total = np.bincount(index, amounts, n)[index]
    count = np.bincount(index, minlength=n)[index]
    weight = np.where(total > 0, amounts / np.where(total > 0, total, 1.0), 1.0 / count)
    return Groups(index, first.astype(np.int64), weight)


def fold_network(network: Network, runs: Floats, made: Floats) -> Network:
    """The network by what was written; itself where it has no variants.

    ``runs`` [n_operations] and ``made`` [n_items] (bought or made) are the weights of the variants.
    """
    origin = network.origin
    if origin is None:
        return network
    operations = groups_of(origin.operation, len(origin.operations), runs)
    items = groups_of(origin.item, len(origin.items), made)
    routes = groups_of(origin.route, len(origin.routes), runs[network.routes.first])
    folded, visits = _visits(network, origin, operations)
    return replace(
        network,
        plan=origin.plan,
        items=_items(network.items, origin, items),
        routes=_routes(network, origin, routes),
        operations=replace(_operations(network, origin, operations), visit=folded),
        visits=visits,
        choices=_choices(network, origin),
        inspections=_inspections(network, origin),
        carriers=_carriers(network.carriers, origin),
        cares=_cares(network.cares, origin),
        campaigns=_campaigns(network.campaigns, origin),
        windows=_windows(network.windows, origin),
        changeovers=_changeovers(network.changeovers, origin),
        season=_season(network.season, origin),
        item_store=network.item_store[items.first],
        notes={},
        origin=None,
    )


def fold_links(links: Links, owner: Groups, of: Ints | None, weighed: bool = True) -> Links:
    """Compressed rows by group: amounts are means over the rows of a group, or sums where they are not ``weighed``.

    ``of`` maps what the links point at to its own group.
    """
    rows = np.repeat(np.arange(len(owner.index)), np.diff(links.starts))
    group = owner.index[rows]
    index = links.index if of is None else of[links.index]
    amount = links.amount * owner.weight[rows] if weighed else links.amount
    found: list[dict[int, float]] = [{} for _ in owner.first]
    for g, i, a in zip(group.tolist(), index.tolist(), amount.tolist(), strict=True):
        found[g][i] = found[g].get(i, 0.0) + a
    starts = np.cumsum([0, *(len(row) for row in found)]).astype(np.int64)
    return Links(
        starts,
        np.array([i for row in found for i in row], dtype=np.int64),
        np.array([_clean(a) for row in found for a in row.values()], dtype=np.float64),
    )


def _clean(amount: float) -> float:
    """Means of equal numbers come back as the number itself."""
    return float(f"{amount:.14g}")


def _durations(times: Durations, owner: Groups) -> Durations:
    """Mean over the variants; the variance holds what lies between them too. Equal ones stay as they are."""
    mean = owner.mean(times.mean)
    square = owner.mean(times.variance + times.mean**2)
    same = owner.mean(times.mean**2) <= mean**2 * (1 + 1e-12)
    variance = np.where(same, owner.mean(times.variance), np.maximum(square - mean**2, 0.0))
    return Durations(times.shape[owner.first], times.parameters[owner.first], mean, variance)


def _items(items: Items, origin: Origin, owner: Groups) -> Items:
    told: dict[str, object] = {}
    for f in fields(Items):
        value = getattr(items, f.name)
        if f.name == "ids":
            told["ids"] = origin.items
        elif f.name == "units":
            told["units"] = tuple(value[i] for i in owner.first)
        elif f.name == "demand":
            told["demand"] = owner.total(value)
        elif value.dtype == np.float64:
            told[f.name] = owner.mean(value)
        else:
            told[f.name] = value[owner.first]
    return Items(**told)  # type: ignore[arg-type]


def _routes(network: Network, origin: Origin, owner: Groups) -> Routes:
    routes = network.routes
    ends = np.cumsum([len(route.operations) for route in origin.plan.routes.values()])
    starts = np.concatenate([[0], ends[:-1]])
    told: dict[str, Any] = {f.name: getattr(routes, f.name) for f in fields(Routes)}
    told = {name: value[owner.first] for name, value in told.items() if name != "ids"}
    told["item"] = origin.item[told["item"]]
    told |= {"ids": origin.routes, "first": starts.astype(np.int64), "last": (ends - 1).astype(np.int64)}
    return Routes(**told)


def _operations(network: Network, origin: Origin, owner: Groups) -> Operations:
    operations = network.operations
    places = [p for route in origin.plan.routes.values() for p in range(len(route.operations))]
    told: dict[str, object] = {}
    for f in fields(Operations):
        value = getattr(operations, f.name)
        if f.name == "ids":
            told["ids"] = origin.operations
        elif f.name == "paths":
            told["paths"] = tuple(value[o] for o in owner.first)
        elif f.name == "route":
            told["route"] = origin.route[value[owner.first]]
        elif f.name == "position":
            told["position"] = np.array(places, dtype=np.int64)
        elif isinstance(value, Durations):
            told[f.name] = _durations(value, owner)
        elif isinstance(value, Links):
            told[f.name] = fold_links(value, owner, origin.item if f.name in _OF_ITEMS else None)
        elif value.dtype == np.float64 and f.name not in _KEPT:
            told[f.name] = owner.mean(value)
        else:
            told[f.name] = value[owner.first]
    return Operations(**told)  # type: ignore[arg-type]


def _visits(network: Network, origin: Origin, owner: Groups) -> tuple[Ints, Visits]:
    """Operations that follow each other in one visit for any variant are one visit here."""
    visit, of = network.operations.visit, origin.operation
    here = np.flatnonzero(visit[1:] == visit[:-1])
    together = set(zip(of[here].tolist(), of[here + 1].tolist(), strict=True))
    found: list[int] = []
    first: list[int] = []
    last: list[int] = []
    station: list[int] = []
    for o in range(len(owner.first)):
        if o and (o - 1, o) in together:
            last[-1] = o
        else:
            first.append(o)
            last.append(o)
            station.append(int(network.visits.station[visit[owner.first[o]]]))
        found.append(len(first) - 1)
    columns = [np.array(column, dtype=np.int64) for column in (found, first, last, station)]
    return columns[0], Visits(*columns[1:])


def _choices(network: Network, origin: Origin) -> tuple[Choice, ...]:
    found: dict[tuple[int, str], Choice] = {}
    for choice in network.choices:
        operation = int(origin.operation[choice.operation])
        items = tuple(int(origin.item[i]) for i in choice.items)
        found.setdefault((operation, choice.label), replace(choice, operation=operation, items=items))
    return tuple(found.values())


def choice_groups(network: Network, origin: Origin) -> list[list[int]]:
    """The choices of the variants that are one choice as written, in the order of the folded network."""
    found: dict[tuple[int, str], list[int]] = {}
    for k, choice in enumerate(network.choices):
        found.setdefault((int(origin.operation[choice.operation]), choice.label), []).append(k)
    return list(found.values())


def _inspections(network: Network, origin: Origin) -> tuple[Inspection, ...]:
    found: dict[int, Inspection] = {}
    for check in network.inspections:
        operation = int(origin.operation[check.operation])
        if operation not in found:
            rejects = tuple(_reject(reject, origin) for reject in check.rejects)
            other = _reject(check.other, origin)
            found[operation] = replace(check, operation=operation, rejects=rejects, other=other)
    return tuple(found[operation] for operation in sorted(found))


def _reject(reject: Reject, origin: Origin) -> Reject:
    return replace(
        reject,
        to=int(origin.operation[reject.to]) if reject.to != NOWHERE else NOWHERE,
        item=int(origin.item[reject.item]) if reject.item != NOWHERE else NOWHERE,
        otherwise=_reject(reject.otherwise, origin) if reject.otherwise is not None else None,
    )


def _windows(windows: Windows, origin: Origin) -> Windows:
    """Each window as written, once."""
    steps = origin.operation
    pairs = zip(steps[windows.after].tolist(), steps[windows.operation].tolist(), strict=True)
    kept = list({pair: k for k, pair in enumerate(pairs)}.values())
    return Windows(
        after=steps[windows.after[kept]],
        operation=steps[windows.operation[kept]],
        least=windows.least[kept],
        most=windows.most[kept],
        rejects=tuple(_reject(windows.rejects[k], origin) for k in kept),
    )


def _carriers(carriers: Carriers, origin: Origin) -> Carriers:
    """What gets on and off: operations and items as written, each once."""

    def alike(links: Links, of: Ints) -> Links:
        rows = [np.unique(of[links.row(k)[0]]) for k in range(len(links.starts) - 1)]
        starts = np.cumsum([0, *(len(row) for row in rows)]).astype(np.int64)
        index = np.concatenate([*rows, np.zeros(0, dtype=np.int64)]).astype(np.int64)
        return Links(starts, index, np.ones(len(index)))

    links = {name: getattr(carriers, name) for name in ("joins", "leaves", "stretch")}
    steps: dict[str, Any] = {name: alike(one, origin.operation) for name, one in links.items()}
    return replace(carriers, **steps, items=alike(carriers.items, origin.item))


def _cares(cares: Cares, origin: Origin) -> Cares:
    """Work during a stand, each kind once an operation."""
    operation = origin.operation[cares.operation]
    found: dict[tuple[int, str], int] = {}
    for k, name in enumerate(cares.names):
        found.setdefault((int(operation[k]), name), k)
    first = np.array(list(found.values()), dtype=np.int64)
    return Cares(
        tuple(cares.names[k] for k in first.tolist()),
        operation[first],
        cares.every[first],
        Durations(*(getattr(cares.time, f.name)[first] for f in fields(Durations))),
        _some(cares.crews, first),
    )


def _campaigns(campaigns: Campaigns, origin: Origin) -> Campaigns:
    """Campaigns, each once a route; it starts with what its first variant starts with."""
    route = origin.route[campaigns.route]
    _, first = np.unique(route, return_index=True)
    item, waits = origin.item[campaigns.item[first]], campaigns.waits[first]
    return Campaigns(route[first], item, campaigns.starts[first], waits)


def _season(season: Season | None, origin: Origin) -> Season | None:
    """The horizon; what is delivered has no variants, but its number among the items as written."""
    if season is None or not len(season.intake_item):
        return season
    return replace(season, intake_item=origin.item[season.intake_item])


def _some(links: Links, rows: Ints) -> Links:
    """Some rows of links."""
    parts = [links.row(int(k)) for k in rows]
    starts = np.cumsum([0, *(len(index) for index, _ in parts)]).astype(np.int64)
    none: list[Any] = [np.zeros(0)]
    index = np.concatenate([*(index for index, _ in parts), *none]).astype(np.int64)
    return Links(starts, index, np.concatenate([*(amount for _, amount in parts), *none]))


def _changeovers(pairs: Changeovers, origin: Origin) -> Changeovers:
    found: dict[tuple[int, int], int] = {}
    for before, after, time in zip(pairs.before.tolist(), pairs.after.tolist(), pairs.time.tolist(), strict=True):
        found.setdefault((int(origin.operation[before]), int(origin.operation[after])), time)
    columns = [[pair[0] for pair in found], [pair[1] for pair in found], list(found.values())]
    return Changeovers(*(np.array(column, dtype=np.int64) for column in columns))
