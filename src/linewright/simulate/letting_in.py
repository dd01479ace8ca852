"""How work is let in: what is demanded by takt, by pull or flat out; what other routes need is kept on hand.

A made part is made ahead: pieces are let in while those on hand and in work are fewer than the demand uses in twice the
part's unhindered lead time and a working day, plus what its stations hold twice over. A finite store limits what lies
on hand.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import DAY, WEEK
from linewright.network.model import Floats, Network
from linewright.network.rows import owners
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, any_amount, calendar_row, limit_of_load, load_of, smallest_load
from linewright.simulate.layout_season import lay_out_campaigns

ROUNDS = 60
"""Rounds in which needs are carried from users to makers; enough for any chain of routes, and for loops to settle."""
MANY_TIMES = 6.0
"""Critical works in progress that are kept open, where a bound of the rate is known."""


@dataclass(frozen=True, slots=True)
class Quotas:
    """What the material balance says about choices: each route's share of its item, the mix of each choice.

    ``mix`` [n_routes] adds up to 1 over the makers of an item; ``choices[k]`` to 1 over the options of choice k.
    """

    mix: Floats
    choices: tuple[tuple[float, ...], ...]


def equal_quotas(network: Network) -> Quotas:
    """Declared shares, else equal ones; choices take the first option on hand."""
    mix = network.routes.share.copy()
    for item in set(network.routes.item.tolist()):
        makers = np.flatnonzero(network.routes.item == item)
        open_share = np.isnan(mix[makers])
        left = max(1.0 - float(mix[makers][~open_share].sum()), 0.0)
        mix[makers[open_share]] = left / max(int(open_share.sum()), 1)
        mix[makers] = mix[makers] / max(float(mix[makers].sum()), 1e-300)
    choices = tuple(
        c.shares if all(math.isfinite(s) for s in c.shares) else (1.0, *(0.0,) * (len(c.items) - 1))
        for c in network.choices
    )
    return Quotas(mix, choices)


def let_in(
    layout: Layout, release: str, open_pieces: int | None, quotas: Quotas, apart: Collection[int] = ()
) -> dict[int, float]:
    """Fill the rows of items, routes and demand. Gives the pieces that are kept open or ahead, by item.

    Items that are ``apart`` are demanded in another way (``families``).
    """
    network, b = layout.network, layout.builder
    needs = _needs_a_day(network, quotas)
    targets: dict[int, float] = {}
    for k, row in enumerate(layout.items):
        makers = np.flatnonzero(network.routes.item == k).tolist()
        b.m[row + r.I_ENDLESS] = int(endless(network, k))
        if not makers:
            continue
        b.m[row + r.I_MADE] = 1
        b.m[row + r.I_ROUTES] = b.list_of(layout.routes[route] for route in makers)
        if k in apart:
            continue
        if network.items.demand[k] > 0:
            targets[k] = _demanded(layout, k, makers, release, open_pieces)
        else:
            ahead = _ahead(layout, k, makers, needs) + _largest_lot(network, makers) + _held_back(network, makers)
            together = max(let_in_together(layout, route) for route in makers)
            ahead = max(ahead, together) if b.m[row + r.I_STORE] else ahead + together
            targets[k] = b.x[row + r.I_TARGET] = ahead
    set_routes(layout, quotas)
    return targets


def set_routes(layout: Layout, quotas: Quotas) -> None:
    """Lots and shares of the routes, shares of choices, and who looks when something comes."""
    network, b = layout.network, layout.builder
    for route, row in enumerate(layout.routes):
        b.m[row + r.U_FIRST] = layout.operations[int(network.routes.first[route])]
        b.m[row + r.U_ITEM] = layout.items[int(network.routes.item[route])]
        b.m[row + r.U_INDEX] = route
        b.x[row + r.U_LOT] = lot_of(network, route)
        b.x[row + r.U_SHARE] = float(quotas.mix[route])
        b.x[row + r.U_RUN] = max(float(network.routes.lot[route]), let_in_together(layout, route))
    for k, shares in enumerate(quotas.choices):
        _set_choice(layout, k, shares)
    lay_out_campaigns(layout)
    _trace_faults(layout)
    _openers(layout)


def let_in_together(layout: Layout, route: int) -> float:
    """Units of a part made ahead that are let in one after another, as a lot is; 0: one by one.

    What fills a load at a station that other parts use too comes by whole loads. A load begun with fewer, while enough
    is on hand, would wait there for pieces that nobody lets in, and the others for the station: for ever, where they
    are what keeps those on hand from being used.
    """
    network, loads = layout.network, [0.0]
    item = network.routes.item[route]
    if network.items.demand[item] > 0 or not network.items.counted[item]:
        return 0.0
    p, last = network.operations, int(network.routes.last[route])
    for o in range(int(network.routes.first[route]), last + 1):
        if p.load_least[o] > 1 and layout.loads_with[o] < 0 and _shared(network, o):
            loads.append(float(p.load_least[o]) * float(np.prod(p.pieces_out[o : last + 1])))
    first = loads[min(1, len(loads) - 1)]  # of the first load whole ones, as many as fill the largest
    return math.ceil(max(loads) / first - 1e-9) * first if first > 0 else 0.0


def _set_choice(layout: Layout, k: int, shares: tuple[float, ...]) -> None:
    network, b = layout.network, layout.builder
    choices = [c for c in range(len(network.choices)) if network.choices[c].operation == network.choices[k].operation]
    rows = b.m[layout.operations[network.choices[k].operation] + r.O_CHOICES]
    row = b.m[rows + 1 + choices.index(k)]
    n = b.m[row]
    for i, share in enumerate(shares):
        b.x[row + 1 + n + i] = share
    leader = b.m[row + 1]
    for i in range(1, n):
        item = b.m[row + 1 + i]
        before = b.m[item + r.I_LEADERS]
        leaders = [b.m[before + 1 + j] for j in range(b.m[before])] if before else []
        if leader != item and leader not in leaders:
            b.m[item + r.I_LEADERS] = b.list_of([*leaders, leader])


def endless(network: Network, item: int) -> bool:
    """Whether an item is bought: nobody makes it here, or it has a price and is only given as a by-product."""
    if (network.routes.item == item).any():
        return False
    given = bool((network.operations.gives.index == item).any()) or any(
        reject.item == item for check in network.inspections for reject in (*check.rejects, check.other)
    )
    circulates = float(network.items.stock[item]) > 0
    return not (given or circulates) or math.isfinite(float(network.items.buy[item])) or bool(network.items.free[item])


def lot_of(network: Network, route: int) -> float:
    """Pieces let in together: one where they are counted; of an amount the first load, else ten minutes' work."""
    first, last = int(network.routes.first[route]), int(network.routes.last[route])
    p = network.operations
    if network.items.counted[network.routes.item[route]]:
        return 1.0
    become = 1.0
    for o in range(first, last + 1):
        if smallest_load(network, o) > 0:
            return smallest_load(network, o) / become
        become *= float(p.pieces_out[o]) * float(p.survives[o])
    slowest = max(float(p.time.mean[o]) + float(p.each[o]) for o in range(first, last + 1))
    return 600e9 / slowest if slowest > 0 else 1.0


def _needs_a_day(network: Network, quotas: Quotas) -> Floats:
    """Units of every item that the demand needs in a working day, losses left out."""
    p, routes = network.operations, network.routes
    needs = network.items.demand.astype(np.float64).copy()
    to_go = [float(np.prod(p.pieces_out[routes.first[k] : routes.last[k] + 1])) for k in range(len(routes.ids))]
    uses, out = _uses(network, quotas), p.pieces_out.tolist()
    for _ in range(ROUNDS):
        new = network.items.demand.astype(np.float64).copy()
        for k in range(len(routes.ids)):
            pieces = float(needs[routes.item[k]] * quotas.mix[k] / to_go[k])
            for o in range(int(routes.first[k]), int(routes.last[k]) + 1):
                for item, units, part, load in uses[o]:
                    new[item] += pieces * units * part / load
                pieces *= out[o]
        if np.allclose(new, needs, rtol=1e-9, atol=0.0):
            break
        needs = new
    return needs


def _uses(network: Network, quotas: Quotas) -> list[list[tuple[int, float, float, float]]]:
    """[n_operations] what is used there: item, units a piece or load, the part that is of this item, pieces a load."""
    p = network.operations
    found: list[list[tuple[int, float, float, float]]] = [[] for _ in p.ids]
    for links, loads in ((p.takes, np.ones(len(p.ids))), (p.takes_per_load, np.maximum(p.load_most, 1.0))):
        owner = owners(links)
        rows = zip(owner.tolist(), links.index.tolist(), links.amount.tolist(), loads[owner].tolist(), strict=True)
        for o, item, units, load in rows:
            found[o].append((item, units, 1.0, load))
    for choice, shares in zip(network.choices, quotas.choices, strict=True):
        found[choice.operation] += [
            (item, n, part, 1.0) for item, n, part in zip(choice.items, choice.units, shares, strict=True)
        ]
    return found


def unhindered(network: Network, route: int) -> float:
    """Calendar ns of a piece with a route to itself: work stretched by closed hours, standing as it is."""
    p = network.operations
    part = slice(int(network.routes.first[route]), int(network.routes.last[route]) + 1)
    loads = np.array(
        [
            lot_of(network, route) if any_amount(network, o) else float(p.load_most[o])
            for o in range(part.start, part.stop)
        ]
    )
    work = float(
        (p.time.mean[part] + p.each[part] * loads + p.dwell[part] + p.setup.mean[part] + p.clean.mean[part]).sum()
    )
    open_share = network.open_calendar.open_ns / WEEK
    return work / open_share + float(p.stand.mean[part].sum())


def weeks_ahead(network: Network) -> int:
    """Whole weeks in which parts are made before the first demand comes; none where every route is demanded."""
    return math.ceil(lead_of(network, demanded=False) / WEEK)


def lead_of(network: Network, *, demanded: bool = True) -> float:
    """Calendar ns of all routes one behind the other, each with its slowest variant; without those ``demanded``."""
    longest: dict[int, float] = {}
    for k in range(len(network.routes.ids)):
        if demanded or not network.items.demand[network.routes.item[k]] > 0:
            written = int(network.origin.route[k]) if network.origin is not None else k
            longest[written] = max(longest.get(written, 0.0), unhindered(network, k))
    return sum(longest.values())


def _ahead_of_what_goes_off(network: Network, item: int, makers: list[int], a_week: float) -> float:
    """Mixed again when what is left and in work does for one start and the time that mixing takes.

    Beyond the one start never more than is used in half the time that it keeps. ``a_week``: units used a calendar ns.
    """
    share = network.open_calendar.open_ns / WEEK
    an_open_ns = a_week / share
    lead = max(unhindered(network, route) for route in makers) * share
    used = an_open_ns * min(1.5 * lead, 0.5 * float(network.items.keeps[item]))
    return _largest_take(network, item) + used


def _ahead(layout: Layout, item: int, makers: list[int], needs: Floats) -> float:
    """Units of a part on hand and in work that are kept; of a variant its part of what is held of all."""
    network, need, part = layout.network, float(needs[item]), 1.0
    if network.origin is not None:
        variants = network.origin.item == network.origin.item[item]
        if variants.sum() > 1:
            if need <= 0:
                return 0.0  # nobody wants this variant
            part = need / float(needs[variants].sum())
    a_week = need * network.days_week / WEEK
    if network.items.keeps[item] > 0:
        return _ahead_of_what_goes_off(network, item, makers, a_week)
    on_hand = a_week * DAY * 7 / network.days_week + _largest_take(network, item)
    waited = network.campaigns.starts[network.campaigns.item == item]
    on_hand = max(on_hand, float(waited.max(initial=0.0)) + _largest_take(network, item))
    store = layout.builder.m[layout.items[item] + r.I_STORE]
    in_work = max(2.0 * a_week * unhindered(network, route) for route in makers)
    of_all = a_week * WEEK / part if network.origin is not None else math.inf
    in_work += held(network, makers, False, of_all) * part + own_loads(layout, makers)
    if store:
        on_hand = min(on_hand, layout.builder.x[store + r.W_ROOM])
        if any(_shares_stations(network, route) for route in makers):
            in_work = max(held(network, makers, True) * part, _largest_load(network, makers))
    return max(on_hand + in_work, 1.0)


def _largest_lot(network: Network, makers: list[int]) -> float:
    """Units of the largest lot that is let in as a whole."""
    return float(network.routes.lot[makers].max(initial=0.0))


def _held_back(network: Network, makers: list[int]) -> float:
    """Units that may wait for a sample, at every check that holds pieces back."""
    p, held = network.operations, 0.0
    for check in network.inspections:
        route = int(p.route[check.operation])
        if check.hold_back and route in makers:
            onward = slice(check.operation, int(network.routes.last[route]) + 1)
            held += check.one_in * float(np.prod(p.pieces_out[onward]))
    return held


def _largest_load(network: Network, makers: list[int]) -> float:
    """Units in the largest load on the way."""
    p, most = network.operations, 0.0
    for route in makers:
        last = int(network.routes.last[route])
        for o in range(int(network.routes.first[route]), last + 1):
            most = max(most, limit_of_load(network, o) * float(np.prod(p.pieces_out[o : last + 1])))
    return most


def own_loads(layout: Layout, makers: list[int]) -> float:
    """Units of a variant in the largest load that it must fill by itself; 0 where the plan has no variants."""
    network = layout.network
    if network.origin is None:
        return 0.0
    p, most = network.operations, 0.0
    for route in makers:
        last = int(network.routes.last[route])
        for o in range(int(network.routes.first[route]), last + 1):
            if layout.loads_with[o] < 0:
                most = max(most, load_of(network, o) * float(np.prod(p.pieces_out[o : last + 1])))
    return most


def _shares_stations(network: Network, route: int) -> bool:
    """Whether other routes too use a station of this one."""
    return any(
        _shared(network, o) for o in range(int(network.routes.first[route]), int(network.routes.last[route]) + 1)
    )


def _shared(network: Network, o: int) -> bool:
    """Whether another route than that of an operation uses one of its stations; variants of one route are the same."""
    routes = network.notes.get("routes_at")
    written = network.origin.route if network.origin is not None else np.arange(len(network.routes.ids))
    if routes is None:
        p = network.operations
        owners = written[np.repeat(p.route, np.diff(p.stations.starts))]
        routes = network.notes["routes_at"] = [
            set(owners[p.stations.index == s].tolist()) for s in range(len(network.stations.ids))
        ]
    own = int(written[network.operations.route[o]])
    return any(routes[s] - {own} for s in network.operations.stations.row(o)[0].tolist())


def held(network: Network, makers: list[int], last_only: bool, a_week: float = math.inf) -> float:
    """Units that the places and loads of the makers hold twice over, and ten lots.

    Where ``a_week`` says how many units are needed, places count only so far as four times that rate would fill them.

    ``last_only``: once, and only behind the last station that other routes use too, for blocked pieces further back
    would keep the others from passing.
    """
    p, total = network.operations, 0.0
    for route in makers:
        first, last = int(network.routes.first[route]), int(network.routes.last[route])
        to_go = 1.0
        for o in range(last, first - 1, -1):
            if last_only and _shared(network, o):
                break
            to_go *= float(p.pieces_out[o])
            stations = p.stations.row(o)[0]
            if p.visit[o] == p.visit[max(o - 1, first)] and o > first:
                continue
            places = float(network.stations.places[stations].sum()) if len(stations) else 1.0
            ends = int(network.visits.last[p.visit[o]])  # a place may be filled little by little
            size = max(load_of(network, q) for q in range(o, ends + 1))
            size = size or (lot_of(network, route) if any_amount(network, o) else 1.0)
            if math.isfinite(a_week):
                there = float((p.time.mean + p.stand.mean)[p.visit == p.visit[o]].sum())
                places = min(places, 1.0 + 4.0 * a_week / to_go * there / WEEK / size)
            total += places * size * to_go * (1.0 if last_only else 2.0)
        total += 0.0 if last_only else 10.0 * lot_of(network, route) * to_go
    return total


def _largest_take(network: Network, item: int) -> float:
    """The most units of an item that one start takes."""
    p, most = network.operations, 0.0

    def pieces(o: int) -> float:
        return max(limit_of_load(network, o), lot_of(network, int(p.route[o])) if any_amount(network, o) else 1.0)

    for links, per_piece in ((p.takes, True), (p.takes_per_load, False)):
        for k in np.flatnonzero(links.index == item).tolist():
            o = int(np.searchsorted(links.starts, k, side="right")) - 1
            most = max(most, float(links.amount[k]) * (pieces(o) if per_piece else 1.0))
    for choice in network.choices:
        if item in choice.items:
            most = max(most, choice.units[choice.items.index(item)] * pieces(choice.operation))
    return most


def _demanded(layout: Layout, item: int, makers: list[int], release: str, open_pieces: int | None) -> float:
    """Demand for an item: comes by takt, is taken from stock, or is without end."""
    network, b = layout.network, layout.builder
    row = layout.items[item]
    to_go = b.x[layout.operations[int(network.routes.first[makers[0]])] + r.O_TO_GO]
    units = lot_of(network, makers[0]) * to_go
    pieces = float(open_pieces) if open_pieces is not None else enough_open(network, makers)
    b.x[row + r.I_TARGET] = max(pieces * to_go, _largest_lot(network, makers))
    if release == "flat out":
        b.m[row + r.I_MODE] = r.BY_OPEN
        return pieces
    b.m[row + r.I_MODE] = r.BY_PULL if release == "pull" else r.BY_TAKT
    demand = b.row(r.RELEASE_WIDTH, r.RELEASE)
    b.m[demand + r.E_ITEM] = row
    b.m[demand + r.E_CALENDAR] = calendar_row(layout, network.open_calendar)
    b.m[demand + r.E_DELAY] = weeks_ahead(network)
    b.m[demand + r.E_WEEK_OPEN] = network.open_calendar.open_ns
    b.x[demand + r.E_UNITS] = units
    b.x[demand + r.E_TAKT] = (
        network.open_calendar.open_ns / (float(network.items.demand[item]) * network.days_week) * units
    )
    layout.event_rows.append(demand)
    return pieces


def enough_open(network: Network, makers: list[int]) -> float:
    """Open pieces that leave no place of the makers without work."""
    become = [
        float(np.prod(network.operations.pieces_out[network.routes.first[k] : network.routes.last[k] + 1]))
        for k in makers
    ]
    return float(math.ceil(held(network, makers, False) / max(become)))


def one_of_each(network: Network, makers: list[int]) -> list[int]:
    """The routes, but of the variants of one route only the first."""
    if network.origin is None:
        return makers
    found: dict[int, int] = {}
    for k in makers:
        found.setdefault(int(network.origin.route[k]), k)
    return list(found.values())


def few_open(network: Network, quotas: Quotas, multiple: float) -> int | None:
    """Open pieces that are enough to see the greatest rate, and few enough to settle soon.

    Six times the critical work in progress, which is rate x unhindered lead time (Little), at ``multiple`` times the
    demand, a bound of the rate; and two of the largest loads on the way, for they must fill. None where ``enough_open``
    is as few, or several items are demanded.
    """
    demanded = np.flatnonzero(network.items.demand > 0).tolist()
    makers = [k for k in range(len(network.routes.ids)) if int(network.routes.item[k]) in demanded]
    one_family = len({int(network.origin.item[k]) for k in demanded} if network.origin is not None else demanded) == 1
    if not one_family or not makers or not math.isfinite(multiple):
        return None
    found, written = 0.0, set()
    for route in makers:
        a_week = float(network.items.demand[network.routes.item[route]]) * multiple * network.days_week
        last = int(network.routes.last[route])
        become = float(np.prod(network.operations.pieces_out[int(network.routes.first[route]) : last + 1]))
        critical = a_week * float(quotas.mix[route]) * unhindered(network, route) / WEEK
        found += MANY_TIMES * critical / become
        own = int(network.origin.route[route]) if network.origin is not None else route
        if own not in written:  # variants of a route fill its loads together
            written.add(own)
            found += 2.0 * _largest_load(network, [route]) / become
    pieces = math.ceil(found)
    return pieces if 0 < pieces < enough_open(network, one_of_each(network, makers)) else None


def _openers(layout: Layout) -> None:
    """Which stations look again when units of an item come: those where a route begins with it."""
    network, b = layout.network, layout.builder
    stations: dict[int, list[int]] = {}
    for first in network.routes.first.tolist():
        begins = network.operations.takes.row(first)[0].tolist()
        begins += [i for c in network.choices if c.operation == first for i in c.items]
        at = b.m[layout.visits[int(network.operations.visit[first])] + r.V_STATIONS]
        for item in begins:
            stations.setdefault(item, []).extend(b.m[at + 1 + k] for k in range(b.m[at]))
    for item, rows in stations.items():
        if not b.m[layout.items[item] + r.I_ENDLESS]:
            b.m[layout.items[item] + r.I_OPENERS] = b.list_of(dict.fromkeys(rows))


def _trace_faults(layout: Layout) -> None:
    """Units of made and counted items remember faults where anybody takes them."""
    network, b = layout.network, layout.builder
    if not network.faults:
        return
    taken = set(network.operations.takes.index.tolist())
    taken |= {i for c in network.choices for i in c.items}
    for item in set(network.routes.item.tolist()) & taken:
        if network.items.counted[item]:
            b.m[layout.items[item] + r.I_TRACED] = 1
