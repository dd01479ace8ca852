"""What stands in the places of a leg for want of room further on, beside what the stores between hold."""

from __future__ import annotations

import math

from linewright.flow.model import Flow
from linewright.network.model import NOWHERE, Network
from linewright.season.legs import Leg
from linewright.simulate.flowing import flows
from linewright.simulate.layout_base import load_of
from linewright.simulate.letting_in import lot_of


def standing(network: Network, flow: Flow, leg: Leg) -> float:
    """Pieces started that can wait in the places of a leg of work: a load or lot in each; at a bench without end."""
    lot, total = lot_of(network, leg.route), 0.0
    for visit in sorted(set(network.operations.visit[leg.first : leg.last + 1].tolist())):
        if int(network.visits.station[visit]) == NOWHERE:
            return math.inf
        first, last = int(network.visits.first[visit]), int(network.visits.last[visit])
        stations = network.operations.stations.row(first)[0]
        places = float(network.stations.places[stations].sum())
        if all(flows(network)[first : last + 1]):  # nothing stands in a flow but what dwells in it
            total += places * sum(_dwells(network, flow, o) for o in range(first, last + 1) if flow.runs[o] > 0)
            continue
        each = [
            load_of(network, o) * float(flow.started[leg.route] / flow.runs[o])
            for o in range(first, last + 1)
            if flow.runs[o] > 0
        ]
        total += places * max([lot, *each])
    return total


def _dwells(network: Network, flow: Flow, o: int) -> float:
    """Pieces started that dwell in one place of a flow."""
    pieces = float(network.operations.dwell[o]) / float(network.operations.each[o])
    return pieces * float(flow.started[network.operations.route[o]] / flow.runs[o])
