"""How work is let in over a season: deliveries come by the calendar, and everything is made as soon as its parts are
there, up to what the season needs of it.

So nobody makes more pasteurised must than the blend will take, and what spoils is missing at the end. The last lot of
an amount is what is left of it.
"""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import DAY
from linewright.base.problems import Problems
from linewright.network.clock import cleaned_by_clock, cleans_by_clock
from linewright.network.equations import equations
from linewright.network.journeys import journeys
from linewright.network.model import Floats, Network
from linewright.network.reactions import chain_of
from linewright.network.rows import owners, summed
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, any_amount, counted, limit_of_load, smallest_load
from linewright.simulate.letting_in import Quotas, endless, held, lot_of, set_routes


def let_season_in(layout: Layout, quotas: Quotas, starts: Floats) -> None:
    """Fill the rows of items, routes and deliveries; ``starts`` [n_routes] pieces of every route over the horizon."""
    network, b = layout.network, layout.builder
    season = network.season
    assert season is not None
    begins = season.weekday * DAY
    starts = starts + for_washing(network)
    came = set(season.intake_item.tolist())
    allowed: dict[int, float] = {}
    for k, row in enumerate(layout.items):
        makers = np.flatnonzero(network.routes.item == k).tolist()
        b.m[row + r.I_ENDLESS] = int(k not in came and endless(network, k))
        if k in came:
            mine = np.flatnonzero(season.intake_item == k)
            times = (begins + season.intake_day[mine] * DAY).tolist()
            amounts = season.intake_amount[mine]
            _deliveries(layout, row, times, amounts.tolist())
            keeps = int(network.items.keeps[k])
            if keeps > 0:
                _deliveries(layout, row, [t + keeps for t in times], np.cumsum(amounts).tolist(), OLD)
        if not makers:
            continue
        b.m[row + r.I_MADE] = 1
        b.m[row + r.I_ROUTES] = b.list_of(layout.routes[route] for route in makers)
        b.m[row + r.I_MODE] = r.BY_PUSH if network.items.demand[k] > 0 else r.BY_PUSH_PART
        b.x[row + r.I_TARGET] = held(network, makers, False)
        units = sum(float(starts[q]) * b.x[layout.operations[int(network.routes.first[q])] + r.O_TO_GO] for q in makers)
        _deliveries(layout, row, [begins], [units], ALLOWED)
        allowed[k] = units
    _families(layout, allowed)
    set_routes(layout, quotas)
    _short_lots(layout)
    first = int(season.intake_day.max(initial=-1)) + 1
    midnights = [begins + day * DAY for day in range(first, season.days)]
    _deliveries(layout, b.list_of(_gives(layout)), midnights, [0.0] * len(midnights), ENDS)


def _families(layout: Layout, allowed: dict[int, float]) -> None:
    """Variants of an item are let in in the mix in which they are allowed ([units] of each)."""
    network, b = layout.network, layout.builder
    if network.origin is None:
        return
    groups: dict[int, list[int]] = {}
    for k, units in allowed.items():
        if units > 0:
            groups.setdefault(int(network.origin.item[k]), []).append(k)
    for group in groups.values():
        if len(group) > 1:
            _check_loads(layout, group)
            total = sum(allowed[k] for k in group)
            row = b.amounts((layout.items[k], allowed[k] / total) for k in group)
            for k in group:
                b.m[layout.items[k] + r.I_FAMILY] = row


def _check_loads(layout: Layout, group: list[int]) -> None:
    """A load of one variant that waits for ever for more of its kind would keep the others, and so itself, away."""
    network, p = layout.network, layout.network.operations
    told: set[str] = set()
    for route in np.flatnonzero(np.isin(network.routes.item, group)).tolist():
        pieces = lot_of(network, route)
        for o in range(int(network.routes.first[route]), int(network.routes.last[route]) + 1):
            own = layout.loads_with[o] < 0 and limit_of_load(network, o) > max(pieces, 1.0) * (1 + 1e-9)
            if own and p.waits[o] == 0 and p.load_least[o] > 1 and p.paths[o] not in told:
                told.add(p.paths[o])
                layout.problems.error(
                    f"{p.paths[o]}.load",
                    "variants fill loads of their own here, and a load that waits for ever for more of its kind "
                    "keeps the others away",
                    expected="how long a load waits",
                    hint='load = { least = 1, most = 500, waits = "1 h" }',
                )
            pieces *= float(p.pieces_out[o] * p.survives[o])
    layout.problems.raise_errors()


def for_washing(network: Network) -> Floats:
    """[n_routes] pieces that may be started besides, for what cleaning by the shift or day takes and is made here.

    The balance counts the fewest days that the work can fill; in play it may be spread over every one of them.
    """
    more = np.zeros(len(network.routes.ids))
    season, takes = network.season, network.operations.clean_takes
    made_here = np.isin(takes.index, network.routes.item) & cleaned_by_clock(network)[owners(takes)]
    if season is None or not made_here.any():
        return more
    every_day = np.where(made_here, takes.amount * cleans_by_clock(network)[owners(takes)], 0.0)
    need = summed(takes.index, every_day, len(network.items.ids)) * season.working_days
    rows = equations(network, journeys(network))
    used, made = rows.used.toarray(), rows.main
    for _ in network.routes.ids:  # what is made for it is made of other things: at most so many routes deep
        before, need = need, np.zeros(len(need))
        for route, item in enumerate(network.routes.item.tolist()):
            if before[item] > 0 and made[route] > 0:
                started = before[item] / made[route] / float((network.routes.item == item).sum())
                more[route] += started
                need += used[:, route] * started
    return more


ALLOWED, OLD, ENDS = 1, 2, 3
"""What the amounts of a row of deliveries are, where they are not units that come."""


def _short_lots(layout: Layout) -> None:
    """Routes of an amount that begin with a load: it may begin with its least where no more comes."""
    network, b, p = layout.network, layout.builder, layout.network.operations
    for route, row_of_route in enumerate(layout.routes):
        o = int(network.routes.first[route])
        op = layout.operations[o]
        if counted(network, o) or not b.x[op + r.O_LEAST] < b.x[row_of_route + r.U_LOT] * (1 - 1e-9):
            continue
        if any_amount(network, o):
            continue
        row = b.row(r.CAMPAIGN_WIDTH, r.CAMPAIGN)
        b.m[row + r.Q_SHORT], b.m[row + r.Q_ROUTE] = 1, row_of_route
        b.m[row + r.Q_WAITS] = b.m[op + r.O_WAITS]
        items = [*p.takes.row(o)[0].tolist(), *(i for c in network.choices if c.operation == o for i in c.items)]
        items.append(int(network.routes.item[route]))  # and when a lot of it has been let in
        for item in (layout.items[i] for i in dict.fromkeys(items)):
            before = b.m[item + r.I_CAMPAIGNS]
            others = [int(x) for x in b.m[before + 1 : before + 1 + b.m[before]]] if before else []
            b.m[item + r.I_CAMPAIGNS] = b.list_of([*others, row])


def _gives(layout: Layout) -> list[int]:
    """For each route a list of the items that it gives: its own, by-products, seconds."""
    network, b = layout.network, layout.builder
    items: list[list[int]] = [[int(item)] for item in network.routes.item]
    for o, route in enumerate(network.operations.route.tolist()):
        items[route] += network.operations.gives.row(o)[0].tolist()
    for check in network.inspections:
        for reject in (*check.rejects, check.other):
            seconds = [now.item for now in chain_of(reject) if now.item >= 0]
            items[int(network.operations.route[check.operation])] += seconds
    return [b.list_of(layout.items[i] for i in dict.fromkeys(given)) for given in items]


def _deliveries(layout: Layout, item: int, times: list[int], amounts: list[float], what: int = 0) -> None:
    b = layout.builder
    row = b.row(r.INTAKE_WIDTH + len(times), r.INTAKE)
    b.m[row + r.N_ITEM], b.m[row + r.N_COUNT], b.m[row + r.N_ALLOWS] = item, len(times), what
    for k, (time, amount) in enumerate(zip(times, amounts, strict=True)):
        b.m[row + r.INTAKE_WIDTH + k] = time
        b.x[row + r.INTAKE_WIDTH + k] = amount
    layout.event_rows.append(row)


def check_season(layout: Layout) -> None:
    """What a season cannot be played with, by name. Raises ProblemsError."""
    problems = Problems()
    network = layout.network
    for item in np.flatnonzero(network.items.stock > 0).tolist():
        problems.error(f"items.{network.items.ids[item]}.stock", "what circulates is not yet played over a season")
    _check_room(network, problems)
    problems.raise_errors()


def _check_room(network: Network, problems: Problems) -> None:
    """A store too small for what a lot or load takes of it at once would never have enough."""
    takes, routes = network.operations.takes, network.operations.route.tolist()
    for o, item, units in zip(owners(takes).tolist(), takes.index.tolist(), takes.amount.tolist(), strict=True):
        store, route = int(network.item_store[item]), routes[o]
        if store < 0 or counted(network, o):
            continue
        lot = smallest_load(network, o) or lot_of(network, route)
        if network.stores.room[store] < units * lot * (1 - 1e-9):
            problems.error(
                network.operations.paths[o],
                f"{network.stores.ids[store]} has not room for what is taken from it at once",
                value=f"{units * lot:g}",
                expected=f"at most its room of {network.stores.room[store]:g}",
                hint="give the store more room, or the load a smaller amount",
            )
