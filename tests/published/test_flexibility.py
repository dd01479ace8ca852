"""A little flexibility, chained, does nearly what full flexibility does.

W. C. Jordan and S. C. Graves, Principles on the benefits of manufacturing process flexibility, Management Science 41
(1995): ten plants of 100 units, ten products of 100 units on average (normal, standard deviation 40, cut off at two
standard deviations). Each plant making one product sells 853 units on average, a chain in which each makes two 950,
every plant making everything 954. The figures are from memory; the paper's are themselves averages over drawn demands.
Here plants are crews and products their work.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow
from scipy.stats import truncnorm

from linewright.capacity.lending import share_out
from linewright.network import compile_network
from linewright.network.lending import Lends
from linewright.network.model import Floats
from linewright.plan import PlanBuilder
from linewright.simulate import simulate

N, ROOM = 10, 100.0


def skills(reach: int) -> Lends:
    """Each of ten can do the work of the next ``reach`` crews as well."""
    pairs = [(k, (k + j) % N) for k in range(N) for j in range(1, reach + 1)]
    lender, to = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    return Lends(lender, to, np.full(len(pairs), 1000, dtype=np.int64), np.ones(len(pairs)))


def demands(draws: int) -> Floats:
    """[draws, 10] of the paper's distribution."""
    return np.asarray(truncnorm(-2, 2, loc=100, scale=40).rvs((draws, N), random_state=np.random.default_rng(1995)))


def sales(lends: Lends, demand: Floats) -> float:
    """The most that can be sold: a maximum flow from plants to products, in thousandths."""
    arcs = np.zeros((2 * N + 2, 2 * N + 2), dtype=np.int32)
    arcs[0, 1 : 1 + N] = round(1000 * ROOM)
    arcs[1 + N : 1 + 2 * N, 2 * N + 1] = np.round(1000 * demand)
    for a, b in [*((k, k) for k in range(N)), *zip(lends.lender.tolist(), lends.to.tolist(), strict=True)]:
        arcs[1 + a, 1 + N + b] = round(1000 * ROOM)
    return float(maximum_flow(csr_array(arcs), 0, 2 * N + 1).flow_value) / 1000


def test_a_chain_sells_nearly_what_full_flexibility_sells() -> None:
    drawn = demands(400)
    none, chain, full = (np.mean([sales(skills(reach), d) for d in drawn]) for reach in (0, 1, N - 1))
    exact = N * (100 - 40 * (1 - np.exp(-2)) / np.sqrt(2 * np.pi) / 0.9544997)
    assert exact == pytest.approx(855.4, abs=0.1), "closed form without flexibility; the paper drew 853"
    assert none == pytest.approx(exact, rel=0.01)
    assert chain == pytest.approx(950, rel=0.01)
    assert full == pytest.approx(954, rel=0.01)
    assert (chain - none) / (full - none) > 0.93


def test_our_program_against_minimum_cuts() -> None:
    """The greatest multiple: 100 / the largest alone; in a chain also (k + 1) 100 / the largest k in a row; all."""
    for demand in demands(60):
        work, manned = dict(enumerate(demand.tolist())), {k: {1: ROOM} for k in range(N)}
        twice = np.concatenate([demand, demand])
        rows = [(k + 1) * ROOM / twice[i : i + k].sum() for k in range(1, N) for i in range(N)]
        whole = N * ROOM / demand.sum()
        for reach, by_hand in ((0, ROOM / demand.max()), (1, min(*rows, whole)), (N - 1, whole)):
            found = share_out(range(N), skills(reach), work, manned)
            assert found is not None
            assert found.multiple == pytest.approx(by_hand, rel=1e-9)


def waiting(reach: int) -> float:
    """Pieces in the shop: four crews of one person, each with work of its own for 90 % of its hours that varies."""
    names = ["a", "b", "c", "d"]
    plan = PlanBuilder("Harrow Fen Works, four trades", money="EUR").shift("day", hours="00:00-24:00", days="Mon-Sun")
    for k, name in enumerate(names):
        can = {names[(k + j) % 4]: 1 for j in range(1, reach + 1)}
        plan.crew(name, people=1, shift="day", **({"can": can} if can else {}))
        plan.item(f"p_{name}", unit="each").demand(f"p_{name}", "129.6 each/day")
        plan.route(name, gives=f"p_{name}").operation(f"do_{name}", crew=name, time={"mean": "10 min", "cv": 1})
    result = simulate(compile_network(plan.build()), days=364, replications=4, seed=4)
    return result.work_in_progress.mean


def test_in_the_simulation_too() -> None:
    """A chain of four takes away about nine tenths of the waiting that everybody doing everything takes away."""
    none, chain, full = waiting(0), waiting(1), waiting(3)
    assert none > chain > full
    assert (none - chain) / (none - full) > 0.85
