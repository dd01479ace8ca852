"""The accounts of all replications put into one answer."""

from __future__ import annotations

import math

import numpy as np

import linewright
from linewright.base.calendar import HOUR, NS, WEEK
from linewright.base.results import Honesty, Interval, Provenance
from linewright.base.trace import EVENTS, Trace
from linewright.network.model import Floats, Ints, Network
from linewright.network.variants import without_values
from linewright.plan.called import item_called, step_called
from linewright.plan.model import Plan
from linewright.simulate.by_origin import Names, as_written, names_of
from linewright.simulate.cared import cares_of, gathered
from linewright.simulate.escapes import escapes, escapes_of_kinds
from linewright.simulate.estimates import WarmUp, edge_of, estimate, interval, warm_up, widened, window
from linewright.simulate.flowing import flows, lots
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.flows import RUNS_AT
from linewright.simulate.layout_base import Layout
from linewright.simulate.model import STATES, Cared, Estimates, Simulation
from linewright.simulate.replication import Columns, Weeks

LEVELS = (0.5, 0.9, 0.95)
BINS = 40
WORDS = {
    2: "enters",
    3: "starts",
    4: "ends",
    5: "moves in",
    6: "finished",
    7: "scrapped",
    8: "stops",
    9: "mended",
    10: "runs at",
}


def tell(
    network: Network,
    layout: Layout,
    release: str,
    demanded: list[int],
    runs: list[Weeks],
    *,
    weeks: int,
    seed: int,
    seconds: float,
    wanted: float | None,
    stopped: bool,
    out_of_time: bool,
    targets: dict[int, float],
) -> Simulation:
    """One answer from all replications, by the names that the plan was written with."""
    names = names_of(network)
    variants, each_variant = _variants(names, demanded), runs
    runs, wanted_variants = [as_written(run, names) for run in runs], demanded
    demanded = names.demanded(demanded)
    warm = warm_up(runs, demanded, weeks)
    cut = warm.weeks
    span = (weeks - cut) * WEEK
    days = (weeks - cut) * network.days_week
    finished = np.array([window(run.finished, cut)[demanded] for run in runs]) / days
    each = finished.sum(axis=1)
    weekly = np.array([np.diff(run.finished[:, demanded], axis=0) for run in runs])
    edges_of = [edge_of(weekly[:, :, k], cut, warm.cycle) / network.days_week for k in range(len(demanded))]
    rate = widened(interval(each), edge_of(weekly.sum(axis=2), cut, warm.cycle) / network.days_week)
    makers = [k for k in range(len(network.routes.ids)) if int(network.routes.item[k]) in wanted_variants]
    own_routes = sorted({int(names.route[k]) for k in makers})
    open_each = np.array([window(run.open_time, cut) for run in runs]) / span
    times = _times(runs, layout, makers, cut)
    edges, share = _histogram(times)
    notes = _notes(warm, weeks, release, network, names, targets, wanted, rate, stopped, out_of_time)
    return Simulation(
        items=tuple(names.items[i] for i in demanded),
        units=tuple(names.units[i] for i in demanded),
        routes=names.routes,
        stations=network.stations.ids,
        crews=network.crews.ids,
        lends=_lends(network),
        tools=network.tools.ids,
        carriers=network.carriers.ids,
        windows=tuple(dict.fromkeys(names.operations[o] for o in _windows_of(network, names))),
        stores=network.stores.ids,
        operations=names.operations,
        all_items=names.items,
        release=release,
        demand=names.demand(network)[demanded].copy(),
        rate=rate,
        rates=tuple(widened(interval(finished[:, k]), edges_of[k]) for k in range(len(demanded))),
        variants=tuple(network.items.ids[i] for i in variants),
        variant_demand=network.items.demand[variants].copy(),
        mates=tuple(layout.mates),
        orphans=estimate(np.array([window(run.orphans, cut) for run in runs]) / span),
        variant_rates=estimate(np.array([window(run.finished, cut)[variants] for run in each_variant]) / days),
        work_in_progress=interval(open_each[:, own_routes].sum(axis=1)),
        open_pieces=estimate(open_each),
        time_in_plant=_mean_time(times),
        quantile_levels=LEVELS,
        quantiles=tuple(_quantile(times, level) for level in LEVELS),
        time_edges=edges,
        time_share=share,
        states=STATES,
        state_share=_states(runs, layout, network, cut, span),
        crew_use=_use([window(run.crews, cut) for run in runs], _people(network), weeks - cut),
        lent=estimate(np.array([window(run.lends, cut) for run in runs]) / HOUR / days),
        tool_use=_use(
            [window(run.tools, cut) for run in runs],
            (network.tools.count * float(WEEK)).astype(np.float64),
            weeks - cut,
        ),
        closed=estimate(_closed(runs, network, names, cut) / days),
        carrier_use=estimate(np.array([window(run.carriers, cut) for run in runs]) / span),
        store_level=estimate(np.array([window(run.stores, cut) for run in runs]) / span),
        store_most=np.max([run.store_most for run in runs], axis=0),
        spoiled=estimate(np.array([window(run.spoiled, cut) for run in runs]) / days),
        stock=estimate(np.array([window(run.stocks, cut) for run in runs]) / span),
        runs=estimate(np.array([window(run.runs, cut) for run in runs]) / days),
        scrapped=estimate(np.array([window(run.scrapped, cut) for run in runs]) / days),
        reworked=estimate(np.array([window(run.reworked, cut) for run in runs]) / days),
        week_rate=np.mean([np.diff(run.finished[:, demanded].sum(axis=1)) for run in runs], axis=0) / network.days_week,
        week_open=np.mean([run.open_now[1:][:, own_routes].sum(axis=1) for run in runs], axis=0),
        warm_up_weeks=cut,
        weeks=weeks,
        rate_of_each=each,
        hours=np.arange(1, len(runs[0].levels) + 1, dtype=np.float64),
        level_over_time=runs[0].levels,
        events=sum(run.events for run in runs),
        kept=_kept(names, targets),
        escapes=escapes(network, layout, names, runs, demanded, cut),
        kinds=escapes_of_kinds(network, layout, runs, cut),
        cares=_cares(network, layout, names, runs, cut, days),
        trace=_trace(network, layout, runs[0].log) if runs[0].log is not None else None,
        provenance=Provenance("simulate", linewright.__version__, network.fingerprint, seed, seconds),
        honesty=Honesty("stopped" if stopped else "sampled", replications=len(runs), notes=notes),
        problems=network.problems,
        notes=notes,
    )


def _windows_of(network: Network, names: Names) -> list[int]:
    """The operation, as written, of every window."""
    return [int(names.operation[o]) for o in network.windows.operation]


def _closed(runs: list[Weeks], network: Network, names: Names, cut: int) -> Floats:
    """[n_replications, n_windows] windows that closed, by the operation as written."""
    steps = _windows_of(network, names)
    rows = {step: k for k, step in enumerate(dict.fromkeys(steps))}
    out = np.zeros((len(runs), len(rows)))
    for k, step in enumerate(steps):
        out[:, rows[step]] += [float(run.closed[-1][k] - run.closed[cut][k]) for run in runs]
    return out


def _cares(
    network: Network, layout: Layout, names: Names, runs: list[Weeks], cut: int, days: float
) -> tuple[Cared, ...]:  # fmt: skip
    """Work during stands in a working day after the warm-up."""
    what, n = Columns.of(layout).cared_for, len(network.cares.names)
    counts = np.array([gathered(what, run.cares[-1] - run.cares[cut], n) for run in runs])
    return cares_of(network, names, counts, days)


def _notes(
    warm: WarmUp,
    weeks: int,
    release: str,
    network: Network,
    names: Names,
    targets: dict[int, float],
    wanted: float | None,
    rate: Interval,
    stopped: bool,
    out_of_time: bool,
) -> tuple[str, ...]:
    said = [_weeks_told(weeks, warm.weeks)]
    if warm.cycle > 1:
        said.append(f"output comes in a rhythm of {warm.cycle} weeks; whole rhythms are looked at")
    if warm.grows:
        said.append("open pieces grow from week to week: more is let in than gets through")
    if weeks < 2:
        said.append("one week is too short to leave a warm-up out: ask for more days")
    elif not warm.settled:
        said.append(f"in {weeks} weeks the plant does not settle, so these numbers still drift: ask for more days")
    if stopped:
        said.append("stopped on request: the replications finished by then are answered")
    if out_of_time:
        said.append("the time allowed ran out before all replications were done")
    if wanted is not None and rate.mean > 0 and rate.half_width > wanted * rate.mean:
        said.append(
            f"the half-width is {rate.half_width / rate.mean:.2%} of the rate, not yet the {wanted:.2%} asked for"
        )
    said += flows_told(network, names)
    units = dict(zip(names.items, names.units, strict=True))
    ahead = _kept(names, {k: kept for k, kept in targets.items() if network.items.demand[k] <= 0})
    if ahead:
        plan = _written(network)
        kept = ", ".join(f"{item_called(plan, id)} {n:,.0f} {units[id]}" for id, n in ahead.items())
        said.append(f"parts are made ahead, on hand and in work together: {kept}")
    if release == "flat out":
        open_ = _kept(names, {k: kept for k, kept in targets.items() if network.items.demand[k] > 0})
        pieces = ", ".join(f"{kept:,.0f}" for kept in open_.values())
        said.append(f"work is let in flat out, {pieces} open pieces at a time")
    return tuple(said)


def _kept(names: Names, targets: dict[int, float]) -> dict[str, float]:
    """Pieces kept open or ahead, by item as written."""
    found: dict[str, float] = {}
    for k, kept in targets.items():
        id = names.items[int(names.item[k])]
        found[id] = found.get(id, 0.0) + kept
    return found


def _variants(names: Names, demanded: list[int]) -> list[int]:
    """The demanded variants; none where the plan has no options."""
    return [] if names.plain else demanded


def _written(network: Network) -> Plan:
    """The plan as its author wrote it."""
    return network.plan if network.origin is None else network.origin.plan


def flows_told(network: Network, names: Names) -> list[str]:
    """What flows, and what runs at a rate but is played in lots."""
    said, plan = [], _written(network)
    flowing = dict.fromkeys(
        names.operations[int(o)] for o, flow in zip(names.operation, flows(network), strict=True) if flow
    )
    if flowing:
        said.append(f"flows at rates between stores: {', '.join(step_called(plan, o) for o in flowing)}")
    by_reason: dict[str, list[str]] = {}
    for step, why in lots(network).items():
        by_reason.setdefault(why, []).append(step_called(plan, without_values(step)))
    said += [
        f"{', '.join(steps)} {'is' if len(steps) == 1 else 'are'} played in lots of ten minutes' work or of the next "
        f"load{', each' if len(steps) > 1 else ''}, because {why}"
        for why, steps in ((why, list(dict.fromkeys(found))) for why, found in by_reason.items())
    ]
    return said


def _weeks_told(weeks: int, cut: int) -> str:
    """How many weeks were simulated, and left out."""
    simulated = f"{weeks} week{'s were' if weeks != 1 else ' was'} simulated"
    if cut == 0:
        return f"{simulated}; none is left out as warm-up"
    return f"{simulated}; the first {f'{cut} are' if cut != 1 else 'is'} left out as warm-up"


def _people(network: Network) -> Floats:
    return np.array([float(network.calendars[int(c)].total_ns) for c in network.crews.calendar])


def _lends(network: Network) -> tuple[tuple[str, str], ...]:
    """Who lends people to whom, by name."""
    ids, lends = network.crews.ids, network.crews.lends
    return tuple((ids[a], ids[b]) for a, b in zip(lends.lender.tolist(), lends.to.tolist(), strict=True))


def _use(used: list[Floats], there_a_week: Floats, weeks: int) -> Estimates:
    samples = np.array(used).reshape(len(used), len(there_a_week))
    there = there_a_week * weeks
    return estimate(np.divide(samples, there, out=np.zeros_like(samples), where=there > 0))


def _states(runs: list[Weeks], layout: Layout, network: Network, cut: int, span: int) -> Estimates:
    """Shares of states by station, its places together."""
    station_of: Ints = Columns.of(layout).station_of
    n = len(network.stations.ids)
    samples = np.zeros((len(runs), n, r.N_STATES))
    for k, run in enumerate(runs):
        passed = run.states[-1] - run.states[cut]
        np.add.at(samples[k], station_of, passed)
    places = network.stations.places.astype(np.float64)[:, None]
    return estimate(samples / (places * span))


def _times(runs: list[Weeks], layout: Layout, own_routes: list[int], cut: int) -> list[Floats]:
    """Times in plant, s, of the good pieces of demanded routes that left after the warm-up, for each replication."""
    rows = np.array([layout.operations[int(layout.network.routes.last[k])] for k in own_routes], dtype=np.int64)
    found = []
    for run in runs:
        gone = run.gone
        good = (gone[:, r.L_EVENT] == 6) & (gone[:, r.L_TIME] >= cut * WEEK) & np.isin(gone[:, r.L_OPERATION], rows)
        found.append((gone[good, r.L_TIME] - gone[good, r.L_A]) / NS)
    return found


def _mean_time(times: list[Floats]) -> Interval:
    means = [float(t.mean()) for t in times if len(t)]
    return interval(means) if means else Interval(math.nan, math.inf)


def _quantile(times: list[Floats], level: float) -> Interval:
    found = [float(np.quantile(t, level)) for t in times if len(t)]
    return interval(found) if found else Interval(math.nan, math.inf)


def _histogram(times: list[Floats]) -> tuple[Floats, Floats]:
    together = np.concatenate(times) if times else np.zeros(0)
    if not len(together):
        return np.zeros(1), np.zeros(0)
    counts, edges = np.histogram(together, bins=BINS, range=(0.0, float(together.max()) or 1.0))
    return edges, counts / len(together)


def _trace(network: Network, layout: Layout, log: Ints) -> Trace:
    """The kernel's log in the words of the plan."""
    operation = _index_of(np.array(layout.operations, dtype=np.int64), log[:, r.L_OPERATION])
    places = [place for row in layout.places for place in row]
    station_of = np.array([s for s, row in enumerate(layout.places) for _ in row] + [-1], dtype=np.int64)
    event = np.array([EVENTS.index(WORDS[k]) if k in WORDS else -1 for k in range(max(WORDS) + 1)], dtype=np.int64)[
        log[:, r.L_EVENT]
    ]
    event[(log[:, r.L_EVENT] == 7) & (log[:, r.L_B] == 3)] = EVENTS.index("seconds")
    names = names_of(network)
    item_of = np.append(names.item[network.routes.item[network.operations.route]], -1)
    step_of = np.append(names.operation, -1)
    teams, team = _teams(network, log, operation)
    return Trace(
        time=log[:, r.L_TIME].copy(),
        lot=log[:, r.L_SERIAL].copy(),
        item=item_of[operation],
        operation=step_of[operation],
        station=station_of[_index_of(np.array(places, dtype=np.int64), log[:, r.L_PLACE])],
        crew=team,
        event=event,
        speed=np.where(log[:, r.L_EVENT] == RUNS_AT, log[:, r.L_A], -1),
        names={
            "item": names.items, "operation": names.operations, "station": network.stations.ids,
            "crew": teams, "event": EVENTS,
        },
    )  # fmt: skip


def _teams(network: Network, log: Ints, operation: Ints) -> tuple[tuple[str, ...], Ints]:
    """Who was at work, crews joined by a plus: names, and for each record which; -1 where nobody starts or ends work.

    Where people do another crew's work the record says who came; else it is the crew of the operation.
    """
    ids = network.crews.ids
    crews = [network.operations.crews.row(o)[0].tolist() for o in range(len(network.operations.ids))]
    teams = dict.fromkeys("+".join(ids[c] for c in row) for row in crews if row)
    number = {name: k for k, name in enumerate(teams)}
    own = np.array([*(number["+".join(ids[c] for c in row)] if row else -1 for row in crews), -1], dtype=np.int64)
    at_work = (log[:, r.L_EVENT] == 3) | (log[:, r.L_EVENT] == 4)
    found: Ints = np.where(at_work, own[operation], -1)
    came = np.where(found >= 0, log[:, r.L_A], 0)
    for o, who in np.unique(np.stack([operation, came])[:, came > 0], axis=1).T.tolist():
        if who != sum(1 << c for c in set(crews[o])):  # else they are named in the order of the operation
            name = "+".join(crew for c, crew in enumerate(ids) if who >> c & 1)
            found[(operation == o) & (came == who)] = number.setdefault(name, len(number))
    return tuple(number), found


def _index_of(rows: Ints, wanted: Ints) -> Ints:
    """Where each wanted row stands among rows that rise; -1 where it is none of them."""
    if not len(rows):
        return np.full(len(wanted), -1, dtype=np.int64)
    spot = np.minimum(np.searchsorted(rows, wanted), len(rows) - 1)
    return np.where(rows[spot] == wanted, spot, -1)
