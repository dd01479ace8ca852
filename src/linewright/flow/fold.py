"""A material balance with variants told by what was written: sums over the variants of every item and operation."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from linewright.flow.model import Escape, Flow, Scrap
from linewright.network.fold import choice_groups, fold_links, groups_of
from linewright.network.model import Network

_BY_OPERATION = ("runs", "first_runs", "cycles", "mass_in", "mass_out")
_BY_ITEM = (
    "delivered", "bought", "made", "used", "sold", "disposed", "left_over", "seconds", "going_round",
)  # fmt: skip


def fold_flow(network: Network, flow: Flow) -> Flow:
    """The balance of a network by what was written; itself where it has no variants."""
    origin = network.origin
    if origin is None:
        return flow
    items = groups_of(origin.item, len(origin.items), flow.bought + flow.made)
    routes = groups_of(origin.route, len(origin.routes), flow.started)
    operations = groups_of(origin.operation, len(origin.operations), flow.runs)
    finished = routes.total(flow.finished)
    item = origin.item[network.routes.item[routes.first]]
    total = np.bincount(item, finished, len(origin.items))[item]
    count = np.bincount(item, minlength=len(origin.items))[item]
    groups = choice_groups(network, origin)
    sums: dict[str, Any] = {name: operations.total(getattr(flow, name)) for name in _BY_OPERATION}
    sums |= {name: items.total(getattr(flow, name)) for name in _BY_ITEM}
    return replace(
        flow,
        **sums,
        operations=origin.operations,
        routes=origin.routes,
        items=origin.items,
        units=tuple(network.items.units[i] for i in items.first),
        started=routes.total(flow.started),
        finished=finished,
        mix=np.where(total > 0, finished / np.where(total > 0, total, 1.0), 1.0 / count),
        rolled_yield=routes.mean(flow.rolled_yield),
        item_use=fold_links(flow.item_use, items, origin.operation, weighed=False),
        scrap=_scrap(flow, origin.operation),
        escapes=_escapes(flow, origin.item, items.weight),
        choice_mix=tuple(_mix(network, flow, group) for group in groups),
        filled=np.array([float(flow.filled[group].sum()) for group in groups], dtype=np.float64),
    )


def _scrap(flow: Flow, of: np.ndarray) -> tuple[Scrap, ...]:
    found: dict[tuple[int, str], tuple[float, float]] = {}
    for scrap in flow.scrap:
        key = (int(of[scrap.operation]), scrap.reason)
        pieces, kg = found.get(key, (0.0, 0.0))
        found[key] = (pieces + scrap.pieces, kg + scrap.kg)
    return tuple(Scrap(o, reason, *amounts) for (o, reason), amounts in sorted(found.items()))


def _escapes(flow: Flow, of: np.ndarray, weight: np.ndarray) -> tuple[Escape, ...]:
    found: dict[tuple[int, int], float] = {}
    for escape in flow.escapes:
        key = (int(of[escape.item]), escape.fault)
        found[key] = found.get(key, 0.0) + escape.share * float(weight[escape.item])
    return tuple(Escape(item, fault, share) for (item, fault), share in found.items())


def _mix(network: Network, flow: Flow, group: list[int]) -> tuple[float, ...]:
    """The mix of one choice as written, its variants weighed by how often they are made."""
    runs = np.array([flow.runs[network.choices[k].operation] for k in group])
    weights = runs / runs.sum() if runs.sum() > 0 else np.full(len(group), 1 / len(group))
    mixed = sum(w * np.array(flow.choice_mix[k]) for w, k in zip(weights.tolist(), group, strict=True))
    return tuple(np.asarray(mixed).tolist())
