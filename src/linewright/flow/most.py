"""The mix that makes most of what is at hand: the balance with its demand left open and its purchases limited.

Where fruit comes in season anyhow, the cheapest blend may leave dear fruit over. So over a season the greatest part of
the demand is found first that the harvest gives, and the other goals (preference, least direct cost) among those mixes.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from linewright.base.problems import Problems
from linewright.flow.columns import System, assemble, sources
from linewright.flow.goals import goals, weights
from linewright.flow.program import solve_program
from linewright.flow.solve import Balance, choice_mix_of, mix_of, read
from linewright.flow.startups import has_startups, share_kept
from linewright.network.equations import Equations, equations
from linewright.network.journeys import Journeys, journeys
from linewright.network.model import Floats, Network

_ROUNDS = 6  # each takes what start-ups and faults change in the mix down to the share that they scrap


def has_choice(network: Network) -> bool:
    """Whether a blend, an item or a route is left to be chosen."""
    items = network.items
    makers = np.bincount(network.routes.item, np.isnan(network.routes.share), len(items.ids))
    rivals = (makers > 0) & (makers + (np.isfinite(items.buy) | items.free) > 1)
    return bool(rivals.any()) or any(not np.isfinite(choice.shares[0]) for choice in network.choices)


def most_of(
    network: Network, at_hand: Floats, *, all_of_it: bool
) -> tuple[Floats, tuple[tuple[float, ...], ...]] | None:
    """The mix of routes [n_routes] and of choices with which most of the demand is met; None where it has no end.

    ``at_hand`` [n_items] units that come on a working day (inf: as many as one likes). ``all_of_it``: as much as can be
    made is wanted, else the demand and no more. Shares of routes are nan where there is nothing to choose.
    """
    mix: Floats | None = None
    choice_mix: tuple[tuple[float, ...], ...] | None = None
    journey = journeys(network)
    starts, keeps = has_startups(network), np.ones(len(network.operations.ids))
    for _ in range(_ROUNDS if starts or network.faults else 1):
        found = _balance(network, journey, at_hand, all_of_it)
        if found is None:
            return None
        rows, balance = found
        mix, choice_mix = mix_of(network, rows, balance), choice_mix_of(network, balance)
        if starts:
            runs = journey.runs * balance.started[network.operations.route]
            keeps = share_kept(network, runs, keeps, fewest_starts=True, problems=Problems())
        journey = journeys(network, mix, choice_mix, keeps)
    assert choice_mix is not None
    return _shares(network, rows, balance), choice_mix


def _shares(network: Network, rows: Equations, balance: Balance) -> Floats:
    """[n_routes] the part of each route in all that is made and bought of its item, nan where it is the only source."""
    items, item = network.items, network.routes.item
    units = rows.main * balance.started
    total = np.bincount(item, units, len(items.ids)) + balance.bought
    count = np.bincount(item, minlength=len(items.ids)) + (np.isfinite(items.buy) | items.free)
    several = (count > 1) & (total > 0)
    return np.where(several[item], units / np.where(total > 0, total, 1.0)[item], np.nan)


def _balance(network: Network, journey: Journeys, at_hand: Floats, all_of_it: bool) -> tuple[Equations, Balance] | None:
    """The balance with most of the demand; None where there is none, or no end."""
    rows = equations(network, journey)
    where = sources(network, rows)
    system = assemble(network, rows, where)
    width = system.matrix.shape[1]
    opened = _opened(network, rows, system, at_hand, all_of_it)
    beyond = np.zeros(opened.matrix.shape[1] - width)
    much = np.concatenate([np.zeros(width), beyond])
    much[width] = -1.0
    others = [np.concatenate([goal, beyond]) for goal in goals(network, rows, where, system, journey)]
    follows = float(weights(rows, where, system).min())
    x, _ = solve_program(
        opened, [much, *others], np.concatenate([weights(rows, where, system), np.full(beyond.size, follows)])
    )
    return (rows, read(network, system, x, True)) if x is not None and x[width] > 0 else None


def _opened(network: Network, rows: Equations, system: System, at_hand: Floats, all_of_it: bool) -> System:
    """The system with a column for how much of the demand is met, and a row for each limit: what is used + left."""
    from scipy.sparse import block_array, coo_array

    limited = np.flatnonzero(np.isfinite(at_hand[system.bought]))
    n, height = limited.size + (not all_of_it), system.matrix.shape[0]
    demand = np.zeros((height, 1 + n))
    size = float(network.items.demand.max())
    demand[: system.items.size, 0] = -network.items.demand[system.items] / size
    ones = np.ones(limited.size)
    limits = coo_array((ones, (np.arange(limited.size), system.bought_at + limited)), (n, system.matrix.shape[1]))
    left = np.eye(n, 1 + n, 1)
    right = np.concatenate([system.right, at_hand[system.bought][limited]])
    right[: system.items.size] = rows.daily[system.items]
    if not all_of_it:
        left[-1, 0] = 1.0
        right = np.append(right, size)
    matrix = block_array([[system.matrix, coo_array(demand)], [limits, coo_array(left)]]).tocsc()
    return replace(system, matrix=matrix, right=right)
