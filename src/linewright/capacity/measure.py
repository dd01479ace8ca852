"""Will it make the rate, and where is the bottleneck? The loads of a network at its demand, and all bounds on the rate.

The bounds hold for every plan: each looks at one part of the works and lets everything else be there without limit.
The least one binds. Estimates of waiting stand beside them and are named as such.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence

import numpy as np

import linewright
from linewright.base.calendar import HOUR, NS
from linewright.base.results import Honesty, Provenance
from linewright.capacity.arrivals import places_while_pieces_come
from linewright.capacity.carriers import carrier_bound, carrier_rates, carrier_resource
from linewright.capacity.cycles import cycle_bounds
from linewright.capacity.estimate import effectiveness_of, lead_times, waiting
from linewright.capacity.helping import Helping, help_each_other
from linewright.capacity.loads import CrewWork, Loads, crew_work, loads, station_hours
from linewright.capacity.model import Bound, BoundKind, Capacity, Hours, Resource, Wanted
from linewright.capacity.packing import greatest_multiple, people_needed
from linewright.capacity.rates import (
    FINISHING_CUT,
    StationRate,
    Work,
    crew_hours,
    finishers,
    station_rates,
    tool_rates,
)
from linewright.capacity.said import figure, name_of, percent
from linewright.capacity.stations import Openings, visits_by_station, visits_of
from linewright.capacity.visits import place_bounds
from linewright.flow import solve_flow
from linewright.flow.model import Flow
from linewright.flow.startups import has_shift_starts
from linewright.network.model import Cleans, Links, Network, Setups, Starts

_CLOSE = 1e-9


def measure_capacity(network: Network, flow: Flow) -> Capacity:
    """Loads, use, people and places needed, the bottleneck, and the greatest rate as an upper bound.

    ``flow`` is the material balance of the same network. Rates are in units of each item for a working day.
    """
    begun = time.perf_counter()
    work = Work(network, _least(network, flow), Openings(network))
    parts, _ = work.at(math.inf)
    rates = station_rates(work)
    load = loads(network, flow, parts, {r.station: r.share for r in rates})
    wanted = [int(i) for i in np.flatnonzero(network.items.demand > 0)]
    first = float(network.items.demand[wanted[0]]) if wanted else 0.0
    followed = place_bounds(work, rates, first)
    taken = visits_by_station(visits_of(network))
    stations = [_station(work, r, load, followed.get(r.station), taken[r.station]) for r in rates]
    helping = _crews(work, load, {r.station: r.share for r in rates}, first)
    crews = helping.resources
    tools = _tools(work)
    carried = carrier_rates(work)
    lends = network.crews.lends
    alone = [crew for c, crew in enumerate(crews) if c not in lends.lender and c not in lends.to]
    bounds = _load_bounds(network, rates, stations, [*alone, *tools], first)
    bounds += helping.bounds
    bounds += followed.values()
    bounds += [carrier_bound(network, c, first) for c in carried if math.isfinite(c.multiple)]
    cycles = cycle_bounds(work, first)
    bounds += cycles.bounds
    bounds.sort(key=lambda b: (b.multiple, b.where))
    multiple = bounds[0].multiple if bounds else math.inf
    used = waiting(network, flow, load, parts, rates, stations)
    in_process, lead = lead_times(network, flow, parts, used)
    return Capacity(
        wanted=tuple(_wanted(network, i, multiple) for i in wanted),
        makes=multiple >= 1 - _CLOSE,
        multiple=multiple,
        effective_hours=network.open_calendar.open_ns / HOUR / network.days_week,
        days_week=network.days_week,
        resources=(*stations, *crews, *tools, *(carrier_resource(network, c) for c in carried)),
        bounds=tuple(bounds),
        effectiveness=effectiveness_of(network, flow, load, parts, rates, stations),
        waiting=used,
        work_in_process=in_process,
        lead_time=lead,
        why=_sentence(bounds, multiple),
        assumptions=_assumptions(network),
        honesty=Honesty(
            "exact" if cycles.exact else "bound",
            bound=first * multiple if math.isfinite(multiple) else None,
            gap=0.0 if cycles.exact else None,
            notes=cycles.notes,
        ),
        provenance=Provenance(
            "capacity", linewright.__version__, network.fingerprint, None, time.perf_counter() - begun
        ),
        shares=_shares(network, rates),
        lent=helping.lent,
    )


def _least(network: Network, flow: Flow) -> Flow:
    """The balance that bounds reckon with: starting in as few shifts as the work fills scraps the least."""
    if network.season is not None or not has_shift_starts(network):
        return flow
    return solve_flow(network, flow.mix, flow.choice_mix, fewest_starts=True)


def _shares(network: Network, rates: Sequence[StationRate]) -> Links:
    """(station, share) of every operation."""
    rows = [np.flatnonzero(rate.share > 0) for rate in rates]
    operation = np.concatenate([*rows, np.zeros(0, dtype=np.int64)])
    station = np.repeat(np.array([r.station for r in rates], dtype=np.int64), [len(row) for row in rows])
    share = np.concatenate([*(rate.share[row] for rate, row in zip(rates, rows, strict=True)), np.zeros(0)])
    order = np.argsort(operation, kind="stable")
    starts = np.searchsorted(operation[order], np.arange(len(network.operations.ids) + 1))
    return Links(starts.astype(np.int64), station[order], share[order])


def _wanted(network: Network, item: int, multiple: float) -> Wanted:
    demand = float(network.items.demand[item])
    open_seconds = network.open_calendar.open_ns / NS / network.days_week
    return Wanted(network.items.ids[item], network.items.units[item], demand, demand * multiple, open_seconds / demand)


def _station(
    work: Work, rate: StationRate, load: Loads, followed: Bound | None, visits: Sequence[tuple[int, ...]]
) -> Resource:
    """A station's places; ``followed`` is the sharper bound of a place that was followed through the week."""
    network = work.network
    places = int(network.stations.places[rate.station])
    at_hand = places * rate.offered.total_ns / HOUR / network.days_week
    hours = station_hours(network, rate.station, rate.share, load, at_hand)
    most = rate.multiple if followed is None else min(rate.multiple, followed.multiple)
    return Resource(
        kind="station",
        id=network.stations.ids[rate.station],
        count=places,
        available=at_hand,
        hours=hours,
        use=_use(hours.total, at_hand),
        needed=_places_needed(work, rate, visits, _enough(places, most)),
        most=most,
    )


def _places_needed(work: Work, rate: StationRate, visits: Sequence[tuple[int, ...]], by_load: int | None) -> int | None:
    """Places by load, or more where nobody mans the station and pieces come in a part of the week only."""
    if not by_load or rate.together or not rate.offered.hours.always:
        return by_load
    place_ns = int(work.network.stations.places[rate.station]) * rate.offered.total_ns / rate.multiple
    parts = work.at(math.inf)[0]
    return max(by_load, places_while_pieces_come(work.network, rate.station, visits, parts, work.openings, place_ns))


def _use(hours: float, available: float) -> float:
    if hours <= 0:
        return 0.0
    return hours / available if available > 0 else math.inf


def _enough(count: int, multiple: float) -> int | None:
    """The least count that carries the demand, load growing in proportion; None where no count does."""
    if multiple <= 0:
        return None
    return 0 if math.isinf(multiple) else max(1, math.ceil(count / multiple - _CLOSE))


def _crews(work: Work, load: Loads, shares: dict[int, np.ndarray], first: float) -> Helping:
    network = work.network
    parts, _ = work.at(math.inf)
    whole = crew_work(network, load, parts, shares)
    late = finishers(work)
    cut: Sequence[CrewWork] = whole
    if any(late):
        cut = crew_work(network, load, work.at(FINISHING_CUT)[0], shares)
    out = []
    for crew, id in enumerate(network.crews.ids):
        calendar = network.calendars[int(network.crews.calendar[crew])]
        manned = crew_hours(work, crew, late[crew])
        days = network.days_week
        jobs = (cut if late[crew] else whole)[crew].jobs
        weekly = {size: hours * days for size, hours in jobs.items()}
        available = calendar.total_ns / HOUR / days
        hours = whole[crew].hours
        out.append(
            Resource(
                kind="crew",
                id=id,
                count=calendar.most,
                available=available,
                hours=hours,
                use=_use(hours.total, available),
                needed=people_needed(weekly, manned),
                most=greatest_multiple(weekly, manned),
            )
        )
    return help_each_other(work, out, late, whole, cut, first)


def _tools(work: Work) -> list[Resource]:
    network = work.network
    out = []
    for tool, found in enumerate(tool_rates(work)):
        count = int(network.tools.count[tool])
        available = count * found.available
        out.append(
            Resource(
                kind="tool",
                id=network.tools.ids[tool],
                count=count,
                available=available,
                hours=Hours(working=found.hours),
                use=_use(found.hours, available),
                needed=_enough(count, found.multiple),
                most=found.multiple,
            )
        )
    return out


def _load_bounds(
    network: Network,
    rates: Sequence[StationRate],
    stations: Sequence[Resource],
    others: Sequence[Resource],
    first: float,
) -> list[Bound]:
    out: list[Bound] = []
    told: set[tuple[int, ...]] = set()
    for rate, resource in zip(rates, stations, strict=True):
        if math.isinf(rate.multiple) or (rate.together in told and rate.together):
            continue
        told.add(rate.together)
        ids = [network.stations.ids[s] for s in rate.together] or [resource.id]
        kind: BoundKind = "shared stations" if rate.together else "standing" if rate.offered.gap_ns > 0 else "load"
        why = _why_station(resource, ", ".join(name_of(network, id) for id in ids), rate)
        out.append(Bound(kind, ", ".join(ids), rate.multiple, first * rate.multiple, why))
    for resource in others:
        if math.isfinite(resource.most):
            why = _why_other(resource, name_of(network, resource.id))
            out.append(Bound("load", resource.id, resource.most, first * resource.most, why))
    return out


def _why_station(resource: Resource, names: str, rate: StationRate) -> str:
    """One sentence: the hours wanted and the hours at hand."""
    if rate.multiple <= 0:
        return f"{names} can never work: no crew that it needs is there in its hours."
    if rate.together:
        return f"{names} share their work as evenly as can be; they are full at {percent(rate.multiple)} of the demand."
    text = f"{names} ({_count(resource)}): {figure(resource.available)} h of place-time a working day"
    share = rate.offered.gap_ns / rate.offered.total_ns if rate.offered.gap_ns > 0 else 0.0
    if share > 0.01:
        text += f", {percent(share)} of it while nobody is there and pieces stand or machines run on"
    return f"{text}; the demand takes at least {figure(resource.available / rate.multiple)} h of it."


def _count(resource: Resource) -> str:
    one, many = {"station": ("place", "places"), "crew": ("person", "people"), "tool": ("piece", "pieces")}[
        resource.kind
    ]
    return f"1 {one}" if resource.count == 1 else f"{resource.count} {many}"


def _why_other(resource: Resource, name: str) -> str:
    if resource.most <= 0:
        return f"{name} can never do it: a job needs more of them at once than are ever there."
    wanted = resource.available / resource.most
    text = (
        f"{name} ({_count(resource)}): {figure(resource.available)} h a working day; the demand takes "
        f"{figure(wanted)} h"
    )
    lost = wanted - resource.hours.total
    if lost > 1e-6 * resource.available:
        text += f", {figure(lost)} h of it because jobs that need several at once do not fit the number"
    return text + "."


def _sentence(bounds: Sequence[Bound], multiple: float) -> str:
    if not bounds:
        return "Nothing in the plan limits the rate: no operation with a time has a station, crew or tool."
    if multiple < 1 - _CLOSE:
        return f"The demand cannot be made: at most {percent(multiple)} of it. {bounds[0].why}"
    spare = (
        f"the least leaves {percent(multiple - 1)} to spare"
        if multiple > 1 + _CLOSE
        else "the least leaves nothing to spare"
    )
    return f"No bound rules the demand out; {spare}. {bounds[0].why}"


def _assumptions(network: Network) -> tuple[str, ...]:
    operations = network.operations
    makers = np.bincount(network.routes.item)
    out = []
    if len(network.choices) or (makers > 1).any():
        out.append("The mix of routes and of alternative feeds is the material balance's.")
    if (operations.setup_when == Setups.ITEM_CHANGES).any():
        out.append(
            "Changeovers are counted as if the items followed each other in an even mix; the greatest rate leaves them "
            "out, because longer campaigns need fewer."
        )
    by_shift = np.isin(operations.clean_when, (Cleans.SHIFT, Cleans.DAY)) | (operations.start_when == Starts.SHIFT)
    if by_shift.any():
        often = "" if network.season is None else ", on as few days as its work fills"
        out.append(
            f"Cleaning and start-up by the shift or day are counted for every place{often}; the greatest rate leaves "
            "most of them out."
        )
    if len(network.crews.lends):
        out.append(
            "What others can do of a crew's work is done by its own people as far as they have the hours, the rest by "
            "those others at their pace."
        )
    if (operations.load_least < operations.load_most).any() and network.season is None:  # a season says so itself
        out.append("Loads are taken as full.")
    return tuple(out)
