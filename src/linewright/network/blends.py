"""Blends to limits: what a mix of several items may hold, as long as it mixes linearly.

Grams a litre and per cent by volume mix by volume (volumes taken to add up, from which wines and ciders are far less
than 1 % away), shares of mass mix by mass. What does not mix linearly (pH is a logarithm) is refused by name.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

import numpy as np

from linewright.network.items import ItemFacts
from linewright.network.mixes import with_recipes
from linewright.network.model import BlendLimit, Network
from linewright.plan.called import item_called, step_called

if TYPE_CHECKING:
    from linewright.network.context import Context
    from linewright.plan.model import Amount

BY_VOLUME = ("mass/volume", "alcohol")


def limits_of(
    amount: Amount, path: str, indices: list[int], facts: list[ItemFacts], context: Context
) -> tuple[BlendLimit, ...]:
    """The limits of a blend; problems where they cannot be told or met."""
    found = []
    for name, (least, most) in amount.limits.items():
        here = f"{path}.limits.{name}"
        kind = (least or most).dimension  # type: ignore[union-attr]
        if kind == "number":
            context.problems.error(
                here, f"{name} is a bare number: it is not known to mix linearly", value=(least or most).text,  # type: ignore[union-attr]
                hint="limit what does: acid in g/L instead of pH",
            )  # fmt: skip
            continue
        held = [facts[i].item.contains.get(name) for i in indices]
        missing = next((facts[i].id for i, one in zip(indices, held, strict=True) if one is None), None)
        other = next((facts[i].id for i, one in zip(indices, held, strict=True) if one and one.dimension != kind), None)
        if missing or other:
            what = f"{missing} does not say its {name}" if missing else f"{name} of {other} is of another kind"
            context.problems.error(here, what, expected=f'contains = {{ {name} = "..." }} of every item of the blend')
            continue
        weight = [_weight(facts[i], kind) for i in indices]
        if any(math.isnan(w) for w in weight):
            by = "volume" if kind in BY_VOLUME else "mass"
            context.problems.error(here, f"{name} mixes by {by}, and not every item of the blend is measured by it")
            continue
        values = tuple(one.value for one in held if one is not None)
        low, high = least.value if least else -math.inf, most.value if most else math.inf
        unit = re.sub(r"^[\s\d_.eE+-]+", "", (least or most).text)  # type: ignore[union-attr]
        limit = BlendLimit(name, values, tuple(weight), low, high, unit)
        if min(values) > high * (1 + 1e-12) or max(values) < low * (1 - 1e-12):
            between = f"from {limit.said(min(values))} to {limit.said(max(values))}"
            context.problems.error(
                here, f"no blend of these can hold it: {name} is {between}",
                value=(most or least).text if min(values) > high else (least or most).text,  # type: ignore[union-attr]
            )  # fmt: skip
            continue
        if amount.shares:
            _check_shares(amount, limit, here, context)
        found.append(limit)
    return tuple(found)


def _check_shares(amount: Amount, limit: BlendLimit, path: str, context: Context) -> None:
    """Declared shares keep the limits too."""
    shares = np.array([amount.shares.get(name, 0.0) for name in amount.any_of]) * np.array(limit.weight)
    holds = float((shares * np.array(limit.value)).sum() / shares.sum())
    if not limit.least * (1 - 1e-9) <= holds <= limit.most * (1 + 1e-9):
        context.problems.error(
            path, f"the shares that are written hold {limit.said(holds)} of {limit.name}", hint="leave them out"
        )


def _weight(facts: ItemFacts, kind: str) -> float:
    """Litres (or kg) in one base unit of an item; nan where it is not measured so."""
    if kind in BY_VOLUME:
        return 1.0 if facts.dimension == "volume" else math.nan
    return facts.mass


def blended(network: Network, mixes: tuple[tuple[float, ...], ...]) -> Network:
    """The network with every blend to limits a fixed recipe, in the shares that the balance found.

    A recipe takes all its items together, so that every load keeps the limits, and not only their mean.
    """
    return with_recipes(
        network, {k: mix for k, (c, mix) in enumerate(zip(network.choices, mixes, strict=True)) if c.limits}
    )


def recipes(network: Network, mixes: tuple[tuple[float, ...], ...], why: str = "the cheapest") -> tuple[str, ...]:
    """The blends in words, with why it is these and what they hold."""
    said = []
    for choice, mix in zip(network.choices, mixes, strict=True):
        if not choice.limits:
            continue
        parts = [
            f"{100 * s:.3g} % {item_called(network.plan, network.items.ids[i])}"
            for i, s in zip(choice.items, mix, strict=True)
            if s > 1e-9
        ]
        held = []
        for limit in choice.limits:
            weight = np.array(mix) * np.array(choice.units) * np.array(limit.weight)
            held.append(f"{limit.name} {limit.said(float((weight * np.array(limit.value)).sum() / weight.sum()))}")
        name = step_called(network.plan, network.operations.ids[choice.operation])
        said.append(f"{name} blends {choice.label} of {', '.join(parts)}: {why} within its limits ({', '.join(held)}).")
    return tuple(said)
