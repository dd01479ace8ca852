"""A season played event by event, again and again: what is finished, what is lost, how many tanks are in use.

A season begins empty and ends, so there is no warm-up to leave out and no steady state: each replication is one season
under its own luck, and all of it counts.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

import linewright
from linewright.base.calendar import DAY, WEEK, Calendar
from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Honesty, Interval, Provenance
from linewright.network.model import Floats, Ints, Network
from linewright.network.season import Season
from linewright.simulate.by_origin import Names, names_of, summed_by
from linewright.simulate.cared import cares_of, gathered
from linewright.simulate.checks import check_books
from linewright.simulate.engine import EndlessInstantError, Engine, TooMuchError
from linewright.simulate.estimates import estimate, interval
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout import lay_out
from linewright.simulate.layout_base import Layout
from linewright.simulate.layout_flows import lay_out_flows
from linewright.simulate.letting_in import Quotas
from linewright.simulate.memory import Template
from linewright.simulate.model import Estimates
from linewright.simulate.replication import Columns, care_counts
from linewright.simulate.season_in import check_season, let_season_in
from linewright.simulate.season_model import SeasonRun, Standing
from linewright.simulate.simulate import make_ready
from linewright.simulate.telling import flows_told

LEAST = 8
MOST = 200
Progress = Callable[[int, int, Interval | None], None]


@dataclass(frozen=True, slots=True)
class Played:
    """One replication by days [n_days + 1, ...], the zeroth before the first: running accounts and what is there.

    ``standing`` [n_stations, n_routes] is what the places hold at the end.
    """

    finished: Floats
    pool: Floats
    spoiled: Floats
    occupied: Ints
    open_now: Ints
    states: Ints
    crews: Floats
    campaigns: Ints
    cares: Floats
    standing: Floats
    events: int


def play_season(
    network: Network,
    *,
    starts: Floats,
    quotas: Quotas,
    replications: int | None = None,
    half_width: float | None = 0.01,
    seed: int = 0,
    budget_seconds: float = 5.0,
    threads: int | None = None,
    still: bool = False,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> SeasonRun:
    """Play the horizon of a network.

    ``starts`` [n_routes] are the pieces that the material balance starts on every route over the horizon, ``quotas``
    its shares. ``replications`` fixes their number; else there are eight, and more until the half-width of what is
    finished is ``half_width`` of it or ``budget_seconds`` of computing are used up. Raises ProblemsError for what is
    not played.
    """
    season = network.season
    if season is None:
        raise ProblemsError([Problem("plan.from", "the plan has no horizon", hint="write `from` and `to` in [plan]")])
    layout = lay_out(network)
    check_season(layout)
    let_season_in(layout, quotas, starts)
    lay_out_flows(layout)
    template = layout.template()
    make_ready()
    begin = time.perf_counter()
    done: list[Played] = []
    workers = max(threads if threads is not None else os.cpu_count() or 1, 1)
    fixed = replications is not None
    target = max(replications if replications is not None else (1 if still else LEAST), 1)
    products = np.flatnonzero(network.items.demand > 0)

    def one(number: int) -> Played:
        return _replicate(layout, template, season, seed, number, still=still)

    stopped = False
    with ThreadPoolExecutor(workers) as pool:
        while True:
            for number in range(len(done), target, workers):
                done += pool.map(one, range(number, min(number + workers, target)))
                if progress is not None:
                    progress(len(done), target, _total(done, products) if len(done) > 1 else None)
                stopped = stop is not None and stop()
                spent = (time.perf_counter() - begin) > budget_seconds
                if stopped or (spent and not fixed and len(done) >= LEAST):
                    break
            if stopped or fixed or still or spent or half_width is None or len(done) >= MOST:
                break
            total = _total(done, products)
            if total.half_width <= half_width * total.mean:
                break
            target = min(2 * len(done), MOST)
    return _tell(network, layout, season, done, products, seed, time.perf_counter() - begin, stopped)


def _total(done: list[Played], products: Ints) -> Interval:
    return interval([float(run.finished[-1, products].sum()) for run in done])


def _replicate(layout: Layout, template: Template, season: Season, seed: int, number: int, *, still: bool) -> Played:
    """One season, looked at every midnight."""
    columns = Columns.of(layout)
    engine = Engine(template, seed=seed, replication=number, still=still)
    shots = []
    try:
        for day in range(season.days + 1):
            until = (season.weekday + day) * DAY
            while not engine.advance(until):
                pass
            if day == season.days or until % WEEK == 0:
                engine.settle()
                check_books(engine, layout)
                engine.take_log()
            shots.append(_shot(engine, layout, columns))
    except TooMuchError:
        raise ProblemsError([Problem("intake", "so much comes at once that it cannot be followed any more")]) from None
    except EndlessInstantError as endless:
        path = layout.network.operations.paths[endless.operation]
        raise ProblemsError([Problem(path, "this is done again and again without any time passing")]) from None
    stacked: list[Any] = [np.stack(part) for part in zip(*shots, strict=True)]
    finished, pool, spoiled, occupied, open_now, states, crews = stacked
    begun = [int(engine.m[engine.m[row + r.U_CAMPAIGN] + r.Q_COUNT]) for row in _with_campaigns(layout)]
    cares = gathered(columns.cared_for, care_counts(engine, columns), len(layout.network.cares.names))
    return Played(
        finished, pool, spoiled, occupied, open_now, states, crews, np.array(begun, dtype=np.int64), cares,
        _standing(engine, layout), engine.events,
    )  # fmt: skip


def _with_campaigns(layout: Layout) -> list[int]:
    """Rows of the routes that run in campaigns."""
    return [layout.routes[int(route)] for route in layout.network.campaigns.route]


def _shot(engine: Engine, layout: Layout, c: Columns) -> tuple[np.ndarray, ...]:
    engine.settle()
    m, x = engine.m, engine.x
    occupied = np.array([sum(_in_use(m, place) for place in places) for places in layout.places])
    states = np.stack([m[c.accounts + k] for k in range(r.N_STATES)], axis=-1).reshape(len(c.accounts), r.N_STATES)
    return (
        x[c.items + r.I_FINISHED], x[c.items + r.I_POOL], x[c.items + r.I_SPOILED], occupied,
        m[c.routes + r.U_OPEN], states, x[c.crews + r.C_TIME],
    )  # fmt: skip


def _standing(engine: Engine, layout: Layout) -> Floats:
    """[n_stations, n_routes] units in the places of each station, on their way through each route."""
    m, x = engine.m, engine.x
    route_at = {row: k for k, row in enumerate(layout.routes)}
    found = np.zeros((len(layout.places), len(layout.routes)))
    for station, places in enumerate(layout.places):
        for place in places:
            piece = int(m[place + r.HEAD]) if _in_use(m, place) else 0
            while piece:
                found[station, route_at[int(m[piece + r.ROUTE])]] += x[piece + r.AMOUNT]
                piece = int(m[piece + r.P_NEXT])
    return found


def _in_use(m: Ints, place: int) -> bool:
    """Whether a place holds something, or is cleaned; not where what came into it still waits for its first parts."""
    tail = int(m[place + r.TAIL])
    waits = tail != 0 and m[place + r.HEAD] == tail and m[tail + r.BEGINS] == 1
    return bool(m[place + r.VISIT] != 0 and not waits)


def _tell(
    network: Network, layout: Layout, season: Season, done: list[Played], products: Ints, seed: int, seconds: float,
    stopped: bool,
) -> SeasonRun:  # fmt: skip
    """One answer from all replications, by what was written."""
    names = names_of(network)
    variants = () if names.plain else tuple(
        (network.items.ids[i], interval([float(run.finished[-1, i]) for run in done])) for i in products
    )  # fmt: skip
    done = [_as_written(run, network, names) for run in done]
    came = np.zeros(len(names.items))
    np.add.at(came, names.item, season.harvest(len(network.items.ids)))
    harvest = np.flatnonzero(came > 0)
    products = np.array(names.demanded(products.tolist()), dtype=np.int64)
    makes = set(names.item[network.routes.item].tolist()) - set(products.tolist())
    made = sorted(makes)
    campaigns = list(dict.fromkeys(names.route[network.campaigns.route].tolist()))
    ends = _week_ends(season)

    def over(pick: Callable[[Played], Floats]) -> Floats:
        return np.array([pick(run) for run in done], dtype=np.float64)

    used = over(lambda run: np.stack([run.occupied[1:][season.week_of == w].max(axis=0) for w in range(season.weeks)]))
    total = _total(done, products)
    return SeasonRun(
        products=tuple(names.items[i] for i in products),
        units=tuple(names.units[i] for i in products),
        harvest=tuple(names.items[i] for i in harvest),
        kept=tuple(names.items[i] for i in made),
        kept_units=tuple(names.units[i] for i in made),
        stations=network.stations.ids,
        crews=network.crews.ids,
        routes=names.routes,
        mondays=tuple(str(season.monday(w)) for w in range(season.weeks)),
        finished=tuple(interval([float(run.finished[-1, i]) for run in done]) for i in products),
        total=total,
        total_of_each=np.array([float(run.finished[-1, products].sum()) for run in done]),
        came=came[harvest],
        spoiled=estimate(over(lambda run: run.spoiled[-1, harvest])),
        left=estimate(over(lambda run: run.pool[-1, harvest])),
        waiting=estimate(over(lambda run: run.pool[-1, made])),
        open_pieces=estimate(over(lambda run: run.open_now[-1])),
        standing=_told_standing(network, names, done),
        week_finished=estimate(over(lambda run: np.diff(run.finished[ends][:, products], axis=0))),
        week_on_hand=estimate(over(lambda run: run.pool[ends[1:]][:, harvest])),
        week_spoiled=estimate(over(lambda run: np.diff(run.spoiled[ends][:, harvest], axis=0))),
        week_in_use=estimate(used),
        most_in_use=used.max(axis=(0, 1)),
        state_share=_states(network, layout, season, done),
        crew_use=_use(network, season, done),
        campaigns=tuple(
            (names.routes[route], interval([float(run.campaigns[k]) for run in done]))
            for k, route in enumerate(campaigns)
        ),
        cares=cares_of(network, names, np.array([run.cares for run in done])),
        events=sum(run.events for run in done),
        provenance=Provenance("simulate season", linewright.__version__, network.fingerprint, seed, seconds),
        honesty=Honesty("stopped" if stopped else "sampled", replications=len(done)),
        notes=tuple(flows_told(network, names)),
        variants=variants,
    )


def _as_written(run: Played, network: Network, names: Names) -> Played:
    """The accounts of a replication by what was written, variants together."""
    if names.plain:
        return run
    routes = names.route[network.campaigns.route].tolist()
    each = dict(zip(zip(routes, network.campaigns.item.tolist(), strict=True), run.campaigns.tolist(), strict=True))
    begun = [sum(n for (route, _), n in each.items() if route == k) for k in dict.fromkeys(routes)]
    return replace(
        run,
        finished=summed_by(run.finished, names.item, len(names.items)),
        pool=summed_by(run.pool, names.item, len(names.items)),
        spoiled=summed_by(run.spoiled, names.item, len(names.items)),
        open_now=summed_by(run.open_now, names.route, len(names.routes)),
        campaigns=np.array(begun, dtype=np.int64),
    )


def _told_standing(network: Network, names: Names, done: list[Played]) -> tuple[Standing, ...]:
    """What stood in places at the end of any replication, by station and item."""
    amounts = np.array([run.standing for run in done])
    found = []
    made = names.item[network.routes.item]
    for item in dict.fromkeys(made.tolist()):
        of_item = amounts[:, :, made == item].sum(axis=2)
        for station in np.flatnonzero(of_item.any(axis=0)).tolist():
            amount = interval(of_item[:, station])
            found.append(Standing(network.stations.ids[station], names.items[item], names.units[item], amount))
    return tuple(found)


def _week_ends(season: Season) -> Ints:
    """Days at which the weeks of the calendar end, the beginning first."""
    return np.unique(np.append(np.arange(7 - season.weekday, season.days, 7), [0, season.days])).astype(np.int64)


def _states(network: Network, layout: Layout, season: Season, done: list[Played]) -> Estimates:
    """Shares of states by station over the horizon, its places together."""
    station_of = Columns.of(layout).station_of
    samples = np.zeros((len(done), len(network.stations.ids), r.N_STATES))
    for k, run in enumerate(done):
        np.add.at(samples[k], station_of, run.states[-1] - run.states[0])
    places = network.stations.places.astype(np.float64)[:, None]
    return estimate(samples / (places * season.days * DAY))


def _use(network: Network, season: Season, done: list[Played]) -> Estimates:
    """People at work over people there."""
    there = np.array([_people(network.calendars[int(c)], season) for c in network.crews.calendar])
    used = np.array([run.crews[-1] - run.crews[0] for run in done]).reshape(len(done), len(there))
    return estimate(np.divide(used, there, out=np.zeros_like(used), where=there > 0))


def _people(calendar: Calendar, season: Season) -> float:
    """People times ns over the horizon, closed days left out."""
    ends = np.append(calendar.at[1:], WEEK)
    total = 0.0
    for day in np.flatnonzero(~season.closed).tolist():
        begin = (season.weekday + day) % 7 * DAY
        inside = np.clip(np.minimum(ends, begin + DAY) - np.maximum(calendar.at, begin), 0, None)
        total += float((inside * calendar.level).sum())
    return total
