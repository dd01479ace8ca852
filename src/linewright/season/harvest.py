"""How much could be made of a harvest, if nothing but the harvest limited it?

The material balance for one unit a day says what each unit needs; the item of the harvest that is used up first says
how many units there can be. Averages over the horizon follow from that many. What there is to choose (blends, makers)
is chosen so that the harvest gives most, and is then the same for every engine.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Honesty
from linewright.flow.model import Flow
from linewright.flow.most import has_choice, most_of
from linewright.flow.solve import solve_flow
from linewright.network.blends import blended, recipes
from linewright.network.model import Floats, Network

MOST = "the blend that makes most of the harvest, and the cheapest of those,"
CHOSEN = (
    "Where items or routes could be chosen, it was so that the harvest gives most; then by declared preference and the "
    "least direct cost."
)
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
    recipes: tuple[str, ...] = ()


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

    Where a demand is written it stands, else the harvest says how much. Blends to limits are recipes in it. What a
    start-up scraps does not grow with what is made, so that the need of one unit hangs on how many there are: the
    balance is repeated until both agree. Raises ProblemsError where nothing that comes in season goes into what is
    wanted.
    """
    chosen = _chosen(network)
    average = chosen.network
    flow = chosen.balance(average)
    found = harvest_of(average, flow)
    if network.plan.makes is None:
        return average, flow, replace(found, recipes=chosen.recipes)
    if not np.isfinite(found.potential):
        what = f"nothing that comes in season goes into {network.plan.makes}"
        raise ProblemsError([Problem("plan.makes", what, hint="write an [[intake]] of what it is made of")])
    season = network.season
    assert season is not None
    for _ in range(_ROUNDS):
        before = found.potential
        demand = average.items.demand * (before / season.working_days / flow.demand)
        average = replace(average, items=replace(average.items, demand=demand), notes={})
        flow = chosen.balance(average)
        found = harvest_of(average, flow)
        if abs(found.potential - before) <= _SETTLED * before:
            break
    return average, flow, replace(found, recipes=chosen.recipes)


@dataclass(frozen=True, slots=True)
class _Chosen:
    """The network with its blends as recipes, and the mix of what else there is to choose (None: the cheapest)."""

    network: Network
    mix: Floats | None
    choice_mix: tuple[tuple[float, ...], ...] | None
    recipes: tuple[str, ...]

    def balance(self, average: Network) -> Flow:
        """The material balance with that mix."""
        flow = solve_flow(average, self.mix, self.choice_mix)
        if self.mix is None:
            return flow
        return replace(flow, honesty=Honesty("optimal", notes=(CHOSEN,)))


def _chosen(network: Network) -> _Chosen:
    """What the harvest gives most with; the cheapest where the harvest does not limit it."""
    season = network.season
    assert season is not None
    if not has_choice(network):
        return _Chosen(network, None, None, ())
    came = season.harvest(len(network.items.ids)) / season.working_days
    comes = np.isin(np.arange(len(came)), season.intake_item)
    found = most_of(network, np.where(comes, came, np.inf), all_of_it=network.plan.makes is not None)
    mix, mixes = found if found is not None else (None, None)
    limited = [bool(choice.limits) for choice in network.choices]
    if any(limited):
        blends = mixes if mixes is not None else solve_flow(network).choice_mix
        why = "the cheapest" if found is None else MOST
        said = recipes(network, blends, why)
        network = blended(network, blends)
    else:
        said = ()
    if mixes is not None:
        mixes = tuple(one for one, blend in zip(mixes, limited, strict=True) if not blend)
    return _Chosen(network, mix, mixes, said)
