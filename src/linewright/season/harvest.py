"""How much could be made of a harvest, if nothing but the harvest limited it?

The material balance for one unit a day says what each unit needs; the item of the harvest that is used up first says
how many units there can be. Averages over the horizon follow from that many.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from linewright.base.problems import Problem, ProblemsError
from linewright.flow.model import Flow
from linewright.flow.solve import solve_flow
from linewright.network.model import Floats, Network

_ROUNDS = 40  # each takes the distance to the answer down to the share that start-ups scrap
_SETTLED = 1e-9


@dataclass(frozen=True, slots=True)
class Harvest:
    """Units of what is demanded that the whole harvest gives, ``limits`` being the item that is used up first.

    ``potential`` is units over the horizon, all demanded items together (nan where nothing of the intake goes into
    them); ``need`` [n_items] units of every item for one of them; ``left`` [n_items] units of the harvest beyond that.
    """

    potential: float
    limits: str
    need: Floats
    left: Floats


def harvest_of(network: Network, flow: Flow) -> Harvest:
    """What a harvest gives, by the balance of the same network at any demand."""
    season = network.season
    assert season is not None
    need = flow.used / flow.demand
    came = season.harvest(len(network.items.ids))
    used = (came > 0) & (need > 0)
    if not used.any():
        return Harvest(float("nan"), "", need, came)
    reach = np.where(used, came / np.where(used, need, 1.0), np.inf)
    first = int(np.argmin(reach))
    potential = float(reach[first])
    return Harvest(potential, network.items.ids[first], need, np.maximum(came - need * potential, 0.0))


def over_the_season(network: Network) -> tuple[Network, Flow, Harvest]:
    """The network with the demand of an average working day of its horizon, and its balance.

    Where a demand is written it stands, else the harvest says how much. What a start-up scraps does not grow with what
    is made, so that the need of one unit hangs on how many there are: the balance is repeated until both agree. Raises
    ProblemsError where nothing that comes in season goes into what is wanted.
    """
    season = network.season
    assert season is not None
    average, flow = network, solve_flow(network)
    found = harvest_of(average, flow)
    if network.plan.makes is None:
        return network, flow, found
    if not np.isfinite(found.potential):
        what = f"nothing that comes in season goes into {network.plan.makes}"
        raise ProblemsError([Problem("plan.makes", what, hint="write an [[intake]] of what it is made of")])
    for _ in range(_ROUNDS):
        before = found.potential
        demand = average.items.demand * (before / season.working_days / flow.demand)
        average = replace(average, items=replace(average.items, demand=demand), notes={})
        flow = solve_flow(average)
        found = harvest_of(average, flow)
        if abs(found.potential - before) <= _SETTLED * before:
            break
    return average, flow, found
