"""Options in the whole of a plan: who has them, whether every variant can be told, and what nobody orders."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from linewright.plan.model import Amount, Demand, Operation, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading
from linewright.plan.whole import Placed, reactions_of

MOST_VARIANTS = 1_000
"""Variants of one item; many more would only make every answer slow."""


def check_options(plan: Plan, placed: list[Placed], reading: Reading, document: Mapping[str, Any]) -> None:
    """Note the problems of options; a plan without any has none."""
    if not plan.options and not any(d.options for d in plan.demand):
        return
    for route in plan.routes.values():
        _known_to(plan, route.gives, route.only_if, f"{join('routes', route.id)}.only_if", reading)
    for one in placed:
        _check_operation(one, plan, reading)
    _check_orders(plan, reading, document)


def mix_of(plan: Plan, option: str, demand: Demand | None = None) -> dict[str, float]:
    """The share of every value of an option: as a demand says, else as usual; what has none divides the rest."""
    known = plan.options.get(option)  # none where it could not be read
    values = known.values if known is not None else ()
    shares = known.shares if known is not None else {}
    if demand is not None and option in demand.options:
        shares = demand.options[option]
        if abs(sum(shares.values()) - 1) <= 1e-9:  # whoever names the whole mix wants nothing else
            return {value: shares.get(value, 0.0) for value in values}
    left = [value for value in values if value not in shares]
    rest = max(1.0 - sum(shares.values()), 0.0) / max(len(left), 1)
    return {value: shares.get(value, rest) for value in values}


def _known_to(plan: Plan, item: str, only_if: Iterable[str], path: str, reading: Reading) -> None:
    """Options named in ``only_if`` must be those of the item."""
    own = plan.items[item].options if item in plan.items else ()
    for option in only_if:
        if option not in own:
            what = f'item "{item}" has no option "{option}"'
            reading.error(join(path, option), what, option, "an option of the item that the route gives")


def _check_operation(one: Placed, plan: Plan, reading: Reading) -> None:
    item = plan.routes[one.route].gives
    own = plan.items[item].options if item in plan.items else ()
    _known_to(plan, item, one.operation.only_if, f"{one.path}.only_if", reading)
    for option, values in one.operation.only_if.items():
        made = plan.routes[one.route].only_if.get(option, values)
        if not set(values) & set(made):
            what = f"{one.title} is done to {option} {' or '.join(values)}, which this route does not make"
            reading.error(join(f"{one.path}.only_if", option), what, None, f"{option} {' or '.join(made)}")
    for field, option in _told_by(one.operation):
        if option not in own:
            what = f'this is told by {option}, but item "{item}", which the route gives, has no such option'
            reading.error(f"{one.path}.{field}.by", what, option, f"`options` of {item}")
    for field, amount in _amounts(one.operation):
        for name in amount.any_of or (amount.item,):
            if name in plan.items:
                _check_amount(amount, plan, name, own, join(f"{one.path}.{field}", amount.item), reading)
    for path, reaction in reactions_of(one):
        if reaction.seconds is not None and reaction.seconds in plan.items:
            _check_amount(Amount(reaction.seconds), plan, reaction.seconds, own, f"{path}.seconds", reading)


def _told_by(operation: Operation) -> Iterator[tuple[str, str]]:
    """Field and option of everything that differs by an option."""
    for field, varies in operation.by_option.items():
        name = {"yields": "yield"}.get(field, field)
        place = join("faults", name.removeprefix("faults.")) if field.startswith("faults.") else name
        yield from ((place, option) for option in varies.options)
    for field, amount in _amounts(operation):
        if amount.varies is not None:
            yield from ((join(field, amount.item), option) for option in amount.varies.options)


def _amounts(operation: Operation) -> Iterator[tuple[str, Amount]]:
    """Field and amount of everything that names an item."""
    lists = {"takes": operation.takes, "takes_per_load": operation.takes_per_load, "gives": operation.gives}
    if operation.setup is not None:
        lists["setup.takes"] = operation.setup.takes
    if operation.clean is not None:
        lists["clean.takes"] = operation.clean.takes
    for field, amounts in lists.items():
        yield from ((field, amount) for amount in amounts)


def _check_amount(amount: Amount, plan: Plan, name: str, own: tuple[str, ...], path: str, reading: Reading) -> None:
    """Every option of an item must be told, once; what is given has the options of the piece."""
    options = plan.items[name].options
    given = ".gives." in path or path.endswith(".seconds")
    for one in amount.varies.table.values() if amount.varies is not None else (amount,):
        said = [*one.same, *one.chosen, *one.made_of]
        for option in one.same:
            if option not in own:
                what = f'item "{name}" is to be of the same {option}, but the piece has no such option'
                reading.error(f"{path}.same", what, option, "an option of the item that the route gives")
        for option in said:
            if option not in options:
                reading.error(path, f'item "{name}" has no option "{option}"', option, "one of its `options`")
            elif said.count(option) > 1:
                reading.error(path, f"the {option} of {name} is told twice", option, "`same`, `options` or `made_of`")
        for option in options:
            if option not in said and not (given and option in own):
                what = f"nothing tells the {option} of {name}"
                hint = f'same = ["{option}"]' if option in own else f'options = {{ {option} = "..." }}'
                reading.error(path, what, None, "`same`, `options` or `made_of`", hint)
        if len(one.made_of) > 1:
            reading.error(f"{path}.made_of", "one option at a time makes up an item", None, "one option")


def _check_orders(plan: Plan, reading: Reading, document: Mapping[str, Any]) -> None:
    """Mixes of what is wanted, and options that no item has or no one orders."""
    used = {option for item in plan.items.values() for option in item.options}
    ordered: dict[str, set[str]] = {}
    header = document.get("plan")
    begin = int(isinstance(header, Mapping) and "makes" in header)
    for number, demand in enumerate(plan.demand, start=-begin):
        own = plan.items[demand.item].options if demand.item in plan.items else ()
        for option in demand.options:
            if option not in own:
                path = join(f"demand[{number}].options", option)
                reading.error(path, f'item "{demand.item}" has no option "{option}"', option, "one of its `options`")
        count = 1
        for option in own:
            mix = mix_of(plan, option, demand)
            count *= sum(share > 0 for share in mix.values())
            ordered.setdefault(option, set()).update(value for value, share in mix.items() if share > 0)
        if count > MOST_VARIANTS:
            what = f'item "{demand.item}" is wanted in {count:,} variants'
            hint = "leave out options that change no time, part or cost"
            reading.error(f"items.{demand.item}.options", what, None, f"at most {MOST_VARIANTS:,}", hint)
    for id, one in plan.options.items():
        path = join("options", id)
        if id not in used:
            reading.problems.warn(path, f'no item has option "{id}"', hint="write it in `options` of an item")
        elif id in ordered:
            left = [value for value in one.values if value not in ordered[id]]
            if left:
                listed = ", ".join(f'"{value}"' for value in left)
                what = f"no one orders {id} {listed}"
                reading.problems.warn(f"{path}.values", what, hint="take it out, or write a demand for it")
