"""Amounts that follow from an operation's own model of physics: water of a dryer, gas of a must, shares of a screen.

The model speaks of a kilogram of dry matter, a litre or the whole feed; what a piece holds of them is known here. After
this step an amount is a mass or a share like any other, so every check and every engine treats it alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from linewright.base.problems import ProblemsError, did_you_mean
from linewright.base.units import Quantity
from linewright.network.context import Context
from linewright.network.items import ItemFacts, units_of
from linewright.plan.model import Amount, Operation

if TYPE_CHECKING:
    from linewright.physics.outcome import Outcome, Timed

_FACTORS = {"kg/kg dry": 1.0, "g/L must": 1e-3, "%": 1e-2}
"""kg (or a share) for each unit of what the amount is of."""


def with_amounts(
    operation: Operation,
    path: str,
    piece: tuple[float, float, int, float],
    facts: list[ItemFacts],
    context: Context,
) -> Operation:
    """The operation with every amount by model filled in; ``piece`` is kg, kg of water, item carried and its amount.

    Problems name an outcome that the model does not have, and matter of which it cannot be told how much goes in.
    """
    if not any(a.model for a in (*operation.takes, *operation.gives, *operation.loses)):
        return operation
    outcomes = _outcomes(operation)

    def filled(amount: Amount, field: str) -> Amount:
        here = f"{path}.{field}.{amount.item}"
        if not amount.model or outcomes is None:
            return replace(amount, quantity=_mass(0.0)) if amount.model else amount
        found = next((o for o in outcomes if o.name == amount.model and o.amount_of), None)
        if found is None:
            return _unknown(amount, here, outcomes, context)
        value = found.value * _FACTORS[found.unit]
        if found.amount_of == "feed":
            if field == "takes":
                context.problems.error(f"{here}.model", "a share of what goes in cannot say how much goes in",
                                       value=amount.model)  # fmt: skip
                return replace(amount, quantity=_mass(0.0))
            return replace(amount, share=value)
        held = _litres(operation, piece, facts, context) if found.amount_of == "litre" else _dry_matter(
            operation, piece, facts, context)  # fmt: skip
        if not held > 0:
            what = f"the model tells it for each {found.amount_of}, and how much of that goes in is not known"
            hint = "give what goes in a moisture" if found.amount_of == "dry matter" else "take an item measured in L"
            context.problems.error(f"{here}.model", what, value=amount.model, hint=hint)
            return replace(amount, quantity=_mass(0.0))
        return replace(amount, quantity=_mass(value * held))

    return replace(
        operation,
        takes=tuple(filled(a, "takes") for a in operation.takes),
        gives=tuple(filled(a, "gives") for a in operation.gives),
        loses=tuple(filled(a, "loses") for a in operation.loses),
    )


def _mass(kg: float) -> Quantity:
    return Quantity(kg, "mass", f"{kg:.4g} kg")


def _outcomes(operation: Operation) -> Sequence[Outcome] | None:
    """What the operation's models tell beside the time; None where a model has errors of its own."""
    found: list[Outcome] = []
    for told in models_of(operation):
        if told is None:
            return None
        found += told.outcomes
    return found


def models_of(operation: Operation) -> Iterator[Timed | None]:
    """What each model behind an operation's times tells; None for one with errors, which evaluating the time names."""
    for written in (operation.time, operation.stand):
        if written is None or written.physics is None:
            continue
        from linewright.physics.models import MODELS, evaluate_model

        if written.physics not in MODELS:
            continue
        try:
            yield evaluate_model(written.physics, written.conditions).timed
        except ProblemsError:
            yield None


def _unknown(amount: Amount, path: str, outcomes: Sequence[Outcome], context: Context) -> Amount:
    known = [o.name for o in outcomes if o.amount_of]
    if not outcomes:
        what, hint = "the operation has no model that could tell an amount", "write time or stand by a model of physics"
    elif not known:
        what, hint = "the operation's model tells no amount of anything", "write the amount"
    else:
        what = "the operation's model tells no such amount"
        hint = did_you_mean(amount.model, known) or f"it tells {', '.join(known)}"
    context.problems.error(f"{path}.model", what, value=amount.model, hint=hint)
    return replace(amount, quantity=_mass(0.0))


def _litres(
    operation: Operation, piece: tuple[float, float, int, float], facts: list[ItemFacts], context: Context
) -> float:
    """Litres of one piece: of what it is thought of as, else of the liquids that it takes."""
    _, _, carried, amount = piece
    if carried >= 0 and facts[carried].dimension == "volume":
        return amount
    return sum(units for item, units in _taken(operation, facts, context) if item.dimension == "volume")


def _dry_matter(
    operation: Operation, piece: tuple[float, float, int, float], facts: list[ItemFacts], context: Context
) -> float:
    """kg of dry matter in one piece: what came, and what it takes that has a moisture; fuels are burnt, not dried."""
    mass, water, _, _ = piece
    came = mass - water if math.isfinite(mass) else 0.0
    moist = (
        units * item.mass * (1 - item.water)
        for item, units in _taken(operation, facts, context)
        if item.water is not None and item.item.heating_value is None
    )
    return came + sum(moist)


def _taken(operation: Operation, facts: list[ItemFacts], context: Context) -> list[tuple[ItemFacts, float]]:
    """Items and units of what is taken in a written amount and without a choice."""
    quiet = type(context.problems)()
    return [
        (facts[context.items[a.item]], units_of(facts[context.items[a.item]], a.quantity, "", quiet))
        for a in operation.takes
        if not a.any_of and a.quantity is not None and a.item in context.items
    ]
