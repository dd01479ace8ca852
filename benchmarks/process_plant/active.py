"""The rates of one state of the flows: who may run, which bounds hold, what is spoiled, how feeds are filled."""

from __future__ import annotations

from dataclasses import dataclass

from linewright.simulate.kernel import rows as r
from process_plant.columns import BOUNDS, HAND, ROOM, Column, Columns, Key, sum_of
from process_plant.feeds import COMES, How
from process_plant.rates import Limit, solve
from process_plant.runners import Runner

NOTHING = 1e-12
"""Part of the greatest change that is rounding."""


@dataclass(frozen=True, slots=True)
class State:
    """For each runner whether it may run and whether what it makes is spoiled, how its feeds are filled; for each bound
    whether it holds.
    """

    may_run: tuple[bool, ...]
    spoils: tuple[bool, ...]
    feeds: tuple[tuple[How, ...], ...]
    holds: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Solved:
    """Pieces a s of each runner, and what holds it up (None: nothing); pieces a s drawn of each option of each feed;
    the change of every level a s, and of those the bounds that are coming nearer.
    """

    rates: list[float]
    held_up: list[int | None]
    draws: list[list[list[float]]]
    levels: list[tuple[Key, float]]
    falls: list[tuple[Key, float]]


@dataclass(frozen=True, slots=True)
class AsItComes:
    """An activity of its own: an option drawn as it comes in, in place of what its runner rests on."""

    runner: int
    feed: int
    option: int
    own: Key
    column: Column
    cap: float


def solve_state(runners: list[Runner], columns: Columns, state: State) -> Solved:
    """Everyone as fast as he can within the bounds that hold."""
    caps = [runner.cap if may else 0.0 for runner, may in zip(runners, state.may_run, strict=True)]
    mains, comes = _activities(runners, columns, state, caps)
    activities = mains + [one.column for one in comes]
    limits, kinds = _limits(columns, state, activities, comes)
    caps += [one.cap for one in comes]
    rates, governs = solve(caps, limits)
    rates = [rate if rate > 1e-9 * cap else 0.0 for rate, cap in zip(rates, caps, strict=True)]
    levels: dict[Key, float] = {}
    for rate, column in zip(rates, activities, strict=True):
        for key, change in column.items():
            levels[key] = levels.get(key, 0.0) + change * rate
    moving = [(key, rate) for key, rate in levels.items() if abs(rate) > NOTHING * columns.gross[key]]
    held = {key for key, hold in zip(columns.bounds, state.holds, strict=True) if hold}
    n = len(runners)
    return Solved(
        rates=rates[:n],
        held_up=[None if g < 0 else r.BLOCKED if kinds[g] == ROOM else r.SHORT for g in governs[:n]],
        draws=_draws(runners, state, comes, rates),
        levels=moving,
        falls=[(key, rate) for key, rate in moving if rate < 0.0 and key[0] in BOUNDS and key not in held],
    )


def _activities(
    runners: list[Runner], columns: Columns, state: State, caps: list[float]
) -> tuple[list[Column], list[AsItComes]]:
    """The change by a piece of each runner, and by what is drawn as it comes in."""
    mains: list[Column] = []
    comes: list[AsItComes] = []
    for j, runner in enumerate(runners):
        of = columns.of[j]
        column = sum_of(of.goes_in, of.spoiled if state.spoils[j] else of.well)
        for f, feed in enumerate(runner.feeds):
            rest: Column = {}
            for part, option in zip(feed.parts(state.feeds[j][f]), of.options[f], strict=True):
                rest = sum_of(rest, option, part)
            column = sum_of(column, rest)
            options = [k for k, how in enumerate(state.feeds[j][f]) if how == COMES]
            comes += [
                AsItComes(j, f, k, (HAND, feed.items[k]), sum_of(of.options[f][k], rest, -1.0), caps[j] / len(options))
                for k in options
            ]
        mains.append(column)
    return mains, comes


def _limits(
    columns: Columns, state: State, activities: list[Column], comes: list[AsItComes]
) -> tuple[list[Limit], list[str]]:
    """The bounds that hold, and their kinds; what is drawn as it comes in is limited by all that limits its runner."""
    limits, kinds, n = [], [], len(state.may_run)
    for key, hold in zip(columns.bounds, state.holds, strict=True):
        change = {a: column[key] for a, column in enumerate(activities) if column.get(key)} if hold else {}
        limited = [a for a, by in change.items() if a < n and by < 0.0]
        limited += [n + e for e, one in enumerate(comes) if hold and (one.own == key or one.runner in limited)]
        if limited:
            limits.append(Limit(change, limited))
            kinds.append(key[0])
    return limits, kinds


def _draws(runners: list[Runner], state: State, comes: list[AsItComes], rates: list[float]) -> list[list[list[float]]]:
    """Pieces a s of each option of each feed."""
    n = len(runners)
    found = [[[0.0] * len(feed.items) for feed in runner.feeds] for runner in runners]
    for one, rate in zip(comes, rates[n:], strict=True):
        found[one.runner][one.feed][one.option] = rate
    for j, runner in enumerate(runners):
        for f, feed in enumerate(runner.feeds):
            left = max(rates[j] - sum(found[j][f]), 0.0)
            for k, part in enumerate(feed.parts(state.feeds[j][f])):
                found[j][f][k] += part * left
    return found
