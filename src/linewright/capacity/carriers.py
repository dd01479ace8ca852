"""How far do the carriers reach? Each is away for a time of at least so much for every use; that bounds the rate.

By Little's law carriers x time = uses x mean time away, whatever the order and the luck. The time away is at least the
time of the operations done on the carrier and its way back; where crews go home, it passes in their hours and in what
runs or stands on without them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from linewright.base.calendar import HOUR, WEEK
from linewright.capacity.hours import ALWAYS
from linewright.capacity.model import Bound, Hours, Resource
from linewright.capacity.rates import Work
from linewright.capacity.said import figure, name_of, percent
from linewright.capacity.segments import CUTS, Segments, cut_means, flash_off, needs_cut, waits_in_place
from linewright.capacity.stations import pool_of
from linewright.network.carriers import uses_at
from linewright.network.model import Floats, Links, Network
from linewright.network.reactions import reworks_of

_CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class CarrierRate:
    """A kind of carriers at the demand, ``count`` of them.

    ``uses`` a working day; hours of carriers a working day that uses take by ``running`` and ``standing``, on the
    ``way_back`` and until ``mended``; ``available`` hours a working day that one offers, for ``mended`` too only where
    ``by_the_clock``; ``multiple`` of the demand.
    """

    carrier: int
    count: int
    uses: float
    running: float
    standing: float
    way_back: float
    mended: float
    available: float
    by_the_clock: bool

    @property
    def total(self) -> float:
        """Hours of carriers a working day that must pass within those available."""
        return self.running + self.standing + self.way_back + (self.mended if self.by_the_clock else 0.0)

    @property
    def multiple(self) -> float:
        """The greatest multiple of the demand that they allow."""
        return self.count * self.available / self.total if self.total > 0 else math.inf


def carrier_rates(work: Work) -> list[CarrierRate]:
    """Every kind of carriers, the best of several cuts of random times."""
    return [_rate(work, c) for c in range(len(work.network.carriers.ids))]


def _rate(work: Work, carrier: int) -> CarrierRate:
    tied, uses = tied_and_uses(work, carrier)
    stretch = np.flatnonzero(tied > 0).tolist()
    cut_helps = needs_cut(work.network)
    cuts = CUTS if any(cut_helps[o] for o in stretch) else (math.inf,)
    on_the_way = _waits_between(work.network, tied)
    found = []
    for cut in cuts:
        parts = work.at(cut)[0]
        waiting = replace(parts, stand=parts.stand + on_the_way, longest_stand=parts.longest_stand + on_the_way)
        found += _at_cut(work, carrier, tied, uses, stretch, waiting)
    return min(found, key=lambda rate: rate.multiple)


def _waits_between(network: Network, tied: Floats) -> Floats:
    """[n_operations] ns that a piece on a carrier waits for a window after an operation, between two places."""
    waits = np.where(waits_in_place(network), 0.0, flash_off(network))
    return np.where((tied > 0) & (np.append(tied[1:], 0.0) > 0), waits, 0.0)


def _at_cut(
    work: Work, carrier: int, tied: Floats, uses: float, stretch: list[int], parts: Segments
) -> list[CarrierRate]:
    """By the clock with the time to be mended, and by what people are there for without it: both are bounds."""
    network = work.network
    carriers, days = network.carriers, network.days_week
    running = float((tied * work.flow.runs * parts.run).sum()) / HOUR
    standing = float((tied * work.flow.runs * parts.stand).sum()) / HOUR
    way_back = uses * float(carriers.way_back.mean[carrier]) / HOUR
    between = float(carriers.between.mean[carrier])
    lost = min((running + standing) * HOUR / between, uses) if between > 0 else 0.0
    mended = lost * float(carriers.repair.mean[carrier]) / HOUR
    count, manned = int(carriers.count[carrier]), _offered(work, carrier, stretch, parts)
    offers = [(float(WEEK), True)] + ([(manned, False)] if manned < WEEK else [])
    return [
        CarrierRate(carrier, count, uses, running, standing, way_back, mended, available / HOUR / days, by_the_clock)
        for available, by_the_clock in offers
    ]


def _offered(work: Work, carrier: int, stretch: list[int], parts: Segments) -> float:
    """ns a week in which a carrier's time can pass: all of it, or crew hours and what goes on in the gaps.

    The second reading needs that no more than one uncrewed run falls into a gap, whatever way a piece goes.
    """
    network, carriers = work.network, work.network.carriers
    one_route = len({int(network.operations.route[o]) for o in stretch}) == 1
    if not one_route or not _met_by_people(network, stretch, parts):
        return float(WEEK)
    way_back = float(cut_means(carriers.way_back, math.inf)[1][carrier])
    offered = pool_of(network, ALWAYS, [tuple(sorted(stretch))], parts, work.openings, way_back)
    return min(offered.total_ns, float(WEEK))


def _met_by_people(network: Network, stretch: list[int], parts: Segments) -> bool:
    """Whether a piece that a check sends back or off has somebody by, so that its passes cannot run on alone in a row.

    Its check must end with a crew, and the operation that does its work again must begin with one.
    """
    windows = network.windows
    if any(most > 0 and o in stretch for o, most in zip(windows.operation, windows.most, strict=True)):
        return False
    for inspection in network.inspections:
        o = inspection.operation
        if o not in stretch:
            continue
        by = parts.end[o] > 0 or (parts.longest_alone[o] == 0 and parts.begin[o] > 0)
        if not (parts.crewed[o] and by and parts.longest_stand[o] == 0):
            return False
        again = [reject.to for reject in reworks_of(inspection)]
        if not all(to in stretch and parts.crewed[to] and parts.begin[to] > 0 for to in again):
            return False
    return True


def tied_and_uses(work: Work, carrier: int) -> tuple[Floats, float]:
    """[n_operations] carriers that one piece at each operation ties up at least, and uses of carriers a working day.

    A piece that becomes several shares its carrier among them; a part brings its carrier along.
    """
    network = work.network
    table, routes, carriers = network.operations, network.routes, network.carriers
    tied = np.zeros(len(table.ids))
    of_item: dict[int, float] = {}
    joins = {o for o, written in _pairs(carriers.joins, carrier) if written > 0}
    getting_on = uses_at(network, carrier, work.flow.runs, work.flow.first_runs)
    leaves = set(carriers.leaves.row(carrier)[0].tolist())
    uses = 0.0
    for _ in range(len(routes.ids) + 1):  # makers may be listed after users
        uses, before = 0.0, dict(of_item)
        new: dict[int, float] = {}
        brings = any(weight > 0 for weight in of_item.values())
        for route, item in enumerate(routes.item.tolist()):
            weight = 0.0
            for o in range(int(routes.first[route]), int(routes.last[route]) + 1):
                weight += _brought(work, o, of_item) if brings else 0.0
                if o in joins and weight == 0.0:
                    weight = 1.0 / float(carriers.holds[carrier])
                    uses += float(getting_on[o]) * weight
                tied[o] = weight
                weight = 0.0 if o in leaves else weight / float(table.pieces_out[o])
            new[item] = min(new.get(item, math.inf), weight)
        of_item = new
        if of_item == before:
            break
    return tied, uses


def _brought(work: Work, o: int, of_item: dict[int, float]) -> float:
    """Carriers that the parts of a piece bring, as far as they are made here."""
    network, flow = work.network, work.flow
    total = 0.0
    for item, units in _pairs(network.operations.takes, o):
        if of_item.get(item, 0.0) > 0:
            made = float(flow.made[item])
            supply = made + float(flow.bought[item])
            total += units * of_item[item] * (made / supply if supply > 0 else 0.0)
    for choice in network.choices:
        if choice.operation == o:
            options = zip(choice.items, choice.units, strict=True)
            total += min(units * of_item.get(item, 0.0) for item, units in options)
    return total


def _pairs(links: Links, row: int) -> list[tuple[int, float]]:
    index, amount = links.row(row)
    return list(zip(index.tolist(), amount.tolist(), strict=True))


def carrier_resource(network: Network, rate: CarrierRate) -> Resource:
    """A kind of carriers among the resources; ``available`` is what all of them offer together."""
    count, most = rate.count, rate.multiple
    available = count * rate.available
    return Resource(
        kind="carrier",
        id=network.carriers.ids[rate.carrier],
        count=count,
        available=available,
        hours=Hours(working=rate.running, standing=rate.standing, moving=rate.way_back, stopped=rate.mended),
        use=rate.total / available if available > 0 else 0.0,
        needed=None if math.isinf(most) else max(1, math.ceil(count / most - _CLOSE)),
        most=most,
    )


def carrier_bound(network: Network, rate: CarrierRate, first: float) -> Bound:
    """The bound of a kind of carriers; ``first`` is the demand of the first item a working day."""
    id = network.carriers.ids[rate.carrier]
    count, holds = rate.count, int(network.carriers.holds[rate.carrier])
    away = rate.total / rate.uses if rate.uses > 0 else 0.0
    each = f", {holds} pieces on each" if holds > 1 else ""
    why = (
        f"{name_of(network, id)} ({count}{each}) is away for {figure(away)} h of work, standing and way back at each "
        f"use; {figure(rate.uses)} uses a working day are wanted, and {percent(rate.multiple)} of that can be."
    )
    return Bound("carriers", id, rate.multiple, first * rate.multiple, why)
