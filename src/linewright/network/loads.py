"""Loads in pieces: what is written as a count, a mass, a volume, an area, a length or a height of a stack."""

from __future__ import annotations

import math

from linewright.base.nouns import plural
from linewright.base.problems import Problems
from linewright.base.units import Quantity
from linewright.network.context import Context
from linewright.network.items import ItemFacts
from linewright.plan.model import Item, Load


def pieces_of(
    quantity: Quantity, path: str, mass: float, carried: int, amount: float, facts: list[ItemFacts], context: Context
) -> float:
    """How many pieces an amount is, for a piece of ``mass`` kg that is ``amount`` units of item ``carried``.

    nan and a problem where the piece has no such measure.
    """
    if quantity.dimension in ("number", "count"):
        return quantity.value
    if carried >= 0 and facts[carried].dimension == quantity.dimension and amount > 0:
        return quantity.value / amount
    if quantity.dimension == "mass" and mass > 0:
        return quantity.value / mass
    if quantity.dimension == "dry mass" and carried >= 0 and facts[carried].mass > 0:
        dry = amount * facts[carried].mass * (1 - (facts[carried].water or 0.0))
        return quantity.value / dry
    name = facts[carried].id if carried >= 0 else "the piece"
    known = f"a {facts[carried].dimension}" if carried >= 0 else "of no known unit"
    context.problems.error(
        path,
        f'"{quantity.text}" is a {quantity.dimension}, and {name} is {known}',
        value=quantity.text,
        expected="a number of pieces, or an amount in the piece's own unit",
        hint="write the masses of what the route takes" if quantity.dimension == "mass" else None,
    )
    return math.nan


def whole_of(pieces: float, quantity: Quantity, path: str, item: Item, mass: float, problems: Problems) -> float:
    """So many pieces of what is counted, as a whole number; nan and a problem that names both neighbours where not.

    ``mass`` kg of one, where the amount is told by mass (else nan).
    """
    nearest = round(pieces)
    if abs(pieces - nearest) <= WHOLE * max(pieces, 1.0):
        return float(nearest)
    fewer = math.floor(pieces)
    told = [f"{n} ({n * mass:.4g} kg)" if mass > 0 else str(n) for n in (fewer, fewer + 1) if n > 0]
    name = item.unit if item.unit != "each" else item.name or item.id.replace("_", " ")
    what = f'"{quantity.text}" comes to {pieces:.4g} {plural(name)}, which are counted'
    problems.error(path, what, value=quantity.text, expected="a whole number", hint=f"write {' or '.join(told)}")
    return math.nan


WHOLE = 1e-6
"""How far from a whole number counted pieces may be, as masses are rounded."""


def pieces_in_load(
    load: Load | None, path: str, mass: float, carried: int, amount: float, facts: list[ItemFacts], context: Context
) -> tuple[float, float]:
    """Least and most pieces of a load; 1 and 1 where there is none."""
    if load is None:
        return 1.0, 1.0
    if load.height is not None:
        most = _stack(load.height, path, carried, amount, facts, context)
        return (most if load.waits is None else 1.0), most
    if load.most is None:
        context.problems.error(path, "how much a load holds is not written", expected='12, "4000 L" or { most = 12 }')
        return 1.0, 1.0

    def pieces(quantity: Quantity) -> float:
        found = pieces_of(quantity, path, mass, carried, amount, facts, context)
        if carried < 0 or facts[carried].dimension != "count" or math.isnan(found):
            return found
        one = mass if quantity.dimension == "mass" else math.nan
        return whole_of(found, quantity, path, facts[carried].item, one, context.problems)

    most = pieces(load.most)
    if load.least is not None:
        least = pieces(load.least) if load.least != load.most else most
    else:
        least = most if load.waits is None else min(1.0, most)
    if math.isnan(most) or math.isnan(least):
        return 1.0, 1.0
    if not 0 < least <= most:
        context.problems.error(path, "a load holds more than nothing, its least at most its most", value=load.most.text)
        return 1.0, 1.0
    return least, most


def _stack(height: Quantity, path: str, carried: int, amount: float, facts: list[ItemFacts], context: Context) -> float:
    """Whole pieces in a stack of a height."""
    thickness = facts[carried].thickness * amount if carried >= 0 else math.nan
    if not thickness > 0:
        name = facts[carried].id if carried >= 0 else "the piece"
        context.problems.error(
            path, f"a load limited by height needs the thickness of {name}", value=height.text,
            hint=f'write items.{name}.thickness = "16 mm"' if carried >= 0 else None,
        )  # fmt: skip
        return 1.0
    pieces = math.floor(height.value / thickness + 1e-9)
    if pieces < 1:
        context.problems.error(path, "not one piece fits this height", value=height.text)
        return 1.0
    return float(pieces)
