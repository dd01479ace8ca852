"""The tables of a report, in a person's words: the same for the terminal and the page.

Nothing is worked out here that an engine did not say; numbers are only chosen, named and put in order.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from linewright.answer.model import Answer
from linewright.base.results import Table, Told
from linewright.capacity.model import Resource
from linewright.cost.model import ProductCost
from linewright.plan.called import kind_called
from linewright.plan.model import Carrier, Crew, Station, Tool
from linewright.report import words


def item_names(answer: Answer) -> dict[str, str]:
    """Item id to the name a person reads."""
    return {key: words.name_of(key, item.name) for key, item in answer.plan.items.items()}


def operation_names(answer: Answer) -> dict[str, str]:
    """Operation id to the name a person reads."""
    return {o.id: words.name_of(o.id, o.name) for route in answer.plan.routes.values() for o in route.operations}


def resource_name(answer: Answer, resource: Resource) -> str:
    """The name of a station, crew or tool as its author wrote it."""
    plan = answer.plan
    tables: dict[str, Mapping[str, Station | Crew | Tool | Carrier]] = {
        "station": plan.stations, "crew": plan.crews, "tool": plan.tools, "carrier": plan.carriers
    }  # fmt: skip
    found = tables[resource.kind].get(resource.id)
    if found is None:  # one of several kinds of a carrier: its name, then its values
        name = kind_called(tables[resource.kind], resource.id)
        return f"{name[:1].upper()}{name[1:]}"
    return words.name_of(resource.id, found.name)


def place_names(answer: Answer, where: str) -> str:
    """What a bound names, stations or a crew or a tool, as the author wrote them."""
    plan, names = answer.plan, operation_names(answer)
    kinds: tuple[Mapping[str, Station | Crew | Tool | Carrier], ...] = (
        plan.stations, plan.crews, plan.tools, plan.carriers
    )  # fmt: skip
    said = []
    for key in where.split(", "):
        known = next((kind[key] for kind in kinds if key in kind), None)
        said.append(words.name_of(key, known.name if known is not None else names.get(key, "")))
    return ", ".join(said)


def bounds(answer: Answer, most: int = 8) -> Table:
    """What limits the rate, the tightest first."""
    capacity = answer.capacity
    unit = capacity.wanted[0].unit if capacity.wanted else ""
    rows = tuple(
        (place_names(answer, b.where), b.kind, b.rate, _percent(b.multiple), b.why) for b in capacity.bounds[:most]
    )
    kind = "exact" if capacity.honesty.status == "exact" else "an upper bound"
    columns = ("limit", "kind", f"at most [{unit}/day]", "of the demand", "why")
    return Table("What limits the rate", columns, rows, f"Each rate is {kind}.")


def bounds_short(answer: Answer, most: int = 5) -> Table:
    """The same in few columns, for a terminal, with the reason for the tightest."""
    table = bounds(answer, most)
    why = f" {answer.capacity.bounds[0].why}" if answer.capacity.bounds else ""
    return Table(table.title, table.columns[:-1], tuple(row[:-1] for row in table.rows), table.note + why)


def resources(answer: Answer, kind: str) -> Table:
    """Stations, crews or tools with the hours they are busy at the demand, the fullest first."""
    found = sorted((r for r in answer.capacity.resources if r.kind == kind), key=lambda r: -r.use)
    people = kind == "crew"
    rows = tuple(
        (
            resource_name(answer, r),
            r.count,
            "no number is enough" if r.needed is None else r.needed,
            _percent(r.use),
            _hours(r.hours.working),
            _hours(r.hours.reworking),
            _hours(r.hours.setting_up + r.hours.cleaning + r.hours.starting_up),
            _hours(r.hours.moving),
            _hours(r.hours.standing),
            _hours(r.hours.stopped),
            _hours(r.available),
        )
        for r in found
    )
    columns = (
        kind, "people" if people else "count", "needed", "use", "working [h]", "rework [h]", "setup and cleaning [h]",
        "moving [h]", "standing [h]", "stopped [h]", "at hand [h]",
    )  # fmt: skip
    titles = {"station": "How busy the stations are", "crew": "How busy the people are", "carrier": "Carriers"}
    note = "Hours of one working day, at the demand."
    if kind == "carrier":
        note += " Moving is the way back. Needed is the least number by the bound; the command carriers plays it."
    return without_empty(Table(titles.get(kind, "Shared tools"), columns, rows, note))


def use_in_short(answer: Answer, kind: str) -> Table:
    """The same in few columns, for a terminal: what works, what is lost to setup, moves, rework and stoppages."""
    found = sorted((r for r in answer.capacity.resources if r.kind == kind), key=lambda r: -r.use)
    rows = tuple(
        (
            resource_name(answer, r),
            r.count,
            "more hours" if r.needed is None else r.needed,
            _percent(r.use),
            _hours(r.hours.working),
            _hours(r.hours.total - r.hours.working - r.hours.standing),
            _hours(r.hours.standing),
            _hours(r.available),
        )
        for r in found
    )
    columns = (kind, "people" if kind == "crew" else "count", "needed", "use", "working", "lost", "standing", "at hand")
    title = "How busy the people are" if kind == "crew" else "How busy the stations are"
    note = "Hours of one working day, at the demand. Lost: setup, cleaning, start-up, moves, rework, stoppages."
    return without_empty(Table(title, columns, rows, note))


def goes_in(answer: Answer) -> Table:
    """What is bought, for a day and for one, with what is used up more than once by going round."""
    flow, names = answer.flow, item_names(answer)
    each = flow.per_unit(flow.bought)
    rows = tuple(
        (names.get(item, item), float(flow.bought[i]), flow.units[i], float(each[i]))
        for i, item in sorted(enumerate(flow.items), key=lambda pair: names.get(pair[1], pair[1]).casefold())
        if flow.bought[i] > 0
    )
    return Table("What goes in", ("item", "a day", "unit", f"for one {_one(answer)}"), rows)


def goes_out(answer: Answer) -> Table:
    """What leaves: the product, what is sold, disposed of or left over, losses and scrap, for a day."""
    flow, names = answer.flow, item_names(answer)
    parts = (
        ("delivered", flow.delivered), ("sold", flow.sold), ("disposed of", flow.disposed),
        ("left over", flow.left_over),
    )  # fmt: skip
    rows: list[tuple[object, ...]] = [
        (names.get(item, item), how, float(amounts[i]), flow.units[i])
        for how, amounts in parts
        for i, item in enumerate(flow.items)
        if amounts[i] > 1e-9
    ]
    rows += [
        (words.name_of(loss), "lost", float(kg), "kg")
        for loss, kg in zip(flow.losses, flow.lost, strict=True)
        if kg > 1e-9
    ]
    return Table("What comes out", ("item", "how", "a day", "unit"), tuple(rows))


def goes_round(answer: Answer) -> Table:
    """Items that return to where they came from."""
    flow, names = answer.flow, item_names(answer)
    rows = tuple(
        (names.get(item, item), float(flow.going_round[i]), flow.units[i])
        for i, item in enumerate(flow.items)
        if flow.going_round[i] > 1e-9
    )
    return Table("What goes round", ("item", "a day", "unit"), rows)


PARTS = {
    "material": "material in good pieces",
    "labour": "labour worked",
    "machine": "machines",
    "energy": "energy",
    "setup": "setup, cleaning, start-up",
    "scrap": "scrap",
    "rework": "rework",
    "idle_labour": "labour paid, not worked",
    "disposal": "disposal",
    "by_products": "by-products sold",
    "overhead": "overhead",
}
"""How the parts of a cost are called on paper."""


def cost_parts(answer: Answer) -> Table:
    """What one of each product costs, by part, parts of nothing left out."""
    products, names = answer.cost.products, item_names(answer)
    rows: list[tuple[object, ...]] = []
    for part, word in PARTS.items():
        shares = [getattr(p.parts, part) for p in products]
        if any(abs(share) >= 0.005 for share in shares):
            rows.append((word, *(money(share) for share in shares)))
    rows.append(("total", *(money(p.total) for p in products)))
    rows.append(("counting only hours worked", *(money(p.total_worked) for p in products)))
    rows.append(("if every piece were good at once", *(money(p.without_scrap) for p in products)))
    if any(p.price is not None for p in products):
        rows.append(("price", *(None if p.price is None else money(p.price) for p in products)))
        rows.append(("margin", *(None if p.margin is None else money(p.margin) for p in products)))
    columns = ("part", *(f"{names.get(p.item, p.item)} [{answer.cost.money}/{p.unit}]" for p in products))
    note = f"Counted as nothing, as no price or wage is written: {words.listed(answer.cost.missing)}."
    return Table("What one costs", columns, tuple(rows), note if answer.cost.missing else "")


def one_costs(answer: Answer, product: ProductCost) -> str:
    """What one costs, with the item in the value: ``a trailer: 803.21 EUR, sold at 1,140.00``."""
    name = words.in_sentence(item_names(answer).get(product.item, product.item))
    one = f"{words.article(name)} {name}" if answer_counts(answer, product.item) else f"1 {product.unit} of {name}"
    sold = f", sold at {product.price:,.2f}" if product.price is not None else ""
    return f"{one}: {product.total:,.2f} {answer.cost.money}{sold}"


def answer_counts(answer: Answer, item: str) -> bool:
    """Whether an item is counted and not measured."""
    network = answer.network
    return bool(network.items.counted[network.items.ids.index(item)])


def crew_costs(answer: Answer) -> Table:
    """Hours worked and paid of every crew in a working day."""
    crews, unit = answer.plan.crews, answer.cost.money
    rows = tuple(
        (
            words.name_of(c.crew, crews[c.crew].name if c.crew in crews else ""),
            _hours(c.hours_worked),
            _hours(c.hours_paid),
            *(money(amount) for amount in (c.wage, c.worked, c.paid)),
        )
        for c in answer.cost.crews
    )
    columns = ("crew", "worked [h]", "paid [h]", f"wage [{unit}/h]", f"worked [{unit}]", f"paid [{unit}]")
    return Table("Hours worked and paid, for one working day", columns, rows)


def costly_operations(answer: Answer, item: str, most: int = 10) -> Table:
    """The operations in which most of the cost of one product arises."""
    names = operation_names(answer)
    found = sorted(answer.cost.of(item).by_operation, key=lambda o: -o.total)[:most]
    parts = ("material", "labour", "machine", *(("energy",) if answer.cost.energy else ()), "setup")
    rows = tuple(
        (
            names.get(o.operation, o.operation),
            o.runs,
            *(money(getattr(o, part)) for part in parts),
            money(o.total),
        )
        for o in found
    )
    columns = ("operation", "runs for one", *parts, f"all [{answer.cost.money}]")
    return Table("Where the cost arises", columns, rows)


def scrap(answer: Answer, most: int = 12) -> Table:
    """Pieces scrapped a day, by operation and reason."""
    names = operation_names(answer)
    found = sorted((s for s in answer.flow.scrap if s.pieces > 1e-9), key=lambda s: -s.pieces)
    rows = tuple(
        (names.get(answer.flow.operations[s.operation], ""), s.reason, s.pieces, None if math.isnan(s.kg) else s.kg)
        for s in found[:most]
    )
    return Table("What is scrapped", ("operation", "reason", "pieces a day", "kg a day"), rows)


def yields(answer: Answer) -> Table:
    """For every route how often a piece goes through right first time."""
    flow, plan, names = answer.flow, answer.plan, item_names(answer)
    rows = tuple(
        (words.name_of(r, plan.routes[r].name), names.get(plan.routes[r].gives, ""), float(flow.started[k]),
         float(flow.finished[k]), Told(float(flow.rolled_yield[k]), f"{100 * float(flow.rolled_yield[k]):.4g} %"))
        for k, r in enumerate(flow.routes)
    )  # fmt: skip
    return Table("Right first time", ("route", "gives", "started a day", "finished a day", "right first time"), rows)


def waiting(answer: Answer) -> Table:
    """The estimates of waiting, the longest first."""
    names = {key: words.name_of(key, station.name) for key, station in answer.plan.stations.items()}
    found = sorted(answer.capacity.waiting, key=lambda w: -(w.wait if w.wait is not None else math.inf))
    rows = tuple(
        (names.get(w.station, w.station), _percent(w.use),
         "without end" if w.wait is None else words.seconds(3600 * w.wait), w.queue)
        for w in found
        if w.wait is None or w.wait > 0.5 / 3600
    )  # fmt: skip
    note = "Estimates from mean and spread of times (a closed formula), not a simulation. Open time."
    return Table("Waiting before stations", ("station", "use", "mean wait", "pieces waiting"), rows, note)


def effectiveness(answer: Answer) -> Table:
    """Stations in the terms of ISO 22400-2, as expected from the plan."""
    names = {key: words.name_of(key, station.name) for key, station in answer.plan.stations.items()}
    rows = tuple(
        (names.get(e.station, e.station), *(_percent(x) for x in (e.availability, e.effectiveness, e.quality_ratio,
         e.oee_index, e.utilization, e.setup_ratio)))
        for e in answer.capacity.effectiveness
    )  # fmt: skip
    columns = ("station", "availability", "effectiveness", "quality ratio", "OEE index", "utilization", "setup ratio")
    return Table("Stations in the terms of ISO 22400-2", columns, rows, "Expected from the plan, not observed.")


def work_of_crews(answer: Answer) -> Table:
    """Which operations each crew does."""
    plan, names = answer.plan, operation_names(answer)
    does: dict[str, list[str]] = {key: [] for key in plan.crews}
    meanwhile: dict[str, list[str]] = {}
    for route in plan.routes.values():
        for operation in route.operations:
            for key in operation.crew:
                does.setdefault(key, []).append(names[operation.id])
            for care in operation.during:
                for key in care.crew:
                    meanwhile.setdefault(key, []).append(f"{care.name} (while: {names[operation.id]})")
    rows = tuple(
        (words.name_of(key, plan.crews[key].name if key in plan.crews else ""), len(what),
         "; ".join([*what, *meanwhile.get(key, [])]))
        for key, what in does.items()
        if what or key in meanwhile
    )  # fmt: skip
    return Table("The work of each crew", ("crew", "steps", "operations"), rows)


def ladder(answer: Answer, most: int = 6) -> Table:
    """The places that limit, one above the other: what the next one allows once this one is lifted."""
    tightest = {bound.where: bound for bound in reversed(answer.capacity.bounds)}
    found = sorted(tightest.values(), key=lambda bound: bound.multiple)[: most + 1]
    rows = tuple(
        (place_names(answer, b.where), b.kind, b.rate, None if after is None else after.rate)
        for b, after in zip(found, [*found[1:], None][: len(found)], strict=True)
    )
    columns = ("lift this", "kind", "it allows a day", "then the next allows")
    return Table("One limit after the other", columns, rows[:most])


_LOSSES = {
    "setting_up": "setting up",
    "cleaning": "cleaning",
    "starting_up": "starting up",
    "moving": "moving",
    "reworking": "rework",
    "stopped": "stoppages",
}


def losses(answer: Answer, most: int = 10) -> Table:
    """Hours a day that make nothing, the largest first."""
    found = sorted(
        (
            (float(getattr(r.hours, part)), resource_name(answer, r), word)
            for r in answer.capacity.resources
            if r.kind == "station"
            for part, word in _LOSSES.items()
        ),
        reverse=True,
    )
    rows = tuple((name, word, _hours(hours)) for hours, name, word in found[:most] if hours > 0.005)
    return Table("Where station time is lost", ("station", "to", "hours a day"), rows)


def _hours(hours: float) -> Told | None:
    return Told(hours, f"{hours:,.2f}") if hours >= 0.005 else None


def money(amount: float) -> Told:
    """An amount of money to the hundredth."""
    return Told(amount, f"{amount:,.2f}")


def _one(answer: Answer) -> str:
    wanted = answer.capacity.wanted
    if len(wanted) != 1:
        return "unit demanded"
    return words.in_sentence(item_names(answer).get(wanted[0].item, wanted[0].item))


def _percent(part: float) -> Told | str | None:
    if math.isnan(part):
        return None
    return "unlimited" if math.isinf(part) else Told(part, f"{100 * part:.0f} %")


def without_empty(table: Table) -> Table:
    """The table without columns that hold nothing in any row (the first is kept)."""
    kept = [k for k in range(len(table.columns)) if k == 0 or any(not _nothing(row[k]) for row in table.rows)]
    rows = tuple(tuple(row[k] for k in kept) for row in table.rows)
    return Table(table.title, tuple(table.columns[k] for k in kept), rows, table.note)


def _nothing(cell: object) -> bool:
    return cell is None or cell == "" or (isinstance(cell, float) and abs(cell) < 5e-4)
