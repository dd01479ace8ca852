"""A plan with options as a plain plan: every item, route and operation once for each variant that is wanted.

Variants are followed from the demand down to what is bought, so that only combinations that somebody orders are made.
A left is taken from the lefts of its size, so no pair can mix sizes. Engines then play variants with what they have.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from linewright.base.problems import Problem, ProblemsError
from linewright.base.units import Quantity
from linewright.network.model import Ints, Network, Origin
from linewright.network.rows import ints
from linewright.plan.amounts import unit_of
from linewright.plan.check_options import MOST_VARIANTS, mix_of
from linewright.plan.model import Amount, Carrier, Check, Demand, Duration, Item, Operation, Plan, Reaction, Route

Values = tuple[str, ...]
"""The value of each option of an item, in the item's own order."""
Variant = tuple[str, Values]


@dataclass(slots=True)
class Expansion:
    """A plan without options, and for each of its items, routes and operations what it was written as."""

    plan: Plan
    origin: Origin
    positions: Mapping[str, tuple[int, ...]]
    demands: tuple[int, ...]


def variant_id(id: str, values: Values) -> str:
    """The id of a variant.

    >>> variant_id("shoe", ("39", "left"))
    'shoe [39, left]'
    """
    return f"{id} [{', '.join(values)}]" if values else id


_DAY_SECONDS = 86_400
_NO_TIME = Quantity(0.0, "time", "0 s")
_OF_VARIANT = re.compile(r"(?<=\w) \[[^\[\]]+\]")
_STEP = re.compile(r"^routes\.(.+)\.operations\[(\d+)\]")
_WANTED = re.compile(r"^demand\[(\d+)\]")


def without_values(text: str) -> str:
    """A text about a variant as it is of the item.

    >>> without_values('"shoe [39, left]" has no mass')
    '"shoe" has no mass'
    """
    return _OF_VARIANT.sub("", text)


def written_path(path: str, expansion: Expansion) -> str:
    """Where a field of a plan spread out was written."""
    wanted, step = _WANTED.match(path), _STEP.match(path)
    if wanted is not None:
        number = expansion.demands[int(wanted[1])]
        return f"demand[{number}]{path[wanted.end() :]}"
    if step is not None:
        position = expansion.positions[step[1]][int(step[2])]
        path = f"routes.{step[1]}.operations[{position}]{path[step.end() :]}"
    return without_values(path)


_READ = ("items", "routes", "options", "demand", "carriers")
"""All of a plan that its variants are made of."""


def expand(plan: Plan, like: Expansion | None = None) -> Expansion:
    """Every variant that is wanted, and one of whatever nobody wants, so that nothing of the plan is lost.

    ``like`` is that of another plan, whose variants are taken where these would be the same.
    """
    same = like is not None and plan.makes == like.origin.plan.makes
    if (
        like is not None
        and same
        and all(_alike(getattr(plan, name), getattr(like.origin.plan, name)) for name in _READ)
    ):
        spread = {name: getattr(like.plan, name) for name in _READ}
        return replace(like, plan=replace(plan, **spread, lines={}, fits={}), origin=replace(like.origin, plan=plan))
    work = _Expanding(plan)
    demand, demands = _demand(plan)
    for one, _ in demand:
        work.want(one)
    for id, item in plan.items.items():
        if not item.options:
            work.want((id, ()))
    work.follow()
    for variant in work.unwanted():
        work.want(variant)
        work.follow()
    items = [(id, values) for id in plan.items for values in work.in_order(id)]
    routes = [(route, values) for route in plan.routes.values() for values in work.made_by(route)]
    expanded = replace(
        plan,
        items={variant_id(id, values): _item(plan.items[id], values) for id, values in items},
        routes={variant_id(route.id, values): work.with_tables(route, values) for route, values in routes},
        demand=tuple(Demand(variant_id(*variant), rate) for variant, rate in demand),
        carriers={c.id: c for one in plan.carriers.values() for c in work.carriers(one, routes)},
        options={},
        lines={},
        fits={},
    )
    written = {route.id: {o.id: k for k, o in enumerate(route.operations)} for route in plan.routes.values()}
    kept = {variant_id(r.id, values): [o.id for o in work.operations(r, values)] for r, values in routes}
    positions = {id: tuple(written[r.id][o] for o in kept[id]) for (r, _), id in zip(routes, kept, strict=True)}
    return Expansion(expanded, _origin(plan, items, routes, kept), positions, demands)


def _origin(
    plan: Plan, items: list[Variant], routes: list[tuple[Route, Values]], kept: Mapping[str, list[str]]
) -> Origin:
    item_of = {id: k for k, id in enumerate(plan.items)}
    route_of = {id: k for k, id in enumerate(plan.routes)}
    operations = [o.id for route in plan.routes.values() for o in route.operations]
    operation_of = {id: k for k, id in enumerate(operations)}
    return Origin(
        plan=plan,
        items=tuple(plan.items),
        item=ints([item_of[id] for id, _ in items]),
        values=tuple(tuple(zip(plan.items[id].options, values, strict=True)) for id, values in items),
        routes=tuple(plan.routes),
        route=ints([route_of[route.id] for route, _ in routes]),
        operations=tuple(operations),
        operation=ints([operation_of[id] for names in kept.values() for id in names]),
    )


def _demand(plan: Plan) -> tuple[list[tuple[Variant, Quantity]], tuple[int, ...]]:
    """What is wanted of every variant, options taken as independent of each other; and the demand that says so.

    Where a harvest says how much is made it is one a day, in the usual mix.
    """
    found: list[tuple[Variant, Quantity]] = []
    of: list[int] = []
    for number, demand in enumerate(plan.demand or _of_a_harvest(plan)):
        mixes = [mix_of(plan, option, demand) for option in plan.items[demand.item].options]
        for values in product(*mixes):
            share = 1.0
            for mix, value in zip(mixes, values, strict=True):
                share *= mix[value]
            if share > 0:
                rate = replace(demand.rate, value=demand.rate.value * share)
                found.append(((demand.item, values), rate))
                of.append(number)
    return found, tuple(of)


def _of_a_harvest(plan: Plan) -> tuple[Demand, ...]:
    """One a day of what a harvest is made into, until it says how much; nothing where that is not written."""
    item = plan.items.get(plan.makes or "")
    if item is None:
        return ()
    return (Demand(item.id, Quantity(1.0 / _DAY_SECONDS, f"{unit_of(item.unit).dimension}/time", "1/day")),)


def _item(item: Item, values: Values) -> Item:
    """One variant of an item."""
    if not item.options:
        return item
    own = dict(zip(item.options, values, strict=True))
    told: dict[str, Any] = {key: varies.of(own) for key, varies in item.by_option.items()}
    name = f"{item.name or item.id.replace('_', ' ')} {', '.join(values)}"
    return replace(item, id=variant_id(item.id, values), name=name, options=(), by_option={}, **told)


def item_as_written(variant: Item) -> Item:
    """An item of a plan spread out under the id and the name that it was written with."""
    id = without_values(variant.id)
    values = variant.id.removeprefix(id).strip(" []")
    return replace(variant, id=id, name=variant.name.removesuffix(f" {values}") if values else variant.name)


def _alike(one: Any, other: Any) -> bool:
    """Whether two parts of plans are the same, in the same order."""
    return bool(one == other) and list(one) == list(other)


@dataclass(slots=True)
class _Expanding:
    plan: Plan
    found: dict[str, dict[Values, None]] = field(default_factory=dict)
    waiting: list[Variant] = field(default_factory=list)
    ready: dict[tuple[str, Values], Route] = field(default_factory=dict)

    def want(self, variant: Variant) -> None:
        """Note that a variant is there."""
        variants = self.found.setdefault(variant[0], {})
        if variant[1] not in variants:
            if len(variants) == MOST_VARIANTS:
                what = f'item "{variant[0]}" would be made in more than {MOST_VARIANTS:,} variants'
                hint = "leave out options that change no time, part or cost"
                raise ProblemsError([Problem(f"items.{variant[0]}.options", what, hint=hint)])
            variants[variant[1]] = None
            self.waiting.append(variant)

    def follow(self) -> None:
        """From what is wanted to everything that it is made of."""
        while self.waiting:
            id, values = self.waiting.pop()
            for route in self.plan.routes.values():
                if route.gives == id and _matches(route.only_if, self.own(id, values)):
                    self.route(route, values)

    def unwanted(self) -> Iterator[Variant]:
        """A variant of what nobody wants: of items, and of operations that nobody's variant goes through."""
        for id, item in self.plan.items.items():
            if id not in self.found:
                yield id, tuple(self.plan.options[option].values[0] for option in item.options)
        for route in self.plan.routes.values():
            for operation in route.operations:
                if not any(operation in self.operations(route, values) for values in self.made_by(route)):
                    yield route.gives, self._first(route, operation)

    def _first(self, route: Route, operation: Operation) -> Values:
        """The first combination that a route makes and an operation is done to."""
        return tuple(
            next(
                (v for v in self.plan.options[option].values
                 if all(v in only.get(option, (v,)) for only in (route.only_if, operation.only_if))),
                self.plan.options[option].values[0],
            )
            for option in self.plan.items[route.gives].options
        )  # fmt: skip

    def in_order(self, id: str) -> list[Values]:
        """The variants of an item in the order of their options' values."""
        place = [{v: k for k, v in enumerate(self.plan.options[o].values)} for o in self.plan.items[id].options]
        return sorted(self.found.get(id, ()), key=lambda values: [at[v] for at, v in zip(place, values, strict=True)])

    def made_by(self, route: Route) -> list[Values]:
        """The variants that a route makes."""
        variants = self.in_order(route.gives)
        return [values for values in variants if _matches(route.only_if, self.own(route.gives, values))]

    def own(self, id: str, values: Values) -> dict[str, str]:
        """Option to value of a variant."""
        return dict(zip(self.plan.items[id].options, values, strict=True))

    def operations(self, route: Route, values: Values) -> list[Operation]:
        """The operations that a variant goes through, as written."""
        own = self.own(route.gives, values)
        return [o for o in route.operations if not o.only_if or _matches(o.only_if, own)]

    def route(self, route: Route, values: Values) -> Route:
        """The route of one variant; what it takes is wanted."""
        if (route.id, values) in self.ready:
            return self.ready[route.id, values]
        own = self.own(route.gives, values)
        here = self.operations(route, values)
        names = {o.id: variant_id(o.id, values) for o in here}
        made = replace(
            route,
            id=variant_id(route.id, values),
            gives=variant_id(route.gives, values),
            operations=tuple(self._operation(o, own, route, names) for o in here),
            only_if={},
        )
        self.ready[route.id, values] = made
        return made

    def carriers(self, carrier: Carrier, routes: Iterable[tuple[Route, Values]]) -> Iterator[Carrier]:
        """The kinds of a carrier: one for each combination of its options that anybody's pieces get on."""
        every = [(route, values, self.own(route.gives, values)) for route, values in routes]
        for chosen in product(*(self.plan.options[option].values for option in carrier.options)):
            kind = dict(zip(carrier.options, chosen, strict=True))
            fit = [(r, v) for r, v, own in every if all(own.get(o, value) == value for o, value in kind.items())]
            done = [(o.id, variant_id(o.id, v)) for r, v in fit for o in self.operations(r, v)]
            joins = tuple(name for id, name in done if id in carrier.joins)
            leaves = tuple(name for id, name in done if id in carrier.leaves)
            if joins:
                told: dict[str, Any] = {key: varies.of(kind) for key, varies in carrier.by_option.items()}
                name = f"{carrier.name} {', '.join(chosen)}".strip() if carrier.name else ""
                ids: dict[str, Any] = {"id": variant_id(carrier.id, chosen), "name": name}
                ids |= {"joins": joins, "leaves": leaves, "options": (), "by_option": {}}
                yield replace(carrier, **ids, **told)

    def with_tables(self, route: Route, values: Values) -> Route:
        """The route of one variant with its tables of changeovers: names, and values of options, as variants."""
        made = self.route(route, values)
        if not any(o.setup is not None and o.setup.table for o in made.operations):
            return made
        own = self.own(route.gives, values)
        steps = zip(made.operations, self.operations(route, values), strict=True)
        return replace(made, operations=tuple(self._with_table(new, old.id, route, own) for new, old in steps))

    def _with_table(self, step: Operation, written: str, route: Route, own: Mapping[str, str]) -> Operation:
        if step.setup is None or not step.setup.table:
            return step
        option = step.setup.option
        table = {
            (before, step.id): time
            for (old, new), time in step.setup.table.items()
            if new in (written, route.gives) or (option and own.get(option) == new)
            for before in self._named(old, option)
        }
        return replace(step, setup=replace(step.setup, table=table, time=step.setup.time or Duration(fixed=_NO_TIME)))

    def _named(self, name: str, option: str) -> list[str]:
        """The variants, of items or of operations, that a name in a table of changeovers stands for."""
        if name in self.plan.items:
            return [variant_id(name, values) for values in self.in_order(name)]
        for route in self.plan.routes.values():
            if any(o.id == name for o in route.operations):
                made = [v for v in self.made_by(route) if any(o.id == name for o in self.operations(route, v))]
                return [variant_id(name, values) for values in made]
        made_here = dict.fromkeys(route.gives for route in self.plan.routes.values())
        return [
            variant_id(id, values)
            for id in made_here if id in self.plan.items and option in self.plan.items[id].options
            for values in self.in_order(id) if self.own(id, values)[option] == name
        ]  # fmt: skip

    def _operation(
        self, operation: Operation, own: dict[str, str], route: Route, names: Mapping[str, str]
    ) -> Operation:
        """One operation for one variant."""
        fields: dict[str, Any] = {"id": names[operation.id]}
        for key, varies in operation.by_option.items():
            if key.startswith("faults."):
                faults = fields.setdefault("faults", dict(operation.faults))
                faults[key.removeprefix("faults.")] = varies.of(own)
            else:
                fields[key] = varies.of(own)
        for key in ("takes", "takes_per_load", "gives"):
            amounts = getattr(operation, key)
            if amounts:
                fields[key] = self._amounts(amounts, own)
        fields["loses"] = tuple(_told(amount, own) for amount in operation.loses)
        for key in ("setup", "clean"):
            side = getattr(operation, key)
            if side is not None and side.takes:
                fields[key] = replace(side, takes=self._amounts(side.takes, own))
        if operation.check is not None:
            fields["check"] = self._check(operation.check, own, names)
        if operation.wait is not None:
            begins = names.get(operation.wait.after)
            otherwise = self._reaction(operation.wait.otherwise, own, names)
            fields["wait"] = replace(operation.wait, after=begins, otherwise=otherwise) if begins is not None else None
        if operation.after is not None:
            fields["after"] = _after(operation.after, route, names)
        return replace(operation, only_if={}, by_option={}, **fields)

    def _amounts(self, amounts: Iterable[Amount], own: dict[str, str]) -> tuple[Amount, ...]:
        found: list[Amount] = []
        for amount in amounts:
            told = _told(amount, own)
            if told.quantity is None or told.quantity.value != 0:
                found += self._amount(told, own)
        return tuple(found)

    def _amount(self, amount: Amount, own: dict[str, str]) -> list[Amount]:
        """An amount of the variants that it is of: several where they make up one."""
        if amount.any_of:
            names = {name: self._variants(name, amount, own)[0][0] for name in amount.any_of}
            shares = {names[name]: share for name, share in amount.shares.items()}
            return [replace(amount, any_of=tuple(names.values()), shares=shares)]
        return [
            replace(amount, item=id, quantity=_part(amount.quantity, part))
            for id, part in self._variants(amount.item, amount, own)
        ]

    def _variants(self, id: str, amount: Amount, own: dict[str, str]) -> list[tuple[str, float]]:
        """Variants of an item that an amount is of, each with its part of the amount."""
        options = self.plan.items[id].options
        if not options:
            self.want((id, ()))
            return [(id, 1.0)]
        found = []
        counts = next(iter(amount.made_of.values()), None)
        for value in counts or ("",):
            values = tuple(value if o in amount.made_of else amount.chosen.get(o) or own[o] for o in options)
            self.want((id, values))
            part = counts[value] / sum(counts.values()) if counts else 1.0
            found.append((variant_id(id, values), part))
        return found

    def _check(self, check: Check, own: dict[str, str], names: Mapping[str, str]) -> Check:
        return replace(check, then={fault: self._reaction(one, own, names) for fault, one in check.then.items()})

    def _reaction(self, reaction: Reaction, own: dict[str, str], names: Mapping[str, str]) -> Reaction:
        fields: dict[str, Any] = {}
        if reaction.rework is not None:
            fields["rework"] = names.get(reaction.rework, reaction.rework)
        if reaction.seconds is not None:
            fields["seconds"] = self._variants(reaction.seconds, Amount(reaction.seconds), own)[0][0]
        if reaction.otherwise is not None:
            fields["otherwise"] = self._reaction(reaction.otherwise, own, names)
        return replace(reaction, **fields) if fields else reaction


def _matches(only_if: Mapping[str, tuple[str, ...]], own: Mapping[str, str]) -> bool:
    return all(own.get(option) in values for option, values in only_if.items())


def _told(amount: Amount, own: Mapping[str, str]) -> Amount:
    """An amount as it is for one variant of the piece."""
    if amount.varies is None:
        return amount
    told: Amount = amount.varies.of(own)
    return told


def _part(quantity: Quantity | None, part: float) -> Quantity | None:
    return quantity if quantity is None or part == 1.0 else replace(quantity, value=quantity.value * part)


def _after(after: tuple[str, ...], route: Route, names: Mapping[str, str]) -> tuple[str, ...]:
    """What an operation comes after: where a variant leaves that out, whatever that came after."""
    before: dict[str, tuple[str, ...]] = {}
    above: tuple[str, ...] = ()
    for operation in route.operations:
        before[operation.id] = above if operation.after is None else operation.after
        above = (operation.id,)
    found: dict[str, None] = {}
    waiting, seen = list(after), set(after)
    while waiting:
        name = waiting.pop(0)
        if name in names:
            found[names[name]] = None
            continue
        fresh = [other for other in before.get(name, ()) if other not in seen]
        seen.update(fresh)
        waiting += fresh
    return tuple(found)


def changing_items(network: Network) -> Ints:
    """[n_operations] an item that stands for what a place has been set up for: operations with the same need no setup.

    Variants of an item count as the item, but for options that a setup at one of the stations names (``when = "colour
    changes"``).
    """
    item = network.routes.item[network.operations.route]
    origin = network.origin
    if origin is None:
        return item
    stations = network.operations.stations
    named: dict[int, set[str]] = {}
    steps = [o for route in network.plan.routes.values() for o in route.operations]
    for k, step in enumerate(steps):
        if step.setup is not None and step.setup.option:
            for s in stations.row(k)[0].tolist():
                named.setdefault(s, set()).add(step.setup.option)
    first: dict[tuple[int, tuple[str, ...]], int] = {}
    found = []
    for k, i in enumerate(item.tolist()):
        options = set().union(*(named.get(s, set()) for s in stations.row(k)[0].tolist()))
        values = tuple(value for option, value in origin.values[i] if option in options)
        found.append(first.setdefault((int(origin.item[i]), values), i))
    return ints(found)
