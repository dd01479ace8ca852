"""What a plan holds that the SimPy model does not play, by name."""

from __future__ import annotations

import numpy as np

from linewright.network import Network


def cannot_play(network: Network) -> list[str]:
    """What the plan holds that is not played here."""
    p = network.operations
    found = {
        "amounts and flows": not network.items.counted[network.routes.item].all() or bool(p.continuous.any()),
        "cleaning or start-up": bool((p.clean_when != 0).any() or (p.start_when != 0).any()),
        "carriers that are lost, hold several or go into another route": _hard_carriers(network),
        "pieces that become several on a carrier": _several_on_carriers(network),
        "choice of parts": len(network.choices) > 0,
        "stations to choose from": bool((np.diff(p.stations.starts) > 1).any()),
        "opening hours of stations": bool((network.stations.calendar >= 0).any()),
        "vessels of several sizes": any(network.stations.sizes),
        "stores or hand-over between operations": bool((p.then_to != -1).any()),
        "stores for by-products": bool((network.item_store[p.gives.index] >= 0).any()),
        "loads that vary": bool((p.load_least != p.load_most).any()),
        "several makers of an item": len(set(network.routes.item.tolist())) < len(network.routes.ids),
        "people who tend several places": bool((p.tends > 1).any()),
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
