"""Carriers as rows: how many, which operations put pieces on and take them off, and what is done on the way."""

from __future__ import annotations

import numpy as np

from linewright.base.distributions import Shape, spread
from linewright.network.context import Context
from linewright.network.evaluate import evaluate
from linewright.network.model import Carriers, Floats, Inspection, Links, Network
from linewright.network.reactions import reworks_of
from linewright.network.rows import DurationRows, LinkRows, floats, ints
from linewright.plan.carried import Stretch, stretch_of
from linewright.plan.model import Carrier


def compile_carriers(context: Context, inspections: tuple[Inspection, ...]) -> Carriers:
    """Every kind of carriers; a plain time between losses is read as exponential."""
    carriers = list(context.plan.carriers.values())
    way_back, between, repair = DurationRows(), DurationRows(), DurationRows()
    joins, leaves, stretch, items = LinkRows(), LinkRows(), LinkRows(), LinkRows()
    for carrier in carriers:
        _times(carrier, context, way_back, between, repair)
        found = stretch_of(carrier, context.plan.routes)
        operations = {context.operations[o] for o in found.operations}
        leave = {context.operations[o] for o in carrier.leaves if o in context.operations}
        join = {context.operations[o] for o in carrier.joins if o in context.operations}
        back_on = _back_on(inspections, operations) - join
        joins.add([*((o, 1.0) for o in sorted(join)), *((o, 0.0) for o in sorted(back_on))])
        leaves.add((o, 1.0) for o in sorted(leave))
        stretch.add((o, 1.0) for o in operations)
        items.add((context.items[i], 1.0) for i in _kept_items(found))
    return Carriers(
        ids=tuple(context.plan.carriers),
        count=ints([c.count for c in carriers]),
        holds=ints([c.holds for c in carriers]),
        way_back=way_back.done(),
        between=between.done(),
        repair=repair.done(),
        joins=joins.done(),
        leaves=leaves.done(),
        stretch=stretch.done(),
        items=items.done(),
        wear=floats([c.price.value / c.lasts_for if c.price and c.lasts_for else 0.0 for c in carriers]),
    )


def _kept_items(found: Stretch) -> list[str]:
    """Items whose units lie on their carrier between two routes."""
    return [item for item in found.items if item not in found.ends]


def _times(
    carrier: Carrier, context: Context, way_back: DurationRows, between: DurationRows, repair: DurationRows
) -> None:
    path, folder = f"carriers.{carrier.id}", context.plan.folder
    way_back.add(evaluate(carrier.way_back, f"{path}.way_back", context.problems, folder))
    repair.add(evaluate(carrier.repair, f"{path}.repair", context.problems, folder))
    time = evaluate(carrier.between_losses, f"{path}.between_losses", context.problems, folder)
    if carrier.between_losses is not None and time.mean <= 0:
        context.problems.error(f"{path}.between_losses", "the time between losses is above zero")
    elif carrier.between_losses is not None and time.is_fixed:
        time = spread(time.mean, 1.0, Shape.EXPONENTIAL)
    between.add(time)


def _back_on(inspections: tuple[Inspection, ...], stretch: set[int]) -> set[int]:
    """Operations of the stretch to which a piece is sent back when it is off its carrier: there it gets on again."""
    checks = (check for check in inspections if check.operation not in stretch)
    return {reject.to for check in checks for reject in reworks_of(check) if reject.to in stretch}


def uses_at(network: Network, carrier: int, runs: Floats, first_runs: Floats) -> Floats:
    """[n_operations] pieces a day that get on a carrier of a kind, at least, at each operation that puts them on.

    Every run, where no check on the way sends a piece back: such a one may stay on. Else those that come first.
    """
    carriers = network.carriers
    stretch = set(carriers.stretch.row(carrier)[0].tolist())
    stays_on = any(reworks_of(check) for check in network.inspections if check.operation in stretch)
    joins, written = carriers.joins.row(carrier)
    here = joins[written > 0]
    found = np.zeros(len(runs))
    found[here] = (first_runs if stays_on else runs)[here]
    return found


def carriers_of(links: Links, operations: int) -> list[list[int]]:
    """The carriers of each operation, from links carrier -> operations."""
    found: list[list[int]] = [[] for _ in range(operations)]
    for carrier in range(len(links.starts) - 1):
        for o in links.row(carrier)[0].tolist():
            found[o].append(carrier)
    return found
