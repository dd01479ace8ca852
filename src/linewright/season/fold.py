"""The balance of a season told by what was written: one column for each item, its variants together and beside it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from linewright.network.model import Floats, Ints, Network
from linewright.network.variants import without_values
from linewright.season.model import Limit, Season, Variant, WeekBalance


def fold_season(season: Season, network: Network) -> Season:
    """A season by what was written; itself where the plan has no options. ``network`` has the rows of the variants."""
    if network.origin is None:
        return season
    index, products = _groups(season.products)
    units = dict(zip(index.tolist(), season.units, strict=True))
    demand = network.items.demand[network.items.demand > 0]
    aims = season.wanted if season.wanted is not None else tuple((demand / demand.sum() * season.aim).tolist())
    told = zip(season.products, season.units, aims, season.most, strict=True)
    return replace(
        season,
        products=products,
        units=tuple(units[k] for k in range(len(products))),
        wanted=None if season.wanted is None else _sums(season.wanted, index),
        most=_sums(season.most, index),
        limits=_limits(season.limits),
        balance=_weeks(season.balance),
        variants=tuple(Variant(*one) for one in told),
    )


def _groups(ids: tuple[str, ...]) -> tuple[Ints, tuple[str, ...]]:
    """The number of each variant's item among the items as written, in their order; and these."""
    written = tuple(dict.fromkeys(without_values(id) for id in ids))
    return np.array([written.index(without_values(id)) for id in ids], dtype=np.int64), written


def _sums(values: tuple[float, ...], index: Ints) -> tuple[float, ...]:
    return tuple(float(v) for v in np.bincount(index, values))


def _weeks(balance: WeekBalance) -> WeekBalance:
    fields: dict[str, Any] = {}
    for ids, amounts in (("kept", "stock"), ("products", "finished")):
        index, fields[ids] = _groups(getattr(balance, ids))
        fields[amounts] = _columns(getattr(balance, amounts), index, len(fields[ids]))
    return replace(balance, **fields)


def _columns(values: Floats, index: Ints, n: int) -> Floats:
    """[n_weeks, n] sums of the columns of each group."""
    out = np.zeros((len(values), n))
    np.add.at(out.T, index, values.T)
    return out


def _limits(limits: tuple[Limit, ...]) -> tuple[Limit, ...]:
    """Limits of which only the variant differs are one: a store behind an operation, an item that comes."""
    found: dict[tuple[str, str], Limit] = {}
    for one in limits:
        name = without_values(one.name)
        before = found.get((one.kind, name), replace(one, name=name, weight=0.0))
        weeks = (min(before.weeks[0], one.weeks[0]), max(before.weeks[1], one.weeks[1]))
        found[one.kind, name] = replace(before, weight=before.weight + one.weight, weeks=weeks)
    return tuple(sorted(found.values(), key=lambda one: -one.weight))
