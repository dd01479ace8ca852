"""Solve a season: the most that can be finished, then the plan that finishes it as early as it can.

The prices of the program say what more of each thing would bring, so they say what limits the season; together they
are the whole of it (strong duality).
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from linewright import __version__
from linewright.base.distributions import Shape
from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Honesty, Provenance
from linewright.flow.model import Flow
from linewright.network.model import Floats, Network
from linewright.plan.called import step_called
from linewright.season.harvest import Harvest
from linewright.season.model import Limit, Season, WeekBalance
from linewright.season.program import Program, build

OPTIONS: dict[str, float] = {"dual_feasibility_tolerance": 1e-9, "primal_feasibility_tolerance": 1e-9}
EARLY = 1e-4


def solve_season(network: Network, flow: Flow, harvest: Harvest, *, early: bool = True) -> Season:
    """The most that a season finishes, and the weeks of one plan that does.

    ``network`` and ``flow`` are of an average day of the horizon (``over_the_season``). ``early``: among all plans that
    finish the most, the one that is earliest; without it any of them.
    """
    begun = time.perf_counter()
    season = network.season
    assert season is not None
    demanded = np.flatnonzero(network.items.demand > 0)
    total = network.items.demand * season.working_days
    wanted = np.full(len(network.items.ids), np.inf)
    by_demand = network.plan.makes is None
    if by_demand:
        wanted[demanded] = total[demanded]
    program = build(network, flow, wanted)
    found, scale = best(program, demanded)
    x = np.maximum(np.asarray(found.x, dtype=np.float64), 0.0) * scale
    most = _finished(program, x, demanded)
    limits = _limits(program, found)
    if early:
        again = _earliest(program, demanded, found, scale)
        x = again if again is not None else x
    balance = _weeks(program, x, demanded)
    came = season.harvest(len(network.items.ids))
    items = np.flatnonzero(came > 0)
    spoiled = [_sum(program.spoiled.get(int(i)), x, program.days) for i in items]
    at_end = [
        float(x[program.stock[i] + program.days - 1]) if i in program.stock else float(came[i]) for i in items.tolist()
    ]
    return Season(
        begins=str(season.begins),
        ends=str(season.day(season.days - 1)),
        days=season.days,
        working_days=season.working_days,
        products=tuple(network.items.ids[i] for i in demanded),
        units=tuple(network.items.units[i] for i in demanded),
        potential=harvest.potential if np.isfinite(harvest.potential) else None,
        limits_item=harvest.limits,
        wanted=tuple(float(total[i]) for i in demanded) if by_demand else None,
        most=most,
        harvest=tuple(network.items.ids[i] for i in items),
        harvest_units=tuple(network.items.units[i] for i in items),
        came=tuple(float(came[i]) for i in items),
        spoiled=tuple(spoiled),
        left=tuple(s + e for s, e in zip(spoiled, at_end, strict=True)),
        over=tuple(float(harvest.left[i]) for i in items),
        limits=limits,
        balance=balance,
        honesty=_honesty(network, program, most, bool(harvest.recipes)),
        provenance=Provenance("season", __version__, network.fingerprint, None, time.perf_counter() - begun),
    )


def best(program: Program, demanded: Any) -> tuple[Any, float]:
    """The program solved for the most that is finished; amounts are scaled to the harvest."""
    width = len(program.most)
    goal = np.zeros(width)
    for item in demanded.tolist():
        weight = 1.0 / float(program.network.items.demand[item])
        goal[program.stock[item] + program.days - 1] = -weight
    scale = _scale(program)
    found = _solved(program, goal / max(float(np.abs(goal).max()), 1e-300), scale, np.zeros(width))
    if found.status != 0:
        raise ProblemsError([Problem("plan.from", f"the balance of the season has no answer: {found.message}")])
    return found, scale


def _earliest(program: Program, demanded: Any, found: Any, scale: float) -> Floats | None:
    """The plan that finishes as much and as early as can be: the sum of what is finished over all days is greatest."""
    width = len(program.most)
    goal = np.zeros(width)
    least = np.zeros(width)
    for item in demanded.tolist():
        at = program.stock[item]
        size = max(float(found.x[at + program.days - 1]), 1e-300)
        goal[at : at + program.days] = -1.0 / size / program.days
        least[at + program.days - 1] = float(found.x[at + program.days - 1]) * (1 - 1e-9)
    for item, stock in program.stock.items():
        if item not in demanded:  # and nothing waits longer than it must
            there = slice(stock, stock + program.days)
            goal[there] += EARLY / program.days / max(float(np.abs(found.x[there]).max()), 1.0)
    again = _solved(program, goal, scale, least)
    return np.maximum(again.x, 0.0) * scale if again.status == 0 else None


def least_held(program: Program, demanded: Any, pool: int, amount: float) -> float:
    """The least that a pool of vessels must hold, in vessels of its first size, for so much to be finished; inf: none.

    What the vessels hold is a column of the program here, and its least value the goal.
    """
    from scipy.sparse import coo_array, hstack, vstack

    scale, width = _scale(program), len(program.most)
    less, equal = program.matrices()
    mine = program.pool_rows[pool]
    holds = coo_array((-np.ones(len(mine)), (mine, [0] * len(mine))), shape=(less.shape[0], 1))
    ends = [program.stock[int(i)] + program.days - 1 for i in demanded]
    finished = coo_array((-np.ones(len(ends)), ([0] * len(ends), ends)), shape=(1, width + 1))
    right = np.array(program.less.right) / scale
    right[mine] = 0.0
    kept = np.flatnonzero(np.isfinite(right))
    found = solve(
        np.append(np.zeros(width), 1.0),
        A_ub=vstack([hstack([less, holds]).tocsr()[kept], finished]),
        b_ub=np.append(right[kept], -amount / scale),
        A_eq=hstack([equal, coo_array((equal.shape[0], 1))]),
        b_eq=np.array(program.equal.right) / scale,
        bounds=np.stack([np.zeros(width + 1), np.append(np.array(program.most) / scale, np.inf)], axis=1),
    )
    return float(found.x[-1]) * scale if found.status == 0 else float("inf")


def _scale(program: Program) -> float:
    """Amounts are divided by this: about what comes at once."""
    return max(float(np.abs(program.equal.right).max(initial=0.0)), 1.0)


def _solved(program: Program, goal: Floats, scale: float, least: Floats) -> Any:
    """The program solved for the least of a goal, amounts divided by ``scale``; rows without a limit are left out."""
    less, equal = program.matrices()
    right = np.array(program.less.right) / scale
    kept = np.isfinite(right)
    return solve(
        goal,
        A_ub=less if kept.all() else less[np.flatnonzero(kept)],
        b_ub=right[kept],
        A_eq=equal,
        b_eq=np.array(program.equal.right) / scale,
        bounds=np.stack([least, np.maximum(np.array(program.most) / scale, least)], axis=1),
    )


def solve(goal: Floats, **rows: Any) -> Any:
    """SciPy's HiGHS: by its interior point, which takes a sixth of the time here, where that fails by the simplex."""
    from scipy.optimize import linprog

    of: Any = linprog
    found = of(goal, **rows, method="highs-ipm", options=OPTIONS)
    return found if found.status == 0 else of(goal, **rows, method="highs-ds", options=OPTIONS)


def _finished(program: Program, x: Floats, demanded: Any) -> tuple[float, ...]:
    return tuple(float(x[program.stock[int(i)] + program.days - 1]) for i in demanded)


def _sum(base: int | None, x: Floats, days: int) -> float:
    return float(x[base : base + days].sum()) if base is not None else 0.0


def _limits(program: Program, found: Any) -> tuple[Limit, ...]:
    """Prices times what is at hand, by name; the days on which they are not nought tell the weeks."""
    season = program.network.season
    assert season is not None
    weight: dict[tuple[str, str], float] = {}
    days: dict[tuple[str, str], set[int]] = {}
    groups = (
        (program.equal.name, np.abs(found.eqlin.marginals), program.equal.right),
        (program.less.name, np.abs(found.ineqlin.marginals), program.less.right),
        (program.named, np.abs(found.upper.marginals), program.most),
    )  # fmt: skip
    for names, prices, right in groups:
        for k, (name, price, amount) in enumerate(zip(names, prices.tolist(), right, strict=True)):
            worth = price * amount if price > 1e-12 and np.isfinite(amount) else 0.0
            if not name[0] or worth <= 0:
                continue
            weight[name] = weight.get(name, 0.0) + worth
            days.setdefault(name, set()).add(_day_of(program, names, k))
    total = sum(weight.values())
    found_limits = []
    for name, worth in sorted(weight.items(), key=lambda pair: -pair[1]):
        if worth < 1e-6 * total:
            continue
        weeks = [str(season.monday(int(season.week_of[d]))) for d in (min(days[name]), max(days[name]))]
        found_limits.append(Limit(name[0], name[1], worth / total, (weeks[0], weeks[1])))
    return tuple(found_limits)


def _day_of(program: Program, names: list[tuple[str, str]], k: int) -> int:
    """The day of a row or column: every name comes in runs of one a day."""
    first = k
    while first > 0 and names[first - 1] == names[k]:
        first -= 1
    return (k - first) % program.days


def _weeks(program: Program, x: Floats, demanded: Any) -> WeekBalance:
    """The days of a plan gathered into weeks."""
    network = program.network
    season = network.season
    assert season is not None
    week, n = season.week_of, season.weeks
    last = np.array([np.flatnonzero(week == w)[-1] for w in range(n)])
    arrivals = season.arrivals(len(network.items.ids))
    harvest = [i for i in np.flatnonzero(arrivals.sum(axis=0) > 0).tolist() if i in program.stock]
    kept = [i for i in program.stock if i not in harvest and i not in demanded]

    def series(base: int) -> Floats:
        return x[base : base + program.days]

    def summed(values: Floats) -> Floats:
        return np.asarray(np.bincount(week, values, minlength=n), dtype=np.float64)

    used = [np.zeros(program.days) for _ in program.vessels]
    planned = tuple(float(vessel.count) for vessel in program.vessels)
    for q, pool in enumerate(program.pools):
        filled = np.zeros(program.days)
        for k, load in zip(pool.legs, pool.loads, strict=True):
            filled += series(program.content[k, q]) / load
        for v in pool.vessels:  # shared out by what they hold
            used[v] = planned[v] * filled / max(pool.holds(planned), 1e-300)
    nothing = np.zeros((n, 0))
    return WeekBalance(
        mondays=tuple(str(season.monday(w)) for w in range(n)),
        harvest=tuple(network.items.ids[i] for i in harvest),
        kept=tuple(network.items.ids[i] for i in kept),
        vessels=tuple(vessel.name for vessel in program.vessels),
        counts=tuple(vessel.count for vessel in program.vessels),
        products=tuple(network.items.ids[int(i)] for i in demanded),
        came=np.stack([summed(arrivals[:, i]) for i in harvest], axis=1) if harvest else nothing,
        spoiled=np.stack(
            [summed(series(program.spoiled[i]) if i in program.spoiled else np.zeros(program.days)) for i in harvest],
            axis=1,
        ) if harvest else nothing,
        on_hand=np.stack([series(program.stock[i])[last] for i in harvest], axis=1) if harvest else nothing,
        stock=np.stack([series(program.stock[i])[last] for i in kept], axis=1) if kept else nothing,
        in_use=np.stack([summed(u) / np.bincount(week, minlength=n) for u in used], axis=1) if used else nothing,
        most_in_use=np.stack([[u[week == w].max() for w in range(n)] for u in used], axis=1) if used else nothing,
        finished=np.stack(
            [np.diff(series(program.stock[int(i)])[last], prepend=0.0) for i in demanded], axis=1
        ),
    )  # fmt: skip


def _honesty(network: Network, program: Program, most: tuple[float, ...], blends: bool) -> Honesty:
    """An upper bound where every time is fixed; of random times their means are taken, and it is an estimate."""
    table = network.operations
    random = [
        table.ids[o]
        for leg in program.legs if leg.is_vessel
        for o in range(leg.first, leg.last + 1)
        if table.stand.shape[o] != Shape.FIXED
    ]  # fmt: skip
    notes = ["Work of a day is done on that day, loads are full, and what stands in a vessel is told at midnight."]
    if blends:
        notes.append("Every blend has one recipe all season: the bound is of that recipe.")
    if program.fills:
        names = dict.fromkeys(step_called(network.plan, table.ids[network.choices[k].operation]) for k in program.fills)
        notes.append(f"What can be of several items is of any that are on hand on the day: {', '.join(names)}.")
    if network.plan.makes is not None and network.origin is not None:
        notes.append("Variants are finished in their mix: the bound is of that mix.")
    if random:
        notes.append(
            f"Times that vary count at their means: {', '.join(step_called(network.plan, name) for name in random)}."
        )
    return Honesty("estimate" if random else "bound", bound=None if random else sum(most), notes=tuple(notes))
