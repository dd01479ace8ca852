"""Items as a whole: who makes and who uses each, what is wanted, and which route nothing needs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.base.units import Quantity, UnitError
from linewright.plan.amounts import price_of, units_of
from linewright.plan.model import Demand, Item, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading
from linewright.plan.whole import Placed, items_of, reactions_of, rows_of, tables_of, takes_of, wanted_of


def check_items(plan: Plan, placed: list[Placed], reading: Reading, document: Mapping[str, Any]) -> None:
    """Note the problems of items, demand and routes."""
    users, makers = _users(placed), _makers(placed, document)
    written = document.get("items")
    wanted = wanted_of(document)
    lost = {a.item for one in placed for a in one.operation.loses}
    for id, item in plan.items.items():
        _check_units(item, reading)
        if id not in makers and not item.free and not _has(written, id, "buy"):
            _no_source(id, id in wanted, users.get(id), id in lost, reading)
    _check_demand(plan, reading, document)
    _check_routes(plan, users, wanted, reading)


def _has(items: Any, id: str, key: str) -> bool:
    return isinstance(items, Mapping) and isinstance(items.get(id), Mapping) and key in items[id]


def _users(placed: list[Placed]) -> dict[str, str]:
    """Item to the name of the first operation that takes it."""
    users: dict[str, str] = {}
    for one in placed:
        for amount in takes_of(one.operation):
            for item in items_of(amount):
                users.setdefault(item, one.title)
    return users


def _makers(placed: list[Placed], document: Mapping[str, Any]) -> set[str]:
    """Items that are made; looked up in the document too, so that a route in error still makes its item."""
    makers = {str(route.get("gives")) for route in tables_of(document, "routes")}
    for row in rows_of(document):
        if isinstance(row.get("gives"), Mapping):
            makers.update(row["gives"])
    for one in placed:
        makers.update(r.seconds for _, r in reactions_of(one) if r.seconds is not None)
    return makers


def _no_source(id: str, wanted: bool, user: str | None, lost: bool, reading: Reading) -> None:
    path = join("items", id)
    if wanted:
        reading.error(path, f'item "{id}" is wanted, but no route makes it', None, "a route that gives it")
    elif user is not None:
        what = f'item "{id}" has neither a price nor a maker, but {user} takes it'
        reading.error(path, what, None, '`buy = "..."`, a route that gives it, or `free = true`')
    elif not lost:
        reading.problems.warn(path, f'nothing makes or takes item "{id}"', hint="take it out, or use it")


def _check_units(item: Item, reading: Reading) -> None:
    path = join("items", item.id)
    for key in ("buy", "sell", "disposal"):
        price: Quantity | None = getattr(item, key)
        if price is not None:
            _fits(lambda p=price: price_of(item, p), f"{path}.{key}", price, reading)
    if item.stock is not None:
        _fits(lambda: units_of(item, item.stock), f"{path}.stock", item.stock, reading)


def _fits(convert: Any, path: str, quantity: Quantity, reading: Reading) -> None:
    try:
        convert()
    except UnitError as wrong:
        reading.error(path, wrong.what, quantity.text, wrong.expected, wrong.hint)


def _check_demand(plan: Plan, reading: Reading, document: Mapping[str, Any]) -> None:
    if not plan.demand and plan.makes is None and not reading.problems.errors:
        reading.error("plan.makes", "nothing is wanted", None, "`makes` and `demand`, or a [[demand]]")
    seen: dict[str, list[Demand]] = {}
    for demand, path in zip(plan.demand, _demand_paths(plan, document), strict=False):
        if any(not _apart(demand, other) for other in seen.get(demand.item, ())):
            what = f'item "{demand.item}" is wanted twice'
            reading.error(path, what, demand.item, "one demand for each item, or for each variant of it")
        seen.setdefault(demand.item, []).append(demand)
    if plan.release != "takt" and plan.open_pieces is None:
        what = f'release = "{plan.release}" needs the number of pieces open at once'
        reading.error("plan.open_pieces", what, None, "open_pieces = 20")


def _apart(one: Demand, other: Demand) -> bool:
    """Whether two demands for an item are for different variants of it."""
    return any(
        not any(share > 0 and mix.get(value, 0.0) > 0 for value, share in other.options[option].items())
        for option, mix in one.options.items()
        if option in other.options
    )


def _demand_paths(plan: Plan, document: Mapping[str, Any]) -> list[str]:
    """Where each demand names its item: in [plan], then in the rows of [[demand]]."""
    header = document.get("plan")
    short = ["plan.makes"] if isinstance(header, Mapping) and "makes" in header else []
    return short + [f"demand[{number}].item" for number in range(len(plan.demand) - len(short))]


def _check_routes(plan: Plan, users: Mapping[str, str], wanted: set[str], reading: Reading) -> None:
    shares: dict[str, float] = {}
    for id, route in plan.routes.items():
        path = join("routes", id)
        if route.gives not in wanted and route.gives not in users and not _sold(plan, route.gives):
            what = f'nothing uses route "{id}": item "{route.gives}" is neither wanted nor taken'
            reading.problems.warn(path, what, hint="write a demand for it, or let an operation take it")
        if route.share is not None:
            shares[route.gives] = shares.get(route.gives, 0.0) + route.share
            if shares[route.gives] > 1 + 1e-9:
                what = f'the routes that make "{route.gives}" have shares over 100 %'
                reading.error(f"{path}.share", what, None, "shares that add up to 100 %")


def _sold(plan: Plan, item: str) -> bool:
    return item in plan.items and plan.items[item].sell is not None
