"""The way of every fault through all steps to the customer, and what one more look for it would be worth."""

from __future__ import annotations

import numpy as np

from linewright.answer.quality.model import Event, FaultStep, FaultWay, OneMoreLook
from linewright.flow.model import Flow
from linewright.network.chains import taken_at
from linewright.network.clumps import Clump, Clumps, clumps_of
from linewright.network.model import Floats, Network
from linewright.network.order import routes_in_order
from linewright.network.way import Way

USUAL = 0.9
"""What one more look is taken to find; a person looking for one fault (common practice, no source)."""
MILLION = 1e6


def ways(network: Network, flow: Flow, way: Way) -> tuple[FaultWay, ...]:
    """The way of every fault that is made, the one that reaches the customer most often first."""
    clumps = clumps_of(network)
    found = [_way(network, flow, way, clumps, fault) for fault in range(len(network.faults))]
    return tuple(sorted((w for w in found if w.made > 0), key=lambda w: -w.escapes))


def reaches_customer(flow: Flow, fault: int) -> float:
    """The share of delivered units with a fault, demanded items weighed by their demand."""
    total = flow.demand
    return sum(float(flow.delivered[e.item]) / total * e.share for e in flow.escapes if e.fault == fault)


def any_fault(network: Network, flow: Flow, way: Way) -> float | None:
    """The share of delivered units with any fault; None where it was not followed."""
    routes, total, found = network.routes, flow.demand, 0.0
    for item in np.flatnonzero(flow.delivered > 0).tolist():
        makers = np.flatnonzero(routes.item == item)
        shares = flow.mix[makers] * way.any_fault[routes.last[makers]]
        if np.isnan(shares).any():
            return None
        found += float(flow.delivered[item]) / total * float(shares.sum())
    return found


def _way(network: Network, flow: Flow, way: Way, clumps: Clumps, fault: int) -> FaultWay:
    operations, name = network.operations, network.faults[fault]
    number = {route: k for k, route in enumerate(network.routes.ids)}
    bringers = _bringers(network, way, fault)
    looks = {c.operation: dict(zip(c.faults, c.finds, strict=True)).get(fault, 0.0) for c in network.inspections}
    steps: list[FaultStep] = []
    made = 0.0
    for route in routes_in_order(network.plan):
        k = number[route.id]
        for o in range(int(network.routes.first[k]), int(network.routes.last[k]) + 1):
            index, share = operations.faults.row(o)
            drawn = float(share[index == fault].sum())
            made += drawn * float(flow.runs[o] * operations.survives[o])
            for event, part in _events(drawn, bringers.get(o, 0.0), looks.get(o, 0.0)):
                steps.append(FaultStep(operations.ids[o], event, part, MILLION * float(way.carried[o, fault])))
    escapes = reaches_customer(flow, fault)
    each = _in_each(network, flow, clumps, fault)
    wanted = np.flatnonzero(flow.delivered > 0).tolist()
    shares = {e.item: float(flow.delivered[e.item]) * e.share for e in flow.escapes if e.fault == fault}
    inside = sum(shares.get(item, 0.0) * each.get(item, 1.0) for item in wanted)
    mean = inside / (flow.demand * escapes) if escapes > 0 else 1.0
    return FaultWay(name, MILLION * made / flow.demand, MILLION * escapes, tuple(steps), mean)


def _in_each(network: Network, flow: Flow, clumps: Clumps, fault: int) -> dict[int, float]:
    """Item to how many of a fault there are in a unit that carries it: one made there, or those of all its parts."""
    p = network.operations
    share = {e.item: e.share for e in flow.escapes if e.fault == fault}
    number = {route: k for k, route in enumerate(network.routes.ids)}
    found: dict[int, tuple[float, float]] = {}
    for route in routes_in_order(network.plan):
        k = number[route.id]
        units, faults = found.get(int(network.routes.item[k]), (0.0, 0.0))
        for o in range(int(network.routes.first[k]), int(network.routes.last[k]) + 1):
            index, drawn = p.faults.row(o)
            made = float(drawn[index == fault].sum())
            units, faults = units + made, faults + made
            for item, amount in zip(*(row.tolist() for row in p.takes.row(o)), strict=True):
                if share.get(item, 0.0) > 0 and item in found:
                    met = clumps.of_items.get((item, fault), ALONE).met(share[item], amount)
                    units += met
                    faults += amount * share[item] * found[item][1] / found[item][0]
            out = float(p.pieces_out[o])
            faults /= out  # in each unit now
            if out < 1:
                units = clumps.gathered.get((o, fault), ALONE).met(min(units, 1.0), 1 / out)
        if units > 0:
            found[int(network.routes.item[k])] = (units, faults)
    return {item: faults / units for item, (units, faults) in found.items()}


ALONE = Clump(1.0, 1.0, whole=False)
"""A fault that comes unit by unit."""


def _events(drawn: float, brought: float, looked: float) -> list[tuple[Event, float]]:
    """What happens to a fault at one operation, in the order in which it happens."""
    every: list[tuple[Event, float]] = [("brought", brought), ("made", drawn), ("looked for", looked)]
    return [(event, share) for event, share in every if share > 0]


def _bringers(network: Network, way: Way, fault: int) -> dict[int, float]:
    """Operations whose parts bring a fault, with the greatest share of the parts that carry it."""
    leaves: dict[int, float] = {}
    for k, item in enumerate(network.routes.item.tolist()):
        share = float(way.carried[int(network.routes.last[k]), fault])
        leaves[item] = max(leaves.get(item, 0.0), share)
    found: dict[int, float] = {}
    for (_, item), takers in taken_at(network).items():
        for o in takers if leaves.get(item, 0.0) > 0 else ():
            found[o] = max(found.get(o, 0.0), leaves[item])
    return found


def one_more_look(network: Network, flow: Flow, costs: dict[str, float]) -> tuple[OneMoreLook, ...]:
    """What one more look for each fault is worth where it is made; only what its escapes cost is counted.

    ``costs`` is money for one that reaches the customer, by fault. Finding it early also saves the work put into a
    faulty piece later on, so the worth is the least it could be.
    """
    found = []
    made_by = _makers(network)
    for fault, name in enumerate(network.faults):
        lost = reaches_customer(flow, fault) * costs.get(name, 0.0)
        makers = made_by.get(fault, [])
        if lost <= 0 or not makers:
            continue
        weights = [float(flow.runs[o]) * p for o, p in makers]
        o, share = max(zip([o for o, _ in makers], weights, strict=True), key=lambda pair: pair[1])
        looks = float(flow.first_runs[o]) / flow.demand
        worth = USUAL * lost * share / sum(weights) / looks if sum(weights) > 0 and looks > 0 else 0.0
        crew, wage = _crew(network, o)
        seconds = 3600 * worth / wage if wage > 0 else None
        found.append(OneMoreLook(name, network.operations.ids[o], lost, worth, USUAL, crew, seconds))
    return tuple(sorted(found, key=lambda look: -look.lost))


def _makers(network: Network) -> dict[int, list[tuple[int, float]]]:
    table: dict[int, list[tuple[int, float]]] = {}
    for o in range(len(network.operations.ids)):
        index, share = network.operations.faults.row(o)
        for fault, p in zip(index.tolist(), share.tolist(), strict=True):
            table.setdefault(fault, []).append((o, p))
    return table


def _crew(network: Network, o: int) -> tuple[str, float]:
    """The first crew of an operation and its wage, stretched by allowance and presence; nothing where there is none."""
    index, _ = network.operations.crews.row(o)
    if not index.size:
        return "", 0.0
    crew = int(index[0])
    wage = float(network.crews.wage[crew])
    return network.crews.ids[crew], wage * float(network.crews.stretch[crew]) if np.isfinite(wage) else 0.0


def escape_shares(found: tuple[FaultWay, ...]) -> dict[str, float]:
    """Fault to the share of what is made of it that reaches the customer."""
    return {w.fault: w.passes for w in found}


def startup_keeps(network: Network, flow: Flow) -> Floats:
    """[n_operations] the share of pieces that start-up losses leave, read back from the balance."""
    kept = np.ones(len(network.operations.ids))
    for scrap in flow.scrap:
        if scrap.reason == "start-up" and flow.runs[scrap.operation] > 0:
            survives = float(flow.runs[scrap.operation] * network.operations.survives[scrap.operation])
            kept[scrap.operation] = 1 - scrap.pieces / survives
    return kept
