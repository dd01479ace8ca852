"""What a plan holds that the SimPy model does not play, by name."""

from __future__ import annotations

from typing import Any

import numpy as np

from linewright.network import Network
from linewright.plan import Plan


def cannot_play(network: Network) -> list[str]:
    """What the plan holds that is not played here."""
    p = network.operations
    found = {
        "amounts and flows": not network.items.counted[network.routes.item].all() or bool(p.continuous.any()),
        "cleaning or start-up": bool((p.clean_when != 0).any() or (p.start_when != 0).any()),
        "carriers that are lost, hold several or go into another route": _hard_carriers(network),
        "choice of parts": len(network.choices) > 0,
        "stations to choose from": bool((np.diff(p.stations.starts) > 1).any()),
        "opening hours of stations": bool((network.stations.calendar >= 0).any()),
        "stores or hand-over between operations": bool((p.then_to != -1).any()),
        "loads that vary": bool((p.load_least != p.load_most).any()),
        "several makers of an item": len(set(network.routes.item.tolist())) < len(network.routes.ids),
        "mending crews": len(network.stoppages.crews.index) > 0,
        "stoppages by the calendar": bool(network.stoppages.calendar_clock.any()),
        "work let in by lots": bool((network.routes.lot > 0).any()),
        "loads of several that become several": bool(((p.load_most > 1) & (p.pieces_out != 1) & ~_ends(network)).any()),
        "variants side by side": len(network.routes.ids) > len(network.written.routes),
        "finish before leaving": bool((p.stop == 1).any()),
    }  # fmt: skip
    return [what for what, there in found.items() if there]


def in_one_variant(plan: Plan) -> Plan:
    """The plan with all that is wanted in the last value of every option: variants side by side are not played here."""
    for option in plan.options.values():
        plan = plan.change(f"options.{option.id}.shares", {option.values[-1]: "100 %"})
    return plan


def _hard_carriers(network: Network) -> bool:
    """Whether a carrier does more than go along with one piece on one route."""
    c = network.carriers
    return bool((c.holds > 1).any() or (c.between.mean > 0).any() or len(c.items.index))


def _ends(network: Network) -> Any:
    """[n_operations] whether it is the last of its route."""
    return np.isin(np.arange(len(network.operations.ids)), network.routes.last)
