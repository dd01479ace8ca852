"""The fields of ``[items.ID]``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from linewright.base.units import UNITS
from linewright.plan.amounts import AMOUNT, HELD, MEASURED
from linewright.plan.forms import Flag, Form, Measure, Schema, Share, Text
from linewright.plan.hazard_fields import HAZARDS
from linewright.plan.many import MapOf, Ref, Several
from linewright.plan.model import Mass
from linewright.plan.operation_fields import made_by
from linewright.plan.option_fields import ByOption
from linewright.plan.option_model import Varies
from linewright.plan.reading import Reading
from linewright.plan.record import Field, Record

NAME = Field("name", Text(), "what it is called in words", example='"Hammer mill"')

NOTE = Field("note", Text(), "for the reader", example='"Numbers of last spring."')


PRICES = ("money", *(f"money/{d}" for d in ("count", *MEASURED)))
PRICE = Measure(PRICES, said="price", shown=('"96 EUR"', '"1.2 EUR/kg"'))

CHARGE = Measure(PRICES, signed=True, said="price", shown=('"96 EUR"', '"1.2 EUR/kg"'))


_FOLDED = {unit.casefold(): unit for unit, (_, dimension) in UNITS.items() if dimension in MEASURED}
"""Units of items without their capitals."""


@dataclass(frozen=True)
class UnitForm(Form):
    """The unit of an item: a unit from the list, or a count noun of the plan's own."""

    words: str = 'unit of mass, volume, length, area or energy, or a count noun such as `"sheet"`'
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, str) or not value.strip() or value[:1].isdigit() or "/" in value:
            return reading.error(path, "this is not a unit", value, self.words.replace("`", ""))
        known = UNITS.get(value)
        if known is None:
            near = _FOLDED.get(value.casefold())
            if near is not None:
                return reading.error(path, "this is not a unit known here", value, None, f'did you mean "{near}"?')
            return value
        if known[1] in MEASURED or value == "bar":
            return value
        what = f"this is a unit of {known[1]}; an item is counted or measured"
        return reading.error(path, what, value, self.words.replace("`", ""))

    def _schema(self) -> Schema:
        return {"type": "string", "minLength": 1, "examples": ["each", "kg", "L", "m2"]}


MASS = Record(
    "a mass",
    (
        Field("mean", Measure(("mass",), above=True), "the mean", required=True, example='"4.1 g"'),
        Field("sd", Measure(("mass",)), "the standard deviation", example='"0.1 g"'),
    ),
    made_by(Mass),
    short=lambda value: {"mean": value} if isinstance(value, (int, float, str)) else value,
    short_words='mass `"11.2 kg"`',
    short_schema=Measure(("mass",)).schema(),
)

HEATING_VALUE = Measure(("energy/mass",), above=True, said="energy for each mass", shown=('"17 MJ/kg"',))

AMOUNT_KEPT = replace(AMOUNT, above=True)


def _item(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if values.get("free") and "buy" in table:
        reading.error(f"{path}.free", "an item is free or bought, not both", table["buy"])
    components = values.get("components", {})
    if sum(components.values()) > 1 + 1e-9:
        total = f"{sum(components.values()):.4g}"
        reading.error(f"{path}.components", f"the components add up to {total}, over 100 %", table["components"])
    varying = {key: value for key, value in values.items() if isinstance(value, Varies)}
    for key, one in varying.items():
        for option in one.options:
            if option not in values.get("options", ()):
                what = f"its {key} is told by {option}, an option that this item has not"
                reading.error(f"{path}.{key}.by", what, option, "one of its `options`")
        values[key] = one.first
    return {**values, "by_option": varying} if varying else values


ITEM = Record(
    "an item",
    (
        Field("unit", UnitForm(), "how it is counted or measured", required=True, example='"each"'),
        NAME,
        Field("buy", ByOption(PRICE), "price of one unit, or of a measure of it, bought in", example='"1.2 EUR/kg"'),
        Field("sell", ByOption(PRICE), "what it earns when it leaves", example='"39 EUR"'),
        Field("disposal", CHARGE, "what it costs when it leaves as waste", example='"0.08 EUR/kg"'),
        Field("free", Flag(), "costs nothing and never runs out: air, water", example="true"),
        Field("mass", ByOption(MASS), "mass of one unit", example='"11.2 kg"'),
        Field("moisture", Share(most=None), "water over dry mass", example='"6 %"'),
        Field(
            "contains",
            MapOf(HELD, sample='{ acid = "5.5 g/L", alcohol = "6.2 % vol" }'),
            "what is in it, for blends to limits",
            example='{ acid = "5.5 g/L", alcohol = "6.2 % vol" }',
        ),
        Field(
            "components",
            MapOf(Share(), sample='{ sugar = "12 %" }'),
            "shares of its mass",
            example='{ sugar = "12 %" }',
        ),
        Field("heating_value", HEATING_VALUE, "lower, as a dryer burns it", example='"17 MJ/kg"'),
        Field("thickness", Measure(("length",), above=True), "of one, for loads limited by height", example='"18 mm"'),
        Field("stock", AMOUNT_KEPT, "how much of it circulates", example="120"),
        Field("options", Several(Ref("options")), "in what it differs: its variants", example='["size", "side"]'),
        Field(
            "keeps",
            Measure(("time",), above=True),
            "how long it stays good on hand; what is older is scrap; for ever where none is written",
            example='"45 min"',
        ),
        Field("store", Ref("stores"), "where it waits; unlimited where none is written", example='"rack"'),
        HAZARDS,
        NOTE,
    ),
    _item,
)
