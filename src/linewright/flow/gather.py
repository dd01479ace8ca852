"""The solved balance told for operations, items, losses, scrap and masses: amounts for one working day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linewright.base.results import Honesty, Provenance
from linewright.flow.masses import masses
from linewright.flow.model import Escape, Flow, Scrap
from linewright.network.equations import Equations, Uses
from linewright.network.journeys import Journeys
from linewright.network.loops import leads_back
from linewright.network.model import Floats, Ints, Links, Network
from linewright.network.rows import owners, summed

if TYPE_CHECKING:
    from linewright.flow.solve import Balance


def gather(
    network: Network,
    journey: Journeys,
    rows: Equations,
    balance: Balance,
    mix: Floats,
    choice_mix: tuple[tuple[float, ...], ...],
    provenance: Provenance,
    honesty: Honesty,
) -> Flow:
    """Everything a Flow says."""
    operations, items, n_items = network.operations, network.items, len(network.items.ids)
    each = balance.started[operations.route]
    runs, first, takes = journey.runs * each, journey.first * each, journey.takes * each
    use = uses(network, rows, balance.started, choice_mix)
    used = summed(use.item, use.units, n_items) + rows.daily
    finished = rows.main * balance.started
    beside, seconds = (_scaled(part, each) for part in (rows.beside, rows.seconds))
    seconds_units = summed(seconds.item, seconds.units, n_items)
    made = summed(network.routes.item, finished, n_items)
    made += summed(beside.item, beside.units, n_items) + seconds_units
    returns = np.isfinite(items.stock) & (balance.bought == 0) & (used > 0) & (made < used)
    made = np.where(returns & (np.bincount(network.routes.item, minlength=n_items) == 0), used, made)
    sold, disposed, left = _surplus(network, balance.surplus)
    in_kg, out_kg = masses(network, runs, first, takes, choice_mix)
    return Flow(
        operations=operations.ids,
        routes=network.routes.ids,
        items=items.ids,
        units=items.units,
        losses=network.losses,
        faults=network.faults,
        runs=runs,
        first_runs=first,
        cycles=runs / operations.load_most,
        mass_in=in_kg,
        mass_out=out_kg,
        started=balance.started,
        finished=finished,
        mix=mix,
        rolled_yield=journey.rolled_yield,
        delivered=items.demand,
        bought=balance.bought,
        made=made,
        used=used,
        sold=sold,
        disposed=disposed,
        left_over=left,
        seconds=seconds_units,
        going_round=_going_round(network, use, beside, seconds),
        item_use=by_item(use, n_items),
        lost=_lost(network, takes),
        scrap=_scrap(network, journey, balance),
        escapes=tuple(Escape(item, fault, share) for (item, fault), share in journey.escapes.items()),
        choice_mix=choice_mix,
        filled=filled_of(network, rows, each),
        provenance=provenance,
        honesty=honesty,
        problems=network.problems,
    )


def _scaled(uses: Uses, each: Floats) -> Uses:
    return Uses(uses.operation, uses.item, uses.units * each[uses.operation])


def uses(network: Network, rows: Equations, started: Floats, choice_mix: tuple[tuple[float, ...], ...]) -> Uses:
    """Every use of an item on a working day, choices as they were made."""
    each = started[network.operations.route]
    filled = filled_of(network, rows, each)
    plain = _scaled(rows.takes, each)
    operation, item, units = [plain.operation], [plain.item], [plain.units]
    for k, choice in enumerate(network.choices):
        operation.append(np.full(len(choice.items), choice.operation, dtype=np.int64))
        item.append(np.array(choice.items, dtype=np.int64))
        units.append(filled[k] * np.array(choice_mix[k]) * np.array(choice.units))
    return Uses(np.concatenate(operation), np.concatenate(item), np.concatenate(units))


def filled_of(network: Network, rows: Equations, each: Floats) -> Floats:
    """[n_choices] how often every choice is filled on a working day."""
    return rows.feeds * each[np.array([choice.operation for choice in network.choices], dtype=np.int64)]


def _surplus(network: Network, surplus: Floats) -> tuple[Floats, Floats, Floats]:
    """Surplus by where it goes: sold where it has a price, disposed of where it has a charge, else left over."""
    has_price = np.isfinite(network.items.sell)
    has_charge = np.isfinite(network.items.disposal) & ~has_price
    return (
        np.where(has_price, surplus, 0.0),
        np.where(has_charge, surplus, 0.0),
        np.where(has_price | has_charge, 0.0, surplus),
    )


def _going_round(network: Network, use: Uses, beside: Uses, seconds: Uses) -> Floats:
    """Units of by-products that return to a route leading to where they came up, and of what circulates."""
    n_items = len(network.items.ids)
    back = leads_back(network)
    pairs = zip(use.item.tolist(), network.operations.route[use.operation].tolist(), strict=True)
    returns = np.array([pair in back for pair in pairs], dtype=np.bool_) if back else np.zeros(len(use.item), np.bool_)
    taken = summed(use.item[returns], use.units[returns], n_items)
    given = summed(beside.item, beside.units, n_items) + summed(seconds.item, seconds.units, n_items)
    circulates = np.isfinite(network.items.stock)
    return np.where(circulates, summed(use.item, use.units, n_items), np.minimum(given, taken))


def by_item(use: Uses, n_items: int) -> Links:
    """Uses as one row an item: operations and units."""
    order = np.lexsort((use.operation, use.item))
    starts: Ints = np.searchsorted(use.item[order], np.arange(n_items + 1)).astype(np.int64)
    return Links(starts, use.operation[order], use.units[order])


def _lost(network: Network, takes: Floats) -> Floats:
    """Kilograms of every named loss."""
    loses = network.operations.loses
    return summed(loses.index, loses.amount * takes[owners(loses)], len(network.losses))


def _scrap(network: Network, journey: Journeys, balance: Balance) -> tuple[Scrap, ...]:
    """Scrap by operation and reason, with its mass as it leaves the operation."""
    from linewright.flow.masses import mass_after

    after = mass_after(network)
    found = []
    for (operation, reason), pieces in sorted(journey.scrap.items()):
        amount = pieces * float(balance.started[network.operations.route[operation]])
        if amount > 0:
            reason = _with_ullage(network, operation) if reason == "yield" else reason
            found.append(Scrap(operation, reason, amount, amount * float(after[operation])))
    return tuple(found)


def _with_ullage(network: Network, o: int) -> str:
    """What a share that is lost is called: where it stands it may be the ullage, or that too."""
    operations = network.operations
    if operations.ullage[o] == 0:
        return "yield"
    plain = operations.survives[o] / (1 - operations.ullage[o] * operations.stand.mean[o])
    return "ullage" if plain >= 1 - 1e-12 else "yield and ullage"
