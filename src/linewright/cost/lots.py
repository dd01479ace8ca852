"""How many to make at once? For every route with changeovers: the lot that costs least, and what the present one costs.

A changeover costs the people and the place for its time, and what it uses up. Stock costs a share of its value a year,
which the plan must say: ``of_stock`` under [overhead]. The lot is that of Harris with the pace of making; that the lots
also fit the hours at hand is for the capacity and the simulation to say.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np

from linewright.base.calendar import HOUR
from linewright.capacity.loads import loads
from linewright.capacity.model import Capacity
from linewright.capacity.segments import segments
from linewright.cost.daily import Daily, by_station, prices, spread
from linewright.cost.lot import Lot
from linewright.flow.model import Flow
from linewright.lots import economic_lot, lot_cost
from linewright.network.model import Floats, Network, Setups

WEEKS = 52
"""Working weeks in a year (common practice, no source)."""


def lots_of(network: Network, flow: Flow, capacity: Capacity, daily: Daily) -> tuple[Lot, ...]:
    """The lots of every route that has changeovers, where the plan says what stock costs; ``daily``: its money."""
    if network.plan.overhead.of_stock <= 0:
        return ()
    return tuple(_lots(network, flow, capacity, daily, network.plan.overhead.of_stock))


def _lots(network: Network, flow: Flow, capacity: Capacity, daily: Daily, of_stock: float) -> Iterator[Lot]:
    shares = by_station(network, capacity)
    load = loads(network, flow, segments(network), shares)
    once = _changeover_money(network, flow, load.setting_up, shares)
    value = values_of(network, flow, daily)
    changes = network.operations.setup_when == Setups.ITEM_CHANGES
    days = network.days_week * WEEKS
    for route, name in enumerate(network.routes.ids):
        own = np.flatnonzero(changes & (network.operations.route == route))
        made, item = float(flow.finished[route]), int(network.routes.item[route])
        setup, holding = float(once[own].sum()), of_stock * float(value[item])
        if not (len(own) and made > 0 and setup > 0 and holding > 0):
            continue
        demand, pace = made * days, made * days / _busiest(network, capacity, load.run + load.stand, own, shares)
        if not pace > demand:
            continue  # its stations are full with it alone: no lot makes a stock
        alone = float(load.setups[own].max())
        now = float(network.routes.lot[route]) or (made / alone if alone > 0 else made)
        best = economic_lot(demand, setup, holding, pace)
        about = [lot_cost(best * step, demand, setup, holding, pace) for step in STEPS]
        yield Lot(
            name, network.items.ids[item], network.items.units[item], demand, pace, setup, float(value[item]), holding,
            lot_cost(now, demand, setup, holding, pace), lot_cost(best, demand, setup, holding, pace), tuple(about),
            bool(network.routes.lot[route] > 0),
        )  # fmt: skip


STEPS = tuple(2.0 ** (k / 4) for k in range(-12, 13))
"""Parts and multiples of the best lot that the curve shows: an eighth to eightfold."""


def _changeover_money(network: Network, flow: Flow, setting_up: Floats, shares: Mapping[int, Floats]) -> Floats:
    """[n_operations] money of one setup: the place, the people, and what it uses up."""
    rows = network.operations
    rate = np.zeros(len(rows.ids))
    for station, share in shares.items():
        rate += share * float(np.nan_to_num(network.stations.machine_rate[station]))
    row, crew, people = spread(rows.setup_crews)
    wage = np.nan_to_num(network.crews.wage)
    rate += np.bincount(row, people * wage[crew], minlength=len(rate))
    row, item, units = spread(rows.setup_takes)
    used = np.bincount(row, units * prices(network, flow)[item], minlength=len(rate))
    return np.asarray(rate * setting_up / HOUR + used, dtype=np.float64)


def _busiest(
    network: Network, capacity: Capacity, hours: Floats, own: np.ndarray, shares: Mapping[int, Floats]
) -> float:
    """The part of the time that the route takes of the station it takes most of, setups left out."""
    route = network.operations.route[own[0]]
    most = 1e-9
    for station, share in shares.items():
        taken = float((share * hours)[network.operations.route == route].sum())
        at_hand = capacity.of("station", network.stations.ids[station]).available
        most = max(most, taken / at_hand if at_hand > 0 else math.inf)
    return most


def values_of(network: Network, flow: Flow, daily: Daily) -> Floats:
    """[n_items] what one unit has cost by the time it is made here, setups left out; parts at their own value.

    What is only bought counts at its price. Overhead and idle hours are left out: stock does not change them.
    """
    n = len(network.items.ids)
    item_of = network.routes.item[network.operations.route]
    direct = np.bincount(item_of, daily.total - daily.setup, minlength=n)
    made = np.asarray(flow.made, dtype=np.float64)
    supply = made + flow.bought
    item, operation, units = spread(flow.item_use)
    own = np.divide(made, supply, out=np.zeros(n), where=supply > 0)[item]  # what is bought is in the money already
    takes = np.zeros((n, n))
    np.add.at(takes, (item_of[operation], item), units * own)
    makes = np.flatnonzero(made > 1e-12)
    found = np.nan_to_num(network.items.buy).astype(np.float64)
    matrix = np.diag(made[makes]) - takes[np.ix_(makes, makes)]
    found[makes] = np.linalg.lstsq(matrix, direct[makes], rcond=None)[0]
    return np.maximum(found, 0.0)
