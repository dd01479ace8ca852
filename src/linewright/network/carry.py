"""What a piece carries along its route: its mass, its water, how many pieces it becomes, what leaves it by name.

Shares and rests of a separation become amounts a piece here. One rest follows from the balance of mass; two rests (a
product and its water, or two products of known moisture) follow from the balances of dry matter and water.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from linewright.network.blends import limits_of
from linewright.network.context import Context
from linewright.network.items import ItemFacts, units_of
from linewright.network.loads import pieces_in_load
from linewright.network.model import NOWHERE, BlendLimit
from linewright.network.modelled import with_amounts
from linewright.network.separation import Stream, separate
from linewright.network.vessels import NOT_SIZED, Sized, in_vessels
from linewright.plan.model import Amount, Operation, Route

Pair = tuple[int, float]


@dataclass(slots=True)
class Feed:
    """A feed that any of several items can fill: item indices, units of each a piece, declared mix (nan: none)."""

    label: str
    items: tuple[int, ...]
    units: tuple[float, ...]
    shares: tuple[float, ...]
    limits: tuple[BlendLimit, ...] = ()


@dataclass(slots=True)
class Step:
    """What one operation does to one piece.

    ``mass`` and ``water`` are kg of the piece in work, what it takes included, nan where unknown; ``leaves`` kg of the
    piece afterwards, before it becomes ``pieces_out`` pieces; ``carried`` is the item the piece is thought of as, and
    ``amount`` its base units a piece.
    """

    load_least: float
    load_most: float
    takes: list[Pair] = field(default_factory=list)
    per_load: list[Pair] = field(default_factory=list)
    feeds: list[Feed] = field(default_factory=list)
    gives: list[Pair] = field(default_factory=list)
    loses: list[Pair] = field(default_factory=list)
    pieces_out: float = 1.0
    mass: float = math.nan
    water: float = math.nan
    leaves: float = math.nan
    carried: int = NOWHERE
    amount: float = math.nan
    sized: Sized = NOT_SIZED


@dataclass(slots=True)
class Piece:
    """The piece between two operations."""

    mass: float
    water: float
    carried: int
    amount: float
    unknown: dict[str, None]  # items without a mass in it, in order


def carry_route(route: Route, facts: list[ItemFacts], context: Context) -> list[Step]:
    """Follow one piece along a route; the mass of the route's item is filled in where only the route tells it."""
    own = context.look_up(context.items, route.gives, f"routes.{route.id}.gives", "item")
    changes = [any(a.item == route.gives for a in operation.gives) for operation in route.operations]
    start = 0.0 if any(o.takes or o.takes_per_load for o in route.operations) else math.nan
    piece = Piece(start, start, *_first_carried(route, own, changes, facts, context), unknown={})
    steps = []
    last = len(route.operations) - 1
    for position, operation in enumerate(route.operations):
        path = f"routes.{route.id}.operations[{position}]"
        steps.append(_step(operation, path, piece, own, position == last, facts, context))
    return steps


def _first_carried(
    route: Route, own: int, changes: list[bool], facts: list[ItemFacts], context: Context
) -> tuple[int, float]:
    """A piece is one written unit of the route's item, or before a change what the route takes first."""
    if own < 0 or not any(changes):
        return own, facts[own].factor if own >= 0 else math.nan
    for operation in route.operations[: changes.index(True) + 1]:
        for amount in operation.takes:
            name = amount.any_of[0] if amount.any_of else amount.item
            index = context.items.get(name, NOWHERE)
            if index >= 0 and amount.quantity is not None:
                quiet = type(context.problems)()
                return index, units_of(facts[index], amount.quantity, "", quiet)
    return NOWHERE, math.nan


def _step(
    operation: Operation, path: str, piece: Piece, own: int, last: bool, facts: list[ItemFacts], context: Context
) -> Step:
    """One operation: parts join the piece, by-products and losses leave it, it becomes what it gives."""
    operation = with_amounts(operation, path, (piece.mass, piece.water, piece.carried, piece.amount), facts, context)
    takes, feeds = _takes(operation.takes, f"{path}.takes", facts, context)
    for index, units in takes:
        _join(piece, facts[index], units * facts[index].mass)
    for feed in feeds:
        _join_feed(piece, feed, facts)
    load = operation.move.lot if operation.load is None and operation.move is not None else operation.load
    least, most = pieces_in_load(load, f"{path}.load", piece.mass, piece.carried, piece.amount, facts, context)
    holds = (piece.mass, piece.carried, piece.amount)
    least, most, sized = in_vessels(operation, load, (least, most), path, holds, facts, context)
    per_load, none = _takes(operation.takes_per_load, f"{path}.takes_per_load", facts, context)
    if none:
        context.problems.error(f"{path}.takes_per_load", "a choice of items for each load is not yet played")
    for index, units in per_load:
        _join(piece, facts[index], units * facts[index].mass / most)
    step = Step(least, most, takes, per_load, feeds, mass=piece.mass, water=piece.water)
    step.sized = sized
    step.carried, step.amount = piece.carried, piece.amount
    _leave(step, operation, path, piece, own, last, facts, context)
    return step


def _takes(
    amounts: tuple[Amount, ...], path: str, facts: list[ItemFacts], context: Context
) -> tuple[list[Pair], list[Feed]]:
    """Items and base units of what is taken, and the feeds that have a choice."""
    pairs: list[Pair] = []
    feeds: list[Feed] = []
    for amount in amounts:
        here = f"{path}.{amount.item}"
        names = amount.any_of or (amount.item,)
        indices = [context.look_up(context.items, name, here, "item") for name in names]
        if amount.quantity is None:
            what = "an amount by model is played only in takes" if amount.model else "how much is taken is not written"
            context.problems.error(here, what, expected='an amount such as "0.42 kg" or 1')
            continue
        if min(indices) < 0:
            continue
        units = [units_of(facts[i], amount.quantity, here, context.problems) for i in indices]
        if any(math.isnan(u) for u in units):
            continue
        if min(units) < 0:
            context.problems.error(here, "an amount taken cannot be negative", value=amount.quantity.text)
        elif amount.any_of:
            feeds.append(_feed(amount, here, indices, units, facts, context))
        else:
            pairs.append((indices[0], units[0]))
    return pairs, feeds


def _feed(
    amount: Amount, path: str, indices: list[int], units: list[float], facts: list[ItemFacts], context: Context
) -> Feed:
    shares = [math.nan] * len(indices)
    if amount.shares:
        shares = [amount.shares.get(name, 0.0) for name in amount.any_of]
        if abs(sum(shares) - 1) > 1e-9:
            context.problems.error(f"{path}.shares", "the shares do not add up to 100 %", value=f"{sum(shares):.6g}")
            shares = [math.nan] * len(indices)
    limits = limits_of(amount, path, indices, facts, context)
    return Feed(amount.item, tuple(indices), tuple(units), tuple(shares), limits)


def _join(piece: Piece, facts: ItemFacts, mass: float) -> None:
    if math.isnan(mass):
        piece.unknown[facts.id] = None
    piece.mass += mass
    piece.water += mass * (facts.water or 0.0)


def _join_feed(piece: Piece, feed: Feed, facts: list[ItemFacts]) -> None:
    """A choice joins with the mean of its declared mix, or where all alternatives weigh and hold the same."""
    masses = [units * facts[i].mass for i, units in zip(feed.items, feed.units, strict=True)]
    waters = [mass * (facts[i].water or 0.0) for i, mass in zip(feed.items, masses, strict=True)]
    weights = feed.shares if not math.isnan(feed.shares[0]) else None
    for name, values in (("mass", masses), ("water", waters)):
        if weights is not None:
            value = sum(w * v for w, v in zip(weights, values, strict=True))
        else:
            same = max(values) - min(values) <= 1e-12 * max(map(abs, values))
            value = values[0] if same else math.nan
        setattr(piece, name, getattr(piece, name) + value)
        if math.isnan(value):
            piece.unknown[feed.label] = None


def _leave(
    step: Step,
    operation: Operation,
    path: str,
    piece: Piece,
    own: int,
    last: bool,
    facts: list[ItemFacts],
    context: Context,
) -> None:
    """By-products and losses leave; the rest goes on as ``pieces_out`` pieces of mass each."""
    own_facts = facts[own] if own >= 0 else None
    streams: list[Stream] = []
    product: Stream | None = None
    for amount in operation.gives:
        index = context.look_up(context.items, amount.item, f"{path}.gives.{amount.item}", "item")
        if index >= 0:
            streams.append(_stream(amount, facts[index], f"{path}.gives.{amount.item}", context))
            product = streams[-1] if index == own else product
    changed = product is not None
    if product is None:
        product = Stream(own_facts.id if own_facts else "piece", water=own_facts.water if own_facts and last else None)
        if last and own_facts is not None:
            product.units = own_facts.factor
            product.kg = own_facts.factor * own_facts.mass if own_facts.declared_mass else math.nan
        elif own_facts is not None and any(a.rest for a in operation.loses):
            product.water = own_facts.water
        streams.append(product)
    losses = [_loss(amount, facts, f"{path}.loses.{amount.item}", context) for amount in operation.loses]
    if changed and not last and own_facts is not None:
        _unfinished(product, streams, losses, piece.mass)
    separate(streams, losses, product, piece.mass, piece.water, list(piece.unknown), path, context)
    step.gives = [(context.items[s.name], s.units) for s in streams if s is not product]
    step.loses = [(context.losses[s.name], s.kg) for s in losses]
    _go_on(step, piece, product, own, own_facts, changed, last, context.plan.tolerance)


def _unfinished(product: Stream, streams: list[Stream], losses: list[Stream], mass: float) -> None:
    """In mid-route the declared mass of the item is not yet that of the piece (trim may still come off): it follows
    from the balance wherever everything else is known, and is compared at the end of the route."""
    others = [s for s in streams + losses if s is not product]
    if not math.isnan(mass) and not any(s.rest or (s.share is None and math.isnan(s.kg)) for s in others):
        product.kg = math.nan if product.share is None else product.kg


def _stream(amount: Amount, facts: ItemFacts, path: str, context: Context) -> Stream:
    stream = Stream(amount.item, path=path, water=facts.water, unit_mass=facts.mass, share=amount.share)
    stream.rest = amount.rest
    if amount.quantity is not None:
        stream.units = units_of(facts, amount.quantity, path, context.problems)
        stream.kg = stream.units * facts.mass
    return stream


def _loss(amount: Amount, facts: list[ItemFacts], path: str, context: Context) -> Stream:
    """A loss is a mass; named after an item it may be written in the item's own unit. Water is water."""
    index = context.items.get(amount.item, NOWHERE)
    loss = Stream(amount.item, path=path, unit_mass=1.0, share=amount.share)
    loss.rest = amount.rest
    loss.water = facts[index].water if index >= 0 else (1.0 if amount.item == "water" else None)
    if amount.quantity is not None and index >= 0 and amount.quantity.dimension != "mass":
        loss.kg = units_of(facts[index], amount.quantity, path, context.problems) * facts[index].mass
    elif amount.quantity is not None and amount.quantity.dimension == "mass":
        loss.kg = amount.quantity.value
    elif amount.quantity is not None:
        context.problems.error(path, "what is lost is a mass", value=amount.quantity.text, expected='"0.1 kg" or "2 %"')
    loss.units = loss.kg
    return loss


def _go_on(
    step: Step,
    piece: Piece,
    product: Stream,
    own: int,
    own_facts: ItemFacts | None,
    changed: bool,
    last: bool,
    tolerance: float,
) -> None:
    """The piece leaves as its product: one written unit of the item from the change on."""
    step.leaves = product.kg
    factor = own_facts.factor if own_facts is not None else 1.0
    if last:
        step.pieces_out = product.units
        if own_facts is not None and not own_facts.declared_mass and product.units > 0:
            own_facts.weigh(product.kg / product.units, tolerance)
    elif changed:
        step.pieces_out = product.units / factor
        piece.carried, piece.amount = own, factor
    if step.pieces_out > 0:
        piece.mass = product.kg / step.pieces_out
        water = product.water
        piece.water = piece.mass * water if water is not None else product.kg_water / step.pieces_out
    if not math.isnan(piece.mass):
        piece.unknown.clear()
