"""Solve the material balance of a network: by sparse elimination where nothing is left to choose, else by programs."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import numpy as np

from linewright import __version__
from linewright.base.problems import Problems
from linewright.base.results import Honesty, Provenance
from linewright.flow.blends import blends_that_cannot_be
from linewright.flow.columns import System, assemble, sources
from linewright.flow.gather import gather
from linewright.flow.goals import goals, weights
from linewright.flow.model import Flow
from linewright.flow.program import Failure, solve_program
from linewright.flow.square import solve_square
from linewright.flow.startups import has_startups, share_kept
from linewright.flow.why import explain_shortage, explain_unbounded, full_stores, nothing_gets_through, without_source
from linewright.network.clock import cleaned_by_clock, cleans_by_clock
from linewright.network.equations import Equations, equations
from linewright.network.journeys import Journeys, journeys
from linewright.network.model import Floats, Network

_ROUNDS = 300
_SETTLED = 1e-13


@dataclass(slots=True)
class Balance:
    """A solved balance: pieces started on routes, units bought and in surplus, how often what fills each choice."""

    started: Floats
    bought: Floats
    surplus: Floats
    fills: tuple[Floats, ...]
    chosen: bool


def solve_flow(
    network: Network,
    mix: Floats | None = None,
    choice_mix: tuple[tuple[float, ...], ...] | None = None,
    *,
    fewest_starts: bool = False,
) -> Flow:
    """What goes in and out, how often each operation runs, on a working day in which the demand is met exactly.

    ``mix`` [n_routes] and ``choice_mix`` (one row a choice) fix what would be chosen, as declared shares do; nan leaves
    a route or a whole choice open. ``fewest_starts``: an operation starts in as few shifts as its work fills, not in
    every one; so what starting scraps is the least that it can be. Raises ProblemsError where there is no answer,
    saying in the plan's words why.
    """
    begun = time.perf_counter()
    problems = Problems()
    network = _with_mix(network, mix, choice_mix)
    journey, rows, balance = _settle(network, fewest_starts, problems)
    full_stores(network, balance.surplus, problems)
    problems.raise_errors()
    status = "optimal" if balance.chosen else "exact"
    notes = (
        ("Where items or routes could be chosen, declared preference and then the least direct cost decided.",)
        if balance.chosen
        else ()
    )
    provenance = Provenance("flow", __version__, network.fingerprint, seconds=time.perf_counter() - begun)
    return gather(
        network,
        journey,
        rows,
        balance,
        mix_of(network, rows, balance),
        choice_mix_of(network, balance),
        provenance,
        Honesty(status, notes=notes),
    )


def _with_mix(network: Network, mix: Floats | None, choice_mix: tuple[tuple[float, ...], ...] | None) -> Network:
    """The network with shares declared for it."""
    if mix is None and choice_mix is None:
        return network
    routes, choices = network.routes, network.choices
    if mix is not None:
        routes = replace(routes, share=np.where(np.isfinite(mix), mix, routes.share))
    if choice_mix is not None:
        choices = tuple(
            replace(choice, shares=shares) if np.isfinite(shares).all() else choice
            for choice, shares in zip(choices, choice_mix, strict=True)
        )
    return replace(network, routes=routes, choices=choices, notes={})


def _settle(network: Network, fewest_starts: bool, problems: Problems) -> tuple[Journeys, Equations, Balance]:
    """Repeat the balance until what it hangs on stays: the mixes of makers, start-up losses, cleaning by the clock."""
    journey = journeys(network)
    rows, balance = _balance(network, journey, problems)
    mixes = bool(network.faults) and (bool(network.choices) or _has_rivals(network))
    starts = has_startups(network)
    cleaned = bool(np.any(cleaned_by_clock(network) & (np.diff(network.operations.clean_takes.starts) > 0)))
    if not (mixes or starts or cleaned):
        return journey, rows, balance
    before: Floats | None = None
    keeps = np.ones(len(network.operations.ids))
    for _ in range(_ROUNDS):
        runs = journey.runs * balance.started[network.operations.route]
        if starts:
            keeps = share_kept(network, runs, keeps, fewest_starts, problems)
        problems.raise_errors()
        mix, choice_mix = mix_of(network, rows, balance), choice_mix_of(network, balance)
        journey = journeys(network, mix, choice_mix, keeps) if mixes or starts else journey
        rows, balance = _balance(network, journey, problems, cleans_by_clock(network, runs))
        now = balance.started
        if before is not None and np.abs(now - before).max(initial=0.0) <= _SETTLED * np.abs(now).max(initial=0.0):
            return journey, rows, balance
        before = now
    problems.error(
        "plan", "the balance does not settle: start-up losses or faults and the mix of makers chase each other"
    )
    problems.raise_errors()
    raise AssertionError


def _has_rivals(network: Network) -> bool:
    return bool(np.bincount(network.routes.item).max(initial=0) > 1)


def _balance(
    network: Network, journey: Journeys, problems: Problems, cleans: Floats | None = None
) -> tuple[Equations, Balance]:
    rows = equations(network, journey, cleans)
    where = sources(network, rows)
    without_source(network, where, problems)
    nothing_gets_through(network, rows, problems)
    blends_that_cannot_be(network, problems)
    problems.raise_errors()
    system = assemble(network, rows, where)
    x = solve_square(system) if system.is_square else None
    chosen = False
    if x is None:
        x, failure = solve_program(system, goals(network, rows, where, system, journey), weights(rows, where, system))
        chosen = not system.is_square
        if failure is Failure.UNBOUNDED:
            explain_unbounded(network, problems)
        elif x is None:
            explain_shortage(network, rows, system, problems)
        problems.raise_errors()
    assert x is not None
    return rows, read(network, system, x, chosen)


def read(network: Network, system: System, x: Floats, chosen: bool) -> Balance:
    """A solution of a system as the balance that it is; ``chosen``: there was more than one."""
    n_items = len(network.items.ids)
    started = x[: system.bought_at]
    bought, surplus = np.zeros(n_items), np.zeros(n_items)
    bought[system.bought] = x[system.bought_at : system.surplus_at]
    surplus[system.surplus] = x[system.surplus_at : system.fills_at]
    fills: list[Floats] = [np.full(len(choice.items), np.nan) for choice in network.choices]
    for column, (k, j) in enumerate(system.fills):
        fills[k][j] = x[system.fills_at + column]
    return Balance(started, bought, surplus, tuple(fills), chosen)


def mix_of(network: Network, rows: Equations, balance: Balance) -> Floats:
    """[n_routes] each route's part of what routes make of its item; equal parts where nothing is made."""
    units = rows.main * balance.started
    item = network.routes.item
    total = np.bincount(item, units, len(network.items.ids))[item]
    count = np.bincount(item, minlength=len(network.items.ids))[item]
    return np.where(total > 0, units / np.where(total > 0, total, 1.0), 1.0 / count)


def choice_mix_of(network: Network, balance: Balance) -> tuple[tuple[float, ...], ...]:
    """The mix of every choice: as declared, or as it was chosen; equal parts where it is never filled."""
    mixes = []
    for choice, fills in zip(network.choices, balance.fills, strict=True):
        if np.isfinite(choice.shares[0]):
            mixes.append(choice.shares)
            continue
        total = float(fills.sum())
        mixes.append(tuple((fills / total).tolist()) if total > 0 else (1.0 / len(choice.items),) * len(choice.items))
    return tuple(mixes)
