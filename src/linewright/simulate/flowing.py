"""Which operations flow: a quantity that runs at a rate through a station of its own. All else is pieces and loads.

What is counted stays pieces, for pieces carry faults and are checked one by one. A rate that shares its station, or
does what only a lot can do, is played in lots of the next load or of ten minutes' work, and it is said why.
"""

from __future__ import annotations

import numpy as np

from linewright.network.model import DIRECT, NOWHERE, Cleans, Fate, Network, Reject, Stops
from linewright.simulate.layout_base import any_amount, counted


def flows(network: Network) -> list[bool]:
    """For each operation whether it is played as a flow."""
    if "flows" not in network.notes:
        network.notes["flows"] = _flows(network)
    found: list[bool] = network.notes["flows"]
    return found


def lots(network: Network) -> dict[str, str]:
    """Operations that run at a rate or take any amount, but are played in small lots, and why."""
    flowing = flows(network)
    found = {}
    for o, name in enumerate(network.operations.ids):
        if not flowing[o] and not counted(network, o) and any_amount(network, o):
            found[name] = _hinders(network, o) or "it is handed over directly to what does not flow, or from it"
    return found


def _flows(network: Network) -> list[bool]:
    count = len(network.operations.ids)
    found = [_hinders(network, o) is None for o in range(count)]
    while True:  # direct hand-over joins flows only with flows
        broken = [o for o in range(count) if found[o] and not _neighbours_flow(network, o, found)]
        if not broken:
            return found
        for o in broken:
            found[o] = False


def _neighbours_flow(network: Network, o: int, found: list[bool]) -> bool:
    p = network.operations
    last = o == int(network.routes.last[p.route[o]])
    first = o == int(network.routes.first[p.route[o]])
    if _direct(network, o) and (last or not found[o + 1]):
        return False
    return first or not _direct(network, o - 1) or found[o - 1]


def _direct(network: Network, o: int) -> bool:
    then = int(network.operations.then_to[o])
    return then == DIRECT or (then >= 0 and float(network.stores.room[then]) == 0.0)


def _hinders(network: Network, o: int) -> str | None:
    """Why an operation does not flow; None where it may."""
    p = network.operations
    route = int(p.route[o])
    if not bool(p.continuous[o]):  # nearly all of a large plan, and the rest takes a while to find out
        return "its time is not a rate"
    reasons = (
        (counted(network, o), "it is counted"),
        (not int(p.each[o]) > 0, "its rate has no end"),
        (not _has_station_alone(network, o), "it has no station of its own"),
        (float(p.load_most[o]) != 1.0 or len(p.takes_per_load.row(o)[0]) > 0, "it has a load"),
        (float(p.stand.mean[o]) > 0.0, "it stands"),
        (len(p.tools.row(o)[0]) > 0, "it uses tools"),
        (len(p.crews.row(o)[0]) > 0 and not bool(p.hands_all[o]), "its people are there only at its start and end"),
        (len(p.crews.row(o)[0]) > 0 and int(p.stop[o]) != Stops.ANYWHERE, "it may not pause at the end of a shift"),
        (len(p.faults.row(o)[0]) > 0 or any(c.operation == o for c in network.inspections), "it is checked"),
        (int(p.clean_when[o]) == Cleans.LOAD, "it is cleaned after each load"),
        (int((network.routes.item == network.routes.item[route]).sum()) > 1, "several routes make the item"),
        (_is_repeated(network, o), "it is repeated as rework"),
        (_goes_off(network, o), "what it takes or makes goes off"),
        (o in network.carriers.stretch.index or o in network.carriers.joins.index, "it is done on carriers"),
        (o == int(network.routes.first[route]) and route in network.campaigns.route, "it is run in campaigns"),
        (_draws_from_held(network, o), "it draws from a place that holds what it made"),
    )
    return next((why for holds, why in reasons if holds), None)


def _has_station_alone(network: Network, o: int) -> bool:
    p = network.operations
    stations = p.stations.row(o)[0]
    return len(stations) == 1 and int((p.stations.index == stations[0]).sum()) == 1


def _goes_off(network: Network, o: int) -> bool:
    """Whether units of what it takes or makes have an age; what is delivered in season goes off by its deliveries."""
    p, keeps = network.operations, network.items.keeps
    items = {int(network.routes.item[p.route[o]]), *p.gives.row(o)[0].tolist(), *_taken(network, o)}
    delivered = set(network.season.intake_item.tolist()) if network.season is not None else set()
    return any(keeps[i] > 0 and (i not in delivered or (network.routes.item == i).any()) for i in items)


def _taken(network: Network, o: int) -> set[int]:
    found = set(network.operations.takes.row(o)[0].tolist())
    return found | {i for c in network.choices if c.operation == o for i in c.items}


def _draws_from_held(network: Network, o: int) -> bool:
    """Whether any item that it takes is made in a place that holds it until it is drawn off."""
    taken, last = _taken(network, o), network.routes.last
    return any(
        int(item) in taken and _direct(network, int(end)) for item, end in zip(network.routes.item, last, strict=True)
    )


def _is_repeated(network: Network, o: int) -> bool:
    def back(reject: Reject | None, check: int) -> bool:
        if reject is None or reject.fate is not Fate.REWORK:
            return False
        return reject.to <= o <= check or back(reject.otherwise, check)

    return any(back(reject, c.operation) for c in network.inspections for reject in (*c.rejects, c.other))


def takers(network: Network) -> set[int]:
    """Items that somebody takes who does not flow, cleaning and setting up included."""
    p, flowing = network.operations, flows(network)
    found: set[int] = set()
    for links in (p.takes, p.takes_per_load):
        owner = np.repeat(np.arange(len(p.ids)), np.diff(links.starts))
        found |= {int(i) for o, i in zip(owner.tolist(), links.index.tolist(), strict=True) if not flowing[o]}
    found |= set(p.setup_takes.index.tolist()) | set(p.clean_takes.index.tolist())
    found |= {i for c in network.choices if not flowing[c.operation] for i in c.items}
    return found


def before(network: Network, o: int) -> int:
    """The operation before one on its route; NOWHERE where it is the first."""
    return o - 1 if o > int(network.routes.first[network.operations.route[o]]) else NOWHERE
