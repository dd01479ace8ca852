"""Items: units, prices, masses, moisture and demand, all brought to the base unit in which amounts are held.

An item written in t or hL is held in kg or L; ``factor`` remembers how many base units its written unit has, because
"one piece" of such an item is one unit as written.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from linewright.base.calendar import NS, WEEK, Calendar
from linewright.base.problems import Problems
from linewright.base.units import BASE, Quantity, UnitError
from linewright.network.context import Context
from linewright.network.model import Items
from linewright.network.rows import bools, floats, ints
from linewright.plan import amounts
from linewright.plan.model import Demand, Item

_AMOUNTS = ("mass", "dry mass", "volume", "length", "area", "energy")
_PER_WEEK = {"week", "weeks", "month", "year"}
_PER_DAY = {"day", "days", "d"}


@dataclass(slots=True)
class ItemFacts:
    """What the compiler knows of one item while it works; ``mass`` (kg per base unit) may be found from its route.

    ``water`` is the share of its mass that is water: moisture / (1 + moisture), or the declared component.
    """

    item: Item
    id: str
    dimension: str
    factor: float
    mass: float
    water: float | None
    thickness: float
    declared_mass: bool
    found: list[float] = field(default_factory=list)

    def weigh(self, mass: float, tolerance: float) -> None:
        """Note the mass that one route found; unknown again where the routes disagree beyond the tolerance."""
        self.found.append(mass)
        agree = max(self.found) - min(self.found) <= tolerance * max(self.found)
        self.mass = max(self.found) if agree else math.nan


def facts_of(item: Item, problems: Problems) -> ItemFacts:
    """Dimension, factor, mass and water of an item as written."""
    unit = amounts.unit_of(item.unit)
    dimension, factor = unit.dimension, unit.factor
    mass = math.nan
    if dimension == "mass":
        mass = 1.0
    elif dimension == "dry mass":
        mass = 1.0 + (item.moisture or 0.0)
    elif dimension == "energy":
        mass = 0.0
    elif dimension == "dry mass":
        mass = 1.0 + (item.moisture or 0.0)
    elif item.mass is not None:
        mean = item.mass.mean
        mass = mean.value if "/" in mean.dimension else mean.value / factor
        if not mass > 0:
            problems.error(f"items.{item.id}.mass", "a mass is above zero", value=mean.text)
            mass = math.nan
    thickness = item.thickness.value if item.thickness is not None else math.nan
    return ItemFacts(item, item.id, dimension, factor, mass, _water(item), thickness, math.isfinite(mass))


def _water(item: Item) -> float | None:
    """The share of mass that is water; None where nothing is said (then it counts as dry)."""
    if item.moisture is not None:
        return item.moisture / (1 + item.moisture)
    if "water" in item.components:
        return item.components["water"]
    return 1.0 if item.id == "water" else None


def units_of(facts: ItemFacts, quantity: Quantity, path: str, problems: Problems) -> float:
    """How many base units of an item a quantity is; nan and a problem where it cannot be told."""
    if quantity.dimension == facts.dimension:
        return quantity.value
    if quantity.dimension == "mass" and facts.mass > 0:
        return quantity.value / facts.mass  # found along the item's route, where it is not written
    try:
        return amounts.units_of(facts.item, quantity) * facts.factor
    except UnitError as wrong:
        problems.error(path, wrong.what, value=quantity.text, expected=wrong.expected, hint=wrong.hint)
        return math.nan


def compile_items(context: Context, facts: list[ItemFacts], week: Calendar, days_week: int) -> Items:
    """The table of items; masses found along the routes are already in ``facts``."""
    items = list(context.plan.items.values())
    demand = [0.0] * len(items)
    for k, wanted in enumerate(context.plan.demand):
        path = f"demand[{k}]"
        index = context.look_up(context.items, wanted.item, f"{path}.item", "item")
        if index >= 0:
            demand[index] += _per_working_day(wanted, facts[index], path, week, days_week, context.problems)
    if context.plan.makes is not None and not context.plan.demand:  # of variants each its part is a demand
        demand[context.items[context.plan.makes]] = 1.0  # one a day, until the harvest says how much
    mass_sd = [
        item.mass.sd.value / f.factor if item.mass is not None and item.mass.sd is not None else math.nan
        for item, f in zip(items, facts, strict=True)
    ]
    stock = [
        units_of(f, item.stock, f"items.{item.id}.stock", context.problems) if item.stock is not None else math.nan
        for item, f in zip(items, facts, strict=True)
    ]
    return Items(
        ids=tuple(context.plan.items),
        units=tuple(
            item.unit if f.dimension == "count" else BASE[f.dimension] for item, f in zip(items, facts, strict=True)
        ),
        counted=bools([f.dimension == "count" for f in facts]),
        buy=floats([_price(item.buy, f, item, "buy", context) for item, f in zip(items, facts, strict=True)]),
        sell=floats([_price(item.sell, f, item, "sell", context) for item, f in zip(items, facts, strict=True)]),
        disposal=floats(
            [_price(item.disposal, f, item, "disposal", context) for item, f in zip(items, facts, strict=True)]
        ),
        free=bools([item.free for item in items]),
        mass=floats([f.mass for f in facts]),
        mass_sd=floats(mass_sd),
        moisture=floats([item.moisture if item.moisture is not None else math.nan for item in items]),
        stock=floats(stock),
        thickness=floats([f.thickness for f in facts]),
        keeps=ints([round(f.item.keeps.value * NS) if f.item.keeps is not None else 0 for f in facts]),
        demand=floats(demand),
    )


def _price(price: Quantity | None, facts: ItemFacts, item: Item, field: str, context: Context) -> float:
    """Money per base unit: "96 EUR" is for one unit as written, "1.2 EUR/kg" for what it says."""
    if price is None:
        return math.nan
    try:
        return amounts.price_of(facts.item, price) / facts.factor
    except UnitError as wrong:
        context.problems.error(
            f"items.{item.id}.{field}",
            wrong.what,
            value=price.text,
            expected=f'money for one {item.unit}, such as "96 {context.plan.money}"',
        )
        return math.nan


def _per_working_day(
    wanted: Demand, facts: ItemFacts, path: str, week: Calendar, days_week: int, problems: Problems
) -> float:
    """Base units of the item wanted on a working day; the unit of time as written decides which clock counts.

    Per day is per working day; per week, month or year is calendar time; per hour or less is open time.
    """
    rate = wanted.rate
    top, _, below = rate.dimension.partition("/")
    if below != "time":
        problems.error(f"{path}.rate", "a demand is an amount over time", value=rate.text, expected='"36 each/day"')
        return math.nan
    amount = units_of(facts, Quantity(rate.value, top, rate.text, rate.noun), f"{path}.rate", problems)
    if not amount > 0:
        if amount <= 0:
            problems.error(f"{path}.rate", "the demand is not above zero", value=rate.text)
        return math.nan
    clock = rate.text.rpartition("/")[2].strip()
    if clock in _PER_DAY:
        seconds = 86400.0
    elif clock in _PER_WEEK:
        seconds = WEEK / NS / days_week
    else:
        seconds = week.open_ns / NS / days_week
    return float(f"{amount * seconds:.14g}")  # 120 each/day was read as a rate and must come back as 120
