"""Where does the time go? Hours of every operation for one working day at the demand, and who and what carries them.

These are expectations for the plan as written, losses included that a bound must leave out (changeovers by sequence,
cleaning and start-up by shift, repairs at all hours).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import HOUR
from linewright.capacity.model import Hours
from linewright.capacity.segments import Segments
from linewright.flow.model import Flow
from linewright.network.clock import cleans_by_clock, starts_by_clock
from linewright.network.model import Cleans, Floats, Links, Network, Setups, Starts
from linewright.network.variants import changing_items

Shares = Mapping[int, Floats]
"""Station -> share [n_operations] of each operation's cycles that it takes."""


@dataclass(frozen=True, slots=True)
class Loads:
    """[n_operations] each, for one working day at the demand.

    ``cycles`` and ``again`` (of them repeats) full loads; ``setups``, ``cleans``, ``starts`` how often each happens;
    ``setting_up`` ns of a setup, changeovers as the mix lets expect; ``run``, ``stand`` hours of the place; ``moving``
    tells transport.
    """

    cycles: Floats
    again: Floats
    setups: Floats
    setting_up: Floats
    cleans: Floats
    starts: Floats
    run: Floats
    stand: Floats
    moving: np.ndarray


def loads(network: Network, flow: Flow, parts: Segments, shares: Shares) -> Loads:
    """How often everything happens on a working day at the demand."""
    operations = network.operations
    cycles = np.asarray(flow.cycles, dtype=np.float64)
    first = np.divide(flow.first_runs, flow.runs, out=np.ones_like(cycles), where=flow.runs > 0)
    stops = np.zeros(len(cycles))
    for station, share in shares.items():
        stops += share * cycles * parts.run * _stop_rate(network, station)
    setups = _per_count(operations.setup_when == Setups.EVERY, flow.runs, operations.setup_every)
    changes = operations.setup_when == Setups.ITEM_CHANGES
    if changes.any():
        setups = setups + np.where(changes, _changes(network, flow, cycles, shares), 0.0)
    cleans = np.where(operations.clean_when == Cleans.LOAD, cycles, 0.0)
    cleans = cleans + _per_count(operations.clean_when == Cleans.EVERY, flow.runs, operations.clean_every)
    runs = np.asarray(flow.runs, dtype=np.float64)
    cleans = cleans + cleans_by_clock(network, runs)
    starts = starts_by_clock(network, runs) + np.where(operations.start_when == Starts.STOP, stops, 0.0)
    return Loads(
        cycles=cycles,
        again=cycles * (1 - first),
        setups=setups,
        setting_up=_setup_times(network, cycles, shares) if changes.any() else operations.setup.mean,
        cleans=cleans,
        starts=starts,
        run=cycles * parts.run / HOUR,
        stand=cycles * parts.stand / HOUR,
        moving=_moves(network),
    )


def _per_count(due: np.ndarray, runs: Floats, every: Floats) -> Floats:
    due = due & np.isfinite(every) & (every > 0)
    return np.where(due, runs / np.where(due, every, 1.0), 0.0)


def _stop_rate(network: Network, station: int) -> float:
    """Stoppages for each ns of running."""
    table = network.stoppages
    rows = np.flatnonzero((table.station == station) & ~table.calendar_clock & (table.between.mean > 0))
    return float(sum(1 / table.between.mean[k] for k in rows))


def _changes(network: Network, flow: Flow, cycles: Floats, shares: Shares) -> Floats:
    """Changeovers a day where the items follow each other in a smoothed mix: runs x min(1, (1 - p) / p).

    A run is a cycle, or a lot where the item is made in lots; ``p`` is the part of the station's runs: an item of
    half or less never follows itself.
    """
    route = network.operations.route
    item, lot = changing_items(network), network.routes.lot[route]
    finished = np.asarray(flow.finished, dtype=np.float64)[route]
    lots = np.divide(finished, lot, out=np.full(len(lot), np.inf), where=lot > 0)
    out = np.zeros(len(cycles))
    for share in shares.values():
        runs = np.minimum(share * cycles, np.where(share > 0, lots, 0.0))
        total = runs.sum()
        if total > 0:
            by_item = np.bincount(item, runs, minlength=int(item.max()) + 1)
            part = np.maximum(by_item[item] / total, 1e-300)
            out += runs * np.minimum(1.0, (1 - part) / part)
    return out


def _setup_times(network: Network, cycles: Floats, shares: Shares) -> Floats:
    """[n_operations] mean ns of a setup; written pairs count by how often the other item is on the station before."""
    operations, pairs = network.operations, network.changeovers
    item = changing_items(network)
    last = network.visits.last[operations.visit] == np.arange(len(cycles))  # what a place ran last ends a visit
    written = {
        (b, a): t for b, a, t in zip(pairs.before.tolist(), pairs.after.tolist(), pairs.time.tolist(), strict=True)
    }
    out = operations.setup.mean.astype(np.float64)
    for o in np.unique(pairs.after).tolist():
        total, weight = 0.0, 0.0
        for share in shares.values():
            if share[o] > 0:
                for b in np.flatnonzero((share > 0) & last & (item != item[o])).tolist():
                    often = float(share[o] * share[b] * cycles[b])
                    total += often * written.get((b, o), float(operations.setup.mean[o]))
                    weight += often
        out[o] = total / weight if weight > 0 else out[o]
    return out


def _moves(network: Network) -> np.ndarray:
    """[n_operations]: whether the operation is transport."""
    return np.array(
        [o.move is not None or o.symbol == "transport" for r in network.plan.routes.values() for o in r.operations],
        dtype=bool,
    )


def station_hours(network: Network, station: int, share: Floats, load: Loads, at_hand: float) -> Hours:
    """Hours of a station's places at the demand; ``at_hand`` hours are offered (for stoppages by the calendar)."""
    operations = network.operations
    run = share * load.run
    again = np.divide(load.again, load.cycles, out=np.zeros_like(run), where=load.cycles > 0)
    moved = float(run[load.moving].sum())
    repeated = float((run * again)[~load.moving].sum())
    table = network.stoppages
    stopped = 0.0
    for k in np.flatnonzero(table.station == station).tolist():
        between, repair = float(table.between.mean[k]), float(table.repair.mean[k])
        if between > 0:
            stopped += (
                at_hand * repair / (between + repair)
                if table.calendar_clock[k]
                else float(run.sum()) * repair / between
            )
    return Hours(
        working=float(run.sum()) - moved - repeated,
        reworking=repeated,
        setting_up=float((share * load.setups * load.setting_up).sum()) / HOUR,
        cleaning=float((share * load.cleans * operations.clean.mean).sum()) / HOUR,
        starting_up=float((share * load.starts * operations.start.mean).sum()) / HOUR,
        moving=moved,
        standing=float((share * load.stand).sum()),
        stopped=stopped,
    )


@dataclass(frozen=True, slots=True)
class CrewWork:
    """Work of one crew: jobs by people at once -> hours a working day that every plan needs; and all hours by kind."""

    jobs: dict[float, float]
    hours: Hours


def crew_work(network: Network, load: Loads, parts: Segments, shares: Shares) -> list[CrewWork]:
    """Person-hours of every crew for one working day, and the jobs that a bound may count on."""
    operations = network.operations
    n = len(network.crews.ids)
    hands = load.cycles * (parts.begin + parts.end) / HOUR
    counted = [_empty() for _ in range(n)]
    totals = np.zeros((n, 6))  # working, reworking, setting up, cleaning, moving, stopped
    again = np.divide(load.again, load.cycles, out=np.zeros_like(hands), where=load.cycles > 0)
    held = _held(network, len(hands), shares)
    cares = care_hours(network, load)
    for o, crew, people in _rows(operations.crews):
        size = people / max(1, int(operations.tends[o]))
        time = float(hands[o])
        _add(counted[crew], size, time)
        if load.moving[o]:
            totals[crew, 4] += size * time
        else:
            totals[crew, 0] += size * time * (1 - again[o])
            totals[crew, 1] += size * time * again[o]
        totals[crew, 5] += size * time * held[o]
    for o, crew, people in _rows(operations.setup_crews):
        time = float(load.setups[o] * load.setting_up[o]) / HOUR
        totals[crew, 2] += people * time
        if operations.setup_when[o] == Setups.EVERY:
            _add(counted[crew], people, time)
    for o, crew, people in _rows(operations.clean_crews):
        time = float(load.cleans[o] * operations.clean.mean[o]) / HOUR
        totals[crew, 3] += people * time
        if operations.clean_when[o] in (Cleans.LOAD, Cleans.EVERY):
            _add(counted[crew], people, time)
    for k, crew, people in _rows(network.cares.crews):  # at night nobody comes, so a bound cannot count on it
        totals[crew, 0] += people * cares[k]
    for k, crew, people in _rows(network.stoppages.crews):
        share = shares.get(int(network.stoppages.station[k]))
        between = float(network.stoppages.between.mean[k])
        if share is not None and between > 0 and not network.stoppages.calendar_clock[k]:
            run = float((share * load.run).sum())
            totals[crew, 5] += people * run / between * float(network.stoppages.repair.mean[k])
    return [
        CrewWork(jobs, Hours(working=t[0], reworking=t[1], setting_up=t[2], cleaning=t[3], moving=t[4], stopped=t[5]))
        for jobs, t in zip(counted, totals.tolist(), strict=True)
    ]


def care_hours(network: Network, load: Loads) -> Floats:
    """[n_cares] hours a working day of work during stands, as often as it is to be done."""
    cares = network.cares
    often = load.cycles[cares.operation] * cares.a_load(network.operations.stand.mean)
    return np.asarray(often * cares.time.mean / HOUR)


def _held(network: Network, n: int, shares: Shares) -> Floats:
    """[n_operations] repair time for each hour of running: a crew is held through a stoppage."""
    table = network.stoppages
    held = np.zeros(n)
    for k in range(len(table.names)):
        share = shares.get(int(table.station[k]))
        if share is not None and table.between.mean[k] > 0 and not table.calendar_clock[k]:
            held += share * float(table.repair.mean[k] / table.between.mean[k])
    return held


def _rows(links: Links) -> list[tuple[int, int, float]]:
    """(row, index, amount) of every link."""
    row = np.repeat(np.arange(len(links.starts) - 1), np.diff(links.starts))
    return list(zip(row.tolist(), links.index.tolist(), links.amount.tolist(), strict=True))


def _empty() -> dict[float, float]:
    return {}


def _add(jobs: dict[float, float], size: float, hours: float) -> None:
    if hours > 0:
        jobs[size] = jobs.get(size, 0.0) + hours
