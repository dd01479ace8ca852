"""The compiler: a Plan becomes a Network, or every problem found on the way is raised together."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from linewright.base.problems import Problem, ProblemsError
from linewright.network.blocking import warn_of_rings
from linewright.network.campaigns import compile_campaigns, compile_cares
from linewright.network.carriers import compile_carriers
from linewright.network.carry import Step, carry_route
from linewright.network.checks import compile_checks
from linewright.network.context import Context, start
from linewright.network.items import ItemFacts, compile_items, facts_of, units_of
from linewright.network.loads import whole_of
from linewright.network.mixes import mixed
from linewright.network.model import DIRECT, NOWHERE, Changeovers, Ints, Network, Operations, Routes
from linewright.network.operations import compile_operations
from linewright.network.order import routes_in_order
from linewright.network.people import compile_people
from linewright.network.round_the_clock import warn_of_joined_shifts
from linewright.network.rows import floats, ints
from linewright.network.season import compile_season
from linewright.network.stations import (
    compile_stations,
    compile_stoppages,
    compile_stores,
    compile_tools,
    compile_utilities,
)
from linewright.network.variants import Expansion, expand, item_as_written, without_values, written_path
from linewright.network.visits import compile_visits
from linewright.network.window_hours import check_window_hours
from linewright.network.windows import compile_windows
from linewright.plan.called import called
from linewright.plan.model import Plan, Route
from linewright.plan.paths import join


def compile_network(plan: Plan, like: Expansion | None = None) -> Network:
    """Compile a plan into flat arrays.

    ``like`` is a plan with options spread out, used again where the variants are the same. Raises ProblemsError with
    every problem found. Warnings are kept in ``network.problems``, what was taken for granted in
    ``network.assumptions``.
    """
    return compile_variants(plan, like) if plan.options else compile_plain(plan)


def compile_variants(plan: Plan, like: Expansion | None = None) -> Network:
    """Compile a plan with options: a row for each variant. Problems are told at the fields as written."""
    _check_harvest(plan)
    expansion = expand(plan, like)
    try:
        network = compile_plain(expansion.plan)
    except ProblemsError as wrong:
        raise ProblemsError(as_written(wrong.problems, expansion)) from None
    paths = tuple(written_path(path, expansion) for path in network.operations.paths)
    return replace(
        network,
        operations=replace(network.operations, paths=paths),
        problems=as_written(network.problems, expansion),
        origin=expansion.origin,
    )


def _check_harvest(plan: Plan) -> None:
    """What comes in season comes as it is: no demand says in which variants. Raises ProblemsError."""
    found = [
        Problem(
            f"intake[{number}].item",
            f"{called(plan.items[intake.item])} has options, and what comes in season comes in no mix that is known",
            value=intake.item,
            hint="an item without options, or one for each kind with an [[intake]] of its own",
        )
        for number, intake in enumerate(plan.intake)
        if intake.item in plan.items and plan.items[intake.item].options
    ]
    if found:
        raise ProblemsError(found)


def as_written(problems: Iterable[Problem], expansion: Expansion) -> tuple[Problem, ...]:
    """Problems at the fields as written; what all variants have in common is said once."""
    told = (replace(p, path=written_path(p.path, expansion), what=without_values(p.what)) for p in problems)
    return tuple(dict.fromkeys(told))


def compile_plain(plan: Plan) -> Network:
    """Compile a plan that has no options, or whose variants are spread out."""
    context = start(plan)
    people = compile_people(context)
    facts = [facts_of(item, context.problems) for item in plan.items.values()]
    steps = _carry(context, facts)
    calendars = people.calendars
    stretches = dict(zip(people.crews.ids, people.crews.stretch.tolist(), strict=True))
    rows = compile_operations(context, steps, facts, stretches)
    visits, visit = compile_visits(context, steps)
    stations = compile_stations(context, calendars)
    stores, kept = compile_stores(context, facts)
    inspections = compile_checks(context, steps)
    network = Network(
        plan=plan,
        items=compile_items(context, facts, people.open_calendar, people.days_week),
        routes=_routes(context, facts),
        operations=(operations := rows.done(visit)),
        windows=compile_windows(context, steps, operations),
        visits=visits,
        stations=stations,
        stoppages=compile_stoppages(context),
        utilities=compile_utilities(context),
        crews=people.crews,
        stores=stores,
        tools=compile_tools(context),
        choices=tuple(rows.choices),
        carriers=compile_carriers(context, inspections),
        inspections=inspections,
        faults=tuple(context.faults),
        losses=tuple(context.losses),
        changeovers=_changeovers(context, operations),
        item_store=ints(kept),
        calendars=tuple(calendars),
        open_calendar=people.open_calendar,
        days_week=people.days_week,
        campaigns=compile_campaigns(context, facts, stores, kept),
        cares=compile_cares(context, stretches, operations),
        season=compile_season(context, facts, people.open_calendar),
        fingerprint=plan.fingerprint or hashlib.sha256(repr(plan).encode()).hexdigest()[:16],
    )
    context.problems.raise_errors()
    _check_faults(network, context)
    _check_shares(network, context)
    network, lots = mixed(network)
    context.assumptions.extend(lots)
    warn_of_rings(network, context.problems)
    check_window_hours(network, context.problems)
    warn_of_joined_shifts(network, context.problems)
    context.problems.raise_errors()
    _assume(network, context)
    return replace(network, problems=tuple(context.problems), assumptions=tuple(context.assumptions))


def _carry(context: Context, facts: list[ItemFacts]) -> dict[str, list[Step]]:
    """Follow the piece of every route; makers before users, so that masses found on the way are known."""
    return {route.id: carry_route(route, facts, context) for route in routes_in_order(context.plan)}


def _routes(context: Context, facts: list[ItemFacts]) -> Routes:
    routes = list(context.plan.routes.values())
    ends = np.cumsum([len(route.operations) for route in routes]).astype(np.int64)
    starts = ends - np.array([len(route.operations) for route in routes], dtype=np.int64)
    return Routes(
        ids=tuple(context.plan.routes),
        item=ints([context.items.get(route.gives, -1) for route in routes]),
        first=ints(starts.tolist()),
        last=ints((ends - 1).tolist()),
        share=floats([route.share if route.share is not None else math.nan for route in routes]),
        prefer=ints([route.prefer or 0 for route in routes]),
        lot=floats([_lot(route, context, facts) for route in routes]),
    )


def _lot(route: Route, context: Context, facts: list[ItemFacts]) -> float:
    """Units of the item that are let in one after another; 0 where none is written."""
    item = context.items.get(route.gives, -1)
    if route.lot is None or item < 0:
        return 0.0
    path, one = f"{join('routes', route.id)}.lot", facts[item]
    units = units_of(one, route.lot, path, context.problems)
    if one.dimension != "count" or math.isnan(units):
        return units
    mass = one.mass if route.lot.dimension == "mass" else math.nan
    return whole_of(units, route.lot, path, one.item, mass, context.problems)


def _changeovers(context: Context, operations: Operations) -> Changeovers:
    """Times of changing over as written, spread over the operations that an item's name stands for."""
    makes: dict[str, list[int]] = {name: [number] for name, number in context.operations.items()}
    for route in context.plan.routes.values():
        makes.setdefault(route.gives, []).extend(context.operations[o.id] for o in route.operations)
    before, after, times = [], [], []
    setups = [operation.setup for route in context.plan.routes.values() for operation in route.operations]
    for number, (path, setup) in enumerate(zip(operations.paths, setups, strict=True)):
        if setup is None or not setup.table:
            continue
        for (old, new), time in setup.table.items():
            for name in (old, new):
                context.look_up(dict.fromkeys(makes, 0), name, f"{path}.setup.table", "operation or item")
            if number in makes.get(new, ()):
                for other in makes.get(old, ()):
                    before.append(other)
                    after.append(number)
                    times.append(round(time.value * 1e9))
    return Changeovers(ints(before), ints(after), ints(times))


def _check_faults(network: Network, context: Context) -> None:
    """Faults belong to counted pieces; of a quantity a share is lost by yield."""
    operations = network.operations
    made = np.diff(operations.faults.starts) > 0
    for o in np.flatnonzero(made).tolist():
        if not network.items.counted[network.routes.item[operations.route[o]]]:
            context.problems.error(
                f"{operations.paths[o]}.faults",
                "faults belong to counted pieces, and this route makes a quantity",
                hint='write yield = "98 %" for the share that is lost',
            )


def _check_shares(network: Network, context: Context) -> None:
    """Shares of an item's routes that are all declared add up to 100 %; with other sources, to no more."""
    for item in np.unique(network.routes.item).tolist():
        routes = np.flatnonzero(network.routes.item == item)
        shares = network.routes.share[routes]
        total = float(np.nansum(shares))
        other = bool(np.isnan(shares).any() or np.isfinite(network.items.buy[item]) or network.items.free[item])
        if np.isnan(shares).all() or (total <= 1 + 1e-9 and (other or total >= 1 - 1e-9)):
            continue
        context.problems.error(
            f"routes.{network.routes.ids[int(routes[-1])]}.share",
            f"the shares of the routes that make {network.items.ids[item]} add up to {100 * total:.6g} %",
            expected="100 % at most" if other else "100 %",
            hint="leave one share out: it becomes the rest",
        )


def _assume(network: Network, context: Context) -> None:
    """Say what was taken for granted."""
    closes = _as_written(network, network.windows.operation[network.windows.most > 0])
    if closes:
        context.assumptions.append(
            f"The material balance takes it that every piece begins {', '.join(closes)} before its window closes; "
            "those that do not are counted by the simulation."
        )
    airs = _as_written(network, np.flatnonzero(network.operations.ullage > 0))
    if airs:
        context.assumptions.append(
            f"The material balance takes the ullage of {', '.join(airs)} for the mean stand as written; in play a load "
            "loses for as long as it stands and waits in its vessel."
        )
    held = _as_written(network, network.routes.last[network.operations.then_to[network.routes.last] == DIRECT])
    if held:
        context.assumptions.append(
            f"Averages and bounds leave out how long a place holds what {', '.join(held)} made until it is drawn off; "
            "in play it holds it."
        )
    leaving = _leaving(network)
    unlimited = len(_as_written(network, leaving[network.operations.then_to[leaving] == NOWHERE]))
    if unlimited:
        context.assumptions.append(
            f"Behind {unlimited} visit{'s' if unlimited != 1 else ''} pieces wait in unlimited room: no store or "
            "direct hand-over is written there."
        )
    kept = np.isin(np.arange(len(network.items.ids)), network.routes.item) & (network.items.keeps > 0)
    if kept.any() and network.season is None:
        names = ", ".join(_things(network, np.flatnonzero(kept)))
        context.assumptions.append(
            f"The material balance uses all {names} before it goes off; what spoils is counted by the simulation."
        )
    fresh = _things(network, np.flatnonzero(~kept & (network.items.keeps > 0)))
    if fresh and network.season is None:
        context.assumptions.append(
            f"What is bought is bought as it is needed, so that none goes off: {', '.join(fresh)}."
        )
    benches = _as_written(network, network.visits.first[network.visits.station == NOWHERE])
    if benches:
        shown = ", ".join(benches[:6]) + (", …" if len(benches) > 6 else "")
        context.assumptions.append(f"Operations without a station happen at a bench of unlimited places: {shown}.")


def _as_written(network: Network, operations: Ints) -> list[str]:
    """Operations as the plan's author calls them, each once however many variants it is done to."""
    every = [o for route in network.plan.routes.values() for o in route.operations]
    steps = (every[int(o)] for o in operations)
    return list(dict.fromkeys(called(replace(step, id=without_values(step.id))) for step in steps))


def _things(network: Network, items: Ints) -> list[str]:
    """Items as the plan's author calls them, each once however many variants there are."""
    every = list(network.plan.items.values())
    return list(dict.fromkeys(called(item_as_written(every[int(i)])) for i in items))


def _leaving(network: Network) -> Ints:
    """Last operations of visits, but for those that end in a store of the item made: behind them pieces wait."""
    last = network.visits.last
    made = network.routes.item[network.operations.route[last]]
    kept = (last == network.routes.last[network.operations.route[last]]) & (network.item_store[made] >= 0)
    return np.asarray(last[~kept], dtype=np.int64)
