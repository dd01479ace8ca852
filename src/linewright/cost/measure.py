"""What does one cost? The money of a working day, its waste set apart, divided among the products.

Waste is found by asking the material balance again for a works in which every piece is good the first time: what the
day costs beyond that is scrap and rework.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import numpy as np

import linewright
from linewright.base.results import Honesty, Provenance
from linewright.capacity.model import Capacity
from linewright.cost.daily import Daily, daily_money, spread
from linewright.cost.lots import lots_of
from linewright.cost.model import Cost, CrewCost, ItemCost, OperationCost, Parts, ProductCost
from linewright.cost.products import RULE, shares_of_products
from linewright.cost.rounding import digits_for, round_to_sum
from linewright.flow.model import Flow
from linewright.flow.solve import solve_flow
from linewright.network.model import NOWHERE, Fate, Floats, Links, Network, Reject, Setups


def cost_of_one(network: Network, flow: Flow, capacity: Capacity) -> Cost:
    """The cost of one unit of every demanded item, at the demand, in the plan's money.

    ``flow`` and ``capacity`` are those of the same network. Parts add up to the total exactly.
    """
    begun = time.perf_counter()
    products = [int(i) for i in np.flatnonzero(network.items.demand > 0)]
    now = _day(network, flow, capacity)
    ideal_network = without_waste(network)
    good = now if ideal_network is network else _day(ideal_network, solve_flow(ideal_network), capacity)
    shares = shares_of_products(network, flow, products)
    bills = _bills(now, good, shares, products)
    costs = tuple(
        _product(network, flow, now, good, k, i, shares, bill)
        for k, (i, bill) in enumerate(zip(products, bills, strict=True))
    )
    return Cost(
        money=network.plan.money,
        products=costs,
        crews=now.crews,
        per_day=round(sum(c.total * c.per_day for c in costs), 2),
        missing=_missing(network, flow),
        assumptions=_assumptions(network, now, len(products)),
        honesty=Honesty("exact", notes=("From the plan's own times and prices at the demand.",)),
        provenance=Provenance("cost", linewright.__version__, network.fingerprint, None, time.perf_counter() - begun),
        energy=now.daily.stations,
        lots=lots_of(network, flow, capacity, now.daily),
    )


def without_waste(network: Network) -> Network:
    """The same works if every piece were good the first time; the network itself where it already is so."""
    operations = network.operations
    wasteful = (
        (operations.survives < 1).any()
        or len(operations.faults.index)
        or network.inspections
        or (operations.start_scrap > 0).any()
    )
    if not wasteful:
        return network
    n = len(operations.ids)
    none = Links(np.zeros(n + 1, dtype=np.int64), np.zeros(0, dtype=np.int64), np.zeros(0))
    good = replace(operations, survives=np.ones(n), faults=none, start_scrap=np.zeros(n))
    # A fresh dictionary of notes: what others keep there (the journeys) belongs to the network as it was.
    return replace(network, operations=good, inspections=(), faults=(), notes={})


@dataclass(frozen=True, slots=True)
class _Day:
    """One working day: money by operation, of crews, of what leaves [n_operations], and the overhead."""

    daily: Daily
    crews: tuple[CrewCost, ...]
    idle: Floats
    sold: Floats
    disposal: Floats
    overhead: float
    leaving: tuple[tuple[int, str, float, float], ...]


def _day(network: Network, flow: Flow, capacity: Capacity) -> _Day:
    daily = daily_money(network, flow, capacity)
    worked = daily.crew_hours.sum(axis=1)
    paid = np.maximum(network.crews.paid_hours_week / network.days_week, worked)
    wage = np.nan_to_num(network.crews.wage)
    crews = tuple(
        CrewCost(name, float(w), float(p), float(rate), float(w * rate), float(p * rate))
        for name, w, p, rate in zip(network.crews.ids, worked, paid, wage, strict=True)
    )
    sold, disposal, leaving = _leaving(network, flow)
    plan = network.plan.overhead
    bought = float((flow.bought * np.nan_to_num(network.items.buy)).sum())
    overhead = (
        plan.of_labour * sum(c.paid for c in crews)
        + plan.of_material * bought
        + (plan.per_day.value if plan.per_day is not None else 0.0)
    )
    return _Day(daily, crews, (paid - worked) * wage, sold, disposal, overhead, leaving)


def _leaving(network: Network, flow: Flow) -> tuple[Floats, Floats, tuple[tuple[int, str, float, float], ...]]:
    """Money of surplus sold (negative) and disposed of, by the operation that gives it: [n_operations] each."""
    n = len(network.operations.ids)
    sold, disposal = np.zeros(n), np.zeros(n)
    lines: list[tuple[int, str, float, float]] = []
    for role, amounts, price, sign, out in (
        ("sold", flow.sold, network.items.sell, -1.0, sold),
        ("disposal", flow.disposed, network.items.disposal, 1.0, disposal),
    ):
        for item in np.flatnonzero(amounts > 0).tolist():
            each = sign * float(np.nan_to_num(price[item]))
            money = float(amounts[item]) * each
            lines.append((item, role, float(amounts[item]), each))
            out += money * _givers(network, flow, item)
    return sold, disposal, tuple(lines)


def _givers(network: Network, flow: Flow, item: int) -> Floats:
    """[n_operations] the part of an item that each operation gives, adding to 1."""
    out = np.zeros(len(network.operations.ids))
    for route in np.flatnonzero(network.routes.item == item).tolist():
        out[network.routes.last[route]] += flow.finished[route]
    row, given, amount = spread(network.operations.gives)
    here = given == item
    np.add.at(out, row[here], amount[here] * flow.runs[row[here]])
    lookers = {
        check.operation: float(flow.runs[check.operation])
        for check in network.inspections
        if any(_gives_seconds(reject, item) for reject in (*check.rejects, check.other)) and not out[check.operation]
    }
    looked = sum(lookers.values())
    for operation, runs in lookers.items():  # several checks are taken to reject alike
        out[operation] += flow.seconds[item] * runs / looked if looked > 0 else 0.0
    total = out.sum()
    return out / total if total > 0 else np.full(len(out), 1 / len(out))


def _gives_seconds(reject: Reject | None, item: int) -> bool:
    while reject is not None:
        if reject.fate is Fate.SECONDS and reject.item == item:
            return True
        reject = reject.otherwise
    return False


def _bills(now: _Day, good: _Day, shares: Floats, products: list[int]) -> list[dict[str, float]]:
    """Money a working day of every product by part, and by the same parts without waste ("good ...")."""
    direct = now.daily.total
    by_direct = _key(shares @ direct)
    unclaimed = 1 - shares.sum(axis=0)

    def of(money: Floats) -> Floats:
        return shares @ money + by_direct * float(unclaimed @ money)

    idle = np.zeros(len(products))
    for crew, money in enumerate(now.idle.tolist()):
        hours = shares @ now.daily.crew_hours[crew]
        idle += money * (_key(hours) if hours.sum() > 0 else by_direct)
    clean = {name: of(getattr(good.daily, name)) for name in ("material", "labour", "machine", "energy", "setup")}
    rework = of(now.daily.again)
    waste = of(direct) - sum(clean.values()) - rework
    parts = {
        **clean,
        "scrap": waste,
        "rework": rework,
        "idle_labour": idle,
        "disposal": of(now.disposal),
        "by_products": of(now.sold),
        "overhead": now.overhead * by_direct,
    }
    whole = sum(clean.values()) + parts["idle_labour"] + of(good.disposal) + of(good.sold) + good.overhead * by_direct
    return [
        {
            **{name: float(money[k]) for name, money in parts.items()},
            "good": float(whole[k]),
            "key": float(by_direct[k]),
        }
        for k in range(len(products))
    ]


def _key(weights: Floats) -> Floats:
    total = weights.sum()
    return weights / total if total > 0 else np.full(len(weights), 1 / len(weights))


def _product(
    network: Network, flow: Flow, now: _Day, good: _Day, k: int, item: int, shares: Floats, bill: dict[str, float]
) -> ProductCost:
    amount = float(network.items.demand[item])
    names = [f for f in bill if f not in ("good", "key")]
    exact = [bill[name] / amount for name in names]
    digits = digits_for(sum(exact))
    parts = Parts(**dict(zip(names, round_to_sum(exact, digits), strict=True)))
    price = float(network.items.sell[item])
    sells = bool(np.isfinite(price))
    return ProductCost(
        item=network.items.ids[item],
        unit=network.items.units[item],
        per_day=amount,
        parts=parts,
        total=parts.total,
        total_worked=round(parts.total - parts.idle_labour, 9),
        without_scrap=round(bill["good"] / amount, digits),
        price=price if sells else None,
        margin=round(price - parts.total, 9) if sells else None,
        share=bill["key"],
        by_item=_by_item(network, flow, now, good, shares[k] / amount),
        by_operation=_by_operation(network, flow, now.daily, shares[k] / amount),
        kwh=float(now.daily.kwh @ shares[k]) / amount,
    )


def _by_operation(network: Network, flow: Flow, daily: Daily, share: Floats) -> tuple[OperationCost, ...]:
    columns = [
        flow.runs * share,
        daily.material * share,
        daily.labour * share,
        daily.machine * share,
        daily.energy * share,
        daily.setup * share,
    ]
    return tuple(
        OperationCost(name, *row)
        for name, row in zip(network.operations.ids, np.array(columns).T.tolist(), strict=True)
        if row[0] > 0
    )


def _by_item(network: Network, flow: Flow, now: _Day, good: _Day, share: Floats) -> tuple[ItemCost, ...]:
    """What is bought, sold and disposed of for one product; ``lost`` is what is bought beyond a works without waste."""
    items = network.items
    money, needed = (_by_supply(day.daily, len(items.ids), share) for day in (now, good))
    lines = []
    for item in np.flatnonzero((money > 0) & (items.buy > 0)).tolist():
        each, spent = float(items.buy[item]), float(money[item])
        lost = max(0.0, spent - float(needed[item]))
        lines.append(ItemCost(items.ids[item], items.units[item], "bought", spent / each, each, spent, lost))
    for item, role, amount, each in now.leaving:
        part = amount * float(_givers(network, flow, item) @ share)
        lines.append(ItemCost(items.ids[item], items.units[item], role, part, each, part * each, 0.0))
    return tuple(lines)


def _by_supply(daily: Daily, n_items: int, share: Floats) -> Floats:
    money = np.zeros(n_items)
    for operation, item, spent in daily.supplies:
        money[item] += spent * share[operation]
    return money


def _missing(network: Network, flow: Flow) -> tuple[str, ...]:
    """What has no price or wage and counts as nothing."""
    items = network.items
    out = [
        f"{items.ids[i]} has no price"
        for i in np.flatnonzero((flow.bought > 0) & ~np.isfinite(items.buy) & ~items.free).tolist()
    ]
    drawn = {int(u) for u in network.stations.utility if u != NOWHERE}
    out += [
        f"{name} has no price"
        for u, name in enumerate(network.utilities.ids)
        if u in drawn and not np.isfinite(network.utilities.price[u])
    ]
    used = set(network.operations.crews.index.tolist())
    lends = network.crews.lends
    used |= {a for a, b in zip(lends.lender.tolist(), lends.to.tolist(), strict=True) if b in used}
    out += [
        f"{name} has no wage"
        for c, name in enumerate(network.crews.ids)
        if c in used and not np.isfinite(network.crews.wage[c])
    ]
    return tuple(out)


def _assumptions(network: Network, now: _Day, products: int) -> tuple[str, ...]:
    out = [
        "Everyone is paid for the whole shift; paid hours that no work fills are shown as labour paid, not worked.",
        "Waste is what the day costs beyond a works in which every piece is good the first time; the hours it takes "
        "count at their wage, as if people who were spared it had other work.",
    ]
    over = [c.crew for c in now.crews if c.hours_worked > 0 and c.hours_paid == c.hours_worked]
    if over:
        out.append(f"More work than paid hours: {', '.join(over)}; the hours beyond are paid at the same wage.")
    if len(network.crews.lends):
        out.append(
            "Who does whose work is what the hours at the demand let expect: a crew's own people do all they have time "
            "for, the rest is done by those who stand in, at their wage and pace. Day by day they stand in more."
        )
    if products > 1:
        out.append(RULE)
    if (network.operations.setup_when == Setups.ITEM_CHANGES).any():
        out.append("Changeovers are counted as if the items followed each other in an even mix.")
    return tuple(out)
