"""Direct cost of starting one piece on a route: hands-on labour and machine time, to choose between makers."""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import HOUR
from linewright.network.clock import cycle_ns
from linewright.network.journeys import Journeys
from linewright.network.model import Floats, Network, Setups
from linewright.network.rows import summed


def hands_ns(network: Network) -> Floats:
    """[n_operations] mean ns that a crew works on one full load."""
    operations = network.operations
    whole = operations.time.mean + operations.each * operations.load_most
    return np.where(operations.hands_all, whole, operations.hands_start + operations.hands_end)


def direct_cost(network: Network, journeys: Journeys) -> Floats:
    """[n_routes] money for one piece started, material left out."""
    operations = network.operations
    wage = np.nan_to_num(network.crews.wage)
    owner = np.repeat(np.arange(len(operations.ids)), np.diff(operations.crews.starts))
    people = np.bincount(owner, operations.crews.amount * wage[operations.crews.index], len(operations.ids))
    rate = np.zeros(len(operations.ids))
    has = np.diff(operations.stations.starts) > 0
    rate[has] = np.nan_to_num(network.stations.machine_rate)[
        operations.stations.index[operations.stations.starts[:-1][has]]
    ]
    per_piece = (people * hands_ns(network) / operations.tends + rate * cycle_ns(network)) / operations.load_most
    setup = np.where(operations.setup_when == Setups.EVERY, operations.setup.mean / operations.setup_every, 0.0)
    money = (per_piece + setup * (people + rate)) / HOUR
    return summed(operations.route, money * journeys.runs, len(network.routes.ids))
