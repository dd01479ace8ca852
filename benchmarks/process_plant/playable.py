"""What a plan holds that the SimPy model does not play, by name."""

from __future__ import annotations

import numpy as np

from linewright.network import Network
from linewright.simulate.flowing import flows


def cannot_play(network: Network) -> list[str]:
    """What the plan holds that is not played here."""
    p, stores = network.operations, [s for s in network.item_store.tolist() if s >= 0]
    found = {
        "amounts that are no whole loads": _loose_amounts(network),
        "places that hold what flows for a while": bool((p.dwell[flows(network)] > 0).any()),
        "start-ups that spoil a part of a load": _spoiled_amounts(network),
        "carriers that are lost, hold several or go into another route": _hard_carriers(network),
        "pieces that become several on a carrier": _several_on_carriers(network),
        "choice of parts where nothing flows": any(not flows(network)[c.operation] for c in network.choices),
        "stations to choose from": bool((np.diff(p.stations.starts) > 1).any()),
        "vessels of several sizes": any(network.stations.sizes),
        "stores or hand-over between operations": bool((p.then_to != -1).any()),
        "stores for several items": len(stores) > len(set(stores)),
        "loads that vary and take parts or carriers": _taking_loads(network),
        "several makers of an item": len(set(network.routes.item.tolist())) < len(network.routes.ids),
        "crews that help each other": len(network.crews.lends) > 0,
        "mending crews": len(network.stoppages.crews.index) > 0,
        "stoppages by the calendar": bool(network.stoppages.calendar_clock.any()),
        "variants let in by lots": network.origin is not None and bool((network.routes.lot > 0).any()),
        "campaigns": len(network.campaigns.route) > 0,
        "windows": len(network.windows.operation) > 0,
        "what goes off": bool((network.items.keeps > 0).any()),
        "work during a stand": len(network.cares.operation) > 0,
        "failed samples that hold back": any(check.hold_back for check in network.inspections),
        "a season": network.season is not None,
    }  # fmt: skip
    return [what for what, there in found.items() if there]


def _hard_carriers(network: Network) -> bool:
    """Whether a carrier does more than go along with one piece on one route."""
    c = network.carriers
    return bool((c.holds > 1).any() or (c.between.mean > 0).any() or len(c.items.index))


def _several_on_carriers(network: Network) -> bool:
    """Whether a piece becomes several while it is on a carrier, and goes on so."""
    inside = np.setdiff1d(network.carriers.stretch.index, network.routes.last)
    return bool((network.operations.pieces_out[inside] != 1).any())


def _loose_amounts(network: Network) -> bool:
    """Whether an amount is worked on that neither flows nor is a whole load of one size from its route's first such."""
    p, flowing = network.operations, flows(network)
    for first, last in zip(network.routes.first.tolist(), network.routes.last.tolist(), strict=True):
        rest = [o for o in range(first, last + 1) if not flowing[o] and not network.items.counted[_item(network, o)]]
        loads = {float(p.load_most[o]) for o in rest} | {float(p.load_least[o]) for o in rest}
        shrinks = any(float(p.survives[o]) != 1.0 for o in rest)
        shrinks |= any(float(p.pieces_out[o]) != 1.0 and o + 1 in rest for o in rest)
        if rest and (len(loads) > 1 or loads == {1.0} or shrinks):
            return True
    return False


def _item(network: Network, o: int) -> int:
    return int(network.routes.item[network.operations.route[o]])


def _spoiled_amounts(network: Network) -> bool:
    """Whether a start-up scraps an amount that does not flow."""
    p, flowing = network.operations, np.array(flows(network))
    counted = network.items.counted[network.routes.item[p.route]]
    return bool(((p.start_scrap > 0) & ~flowing & ~counted).any())


def _taking_loads(network: Network) -> bool:
    """Whether what a load takes depends on how many come to be in it."""
    p = network.operations
    vary = np.flatnonzero(p.load_least != p.load_most).tolist()
    return any(
        len(p.takes.row(o)[0]) or p.each[o] or o in network.carriers.joins.index or network.origin is not None
        for o in vary
    )
