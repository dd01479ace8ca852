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
from linewright.improve.edits import edited
from linewright.improve.ideas import Idea
from linewright.improve.model import Candidate
from linewright.network import Network, compile_network
from linewright.plan.model import Plan
from linewright.simulate import Quotas

LOOKED_AT = 72
"""Candidates, the most promising ones, whose bounds and cost are worked out."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A candidate worked out without play: its network, quotas, bound (as a multiple of the demand) and cost."""

    candidate: Candidate
    promise: float
    network: Network
    quotas: Quotas
    capacity: Capacity
    cost: Cost


def work_out(
    plan: Plan, ideas: Sequence[Idea], stop: Callable[[], bool], most: int = LOOKED_AT
) -> tuple[list[Tried], list[str]]:
    """Bounds and cost of the most promising ideas, and why some have none."""
    tried, failed = [], []
    ranked = sorted((idea for idea in ideas if idea.promise > 0), key=lambda idea: -idea.promise)
    for idea in ranked[:most]:
        if stop():
            break
        try:
            tried.append(_worked_out(plan, idea))
        except ProblemsError as wrong:
            failed.append(f"{idea.candidate.what}: {wrong.problems[0].what}")
    return tried, failed


def _worked_out(plan: Plan, idea: Idea) -> Tried:
    network = compile_network(edited(plan, idea.candidate.edits))
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    cost = fold_cost(network, cost_of_one(network, flow, capacity))
    bounds = fold_capacity(network, flow, capacity)
    return Tried(idea.candidate, idea.promise, network, Quotas(flow.mix, flow.choice_mix), bounds, cost)


def choose(tried: Sequence[Tried], multiple: float, places: int) -> list[Tried]:
    """At most ``places`` of the candidates: by turns the greatest rise of the least bound, and the greatest promise."""
    if len(tried) <= places:
        return list(tried)
    lifts = [t for t in tried if t.capacity.multiple > multiple * (1 + 1e-9)]
    by_bound = sorted(lifts, key=lambda t: (-t.capacity.multiple, -t.promise))
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
        if one not in chosen and of_kind.get(one.candidate.kind, 0) < most:
            return one
    return None
