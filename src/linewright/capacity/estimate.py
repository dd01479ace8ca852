"""How long do pieces wait, how many are about, and how well is each place used? Estimates at the demand.

Every station is taken as a queue of its own with the effective time of its operations and the variation that comes
down its routes; crews, tools and finite stores are left out. The result is an estimate, never a bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import HOUR
from linewright.capacity.effectiveness import oee_index
from linewright.capacity.loads import Loads
from linewright.capacity.model import Effectiveness, Resource, Waiting
from linewright.capacity.rates import StationRate
from linewright.capacity.segments import Segments
from linewright.capacity.variation import Effective, departing, wait_estimate, with_setups, with_stoppages
from linewright.flow.model import Flow
from linewright.network.model import Floats, Network

_ROUNDS = 20


@dataclass(frozen=True, slots=True)
class _Queueing:
    """One station as a queue: ``arrivals`` loads an hour of the time it is open, effective time in hours."""

    rate: StationRate
    use: float
    arrivals: float
    effective: Effective
    places: int


def effective_time(network: Network, rate: StationRate, load: Loads, parts: Segments) -> Effective:
    """Mean and variance [h, h^2] of what one load keeps a place of a station busy, stoppages and setups counted in."""
    operations = network.operations
    rows = np.flatnonzero(rate.share > 0)
    cycles = rate.share[rows] * load.cycles[rows]
    visits, which = np.unique(operations.visit[rows], return_inverse=True)
    first = network.visits.first[visits][which] == rows
    n = float(cycles[first].sum())
    if n <= 0:
        return Effective(0.0, 0.0)
    total = np.bincount(which, cycles * (parts.run + parts.stand)[rows])
    entries = np.bincount(which, np.where(first, cycles, 0.0))
    spread = float((cycles * (operations.time.variance + operations.stand.variance)[rows]).sum()) / n
    means = np.divide(total, entries, out=np.zeros_like(total), where=entries > 0)
    mean = float((entries * means).sum()) / n
    between = float((entries * (means - mean) ** 2).sum()) / n
    base = Effective(mean / HOUR, (spread + between) / HOUR**2)
    table = network.stoppages
    for k in np.flatnonzero((table.station == rate.station) & (table.between.mean > 0)).tolist():
        repair = float(table.repair.mean[k])
        scv = float(table.repair.variance[k]) / repair**2 if repair > 0 else 0.0
        base = with_stoppages(base, float(table.between.mean[k]) / HOUR, repair / HOUR, scv)
    setups = float((rate.share * load.setups).sum())
    if setups > 0:
        time = float((rate.share * load.setups * load.setting_up).sum()) / setups / HOUR
        base = with_setups(base, n / setups, time)
    return base


def waiting(
    network: Network, flow: Flow, load: Loads, parts: Segments, rates: Sequence[StationRate], used: Sequence[Resource]
) -> tuple[Waiting, ...]:
    """Waiting before every station in use; ``used`` are the stations' resources, in the order of ``rates``."""
    n = len(network.stations.ids)
    days = network.days_week
    queues: dict[int, _Queueing] = {}
    for rate, resource in zip(rates, used, strict=True):
        effective = effective_time(network, rate, load, parts)
        first = network.visits.first
        loads_a_day = float((rate.share * load.cycles)[first].sum())
        open_hours = rate.offered.total_ns / HOUR / days
        if loads_a_day > 0 and effective.mean > 0 and 0 < open_hours < np.inf:
            places = int(network.stations.places[rate.station])
            queues[rate.station] = _Queueing(rate, resource.use, loads_a_day / open_hours, effective, places)
    arriving = _arrivals(network, load, queues, n)
    out = []
    for station, queue in sorted(queues.items()):
        ca2 = float(arriving[station])
        wait: float | None = None
        line: float | None = None
        if queue.use < 1:
            wait = wait_estimate(queue.use, queue.effective.mean, ca2, queue.effective.scv, queue.places)
            size = float((queue.rate.share * flow.runs)[network.visits.first].sum())
            line = wait * size / max(queue.rate.offered.total_ns / HOUR / days, 1e-12)
        out.append(
            Waiting(
                network.stations.ids[station], queue.use, queue.effective.mean, ca2, queue.effective.scv, wait, line
            )
        )
    return tuple(out)


def _arrivals(network: Network, load: Loads, queues: dict[int, _Queueing], n: int) -> Floats:
    """Squared coefficient of variation of what comes to each station: down the routes, from even release at the first.

    What comes out of a station varies by ``departures``; streams that meet are averaged by their size. Loads of k are
    gathered from single pieces, which evens their arrival out (ca^2 / k).
    """
    visits = network.visits
    station = visits.station
    route = network.operations.route[visits.first]
    size = load.cycles[visits.first]
    before = np.where(np.concatenate([[False], route[1:] == route[:-1]]), np.arange(len(route)) - 1, -1)
    held = network.operations.load_most
    gathered = np.maximum(1.0, held[visits.first] / np.where(before >= 0, held[visits.last[before]], 1.0))
    at = np.flatnonzero(station >= 0)
    weight = np.bincount(station[at], size[at], minlength=n)
    rows = np.array(sorted(queues), dtype=np.int64)
    here = [queues[s] for s in rows.tolist()]
    use = np.array([min(q.use, 1.0) for q in here])
    ce2 = np.array([q.effective.scv for q in here])
    places = np.array([float(q.places) for q in here])
    ca2 = np.ones(n)
    for _ in range(_ROUNDS):
        leaving = np.ones(n + 1)  # the last stands for a bench
        leaving[rows] = departing(use, ca2[rows], ce2, places)
        come = np.where(before >= 0, leaving[station][before], 0.0) / gathered
        mixed = np.bincount(station[at], (size * come)[at], minlength=n)
        new = np.divide(mixed, weight, out=np.ones(n), where=weight > 0)
        if np.allclose(new, ca2, rtol=1e-6, atol=1e-9):
            return new
        ca2 = new
    return ca2


def effectiveness_of(
    network: Network, flow: Flow, load: Loads, parts: Segments, rates: Sequence[StationRate], used: Sequence[Resource]
) -> tuple[Effectiveness, ...]:
    """Every station in use in the terms of ISO 22400-2, as the plan lets expect."""
    pace = _pace(network)
    bad = np.minimum(flow.scrapped() + (flow.runs - flow.first_runs), flow.runs)
    good = 1 - np.divide(bad, flow.runs, out=np.zeros_like(bad), where=flow.runs > 0)
    out = []
    for rate, resource in zip(rates, used, strict=True):
        time = rate.share * load.cycles * (parts.run + parts.stand)
        if time.sum() <= 0:
            continue
        hours = resource.hours
        production = hours.working + hours.reworking + hours.moving + hours.standing
        busy = hours.total
        available = production / busy
        effective = float((time * pace).sum() / time.sum())
        runs = rate.share * flow.runs
        quality = float((runs * good).sum() / runs.sum())
        out.append(
            Effectiveness(
                station=resource.id,
                availability=available,
                effectiveness=effective,
                quality_ratio=quality,
                oee_index=oee_index(available, effective, quality),
                utilization=production / resource.available if resource.available > 0 else 0.0,
                setup_ratio=hours.setting_up / (hours.setting_up + production),
            )
        )
    return tuple(out)


def _pace(network: Network) -> Floats:
    """[n_operations] planned (normal) time over standard time: allowances and absence take the rest."""
    operations = network.operations
    starts, index = operations.crews.starts, operations.crews.index
    stretch = np.ones(len(operations.ids))
    has = np.diff(starts) > 0
    if has.any():
        stretch[has] = np.maximum.reduceat(network.crews.stretch[index], starts[:-1][has])
    return np.where(operations.hands_all, 1 / stretch, 1.0)


def lead_times(
    network: Network, flow: Flow, parts: Segments, waits: Sequence[Waiting]
) -> tuple[float | None, float | None]:
    """Pieces in process, and hours from the first operation to the finished item along the longest branch.

    Both None where a station is overloaded. Items that go round in a loop are counted once.
    """
    if any(w.wait is None for w in waits):
        return None, None
    operations, routes = network.operations, network.routes
    waited = np.zeros(len(network.stations.ids) + 1)
    for w in waits:
        waited[network.stations.ids.index(w.station)] = w.wait
    first = network.visits.first[operations.visit] == np.arange(len(operations.ids))
    wait = np.where(first, waited[network.visits.station[operations.visit]], 0.0)
    time = (parts.run + parts.stand) / HOUR
    per_piece = np.divide(
        flow.runs, flow.started[operations.route], out=np.ones(len(time)), where=flow.started[operations.route] > 0
    )
    each = (time + wait) * np.maximum(per_piece, 0.0)
    through = np.bincount(operations.route, each, minlength=len(routes.ids))
    in_process = float((flow.runs * (time + wait)).sum()) / _open_hours(network)
    longest = _longest(network, np.asarray(through, dtype=np.float64))
    wanted = np.flatnonzero(network.items.demand > 0)
    return in_process, max((longest.get(int(i), 0.0) for i in wanted), default=0.0)


def _open_hours(network: Network) -> float:
    return network.open_calendar.open_ns / HOUR / network.days_week


def _longest(network: Network, through: Floats) -> dict[int, float]:
    """Item -> hours of its longest branch, made items before their users; a loop is not followed round."""
    takes = network.operations.takes
    row = np.repeat(np.arange(len(network.operations.ids)), np.diff(takes.starts))
    fed: dict[int, set[int]] = {}
    for o, item in zip(row.tolist(), takes.index.tolist(), strict=True):
        fed.setdefault(int(network.operations.route[o]), set()).add(item)
    made: dict[int, list[int]] = {}
    for route, item in enumerate(network.routes.item.tolist()):
        made.setdefault(item, []).append(route)
    known: dict[int, float] = {}
    for root in np.flatnonzero(network.items.demand > 0).tolist():
        stack, open_now = [(root, False)], set[int]()
        while stack:
            item, ready = stack.pop()
            if ready:
                open_now.discard(item)
                known[item] = max(
                    (
                        float(through[r]) + max((known.get(i, 0.0) for i in fed.get(r, ())), default=0.0)
                        for r in made.get(item, ())
                    ),
                    default=0.0,
                )
            elif item not in known and item not in open_now:
                open_now.add(item)
                stack.append((item, True))
                stack += [(i, False) for r in made.get(item, ()) for i in fed.get(r, ())]
    return known
