"""How much heat do the dryers of a plan want, does the plant's own dust give it, and what fuel is bought for the rest?

Heat for each kilogram of dry matter is the model's; dry matter and dust at hand are those of the material balance. A
fuel is what the dryer takes and has a heating value, with all items of a choice that holds one or is called ``fuel``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from linewright.base.calendar import HOUR
from linewright.base.cautions import Caution
from linewright.base.problems import ProblemsError
from linewright.base.results import Table
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.plan.model import Operation

NOT_WRITTEN = " (not written, so that of the model)"


@dataclass(frozen=True, slots=True)
class Fuel:
    """What a dryer can burn: kg a day ``at_hand`` from the plant itself, kg a day that the plan has it burn.

    ``value`` is the lower heating value as it is burnt, MJ/kg; ``stated`` on the item, else that of the model.
    """

    item: str
    name: str
    own: bool
    at_hand: float
    burnt: float
    value: float
    stated: bool


@dataclass(frozen=True, slots=True)
class Dryer:
    """Heat of one dryer at the demand.

    ``heat`` MJ a working day, ``per_unit`` MJ for one demanded unit, ``power`` kW over the ``hours`` a day that it
    runs, ``dry_matter`` kg a day. ``cover`` is the share of the heat that own fuel at hand can give, ``bought`` kg a
    day of other fuel for the rest and ``left`` kg a day of own fuel that is not needed. ``plan_gives`` is the heat of
    the fuel that the plan takes, over the heat wanted. ``burnt`` is the share of a fuel's heat that reaches the gas.
    """

    operation: str
    name: str
    path: str
    dry_matter: float
    heat: float
    per_unit: float
    hours: float
    power: float
    fuels: tuple[Fuel, ...]
    burnt: float
    cover: float
    bought: float
    left: float
    plan_gives: float
    cautions: tuple[Caution, ...]

    def to_table(self) -> Table:
        """Heat wanted, and what gives it."""
        rows: list[tuple[str, float, str]] = [
            ("heat wanted while it runs", self.power, "kW"), ("heat wanted a day", self.heat / 1000, "GJ"),
            ("heat wanted for one", self.per_unit, "MJ"),
        ]  # fmt: skip
        for fuel in self.fuels:
            if fuel.own:
                rows.append((f"{fuel.name} at hand", fuel.at_hand, "kg a day"))
            rows.append((f"{fuel.name} burnt, as the plan says", fuel.burnt, "kg a day"))
        if self.fuels:
            rows += [("share of the heat from own fuel", 100 * self.cover, "%"),
                     ("fuel to buy for the rest", self.bought, "kg a day"),
                     ("own fuel not needed", self.left, "kg a day")]  # fmt: skip
        return Table(f"Heat and fuel: {self.name}", ("what", "value", "unit"), tuple(rows), self.said)

    @property
    def said(self) -> str:
        """Where the heating values come from."""
        if not self.fuels:
            return "The plan does not say what is burnt."
        values = ", ".join(f"{f.name} {f.value:.3g} MJ/kg{'' if f.stated else NOT_WRITTEN}" for f in self.fuels)
        return f"Lower heating values: {values}; {100 * self.burnt:.0f} % of it reaches the gas."


def dryers_of(network: Network, flow: Flow) -> tuple[Dryer, ...]:
    """Every operation whose time is a model of drying, with its heat and its fuel."""
    return tuple(_dryers(network, flow))


def _dryers(network: Network, flow: Flow) -> Iterator[Dryer]:
    every = (operation for route in network.plan.routes.values() for operation in route.operations)
    for at, operation in enumerate(every):
        for written in (operation.time, operation.stand):
            if written is not None and written.physics == "dry" and flow.runs[at] > 0:
                try:
                    found = _dryer(network, flow, at, operation, written.conditions)
                except ProblemsError:
                    continue  # the network has named them
                if found is not None:
                    yield found


def _dryer(
    network: Network, flow: Flow, at: int, operation: Operation, conditions: Mapping[str, object]
) -> Dryer | None:
    from linewright.physics.conditions import read_conditions
    from linewright.physics.dryer_heat import dust_cover
    from linewright.physics.models import MODELS, evaluate_model

    values = read_conditions("dry", MODELS["dry"].conditions, conditions)
    timed = evaluate_model("dry", conditions).timed
    fuels = tuple(_fuels(network, flow, at, operation, float(values["fuel"])))
    matter = dry_matter(network, flow, at, {f.item for f in fuels}, float(values["from"]))
    hours = _hours(network, flow, at)
    if not (matter > 0 and hours > 0):
        return None  # a mass is not known: the flow says so
    heat = matter * timed.outcome("heat wanted")
    efficiency = float(values["burnt"])
    own = [f for f in fuels if f.own]
    other = [f for f in fuels if not f.own] or own
    kg = sum(f.at_hand for f in own)
    worth = sum(f.at_hand * f.value for f in own) / kg if kg > 0 else float(values["fuel"])
    cover = dust_cover(heat / 3.6 / hours, kg / hours, dust_value=worth, efficiency=efficiency,
                       fuel_value=other[0].value if other else float(values["fuel"]))  # fmt: skip
    given = sum(f.burnt * f.value for f in fuels) * efficiency
    name = operation.name or operation.id
    return Dryer(operation.id, name, network.operations.paths[at], matter, heat, heat / flow.demand, hours,
                 heat / 3.6 / hours, fuels, efficiency, cover.cover, cover.bought * hours, cover.left * hours,
                 given / heat, timed.cautions)  # fmt: skip


def _fuels(network: Network, flow: Flow, at: int, operation: Operation, usual: float) -> Iterator[Fuel]:
    """What the operation takes and burns, the plant's own first."""
    plan, items = network.plan, list(network.plan.items.values())
    number = {name: i for i, name in enumerate(plan.items)}
    found: set[int] = set()
    for amount in operation.takes:
        taken = {number[name] for name in amount.any_of or (amount.item,)}
        if (amount.any_of and amount.item == "fuel") or any(items[i].heating_value is not None for i in taken):
            found |= taken
    for i in sorted(found, key=lambda i: (flow.made[i] <= 0, i)):
        kg = float(network.items.mass[i])
        if math.isnan(kg):
            continue
        users, used = flow.item_use.row(i)
        here = float(used[users == at].sum())
        stated = items[i].heating_value
        value = stated.value * 3.6 if stated is not None else usual  # held in kWh/kg
        at_hand = max(float(flow.made[i]) - (float(flow.used[i]) - here), 0.0)
        own = bool(flow.made[i] > 0)
        name = plan.items[items[i].id].name or items[i].id.replace("_", " ")
        yield Fuel(items[i].id, name, own, at_hand * kg if own else 0.0, here * kg, value, stated is not None)


def dry_matter(network: Network, flow: Flow, at: int, fuels: set[str], moisture: float) -> float:
    """kg of dry matter that the operation dries a day: of the moist items it takes, else of the piece that comes.

    Items without a moisture of their own are at that of the model.
    """
    items = list(network.plan.items.values())
    total = 0.0
    taken = False
    for i, item in enumerate(items):
        if item.id in fuels:
            continue
        users, used = flow.item_use.row(i)
        kg = float(used[users == at].sum()) * float(network.items.mass[i])
        if kg > 0:
            taken = True
            total += kg / (1 + (item.moisture if item.moisture is not None else moisture))
    if taken:
        return total
    return float(flow.runs[at] * network.operations.piece_mass[at]) / (1 + moisture)


def _hours(network: Network, flow: Flow, at: int) -> float:
    """Hours a day that the operation runs, all its places together."""
    operations = network.operations
    if operations.continuous[at]:
        return float(flow.runs[at] * operations.each[at]) / HOUR
    cycle = float(operations.time.mean[at] + operations.stand.mean[at])
    return float(flow.cycles[at] * cycle + flow.runs[at] * operations.each[at]) / HOUR
