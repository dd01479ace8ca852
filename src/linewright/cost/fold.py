"""Cost with variants told by what was written: one product for each item, the mean over what is wanted of its variants.

The cost of each variant by itself is in the cost of the network; parts of the mean add up to its total as there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from linewright.cost.model import Cost, ItemCost, OperationCost, Parts, ProductCost
from linewright.cost.rounding import digits_for, round_to_sum
from linewright.network.model import Network

_MONEY = tuple(f.name for f in fields(OperationCost) if f.name != "operation")


def fold_cost(network: Network, cost: Cost) -> Cost:
    """The cost of a network's products by what was written; itself where it has no variants."""
    origin = network.origin
    if origin is None:
        return cost
    number = {id: k for k, id in enumerate(network.items.ids)}
    variants: dict[int, list[ProductCost]] = {}
    for product in cost.products:
        variants.setdefault(int(origin.item[number[product.item]]), []).append(product)
    items = {id: origin.items[int(origin.item[k])] for id, k in number.items()}
    steps = {id: origin.operations[int(o)] for id, o in zip(network.operations.ids, origin.operation, strict=True)}
    missing = tuple(dict.fromkeys(_named(text, items) for text in cost.missing))
    products = tuple(_mean(origin.items[item], every, items, steps) for item, every in variants.items())
    return replace(cost, products=products, missing=missing)


def _named(text: str, items: dict[str, str]) -> str:
    id, _, rest = text.rpartition(" has no ")
    return f"{items.get(id, id)} has no {rest}"


def _mean(item: str, every: Sequence[ProductCost], items: dict[str, str], steps: dict[str, str]) -> ProductCost:
    """One of a product, as its variants are wanted."""
    day = sum(p.per_day for p in every)
    weights = [p.per_day / day for p in every]

    def mean(values: list[float]) -> float:
        return float(np.dot(weights, values))

    names = [f.name for f in fields(Parts)]
    exact = [mean([getattr(p.parts, name) for p in every]) for name in names]
    digits = digits_for(sum(exact))
    parts = Parts(**dict(zip(names, round_to_sum(exact, digits), strict=True)))
    prices = [p.price for p in every]
    price = None if any(p is None for p in prices) else mean([p for p in prices if p is not None])
    return ProductCost(
        item=item,
        unit=every[0].unit,
        per_day=day,
        parts=parts,
        total=parts.total,
        total_worked=round(parts.total - parts.idle_labour, 9),
        without_scrap=round(mean([p.without_scrap for p in every]), digits),
        price=price,
        margin=round(price - parts.total, 9) if price is not None else None,
        share=sum(p.share for p in every),
        by_item=_items(every, weights, items),
        by_operation=_steps(every, weights, steps),
        kwh=mean([p.kwh for p in every]),
    )


def _items(every: Sequence[ProductCost], weights: Sequence[float], items: dict[str, str]) -> tuple[ItemCost, ...]:
    found: dict[tuple[str, str, str], list[float]] = {}
    for product, weight in zip(every, weights, strict=True):
        for one in product.by_item:
            sums = found.setdefault((items[one.item], one.unit, one.role), [0.0, 0.0, 0.0])
            for k, part in enumerate((one.amount, one.money, one.lost)):
                sums[k] += weight * part
    return tuple(
        ItemCost(item, unit, role, amount, money / amount if amount else 0.0, money, lost)
        for (item, unit, role), (amount, money, lost) in found.items()
    )


def _steps(every: Sequence[ProductCost], weights: Sequence[float], steps: dict[str, str]) -> tuple[OperationCost, ...]:
    found: dict[str, list[float]] = {}
    for product, weight in zip(every, weights, strict=True):
        for one in product.by_operation:
            sums = found.setdefault(steps[one.operation], [0.0] * len(_MONEY))
            for k, name in enumerate(_MONEY):
                sums[k] += weight * getattr(one, name)
    return tuple(OperationCost(name, *found[name]) for name in dict.fromkeys(steps.values()) if name in found)
