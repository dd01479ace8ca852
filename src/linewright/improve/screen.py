"""Which candidates are worth playing: those that lift the least bound, and those that promise most by the state times.

A change that lifts no bound may still help, by less blocking or waiting, so both lists count: they are taken from in
turn, and where there are more than can be played no kind takes more than a third of the places.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from linewright.base.problems import ProblemsError
from linewright.capacity import Capacity, measure_capacity
from linewright.capacity.fold import fold_capacity
from linewright.cost import Cost, cost_of_one
from linewright.cost.fold import fold_cost
from linewright.flow import solve_flow
from linewright.flow.model import Flow
from linewright.improve.edits import edited
from linewright.improve.ideas import Idea
from linewright.improve.model import Candidate
from linewright.network import Network, compile_network
from linewright.network.journeys import share_journeys
from linewright.network.variants import Expansion, expand
from linewright.plan.model import Plan
from linewright.simulate import Quotas

LOOKED_AT = 72
"""Candidates, the most promising ones, whose bounds are worked out, where the time allows."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A candidate worked out without play: its network, balance and bound (as a multiple of the demand).

    ``capacity`` is that of the network, ``bounds`` the same by what was written.
    """

    candidate: Candidate
    promise: float
    network: Network
    flow: Flow
    capacity: Capacity
    bounds: Capacity

    @property
    def quotas(self) -> Quotas:
        """The shares of its material balance."""
        return Quotas(self.flow.mix, self.flow.choice_mix)


@dataclass(frozen=True, slots=True)
class Priced:
    """A candidate to be played, with the cost of one by what was written."""

    tried: Tried
    cost: Cost


def work_out(
    base: Network,
    plan: Plan,
    ideas: Sequence[Idea],
    stop: Callable[[int], bool],
    tell: Callable[[int, int], None],
    most: int = LOOKED_AT,
) -> tuple[list[Tried], list[str]]:
    """Bounds of the most promising ideas, the best first, and why some have none.

    ``base`` is the network of ``plan`` as it is played. ``stop`` is asked with the number worked out before each one.
    """
    tried: list[Tried] = []
    failed: list[str] = []
    ranked = sorted((idea for idea in ideas if idea.promise > 0), key=lambda idea: -idea.promise)[:most]
    spread = expand(plan) if plan.options else None
    for k, idea in enumerate(ranked):
        if stop(len(tried)):
            break
        try:
            tried.append(_worked_out(base, spread, plan, idea))
        except ProblemsError as wrong:
            failed.append(_why(idea.candidate, wrong))
        tell(k + 1, len(ranked))
    return tried, failed


def _worked_out(base: Network, spread: Expansion | None, plan: Plan, idea: Idea) -> Tried:
    network = compile_network(edited(plan, idea.candidate.edits), spread)
    share_journeys(network, base)
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    return Tried(idea.candidate, idea.promise, network, flow, capacity, fold_capacity(network, flow, capacity))


def price(chosen: Sequence[Tried], stop: Callable[[int], bool]) -> tuple[list[Priced], list[str]]:
    """The cost of one for the few that are to be played, and why some have none.

    ``stop`` is asked with the number priced before each one; those left are not to be played.
    """
    priced: list[Priced] = []
    failed: list[str] = []
    for one in chosen:
        if stop(len(priced)):
            break
        try:
            cost = fold_cost(one.network, cost_of_one(one.network, one.flow, one.capacity))
        except ProblemsError as wrong:
            failed.append(_why(one.candidate, wrong))
        else:
            priced.append(Priced(one, cost))
    return priced, failed


def _why(candidate: Candidate, wrong: ProblemsError) -> str:
    return f"{candidate.what}: {wrong.problems[0].what}"


def choose(tried: Sequence[Tried], multiple: float, places: int) -> list[Tried]:
    """At most ``places`` of the candidates: by turns the greatest rise of the least bound, and the greatest promise."""
    if len(tried) <= places:
        return list(tried)
    lifts = [t for t in tried if t.bounds.multiple > multiple * (1 + 1e-9)]
    by_bound = sorted(lifts, key=lambda t: (-t.bounds.multiple, -t.promise))
    by_promise = sorted(tried, key=lambda t: -t.promise)
    chosen: list[Tried] = []
    of_kind: dict[str, int] = {}
    lists = [by_bound, by_promise]
    while len(chosen) < places and any(lists):
        for ranked in lists:
            one = _next(ranked, chosen, of_kind, math.ceil(places / 3))
            if one is not None and len(chosen) < places:
                chosen.append(one)
                of_kind[one.candidate.kind] = of_kind.get(one.candidate.kind, 0) + 1
    return chosen


def _next(ranked: list[Tried], chosen: list[Tried], of_kind: dict[str, int], most: int) -> Tried | None:
    while ranked:
        one = ranked.pop(0)
        if all(one is not other for other in chosen) and of_kind.get(one.candidate.kind, 0) < most:
            return one
    return None
